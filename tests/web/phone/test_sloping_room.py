"""A work that follows a sloping room: screens ask for where the seats put the panels."""

from __future__ import annotations

from flask import Flask

from holdtrue.service.services import Services
from tests.walking import LEAD, golden, released, walk
from tests.web.phone.conftest import Site, joined


def one_row() -> dict[str, object]:
    """Two panels 20 in wide, 2 in apart, hangers 4 in over the middle; 20 mm up in 1 m."""
    panels = [
        {
            "name": name,
            "width": 20,
            "height": 20,
            "mass": "20 lb",
            "hangers": [{"in": 2, "down": 6}, {"in": 18, "down": 6}],
        }
        for name in ("A", "B")
    ]
    layout = {"kind": "row", "gap": 2, "height": {"of": "centre", "at": 60}}
    return {**golden(), "panels": panels, "layout": layout, "slope": 20, "wall": {}}


def at(app: Flask, services: Services, until: str) -> Site:
    job_id = released(services, LEAD, one_row())
    walk(services, LEAD, job_id, until=until)
    return Site(services, job_id, joined(app, services, job_id, "Ivo", unit="mm", hand="right"))


def test_the_corners_are_taped_where_the_turned_panels_hang(app: Flask, services: Services) -> None:
    shown = at(app, services, "stand_back.corners").see("stand_back.corners")
    # A's middle is 279.4 mm left of the line: 5.6 lower than 1524, and 2.0 further right by its
    # hangers, 101.6 over it; its corners, 254 out and up, turn by 5.1 each way:
    # (-536.45, 1767.33) and (-28.45, 1777.49), to 1/16 in
    assert "top left 536.6 mm left, 1766.9 mm up" in shown.words
    assert "top right 28.6 mm left, 1778 mm up" in shown.words


def test_a_level_panels_corners_are_said_by_its_sides(app: Flask, services: Services) -> None:
    job_id = released(services, LEAD, {**one_row(), "slope": 0})
    walk(services, LEAD, job_id, until="stand_back.corners")
    site = Site(services, job_id, joined(app, services, job_id, "Ivo", unit="in", hand="right"))
    shown = site.see("stand_back.corners")
    assert "21 in left to 1 in left; 50 in to 70 in up" in shown.words


def test_the_level_edge_is_read_as_planned_and_not_level_on_purpose(
    app: Flask, services: Services
) -> None:
    site = at(app, services, "panels.level:A")
    shown = site.see("panels.level:A")
    assert "Not level on purpose: its right end is planned 10.2 mm higher." in shown.words
    form = shown.form("task-form")
    assert (form.fields["low"], form.fields["by"]) == ("left", "10.2")
    echoed = {**form.fields, "echoed.by": form.fields["by"], "outcome": "measured"}
    sent = site.visitor.client.post(form.action, data=echoed)
    assert "Inside tolerance." in site.see(sent.headers["Location"]).words


def test_the_step_that_is_planned_between_two_panels_is_shown(
    app: Flask, services: Services
) -> None:
    site = at(app, services, "panels.facing:A|B")
    shown = site.see("panels.facing:A|B")
    # 2 in of gap on 20 mm/m
    assert "Step B higher, as planned 1" in shown.words
    assert "Gap as planned 50.8" in shown.words


def test_a_story_stick_is_held_at_the_slope(app: Flask, services: Services) -> None:
    document = one_row()
    job_id = released(services, LEAD, document)
    state = walk(services, LEAD, job_id, until="stand_back.corners")
    site = Site(services, job_id, joined(app, services, job_id, "Ivo", unit="mm", hand="right"))
    walk(services, LEAD, job_id, until=f"fasteners.mark:{state.order[0]}")
    shown = site.see(f"fasteners.stick:{state.order[0][:-1]}")
    assert "hold the stick on its seat, its right end 8.1 mm higher, and mark" in shown.words
