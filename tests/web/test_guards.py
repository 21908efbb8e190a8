"""Who may see what: every route of the application, and what every request must carry."""

from __future__ import annotations

import re
from typing import Any

import pytest
from flask import Flask

from holdtrue import create_app
from holdtrue.bootstrap import compose
from holdtrue.service.services import Services
from holdtrue.store.memory import MemoryStore
from holdtrue.web import security
from tests.web.conftest import SECRET, Visitor, hidden_fields

ANSWERS_ANYONE = {
    "static",
    "health.health",
    "home.index",
    "join.show",
    "join.follow",
    "join.join",
    "signin.show_link",
    "signin.use_link",
    "signin.sign_out",
    "label.card",
    "label.card_small",
    "label.job_file",
    "assets.show",
    "assets.worker",
}
"""All that answers without a sign-in; anything else here is a decision to be taken on purpose."""


def routes(app: Flask) -> list[tuple[str, str, str]]:
    """Endpoint, method and a URL for every route."""
    found = []
    with app.test_request_context():
        for rule in app.url_map.iter_rules():
            values: dict[str, Any] = {
                name: 1 if "Integer" in type(rule._converters[name]).__name__ else "AAAAAAAA"
                for name in rule.arguments
            }
            url = app.url_map.bind("localhost").build(rule.endpoint, values, method=None)
            methods = (rule.methods or set()) - {"HEAD", "OPTIONS"}
            found += [(rule.endpoint, method, url) for method in sorted(methods)]
    return found


def test_only_what_was_meant_answers_anyone(app: Flask) -> None:
    open_to_anyone = {
        name for name, view in app.view_functions.items() if security._access_of(view) == "anyone"
    }

    assert open_to_anyone | {"static"} <= ANSWERS_ANYONE


def test_a_stranger_gets_nothing_else(app: Flask, stranger: Visitor) -> None:
    csrf = hidden_fields(stranger.get("/join"))["csrf"]
    closed = [route for route in routes(app) if route[0] not in ANSWERS_ANYONE]
    assert len(closed) > 10

    for _, method, url in closed:
        answer = stranger.client.open(url, method=method, data={"csrf": csrf, "key": "k" * 32})
        if method == "GET":
            assert (answer.status_code, answer.headers["Location"]) == (303, "/"), url
        else:
            assert answer.status_code == 401, url
        assert "holdtrue.sid" not in answer.text


def test_an_installer_gets_no_page_of_the_lead(app: Flask, installer: Visitor) -> None:
    csrf = hidden_fields(installer.get("/join"))["csrf"]
    leads = [r for r in routes(app) if security._access_of(app.view_functions[r[0]]) == "lead"]
    assert len(leads) > 10

    for _, method, url in leads:
        answer = installer.client.open(url, method=method, data={"csrf": csrf, "key": "k" * 32})
        assert answer.status_code == 403, url


def test_an_installer_sees_their_own_job_and_no_other(
    app: Flask, installer: Visitor, job_id: str, lead: Visitor
) -> None:
    other = lead.post("/jobs/demo", seen_at="/").headers["Location"].rsplit("/", 1)[1]

    assert installer.get(f"/jobs/{job_id}/phone/all").status_code == 200
    assert installer.get(f"/jobs/{other}/phone").status_code == 404
    assert installer.get("/jobs/AAAAAAAA/phone").status_code == 404


def test_a_view_without_a_guard_stops_the_start(services: Services) -> None:
    app = create_app(services)
    app.add_url_rule("/bare", "bare", lambda: "open")

    with pytest.raises(RuntimeError, match="bare"):
        security.check_every_view(app)


def test_a_form_without_the_token_is_refused(lead: Visitor, services: Services) -> None:
    before = services.store.read("house")

    assert lead.client.post("/people/invite", data={"key": "k" * 32}).status_code == 403
    assert services.store.read("house") == before


def test_a_token_of_another_session_is_refused(lead: Visitor, stranger: Visitor) -> None:
    csrf = hidden_fields(stranger.get("/join"))["csrf"]

    answer = lead.client.post("/people/invite", data={"key": "k" * 32, "csrf": csrf})

    assert answer.status_code == 403


@pytest.mark.parametrize(
    "headers",
    [
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Origin": "https://elsewhere.example"},
        {"Origin": "null"},
        {"Origin": "http://[::1"},
        {"Origin": "http://localhost:8001"},
    ],
)
def test_another_site_is_refused_even_with_the_token(
    lead: Visitor, headers: dict[str, str]
) -> None:
    answer = lead.post("/people/invite", seen_at="/people", headers=headers)

    assert answer.status_code == 403
    assert "another site" in answer.text


