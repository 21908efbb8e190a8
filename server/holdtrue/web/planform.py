"""The plan form: what was typed, what it was understood as, and what is wrong with it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from holdtrue.core.errors import CoreError
from holdtrue.core.lengths import echo, is_inch_like
from holdtrue.core.masses import echo_capacity, echo_mass, names_unit
from holdtrue.domain.errors import InputError
from holdtrue.domain.jobfile import FORMAT
from holdtrue.web import forms
from holdtrue.web.forms import Tree

_LENGTHS = re.compile(
    r"panels\[\d+\]\.(width|height|depth|bumper|shims|centre_depth|centre\.[xy])"
    r"|panels\[\d+\]\.centre_of_gravity\.(in|down)"
    r"|panels\[\d+\]\.hangers\[\d+\]\.(in|in_from_right|down|hole_down)"
    r"|panels\[\d+\]\.layers\[\d+\]\.thickness"
    r"|panels\[\d+\]\.hang\.(apart|length|rise|up|out|rail)"
    r"|layout\.(offset|height\.at|gap|gap\.[xy]|gap\[\d+\])"
    r"|wall\.(left|right|top|stud_clearance|outlets\[\d+\]\.(x|y|width|height))"
    r"|wall\.(studs\[\d+\]\.(x|width)|keep_clear\[\d+\]\.[xy][01])"
    r"|fasteners\[\d+\]\.(drop|standoff|placing|turn)"
    r"|fasteners\[\d+\]\.screw\.(diameter|root|length|thread|lining|side_thickness)"
    r"|uncertainty\.(tape|level|placing|stick)|lift\.(out|from|to)"
    r"|tolerance\.[a-z]+|tape"
)
_OTHERS = re.compile(
    r"title|unit|slope|panels\[\d+\]\.(name|mass|measured_on|hang\.method)"
    r"|panels\[\d+\]\.hang\.(hooks|stiffness|capacity|basis|design_factor)"
    r"|panels\[\d+\]\.hangers\[\d+\]\.(of|capacity)"
    r"|panels\[\d+\]\.layers\[\d+\]\.(material|share|density|density_u)"
    r"|layout\.(kind|align|height\.of|rows\[\d+\]\[\d+\])"
    r"|wall\.(behind|cable_zones|studs\[\d+\]\.material|keep_clear\[\d+\]\.why)"
    r"|fasteners\[\d+\]\.(name|into|capacity|basis|design_factor)"
    r"|fasteners\[\d+\]\.screw\.(gauge|side|side_gravity|species|specific_gravity|service|heat)"
    r"|uncertainty\.level_per_m|lift\.(turn|per_minute|duration|coupling)"
)
"""Fields of the form that are no lengths."""
_FIRST = {
    "panels": "panels[0].name",
    "hangers": "{}[0].in",
    "layers": "{}[0].material",
    "rows": "{}[0][0]",
    "hang": "{}.method",
    "layout": "{}.kind",
    "height": "{}.at",
    "centre": "{}.x",
    "centre_of_gravity": "{}.in",
    "studs": "{}[0].x",
    "outlets": "{}[0].x",
    "keep_clear": "{}[0].x0",
    "wall": "{}.behind",
    "screw": "{}.gauge",
    "fasteners": "{}[0].name",
    "tolerance": "{}.level",
    "uncertainty": "{}.tape",
    "lift": "{}.out",
}
"""The first field of a group, by the group's name."""
_FIRST_OF_ROW = {"panels": ".name", "fasteners": ".name", "hangers": ".in", "rows": "[0]"}
_FIRST_OF_ROW |= {"layers": ".material", "studs": ".x", "outlets": ".x", "keep_clear": ".x0"}
_MASSES = re.compile(r"panels\[\d+\]\.mass")
_CAPACITIES = re.compile(
    r"fasteners\[\d+\]\.capacity|panels\[\d+\]\.(hangers\[\d+\]\.capacity|hang\.(capacity|stiffness))"
)
"""Masses, and what is said as a mass or a force."""
WHOLE = "plan"
"""Where an error stands that is about no field: the button that saves."""
_PLACES = re.compile(r"([a-z_0-9]+)\[(\d+)\]|([a-z_0-9]+)")
_ONE_OF = {
    "panels": "panel",
    "hangers": "hanger",
    "layers": "layer",
    "studs": "stud",
    "outlets": "outlet",
    "keep_clear": "area to keep clear",
    "fasteners": "fastener",
    "rows": "row",
}
_DEFAULT_UNIT = "mm"


