"""What a log file means, entry by entry, and every way one can be wrong."""

from __future__ import annotations

from math import nan
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdtrue.core.geometry import arrange
from holdtrue.core.quality import Form, quadratic_form
from holdtrue.core.recompute import recompute_mm
from holdtrue.core.wall import Behind
from holdtrue.domain.errors import InputError
from holdtrue.domain.jobfile import parse_job
from holdtrue.domain.logfile import Replay, parse_log, replay
from tests.domain.papers import GONE, changed, reference, says, smallest

SEATS = ("A1", "A2")


def one_panel() -> Form:
    """Seats A1 and A2, planned 300 mm apart."""
    job = parse_job(smallest())
    return quadratic_form(job, arrange(job))


def log(*entries: dict[str, Any], **top: Any) -> dict[str, Any]:
    return {"format": "holdtrue.log/1", "entries": list(entries), **top}


def after(*entries: dict[str, Any]) -> Replay:
    return replay(one_panel(), parse_log(log(*entries), SEATS))


def put(seat: str, x: Any, y: Any, **more: Any) -> dict[str, Any]:
    return {"seat": seat, "set": {"x": x, "y": y}, **more}


# ---- entries


def test_an_empty_log_leaves_nothing_set() -> None:
    assert after() == Replay(set_mm={}, found={}, stopped=frozenset())


def test_lengths_are_in_the_logs_own_unit_or_their_own() -> None:
    (entry,) = parse_log(log(put("A1", "-22 1/8", "1808.2 mm"), unit="in"), SEATS)
    assert (entry.seat, entry.what) == ("A1", "set")
    assert (entry.x_mm, entry.y_mm) == (-561.975, 1808.2)
    (bare,) = parse_log(log(put("A1", 5, 6.5)), SEATS)
    assert (bare.x_mm, bare.y_mm) == (5.0, 6.5)


def test_the_last_set_of_a_seat_gives_its_place() -> None:
    assert after(put("A1", 1, 2), put("A2", 3, 4), put("A1", 5, 6)).set_mm == {
        "A1": (5.0, 6.0),
        "A2": (3.0, 4.0),
    }


def test_the_last_backing_counts_and_set_and_backing_do_not_disturb_each_other() -> None:
    blocked = {"seat": "A1", "blocked": "stud"}
    steel = {"seat": "A1", "blocked": "steel"}
    both_ways = [after(put("A1", 1, 2), blocked, steel), after(blocked, steel, put("A1", 1, 2))]
    for state in both_ways:
        assert state.set_mm == {"A1": (1.0, 2.0)}
        assert state.found == {"A1": Behind(into="steel", material="steel")}


@pytest.mark.parametrize("found", ["stud", "steel", "hollow", "backed", "solid"])
def test_what_may_be_found(found: str) -> None:
    behind = after({"seat": "A2", "blocked": found}).found["A2"]
    assert behind.into == found


def test_a_stud_may_say_what_it_is_made_of() -> None:
    for material in ("wood", "unknown"):
        entry = {"seat": "A1", "blocked": "stud", "material": material}
        assert after(entry).found["A1"].material == material
    steel = {"seat": "A1", "blocked": "stud", "material": "steel"}
    assert after(steel).found["A1"] == Behind(into="steel", material="steel")


def test_unset_frees_a_seat_again_and_keeps_what_was_found() -> None:
    state = after(put("A1", 1, 2), {"seat": "A1", "blocked": "stud"}, {"seat": "A1", "unset": True})
    assert state.set_mm == {}
    assert set(state.found) == {"A1"}


def test_unset_of_a_free_seat_changes_nothing() -> None:
    assert after({"seat": "A1", "unset": True}).set_mm == {}


def test_stops_stand_until_they_are_cleared() -> None:
    stops: list[dict[str, Any]] = [
        {"seat": "A1", "stop": True},
        {"seat": "A2", "stop": "a cable, perhaps"},
    ]
    assert after(*stops).stopped == {"A1", "A2"}
    assert after(*stops, {"seat": "A2", "cleared": "seen by the lead"}).stopped == {"A1"}
    assert after({"seat": "A1", "cleared": True}).stopped == frozenset()


def test_what_the_product_carries_besides_is_read_over() -> None:
    more = {"who": "R.", "when": "2030-01-01T10:00Z", "instrument": "tape", "revision": 2}
    state = after(put("A1", 1, 2, key="k", note="by hand", fastener="toggle", **more))
    assert state.set_mm == {"A1": (1.0, 2.0)}


# ---- null: on its mark


