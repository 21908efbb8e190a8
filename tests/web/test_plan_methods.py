"""The plan page with hanging methods, screws, outlets, the lift, and what clears a conflict."""

from __future__ import annotations

import re
from html import unescape
from typing import Any

import pytest
from werkzeug.test import TestResponse

from holdtrue.service import jobs
from holdtrue.service.services import Services
from holdtrue.web import forms
from tests.domain.papers import smallest
from tests.web.conftest import Visitor

RINGS = [{"in": "100", "down": "300"}, {"in": "400", "down": "300"}]
HOOK = {"name": "hook", "into": "hollow", "drop": "4", "capacity": "40 kg", "basis": "working"}


def document(**top: Any) -> dict[str, Any]:
    made = {**smallest(), "fasteners": [HOOK], **top}
    made.pop("format")
    return made


def on_wire(**hang: Any) -> dict[str, Any]:
    made = document()
    given = {"method": "wire", "rise": "150", "capacity": "500 N", "basis": "ultimate"}
    made["panels"][0] |= {"hangers": RINGS, "hang": given | hang}
    return made


def send(lead: Visitor, made: dict[str, Any], action: str = "check") -> TestResponse:
    return lead.post("/jobs/new", {**dict(forms.write_fields(made)), "action": action})


def words(answer: TestResponse) -> str:
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", answer.text)).split())


def value(answer: TestResponse, path: str) -> str:
    found = re.search(rf'name="{re.escape(path)}" value="([^"]*)"', answer.text)
    assert found, path
    return unescape(found[1])


def fields(answer: TestResponse) -> set[str]:
    return {
        unescape(name)
        for name in re.findall(r'<(?:input|select) id="f-[^"]*" name="([^"]+)"', answer.text)
    }


# ---- it works


def test_a_panel_on_a_wire_is_typed_planned_and_saved(lead: Visitor, services: Services) -> None:
    checked = send(lead, on_wire())
    assert checked.status_code == 200
    assert "its wire pulls 69.3 N" in words(checked)
    assert "a wire gives no precision" in words(checked)
    assert "on a wire" in words(checked)

    saved = send(lead, on_wire(), "save")
    job_id = saved.headers["Location"].split("/")[2]
    state = jobs.state_of(services, job_id)
    assert state.job.panels[0].hang.method == "wire"
    assert value(lead.get(saved.headers["Location"]), "panels[0].hang.rise") == "150"


@pytest.mark.parametrize(
    ("hang", "hangers", "says"),
    [
        (
            {"method": "cleat", "up": "40"},
            [{"in": x, "down": "60"} for x in ("100", "400")],
            "on a cleat",
        ),
        (
            {"method": "standoff"},
            [{"in": x, "down": y} for x in ("30", "470") for y in ("30", "670")],
            "on four stand-offs",
        ),
    ],
)
def test_the_other_methods_are_planned_too(
    lead: Visitor, hang: Any, hangers: Any, says: str
) -> None:
    made = document()
    made["panels"][0] |= {"hangers": hangers, "hang": hang}
    answer = send(lead, made)
    assert answer.status_code == 200
    assert says in words(answer)


def test_the_fields_of_a_method_appear_once_it_is_chosen(lead: Visitor) -> None:
    hidden = {"panels[0].hang.rise", "panels[0].hang.up"}
    assert "panels[0].hang.method" in fields(lead.get("/jobs/new"))
    assert not fields(lead.get("/jobs/new")) & hidden
    assert "panels[0].hang.rise" in fields(send(lead, on_wire()))


def test_what_another_method_left_behind_can_be_seen_and_cleared(lead: Visitor) -> None:
    made = on_wire()
    made["panels"][0]["hang"] = {"method": "cleat", "up": "40", "rise": "150"}
    answer = send(lead, made)
    assert answer.status_code == 422
    assert {"panels[0].hang.rise", "panels[0].hang.up"} <= fields(answer)
    assert 'href="#f-panels-0-hang-rise"' in answer.text


# ---- faults stand at their fields


@pytest.mark.parametrize(
    ("made", "path"),
    [
        (on_wire(rise="ten"), "panels[0].hang.rise"),
        (on_wire(rise="301"), "panels[0].hang.rise"),
        (document(wall={"outlets": [{"x": "10", "y": "low"}]}), "wall.outlets[0].y"),
        (document(wall={"top": "-5"}), "wall.top"),
        (
            document(
                fasteners=[{"name": "s", "into": "stud", "screw": {"gauge": "10", "length": "0"}}]
            ),
            "fasteners[0].screw.length",
        ),
        (document(lift={"out": "far"}), "lift.out"),
        (document(uncertainty={"tape": "0"}), "uncertainty.tape"),
        (document(fasteners=[{**HOOK, "placing": "-1"}]), "fasteners[0].placing"),
        (document(fasteners=[{**HOOK, "turn": "5 mm"}]), "fasteners[0].turn"),
    ],
)
def test_a_fault_stands_at_its_field_with_what_was_typed(
    lead: Visitor, made: dict[str, Any], path: str
) -> None:
    answer = send(lead, made, "save")
    assert answer.status_code == 422
    place = "f-" + re.sub(r"[^a-z0-9_]+", "-", path).strip("-")
    assert re.search(rf'id="{place}"[^>]*aria-invalid="true"', answer.text)
    typed = dict(forms.write_fields(made))[path]
    assert value(answer, path) == typed


