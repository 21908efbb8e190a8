"""A job's document as measured: what is read at the wall goes back into the job file.

The document stays a valid ``holdtrue.job/1`` file all the time, so what is exported, printed and
carried to the next venue is what was measured, not what was guessed.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from copy import deepcopy
from typing import Any

from holdtrue.core.geometry import bounding_box_mm
from holdtrue.core.model import Job, Plan

Document = dict[str, Any]


def mm_text(mm: float) -> str:
    """A length as it goes into a document, exact to a nanometre whatever the document's unit."""
    text = f"{mm:.6f}".rstrip("0").rstrip(".")
    return f"{'0' if text == '-0' else text} mm"


def value_text(value: Mapping[str, Any]) -> str:
    """A recorded length for the document."""
    return mm_text(float(value["mm"]))


def with_hanger(
    document: Mapping[str, Any], job: Job, panel: int, hanger: int, values: Mapping[str, Any]
) -> Document:
    """The document with one hanger as measured on the back."""
    new = deepcopy(dict(document))
    source = job.panels[panel].hangers[hanger].source_index
    entry = new["panels"][panel]["hangers"][source]
    for key in ("in", "in_from_right", "down", "hole_down", "of"):
        entry.pop(key, None)
    entry["in" if values["edge"] == "left" else "in_from_right"] = value_text(values["in"])
    if values.get("to"):
        entry["hole_down"], entry["of"] = value_text(values["down"]), values["to"]
    else:
        entry["down"] = value_text(values["down"])
    return new


def with_hanger_moved(
    document: Mapping[str, Any], job: Job, panel: int, hanger: int, move_mm: tuple[float, float]
) -> Document:
    """The document with one hanger moved on its panel, right and up as seen from the front."""
    shape = job.panels[panel]
    one = shape.hangers[hanger]
    from_left = shape.width_mm / 2 + one.u_mm + move_mm[0]
    if shape.measured_on == "back":
        from_left = shape.width_mm - from_left
    values = {
        "edge": "left",
        "in": {"mm": from_left},
        "down": {"mm": shape.height_mm / 2 - one.v_mm - move_mm[1]},
    }
    return with_hanger(document, job, panel, hanger, values)


def with_panels_swapped(document: Mapping[str, Any], one: int, other: int) -> Document:
    """The document with two panels in each other's places."""
    new = deepcopy(dict(document))
    panels, layout = new["panels"], new["layout"]
    if layout["kind"] == "grid":
        names = [panels[one]["name"], panels[other]["name"]]
        turned = dict(zip(names, reversed(names), strict=True))
        layout["rows"] = [[turned.get(name, name) for name in row] for row in layout["rows"]]
    elif layout["kind"] == "free":
        panels[one]["centre"], panels[other]["centre"] = (
            panels[other]["centre"],
            panels[one]["centre"],
        )
    else:
        panels[one], panels[other] = panels[other], panels[one]
    return new


def with_drop(document: Mapping[str, Any], fastener: str, drop_mm: float) -> Document:
    """The document with a fastener kind's drop as it was learned."""
    new = deepcopy(dict(document))
    for entry in new["fasteners"]:
        if entry["name"] == fastener:
            entry["drop"] = mm_text(drop_mm)
    return new


def with_shims(document: Mapping[str, Any], panels: Collection[str], mm: float) -> Document:
    """The document with shims planned in the rings of these panels."""
    new = deepcopy(dict(document))
    for panel in new["panels"]:
        if panel["name"] in panels:
            panel["shims"] = mm_text(mm)
    return new


def with_wire(
    document: Mapping[str, Any], job: Job, panel: int, values: Mapping[str, Any]
) -> Document:
    """The document with a wire as measured under load: its rings, and how far its hook stands up.

    The rings keep their middle; the wire's length gives way to what was measured.
    """
    new = deepcopy(dict(document))
    shape = job.panels[panel]
    wire = shape.hang.wire
    if wire is None:
        return new
    middle = sum(u for u, _ in wire.rings_mm) / 2
    half = float(values["apart"]["mm"]) / 2
    entries = new["panels"][panel]["hangers"]
    for entry, u in zip(entries, (middle - half, middle + half), strict=True):
        from_left = shape.width_mm / 2 + u
        if shape.measured_on == "back":
            from_left = shape.width_mm - from_left
        _put_down(entry, values["down"])
        entry.pop("in_from_right", None)
        entry["in"] = mm_text(from_left)
    hang = new["panels"][panel]["hang"] = dict(new["panels"][panel]["hang"])
    for key in ("length", "stiffness"):
        hang.pop(key, None)
    hang["rise"] = value_text(values["rise"])
    return new


