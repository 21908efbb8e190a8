"""What a phone's outbox posts is answered in JSON: stored, refused, sign in, or try again later."""

from __future__ import annotations

import io
import json
from typing import Any

import pytest
from werkzeug.test import TestResponse

from holdtrue.domain.review import photo_of
from holdtrue.service import installers, tasks
from holdtrue.store.port import EventStore, StoreBrokenError
from tests.domain.test_picture import drawn
from tests.walking import JPEG, LEAD, off_by
from tests.web.phone.conftest import At, Site, fresh_hidden, stop_at

OUTBOX = {"X-Outbox": "1", "Accept": "application/json"}
OURS = {"Sec-Fetch-Site": "same-origin"}


def send(
    site: Site,
    where: str,
    fields: dict[str, Any],
    *,
    csrf: str | None = None,
    headers: dict[str, str] | None = None,
) -> TestResponse:
    """Post as an outbox does: the token in a header, the key in the form."""
    hidden = fresh_hidden(site)
    token = hidden["csrf"] if csrf is None else csrf
    sent = {**OUTBOX, "X-CSRF": token, **(headers or {})}
    data = {"key": hidden["key"], "late": "1", "sure": "1", **fields}
    return site.visitor.client.post(site.url(where), data=data, headers=sent)


def said(answer: TestResponse, status: int) -> dict[str, Any]:
    assert answer.status_code == status, answer.text
    assert answer.mimetype == "application/json"
    read: dict[str, Any] = json.loads(answer.text)
    return read


# -- stored ----------------------------------------------------------------------------------------


def test_a_task_is_acknowledged_with_its_number(at: At) -> None:
    site = at("before.tools")
    answer = said(send(site, "before.tools", {"outcome": "done"}), 200)
    assert answer == {"stored": len(site.entries), "seq": len(site.entries)}
    assert site.entries[-1].body["task"] == "before.tools"


def test_the_same_key_again_is_answered_alike_and_stored_once(at: At) -> None:
    site = at("before.tools")
    fields = {"outcome": "done", "key": "k" * 32}
    first = said(send(site, "before.tools", fields), 200)
    send(site, "before.people", {"outcome": "done", "people": "2", "platform": "floor"})
    again = said(send(site, "before.tools", fields), 200)
    assert again == {"stored": first["stored"], "seq": first["seq"] + 1}
    assert [entry.key for entry in site.entries].count("k" * 32) == 1


def test_accepting_json_is_enough_to_be_answered_in_json(at: At) -> None:
    site = at("before.tools")
    headers = {"X-Outbox": "0"}
    said(send(site, "before.tools", {"outcome": "done"}, headers=headers), 200)


def test_a_browsers_own_form_is_still_answered_with_a_page(at: At) -> None:
    site = at("before.tools")
    accept = "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8"
    headers = {"X-Outbox": "0", "Accept": accept}
    assert send(site, "before.tools", {"outcome": "done"}, headers=headers).status_code == 303


def test_a_reading_is_not_asked_about_again_and_counts_in_the_pages_unit(at: At) -> None:
    site = at("fasteners.measure:B1")
    fields = off_by(site.state, "B1", 30.0, 0.0)
    x_mm = site.state.marks_mm["B1"][0] + 30.0
    raw = {
        **fields,
        "x": f"{abs(x_mm):.1f}",
        "read_in": "mm",
        "above": "127",
        "outcome": "measured",
    }
    said(send(site, "fasteners.measure:B1", raw), 200)
    assert site.state.set_seats["B1"].x_mm == pytest.approx(x_mm, abs=0.06)


def test_both_times_are_kept(at: At) -> None:
    site = at("before.tools")
    tapped = "2026-03-02T06:00:00.000Z"
    said(send(site, "before.tools", {"outcome": "done", "tapped": tapped}), 200)
    assert (site.entries[-1].tapped, site.entries[-1].body["late"]) == (tapped, True)


def test_choosing_a_unit_and_hand_is_kept_for_the_next_pages(at: At) -> None:
    site = at("before.tools")
    said(send(site, "join.ways", {"outcome": "done", "unit": "cm", "hand": "left"}), 200)
    with site.visitor.client.session_transaction() as session:
        assert (session["unit"], session["hand"]) == ("cm", "left")


def test_a_photo_comes_with_its_entry(at: At) -> None:
    site = at("close.photo")
    photo = (io.BytesIO(JPEG), "wall.jpg", "image/jpeg")
    answer = said(send(site, "close.photo", {"outcome": "done", "photo": photo}), 200)
    kept = site.entries[-1].body["values"]["photo"]
    assert site.services.store.get_blob(kept["sha256"]) == JPEG
    assert answer["photo"] == len(JPEG), "the phone gives its own away only on this word"


