"""The close-up of one mark, the as-built picture and the explanatory figures."""

from __future__ import annotations

from math import hypot

import pytest

from holdtrue.core.model import Plan
from holdtrue.core.slope import Stand, panel_stands
from holdtrue.drawing import (
    FIGURE_KINDS,
    FigureKind,
    as_built,
    mark_close_up,
    reference_figure,
)
from holdtrue.drawing.asbuilt import corners, pick_factor

from .ruler import SVG, read


def tenth_mm(mm: float) -> str:
    return f"{mm:.1f}"


def test_the_close_up_shows_the_three_numbers_of_every_mark(tidewrack: Plan, staithe: Plan) -> None:
    for plan in (tidewrack, staithe):
        done: dict[str, tuple[float, float]] = {}
        for seat in plan.seats:
            mark = (seat.x_mm + 1.3, seat.hole_y_mm - 0.7)
            drawn = read(
                mark_close_up(
                    plan, seat.seat, fmt=tenth_mm, mark_mm=mark, set_mm=done, level_line_y_mm=1500.0
                )
            )
            assert tenth_mm(abs(mark[0])) in drawn.texts
            assert tenth_mm(mark[1] - 1500.0) in drawn.texts
            if done:
                reach = min(hypot(mark[0] - x, mark[1] - y) for x, y in done.values())
                assert tenth_mm(reach) in drawn.texts
            state, place = drawn.seats()[seat.seat]
            assert state == "hand"
            assert place == pytest.approx(mark, abs=0.03 / drawn.scale)
            done[seat.seat] = (seat.x_mm, seat.y_mm)


def test_without_a_level_line_the_height_counts_from_the_floor(tidewrack: Plan) -> None:
    seat = tidewrack.seats[0]
    drawn = read(mark_close_up(tidewrack, seat.seat, fmt=tenth_mm))
    assert tenth_mm(seat.hole_y_mm) in drawn.texts
    assert "above the floor" in drawn.desc
    assert drawn.of_class("d-floor")


def test_a_check_point_of_the_callers_choice_wins_over_the_nearest(tidewrack: Plan) -> None:
    drawn = read(
        mark_close_up(
            tidewrack,
            "B1",
            fmt=tenth_mm,
            mark_mm=(0.0, 1800.0),
            set_mm={"A2": (-10.0, 1800.0)},
            check=("A1", (-300.0, 1400.0)),
        )
    )
    assert "500.0" in drawn.texts
    assert "500.0 from A1" in drawn.desc


def test_as_built_states_its_scale_and_draws_to_it(staithe: Plan) -> None:
    n1 = staithe.seats[0]
    drawn = read(
        as_built(
            staithe,
            fmt=tenth_mm,
            set_mm={n1.seat: (n1.x_mm + 2.0, n1.y_mm + 1.0)},
            poses={"N": (2.0, 1.0, 0.001)},
            magnify=10.0,
        )
    )
    assert any("10 times larger" in t for t in drawn.texts)
    assert "10 times larger" in drawn.desc
    assert "N1 2.0 right, 1.0 high" in drawn.desc
    state, place = drawn.seats()["N1"]
    assert state == "set"
    assert place == pytest.approx((n1.x_mm + 20.0, n1.y_mm + 10.0), abs=0.03 / drawn.scale)
    outline = drawn.of_class("d-panel-built")[0].attrib["d"]
    first = [float(v) for v in outline.removeprefix("M").split("L")[0].split()]
    panel, stand = staithe.job.panels[0], panel_stands(staithe.job, staithe.arrangement)[0]
    wanted = corners(panel, stand, (2.0, 1.0, 0.001), 10.0)[0]
    assert drawn.mm(*first) == pytest.approx(wanted, abs=0.03 / drawn.scale)


def test_a_turn_is_counter_clockwise_and_keeps_the_panels_size(staithe: Plan) -> None:
    panel = staithe.job.panels[0]
    left_top, right_top, *_ = corners(
        panel, Stand(x_mm=0.0, y_mm=0.0, tilt=0.0), (0.0, 0.0, 0.01), 1.0
    )
    assert right_top[1] > left_top[1]
    reach = hypot(right_top[0] - left_top[0], right_top[1] - left_top[1])
    assert reach == pytest.approx(panel.width_mm)


def test_the_chosen_factor_keeps_deviations_small_beside_the_work(staithe: Plan) -> None:
    n1 = staithe.seats[0]
    small = pick_factor(staithe, {"N1": (n1.x_mm + 0.2, n1.y_mm)}, {})
    large = pick_factor(staithe, {"N1": (n1.x_mm + 30.0, n1.y_mm)}, {})
    assert small == 100.0
    assert large in (1.0, 2.0)


@pytest.mark.parametrize("kind", FIGURE_KINDS)
@pytest.mark.parametrize("printed", [False, True])
def test_every_figure_is_described_and_stays_inside_its_frame(
    kind: FigureKind, printed: bool
) -> None:
    drawn = read(reference_figure(kind, printed=printed))
    assert drawn.title
    assert drawn.desc
    _, _, width, height = map(float, drawn.root.attrib["viewBox"].split())
    for t in drawn.root.iter(f"{SVG}text"):
        size = float(t.attrib["font-size"])
        assert size >= 13.0
        half = 0.55 * size * len(t.text or "")
        x = float(t.attrib["x"])
        left = x - {"middle": half / 2, "end": half}.get(t.get("text-anchor", ""), 0.0)
        assert left >= 0
        assert left + half <= width
        assert 0 < float(t.attrib["y"]) < height


def test_an_unknown_figure_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="no figure 'nonsense'"):
        reference_figure("nonsense")  # type: ignore[arg-type]
