"""Every way a job file can be wrong: the error names path, value and what would be right."""

from __future__ import annotations

from math import inf, nan
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdtrue.core.lengths import parse_length
from holdtrue.core.readout import write_bound
from holdtrue.domain.errors import InputError
from holdtrue.domain.jobfile import parse_job, stored_job
from tests.domain.papers import GONE, changed, full, reference, says, smallest

LENGTHS = [
    "panels[0].width",
    "panels[0].height",
    "panels[0].depth",
    "panels[0].centre_depth",
    "panels[0].bumper",
    "panels[0].layers[0].thickness",
    "panels[0].centre_of_gravity.in",
    "panels[0].centre_of_gravity.down",
    "panels[0].hangers[0].in",
    "panels[0].hangers[0].down",
    "panels[0].hangers[1].in_from_right",
    "panels[0].hangers[1].hole_down",
    "layout.height.at",
    "layout.offset",
    "layout.gap.x",
    "layout.gap.y",
    "wall.studs[0].x",
    "wall.studs[0].width",
    "wall.stud_clearance",
    "wall.keep_clear[0].x0",
    "wall.keep_clear[0].y0",
    "wall.keep_clear[0].x1",
    "wall.keep_clear[0].y1",
    "wall.left",
    "wall.right",
    "fasteners[0].drop",
    "fasteners[0].standoff",
    "tolerance.level",
    "tolerance.slack",
    "tolerance.bearing",
    "tolerance.gap",
    "tolerance.step",
    "tolerance.centre",
    "tolerance.height",
    "tolerance.taper",
    "tolerance.line",
    "tolerance.flush",
    "tape",
]
NEVER_NEGATIVE = {
    "panels[0].width": "at least 1 mm",
    "panels[0].height": "at least 1 mm",
    "panels[0].depth": "must not be negative",
    "panels[0].centre_depth": "must not be negative",
    "panels[0].bumper": "must not be negative",
    "panels[0].layers[0].thickness": "more than 0",
    "layout.gap.x": "must not be negative",
    "layout.gap.y": "must not be negative",
    "wall.studs[0].width": "more than 0",
    "wall.stud_clearance": "must not be negative",
    "fasteners[0].standoff": "must not be negative",
    "tape": "at least 0.01 mm",
    **{path: "at least 0.01 mm" for path in LENGTHS if path.startswith("tolerance.")},
}


def refusal(document: object) -> InputError:
    with pytest.raises(InputError) as caught:
        parse_job(document)
    return caught.value


def test_the_full_job_itself_is_right() -> None:
    parse_job(full())


# ---- lengths, wherever they stand


@pytest.mark.parametrize("path", LENGTHS)
@pytest.mark.parametrize(
    ("value", "remedy"),
    [
        (nan, "finite number"),
        (inf, "finite number"),
        (-inf, "finite number"),
        ("NaN", "none of the units mm, cm, m, in, ft"),
        ("", "such as 20 3/4 in or 527 mm"),
        ("12 furlongs", "none of the units mm, cm, m, in, ft"),
        ("1/3 in", "use 2, 4, 8, 16, 32 or 64"),
        (10**30, "ordinary size"),
        (True, 'a length, e.g. 527 (in mm) or "20 3/4 in"'),
        ([1], "a length, e.g. 527"),
        ({"mm": 1}, "a length, e.g. 527"),
    ],
    ids=str,
)
def test_what_is_no_length_is_refused_everywhere(path: str, value: Any, remedy: str) -> None:
    error = refusal(changed(full(), path, value))
    assert error.path == path
    assert remedy in error.remedy
    assert path in str(error)


@pytest.mark.parametrize("path", LENGTHS)
def test_more_than_a_hundred_metres_is_a_slip_of_the_unit(path: str) -> None:
    says(refusal(changed(full(), path, 100_001)), path, 100_001, "at most 100 m")


@pytest.mark.parametrize(("path", "remedy"), NEVER_NEGATIVE.items())
def test_what_cannot_be_negative_is_refused_when_it_is(path: str, remedy: str) -> None:
    says(refusal(changed(full(), path, -5)), path, -5, remedy)
    says(refusal(changed(full(), path, "-1/4 in")), path, "-1/4 in", remedy)


