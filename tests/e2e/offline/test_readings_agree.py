"""What the phone reads, doubts and says of a form, against the server's own reading of it."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from holdtrue.core.lengths import format_length
from holdtrue.domain.consequence import Residual
from holdtrue.domain.errors import InputError
from holdtrue.domain.readings import check_values, doubt, read_values
from holdtrue.domain.state import JobState
from holdtrue.domain.tasks import TASK_KINDS, TaskKind
from holdtrue.web import phone_words as server_words
from tests.domain.crew import hung_low
from tests.e2e.phone_modules import open_modules

Values = dict[str, Any]
UNITS = ("in", "mm", "cm")
ODD = (
    *("", " ", "x", "1/3", "20 3/4", "5½", "5' 6 1/2\"", "52,7 cm", "1,500", "-3", "−2 mm", "1e3"),
    *("20 3/4 in", "527 mm", "0", "00012", "1.5 m", "1 000", "²", "5 5/8 mm", "999999", "\u2028"),
    *("yes", "The Maker: OK", "x", "李", "Ørjan", "½½", "ß", "no I", "Agreed by Mo"),
    *("Vera, for the house", "a\tb", "\x07", "é" * 501, "31", "30", "2", "left", "level", "wood"),
)
READ = """
async (cases) => {
  const { readValues, doubt, TypedError } = await import("/static/js/app/reading.js");
  return cases.map(({ fields, raw, unit, planned }) => {
    try {
      const values = readValues(fields, raw, unit);
      return { values, doubt: doubt(fields, values, planned, unit) };
    } catch (error) {
      if (!(error instanceof TypedError)) throw error;
      return { path: error.path, remedy: error.message };
    }
  });
}
"""
SAY = """
async (cases) => {
  const words = await import("/static/js/app/words.js");
  return cases.map(({ mm, up, unit, kind }) => ({
    fmt: words.fmt(mm, unit), bare: words.bare(mm, unit), across: words.across(mm, unit),
    side: words.side(mm), small: words.small(mm, unit), move: words.moveWords(mm, up, unit),
    residual: words.residualWords(
      { kind, where: kind === "gap" || kind === "step" ? "A|upper-left" : kind === "slack"
        ? "upper-left1-upper-left2" : "A", valueMm: mm }, unit, unit === "mm"),
  }));
}
"""


CHECK = """
async (cases) => {
  const { checkValues } = await import("/static/js/app/checks.js");
  const { TypedError } = await import("/static/js/app/reading.js");
  return cases.map(({ kind, subject, values, unit }) => {
    try {
      checkValues(kind, subject, values, { plannedMm: {}, unit, seats: ["A1", "A2"], outcome: "" });
      return null;
    } catch (error) {
      if (!(error instanceof TypedError)) throw error;
      return { path: error.path, remedy: error.message };
    }
  });
}
"""


@pytest.fixture(scope="module")
def modules(chromium: Browser) -> Iterator[Page]:
    with open_modules(chromium) as page:
        yield page


def fields_of(kind: TaskKind) -> list[Values]:
    """As the page's JSON holds them."""
    return [
        {
            "name": f.name,
            "kind": f.kind,
            "label": f.label,
            "required": f.required,
            "far_mm": f.far_mm,
            "choices": [list(choice) for choice in f.choices],
        }
        for f in kind.fields
    ]


def a_text(random: Random, unit: str) -> str:
    if random.random() < 0.35:
        return random.choice(ODD)
    mm = random.choice((random.uniform(0, 60), random.uniform(0, 4000)))
    grain = random.choice((0.1, 1.5875, 1.0))
    return format_length(round(mm / grain) * grain, unit, with_unit=random.random() < 0.3)


def a_form(random: Random, kind: TaskKind, unit: str) -> dict[str, str]:
    raw: dict[str, str] = {}
    for field in kind.fields:
        names = [field.name]
        if field.kind == "studs":
            names = [f"{field.name}[{i}].x" for i in range(random.randint(0, 4))]
            for name in names:
                raw[name.removesuffix(".x") + ".material"] = random.choice(
                    ("wood", "steel", "unknown", "", "tin")
                )
                if random.random() < 0.2:
                    raw[name.removesuffix(".x") + ".width"] = a_text(random, unit)
        if field.kind == "seats":
            ticked = random.sample(("A1", "A2", "everywhere", " ", "upper-left1"), 3)
            raw |= {f"{field.name}[{i}]": seat for i, seat in enumerate(ticked)}
            continue
        for name in names:
            if random.random() < 0.1 or field.kind == "photo":
                continue
            chosen = [value for value, _ in field.choices]
            is_chosen = field.kind == "choice" and chosen and random.random() < 0.9
            raw[name] = random.choice(chosen) if is_chosen else a_text(random, unit)
            raw[f"{name}.side"] = random.choice(("left", "right", "left", "right", "up", ""))
    return raw


