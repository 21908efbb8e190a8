"""A lead types a plan into the form."""

from __future__ import annotations

import io
import json
import re
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from werkzeug.test import TestResponse

from holdtrue.service import jobs
from holdtrue.service.services import Services
from holdtrue.web import forms, planform
from tests.web.conftest import Visitor, hidden_fields

REFERENCE = Path(__file__).parents[1] / "reference"


def typed(name: str) -> dict[str, str]:
    """A reference job as somebody types it into the form."""
    document = json.loads((REFERENCE / f"{name}.job.json").read_text())
    document.pop("format")
    return dict(forms.write_fields(document))


def shown(answer: TestResponse) -> dict[str, str]:
    """What the page shows in its fields."""
    page = answer.text
    inputs = re.findall(r'<input id="f-[^"]*" name="([^"]+)" value="([^"]*)"', page)
    fields = {unescape(name): unescape(value) for name, value in inputs}
    for name, options in re.findall(
        r'<select id="f-[^"]*" name="([^"]+)".*?>(.*?)</select>', page, re.DOTALL
    ):
        chosen = re.search(r'value="([^"]*)" selected', options)
        fields[unescape(name)] = unescape(chosen[1]) if chosen else ""
    return fields


def filled(fields: dict[str, str]) -> dict[str, str]:
    return {name: value for name, value in fields.items() if value}


def faults(answer: TestResponse) -> list[str]:
    """What is wrong, each said in the summary with a link to its field, and said there too."""
    page = answer.text
    said = []
    for target, text in re.findall(r'<li><a href="#([^"]+)">[^<]+</a>: ([^<]+)</li>', page):
        field = re.search(rf'<(?:input|select) id="{target}"[^>]*aria-invalid="true"', page)
        at = re.search(rf'<p [^>]*id="{target}(?:-said)?"[^>]*>([^<]+)', page)
        assert field or target == "f-plan", f"no field {target} marked for: {text}"
        assert at, f"nothing said at {target}: {text}"
        assert unescape(text) in unescape(at[1])
        said.append(unescape(text))
    assert said, page
    return said


def send(
    lead: Visitor, fields: dict[str, str], action: str = "save", **options: Any
) -> TestResponse:
    return lead.post("/jobs/new", {**fields, "action": action}, **options)


@pytest.mark.parametrize("name", ["tidewrack", "staithe"])
def test_it_works(lead: Visitor, services: Services, name: str) -> None:
    answer = send(lead, typed(name))

    assert answer.status_code == 303
    job_id = answer.headers["Location"].split("/")[2]
    assert filled(typed(name)) == filled(shown(lead.get(answer.headers["Location"])))
    reference = json.loads((REFERENCE / f"{name}.plan.json").read_text())
    seats = jobs.state_of(services, job_id).plan.seats
    assert [seat.seat for seat in seats] == [row["seat"] for row in reference]
    assert seats[0].x_mm == pytest.approx(reference[0]["x_mm"], abs=0.05)


def test_a_check_echoes_and_saves_nothing(lead: Visitor, services: Services) -> None:
    answer = send(lead, typed("tidewrack"), "check")

    assert answer.status_code == 200
    assert "25 5/8 in = 650.9 mm" in answer.text
    assert "<svg" in answer.text
    assert services.store.streams() == ("house",)


def test_the_enter_key_checks_and_does_not_save(lead: Visitor) -> None:
    first_button = re.search(
        r'<button[^>]*name="action" value="([^"]+)"', lead.get("/jobs/new").text
    )

    assert first_button
    assert first_button[1] == "check"


