"""A panel is secured as soon as it hangs level: nobody goes below it before."""

from __future__ import annotations

from tests.web.phone.conftest import At


def test_the_lock_is_offered_right_after_the_level_was_read(at: At) -> None:
    site = at("panels.level:C")

    following = site.tap("panels.level:C", "As planned")

    assert "Level of C: saved" in following.words
    lock = site.see(following.link("Secure C now before anybody goes below"))
    assert lock.heading == "Fit the locks, anti-lift or seismic fixings of panel C."
    tried = site.tap("secure.lock:C", "Record", {"with": "lock"})
    assert tried.heading.startswith("Try panel C")
    # and then on with the others
    assert site.tap("secure.try:C", "It holds").heading == following.heading


def test_it_is_offered_on_the_result_of_a_reading_too(at: At) -> None:
    site = at("panels.level:C")
    typed = {"low": "left", "by": "1/64", "echoed.by": "1/64"}

    shown = site.tap("panels.level:C", "Record what I measured", typed)

    assert shown.has_link("Secure C now before anybody goes below")


def test_a_panel_that_must_be_trimmed_is_offered_none(at: At) -> None:
    site = at("panels.level:C")
    typed = {"low": "left", "by": "1/4", "echoed.by": "1/4"}

    shown = site.tap("panels.level:C", "Record what I measured", typed)

    assert not shown.has_link("Secure C now before anybody goes below")
    assert "secure.lock:C" not in site.state.records


def test_it_is_offered_once_only(at: At) -> None:
    site = at("panels.level:C")
    site.tap("panels.level:C", "As planned")
    assert "Secure C now" not in site.see("panels.lift:B").words
