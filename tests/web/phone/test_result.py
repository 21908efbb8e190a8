"""After measuring: how far off, what moves, by how much, why, and where it finishes."""

from __future__ import annotations

from tests.walking import off_by
from tests.web.phone.conftest import At, Site
from tests.web.phone.page import Screen


def measured(site: Site, seat: str, right_mm: float, up_mm: float) -> Screen:
    """The result of a seat that came out off its mark."""
    task = f"fasteners.measure:{seat}"
    read = off_by(site.state, seat, right_mm, up_mm)
    typed = {**read, **{f"echoed.{name}": text for name, text in read.items()}}
    form = site.see(task).form("task-form")
    known = {**form.fields, **typed}
    sent = site.visitor.client.post(form.action, data={**known, "outcome": "measured"})
    assert sent.status_code == 303, sent.text
    return site.see(sent.headers["Location"])


def test_it_works(at: At) -> None:
    site = at("fasteners.measure:C1")

    shown = measured(site, "C1", right_mm=3.175, up_mm=-3.175)

    assert shown.heading == "C1 is set"
    assert "low" in shown.words
    assert "right" in shown.words
    assert "Inside tolerance" in shown.words
    assert "Finish: at worst, " in shown.words


def test_marks_that_move_are_named_with_by_how_much_and_why(at: At) -> None:
    site = at("fasteners.measure:C1")

    shown = measured(site, "C1", right_mm=12.7, up_mm=12.7)

    moves = [seat for seat in site.state.form.seats if f"<b>{seat}</b>" in shown.html]
    assert moves
    assert "marks move" in shown.words
    assert "Why: left as they were, " in shown.words
    assert "hole now " in shown.words


def test_a_mark_already_on_the_wall_is_to_be_rubbed_out(at: At) -> None:
    """C2 is marked but not drilled when C1 comes out far off."""
    site = at("fasteners.measure:C1")
    assert "C2" in site.state.marked

    shown = measured(site, "C1", right_mm=12.7, up_mm=12.7)

    assert "rub out the old mark" in shown.words
    assert site.see("fasteners.mark:C2").heading == "Mark the hole for C2."


def test_the_page_can_be_loaded_again(at: At) -> None:
    site = at("fasteners.measure:C1")
    first = measured(site, "C1", right_mm=3.175, up_mm=0)
    seq = len(site.entries)

    again = site.see(f"result/{seq}")

    assert again.words == first.words
    assert len(site.entries) == seq


def test_it_stays_what_it_was_when_the_job_went_on(at: At) -> None:
    site = at("fasteners.measure:C1")
    first = measured(site, "C1", right_mm=3.175, up_mm=0)
    seq = len(site.entries)
    site.tap("fasteners.pilot:C2", "Record", {"met": "nothing"})

    later = site.see(f"result/{seq}")

    assert first.heading == later.heading
    assert "1/8 in" in later.words


def test_what_was_taken_back_says_so(at: At) -> None:
    site = at("fasteners.measure:C1")
    shown = measured(site, "C1", right_mm=3.175, up_mm=0)
    seq = len(site.entries)

    site.send(shown.form("undo"))

    assert "This was taken back since." in site.see(f"result/{seq}").words


def test_an_entry_without_a_result_is_not_found(at: At) -> None:
    site = at("fasteners.measure:C1")

    for seq in ("0", "1", "2", "99999", "999999999999999999999"):
        assert site.visitor.get(site.url(f"result/{seq}")).status_code == 404


def test_the_levels_own_error_is_said_with_its_sign(at: At) -> None:
    site = at("level.check")
    typed = {"instrument": "spirit", "over": "1000 mm", "miss": "1 mm", "higher": "high"}
    echoes = {"echoed.over": "1000 mm", "echoed.miss": "1 mm"}
    form = site.see("level.check").form("task-form")

    sent = site.visitor.client.post(
        form.action, data={**form.fields, **typed, **echoes, "outcome": "done"}
    )

    shown = site.see(sent.headers["Location"])
    assert "0.50 mm in 1 m" in shown.words
    assert "rises to the right" in shown.words
    assert "lower the right end" in shown.words
    assert "What was read before" not in shown.words

    again = site.see("level.check?again=1").form("task-form")
    sent = site.visitor.client.post(
        again.action, data={**again.fields, **typed, **echoes, "outcome": "done"}
    )
    assert "What was read before keeps the check before this one." in (
        site.see(sent.headers["Location"]).words
    )


def test_marks_out_of_true_are_pencilled_again(at: At) -> None:
    site = at("fasteners.pair:C1-C2")
    form = site.see("fasteners.pair:C1-C2").form("task-form")
    typed = {"spacing": "16 3/4", "echoed.spacing": "16 3/4"}

    sent = site.send(form.filled(typed).pressed("Record what I measured"))

    shown = site.see(sent.headers["Location"])
    assert "1/8 in too far apart" in shown.words
    assert "Pencil again" in shown.words
    assert site.see("fasteners.pilot:C1").heading == "Pilot C1"


def test_a_reading_out_of_tolerance_says_what_to_trim(at: At) -> None:
    site = at("panels.level:A")
    form = site.see("panels.level:A").form("task-form")
    typed = {"low": "left", "by": "1/8", "echoed.by": "1/8"}

    sent = site.send(form.filled(typed).pressed("Record what I measured"))

    shown = site.see(sent.headers["Location"])
    assert "Outside tolerance: trim A." in shown.words
    assert "Shim A1 up " in shown.words
    # nothing is trimmed before all that hangs was read
    site.tap("panels.facing:A|B", "As planned")
    trim = site.see("panels.trim:A").form("task-form").fields
    assert "'seat': 'A1'" in trim["seen"]
    assert "'means': 'shim'" in trim["seen"]