def test_a_fault_is_shown_at_its_field_and_nothing_typed_is_lost(lead: Visitor) -> None:
    fields = {**typed("tidewrack"), "panels[1].hangers[0].in": "3 1/7"}

    answer = send(lead, fields)

    assert answer.status_code == 422
    assert filled(shown(answer)) == filled(fields)
    field = re.search(
        r'<input id="f-panels-1-hangers-0-in"[^>]*>\s*<p [^>]*class="error">([^<]+)', answer.text
    )
    assert field, answer.text
    assert "panel B, hanger 1, in" in answer.text


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("title", ""),
        ("unit", "furlong"),
        ("panels[0].width", "-30"),
        ("panels[0].width", "nan"),
        ("panels[0].height", "0"),
        ("panels[0].depth", "-1"),
        ("panels[0].mass", "heavy"),
        ("panels[0].name", "B"),
        ("panels[0].name", "A1"),
        ("panels[0].hangers[0].in", "31"),
        ("panels[0].hangers[1].in", "4.5"),
        ("panels[0].hangers[0].down", ""),
        ("panels[3].centre_of_gravity.in", "1"),
        ("layout.kind", ""),
        ("layout.gap[0]", "-1"),
        ("layout.gap[1]", ""),
        ("layout.height.at", "1e400"),
        ("tolerance.level", "-1"),
        ("tolerance.level", "0"),
        ("fasteners[0].capacity", "lots"),
        ("fasteners[0].design_factor", "99"),
        ("fasteners[0].into", "cheese"),
        ("wall.studs[0].x", "1,500"),
        ("tape", "-1 mm"),
    ],
)
def test_bad_input_is_refused_with_everything_kept(
    lead: Visitor, services: Services, path: str, value: str
) -> None:
    fields = {**typed("tidewrack"), path: value}

    answer = send(lead, fields)

    assert answer.status_code == 422
    assert 'role="alert"' in answer.text
    assert faults(answer)
    assert filled(shown(answer)) == filled(fields)
    assert services.store.streams() == ("house",)


GROUPS: list[tuple[dict[str, str], str]] = [
    ({"panels[0].hangers": ""}, "is missing; list at least one hanger"),
    ({"panels": ""}, "is missing; list at least one panel"),
    ({"layout": ""}, "is missing; say how the panels stand"),
    ({"layout.height": ""}, "is missing; give the height above the floor"),
    ({"layout.gap": "", "layout.gap[0]": "1"}, "must have one entry fewer than the panels: 3"),
    ({"layout.gap": "", "layout.gap.x": "1"}, "x and y belong to a grid"),
    ({"layout.kind": "grid"}, "a grid has one gap, or x and y"),
    ({"layout.kind": "grid", "layout.gap": "2"}, "is missing; list the rows"),
    ({"layout.rows[0][0]": "A"}, "belong to a grid"),
    ({"layout.rows[0][0]": "A", "layout.kind": "grid", "layout.gap": ""}, "missing: B, C, D"),
    ({"layout.kind": "free", "layout.gap": ""}, "is missing; give x and y"),
    ({"layout.kind": "free", "layout.gap": "wide"}, "is none of the units"),
    ({"panels[2].centre.y": "50"}, "belongs to a free layout"),
    ({"panels[1].layers[0].material": "mdf"}, "is missing; give a length in in"),
    ({"panels[1].mass": "", "panels[1].layers[0].share": "0.5"}, "is missing; give a text"),
    ({"panels[1].hang.method": "wire"}, "give the wire's length from ring to ring"),
    ({"panels[1].hang.method": "cleat"}, "is missing; give a length in in"),
    ({"panels[1].hang.method": "standoff"}, "stand-offs are four"),
    ({"panels[1].hang.up": "2"}, 'belongs to the method "cleat"'),
    ({"panels[1].hangers[0].of": "wood screw #10"}, "belongs to hole_down"),
    ({"fasteners[0].screw.gauge": "10"}, 'belongs to a fastener into "stud"'),
    ({"fasteners[1].screw.length": "2"}, "is missing; give one of"),
    ({"wall.left": "5", "wall.right": "4"}, "must lie right of"),
    ({"title": "x" * 5000}, "has 5000 characters; type at most 200"),
    ({"panels[0].width": "9" * 5000}, "type at most 32 characters"),
    ({"panels[0].hangers[0].in": "31"}, "give 0 to 30 in"),
]


@pytest.mark.parametrize("action", ["check", "save"])
@pytest.mark.parametrize(("changes", "said"), GROUPS, ids=str)
def test_what_is_wrong_stands_at_its_field_and_in_the_summary(
    lead: Visitor, changes: dict[str, str], said: str, action: str
) -> None:
    kept = {k: v for k, v in typed("tidewrack").items() if not k.startswith(tuple(changes))}
    fields = kept | changes

    answer = send(lead, filled(fields), action)

    assert answer.status_code == 422
    assert said in "; ".join(faults(answer))
    assert filled(fields).items() <= shown(answer).items()


@pytest.mark.parametrize("name", ["tidewrack", "staithe"])
def test_every_field_of_the_page_is_one_an_error_can_stand_at(lead: Visitor, name: str) -> None:
    made = typed(name)
    everything = {
        **{f"panels[0].hang.{key}": "1" for key in ("hooks", "up", "out", "rail", "apart")},
        **{f"panels[0].layers[0].{key}": "1" for key in ("material", "share")},
        **{f"{path}[0].x": "1" for path in ("wall.outlets", "wall.studs")},
        "panels[0].centre.x": "1",
        "wall.keep_clear[0].x0": "1",
    }
    fields = shown(send(lead, made | everything, "add:fasteners"))
    assert [path for path in fields if not planform.is_field(path)] == []


