"""One tap records the plan."""

from __future__ import annotations

from tests.web.phone.conftest import At


def test_it_works(at: At) -> None:
    site = at("fasteners.measure:C1")

    shown = site.tap("fasteners.measure:C1", "As planned")

    record = site.record_of("fasteners.measure:C1")
    assert record.outcome == "as_planned"
    assert record.values == record.planned
    assert shown.heading == "C1 is set"
    assert "On its mark. Nothing moves." in shown.words


def test_the_next_task_follows_and_says_what_was_saved(at: At) -> None:
    site = at("fasteners.mark:C1")

    shown = site.tap("fasteners.mark:C1", "Marked")

    assert shown.heading == "Mark the hole for C2."
    assert "Mark C1: saved" in shown.words


def test_the_first_address_leads_to_the_next_task(at: At) -> None:
    site = at("fasteners.mark:C1")

    assert site.see("", status=303).location == f"{site.base}/fasteners.mark:C1"


def test_a_length_typed_and_then_as_planned_asks_which(at: At) -> None:
    site = at("fasteners.measure:C1")

    shown = site.refused("fasteners.measure:C1", "As planned", {"above": "6"})

    assert "You typed 6, which is not the plan." in shown.words
    form = shown.form("task-form")
    assert form.fields["above"] == "6"
    site.send(form.pressed("As planned all the same"))
    assert site.record_of("fasteners.measure:C1").outcome == "as_planned"


def test_of_the_two_what_was_typed_can_be_recorded_as_well(at: At) -> None:
    site = at("fasteners.measure:C1")
    shown = site.refused("fasteners.measure:C1", "As planned", {"above": "5"})

    again = shown.form("task-form").pressed("Record what I measured")
    site.send(again)

    record = site.record_of("fasteners.measure:C1")
    assert (record.outcome, record.values["above"]["mm"]) == ("measured", 127.0)


def test_a_plan_that_moved_while_the_page_was_open_is_not_recorded(at: At) -> None:
    site = at("fasteners.mark:C1")
    form = site.see("fasteners.mark:C1").form("task-form").pressed("Marked")
    moved = {**form.fields, "seen": form.fields["seen"].replace("-", "-1", 1)}
    before = len(site.entries)

    answer = site.visitor.client.post(form.action, data=moved)

    assert answer.status_code == 409
    assert "The numbers of this task changed while the page was open" in answer.text
    assert len(site.entries) == before


def test_the_return_key_never_presses_as_planned(at: At) -> None:
    """A browser presses a form's first button when the return key is hit in an input."""
    site = at("fasteners.measure:C1")

    first = site.see("fasteners.measure:C1").form("task-form").buttons
    submits = [words for name, _, words in first if name == "outcome"]

    assert submits[0] == "Record what I measured"