@pytest.mark.parametrize(
    ("path", "value", "remedy"),
    [
        ("panels[0].width", 0, "at least 1 mm"),
        ("panels[0].height", 0.9, "at least 1 mm"),
        ("wall.studs[0].width", 0, "more than 0"),
        ("panels[0].layers[0].thickness", 0, "more than 0"),
        ("tolerance.step", 0, "at least 0.01 mm"),
        ("tape", 1e-300, "at least 0.01 mm"),
    ],
)
def test_nothing_is_not_a_size(path: str, value: Any, remedy: str) -> None:
    says(refusal(changed(full(), path, value)), path, value, remedy)


@pytest.mark.parametrize("gap", [-1, [-1], [nan], ["1 mile"], [True]])
def test_a_gap_of_a_row_is_checked_one_by_one(gap: Any) -> None:
    layout = {"kind": "row", "gap": gap, "height": {"at": 1500}}
    error = refusal(changed(full(), "layout", layout))
    assert error.path == ("layout.gap[0]" if isinstance(gap, list) else "layout.gap")


# ---- the document


@pytest.mark.parametrize("document", [None, 5, "job", [], [{}], True])
def test_a_document_is_an_object(document: object) -> None:
    says(refusal(document), "document", document, "must be an object {...}")


@pytest.mark.parametrize("value", ["holdtrue.job/2", "holdtrue.log/1", "", 1, ["holdtrue.job/1"]])
def test_another_format_is_refused(value: Any) -> None:
    says(refusal(changed(smallest(), "format", value)), "format", value, 'must be "holdtrue.job/1"')


@pytest.mark.parametrize(
    "path",
    [
        *(
            "format",
            "title",
            "panels",
            "layout",
            "layout.kind",
            "layout.height",
            "layout.height.at",
        ),
        *(f"panels[0].{key}" for key in ("name", "width", "height", "mass", "hangers")),
        *("panels[0].hangers[0].in", "panels[0].hangers[0].down"),
    ],
)
def test_what_a_job_must_say_is_missed(path: str) -> None:
    for document in (changed(smallest(), path, GONE), changed(smallest(), path, None)):
        says(refusal(document), path, None, "is missing")


@pytest.mark.parametrize(
    "path",
    [
        *("panels[0].layers[0].material", "panels[0].layers[0].thickness"),
        *("panels[0].centre_of_gravity.in", "panels[0].centre_of_gravity.down"),
        *("panels[0].hangers[1].of", "layout.rows", "wall.studs[0].x"),
        *(f"wall.keep_clear[0].{key}" for key in ("x0", "y0", "x1", "y1")),
        *("fasteners[0].name", "fasteners[0].into"),
    ],
)
def test_what_a_part_must_say_is_missed(path: str) -> None:
    says(refusal(changed(full(), path, GONE)), path, None, "is missing")


OBJECTS = [
    "",
    "panels[0].",
    "panels[0].layers[0].",
    "panels[0].centre_of_gravity.",
    "panels[0].hangers[0].",
    "layout.",
    "layout.height.",
    "layout.gap.",
    "wall.",
    "wall.studs[0].",
    "wall.keep_clear[0].",
    "fasteners[0].",
    "tolerance.",
]


@pytest.mark.parametrize("place", OBJECTS)
@pytest.mark.parametrize(
    ("key", "shown"),
    [
        ("widht", "widht"),
        ("Width", "Width"),
        ("x_mm", "x_mm"),
        ("", "''"),
        ("a\nb", "'a\\nb'"),
        ("\ud800", "'\\ud800'"),
        ("k" * 100, "k" * 80),
    ],
)
def test_an_unknown_key_is_named_with_its_place(place: str, key: str, shown: str) -> None:
    document = full()
    path = f"{place}{shown}"
    node: Any = document
    for part in place.replace("[0]", ".0").split("."):
        node = node[int(part)] if part == "0" else node[part] if part else node
    node[key] = 1
    says(refusal(document), path, 1, "unknown key; known here: ")