@pytest.mark.parametrize("where", ["close.photo", "parked"])
def test_a_photo_is_confirmed_as_large_as_it_was_sent_though_less_of_it_is_kept(
    at: At, where: str
) -> None:
    """What the camera wrote into it is left out; the phone compares what it sent."""
    site = at("close.photo")
    sent = drawn("jpeg", turned=6)
    fields = {**REFUSED, "outcome": "done", "key": "p" * 33}
    for _ in range(2):
        photo = (io.BytesIO(sent), "wall.jpg", "image/jpeg")
        answer = said(send(site, where, {**fields, "photo": photo}), 200)
        assert answer["photo"] == len(sent)
    kept = photo_of(site.entries[-1])
    data = site.services.store.get_blob(kept["sha256"])
    assert data is not None
    assert len(data) < len(sent)


def test_a_mark_made_while_its_numbers_moved_is_recorded_where_it_was_shown(at: At) -> None:
    site = at("fasteners.mark:B1")
    now = site.state.seat("B1")
    fields = {
        "outcome": "done",
        "seen": "0.00 0.00 hook",
        "stands": "0",
        "shown.x_mm": str(now.x_mm - 3),
        "shown.y_mm": str(now.y_mm),
        "shown.hole_y_mm": str(now.hole_y_mm),
        "shown.fastener": now.fastener.name,
    }
    said(send(site, "fasteners.mark:B1", fields), 200)
    assert site.state.marked["B1"].seat_mm[0] == pytest.approx(now.x_mm - 3)


# -- in the way, undo ------------------------------------------------------------------------------


def test_a_stop_is_acknowledged(at: At) -> None:
    site = at("fasteners.mark:B1")
    answer = said(
        send(site, "way/B1", {"what": "stop:cable", "tapped": "2026-03-02T06:00:00Z"}), 200
    )
    assert site.state.open_stops[0].seq == answer["stored"]
    assert site.entries[-1].tapped == "2026-03-02T06:00:00Z"


def test_what_is_behind_a_seat_is_acknowledged_and_nonsense_is_not(at: At) -> None:
    site = at("fasteners.measure:B1")
    said(send(site, "way/B1", {"what": "found:stud:wood", "note": "felt it"}), 200)
    assert site.state.seat("B1").into == "stud"
    said(send(site, "way/B1", {"what": "nonsense"}), 422)


def test_giving_up_a_seat_somebody_else_worked_at_is_refused_with_their_name(at: At) -> None:
    site = at("fasteners.measure:B1")
    seen = site.state.seq
    key = site.services.ids.key()
    tasks.free_seat(site.services, LEAD, site.job_id, "B1", why="spent", key=key)
    answer = said(send(site, "way/B1", {"what": "free:spent", "stands": str(seen)}), 409)
    assert "worked at B1 meanwhile" in answer["refused"]


def test_an_entry_is_taken_back_by_its_number_or_by_the_key_it_was_made_under(at: At) -> None:
    site = at("before.tools")
    mine = "m" * 32
    first = said(send(site, "before.tools", {"outcome": "done", "key": mine}), 200)
    said(send(site, "undo", {"of": str(first["stored"])}), 200)
    second = said(send(site, "before.tools", {"outcome": "done", "key": "n" * 32}), 200)
    said(send(site, "undo", {"of_key": "n" * 32}), 200)
    assert site.entries[-1].body["of"] == second["stored"]


def test_taking_back_what_never_arrived_is_refused_in_words(at: At) -> None:
    site = at("before.tools")
    answer = said(send(site, "undo", {"of_key": "z" * 32}), 409)
    assert "never arrived" in answer["refused"]
    assert said(send(site, "undo", {"of": "soon"}), 404)["refused"]
    assert said(send(site, "undo", {"of": "1"}), 409)["refused"]


# -- refused ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("task", "fields", "status", "field", "words"),
    [
        ("fasteners.measure:B1", {"outcome": "done"}, 422, "outcome", "Use the buttons"),
        (
            "fasteners.measure:B1",
            {"outcome": "measured", "x": "20 3/4 apples", "x.side": "left", "above": "5"},
            422,
            "x",
            "20 3/4 apples",
        ),
        ("fasteners.measure:Z9", {"outcome": "as_planned"}, 404, None, "no task"),
        ("no.such", {"outcome": "done"}, 404, None, "no task"),
        ("panels.lift:A", {"outcome": "done"}, 409, None, "must wait"),
        ("before.tools", {"outcome": "done", "key": "short"}, 422, "key", "key"),
        (
            "fasteners.measure:B1",
            {"outcome": "as_planned", "shown.x_mm": "nan"},
            422,
            "shown.x_mm",
            "not a place",
        ),
    ],
)
def test_what_cannot_be_taken_is_refused_with_words_and_field(
    at: At, task: str, fields: dict[str, str], status: int, field: str | None, words: str
) -> None:
    site = at("fasteners.measure:B1")
    before = len(site.entries)
    answer = said(send(site, task, fields), status)
    assert words in answer["refused"]
    assert answer.get("field") == field
    assert len(site.entries) == before


