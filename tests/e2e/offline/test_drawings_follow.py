"""Drawings show the same numbers as the screen around them, also when the phone is ahead."""

from __future__ import annotations

from tests.e2e.offline.fieldwork import installer, offline, open_task, prepared, switch_off
from tests.e2e.people import Crew
from tests.e2e.server import Server

MEASURE = "fasteners.measure:C1"


def test_the_drawing_of_a_mark_that_moved_without_network_shows_where_it_is_now(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until=MEASURE)
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, MEASURE)
    with offline(ivo):
        ivo.do(MEASURE, {"above": "5 1/2"})
        ivo.work(until="fasteners.mark:C2")
        across, above = (one.inner_text() for one in ivo.page.locator(".number").all())
        drawn = {
            name: ivo.page.locator(f'.drawing text [data-live="{name}:C2"], .drawing '
                                   f'text[data-live="{name}:C2"]').first.text_content()
            for name in ("hole-x", "hole-above")
        }  # fmt: skip
        assert plain(above) == "5 13/16 in"
        shown = [plain(drawn[name] or "") for name in ("hole-x", "hole-above")]
        assert shown == [plain(across), plain(above)]
    switch_off(server, crew)


def plain(number: str) -> str:
    """A large number's fraction as it is written in a drawing."""
    return number.replace("⁄", "/").replace("\xa0", " ")
