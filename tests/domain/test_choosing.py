"""After a deviation: what is offered, where it leads, and that choosing does what it says."""

from __future__ import annotations

import pytest

from holdtrue.core.sources_trim import APART_FULL_MM
from holdtrue.domain import events
from holdtrue.domain.checklist import next_task
from holdtrue.domain.choosing import CHOICES, Offer, offers
from holdtrue.domain.errors import ConflictError, InputError
from holdtrue.domain.timeline import timeline
from holdtrue.service import choosing, jobs
from holdtrue.store.port import Entry
from tests.domain.crew import Crew, at_fasteners, panel, row


def set_low(by_mm: float = 4.0) -> Crew:
    """B1 on its mark, B2 low by that much: panel B, the first of three, is set and out of level."""
    crew = at_fasteners(row(panel("A"), panel("B"), panel("C")))
    for seat, down in (("B1", 0.0), ("B2", by_mm)):
        crew.walk(until=f"fasteners.measure:{seat}")
        x_mm, y_mm = crew.state.marks_mm[seat]
        crew.measure(seat, x_mm, y_mm - down)
    return crew


def offered(crew: Crew, seat: str = "B2") -> dict[str, Offer]:
    return {offer.name: offer for offer in offers(crew.state, seat)}


def choose(crew: Crew, choice: str, seat: str = "B2", of: int | None = None) -> Entry:
    stands = crew.state.set_seats[seat].seq if of is None else of
    return choosing.choose(
        crew.services, crew.installer, crew.job, seat, choice=choice, of=stands, key=crew.key()
    )


def test_each_choice_says_where_it_leads() -> None:
    found = offered(set_low())
    assert list(found) == list(CHOICES)
    # 4 mm over 400 between the hangers: 6 mm over the width of 600, 1.5 allowed
    assert found["carry_on"].choice.worst_label == "level B"
    assert found["carry_on"].choice.worst_share == pytest.approx(4.0)
    assert found["carry_on"].chance < 0.01
    assert [(p, t.means, t.seat, t.way) for p, t in found["true_first"].touches] == [
        ("B", "shim", "B2", "up")
    ]
    assert found["move_hanger"].move_mm == (0.0, -4.0)
    assert found["true_first"].chance > found["carry_on"].chance
    assert found["trim_later"].chance > found["carry_on"].chance


def test_a_hole_made_again_keeps_its_distance_and_stands_on_the_graduation() -> None:
    crew = set_low()
    offer = offered(crew)["correct"]
    assert offer.aim is not None
    assert offer.hole_by_mm is not None
    right, up = offer.hole_by_mm
    assert (right**2 + up**2) ** 0.5 >= APART_FULL_MM - 1e-9
    # the hole there is where its seat was read: 4 mm below its mark
    marked = crew.state.holes["B2"]
    old = (marked[0], marked[1] - 4.0)
    choose(crew, "correct")
    assert "B2" not in crew.state.set_seats
    assert [hole.seat for hole in crew.state.old_holes] == ["B2"]
    assert crew.state.old_holes[0].at_mm == pytest.approx(old, abs=0.5)
    assert crew.state.marks_mm["B2"] == offer.aim
    seat = crew.state.seat("B2")
    old = crew.state.old_holes[0].at_mm
    assert (seat.x_mm - old[0], seat.hole_y_mm - old[1]) == pytest.approx((right, up))
    assert seat.hole_y_mm == pytest.approx(round(seat.hole_y_mm))
    assert crew.status("fasteners.mark:B2") == "ready"
    # it stays there whatever is read meanwhile
    crew.do("fasteners.mark:A1")
    assert crew.state.marks_mm["B2"] == offer.aim


def test_carrying_on_is_kept_in_the_log_and_changes_no_mark() -> None:
    crew = set_low()
    before = dict(crew.state.marks_mm)
    entry = choose(crew, "carry_on")
    assert crew.state.marks_mm == before
    assert [(c.seat, c.choice) for c in crew.state.choices] == [("B2", "carry_on")]
    line = timeline(crew.entries, {}, "mm")[-1]
    assert line.text == "B2 is off its mark, chosen: carry on (chance under 1\N{NO-BREAK SPACE}%)"
    crew.undo(entry)
    assert crew.state.choices == ()