def test_a_doubtful_reading_nobody_was_asked_about_is_refused_as_such(at: At) -> None:
    site = at("fasteners.measure:B1")
    fields = {**off_by(site.state, "B1", 60.0, 0.0), "outcome": "measured", "sure": ""}
    answer = said(send(site, "fasteners.measure:B1", fields), 422)
    assert answer["doubt"] == "1"
    assert "off the plan" in answer["refused"]


def test_a_seat_set_by_somebody_else_meanwhile_is_refused_with_both_values(at: At) -> None:
    site = at("fasteners.measure:B1")
    send(site, "fasteners.measure:B1", {"outcome": "as_planned"})
    fields = {**off_by(site.state, "A1", 0, 0), "outcome": "measured", "stands": "0"}
    answer = said(send(site, "fasteners.measure:B1", fields), 409)
    assert "recorded meanwhile by Ivo" in answer["refused"]
    assert "as planned" in answer["refused"]
    assert "Yours: " in answer["refused"]


def test_a_key_used_for_something_else_is_refused(at: At) -> None:
    site = at("before.tools")
    send(site, "before.tools", {"outcome": "done", "key": "k" * 32})
    answer = said(
        send(site, "before.services", {"outcome": "done", "how": "both", "key": "k" * 32}), 422
    )
    assert answer["refused"].startswith("This was sent before")


def test_the_leads_hold_point_is_refused_to_others(at: At) -> None:
    site = at("before.tools")
    answer = said(send(site, "hold.first_lift", {"outcome": "done"}), 403)
    assert "lead" in answer["refused"]


def test_a_photo_too_large_is_refused(at: At) -> None:
    site = at("close.photo")
    hidden = fresh_hidden(site)
    answer = site.visitor.client.post(
        site.url("close.photo"),
        data=bytes(tasks.PHOTO_LIMIT + 2 * 1024 * 1024),
        content_type="multipart/form-data; boundary=x",
        headers={**OUTBOX, "X-CSRF": hidden["csrf"]},
    )
    assert "larger" in said(answer, 413)["refused"]


def test_a_photo_that_is_no_picture_is_refused(at: At) -> None:
    site = at("close.photo")
    photo = (io.BytesIO(b"GIF89a"), "wall.gif")
    answer = said(send(site, "close.photo", {"outcome": "done", "photo": photo}), 422)
    assert (answer["field"], "JPEG" in answer["refused"]) == ("photo", True)


def test_a_stopped_seat_is_refused(at: At) -> None:
    site = at("fasteners.mark:B1")
    stop_at(site, "B1")
    answer = said(send(site, "fasteners.mark:B1", {"outcome": "done"}), 409)
    assert "stop at B1" in answer["refused"]


# -- sign in again, later --------------------------------------------------------------------------


def test_without_a_session_the_entry_is_to_be_kept(at: At) -> None:
    site = at("before.tools")
    site.visitor.client.delete_cookie("holdtrue")
    headers = {**OUTBOX, **OURS, "X-CSRF": "whatever"}
    before = len(site.entries)
    data = {"key": "k" * 32, "outcome": "done"}
    answer = site.visitor.client.post(site.url("before.tools"), data=data, headers=headers)
    assert "Sign in again" in said(answer, 401)["error"]
    assert "csrf" not in json.loads(answer.text)
    assert len(site.entries) == before


def test_a_revoked_code_is_answered_as_no_session(at: At) -> None:
    site = at("before.tools")
    code = next(iter(site.state.codes))
    key = site.services.ids.key()
    installers.revoke_code(site.services, LEAD, site.job_id, code=code, key=key)
    headers = {**OUTBOX, **OURS, "X-CSRF": "whatever"}
    data = {"key": "k" * 32, "outcome": "done"}
    answer = site.visitor.client.post(site.url("before.tools"), data=data, headers=headers)
    assert said(answer, 401)["error"]


def test_an_old_token_is_answered_with_the_fresh_one(at: At) -> None:
    site = at("before.tools")
    fields = {"outcome": "done"}
    answer = said(send(site, "before.tools", fields, csrf="0" * 32, headers=OURS), 401)
    again = send(site, "before.tools", fields, csrf=answer["csrf"], headers=OURS)
    assert said(again, 200)["stored"]


@pytest.mark.parametrize("headers", [{"Sec-Fetch-Site": "cross-site"}, {}])
def test_another_sites_post_gets_no_token(at: At, headers: dict[str, str]) -> None:
    site = at("before.tools")
    answer = send(site, "before.tools", {"outcome": "done"}, csrf="0" * 32, headers=headers)
    assert said(answer, 403).keys() == {"refused"}