def test_an_unknown_key_of_a_free_panels_centre_is_named() -> None:
    document = changed(smallest(), "layout", {"kind": "free"})
    document = changed(document, "panels[0].centre", {"x": 0, "y": 1500, "z": 1})
    says(refusal(document), "panels[0].centre.z", 1, "known here: x, y")


def test_keys_that_are_no_text_do_not_get_through() -> None:
    document: dict[Any, Any] = {**smallest(), 5: 1}
    assert refusal(document).path == "5"


# a gap may also be a length: what is neither is told of lengths
PLACES = [place.rstrip(".") for place in OBJECTS if place not in ("", "layout.gap.")]


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("value", [5, "text", True, [1]])
def test_what_must_be_an_object_is_refused_when_it_is_not(place: str, value: Any) -> None:
    says(refusal(changed(full(), place, value)), place, value, "must be an object {...}")


@pytest.mark.parametrize(
    "path",
    [
        "panels",
        "panels[0].hangers",
        "panels[0].layers",
        "wall.studs",
        "wall.keep_clear",
        "fasteners",
        "layout.rows",
    ],
)
def test_lists_are_lists_of_at_most_200(path: str) -> None:
    says(refusal(changed(full(), path, {"a": 1})), path, {"a": 1}, "must be a list [...]")
    says(refusal(changed(full(), path, "A")), path, "A", "must be a list [...]")
    says(refusal(changed(full(), path, [{}] * 201)), path, "201 entries", "at most 200 entries")


# ---- texts and choices


@pytest.mark.parametrize(
    "path",
    [
        "title",
        "panels[0].name",
        "fasteners[0].name",
        "panels[0].hangers[1].of",
        "wall.keep_clear[0].why",
        "panels[0].layers[0].material",
    ],
)
@pytest.mark.parametrize(
    ("value", "remedy"),
    [
        (5, 'must be a text, e.g. "A"'),
        ("  ", 'must be a text, e.g. "A"'),
        (["A"], "must be a text"),
        ("x" * 201, "has 201 characters; type at most 200"),
        ("A\nB", "control characters"),
        ("A\x00", "control characters"),
        ("A\x7f", "control characters"),
        ("A\x9b31m", "control characters"),
        ("A\u202eB", "control characters"),
        ("A\u2028B", "control characters"),
        ("A\ud800", "control characters"),
        ("A\u200bB", "that do not show"),
        ("A\u200d", "that do not show"),
        ("\ufeffA", "that do not show"),
        ("A\u2060", "that do not show"),
        ("A\xadB", "that do not show"),
        ("A\u061cB", "that do not show"),
    ],
    ids=repr,
)
def test_texts_are_short_and_of_one_line(path: str, value: Any, remedy: str) -> None:
    says(refusal(changed(full(), path, value)), path, value, remedy)


@pytest.mark.parametrize(
    ("path", "known"),
    [
        ("unit", "mm, cm, m, in, ft"),
        ("panels[0].measured_on", "back, front"),
        ("layout.kind", "row, column, grid, free"),
        ("layout.align", "top, centre, bottom"),
        ("layout.height.of", "centre, top, bottom"),
        ("wall.behind", "hollow, backed, solid"),
        ("wall.studs[0].material", "wood, steel, unknown"),
        ("fasteners[0].into", "hollow, stud, steel, backed, solid"),
        ("fasteners[0].basis", "working, ultimate"),
    ],
)
@pytest.mark.parametrize("value", ["yard", "", "CENTRE", 3, ["row"], True])
def test_a_choice_is_one_of_those_listed(path: str, known: str, value: Any) -> None:
    says(refusal(changed(full(), path, value)), path, value, f"must be one of {known}")


@pytest.mark.parametrize(("kind", "align"), [("row", "left"), ("column", "top"), ("grid", "right")])
def test_panels_align_across_the_way_they_run(kind: str, align: str) -> None:
    height = {"at": 1500}
    document = changed(full(), "layout", {"kind": kind, "align": align, "height": height})
    says(refusal(document), "layout.align", align, "must be one of")


# ---- numbers and amounts