def test_a_gap_stays_whatever_layout_is_chosen(lead: Visitor) -> None:
    row = {**typed("tidewrack"), "layout.gap": "2.5"}
    row = {k: v for k, v in row.items() if not k.startswith("layout.gap[")}
    for kind in ("column", "grid", "free"):
        answer = send(lead, {**row, "layout.kind": kind}, "check")
        assert shown(answer)["layout.gap"] == "2.5"
    both = shown(send(lead, {**row, "layout.kind": "grid"}, "gaps:grid"))
    assert (both["layout.gap.x"], both["layout.gap.y"]) == ("2.5", "2.5")
    one = shown(send(lead, {**filled(both), "layout.kind": "row"}, "gaps:one"))
    assert one["layout.gap"] == "2.5"


@pytest.mark.parametrize(
    ("path", "bare"),
    [
        ("panels[0].mass", "31"),
        ("panels[1].hangers[0].capacity", "20"),
        ("fasteners[0].capacity", "19 1/2"),
    ],
)
def test_an_inch_job_asks_which_unit_a_weight_is_in(lead: Visitor, path: str, bare: str) -> None:
    answer = send(lead, {**typed("tidewrack"), path: bare})

    assert answer.status_code == 422
    assert faults(answer) == [f"say the unit as well: {bare} lb or {bare} kg"]
    assert shown(answer)[path] == bare


def test_a_metric_job_takes_kilograms_and_says_so(lead: Visitor) -> None:
    fields = {**typed("staithe"), "panels[0].mass": "12.5", "fasteners[0].capacity": "20"}

    answer = send(lead, fields, "check")

    assert answer.status_code == 200
    echoes = re.findall(r'<p id="(f-[^"]+)-said" class="echo">([^<]+)', answer.text)
    said = dict(echoes)
    assert said["f-panels-0-mass"] == "12.5 kg"
    assert said["f-panels-1-mass"] == "21 lb = 9.53 kg"
    assert said["f-fasteners-0-capacity"] == "20 kg = 196.1 N"


def test_what_a_job_file_has_in_kilograms_says_so_in_the_form(lead: Visitor) -> None:
    document = json.loads((REFERENCE / "tidewrack.job.json").read_text())
    document["panels"][0]["mass"] = 14.1
    document["fasteners"][0]["capacity"] = "18"
    file = (io.BytesIO(json.dumps(document).encode()), "t.job.json")
    hidden = hidden_fields(lead.get("/"))
    made = lead.client.post("/jobs/upload", data={**hidden, "file": file})

    fields = shown(lead.get(made.headers["Location"] + "/plan"))

    assert fields["panels[0].mass"] == "14.1 kg"
    assert fields["fasteners[0].capacity"] == "18 kg"
    assert send(lead, fields).status_code == 303


def test_a_fault_of_no_single_field_is_still_said(lead: Visitor) -> None:
    fields = {k: v for k, v in typed("staithe").items() if k != "layout.rows[1][2]"}

    answer = send(lead, fields)

    assert answer.status_code == 422
    assert "missing: Z" in unescape(answer.text)


@pytest.mark.parametrize(
    ("action", "new"),
    [
        ("add:panels", "panels[4].name"),
        ("add:panels[0].hangers", "panels[0].hangers[2].in"),
        ("add:panels[0].layers", "panels[0].layers[0].material"),
        ("add:wall.studs", "wall.studs[6].x"),
        ("add:wall.keep_clear", "wall.keep_clear[0].why"),
        ("add:fasteners", "fasteners[3].name"),
        ("add:layout.gap", "layout.gap[3]"),
    ],
)
def test_a_row_is_added_without_losing_anything(lead: Visitor, action: str, new: str) -> None:
    fields = {**typed("tidewrack"), "title": "", "panels[0].width": "thirty"}

    answer = send(lead, fields, action)

    assert answer.status_code == 200
    assert new in shown(answer)
    assert filled(shown(answer)) == filled(fields)


def test_a_row_of_a_grid_is_added(lead: Visitor) -> None:
    assert "layout.rows[2][0]" in shown(send(lead, typed("staithe"), "add:layout.rows"))
    assert "layout.rows[0][2]" in shown(send(lead, typed("staithe"), "add:layout.rows[0]"))