def with_rail(document: Mapping[str, Any], panel: int, values: Mapping[str, Any]) -> Document:
    """The document with a panel's rail as measured: its bearing edge, level with the top edge."""
    new = deepcopy(dict(document))
    mean = (float(values["left"]["mm"]) + float(values["right"]["mm"])) / 2
    for entry in new["panels"][panel]["hangers"]:
        _put_down(entry, {"mm": mean})
    return new


def _put_down(entry: dict[str, Any], down: Mapping[str, Any]) -> None:
    for key in ("down", "hole_down", "of"):
        entry.pop(key, None)
    entry["down"] = value_text(down)


def with_reference(document: Mapping[str, Any], plan: Plan, values: Mapping[str, Any]) -> Document:
    """The document with the work placed by what the venue's mark means."""
    if document["layout"]["kind"] == "free":
        return _shifted(document, plan, values)
    new = deepcopy(dict(document))
    layout = new["layout"]
    layout["height"] = {"of": values["height_of"], "at": value_text(values["height"])}
    left, _, right, _ = bounding_box_mm(plan.job.panels, plan.arrangement.centres_mm)
    offset = {"centre": 0.0, "left": (right - left) / 2, "right": (left - right) / 2}
    if values["meaning"] != "plan":
        layout["offset"] = mm_text(offset[values["meaning"]])
    return new


def _shifted(document: Mapping[str, Any], plan: Plan, values: Mapping[str, Any]) -> Document:
    """A free layout moved as a whole: it has no height or offset of its own."""
    new = deepcopy(dict(document))
    centres = plan.arrangement.centres_mm
    left, bottom, right, top = bounding_box_mm(plan.job.panels, centres)
    held_x = {"plan": 0.0, "centre": (left + right) / 2, "left": left, "right": right}
    held_y = {"top": top, "centre": (top + bottom) / 2, "bottom": bottom}
    dx = -held_x[values["meaning"]]
    dy = float(values["height"]["mm"]) - held_y[values["height_of"]]
    for panel, (x, y) in zip(new["panels"], centres, strict=True):
        panel["centre"] = {"x": mm_text(x + dx), "y": mm_text(y + dy)}
    return new


def with_wall(document: Mapping[str, Any], **changes: Any) -> Document:
    """The document with parts of its wall replaced; a None leaves that part as it was."""
    new = deepcopy(dict(document))
    wall = dict(new.get("wall") or {})
    wall.update({key: value for key, value in changes.items() if value is not None})
    new["wall"] = wall
    return new


def with_ends(document: Mapping[str, Any], values: Mapping[str, Any]) -> Document:
    left, right = values.get("left"), values.get("right")
    return with_wall(
        document,
        left=mm_text(-float(left["mm"])) if left else None,
        right=value_text(right) if right else None,
    )


def with_studs(document: Mapping[str, Any], studs: list[Mapping[str, Any]]) -> Document:
    """The document with the studs that were found; a stud keeps the width typed before."""
    widths = {round(float(s["x"]["mm"]), 3): s.get("width") for s in studs}
    return with_wall(
        document,
        studs=[
            {"x": value_text(stud["x"]), "material": stud["material"]}
            | (
                {"width": value_text(stud["width"])}
                if widths.get(round(float(stud["x"]["mm"]), 3))
                else {}
            )
            for stud in studs
        ],
    )


ALLOWED_THERE = ("capacity", "basis", "design_factor", "screw")
"""What a fastener may carry was said for the wall it went into."""


def for_next_venue(
    document: Mapping[str, Any], plan: Plan, *, title: str, has_height: bool
) -> Document:
    """The work as measured, for another wall: nothing of the one it hung on.

    Without its height the work stands on the floor: the next venue gives it one.
    """
    new = deepcopy({key: part for key, part in document.items() if key not in ("wall", "slope")})
    new["title"] = title
    if "fasteners" in new:
        new["fasteners"] = [
            {key: part for key, part in one.items() if key not in ALLOWED_THERE}
            for one in new["fasteners"]
        ]
    centres = plan.arrangement.centres_mm
    left, bottom, right, _ = bounding_box_mm(plan.job.panels, centres)
    if plan.job.layout.kind == "free":
        down = 0.0 if has_height else bottom
        for panel, (x, y) in zip(new["panels"], centres, strict=True):
            panel["centre"] = {"x": mm_text(x - (left + right) / 2), "y": mm_text(y - down)}
        return new
    new["layout"].pop("offset", None)
    if not has_height:
        new["layout"]["height"] = {"of": "bottom", "at": "0 mm"}
    return new
