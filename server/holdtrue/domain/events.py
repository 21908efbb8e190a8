"""What can be written in a job's stream. Names are past tense; bodies are plain JSON.

Every body is listed here once; ``DEVELOPERS.md`` names every event and a test compares the two.
A typed length in a body is ``{"mm": 527.05, "typed": "20 3/4 in"}``.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

JOB_CREATED = "JobCreated"
PLAN_REVISED = "PlanRevised"
PLAN_RELEASED = "PlanReleased"
INSTALLER_INVITED = "InstallerInvited"
INSTALLER_CODE_REVOKED = "InstallerCodeRevoked"
INSTALLER_JOINED = "InstallerJoined"
TASK_RECORDED = "TaskRecorded"
SEAT_BLOCKED = "SeatBlocked"
SEAT_FREED = "SeatFreed"
CHOICE_MADE = "ChoiceMade"
DROP_LEARNED = "DropLearned"
PANELS_SWAPPED = "PanelsSwapped"
STOP_CALLED = "StopCalled"
STOP_CLEARED = "StopCleared"
ENTRY_UNDONE = "EntryUndone"
WORK_ACCEPTED = "WorkAccepted"
WORK_SENT_BACK = "WorkSentBack"
CARD_ISSUED = "CardIssued"
CARD_REVOKED = "CardRevoked"
ENTRY_PARKED = "EntryParked"
PARKED_SETTLED = "ParkedSettled"

EVENTS: Mapping[str, str] = MappingProxyType(
    {
        JOB_CREATED: "document: the job file as typed",
        PLAN_REVISED: "document: the whole job file again; note",
        PLAN_RELEASED: "revision; reason or null; agreed: who says yes to a slope, or null; "
        "accepted: texts of the findings released; way: fasteners_first or panel_by_panel; holds: "
        "the hold points asked for; next_day; order: the seats as the lead put them, or null; "
        "chance: that all ends inside; sticks: panels where a story stick raises it",
        INSTALLER_INVITED: "code: digest of the code; label",
        INSTALLER_CODE_REVOKED: "code: digest",
        INSTALLER_JOINED: "code: digest; person; name; unit; hand",
        TASK_RECORDED: "task; outcome: as_planned, measured, done or failed; values; planned; "
        "revision; place: the seat's (x_mm, y_mm) and given: the mark shown, for a "
        "measured seat; mark: the hole shown, for a mark made; "
        "places: of the seats something was found near; paper: typed in from a sheet; "
        "written: when the sheet says it was done; late: kept on a phone or a sheet before",
        SEAT_BLOCKED: "seat; found: stud, steel, hollow, backed, solid or same; material; "
        "fastener: name or null; note",
        SEAT_FREED: "seat; why: wrong_hole, spent, same_hole, dropped or moved; note; keeps: its "
        "hole stays and is read again; read and hole: where a wrong one was found",
        CHOICE_MADE: "seat; choice: carry_on, true_first, trim_later, move_hanger or correct; "
        "chance: as it was told; of: the seq of the seat's reading; note; aim and fastener: of a "
        "hole made again; move: of a hanger",
        DROP_LEARNED: "fastener; drop and was; count: of readings it was learned from",
        PANELS_SWAPPED: "panels: the two that hang in each other's places; agreed: who said yes; "
        "note",
        STOP_CALLED: "seat; what: cable, pipe, load, will not hold or other; note",
        STOP_CLEARED: "stop: the seq of the StopCalled; note",
        ENTRY_UNDONE: "of: the seq of the entry taken back; why",
        WORK_ACCEPTED: "points: seat to seen or log; concessions: what is left out of tolerance, "
        "each with residual, why and who agreed; self_accepted",
        WORK_SENT_BACK: "why; tasks: ids of the tasks to do again",
        CARD_ISSUED: "card: digest of the token",
        CARD_REVOKED: "card: digest",
        ENTRY_PARKED: "task; fields: what was typed, by field, and the place shown; words: why it "
        "was refused; photo: its sha256 and type, if one came with it",
        PARKED_SETTLED: "of: the seq of the EntryParked; note",
    }
)
