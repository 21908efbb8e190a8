"""Works of any number of panels, for labels."""

from __future__ import annotations

from collections.abc import Sequence

from holdtrue.core.model import Hanger, Job, Layout, Panel, Plan
from holdtrue.core.plan import make_plan
from holdtrue.labels import LabelContent, label_content

CARD_URL = "https://hang.example.org/c/7K3FQ2XW7K3FQ2XW7K3FQ2XW7K"
SHORT_ID = "7K3FQ2XW"


def plan_of(
    sizes_mm: Sequence[tuple[float, float]],
    *,
    names: Sequence[str] = "ABCDEFGHIJKL",
    hangers: int = 2,
    title: str = "a work",
    unit: str = "mm",
) -> Plan:
    panels = tuple(
        Panel(
            name=names[k],
            width_mm=width,
            height_mm=height,
            depth_mm=30.0,
            mass_kg=12.3,
            hangers=tuple(
                Hanger(u_mm=width * ((i + 1) / (hangers + 1) - 0.5), v_mm=height * 0.4)
                for i in range(hangers)
            ),
        )
        for k, (width, height) in enumerate(sizes_mm)
    )
    layout = Layout(kind="row", gaps_mm=(20.0,) * (len(panels) - 1), height_at_mm=1500.0)
    graduation_mm = 25.4 / 16 if unit == "in" else 1.0
    return make_plan(
        Job(title=title, unit=unit, panels=panels, layout=layout, graduation_mm=graduation_mm)
    )


def content_of(
    plan: Plan,
    *,
    panel_names: Sequence[str] | None = None,
    show_title: bool = False,
    card_url: str = CARD_URL,
    crate: int = 1,
    crates: int = 2,
) -> LabelContent:
    return label_content(
        plan,
        short_id=SHORT_ID,
        card_url=card_url,
        revision=3,
        date="2026-11-05",
        crate=crate,
        crates=crates,
        panel_names=panel_names,
        show_title=show_title,
    )