def plan_of(random: Random, kind: TaskKind, raw: dict[str, str]) -> dict[str, float]:
    """Near what was typed, off by a tape's slip, on the other side, or far off."""
    known = {f.name: random.uniform(-2000, 2000) for f in kind.fields if f.is_length}
    try:
        values = read_values(kind, raw, "in")
    except InputError:
        return known
    for name in known:
        if values.get(name):
            off = random.choice((0, 3, 25.4, -100, 24, 101.5, 40, 900))
            known[name] = values[name]["mm"] * random.choice((1, 1, 1, -1)) + off
    return known


def of_server(case: Values) -> Values:
    kind = TASK_KINDS[case["kind"]]
    try:
        values = read_values(kind, case["raw"], case["unit"])
    except InputError as error:
        return {"path": error.path, "remedy": error.remedy}
    planned = {name: {"mm": mm} for name, mm in case["planned"].items()}
    found = doubt(kind, values, planned, case["unit"])
    said = None if found is None else f"{found.value} {found.remedy}."
    return {"values": values, "doubt": said}


def test_the_phone_reads_3000_forms_as_the_server_does(modules: Page) -> None:
    random = Random(4_002)
    kinds = [kind for kind in TASK_KINDS.values() if kind.fields]
    cases: list[Values] = []
    for _ in range(3000):
        kind, unit = random.choice(kinds), random.choice(UNITS)
        raw = a_form(random, kind, unit)
        cases.append(
            {
                "kind": kind.name,
                "fields": fields_of(kind),
                "raw": raw,
                "unit": unit,
                "planned": plan_of(random, kind, raw),
            }
        )
    told = modules.evaluate(READ, cases)
    seen = {"read": 0, "doubted": 0, "refused": 0}
    for case, phone in zip(cases, told, strict=True):
        server = of_server(case)
        assert phone == server, case
        is_read = "values" in server
        seen["doubted" if is_read and server["doubt"] else "read" if is_read else "refused"] += 1
    assert min(seen.values()) > 150, seen


def test_the_phone_takes_shims_and_trims_as_the_server_does(modules: Page) -> None:
    random = Random(4_004)
    state = hung_low().state
    cases = [a_touch(random) for _ in range(600)]
    told = modules.evaluate(CHECK, cases)
    for case, phone in zip(cases, told, strict=True):
        assert phone == refused_by_server(state, case), case
    assert 100 < told.count(None) < 500


def a_touch(random: Random) -> Values:
    """A shim laid or a trim by hand, often not as it should be."""
    mm = random.choice((0.0, 0.5, 3.9, 4.0, 4.1, 25.4 / 64))
    unit = random.choice(UNITS)
    if random.random() < 0.3:
        values: Values = {"thick": {"mm": mm, "typed": "so much"}}
        return {"kind": "panels.shim", "subject": "A1", "values": values, "unit": unit}
    values = {"means": random.choice(("shim", "screw", "hanger", "slide", "bumper", "none"))}
    if random.random() < 0.9:
        values["by"] = {"mm": mm, "typed": "so much"}
    if random.random() < 0.8:
        values["seat"] = random.choice(("A1", "A2", "B1", ""))
    if random.random() < 0.8:
        values["way"] = random.choice(("up", "down", "left", "right", "in", "out"))
    return {"kind": "panels.trim", "subject": "A", "values": values, "unit": unit}


def refused_by_server(state: JobState, case: Values) -> Values | None:
    kind = TASK_KINDS[case["kind"]]
    try:
        check_values(state, kind, case["subject"], case["values"], {}, case["unit"])
    except InputError as error:
        return {"path": error.path, "remedy": error.remedy}
    return None


def test_the_phone_says_2000_lengths_in_the_servers_words(modules: Page) -> None:
    random = Random(4_003)
    kinds = ("level", "slack", "bearing", "gap", "step", "centre", "height")
    cases: list[Values] = [
        {
            "mm": random.choice((0.0, 0.02, -0.06, random.gauss(0, 3), random.gauss(0, 2000))),
            "up": random.gauss(0, 1),
            "unit": random.choice(UNITS),
            "kind": random.choice(kinds),
        }
        for _ in range(2000)
    ]
    for case, phone in zip(cases, modules.evaluate(SAY, cases), strict=True):
        assert phone == said_by_server(case), case


def said_by_server(case: Values) -> Values:
    mm, unit, kind = case["mm"], case["unit"], case["kind"]
    where = {"gap": "A|upper-left", "step": "A|upper-left", "slack": "upper-left1-upper-left2"}
    residual = Residual(kind=kind, where=where.get(kind, "A"), value_mm=mm, tolerance_mm=1)
    return {
        "fmt": server_words.fmt(mm, unit),
        "bare": server_words.bare(mm, unit),
        "across": server_words.across(mm, unit),
        "side": server_words.side(mm),
        "small": server_words.small(mm, unit),
        "move": server_words.move_words(mm, case["up"], unit),
        "residual": server_words.residual_words(residual, unit, is_above=unit == "mm"),
    }
