"""Entries that waited on a phone: two people at one seat, and marks that moved in between."""

from __future__ import annotations

from typing import Any

import pytest

from holdtrue.domain.errors import ConflictError, InputError, NotFoundError
from holdtrue.domain.needs import needs
from holdtrue.domain.prefill import shown_plan
from holdtrue.domain.rings import laid_mm
from holdtrue.service import installers, tasks
from holdtrue.service.meanwhile import Shown, read_shown
from holdtrue.service.services import Actor
from holdtrue.service.tasks import Typed
from holdtrue.store.port import Entry
from tests.domain.crew import Crew, at_fasteners, panel, row

THREE = row(panel("A"), panel("B"), panel("C"))


def shown(crew: Crew, seat: str, right_mm: float = 0.0, up_mm: float = 0.0) -> Shown:
    """The seat as a phone shows it, some mm off what the server shows now."""
    now = crew.state.seat(seat)
    return Shown(
        x_mm=now.x_mm + right_mm,
        y_mm=now.y_mm + up_mm,
        hole_y_mm=now.hole_y_mm + up_mm,
        fastener=now.fastener.name if now.fastener else None,
    )


def late(
    crew: Crew,
    task_id: str,
    raw: dict[str, str] | None = None,
    *,
    by: Actor | None = None,
    outcome: str = "done",
    key: str | None = None,
    **more: Any,
) -> Entry:
    typed = Typed(outcome=outcome, raw=raw or {}, unit="mm", is_late=True, is_sure=True, **more)
    return tasks.record_task(
        crew.services, by or crew.installer, crew.job, task_id, typed, key=key or crew.key()
    )


def mate(crew: Crew) -> Actor:
    """Ada, on a phone of her own."""
    code = installers.invite_installer(crew.services, crew.lead, crew.job, label="", key=crew.key())
    return crew.joined(code, "Ada")


READ = {"x": "650", "x.side": "left", "above": "100"}


# -- two people, one task --------------------------------------------------------------------------


def test_who_records_a_seat_after_somebody_else_did_is_told_both_values() -> None:
    crew = at_fasteners(THREE)
    crew.walk(until="fasteners.measure:A1")
    x_mm = crew.state.marks_mm["A1"][0]
    crew.measure("A1", x_mm + 1.5, crew.state.marks_mm["A1"][1])
    before = crew.entries
    with pytest.raises(ConflictError) as refused:
        late(
            crew,
            "fasteners.measure:A1",
            {"x": f"{abs(x_mm) + 2}", "x.side": "left", "above": "104"},
            by=mate(crew),
            outcome="measured",
            stands="0",
        )
    words = str(refused.value)
    assert "Measure A1 was recorded meanwhile by Ivo, 2026-03-02 08:" in words
    assert f"from the reference line {abs(x_mm) - 1.5:.1f} mm left" in words
    assert f"Yours: from the reference line {abs(x_mm) + 2:.1f} mm left, above the" in words
    assert [e.type for e in crew.entries[len(before) :]] == ["InstallerInvited", "InstallerJoined"]


def test_who_saw_what_stands_may_record_it_again() -> None:
    crew = at_fasteners(THREE)
    first = crew.record("fasteners.mark:B1")
    again = late(crew, "fasteners.mark:B1", stands=str(first.seq), by=mate(crew))
    assert crew.state.records["fasteners.mark:B1"].seq == again.seq


def test_a_record_taken_back_meanwhile_is_no_conflict() -> None:
    crew = at_fasteners(THREE)
    first = crew.record("fasteners.mark:B1")
    crew.undo(first)
    late(crew, "fasteners.mark:B1", stands=str(first.seq))
    assert crew.status("fasteners.mark:B1") == "done"


def test_a_phone_may_record_again_what_it_sent_itself_by_the_key_of_its_own_entry() -> None:
    crew = at_fasteners(THREE)
    key = crew.key()
    late(crew, "fasteners.mark:B1", stands="0", key=key)
    late(crew, "fasteners.mark:B1", stands=key)
    with pytest.raises(ConflictError, match="recorded meanwhile by Ivo"):
        late(crew, "fasteners.mark:B1", stands="0")
    with pytest.raises(ConflictError, match="recorded meanwhile by Ivo"):
        late(crew, "fasteners.mark:B1", stands=crew.key())  # its own entry was refused