def test_a_first_row_is_added_below_the_blank_one_shown(lead: Visitor) -> None:
    answer = send(lead, {}, "add:panels")

    assert {"panels[0].name", "panels[1].name"} <= set(shown(answer))


def test_a_row_is_removed_and_the_others_move_up(lead: Visitor) -> None:
    answer = send(lead, typed("tidewrack"), "remove:panels[1]")

    fields = shown(answer)
    assert [fields[f"panels[{k}].name"] for k in range(3)] == ["A", "C", "D"]
    assert fields["panels[1].hangers[1].in"] == "517 mm"


def test_one_gap_becomes_one_for_each_and_back(lead: Visitor) -> None:
    one = shown(send(lead, typed("tidewrack"), "gaps:one"))
    each = shown(send(lead, {**filled(one)}, "gaps:each"))

    assert one["layout.gap"] == "2.5"
    assert [each[f"layout.gap[{k}]"] for k in range(3)] == ["2.5", "2.5", "2.5"]


@pytest.mark.parametrize(
    "action",
    [
        "explode",
        "add:",
        "add:title",
        "add:nowhere",
        "remove:panels[9]",
        "remove:title",
        "gaps:none",
        "add:panels[7].hangers",
        "remove:panels",
        "add:" + "a" * 500,
    ],
)
def test_a_button_that_is_none_is_refused(lead: Visitor, action: str) -> None:
    answer = send(lead, typed("tidewrack"), action)

    assert answer.status_code == 422
    assert faults(answer)
    assert filled(shown(answer)) == filled(typed("tidewrack"))


def test_a_form_without_a_usable_key_is_given_back_with_one(lead: Visitor) -> None:
    answer = send(lead, typed("tidewrack"), key="?")

    assert answer.status_code == 422
    assert filled(shown(answer)) == filled(typed("tidewrack"))
    again = lead.client.post(
        "/jobs/new", data={**typed("tidewrack"), **hidden_fields(answer), "action": "save"}
    )
    assert again.status_code == 303


def test_fields_that_contradict_each_other_are_given_back_in_words(
    lead: Visitor, services: Services
) -> None:
    answer = send(lead, {**typed("tidewrack"), "layout.gap.x": "3", "layout.gap": "5"})

    assert answer.status_code == 422
    assert "layout.gap: stands both for a text and for a group" in answer.text
    kept = re.findall(r"<dt>([^<]+)</dt><dd>([^<]+)</dd>", answer.text)
    given = {unescape(name): unescape(text) for name, text in kept}
    assert filled(typed("tidewrack")).items() - {("layout.gap", "3/8")} <= given.items()
    assert services.store.streams() == ("house",)


def test_a_form_far_larger_than_a_page_is_read_and_kept(lead: Visitor) -> None:
    """More than 1 MB, and more than 10 000 fields."""
    rows = {f"panels[0].layers[{k}].{name}": "" for k in range(999) for name in LAYER}
    fields = {**typed("tidewrack"), **rows, "title": "x" * 2_000_000}

    answer = send(lead, fields)

    assert answer.status_code == 422
    assert filled(shown(answer)) == filled(fields)


LAYER = tuple("abcdefghijkl")


def test_a_double_tap_makes_one_job(lead: Visitor, services: Services) -> None:
    first = send(lead, typed("tidewrack"), key="k" * 32)
    again = send(lead, typed("tidewrack"), key="k" * 32)

    assert first.headers["Location"] == again.headers["Location"]
    assert len(services.store.streams()) == 2


def key_of(answer: TestResponse) -> str:
    found = re.search(
        r'<form [^>]*id="plan-form"[^>]*>.*?name="key" value="([^"]+)"', answer.text, re.DOTALL
    )
    assert found
    return found[1]


def test_going_back_and_saving_something_else_keeps_it_for_another_job(
    lead: Visitor, services: Services
) -> None:
    made = send(lead, typed("tidewrack"), key="k" * 32).headers["Location"].split("/")[2]

    answer = send(lead, typed("staithe"), key="k" * 32)

    assert answer.status_code == 409
    assert f"made job {made}" in "; ".join(faults(answer))
    assert f'href="/jobs/{made}">Open job' in answer.text
    assert filled(shown(answer)) == filled(typed("staithe"))
    assert jobs.state_of(services, made).job.title == "Tidewrack, four panels"
    again = send(lead, filled(shown(answer)), key=key_of(answer))
    assert again.headers["Location"].split("/")[2] != made


