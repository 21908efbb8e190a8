"""A job typed into the plain form by hand: every field by its label, every row by its button."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from playwright.sync_api import Locator

from tests.e2e.people import Person

Document = Mapping[str, Any]

UNITS = {"in": "inches"}
KINDS = {"row": "in a row"}
ALIGNED = {"top": "top edges"}
HEIGHT_OF = {"centre": "centre of the group"}
INTO = {"hollow": "hollow wall", "stud": "wood stud", "steel": "steel stud"}
BASIS = {"working": "working load"}


def type_job(lead: Person, document: Document) -> None:
    """Fill in the whole form of a new job; nothing is checked or saved yet."""
    work = _group(lead, "The work")
    _type(work, "Title", document["title"])
    _choose(work, "Unit of numbers", UNITS[document["unit"]])
    for k, panel in enumerate(document["panels"]):
        if k:
            lead.tap(lead.button("Add a panel"))
        _type_panel(lead, lead.page.locator("#panels > fieldset").nth(k), panel)
    _type_layout(lead, document["layout"])
    for i, stud in enumerate(document["wall"]["studs"]):
        lead.tap(lead.button("Add a stud"))
        part = _group(lead, f"Stud {i + 1}")
        _type(part, "Centre, x", stud["x"])
        if "material" in stud:
            _choose(part, "Material", stud["material"])
    for i, fastener in enumerate(document["fasteners"]):
        if i:
            lead.tap(lead.button("Add a fastener"))
        _type_fastener(lead.page.locator("#fasteners > fieldset").nth(i), fastener)


def _group(lead: Person, legend: str) -> Locator:
    return lead.page.get_by_role("group", name=legend, exact=True)


def _type(part: Locator, label: str, value: object) -> None:
    part.get_by_label(label, exact=True).first.fill(str(value))


def _choose(part: Locator, label: str, words: str) -> None:
    part.get_by_label(label, exact=True).select_option(label=words)


def _type_panel(lead: Person, part: Locator, panel: Document) -> None:
    for label in ("Name", "Width", "Height", "Depth", "Mass"):
        _type(part, label, panel[label.lower()])
    if panel["measured_on"] == "front":
        _choose(part, "Measured on", "front")
    if "centre_of_gravity" in panel:
        fold = part.locator("details").filter(has_text="Centre of gravity, layers")
        fold.locator("summary").tap()
        _type(fold, "In from left", panel["centre_of_gravity"]["in"])
        _type(fold, "Down from top", panel["centre_of_gravity"]["down"])
    for i, hanger in enumerate(panel["hangers"]):
        row = part.get_by_role("group", name=re.compile(rf", hanger {i + 1}$"))
        if not row.count():
            lead.tap(part.get_by_role("button", name=re.compile("^Add a hanger to ")))
        _type(row, "In from left", hanger["in"])
        _type(row, "Down from top", hanger["down"])


def _type_layout(lead: Person, layout: Document) -> None:
    part = _group(lead, "Layout")
    _choose(part, "The panels stand", KINDS[layout["kind"]])
    _choose(part, "Aligned by", ALIGNED[layout["align"]])
    _choose(part, "Height is of the", HEIGHT_OF[layout["height"]["of"]])
    _type(part, "Above the floor", layout["height"]["at"])
    _type(part, "Right of the reference", layout["offset"])
    lead.tap(part.get_by_role("button", name="Each gap its own"))
    for i, gap in enumerate(layout["gap"]):
        _type(part, f"Gap {i + 1}", gap)


def _type_fastener(part: Locator, fastener: Document) -> None:
    _type(part, "Name", fastener["name"])
    _choose(part, "Goes into", INTO[fastener["into"]])
    _type(part, "Drop", fastener["drop"])
    _type(part, "Capacity", fastener["capacity"])
    _choose(part, "Basis", BASIS[fastener["basis"]])
    _type(part, "Design factor", fastener["design_factor"])