def test_an_entry_sent_twice_is_no_conflict_with_itself() -> None:
    crew = at_fasteners(THREE)
    key = crew.key()
    first = late(crew, "fasteners.mark:B1", stands="0", key=key)
    assert late(crew, "fasteners.mark:B1", stands="0", key=key) == first


@pytest.mark.parametrize("stands", ["", "-1", "²", "9" * 30])
def test_whatever_is_said_to_have_stood_nothing_is_overwritten_unseen(stands: str) -> None:
    crew = at_fasteners(THREE)
    crew.record("fasteners.mark:B1")
    with pytest.raises(ConflictError, match="meanwhile"):
        late(crew, "fasteners.mark:B1", stands=stands)


def test_giving_up_a_seat_somebody_else_just_made_again_is_refused() -> None:
    crew = at_fasteners(THREE)
    crew.walk(until="fasteners.measure:B1")
    seen, ada = crew.state.seq, mate(crew)
    crew.free("B1")
    crew.do("fasteners.mark:B1")

    def free(by: Actor, stands: int) -> Entry:
        return tasks.free_seat(
            crew.services,
            by,
            crew.job,
            "B1",
            why="spent",
            key=crew.key(),
            stands=str(stands),
        )

    with pytest.raises(ConflictError, match=r"Ivo worked at B1 meanwhile.*given up"):
        free(ada, seen)
    with pytest.raises(ConflictError, match="no hole yet"):
        free(crew.installer, seen)  # his own work is no conflict; there is only nothing to give up
    with pytest.raises(ConflictError, match="no hole yet"):
        free(ada, crew.state.seq)


def test_blocking_a_seat_somebody_else_blocked_meanwhile_is_refused() -> None:
    crew = at_fasteners(THREE)
    seen, ada = crew.state.seq, mate(crew)
    crew.block("C1", "solid")
    with pytest.raises(ConflictError, match=r"Ivo worked at C1 meanwhile.*in the way"):
        tasks.block_seat(
            crew.services,
            ada,
            crew.job,
            "C1",
            found="stud",
            material="wood",
            key=crew.key(),
            stands=str(seen),
        )
    assert crew.state.seat("C1").into == "solid"


# -- marks that moved meanwhile --------------------------------------------------------------------


def test_a_mark_made_late_stands_where_it_was_shown_and_is_to_be_made_again() -> None:
    crew = at_fasteners(THREE)
    entry = late(
        crew, "fasteners.mark:B1", shown=shown(crew, "B1", 2.0), seen="1 2 old", stands="0"
    )
    mark = crew.state.marked["B1"]
    assert mark.seat_mm[0] == crew.state.seat("B1").x_mm + 2.0
    assert entry.body["late"] is True
    assert crew.status("fasteners.mark:B1") == "ready"


def test_a_mark_made_late_where_it_still_belongs_is_done() -> None:
    crew = at_fasteners(THREE)
    late(crew, "fasteners.mark:B1", shown=shown(crew, "B1"), seen="1 2 old")
    assert crew.status("fasteners.mark:B1") == "done"


def test_without_the_place_shown_a_moved_mark_is_refused_as_ever() -> None:
    crew = at_fasteners(THREE)
    with pytest.raises(ConflictError, match="numbers of this task changed"):
        late(crew, "fasteners.mark:B1", seen="1 2 old")


def to_the_second_ring() -> tuple[Crew, str]:
    """What a phone showed for the second ring, before the first was shimmed otherwise than said."""
    crew = at_fasteners(row(panel("A", shims=2)))
    crew.walk(until="panels.shim:A1")
    seen = shown_plan(crew.state, "panels.shim:A2")
    crew.record("panels.shim:A1", {"thick": "4"}, is_sure=True)
    assert shown_plan(crew.state, "panels.shim:A2") != seen
    return crew, seen


def test_shims_laid_as_said_late_lie_as_thick_as_the_phone_said() -> None:
    crew, seen = to_the_second_ring()
    late(crew, "panels.shim:A2", outcome="as_planned", seen=seen)
    assert laid_mm(crew.state)["A2"] == float(seen)
    # before the lift it could still be laid otherwise; a panel that was lifted hangs on it
    assert crew.status("panels.lift:A") == "waiting"
    late(crew, "panels.lift:A")
    assert {crew.status(f"panels.{what}:A") for what in ("lift", "engaged")} == {"done", "ready"}
    assert crew.status("panels.shim:A2") == "done"