def test_going_back_on_a_plan_and_saving_again_makes_the_next_revision(
    lead: Visitor, job_id: str, services: Services
) -> None:
    url = f"/jobs/{job_id}/plan"
    first = {**filled(shown(lead.get(url))), "action": "save", "revision": "1", "title": "First"}
    lead.post(url, first, key="k" * 32)

    answer = lead.post(url, {**first, "title": "Second"}, key="k" * 32)

    assert answer.status_code == 409
    assert "saved before, as revision 2" in "; ".join(faults(answer))
    assert 'name="revision" value="2"' in answer.text
    again = {**filled(shown(answer)), "action": "save", "revision": "2"}
    assert lead.post(url, again, key=key_of(answer)).status_code == 303
    assert jobs.state_of(services, job_id).job.title == "Second"


def test_going_back_on_a_plan_that_moved_on_overwrites_nothing(
    lead: Visitor, job_id: str, services: Services
) -> None:
    url = f"/jobs/{job_id}/plan"
    first = {**filled(shown(lead.get(url))), "action": "save", "revision": "1", "title": "First"}
    lead.post(url, first, key="k" * 32)
    lead.post(url, {**first, "revision": "2", "title": "Other"})

    answer = lead.post(url, {**first, "title": "Second"}, key="k" * 32)

    assert answer.status_code == 409
    assert "the plan was changed since" in "; ".join(faults(answer))
    assert shown(answer)["title"] == "Second"
    again = {**filled(shown(answer)), "action": "save", "revision": "1"}
    assert lead.post(url, again, key=key_of(answer)).status_code == 409
    assert jobs.state_of(services, job_id).job.title == "Other"


def test_the_key_stays_until_the_form_is_saved(lead: Visitor) -> None:
    answer = send(lead, {"title": "x"}, "save", key="k" * 32)

    assert 'name="key" value="' + "k" * 32 in answer.text


def test_a_plan_is_revised(lead: Visitor, job_id: str, services: Services) -> None:
    url = f"/jobs/{job_id}/plan"
    fields = {**filled(shown(lead.get(url))), "layout.height.at": "60"}

    answer = lead.post(url, {**fields, "action": "save", "revision": "1"})

    assert answer.status_code == 303
    state = jobs.state_of(services, job_id)
    assert state.revision == 2
    assert state.document["layout"]["height"]["at"] == "60"


def test_a_plan_changed_meanwhile_is_not_overwritten(
    lead: Visitor, job_id: str, services: Services
) -> None:
    url = f"/jobs/{job_id}/plan"
    fields = {**filled(shown(lead.get(url))), "action": "save"}
    lead.post(url, {**fields, "revision": "1", "title": "First"})

    answer = lead.post(url, {**fields, "revision": "1", "title": "Second"})

    assert answer.status_code == 409
    assert "changed meanwhile" in answer.text
    assert shown(answer)["title"] == "Second"
    assert 'name="revision" value="1"' in answer.text
    assert jobs.state_of(services, job_id).job.title == "First"


@pytest.mark.parametrize("revision", ["", "x", "-1", "1.0", "9" * 30, "\u0661"])
def test_a_revision_that_is_none_is_refused(lead: Visitor, job_id: str, revision: str) -> None:
    url = f"/jobs/{job_id}/plan"
    fields = {**filled(shown(lead.get(url))), "action": "save", "revision": revision}

    assert lead.post(url, fields).status_code == 422


def test_what_markup_is_typed_is_shown_as_text(lead: Visitor) -> None:
    nasty = '"><script>alert(1)</script>'
    answer = send(lead, {**typed("tidewrack"), "title": nasty, "fasteners[0].name": nasty}, "check")

    assert answer.status_code == 200
    assert "<script>alert" not in answer.text
    assert shown(answer)["title"] == nasty


def test_an_installer_cannot_see_or_send_the_form(installer: Visitor, job_id: str) -> None:
    for url in ("/jobs/new", f"/jobs/{job_id}/plan"):
        assert installer.get(url).status_code == 403
        assert installer.post(url, {"action": "save"}, seen_at="/join").status_code == 403


def test_a_stranger_is_led_to_the_sign_in(stranger: Visitor, job_id: str) -> None:
    for url in ("/jobs/new", f"/jobs/{job_id}/plan"):
        assert stranger.get(url).headers["Location"] == "/"


def test_a_job_that_is_none_is_not_found(lead: Visitor) -> None:
    assert lead.get("/jobs/AAAAAAAA/plan").status_code == 404
    assert lead.get("/jobs/..%2f..%2fsecret/plan").status_code == 404
