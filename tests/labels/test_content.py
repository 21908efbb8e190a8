"""What the label tells, and what it keeps to itself."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from holdtrue.core.model import Plan
from holdtrue.domain.errors import InputError
from holdtrue.labels import label_content

from .samples import CARD_URL, SHORT_ID, content_of

PlanNamed = Callable[[str], Plan]


def test_hangers_are_given_as_seen_from_the_back(plan_named: PlanNamed) -> None:
    content = content_of(plan_named("tidewrack"))
    by_name = {p.name: p for p in content.panels}
    # A was measured on the back: its numbers stand as typed, from the back's left edge
    assert [h.said for h in by_name["A"].hangers] == ["4 1/2 / 7", "25 5/8 / 7 1/8"]
    assert [h.name for h in by_name["A"].hangers] == ["A2", "A1"]
    # C was measured on the front (95 and 517 of 610 mm): mirrored
    assert [round(h.in_mm, 6) for h in by_name["C"].hangers] == [93.0, 515.0]


def test_plain_text_holds_what_is_needed_to_hang_in_mm(plan_named: PlanNamed) -> None:
    lines = content_of(plan_named("staithe"), panel_names=["N"]).plain_text
    assert lines[0] == "HOLDTRUE 7K3FQ2XW REV 3 2026-11-05 CRATE 1/2"
    panel = lines[-1]
    assert panel.startswith("N 900X600 12.5 C ")
    assert panel.endswith("H 120/90 430/150 790/95")


def test_a_depth_all_hangers_share_is_written_once(plan_named: PlanNamed) -> None:
    # D: 5, 18 and 31 in from the left, all 5 in down
    panel = content_of(plan_named("tidewrack"), panel_names=["D"]).plain_text[-1]
    assert panel.endswith("H 127 457.2 787.4 ALL DOWN 127")


def test_centres_count_from_the_middle_of_the_whole_work(plan_named: PlanNamed) -> None:
    plan = plan_named("tidewrack")
    rows = content_of(plan).plain_text[3:]
    given = [tuple(map(float, row.split(" C ")[1].split(" ")[0].split("/"))) for row in rows]
    for (x, y), centre in zip(given, plan.arrangement.centres_mm, strict=True):
        # this work's box is centred on the reference line, 58 in up
        assert x == pytest.approx(centre[0], abs=0.051)
        assert y == pytest.approx(centre[1] - 58 * 25.4, abs=0.051)


def test_the_title_appears_only_when_chosen_and_never_in_the_code(plan_named: PlanNamed) -> None:
    plan = plan_named("tidewrack")
    assert content_of(plan).title is None
    shown = content_of(plan, show_title=True)
    assert shown.title == plan.job.title
    assert "Tidewrack".upper() not in " ".join(shown.plain_text).upper()


def test_mass_and_size_say_whose_they_are(plan_named: PlanNamed) -> None:
    plan = plan_named("tidewrack")
    panels_only = content_of(plan, panel_names=["A", "B"])
    assert panels_only.mass == "22.9 kg without the crate"
    assert panels_only.size == "panels up to 30 × 40 in"
    packed = label_content(
        plan,
        short_id=SHORT_ID,
        card_url=CARD_URL,
        revision=1,
        date="2026-11-05",
        crate_size_mm=(1270.0, 1016.0, 254.0),
        crate_mass_kg=61.25,
    )
    assert packed.mass == "61.2 kg packed"
    assert packed.size == "crate 50 × 40 × 10 in"


@pytest.mark.parametrize(
    ("crate", "crates", "names", "path"),
    [
        (0, 2, None, "label.crate"),
        (3, 2, None, "label.crate"),
        (1, 0, None, "label.crates"),
        (1, 1, ["A", "Q"], "label.panels"),
        (1, 1, [], "label.panels"),
    ],
)
def test_wrong_crates_and_panels_are_refused_with_their_place(
    plan_named: PlanNamed, crate: int, crates: int, names: list[str] | None, path: str
) -> None:
    with pytest.raises(InputError) as refused:
        content_of(plan_named("tidewrack"), crate=crate, crates=crates, panel_names=names)
    assert refused.value.path == path
    assert refused.value.remedy
