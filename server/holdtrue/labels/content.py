"""What a crate label says, as values; nothing of it tells a stranger what the work is worth.

The title appears only when asked for (a title on a crate invites theft), and never a venue or a
person. Hanger positions are given as seen from the back, whichever face they were measured on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from holdtrue.core.geometry import bounding_box_mm
from holdtrue.core.model import Panel, Plan
from holdtrue.core.readout import format_length
from holdtrue.domain.errors import InputError

LIFTING = "Two people or more. Keep upright. Hold by both sides, never by the top rail."


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelHanger:
    """A hanger seen from the back, mm; ``said`` is the same in the job's unit."""

    name: str
    in_mm: float
    down_mm: float
    said: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelPanel:
    """A panel in this crate, seen from the back."""

    name: str
    width_mm: float
    height_mm: float
    mass_kg: float
    cg_in_mm: float
    cg_down_mm: float
    hangers: tuple[LabelHanger, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelContent:
    """Everything the label carries."""

    short_id: str
    revision: int
    date: str
    crate: int
    crates: int
    panels: tuple[LabelPanel, ...]
    size: str
    mass: str
    lifting: str
    unit: str
    card_url: str
    """Empty: there is no card, and the label has no code for one."""
    plain_text: tuple[str, ...]
    """Lines of the second code: what is needed to hang, without any network."""
    title: str | None = None


def label_content(
    plan: Plan,
    *,
    short_id: str,
    card_url: str,
    revision: int,
    date: str,
    crate: int = 1,
    crates: int = 1,
    panel_names: Sequence[str] | None = None,
    crate_size_mm: tuple[float, float, float] | None = None,
    crate_mass_kg: float | None = None,
    lifting: str = LIFTING,
    show_title: bool = False,
) -> LabelContent:
    """The content for one crate.

    ``panel_names``: the panels in it (default: all). ``crate_size_mm`` (width, height, depth) and
    ``crate_mass_kg``: of the packed crate; without them the label gives the panels' and says so.
    ``date``: as it is to be read, e.g. 2026-11-05.
    """
    _check_crate(crate, crates)
    chosen = _chosen(plan, panel_names)
    panels = tuple(_panel(plan.job.panels[k], plan.job.unit, plan) for k in chosen)
    return LabelContent(
        short_id=short_id,
        revision=revision,
        date=date,
        crate=crate,
        crates=crates,
        panels=panels,
        size=_size(plan, panels, crate_size_mm),
        mass=_mass(panels, crate_mass_kg),
        lifting=lifting,
        unit=plan.job.unit,
        card_url=card_url,
        plain_text=_plain_text(
            plan, chosen, panels, f"{short_id} REV {revision} {date}", crate, crates
        ),
        title=plan.job.title if show_title else None,
    )


def _check_crate(crate: int, crates: int) -> None:
    if crates < 1:
        raise InputError("label.crates", crates, "give at least 1 crate")
    if not 1 <= crate <= crates:
        raise InputError("label.crate", crate, f"give a crate from 1 to {crates}")


def _chosen(plan: Plan, panel_names: Sequence[str] | None) -> list[int]:
    known = [panel.name for panel in plan.job.panels]
    if panel_names is None:
        return list(range(len(known)))
    for name in panel_names:
        if name not in known:
            raise InputError("label.panels", name, f"give panels of this work: {', '.join(known)}")
    if not panel_names:
        raise InputError("label.panels", None, "choose at least one panel for this crate")
    return [k for k, name in enumerate(known) if name in panel_names]


def _panel(panel: Panel, unit: str, plan: Plan) -> LabelPanel:
    """Mirror the front offsets: seen from the back, right is left."""
    hangers = []
    for index, hanger in enumerate(panel.hangers):
        in_mm = panel.width_mm / 2 - hanger.u_mm
        down_mm = panel.height_mm / 2 - hanger.v_mm
        said = f"{_length(in_mm, unit, plan)} / {_length(down_mm, unit, plan)}"
        hangers.append(
            LabelHanger(name=f"{panel.name}{index + 1}", in_mm=in_mm, down_mm=down_mm, said=said)
        )
    return LabelPanel(
        name=panel.name,
        width_mm=panel.width_mm,
        height_mm=panel.height_mm,
        mass_kg=panel.mass_kg,
        cg_in_mm=panel.width_mm / 2 - panel.cg_u_mm,
        cg_down_mm=panel.height_mm / 2 - panel.cg_v_mm,
        hangers=tuple(sorted(hangers, key=lambda h: h.in_mm)),
    )


def _length(mm: float, unit: str, plan: Plan) -> str:
    return format_length(mm, unit, graduation_mm=plan.job.graduation_mm, with_unit=False)


def _size(
    plan: Plan, panels: tuple[LabelPanel, ...], crate_mm: tuple[float, float, float] | None
) -> str:
    unit = plan.job.unit
    if crate_mm is not None:
        return "crate " + " × ".join(_length(v, unit, plan) for v in crate_mm) + f" {unit}"
    largest = (max(p.width_mm for p in panels), max(p.height_mm for p in panels))
    word = "panel" if len(panels) == 1 else "panels up to"
    return f"{word} " + " × ".join(_length(v, unit, plan) for v in largest) + f" {unit}"


def _mass(panels: tuple[LabelPanel, ...], crate_kg: float | None) -> str:
    if crate_kg is not None:
        return f"{crate_kg:.1f} kg packed"
    return f"{sum(p.mass_kg for p in panels):.1f} kg without the crate"


def _plain_text(
    plan: Plan,
    chosen: list[int],
    panels: tuple[LabelPanel, ...],
    heading: str,
    crate: int,
    crates: int,
) -> tuple[str, ...]:
    """Lines of mm in capitals: the compact alphanumeric mode has neither commas nor brackets.

    Centres count from the centre of the whole work seen from the front, so the arrangement can be
    hung without the other crates' labels.
    """
    box = bounding_box_mm(plan.job.panels, plan.arrangement.centres_mm)
    middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    lines = [
        f"HOLDTRUE {heading} CRATE {crate}/{crates}".upper(),
        "MM KG. C: CENTRE FROM MIDDLE OF WORK SEEN FROM FRONT RIGHT/UP",
        "H: HANGERS SEEN FROM BACK FROM LEFT/DOWN",
    ]
    for k, panel in zip(chosen, panels, strict=True):
        x, y = plan.arrangement.centres_mm[k]
        lines.append(
            f"{panel.name[:16]} {panel.width_mm:.0f}X{panel.height_mm:.0f} {panel.mass_kg:.1f} "
            f"C {_mm(x - middle[0])}/{_mm(y - middle[1])} H {_hangers(panel)}"
        )
    return tuple(lines)


def _hangers(panel: LabelPanel) -> str:
    """A depth that all hangers share is written once: the code's modules are dear."""
    downs = {_mm(h.down_mm) for h in panel.hangers}
    if len(panel.hangers) > 1 and len(downs) == 1:
        return " ".join(_mm(h.in_mm) for h in panel.hangers) + f" ALL DOWN {downs.pop()}"
    return " ".join(f"{_mm(h.in_mm)}/{_mm(h.down_mm)}" for h in panel.hangers)


def _mm(value: float) -> str:
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text