def test_lengths_are_echoed(lead: Visitor) -> None:
    answer = send(lead, on_wire(rise="6 in"))
    assert "152.4 mm" in words(answer)


def test_outlets_are_added_and_removed(lead: Visitor) -> None:
    made = document(wall={"outlets": [{"x": "10", "y": "300"}]})
    more = send(lead, made, "add:wall.outlets")
    assert {"wall.outlets[0].x", "wall.outlets[1].x"} <= fields(more)
    fewer = send(lead, made, "remove:wall.outlets[0]")
    assert "wall.outlets[0].x" not in fields(fewer)


# ---- loads


def test_a_load_says_what_is_allowed_by_what_and_alone(lead: Visitor) -> None:
    # 10 kg on two hangers that share it evenly; hooks for 40 kg
    text = words(send(lead, document()))
    # load, pull, both, allowed, used, alone, by what
    assert "A1 49.0 N 0.0 N 49.0 N 392.3 N 12 % 98.1 N 25 % working / 1" in text


def test_an_inch_job_says_pounds_of_force_too(lead: Visitor) -> None:
    panel = {**smallest()["panels"][0], "width": "500 mm", "height": "700 mm", "mass": "10 kg"}
    panel["hangers"] = [{"in": "100 mm", "down": "50 mm"}, {"in": "400 mm", "down": "60 mm"}]
    layout = {"kind": "row", "height": {"at": "60"}}
    made = document(unit="in", panels=[panel], layout=layout)
    assert "49.0 N 11.0 lbf" in words(send(lead, made))
    assert "lbf" not in words(send(lead, document()))


def test_a_screw_by_formula_shows_load_and_pull_apart(lead: Visitor) -> None:
    screw = {"gauge": "10", "length": "60", "lining": "12.5"}
    made = document(
        fasteners=[{"name": "screw", "into": "stud", "screw": screw}],
        wall={"studs": [{"x": x, "material": "wood"} for x in ("-150", "150")]},
    )
    text = words(send(lead, made))
    assert re.search(r"NDS 2018, permanent load; by formula load \d+%, pull 0%", text)
    made["wall"]["studs"][0].pop("material")
    assert "the capacity of screw is not known" in words(send(lead, made))


def test_an_estimated_mass_comes_with_its_uncertainty(lead: Visitor) -> None:
    made = document()
    made["panels"][0].pop("mass")
    made["panels"][0]["layers"] = [{"material": "glass", "thickness": "4"}]
    # 0.35 m2 of 4 mm glass: 3.5 kg; one per cent of density, 0.29 mm of a thickness read by rule
    text = words(send(lead, made))
    assert "3.5 kg ± 0.3, from layers" in text
    assert "two of those more" in text


def test_the_lift_says_its_limits_and_never_that_one_is_enough(lead: Visitor) -> None:
    text = words(send(lead, document()))
    assert re.search(r"2 people 5 kg each of 10 kg, index \d\.\d", text)
    assert "outside the equation: this is a share, no clearance" in text
    assert "It never says one is enough" in text
    assert "1 people" not in text


# ---- suggestions


def in_the_way(**area: str) -> dict[str, Any]:
    given = {"x0": "-180", "y0": "0", "x1": "-140", "y1": "3000", "why": "a pipe"}
    return document(wall={"keep_clear": [given | area]})


def test_a_move_is_suggested_and_put_into_the_form_only_when_asked(
    lead: Visitor, services: Services
) -> None:
    shown = send(lead, in_the_way())
    assert "moving the whole work 11 mm to the right clears every conflict" in words(shown)
    assert value(shown, "layout.offset") == ""

    moved = send(lead, in_the_way(), "shift")
    assert moved.status_code == 200
    assert value(moved, "layout.offset") == "11 mm"
    assert value(moved, "layout.height.at") == "1500 mm"
    assert "keep-clear" not in words(moved)
    assert "Put this move into the form" not in moved.text
    assert jobs.job_ids(services) == ()


def test_a_free_layout_is_moved_panel_by_panel(lead: Visitor) -> None:
    made = in_the_way()
    made["layout"] = {"kind": "free"}
    made["panels"][0]["centre"] = {"x": "0", "y": "1500"}
    moved = send(lead, made, "shift")
    assert value(moved, "panels[0].centre.x") == "11 mm"
    assert value(moved, "panels[0].centre.y") == "1500 mm"


def test_a_move_that_is_none_leaves_the_form(lead: Visitor) -> None:
    same = send(lead, document(), "shift")
    assert same.status_code == 200
    assert value(same, "layout.height.at") == "1500"
    nowhere = send(lead, in_the_way(x0="-9000", x1="9000"), "shift")
    assert "no shift of the whole work within 600 mm" in words(nowhere)


def test_a_move_of_what_cannot_be_read_is_refused(lead: Visitor) -> None:
    assert send(lead, in_the_way(x0="ten"), "shift").status_code == 422


def test_a_cable_zone_bars_release_and_is_named(lead: Visitor) -> None:
    made = document(wall={"outlets": [{"x": "-150", "y": "300"}]})
    text = words(send(lead, made))
    assert "straight up or down from outlet 1 (BS 7671:2018 522.6.202) bars release" in text