def close(got: tuple[float, float], wanted: tuple[float, float]) -> None:
    assert got == pytest.approx(wanted, abs=1e-9)


def test_a_null_is_the_optimum_from_the_other_seats_before_it() -> None:
    form = one_panel()
    first = {"A1": (-148.0, 1803.0)}
    expected = recompute_mm(form, first)["A2"]
    state = after(put("A1", -148, 1803), put("A2", None, 1801))
    close(state.set_mm["A2"], (expected[0], 1801.0))


def test_a_null_with_nothing_set_is_the_plan() -> None:
    planned = recompute_mm(one_panel(), {})["A1"]
    close(after(put("A1", None, None)).set_mm["A1"], planned)
    close(after({"seat": "A1", "set": {}}).set_mm["A1"], planned)


def test_a_null_is_resolved_once_and_never_replayed() -> None:
    once = after(put("A1", -148, 1803), put("A2", None, None)).set_mm["A2"]
    later = after(put("A1", -148, 1803), put("A2", None, None), put("A1", -160, 1790)).set_mm["A2"]
    close(later, once)


def test_a_seats_own_earlier_place_does_not_count_for_its_null() -> None:
    planned = recompute_mm(one_panel(), {})["A1"]
    close(after(put("A1", 0, 0), put("A1", None, None)).set_mm["A1"], planned)


def test_a_seat_set_free_does_not_count_for_a_later_null() -> None:
    planned = recompute_mm(one_panel(), {})["A2"]
    freed = after(put("A1", -148, 1803), {"seat": "A1", "unset": True}, put("A2", None, None))
    close(freed.set_mm["A2"], planned)


def test_where_the_place_shown_is_carried_a_null_means_that() -> None:
    state = after(put("A1", -148, 1803), put("A2", None, 1801, given={"x": 152, "y": 1799}))
    assert state.set_mm["A2"] == (152.0, 1801.0)


@given(st.integers(0, 5))
def test_the_reference_log_replayed_in_parts_ends_as_replayed_at_once(cut: int) -> None:
    """A fold: what was resolved so far can be carried on as plain places."""
    job = parse_job(reference("staithe.job.json"))
    form = quadratic_form(job, arrange(job))
    document = reference("staithe.log.json")
    whole = replay(form, parse_log(document, form.seats))
    begun = replay(form, parse_log({**document, "entries": document["entries"][:cut]}, form.seats))
    carried = [put(seat, x, y) for seat, (x, y) in begun.set_mm.items()]
    rest = {**document, "entries": [*carried, *document["entries"][cut:]]}
    again = replay(form, parse_log(rest, form.seats))
    assert again.set_mm.keys() == whole.set_mm.keys()
    for seat, place in whole.set_mm.items():
        # a typed length counts to six decimals of a millimetre
        assert again.set_mm[seat] == pytest.approx(place, abs=1e-5)


# ---- refusals


def refusal(document: object) -> InputError:
    with pytest.raises(InputError) as caught:
        parse_log(document, SEATS)
    return caught.value


@pytest.mark.parametrize("document", [None, [], "log", 3])
def test_a_log_is_an_object(document: object) -> None:
    says(refusal(document), "document", document, "must be an object")


@pytest.mark.parametrize("value", ["holdtrue.log/2", "holdtrue.job/1", 1, None, GONE])
def test_another_format_is_refused(value: Any) -> None:
    error = refusal(changed(log(), "format", value))
    assert error.path == "format"
    assert '"holdtrue.log/1"' in error.remedy


def test_entries_are_a_list() -> None:
    says(refusal(changed(log(), "entries", GONE)), "entries", None, "is missing")
    says(refusal(changed(log(), "entries", {})), "entries", {}, "must be a list")
    says(refusal(changed(log(), "entries", [5])), "entries[0]", 5, "must be an object")


@pytest.mark.parametrize("unit", ["yd", "", 5, "MM"])
def test_units_are_those_known(unit: Any) -> None:
    says(refusal(log(unit=unit)), "unit", unit, "must be one of mm, cm, m, in, ft")


@pytest.mark.parametrize("seat", ["A3", "a1", "B1", "A"])
def test_an_unknown_seat_is_named_with_those_there_are(seat: str) -> None:
    error = refusal(log(put("A1", 1, 2), put(seat, 1, 2)))
    says(error, "entries[1].seat", seat, "is not a seat of this job; seats: A1, A2")


@pytest.mark.parametrize("seat", [None, GONE])
def test_an_entry_says_its_seat(seat: Any) -> None:
    says(
        refusal(changed(log(put("A1", 1, 2)), "entries[0].seat", seat)),
        "entries[0].seat",
        None,
        "is missing",
    )