@pytest.mark.parametrize(
    ("path", "low", "high"),
    [
        ("fasteners[0].design_factor", 1, 10),
        ("panels[0].layers[0].share", 0, 1),
        ("panels[0].layers[0].density", 1, 25000),
        ("slope", -100, 100),
    ],
)
def test_numbers_stay_in_their_range(path: str, low: float, high: float) -> None:
    for value in (low - 0.01, high + 0.01, str(high + 1)):
        says(
            refusal(changed(full(), path, value)), path, value, f"must be between {low} and {high}"
        )
    for value in (low or 0.1, high, str(high)):
        parse_job(changed(full(), path, value))


@pytest.mark.parametrize(
    "path", ["fasteners[0].design_factor", "panels[0].layers[0].share", "slope"]
)
@pytest.mark.parametrize(
    ("value", "remedy"),
    [
        ("two", "must be a number"),
        ("", "must be a number"),
        ("1/0", "must be a number"),
        ("1e3", "must be a number"),
        ("1.2.3", "must be a number"),
        ("--1", "must be a number"),
        (True, "must be a number"),
        ([2], "must be a number"),
        (nan, "finite number"),
        (inf, "finite number"),
        (10**400, "ordinary size"),
        ("9" * 40, "must be a number"),
    ],
    ids=lambda value: str(value)[:12],
)
def test_what_is_no_number_is_refused(path: str, value: Any, remedy: str) -> None:
    error = refusal(changed(full(), path, value))
    assert error.path == path
    assert remedy in error.remedy


AMOUNTS = ["panels[1].mass", "panels[0].hangers[0].capacity", "fasteners[0].capacity"]


@pytest.mark.parametrize("path", AMOUNTS)
@pytest.mark.parametrize(
    ("value", "remedy"),
    [
        (0, "more than 0"),
        ("0 kg", "more than 0"),
        (-3, "from 0 to"),
        ("-3 kg", "from 0 to"),
        ("12 stone", "none of the units"),
        ("heavy", "none of the units"),
        (nan, "finite number"),
        (inf, "finite number"),
        (True, "a number or a text"),
        ([5], "a number or a text"),
        (10**300, "ordinary size"),
        ("99999 kg", "from 0 to"),
    ],
    ids=str,
)
def test_what_is_no_amount_is_refused(path: str, value: Any, remedy: str) -> None:
    error = refusal(changed(full(), path, value))
    assert error.path == path
    assert remedy in error.remedy


def test_a_mass_is_no_force() -> None:
    says(
        refusal(changed(full(), "panels[1].mass", "40 N")),
        "panels[1].mass",
        "40 N",
        "kg, g, lb, oz",
    )


def test_a_panel_without_mass_and_layers_asks_for_either() -> None:
    error = refusal(changed(smallest(), "panels[0].mass", GONE))
    says(error, "panels[0].mass", None, "weigh the panel")
    assert "layers" in error.remedy


@pytest.mark.parametrize("layers", [[], [{"material": "mdf", "thickness": 18, "share": 0}]])
def test_layers_that_weigh_nothing_are_refused(layers: list[Any]) -> None:
    error = refusal(changed(full(), "panels[0].layers", layers))
    says(error, "panels[0].layers", layers, "above 0")


def test_a_material_outside_the_table_needs_a_density() -> None:
    document = changed(full(), "panels[0].layers[0]", {"material": "lead sheet", "thickness": 2})
    says(refusal(document), "panels[0].layers[0].material", "lead sheet", "add a density")


# ---- panels and hangers


def test_there_is_at_least_one_panel() -> None:
    says(refusal(changed(smallest(), "panels", [])), "panels", [], "list at least one panel")
    error = refusal(changed(smallest(), "panels", GONE))
    says(error, "panels", None, "is missing; list at least one panel")


def test_a_panel_has_at_least_one_hanger() -> None:
    error = refusal(changed(smallest(), "panels[0].hangers", []))
    says(error, "panels[0].hangers", [], "list at least one hanger")
    error = refusal(changed(smallest(), "panels[0].hangers", GONE))
    says(error, "panels[0].hangers", None, "is missing; list at least one hanger")


