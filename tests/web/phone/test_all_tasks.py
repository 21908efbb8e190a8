"""All stages and tasks, in words and shapes."""

from __future__ import annotations

from tests.web.phone.conftest import At, stop_at


def test_it_works(at: At) -> None:
    site = at("fasteners.mark:C1")

    shown = site.see("all")

    for title in ("Join", "Before anything", "The level line", "Fasteners", "Close"):
        assert title in shown.words
    assert shown.link("Mark C1") == f"{site.base}/fasteners.mark:C1"
    assert "Mark C1 ready" in shown.words
    assert "Anchor C1 waits first finish: Pilot C1" in shown.words
    assert "Level line 1 done" in shown.words


def test_stopped_tasks_say_so(at: At) -> None:
    site = at("fasteners.mark:C1")
    stop_at(site, "C1")

    shown = site.see("all")

    assert "Mark C1 stopped" in shown.words
    assert shown.html.count("mark-stopped") >= 2


def test_a_done_task_says_what_who_and_when(at: At) -> None:
    site = at("fasteners.mark:C1")
    site.tap("fasteners.mark:C1", "Marked")

    shown = site.see("fasteners.mark:C1")

    assert "Done Ivo, 2026-03-02 08:00 UTC" in shown.words
    assert shown.has_link("Record again")
    assert shown.has_link("Go on")


def test_an_optional_check_is_offered_and_never_pressed_on_anybody(at: At) -> None:
    site = at("fasteners.measure:C2")

    shown = site.tap("fasteners.measure:C2", "As planned")

    assert shown.has_link("Seat to seat C1 to C2 if you like")
    assert "Seat to seat" not in shown.link("Go on")


def test_when_all_is_done_nothing_is_next(at: At) -> None:
    site = at("close.hand_over")

    shown = site.tap("close.hand_over", "Hand over")

    assert shown.heading == site.state.job.title
    assert "tasks are done." in shown.words
    assert site.see("", status=303).location == f"{site.base}/all"


def test_where_nothing_can_be_done_the_reason_comes_first_in_the_words_of_the_wall(at: At) -> None:
    site = at("stand_back.yes")
    cable = {"how": "both", "found": "live cable", "near[0]": "A1"}
    site.tap("before.services?again=1", "Checked", cable)
    assert "Nothing can be done now" not in site.see("all").words

    halted = site.tap("stand_back.yes", "They say yes", {"who": "Ada, curator"})

    said = (
        "Nothing can be done nowThe lead must look first: something to keep clear of was found "
        "near A1: live cable."
    )
    assert said in halted.words
    assert halted.words.index(said) < halted.words.index("1 Join")
    assert "Enter it as a keep-clear" not in halted.words
    assert halted.has_link("Look again")