def test_a_panel_trued_first_hangs_next_and_the_rest_answers_to_how_it_hangs() -> None:
    crew = set_low()
    before = crew.state.marks_mm["A1"]
    choose(crew, "true_first")
    # the panel's own seats are set: it may hang although the others are not driven
    upcoming = [task.id for task in crew.tasks if task.status == "ready"]
    assert "panels.lift:B" in upcoming
    assert crew.status("panels.lift:A") == "waiting"
    crew.do("panels.lift:B")
    crew.do("panels.engaged:B")
    crew.record("panels.level:B", {"low": "right", "by": "6"})
    crew.do("panels.edge:B")
    low = crew.state.bearing_mm["B2"]
    assert low[1] == pytest.approx(crew.state.set_mm["B2"][1], abs=1.0)
    crew.record("panels.trim:B")
    crew.record("panels.level:B", {"low": "right", "by": "0.1"})
    trued = crew.state.bearing_mm["B2"]
    assert trued[1] == pytest.approx(low[1] + 3.5, abs=1.0)
    assert crew.state.set_mm["B2"][1] < trued[1] - 2.5
    assert crew.state.marks_mm["A1"] != before
    crew.walk()
    assert crew.state.review.state == "handed_over"


def test_a_hanger_is_moved_only_with_the_makers_yes_and_only_that_one() -> None:
    crew = set_low()
    choose(crew, "move_hanger")
    job = crew.state.job
    assert crew.status("panels.move:B2") == "ready"
    crew.record("panels.move:B2", {"agreed": "yes", "who": "Mara, maker"}, by=crew.lead)
    now = crew.state.job
    assert now.panels[0] == job.panels[0]
    assert now.panels[1].hangers[0] == job.panels[1].hangers[0]
    # its hanger 4 mm lower on the panel: the panel hangs level on the low seat
    moved = (now.panels[1].hangers[1].v_mm, job.panels[1].hangers[1].v_mm)
    assert moved[0] - moved[1] == pytest.approx(-4.0)
    assert set(crew.state.set_seats) == {"B1", "B2"}
    assert crew.state.is_released
    levels = offered(crew)["carry_on"].choice
    assert levels.finish_mm["level"] == pytest.approx(0.0, abs=0.01)


def test_a_hanger_stays_when_the_maker_says_no() -> None:
    crew = set_low()
    choose(crew, "move_hanger")
    job = crew.state.job
    crew.record("panels.move:B2", {"agreed": "no", "who": "Mara, maker"}, by=crew.lead)
    assert crew.state.job == job
    assert crew.status("panels.move:B2") == "done"


def test_the_panel_waits_for_the_makers_word() -> None:
    crew = set_low()
    choose(crew, "true_first")
    choose(crew, "move_hanger")
    assert crew.task("panels.lift:B").why == "first finish: Move hanger B2"


def test_what_is_gone_cannot_be_chosen() -> None:
    crew = set_low()
    old = crew.state.set_seats["B2"].seq
    x_mm, y_mm = crew.state.set_seats["B2"].given_mm
    crew.measure("B2", x_mm, y_mm - 3.0)
    with pytest.raises(ConflictError, match="read again"):
        choose(crew, "carry_on", of=old)
    with pytest.raises(InputError):
        choose(crew, "pray")
    with pytest.raises(ConflictError):
        choose(crew, "carry_on", seat="B2", of=1)


def test_once_the_panel_hangs_its_fastener_is_not_made_again() -> None:
    crew = set_low()
    choose(crew, "true_first")
    crew.do("panels.lift:B")
    assert "correct" not in offered(crew)
    with pytest.raises(ConflictError):
        choose(crew, "correct")


def test_the_same_choice_sent_twice_is_stored_once() -> None:
    crew = set_low()
    key = crew.key()
    stands = crew.state.set_seats["B2"].seq
    for _ in range(2):
        choosing.choose(
            crew.services,
            crew.installer,
            crew.job,
            "B2",
            choice="trim_later",
            of=stands,
            key=key,
        )
    made = [entry for entry in crew.entries if entry.type == events.CHOICE_MADE]
    assert len(made) == 1
    assert jobs.state_of(crew.services, crew.job).choices[0].choice == "trim_later"
    assert next_task(crew.tasks) is not None