def test_names_that_look_alike_are_alike_however_they_were_composed() -> None:
    """One letter or a letter and its ring: equal as Unicode has it (UAX #15)."""
    document = full()
    first = document["fasteners"][0] | {"name": "\u00c5"}
    document["fasteners"] = [first, first | {"name": "A\u030a"}]
    says(refusal(document), "fasteners[1].name", "\u00c5", "used twice")


@pytest.mark.parametrize("name", ["A", "a"])
def test_panel_names_are_unique_whatever_their_case(name: str) -> None:
    error = refusal(changed(full(), "panels[1].name", name))
    says(error, "panels[1].name", name, "used twice")


@pytest.mark.parametrize("name", ["A1", "1", "Panel 12", "A²"])
def test_panel_names_do_not_end_in_a_digit(name: str) -> None:
    error = refusal(changed(smallest(), "panels[0].name", name))
    says(error, "panels[0].name", name, "must not end in a digit")


@pytest.mark.parametrize("name", ["/", "/A", "A/", "A//B", "A/../B", "./A"])
def test_panel_names_can_stand_in_an_address(name: str) -> None:
    error = refusal(changed(smallest(), "panels[0].name", name))
    says(error, "panels[0].name", name, "cannot stand in the address")


@pytest.mark.parametrize("name", ["A/B", "..", "1/2 top"])
def test_other_names_with_slashes_and_dots_are_taken(name: str) -> None:
    assert parse_job(changed(smallest(), "panels[0].name", name)).panels[0].name == name


def test_an_error_never_repeats_what_would_change_a_terminal() -> None:
    error = refusal(changed(smallest(), "title", "\x1b[31mred"))
    assert str(error).isprintable()
    assert "\\x1b[31mred" in str(error)


@pytest.mark.parametrize(
    ("key", "value", "remedy"),
    [
        ("in", 500.001, "give 0 to 500 mm"),
        ("in", -0.001, "give 0 to 500 mm"),
        ("in", "20 in", "give 0 to 500 mm"),
        ("down", 700.001, "give 0 to 700 mm"),
        ("down", -0.001, "give 0 to 700 mm"),
    ],
)
def test_hangers_lie_on_the_panel(key: str, value: Any, remedy: str) -> None:
    path = f"panels[0].hangers[1].{key}"
    says(refusal(changed(smallest(), path, value)), path, value, f"outside the panel; {remedy}")


@pytest.mark.parametrize(("key", "value"), [("in_from_right", 501), ("hole_down", 697)])
def test_hangers_measured_otherwise_lie_on_the_panel_too(key: str, value: Any) -> None:
    # with a drop of 4 mm a hole at 697 has its seat at 701
    path = f"panels[0].hangers[1].{key}"
    says(refusal(changed(full(), path, value)), path, value, "outside the panel")


def test_a_hanger_at_the_very_edge_is_on_the_panel() -> None:
    parse_job(
        changed(smallest(), "panels[0].hangers", [{"in": 0, "down": 0}, {"in": 500, "down": 0}])
    )


@pytest.mark.parametrize(("key", "value"), [("in", 501), ("down", -1)])
def test_a_centre_of_gravity_lies_on_the_panel(key: str, value: Any) -> None:
    path = f"panels[0].centre_of_gravity.{key}"
    says(refusal(changed(full(), path, value)), path, value, "outside the panel")


@pytest.mark.parametrize("x", [100, 100.009, "3.937 in"])
def test_two_hangers_at_one_x_are_refused(x: Any) -> None:
    path = "panels[0].hangers[1].in"
    says(refusal(changed(smallest(), path, x)), path, x, "same x as hangers[0]")


def test_two_hangers_a_hair_apart_are_taken() -> None:
    document = changed(smallest(), "panels[0].hangers[1].in", 100.02)
    parse_job(changed(document, "panels[0].centre_of_gravity", {"in": 100.01, "down": 350}))


def test_two_hangers_at_one_x_from_both_edges_are_refused() -> None:
    hangers = [{"in": 100, "down": 50}, {"in_from_right": 400, "down": 90}]
    error = refusal(changed(smallest(), "panels[0].hangers", hangers))
    says(error, "panels[0].hangers[1].in_from_right", 400, "same x as hangers[0]")


