"""With htmx a POST answers one fragment: the next screen, swapped in place."""

from __future__ import annotations

from tests.web.phone.conftest import HTMX, At
from tests.web.phone.page import read_screen


def test_a_post_answers_the_next_screen_alone(at: At) -> None:
    site = at("fasteners.mark:C1")
    form = site.see("fasteners.mark:C1").form("task-form").pressed("Marked")

    answer = site.send(form, 200, headers=HTMX)

    assert answer.text.lstrip().startswith("<title>")
    assert "<html" not in answer.text
    assert read_screen(answer).heading == "Mark the hole for C2."
    assert answer.headers["HX-Push-Url"].startswith(f"{site.base}/fasteners.mark:C2")
    assert 'tabindex="-1" autofocus>Mark the hole for C2.' in answer.text


def test_the_pushed_address_is_a_whole_page(at: At) -> None:
    site = at("fasteners.measure:C1")
    form = site.see("fasteners.measure:C1").form("task-form").pressed("As planned")
    answer = site.send(form, 200, headers=HTMX)

    page = site.see(answer.headers["HX-Push-Url"])

    assert page.html.startswith("<!doctype html>")
    assert page.html.count("<main") == 1
    assert page.heading == "C1 is set"


def test_a_refused_form_is_a_fragment_with_the_field_focused(at: At) -> None:
    site = at("fasteners.measure:C1")
    form = site.see("fasteners.measure:C1").form("task-form").filled({"above": "five"})

    answer = site.send(form.pressed("Record what I measured"), 422, headers=HTMX)

    assert "<html" not in answer.text
    assert answer.text.count("autofocus") == 1
    assert answer.text.index('aria-invalid="true" autofocus') > 0


def test_a_conflict_is_a_screen_too(at: At) -> None:
    site = at("fasteners.mark:C1")
    form = site.see("fasteners.mark:C1").form("task-form")

    answer = site.visitor.client.post(
        site.url("fasteners.anchor:C1"), data={**form.fields, "outcome": "done"}, headers=HTMX
    )

    assert answer.status_code == 409
    assert 'id="main"' in answer.text
    assert "<html" not in answer.text


def test_a_new_hand_is_a_new_page(at: At) -> None:
    site = at("join.ways")
    form = site.see("join.ways").form("task-form").filled({"unit": "mm", "hand": "left"})

    answer = site.send(form.pressed("Use these"), 200, headers=HTMX)

    assert answer.headers["HX-Redirect"] == f"{site.base}/before.cautions"


def test_going_back_in_history_gets_the_page_not_a_piece(at: At) -> None:
    site = at("fasteners.mark:C1")

    page = site.see("fasteners.mark:C1", headers={**HTMX, "HX-History-Restore-Request": "true"})

    assert page.html.startswith("<!doctype html>")


def test_the_echo_is_a_piece_with_its_hidden_field(at: At) -> None:
    site = at("fasteners.measure:C1")

    said = site.visitor.get(site.url("echo?field=x&x=20+3/4"), headers=HTMX).text
    none = site.visitor.get(site.url("echo?field=x&x=20+3/"), headers=HTMX).text

    assert "20 3/4 in = 527.1 mm" in said.replace("\xa0", " ")
    assert 'name="echoed.x" value="20 3/4"' in said
    assert "echoed.x" not in none
    assert "not a length yet" in none


def test_a_hostile_echo_is_escaped(at: At) -> None:
    site = at("fasteners.measure:C1")

    said = site.visitor.get(
        site.url("echo"), query_string={"field": '"><script>', '"><script>': "5"}
    )

    assert "<script>" not in said.text