def is_field(path: str) -> bool:
    """Whether the form has a field for this path of the document."""
    return bool(_LENGTHS.fullmatch(path) or _OTHERS.fullmatch(path))


NOT_FIELDS = frozenset({"csrf", "key", "action", "revision"})
"""Fields of the form that are no part of the document."""


@dataclass(frozen=True, slots=True)
class PlanForm:
    """A plan form to be shown: the tree, with errors by path."""

    tree: Tree
    errors: Mapping[str, str] = field(default_factory=dict)
    key: str = ""

    def value(self, path: str) -> str:
        return forms.text_at(self.tree, path)

    def rows(self, path: str, least: int = 0) -> range:
        """The places of a list's rows; ``least`` blank ones are shown where there are fewer."""
        rows = forms.node_at(self.tree, path)
        return range(max(len(rows) if isinstance(rows, list) else 0, least))

    def has(self, path: str) -> bool:
        """Whether something was typed at ``path`` or below it."""
        node = forms.node_at(self.tree, path)
        return node is not None and not forms.is_blank(node)

    def is_list(self, path: str) -> bool:
        return isinstance(forms.node_at(self.tree, path), list)

    def is_group(self, path: str) -> bool:
        return isinstance(forms.node_at(self.tree, path), dict)

    def error(self, path: str) -> str | None:
        """What is wrong, to be said at this field."""
        said = [text for about, text in self.errors.items() if self.spot(about) == path]
        return "; ".join(said) or None

    def spot(self, path: str) -> str:
        """The field an error is said at: its own, or the first of the group it is about."""
        if is_field(path) and not self.is_group(path) and not self.is_list(path):
            return path
        if path == "layout.gap":
            return f"{path}.x" if self.is_group(path) else f"{path}[0]"
        row, number, name = (_PLACES.findall(path) or [("", "", "")])[-1]
        first = path + _FIRST_OF_ROW.get(row, "") if number else _FIRST.get(name, "").format(path)
        return first if is_field(first) else WHOLE

    def id(self, path: str) -> str:
        """The path as an HTML id."""
        return "f-" + re.sub(r"[^a-z0-9_]+", "-", path).strip("-")

    def echo(self, path: str) -> str:
        """What a length, a mass or a capacity was understood as; nothing for blanks and faults."""
        text = self.value(path)
        if not text.strip():
            return ""
        try:
            if _MASSES.fullmatch(path):
                return echo_mass(text)
            if _CAPACITIES.fullmatch(path):
                return echo_capacity(text)
            return echo(text, self.unit) if _LENGTHS.fullmatch(path) else ""
        except CoreError:
            # Said once, by the check of the whole form, at this field.
            return ""

    def place(self, path: str) -> str:
        """A path in a person's words: "panel B, hanger 2: down"."""
        if path == WHOLE:
            return "The whole plan"
        words = []
        for name, number, key in _PLACES.findall(path):
            if not number:
                words.append(key.replace("_", " "))
                continue
            called = self.value(f"{name}[{number}].name") if name in ("panels", "fasteners") else ""
            words.append(f"{_ONE_OF.get(name, name)} {called or int(number) + 1}")
        return ", ".join(words) or path

    @property
    def unit(self) -> str:
        return self.value("unit") or _DEFAULT_UNIT

    @property
    def panel_names(self) -> list[str]:
        return [self.value(f"panels[{k}].name") for k in self.rows("panels")]

    def document(self) -> dict[str, Any]:
        return {"format": FORMAT, **forms.document_of(self.tree)}