@pytest.mark.parametrize("seen", ["", "2.03", "4.50", "9.50", "1e9", "nan", "2.00 2.00"])
def test_what_no_phone_says_of_shims_is_refused(seen: str) -> None:
    crew, _ = to_the_second_ring()
    with pytest.raises(ConflictError, match="numbers of this task changed"):
        late(crew, "panels.shim:A2", outcome="as_planned", seen=seen)


def test_shims_said_on_a_page_that_is_open_are_looked_at_again() -> None:
    crew, seen = to_the_second_ring()
    typed = Typed(outcome="as_planned", raw={}, unit="mm", seen=seen)
    with pytest.raises(ConflictError, match="numbers of this task changed"):
        tasks.record_task(
            crew.services, crew.installer, crew.job, "panels.shim:A2", typed, key=crew.key()
        )


def test_a_whole_seat_done_without_network_is_recorded_where_it_was_done() -> None:
    """Ada's reading moved B's marks while Ivo marked, drilled and measured it out of reach."""
    crew = at_fasteners(THREE)
    there = {seat: shown(crew, seat, 3.0, 1.0) for seat in ("B1", "B2")}
    for seat, place in there.items():
        late(crew, f"fasteners.mark:{seat}", shown=place, seen="old")
    late(crew, "fasteners.pair:B1-B2", outcome="as_planned", seen="old")
    late(crew, "fasteners.pilot:B1", {"met": "nothing"}, seen="")
    late(crew, "fasteners.anchor:B1", shown=there["B1"], seen="old")
    late(crew, "fasteners.press:B1", seen="")
    measured = late(
        crew, "fasteners.measure:B1", shown=there["B1"], outcome="as_planned", seen="old"
    )
    state = crew.state
    assert state.set_mm["B1"] == pytest.approx((there["B1"].x_mm, there["B1"].y_mm), abs=1e-6)
    assert measured.body["given"] == {"x_mm": there["B1"].x_mm, "y_mm": there["B1"].y_mm}
    assert state.holes["B1"] == pytest.approx((there["B1"].x_mm, there["B1"].hole_y_mm))
    assert measured.body["planned"]["x"]["mm"] == pytest.approx(there["B1"].x_mm)


def test_the_pair_is_checked_against_the_marks_on_the_wall() -> None:
    crew = at_fasteners(THREE)
    for seat, right in (("B1", 0.0), ("B2", 4.0)):
        late(crew, f"fasteners.mark:{seat}", shown=shown(crew, seat, right), seen="old")
    entry = late(crew, "fasteners.pair:B1-B2", outcome="as_planned", seen="old")
    apart = crew.state.seat("B2").x_mm - crew.state.seat("B1").x_mm + 4.0
    assert entry.body["planned"]["spacing"]["mm"] == pytest.approx(apart)


def test_a_pair_of_marks_nobody_made_is_not_checked_late_either() -> None:
    crew = at_fasteners(THREE)
    with pytest.raises(ConflictError, match="must wait: first finish: Mark B1"):
        late(crew, "fasteners.pair:B1-B2", outcome="as_planned", seen="old")


def test_the_height_shown_counts_over_the_line_whatever_the_line_is_said_to_be_now() -> None:
    crew = at_fasteners(THREE)
    crew.walk(until="fasteners.measure:B1")
    there = shown(crew, "B1")
    told = Shown(
        x_mm=there.x_mm,
        y_mm=there.y_mm,
        hole_y_mm=there.hole_y_mm,
        fastener=there.fastener,
        above_mm=101.25,
    )
    entry = late(crew, "fasteners.measure:B1", shown=told, outcome="as_planned")
    line = crew.state.line_height_mm(crew.state.line_of("B1"))
    assert entry.body["values"]["above"]["mm"] == 101.25
    assert entry.body["place"]["y_mm"] == pytest.approx(line + 101.25)


def test_a_hole_made_for_another_fastener_is_the_leads_to_settle() -> None:
    crew = at_fasteners(THREE)
    crew.walk(until="fasteners.anchor:B1")
    there = shown(crew, "B1")
    old = Shown(
        x_mm=there.x_mm, y_mm=there.y_mm, hole_y_mm=there.hole_y_mm, fastener="no such hook"
    )
    with pytest.raises(ConflictError, match="no such hook, which the plan does not list"):
        late(crew, "fasteners.anchor:B1", shown=old)