@pytest.mark.parametrize(
    "headers",
    [{"Sec-Fetch-Site": "same-origin"}, {"Sec-Fetch-Site": "none"}, {"Origin": "http://localhost"}],
)
def test_our_own_page_is_let_through(lead: Visitor, headers: dict[str, str]) -> None:
    assert lead.post("/people/invite", seen_at="/people", headers=headers).status_code == 200


def test_the_public_address_counts_as_ours() -> None:
    services = compose(MemoryStore(), secret=SECRET, public_url="https://hang.example.org")
    visitor = Visitor(create_app(services).test_client())

    answer = visitor.post(
        "/sign-out",
        seen_at="/join",
        base_url="https://localhost",
        headers={"Origin": "https://hang.example.org"},
    )

    assert answer.status_code in (303, 403)
    assert "another site" not in answer.text


def test_the_token_may_come_in_a_header(lead: Visitor) -> None:
    csrf = hidden_fields(lead.get("/people"))["csrf"]

    answer = lead.client.post("/people/invite", data={"key": "k" * 32}, headers={"X-CSRF": csrf})

    assert answer.status_code == 200


def test_an_old_form_of_ours_is_given_back_to_send_again(lead: Visitor) -> None:
    data = {"csrf": "old", "key": "k" * 32, "note": 'Otto <"&>'}
    answer = lead.client.post("/people/invite", data=data, headers={"Origin": "http://localhost"})

    assert answer.status_code == 403
    assert "nothing is lost" in answer.text
    assert 'name="note" value="Otto &lt;&#34;&amp;&gt;"' in answer.text
    again = {**data, **hidden_fields(answer)}
    assert lead.client.post("/people/invite", data=again).status_code == 200


def test_a_form_sent_after_the_session_ended_is_given_back(stranger: Visitor) -> None:
    answer = stranger.client.post(
        "/jobs/new",
        data={"csrf": "old", "title": "Long typed"},
        headers={"Sec-Fetch-Site": "same-origin"},
    )

    assert answer.status_code == 401
    assert "no longer signed in" in answer.text
    assert "Long typed" in answer.text


def test_every_answer_carries_the_headers(app: Flask, lead: Visitor, stranger: Visitor) -> None:
    for visitor in (lead, stranger):
        for url in ("/", "/join", "/people", "/nowhere", "/health"):
            headers = visitor.get(url).headers
            assert headers["Content-Security-Policy"] == security.POLICY
            assert headers["X-Content-Type-Options"] == "nosniff"
            assert headers["Referrer-Policy"] == "same-origin"
            assert headers["Cache-Control"] == "no-store"
            assert "HX-Request" in headers["Vary"]


def test_the_policy_forbids_inline_code_and_foreign_places() -> None:
    assert "unsafe" not in security.POLICY
    assert "http" not in security.POLICY
    assert "frame-ancestors 'none'" in security.POLICY


def test_static_files_may_be_kept(stranger: Visitor) -> None:
    answer = stranger.get("/static/css/holdtrue.css")

    assert answer.status_code == 200
    assert answer.headers["Cache-Control"] != "no-store"
    answer.close()


def test_the_session_cookie_is_out_of_reach_of_scripts(stranger: Visitor) -> None:
    cookie = stranger.get("/join").headers["Set-Cookie"]

    assert "HttpOnly" in cookie
    assert "SameSite=Lax" in cookie
    assert "Secure" not in cookie


def test_the_session_cookie_is_secure_behind_https() -> None:
    services = compose(MemoryStore(), secret=SECRET, public_url="https://hang.example.org")
    cookie = create_app(services).test_client().get("/join").headers["Set-Cookie"]

    assert re.search(r"; Secure", cookie)


def test_a_forged_session_is_nobody(app: Flask, stranger: Visitor) -> None:
    stranger.client.set_cookie("holdtrue", "eyJwZXJzb24iOiJYIn0.aaaaaa.bbbbbbbb")

    assert stranger.get("/people").status_code == 303


@pytest.mark.parametrize("job", ["../house", "house", "", "aaaaaaaa", "AAAAAAAA"])
def test_a_session_for_no_job_is_nobody(stranger: Visitor, job: str) -> None:
    with stranger.client.session_transaction() as session:
        session.update(person="X", job=job)

    assert stranger.get("/people").status_code == 303


@pytest.mark.parametrize("where", ["way", "choose"])
def test_a_panel_may_have_a_slash_in_its_name(app: Flask, where: str) -> None:
    urls = app.url_map.bind("localhost")

    _, values = urls.match(f"/jobs/AAAAAAAA/phone/{where}/A/b1", method="POST")

    assert values["seat"] == "A/b1"