def from_document(document: Mapping[str, Any], key: str) -> PlanForm:
    """The form of a stored plan; what is in kg without saying so (a job file may) says so."""
    fields = {name: part for name, part in document.items() if name != "format"}
    typed = ((path, _with_unit(path, text)) for path, text in forms.write_fields(fields))
    return PlanForm(forms.read_fields(typed), key=key)


def _with_unit(path: str, text: str) -> str:
    is_bare = text.strip() and not names_unit(text)
    return f"{text.strip()} kg" if is_bare and _is_weight(path) else text


def _is_weight(path: str) -> bool:
    return bool(_MASSES.fullmatch(path) or _CAPACITIES.fullmatch(path))


def require_units(document: Mapping[str, Any]) -> None:
    """Who types inches may mean pounds: InputError at a mass or capacity that names no unit."""
    if not is_inch_like(str(document.get("unit", _DEFAULT_UNIT))):
        return
    for path, text in forms.write_fields(document):
        if not _is_weight(path) or names_unit(text):
            continue
        bare = text.strip()
        raise InputError(path, text, f"say the unit as well: {bare} lb or {bare} kg")


def from_request(fields: list[tuple[str, str]], key: str) -> PlanForm:
    """The form as sent, with nothing left out."""
    mine = [(name, text) for name, text in fields if name not in NOT_FIELDS]
    return PlanForm(forms.read_fields(mine), key=key)


BLANK_ROWS: dict[str, Any] = {
    "panels": {"name": "", "hangers": [{"in": ""}, {"in": ""}]},
    "hangers": {"in": ""},
    "layers": {"material": ""},
    "rows": [""],
    "gap": "",
    "studs": {"x": ""},
    "outlets": {"x": ""},
    "keep_clear": {"x0": ""},
    "fasteners": {"name": ""},
}


def changed(form: PlanForm, action: str) -> PlanForm:
    """The form after one of its buttons that change its shape; nothing is saved."""
    verb, _, path = action.partition(":")
    match verb:
        case "add":
            return PlanForm(_added(form, path), key=form.key)
        case "remove":
            return PlanForm(forms.without_row(form.tree, path), key=form.key)
        case "gaps":
            return PlanForm(_gaps_switched(form, path), key=form.key)
        case _:
            raise InputError("action", action, "there is no such button")


def _added(form: PlanForm, path: str) -> Tree:
    steps = forms.split_path(path)
    name = next((step for step in reversed(steps) if isinstance(step, str)), "")
    if name not in BLANK_ROWS:
        raise InputError("action", path, "no row can be added here")
    row = BLANK_ROWS[name]
    if name == "rows" and isinstance(steps[-1], int):
        row = ""
    tree = form.tree
    shown = forms.node_at(tree, path)
    if name in ("panels", "hangers", "rows") and not shown:
        # The page shows one blank row where there is none; the new one comes after it.
        tree = forms.with_row(tree, path, row)
    return forms.with_row(tree, path, row)


def _gaps_switched(form: PlanForm, to: str) -> Tree:
    """One gap for all, one for each pair of neighbours, or a grid's two; what was typed is kept."""
    old = forms.node_at(form.tree, "layout.gap")
    if to == "each":
        first = old if isinstance(old, str) else ""
        count = max(len(form.rows("panels")) - 1, 1)
        return forms.with_node(form.tree, "layout.gap", [first] * count)
    if to == "one":
        typed = old.values() if isinstance(old, dict) else old if isinstance(old, list) else ()
        first = next((text for text in typed if isinstance(text, str) and text.strip()), "")
        return forms.with_node(form.tree, "layout.gap", first)
    if to == "grid":
        both = old if isinstance(old, str) else ""
        return forms.with_node(form.tree, "layout.gap", {"x": both, "y": both})
    raise InputError("action", to, "there is no such button")