def test_a_mark_for_a_fastener_the_plan_gave_up_is_not_drilled_late() -> None:
    crew = at_fasteners(THREE)
    crew.walk(until="fasteners.pilot:B1")
    wrong = Shown(
        x_mm=crew.state.seat("B1").x_mm,
        y_mm=crew.state.seat("B1").y_mm,
        hole_y_mm=crew.state.seat("B1").hole_y_mm,
        fastener="tired hook",
    )
    late(crew, "fasteners.mark:B1", shown=wrong)
    assert crew.status("fasteners.mark:B1") == "ready"
    with pytest.raises(ConflictError, match="B1 was marked for tired hook; the plan has hook"):
        late(crew, "fasteners.pilot:B1", {"met": "nothing"})


def test_late_does_not_open_what_is_barred_or_not_begun() -> None:
    crew = at_fasteners(THREE)
    with pytest.raises(ConflictError, match="must wait"):
        late(crew, "fasteners.anchor:B1", shown=shown(crew, "B1"))
    crew.do("fasteners.mark:B1")
    crew.stop("B1")
    with pytest.raises(ConflictError, match="stop at B1"):
        late(crew, "fasteners.mark:B1", shown=shown(crew, "B1"))
    crew.revise(THREE)
    with pytest.raises(ConflictError, match="not released"):
        late(crew, "fasteners.mark:C1", shown=shown(crew, "C1"))


def test_a_number_confirmed_without_measuring_is_refused_when_it_changed() -> None:
    crew = Crew(THREE)
    crew.release()
    crew.walk(until="work.hanger:A1")
    with pytest.raises(ConflictError, match="numbers of this task changed"):
        late(crew, "work.hanger:A1", outcome="as_planned", seen="right 99.00 99.00 ")
    late(
        crew,
        "work.hanger:A1",
        {"edge": "right", "in": "99", "down": "100"},
        outcome="measured",
        seen="right 99.00 99.00 ",
    )
    assert crew.status("work.hanger:A1") == "done"


def test_what_is_late_is_still_what_the_state_allows() -> None:
    crew = at_fasteners(THREE)
    found = needs(crew.state)
    for task in crew.tasks:
        if task.status == "waiting" and task.kind.stage == "panels":
            assert found[task.id].after
            with pytest.raises(ConflictError):
                late(crew, task.id, outcome="as_planned" if task.kind.has_plan else "done")


# -- the place a phone says ------------------------------------------------------------------------


def test_a_form_without_a_place_shows_none() -> None:
    assert read_shown({}) is None
    assert read_shown({"shown.x_mm": "", "shown.y_mm": "2"}) is None


def test_a_place_is_read_as_numbers() -> None:
    raw = {"shown.x_mm": "-12.5", "shown.y_mm": "1e3", "shown.hole_y_mm": "1006"}
    assert read_shown(raw) == Shown(x_mm=-12.5, y_mm=1000.0, hole_y_mm=1006.0, fastener=None)


@pytest.mark.parametrize("text", ["nan", "inf", "-inf", "1e9", "x", "", "1" * 400, "0x10"])
def test_what_is_no_place_is_refused(text: str) -> None:
    raw = {"shown.x_mm": "1", "shown.y_mm": text, "shown.hole_y_mm": "1006"}
    with pytest.raises(InputError, match=r"shown\.y_mm"):
        read_shown(raw)


# -- trims nobody advised --------------------------------------------------------------------------


def test_a_trim_made_without_network_is_kept_whether_it_is_advised_or_not() -> None:
    """The phone does not know which panel the server would touch."""
    crew = at_fasteners(THREE)
    crew.walk(until="panels.engaged:A")
    shim = {"means": "shim", "seat": "A1", "way": "up", "by": "1"}
    with pytest.raises(NotFoundError):
        late(crew, "panels.trim:A", shim, outcome="measured")
    crew.record("panels.engaged:A")
    with pytest.raises(NotFoundError):
        tasks.record_task(
            crew.services,
            crew.installer,
            crew.job,
            "panels.trim:A",
            Typed(outcome="measured", raw=shim, unit="mm"),
            key=crew.key(),
        )
    stored = late(crew, "panels.trim:A", shim, outcome="measured")
    assert [(t.seat, t.by_mm, t.seq) for t in crew.state.trims] == [("A1", 1.0, stored.seq)]
    with pytest.raises(InputError, match="nothing is advised"):
        late(crew, "panels.trim:A", outcome="as_planned")