@pytest.mark.parametrize(("both", "extra"), [("in", "in_from_right"), ("down", "hole_down")])
def test_a_hanger_is_measured_one_way(both: str, extra: str) -> None:
    path = f"panels[0].hangers[0].{extra}"
    says(refusal(changed(smallest(), path, 90)), path, 90, f"give {both} or {extra}, not both")


@pytest.mark.parametrize(
    ("fasteners", "known"), [(GONE, "none listed"), ([{"name": "hook", "into": "stud"}], "hook")]
)
def test_a_sample_fastener_is_one_of_the_jobs(fasteners: Any, known: str) -> None:
    document = changed(full(), "fasteners", fasteners)
    error = refusal(document)
    says(error, "panels[0].hangers[1].of", "toggle", f"known: {known}")


def test_a_centre_of_gravity_outside_the_hangers_is_refused() -> None:
    document = changed(smallest(), "panels[0].centre_of_gravity", {"in": 401, "down": 350})
    error = refusal(document)
    says(error, "panels[0].centre_of_gravity.in", 401, "outside the outermost hangers")
    parse_job(changed(document, "panels[0].centre_of_gravity.in", 400))


def test_hangers_on_one_side_of_the_middle_are_refused() -> None:
    hangers = [{"in": 20, "down": 50}, {"in": 200, "down": 50}]
    error = refusal(changed(smallest(), "panels[0].hangers", hangers))
    says(error, "panels[0].hangers", hangers, "outside the outermost hangers")


def test_a_lone_hanger_may_be_off_the_centre() -> None:
    parse_job(changed(smallest(), "panels[0].hangers", [{"in": 20, "down": 50}]))


def test_hangers_at_the_bottom_edge_are_refused() -> None:
    hangers = [{"in": 250, "down": 700}]
    error = refusal(changed(smallest(), "panels[0].hangers", hangers))
    says(error, "panels[0].hangers", hangers, "above the bottom edge")


def test_more_hangers_than_can_be_worked_with_are_refused() -> None:
    hangers = [{"in": 2 * i, "down": 10} for i in range(134)]
    hangers[0] = {"in": 499, "down": 10}
    panels = [{**smallest()["panels"][0], "name": name, "hangers": hangers} for name in "ABC"]
    error = refusal({**smallest(), "panels": panels})
    says(error, "panels", "402 hangers", "at most 400")


# ---- layout


@pytest.mark.parametrize(("gap", "found"), [([], 0), ([1, 2], 2)])
def test_a_gap_list_has_one_entry_fewer_than_the_panels(gap: list[int], found: int) -> None:
    document = changed(full(), "layout", {"kind": "row", "gap": gap, "height": {"at": 1500}})
    says(refusal(document), "layout.gap", gap, f"one entry fewer than the panels: 1, not {found}")


def test_a_grid_takes_no_list_of_gaps() -> None:
    says(refusal(changed(full(), "layout.gap", [1])), "layout.gap", [1], "a grid has one gap")


@pytest.mark.parametrize(
    ("rows", "path", "value", "remedy"),
    [
        ([["A"], ["C"]], "layout.rows[1][0]", "C", "is not a panel; known: A, B"),
        ([["A", 5]], "layout.rows[0][1]", 5, "is not a panel"),
        ([["A", "B"], ["A"]], "layout.rows[1][0]", "A", "stands in the grid twice"),
        ([["A"], []], "layout.rows[1]", [], "must be a list of panel names"),
        (["A", "B"], "layout.rows[0]", "A", "must be a list of panel names"),
        ([["A"]], "layout.rows", None, "missing: B"),
        ([], "layout.rows", [], "list the rows, the top one first"),
    ],
)
def test_every_panel_stands_in_the_grid_once(
    rows: list[Any], path: str, value: Any, remedy: str
) -> None:
    says(refusal(changed(full(), "layout.rows", rows)), path, value, remedy)