def test_an_entry_says_exactly_one_thing() -> None:
    one_of = "exactly one of set, blocked, unset, stop, cleared"
    says(refusal(log({"seat": "A1"})), "entries[0]", None, one_of)
    both = log(put("A1", 1, 2, blocked="stud"))
    says(refusal(both), "entries[0]", "set, blocked", one_of)


@pytest.mark.parametrize(
    ("path", "key"),
    [("", "job"), ("entries[0].", "place"), ("entries[0].set.", "z"), ("entries[0].given.", "dx")],
)
def test_unknown_keys_are_named_with_their_place(path: str, key: str) -> None:
    document = log(put("A1", 1, 2, given={"x": 1, "y": 2}))
    error = refusal(changed(document, f"{path}{key}", 1))
    says(error, f"{path}{key}", 1, "unknown key")


@pytest.mark.parametrize("axis", ["x", "y"])
@pytest.mark.parametrize(
    ("value", "remedy"),
    [
        (nan, "finite"),
        ("one", "none of the units"),
        (True, "must be a length"),
        ([1], "must be a length"),
        (200_000, "at most 100 m"),
        (10**99, "ordinary size"),
    ],
    ids=str,
)
def test_a_place_is_two_lengths(axis: str, value: Any, remedy: str) -> None:
    error = refusal(changed(log(put("A1", 1, 2)), f"entries[0].set.{axis}", value))
    assert error.path == f"entries[0].set.{axis}"
    assert remedy in error.remedy


@pytest.mark.parametrize("value", [5, "here", [1, 2], True])
def test_set_holds_an_object(value: Any) -> None:
    says(refusal(log({"seat": "A1", "set": value})), "entries[0].set", value, "must be an object")


def test_set_null_is_no_place() -> None:
    says(refusal(log({"seat": "A1", "set": None})), "entries[0].set", None, "is missing")


@pytest.mark.parametrize("given", [{"x": 1}, {"y": 1}, {"x": 1, "y": None}])
def test_a_place_shown_has_both_coordinates(given: Any) -> None:
    says(refusal(log(put("A1", None, 2, given=given))), "entries[0].given", given, "both x and y")


@pytest.mark.parametrize("value", ["wood", "edge", "", 5, True])
def test_what_was_found_is_one_of_those_known(value: Any) -> None:
    error = refusal(log({"seat": "A1", "blocked": value}))
    says(error, "entries[0].blocked", value, "must be one of stud, steel, hollow, backed, solid")


def test_a_material_is_one_of_those_known() -> None:
    error = refusal(log({"seat": "A1", "blocked": "stud", "material": "brick"}))
    says(error, "entries[0].material", "brick", "must be one of wood, steel, unknown")


@pytest.mark.parametrize("value", [False, None, 1, "yes"])
def test_unset_is_true(value: Any) -> None:
    says(refusal(log({"seat": "A1", "unset": value})), "entries[0].unset", value, "must be true")


@pytest.mark.parametrize("what", ["stop", "cleared"])
@pytest.mark.parametrize("value", [False, None, 0, {}])
def test_a_stop_is_not_said_by_halves(what: str, value: Any) -> None:
    error = refusal(log({"seat": "A1", what: value}))
    says(error, f"entries[0].{what}", value, "must be true, or a text that says why")


@pytest.mark.parametrize(
    ("entry", "key", "beside"),
    [
        ({"seat": "A1", "blocked": "stud"}, "given", "set"),
        ({"seat": "A1", "stop": True}, "given", "set"),
        (put("A1", 1, 2), "material", "blocked"),
        ({"seat": "A1", "unset": True}, "material", "blocked"),
    ],
)
@pytest.mark.parametrize("value", ["wood", 5, {"x": 1, "y": 2}], ids=str)
def test_what_bears_on_one_thing_stands_beside_no_other(
    entry: dict[str, Any], key: str, beside: str, value: Any
) -> None:
    error = refusal(log({**entry, key: value}))
    says(error, f"entries[0].{key}", value, f"belongs beside {beside}; leave it out")


@pytest.mark.parametrize(
    "key", ["fastener", "who", "when", "instrument", "revision", "key", "note"]
)
@pytest.mark.parametrize("value", [True, 1.5, [], {}], ids=str)
def test_what_is_carried_is_a_text_or_a_number(key: str, value: Any) -> None:
    says(refusal(log(put("A1", 1, 2, **{key: value}))), f"entries[0].{key}", value, "a text")
    parse_log(log(put("A1", 1, 2, **{key: None})), SEATS)
