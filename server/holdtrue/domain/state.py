"""A job's state as values. ``domain.fold`` makes it from the log; nothing else does."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal, Protocol

from holdtrue.core.estimates import Estimate
from holdtrue.core.hung import Hang
from holdtrue.core.model import Finding, Job, Plan
from holdtrue.core.order import LevelLine
from holdtrue.core.quality import Form
from holdtrue.core.wall import Behind
from holdtrue.domain.errors import NotFoundError

Point = tuple[float, float]
ReviewState = Literal["open", "handed_over", "accepted", "conceded", "sent_back"]
Way = Literal["fasteners_first", "panel_by_panel"]
HOLDS = ("first_hole", "first_lift", "leave")


class Recorded(Protocol):
    """What the fold reads of a stored entry."""

    @property
    def seq(self) -> int: ...
    @property
    def key(self) -> str: ...
    @property
    def type(self) -> str: ...
    @property
    def body(self) -> Mapping[str, Any]: ...
    @property
    def who(self) -> str: ...
    @property
    def received(self) -> str: ...
    @property
    def tapped(self) -> str | None: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """The entry that stands for a task now."""

    task: str
    outcome: str
    values: Mapping[str, Any]
    planned: Mapping[str, Any]
    seq: int
    who: str
    when: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SetSeat:
    """A seat whose fastener is in and measured (or accepted on its mark)."""

    x_mm: float
    y_mm: float
    given_mm: Point
    seq: int
    is_measured: bool
    line_mm: float
    """Height of the level line it was read from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A mark made on the wall: the seat aimed for and the hole drawn for that fastener."""

    seat_mm: Point
    hole_y_mm: float
    fastener: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """A hole given up: to be patched, and for new ones to keep off."""

    seat: str
    at_mm: Point
    is_full: bool
    """Opened for an anchor; else a pilot."""
    is_usable: bool
    """Its seat may be made in it again: a pilot can be drilled out for any fastener."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    seq: int
    seat: str
    what: str
    note: str
    who: str
    when: str
    at_mm: Point
    """Where its hole was to go then: a cable stays where it is, whatever the plan becomes."""
    cleared_by: str | None = None
    cleared_note: str = ""

    @property
    def is_open(self) -> bool:
        return self.cleared_by is None


@dataclass(frozen=True, slots=True, kw_only=True)
class Hidden:
    """A cable, a pipe or something else that no hole may meet, found before drilling."""

    found: str
    seq: int
    who: str
    when: str
    near: tuple[str, ...] = ()
    """The seats it is near, as they were named; () for everywhere."""
    near_mm: tuple[Point, ...] = ()
    """Where their holes were to go then: it stays where it is, whatever the plan becomes."""

    @property
    def where(self) -> str:
        return f" near {', '.join(self.near)}" if self.near else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Parked:
    """An entry of a phone that was refused: kept as typed until the lead settles it."""

    seq: int
    task: str
    """A task's id, or what else the phone named."""
    fields: Mapping[str, str]
    words: str
    """Why it was refused."""
    who: str
    when: str
    tapped: str | None
    photo: str = ""
    """Digest of the photo that came with it; "" when none did."""
    settled_by: str | None = None
    settled_note: str = ""

    @property
    def is_open(self) -> bool:
        return self.settled_by is None