def test_in_a_free_layout_every_panel_needs_its_centre() -> None:
    document = changed(smallest(), "layout", {"kind": "free"})
    says(refusal(document), "panels[0].centre", None, "is missing")
    document = changed(document, "panels[0].centre", {"x": 0})
    says(refusal(document), "panels[0].centre.y", None, "is missing")


# ---- what has no bearing on the layout or the panel

ROW = {"kind": "row", "height": {"at": 1500}}
FREE = {"kind": "free"}


def freely(layout: dict[str, Any]) -> dict[str, Any]:
    """The smallest job with its panel put freely."""
    document = changed(smallest(), "layout", {**FREE, **layout})
    return changed(document, "panels[0].centre", {"x": 0, "y": 1500})


@pytest.mark.parametrize("rows", [3, "junk", {}, [["A"]], [[]], [5]], ids=str)
@pytest.mark.parametrize("layout", [ROW, {**ROW, "kind": "column"}, FREE], ids=lambda k: k["kind"])
def test_rows_belong_to_a_grid(layout: dict[str, Any], rows: Any) -> None:
    document = changed(freely({}), "layout", {**layout, "rows": rows})
    if layout is not FREE:
        document = changed(document, "panels[0].centre", GONE)
    says(refusal(document), "layout.rows", rows, "belong to a grid: leave them out")


@pytest.mark.parametrize("centre", [5, "junk", [], {}, {"x": 0, "y": 1500}], ids=str)
def test_a_centre_belongs_to_a_free_layout(centre: Any) -> None:
    document = changed(smallest(), "panels[0].centre", centre)
    if centre == []:
        parse_job(document)  # says nothing
    else:
        says(refusal(document), "panels[0].centre", centre, "belongs to a free layout: leave it")


@pytest.mark.parametrize(
    ("layout", "path", "value"),
    [
        ({"gap": -1}, "layout.gap", -1),
        ({"gap": "wide"}, "layout.gap", "wide"),
        ({"gap": [5]}, "layout.gap", [5]),
        ({"gap": {"x": 5}}, "layout.gap", {"x": 5}),
        ({"height": "junk"}, "layout.height", "junk"),
        ({"height": {}}, "layout.height.at", None),
        ({"height": {"at": "high"}}, "layout.height.at", "high"),
        ({"height": {"at": 1500, "up": 1}}, "layout.height.up", 1),
        ({"offset": "left"}, "layout.offset", "left"),
        ({"align": "left"}, "layout.align", "left"),
    ],
    ids=str,
)
def test_what_a_free_layout_does_not_use_must_not_be_wrong(
    layout: dict[str, Any], path: str, value: Any
) -> None:
    error = refusal(freely(layout))
    assert (error.path, error.value) == (path, value)


def test_what_a_free_layout_does_not_use_may_stand_there_rightly() -> None:
    layout = {"gap": 20, "align": "top", "offset": 5, "height": {"of": "top", "at": 1500}}
    assert parse_job(freely(layout)) == parse_job(freely({"align": "top"}))


@pytest.mark.parametrize(
    ("layers", "path", "value"),
    [
        (3, "", 3),
        ({}, "", {}),
        (["mdf"], "[0]", "mdf"),
        ([{"material": "mdf"}], "[0].thickness", None),
        ([{"material": "mdf", "thickness": -18}], "[0].thickness", -18),
        ([{"material": "mdf", "thickness": 18, "wight": 5}], "[0].wight", 5),
    ],
    ids=str,
)
def test_layers_do_not_count_beside_a_mass_but_must_not_be_wrong(
    layers: Any, path: str, value: Any
) -> None:
    error = refusal(changed(smallest(), "panels[0].layers", layers))
    assert (error.path, error.value) == (f"panels[0].layers{path}", value)


@pytest.mark.parametrize("of", ["toggle", "no such", 5, {}], ids=str)
def test_a_sample_fastener_belongs_to_a_hole(of: Any) -> None:
    error = refusal(changed(full(), "panels[0].hangers[0].of", of))
    says(error, "panels[0].hangers[0].of", of, "belongs to hole_down")


