"""The survey's own inputs: studs in rows, the photo, the unit and the hand."""

from __future__ import annotations

import io

import pytest

from tests.walking import JPEG
from tests.web.phone.conftest import At
from tests.web.phone.page import read_screen

MEASURED = "Record what I measured"


def test_studs_stand_in_rows_with_two_empty_ones(at: At) -> None:
    site = at("behind.studs")

    fields = site.see("behind.studs").form("task-form").fields

    assert fields["studs[0].x"] == "40"
    assert fields["studs[0].x.side"] == "left"
    assert fields["studs[4].material"] == "steel"
    assert (fields["studs[6].x"], fields["studs[7].x"]) == ("", "")
    assert "studs[8].x" not in fields


def test_a_stud_found_elsewhere_is_recorded_and_the_plan_follows(at: At) -> None:
    site = at("behind.studs")
    form = site.see("behind.studs").form("task-form")
    typed = {"studs[2].x": "10 1/2", "echoed.studs[2].x": "10 1/2", "studs[2].material": "wood"}

    site.send(form.filled(typed).pressed(MEASURED))

    stud = site.state.job.wall.studs[2]
    assert (stud.x_mm, stud.material) == (-266.7, "wood")


def test_a_studs_edges_are_recorded_by_its_width(at: At) -> None:
    site = at("behind.studs")
    form = site.see("behind.studs").form("task-form")
    assert form.fields["studs[2].width"] == "1 1/2"
    wide = {"studs[2].width": "3", "echoed.studs[2].width": "3"}

    site.send(form.filled(wide).pressed(MEASURED))

    assert site.state.job.wall.studs[2].width_mm == 76.2
    assert site.state.job.wall.studs[1].width_mm == 38.1


def test_a_width_that_is_none_is_said_at_its_row_and_stays(at: At) -> None:
    site = at("behind.studs")

    shown = site.refused("behind.studs", MEASURED, {"studs[0].width": "wide"})

    assert shown.form("task-form").fields["studs[0].width"] == "wide"
    assert "type" in shown.words


@pytest.mark.parametrize("task", ["behind.studs", "behind.wall"])
def test_something_to_keep_clear_of_is_told_where_the_wall_is_looked_into(
    at: At, task: str
) -> None:
    site = at(task)
    link = site.see(task).link("Something to keep clear of")
    box = {"how": "detector", "found": "an outlet box", "near[0]": "A1"}

    asked = site.see(link)
    site.send(asked.form("task-form").filled(box).pressed("Checked"))

    (finding,) = (one for one in site.state.findings if one.kind == "services")
    assert finding.text.endswith(
        "near A1: an outlet box. Enter it as a keep-clear area, or write why the work may go on"
    )


def test_more_rows_saves_nothing_and_loses_nothing(at: At) -> None:
    site = at("behind.studs")

    shown = site.refused("behind.studs", "More rows", {"studs[6].x": "55 1/4"})

    fields = shown.form("task-form").fields
    assert fields["studs[6].x"] == "55 1/4"
    assert "studs[10].x" in fields
    again = read_screen(site.send(shown.form("task-form").pressed("More rows"), 422), 422)
    assert "studs[12].x" in again.form("task-form").fields


def test_the_same_stud_twice_is_said_at_its_row(at: At) -> None:
    site = at("behind.studs")
    typed = {"studs[6].x": "40", "studs[6].x.side": "left"}

    shown = site.refused("behind.studs", MEASURED, typed)

    assert "this stud is listed twice" in shown.words


def test_a_photo_is_kept(at: At) -> None:
    site = at("close.photo")
    form = site.see("close.photo").form("task-form").pressed("Keep this photo")

    sent = site.visitor.client.post(
        form.action, data={**form.fields, "photo": (io.BytesIO(JPEG), "wall.jpg")}
    )

    assert sent.status_code == 303
    photo = site.record_of("close.photo").values["photo"]
    assert site.services.store.get_blob(photo["sha256"]) == JPEG


def test_a_photo_that_is_none_is_refused(at: At) -> None:
    site = at("close.photo")
    form = site.see("close.photo").form("task-form").pressed("Keep this photo")

    for data in ({}, {"photo": (io.BytesIO(b"%PDF-1.7"), "wall.pdf")}):
        sent = site.visitor.client.post(form.action, data={**form.fields, **data})
        assert sent.status_code == 422
        assert 'id="error-f-photo"' in sent.text


def test_the_photos_form_is_sent_by_the_browser_itself(at: At) -> None:
    """htmx would give up on a large photo over bad wifi after its few seconds."""
    html = at("close.photo").see("close.photo").html

    assert 'enctype="multipart/form-data"' in html
    task_form = html[html.index('id="task-form"') : html.index("</form>")]
    assert "hx-post" not in task_form


def test_unit_and_hand_decide_how_everything_is_shown(at: At) -> None:
    site = at("join.ways")

    site.tap("join.ways", "Use these", {"unit": "cm", "hand": "left"})

    shown = site.see("level.line:1")
    assert 'data-hand="left"' in shown.html
    assert shown.status == 200
    assert "Heaviest panel" in site.see("before.people").words
    assert "15.4 kg" in site.see("before.people").words
