"""What cannot be used is said at its field, with what to type; what was typed stays."""

from __future__ import annotations

from urllib.parse import quote

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.web.phone.conftest import At, Site
from tests.web.phone.page import read_screen

MEASURED = "Record what I measured"
BAD_LENGTHS = (
    "", "abc", "20 3/5", "nan", "inf", "1e9", "-4", "1,500", "5 1/2 1/2", "\u2154", "x" * 400,
    "4 ell", "1/0", "\u0665", "0x10", "12\x0034", "<b>5</b>",
)  # fmt: skip


@pytest.mark.parametrize("typed", BAD_LENGTHS)
def test_a_length_that_is_none_is_refused_at_its_field(at: At, typed: str) -> None:
    site = at("fasteners.measure:C1")

    shown = site.refused("fasteners.measure:C1", MEASURED, {"above": typed})

    assert 'id="error-f-above"' in shown.html
    assert shown.form("task-form").fields["above"] == typed
    assert "<b>5" not in shown.html


@pytest.mark.parametrize(
    ("task", "typed", "where"),
    [
        ("before.people", {"people": "0", "platform": "floor"}, "people"),
        ("before.people", {"people": "1", "platform": "floor"}, "people"),
        ("before.people", {"people": "2", "platform": "two_ladders"}, "people"),
        ("before.people", {"people": "many", "platform": "floor"}, "people"),
        ("before.people", {"people": "2", "platform": "roof"}, "platform"),
        ("before.wall_yes", {"who": ""}, "who"),
        ("before.wall_yes", {"who": "x" * 501}, "who"),
        ("before.wall_yes", {"who": "Vera\u202e"}, "who"),
        ("level.check", {"instrument": "spirit", "over": "0", "miss": "0", "higher": "same",
                         "echoed.over": "0", "echoed.miss": "0"}, "over"),
        ("join.ways", {"unit": "ell", "hand": "left"}, "unit"),
    ],
)  # fmt: skip
def test_other_fields_as_well(at: At, task: str, typed: dict[str, str], where: str) -> None:
    site = at(task)
    form = site.see(task).form("task-form")
    before = len(site.entries)

    sent = site.visitor.client.post(form.action, data={**form.fields, **typed, "outcome": "done"})

    assert sent.status_code == 422
    assert f'id="error-f-{where}"' in sent.text
    assert len(site.entries) == before


def test_higher_by_nothing_is_asked_for(at: At) -> None:
    site = at("panels.level:A")

    shown = site.refused("panels.level:A", MEASURED, {"low": "left", "by": ""})

    assert "type by how much" in shown.words
    assert shown.form("task-form").fields["low"] == "left"


@pytest.mark.parametrize("outcome", ["", "measured?", "done", "undone", "\x00"])
def test_a_button_that_is_none_stores_nothing(at: At, outcome: str) -> None:
    site = at("fasteners.measure:C1")
    form = site.see("fasteners.measure:C1").form("task-form")

    sent = site.visitor.client.post(form.action, data={**form.fields, "outcome": outcome})

    assert read_screen(sent, 422).form("task-form").fields["above"] == "4 15/16"
    assert "fasteners.measure:C1" not in site.state.records


@pytest.mark.parametrize("key", ["", "short", "x" * 65, "k\u00e9y" * 8, "../../etc/passwd/aaaa"])
def test_a_bad_key_is_replaced_and_nothing_stored(at: At, key: str) -> None:
    site = at("fasteners.mark:C1")
    form = site.see("fasteners.mark:C1").form("task-form").filled({"key": key})

    shown = read_screen(site.send(form.pressed("Marked"), 422), 422)

    assert len(shown.form("task-form").fields["key"]) == 32
    site.send(shown.form("task-form").pressed("Marked"))
    assert "fasteners.mark:C1" in site.state.records


hostile = settings(
    max_examples=60,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
NAMES = (
    "x", "x.side", "above", "met", "studs[0].x", "studs[0].x.side", "studs[39].material", "rows",
    "more", "again", "edge", "sure", "seen", "tapped", "outcome", "in", "down", "to", "by", "low",
    "unit", "hand", "echoed.x", "seat", "photo", "paper",
)  # fmt: skip
NASTY = ("", "1", "left", "measured", "as_planned", "done", "9" * 40, "nan", "\x00", "\u202e",
         "1/2", "-1", "\U0001f600", "wood", "unclear", "x" * 3000)  # fmt: skip
TASKS = ("join.ways", "work.hanger:A1", "behind.studs", "fasteners.measure:C1", "panels.facing:B|C",
         "fasteners.pilot:C1", "close.photo", "fasteners.pair:C1-C2", "secure.lock:A")  # fmt: skip
fields = st.dictionaries(
    st.sampled_from(NAMES) | st.text(max_size=12), st.sampled_from(NASTY) | st.text(max_size=20),
    max_size=8,
)  # fmt: skip


class Kept:
    """The job of the first example, for all that follow; no dataclass, which would be printed."""

    site: Site | None = None


@pytest.fixture(scope="module")
def kept() -> Kept:
    return Kept()


@hostile
@given(task=st.sampled_from(TASKS), typed=fields)
def test_whatever_is_posted_never_is_a_fault_of_ours(
    at: At, kept: Kept, task: str, typed: dict[str, str]
) -> None:
    site = kept.site = kept.site or at("fasteners.measure:C1")
    hidden = site.see("all").forms[0].fields
    key = site.services.ids.key()

    sent = site.visitor.client.post(
        site.url(task), data={**typed, "csrf": hidden["csrf"], "key": key}
    )

    assert sent.status_code in (200, 303, 409, 422), sent.text


@hostile
@given(where=st.text(max_size=30), query=st.text(max_size=30))
def test_whatever_is_asked_for_never_is_a_fault_of_ours(
    at: At, kept: Kept, where: str, query: str
) -> None:
    site = kept.site = kept.site or at("fasteners.measure:C1")

    where = quote(where, safe="")
    for path in (where, f"way/{where}", f"fasteners.mark:{where}", f"result/{where}"):
        got = site.visitor.get(f"{site.base}/{path}", query_string={"n": query, "edge": query})
        assert got.status_code in (200, 303, 308, 404, 405), path
    for name in ("look", "again", "saved", "edge", "n", "field", query):
        got = site.visitor.get(site.url("fasteners.measure:C1"), query_string={name: query})
        assert got.status_code == 200
        assert site.visitor.get(site.url("echo"), query_string={name: query}).status_code == 200