def test_a_stored_document_may_hold_what_was_once_passed_over() -> None:
    document = changed(full(), "layout", {**ROW, "rows": 3})
    document = changed(changed(document, "panels[0].mass", "8 kg"), "panels[0].layers", 5)
    for path in ("panels[0].centre", "panels[0].hangers[0].of"):
        document = changed(document, path, 5)
    assert [panel.mass_kg for panel in stored_job(document).panels] == [8, 4]
    stored_job(freely({"gap": -1, "height": "junk", "rows": 3}))


# ---- numbers as they were typed, bounds in the job's own unit


@pytest.mark.parametrize("value", ["x", "", "1e3", "9" * 40, 10**12, nan], ids=str)
@pytest.mark.parametrize("path", ["slope", "fasteners[0].design_factor"])
def test_a_number_that_is_none_is_shown_as_it_was_typed(path: str, value: Any) -> None:
    error = refusal(changed(full(), path, value))
    assert error.value is value
    assert "e.g. 2 or 2.5" in error.remedy
    shown = f"{path}: " + ('""' if value == "" else str(value)) + ": must be a"
    assert str(error).startswith(shown)


@pytest.mark.parametrize(
    ("path", "value", "remedy"),
    [
        ("panels[0].hangers[0].in", 31, "give 0 to 30 in"),
        ("panels[0].hangers[0].down", 41, "give 0 to 40 in from the top edge"),
        ("panels[2].hangers[0].in", "611 mm", "give 0 to 24.0157 in (610 mm)"),
        ("panels[0].width", "0.1 mm", "at least 0.03938 in (1 mm)"),
        ("tolerance", {"gap": "0.001 mm"}, "at least 0.0003938 in (0.01 mm)"),
    ],
)
def test_bounds_are_in_the_jobs_unit(path: str, value: Any, remedy: str) -> None:
    error = refusal(changed(reference("tidewrack.job.json"), path, value))
    assert remedy in error.remedy


@given(
    st.floats(1e-3, 99_999).map(lambda mm: round(mm, 6)), st.sampled_from(["mm", "cm", "in", "ft"])
)
def test_a_bound_as_said_is_itself_allowed(mm: float, unit: str) -> None:
    most = parse_length(write_bound(mm, unit, is_most=True).split(" (")[0], None).mm
    least = parse_length(write_bound(mm, unit, is_most=False).split(" (")[0], None).mm
    assert float(most) <= mm <= float(least)
    assert float(least - most) <= max(mm * 1e-3, 0.05)


# ---- wall and fasteners


@pytest.mark.parametrize("right", [-3000, -3001])
def test_a_walls_right_end_lies_right_of_its_left_one(right: int) -> None:
    says(
        refusal(changed(full(), "wall.right", right)),
        "wall.right",
        right,
        "right of the wall's left",
    )


def test_fastener_names_are_unique() -> None:
    document = full()
    document["fasteners"].append({"name": "toggle", "into": "stud"})
    says(refusal(document), "fasteners[1].name", "toggle", "used twice")


# ---- the text of an error


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        ([[[1]]], "[...]"),
        ([], "[]"),
        ({"a": {}}, "{...}"),
        ({}, "{}"),
        ("", '""'),
        (" ", '" "'),
        ((1, 2), "[...]"),
        ("x" * 100, "x" * 57 + "..."),
        (10**5000, "a very large number"),
        (12.5, "12.5"),
        (True, "True"),
    ],
    ids=lambda value: str(type(value)),
)
def test_an_error_shows_no_more_of_a_value_than_a_person_reads(value: Any, shown: str) -> None:
    assert str(InputError("panels", value, "mend it")) == f"panels: {shown}: mend it"


def test_an_error_about_nothing_shows_no_value() -> None:
    assert str(InputError("panels", None, "is missing")) == "panels: is missing"


def test_a_value_too_deep_to_print_is_an_ordinary_error() -> None:
    deep: list[Any] = []
    for _ in range(100_000):
        deep = [deep]
    error = refusal(changed(smallest(), "panels[0].width", 5) | {"title": deep})
    assert error.path == "title"
    while deep:  # taken apart by hand: dropping it whole would recurse as deep
        deep = deep.pop()