@dataclass(frozen=True, slots=True, kw_only=True)
class Release:
    seq: int
    revision: int
    accepted: frozenset[str]
    reason: str | None
    who: str
    when: str
    way: Way
    holds: frozenset[str]
    next_day: bool = False
    sticks: tuple[str, ...] = ()
    """Panels on which a story stick raised the chance then."""
    chance: float | None = None
    """That all ends inside tolerance, as it was told then."""
    agreed: str | None = None
    """Who said yes to a slope for the maker."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Installer:
    person: str
    name: str
    unit: str
    hand: str
    code: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Code:
    digest: str
    label: str
    is_revoked: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Trim:
    """One touch on a hung panel. ``seat`` is "" where it concerns the whole panel.

    ``by_mm``: + is up (shim, screw, hanger), right (slide) or out from the wall (bumper).
    ``end``: a slide that went less far than was advised: the panel is at the end of its play to the
    right (1) or to the left (-1); else 0.
    """

    panel: str
    seat: str
    by_mm: float
    means: str
    seq: int
    who: str
    when: str
    end: int = 0
    is_planned: bool = False
    """A hanger moved on its panel: the plan has it where it is now."""

    @property
    def way(self) -> str:
        ways = {"slide": ("right", "left"), "bumper": ("out", "in")}
        return ways.get(self.means, ("up", "down"))[self.by_mm < 0]


@dataclass(frozen=True, slots=True, kw_only=True)
class HungRead:
    """A reading taken on hung panels; it stays true of them when they are trimmed after it."""

    task: str
    values: Mapping[str, Any]
    planned: Mapping[str, Any]
    seq: int
    is_tapped: bool = False
    """Recorded as planned with one tap."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """What was chosen after a seat came out off its mark, and the chance told for it."""

    seat: str
    choice: str
    chance: float
    seq: int
    who: str
    when: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Review:
    state: ReviewState = "open"
    who: str | None = None
    when: str | None = None
    why: str = ""
    points: Mapping[str, str] = field(default_factory=dict)
    again: tuple[str, ...] = ()
    """Tasks sent back, to be done again."""
    concessions: tuple[Mapping[str, str], ...] = ()
    is_self_accepted: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class JobState:
    """Everything known of a job at one point of its log."""

    seq: int
    created: str
    document: Mapping[str, Any]
    revision: int
    """1 when created; one more whenever the document changes."""
    job: Job
    plan: Plan
    """As the document says, nothing set."""
    form: Form
    order: tuple[str, ...]
    """Of driving: computed, or put by hand."""
    lines: tuple[LevelLine, ...]
    current: Plan
    """With set seats as measured, the others on the marks given now, and what was found."""
    marks_mm: Mapping[str, Point]
    """Unset seats: where to aim now, on the graduation."""
    estimate: Estimate | None = None
    """Of the set seats, from all their readings; None while none is set."""
    hang: Hang | None = None
    """Of the hung panels, from what was read and trimmed on them; None while nothing was."""
    bearing_mm: Mapping[str, Point] = field(default_factory=dict)
    """Set seats as their panels bear on them: where they are, or as their hung panels say."""
    by_hand: tuple[str, ...] = ()
    """The order the lead put by hand; () for the computed one."""
    release: Release | None = None
    records: Mapping[str, Record] = field(default_factory=dict)
    set_seats: Mapping[str, SetSeat] = field(default_factory=dict)
    marked: Mapping[str, Mark] = field(default_factory=dict)
    found: Mapping[str, Behind] = field(default_factory=dict)
    chosen: Mapping[str, str] = field(default_factory=dict)
    pilots: Mapping[str, Point] = field(default_factory=dict)
    """Seats with a pilot hole, whatever it met: (x, y) of the hole."""
    holes: Mapping[str, Point] = field(default_factory=dict)
    """Seats whose hole is open: (x, y) of the hole."""
    old_holes: tuple[Hole, ...] = ()
    """Holes given up."""
    aims: Mapping[str, Point] = field(default_factory=dict)
    """Seats whose own mark would come too near a hole there is: where to aim instead."""
    choices: tuple[Chosen, ...] = ()
    true_first: tuple[str, ...] = ()
    """Panels to hang and true before the rest is driven."""
    moves: Mapping[str, Point] = field(default_factory=dict)
    """Seats whose hanger should be moved on its panel, right and up, with the maker's yes."""
    reopened: frozenset[str] = frozenset()
    """Tasks of the work that are to be done again although there are holes."""
    stops: tuple[Stop, ...] = ()
    hidden: Hidden | None = None
    trims: tuple[Trim, ...] = ()
    hung_read: tuple[HungRead, ...] = ()
    near: frozenset[str] = frozenset()
    """Tasks to read once more: what was read is too near a tolerance to tell."""
    parked: tuple[Parked, ...] = ()
    installers: Mapping[str, Installer] = field(default_factory=dict)
    codes: Mapping[str, Code] = field(default_factory=dict)
    ways: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    """Person to their unit and hand."""
    earlier_checks: tuple[Record, ...] = ()
    """Of levels, before the one that stands: what was read under each is corrected by it."""
    cards: Mapping[str, bool] = field(default_factory=dict)
    """Card digest to whether it is revoked."""
    review: Review = field(default_factory=Review)
    handed_over_chance: float | None = None
    """That all is inside, as it was told when the work was handed over last."""

    @property
    def set_mm(self) -> dict[str, Point]:
        """Set seats where they are estimated to be."""
        return dict(self.estimate.place_mm) if self.estimate else {}

    @property
    def sticks(self) -> frozenset[str]:
        """Panels whose later seats are carried over from their first by a story stick."""
        kind = "fasteners.stick:"
        return frozenset(task.removeprefix(kind) for task in self.records if task.startswith(kind))

    @property
    def open_stops(self) -> tuple[Stop, ...]:
        return tuple(stop for stop in self.stops if stop.is_open)

    @property
    def open_parked(self) -> tuple[Parked, ...]:
        return tuple(one for one in self.parked if one.is_open)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What must be known: the plan's findings, and what was found that no hole may meet."""
        if self.hidden is None:
            return self.current.findings
        said = f"omething to keep clear of was found{self.hidden.where}: {self.hidden.found}"
        hidden = Finding(
            kind="services",
            seat=None,
            weight="reason",
            text=f"S{said}. Enter it as a keep-clear area, or write why the work may go on",
            crew=f"s{said}",
        )
        return (*self.current.findings, hidden)

    @property
    def is_hidden_released(self) -> bool:
        """The lead has written why work may go on with what was found before drilling."""
        return all(finding.kind != "services" for finding in self.open_findings)

    @property
    def open_findings(self) -> tuple[Finding, ...]:
        """What the lead has not released: bars, and what needs a reason and has none."""
        accepted = self.release.accepted if self.release else frozenset()
        return tuple(
            f
            for f in self.findings
            if f.weight == "bar" or (f.weight == "reason" and f.text not in accepted)
        )

    @property
    def is_released(self) -> bool:
        return self.release is not None

    def is_stacked(self, where: str) -> bool:
        """Whether the first panel of "p|q" is above the second, not beside it."""
        names = [panel.name for panel in self.job.panels]
        return any(
            pair.how == "above" and where == f"{names[pair.p]}|{names[pair.q]}"
            for pair in self.plan.arrangement.neighbours
        )

    def is_drilled(self, seat: str) -> bool:
        """There is a hole for this seat, if only a pilot."""
        return seat in self.holes or seat in self.pilots

    def seat(self, name: str) -> Any:
        """The seat's row in the current plan."""
        for seat in self.current.seats:
            if seat.seat == name:
                return seat
        raise NotFoundError(f"This job has no seat {name[:40]!r}.")

    def line_of(self, seat: str) -> LevelLine:
        return next(line for line in self.lines if seat in line.seats)

    def line_height_mm(self, line: LevelLine) -> float:
        """The line's height as measured, else as planned."""
        record = self.records.get(f"level.line:{line.name}")
        return float(record.values["height"]["mm"]) if record else line.y_mm
