"""What is typed into a task's fields, read strictly, one field at a time."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdtrue.domain.errors import InputError
from holdtrue.domain.readings import MOST_STUDS, read_values
from holdtrue.domain.tasks import TASK_KINDS


def read(kind: str, raw: dict[str, str], unit: str = "in") -> dict[str, Any]:
    return read_values(TASK_KINDS[kind], raw, unit)


def test_a_bare_number_is_in_the_unit_of_the_persons_tape() -> None:
    raw = {"x": "20 3/4", "x.side": "right", "above": "4"}
    inch = read("fasteners.measure", raw)
    assert inch["x"] == {"mm": 527.05, "typed": "20 3/4", "side": "right"}
    assert inch["above"] == {"mm": 101.6, "typed": "4"}
    metric = read("fasteners.measure", {"x": "52.7 cm", "x.side": "left", "above": "4"}, "mm")
    assert (metric["x"]["mm"], metric["above"]["mm"]) == (-527.0, 4.0)


def test_on_the_reference_line_there_is_no_side_to_choose() -> None:
    assert read("fasteners.measure", {"x": "0", "above": "0"})["x"]["side"] == "right"


@pytest.mark.parametrize(
    ("kind", "raw", "path", "said"),
    [
        ("fasteners.measure", {"x": "", "above": "4"}, "x", "type a length, e.g. 20 3/4"),
        ("fasteners.measure", {"x": "4", "above": "4"}, "x.side", "left, right"),
        ("fasteners.measure", {"x": "4", "x.side": "up", "above": "4"}, "x.side", "left, right"),
        ("fasteners.measure", {"x": "-4", "above": "4"}, "x", "choose left or right"),
        ("fasteners.measure", {"x": "0", "above": "-4"}, "above", "without a minus sign"),
        ("fasteners.measure", {"x": "a lot", "above": "4"}, "x", "20 3/4"),
        ("fasteners.pilot", {}, "met", "choose one of Nothing: hollow, Wood"),
        ("fasteners.pilot", {"met": "gold"}, "met", "choose one of nothing, wood"),
        ("before.people", {"people": "", "platform": "floor"}, "people", "whole number, e.g. 2"),
        ("before.people", {"people": "0", "platform": "floor"}, "people", "type 2 or more"),
        ("before.people", {"people": "1", "platform": "floor"}, "people", "lifts a panel alone"),
        ("before.people", {"people": "31", "platform": "floor"}, "people", "from 2 to 30"),
        ("before.people", {"people": "two", "platform": "floor"}, "people", "from 2 to 30"),
        ("before.people", {"people": "²", "platform": "floor"}, "people", "from 2 to 30"),
        ("secure.key", {"who": "  "}, "who", "type it here"),
        ("secure.key", {"who": "x" * 501}, "who", "at most 500"),
        ("secure.key", {"who": "a\x00b"}, "who", "plain characters"),
        ("stand_back.yes", {"who": ""}, "who", "name of who says yes"),
        ("stand_back.yes", {"who": "the maker says YES!"}, "who", "e.g. Mara, maker"),
        ("stand_back.yes", {"who": "x 1"}, "who", "name of who says yes"),
        ("panels.move", {"agreed": "yes", "who": "OK"}, "who", "name of who says yes"),
        ("close.photo", {"photo": "photo.jpg"}, "photo", "as a file"),
        ("behind.studs", {"studs[0].x": "8"}, "studs[0].x.side", "left, right"),
        (
            "behind.studs",
            {"studs[3].x": "8", "studs[3].x.side": "left", "studs[3].material": "tin"},
            "studs[3].material",
            "wood, steel, unknown",
        ),
        (
            "behind.studs",
            {"studs[0].x": "8", "studs[0].x.side": "left", "studs[0].width": "thin"},
            "studs[0].width",
            "type",
        ),
        (
            "behind.studs",
            {
                "studs[0].x": "8",
                "studs[0].x.side": "left",
                "studs[5].x": "8 1/64",
                "studs[5].x.side": "left",
            },
            "studs[5].x",
            "listed twice",
        ),
    ],
)
def test_what_cannot_be_read_names_its_field_and_says_what_to_type(
    kind: str, raw: dict[str, str], path: str, said: str
) -> None:
    with pytest.raises(InputError) as refusal:
        read(kind, raw)
    assert refusal.value.path == path
    assert said in refusal.value.remedy


def test_a_metric_tape_is_shown_a_metric_example() -> None:
    with pytest.raises(InputError, match=r"e\.g\. 527"):
        read("reference.bow", {"bow": "", "lean": "0"}, "mm")


def test_what_may_be_left_out_is_left_out() -> None:
    assert read("reference.ends", {"left": " "}) == {}
    assert read("close.note", {}) == {"note": ""}
    assert read("before.services", {"how": "both"}) == {"how": "both", "found": ""}


def test_notes_are_kept_in_one_line() -> None:
    assert read("close.note", {"note": " two\r\n  lines\t"}) == {"note": "two lines"}


def test_studs_are_read_with_side_material_and_width_and_gaps_between_them_do_not_count() -> None:
    raw = {
        "studs[1].x": "8",
        "studs[1].x.side": "left",
        "studs[1].material": "wood",
        "studs[1].width": "1 1/2",
        f"studs[{MOST_STUDS - 1}].x": "24",
        f"studs[{MOST_STUDS - 1}].x.side": "right",
    }
    first, second = read("behind.studs", raw)["studs"]
    assert (first["x"]["mm"], first["material"], first["width"]["mm"]) == (-203.2, "wood", 38.1)
    assert (second["x"]["mm"], second["material"], "width" in second) == (609.6, "unknown", False)


def test_no_studs_is_an_answer() -> None:
    assert read("behind.studs", {}) == {"studs": []}


@given(st.dictionaries(st.sampled_from(["x", "x.side", "above", "met"]), st.text(max_size=40)))
def test_any_text_is_read_or_refused_by_field(raw: dict[str, str]) -> None:
    try:
        values = read("fasteners.measure", raw)
    except InputError as refusal:
        path = refusal.path
    else:
        path = ""
        assert abs(values["x"]["mm"]) <= 100_000
    assert path in ("", "x", "x.side", "above")
