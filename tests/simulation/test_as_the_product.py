"""What a play decides is what the product says, given the same readings."""

from __future__ import annotations

from collections import Counter
from contextlib import suppress
from dataclasses import replace
from functools import partial
from typing import Any

import pytest

from holdtrue.commands.simulate import generator
from holdtrue.core.plan import make_plan
from holdtrue.domain.documents import with_shims
from holdtrue.domain.jobfile import parse_job
from holdtrue.domain.shims import could_have_shims, usual_mm
from holdtrue.simulation.errors import Luck, error_sizes
from holdtrue.simulation.habits import FULL, WAYS, Habits
from holdtrue.simulation.play import Play
from holdtrue.simulation.site import Site
from tests.domain.crew import golden
from tests.simulation.as_product import Follower, ListenedWorld, TieError

FULL_HABITS = next(way.habits for way in WAYS if way.name == FULL)
INSTALLS = 6


def document_of(name: str, habits: Habits) -> dict[str, Any]:
    document = golden(name)
    for fastener in document["fasteners"]:
        fastener.setdefault("basis", "working")
    job = parse_job(document)
    if not habits.shims:
        return document
    return with_shims(document, could_have_shims(job), usual_mm(job))


CASES = {
    "all of it": FULL_HABITS,
    "fasteners first": replace(FULL_HABITS, by_panel=False),
    "without shims": replace(FULL_HABITS, shims=False, readings=1),
    "without stick": replace(FULL_HABITS, stick=False, cross=False, readings=1, shims=False),
}
PLAYED = [
    *(("tidewrack", case) for case in CASES),
    # where much is outside, the search for what to trim on its two rows takes minutes
    *(("staithe", case) for case in ("all of it", "fasteners first")),
]


@pytest.mark.parametrize(("name", "case"), PLAYED)
def test_the_product_says_what_the_play_does(
    name: str, case: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    habits = CASES[case]
    document = document_of(name, habits)
    plan = make_plan(parse_job(document))
    draws = partial(generator, 11)
    monkeypatch.setattr("holdtrue.simulation.play.World", ListenedWorld)
    on = frozenset(k for k, p in enumerate(plan.job.panels) if len(p.hangers) > 1)
    on = on if habits.stick else frozenset()
    play = Play(plan.job, habits, error_sizes(plan.job), Luck(draws, INSTALLS), on)
    play.run()
    world = play.world
    assert isinstance(world, ListenedWorld)
    way = "panel_by_panel" if habits.by_panel else "fasteners_first"
    seen: Counter[str] = Counter()
    for heard in world.heard:
        follower = Follower(document, Site(plan), heard, way, on)
        with suppress(TieError):
            follower.follow()
            seen["ended"] += 1
        seen.update(follower.seen)
    assert seen["ended"] >= INSTALLS / 3
    assert seen["marks"] >= INSTALLS / 2 * len(plan.job.panels)
    assert seen["trims"] > 0
    assert (seen["shims"] > 0) == habits.shims