def test_a_store_that_cannot_write_is_tried_again_later(
    at: At, monkeypatch: pytest.MonkeyPatch
) -> None:
    site = at("before.tools")

    def broken(self: EventStore, *args: Any, **kwargs: Any) -> Any:
        raise StoreBrokenError("disk full")

    hidden = fresh_hidden(site)
    monkeypatch.setattr(type(site.services.store), "append", broken)
    headers = {**OUTBOX, "X-CSRF": hidden["csrf"]}
    data = {"key": hidden["key"], "outcome": "done"}
    answer = site.visitor.client.post(site.url("before.tools"), data=data, headers=headers)
    assert "disk" not in said(answer, 503)["error"]


def test_a_fault_of_ours_is_tried_again_later(at: At, monkeypatch: pytest.MonkeyPatch) -> None:
    site = at("before.tools")
    hidden = fresh_hidden(site)

    def fault(*args: Any, **kwargs: Any) -> Any:
        raise RuntimeError("a fault")

    monkeypatch.setattr(tasks, "record_task", fault)
    site.visitor.client.application.testing = False
    headers = {**OUTBOX, "X-CSRF": hidden["csrf"]}
    data = {"key": hidden["key"], "outcome": "done"}
    answer = site.visitor.client.post(site.url("before.tools"), data=data, headers=headers)
    assert said(answer, 500).keys() == {"error"}


# -- parked ----------------------------------------------------------------------------------------


def test_a_refused_entry_is_parked_and_acknowledged(at: At) -> None:
    site = at("before.tools")
    fields = {
        "task": "panels.lift:A",
        "fields": json.dumps({"outcome": "done", "tapped": "x"}),
        "words": "Lift A must wait",
        "tapped": "2026-03-02T06:00:00Z",
    }
    answer = said(send(site, "parked", {**fields, "key": "p" * 33}), 200)
    assert said(send(site, "parked", {**fields, "key": "p" * 33}), 200) == answer
    (one,) = site.state.parked
    assert (one.seq, one.task, one.words) == (answer["stored"], "panels.lift:A", "Lift A must wait")


REFUSED = {"task": "close.photo", "fields": json.dumps({"outcome": "done"}), "words": "recorded"}


@pytest.mark.parametrize(("data", "kind"), [(JPEG, "image/jpeg"), (b"HEIC...", "octet-stream")])
def test_a_refused_entrys_photo_is_kept_whatever_it_is_and_confirmed(
    at: At, data: bytes, kind: str
) -> None:
    site = at("before.tools")
    fields = {**REFUSED, "key": "p" * 33}
    for _ in range(2):
        answer = said(
            send(site, "parked", {**fields, "photo": (io.BytesIO(data), "wall.jpg")}), 200
        )
        assert answer["photo"] == len(data)
    (one,) = site.state.parked
    assert site.services.store.get_blob(one.photo) == data
    assert site.entries[-1].body["photo"]["type"].endswith(kind)
    url = f"/jobs/{site.job_id}/photos/{one.photo}"
    shown = site.visitor.get(url)
    assert shown.data == data
    is_picture = kind.startswith("image/")
    assert shown.headers["Content-Disposition"] == ("inline" if is_picture else "attachment")


@pytest.mark.parametrize(
    ("size", "status"), [(tasks.PHOTO_LIMIT, 200), (tasks.PHOTO_LIMIT + 1, 422)]
)
def test_a_refused_photo_may_be_as_large_as_a_tasks(at: At, size: int, status: int) -> None:
    site = at("before.tools")
    parts = [f'name="{name}"\r\n\r\n{text}' for name, text in {**REFUSED, "key": "p" * 33}.items()]
    head = "".join(f"--x\r\nContent-Disposition: form-data; {part}\r\n" for part in parts)
    photo = '--x\r\nContent-Disposition: form-data; name="photo"; filename="w.jpg"\r\n\r\n'
    answer = site.visitor.client.post(
        site.url("parked"),
        data=f"{head}{photo}".encode() + JPEG[:3] + bytes(size - 3) + b"\r\n--x--\r\n",
        content_type="multipart/form-data; boundary=x",
        headers={**OUTBOX, "X-CSRF": fresh_hidden(site)["csrf"]},
    )
    assert "at most 8 MB" in said(answer, status).get("refused", "at most 8 MB")
    assert len(site.state.parked) == (status == 200)


def test_parking_needs_a_session_and_a_proper_key(at: At) -> None:
    site = at("before.tools")
    assert said(send(site, "parked", {"key": "short"}), 422)["field"] == "key"
    site.visitor.client.delete_cookie("holdtrue")
    headers = {**OUTBOX, **OURS}
    answer = site.visitor.client.post(site.url("parked"), data={"key": "p" * 33}, headers=headers)
    assert said(answer, 401)["error"]
