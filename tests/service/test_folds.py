"""Kept states are a shortcut: whatever is asked for, in whatever order, the log decides."""

from __future__ import annotations

import random
import threading
from collections.abc import Sequence

import pytest

from holdtrue.domain import events
from holdtrue.domain.fold import fold
from holdtrue.service import folds, jobs
from holdtrue.service.folds import Folds
from holdtrue.store.port import Entry
from tests.domain.crew import Crew, differences, panel, row
from tests.service.test_replay import wandered

ONE = row(panel("A"))


@pytest.mark.parametrize("seed", [0, 1, 5])
def test_any_beginning_asked_for_in_any_order_is_its_own_fold(seed: int) -> None:
    entries = wandered(seed).crew.entries
    assert any(entry.type == events.ENTRY_UNDONE for entry in entries)
    kept, draw = Folds(), random.Random(seed)
    for _ in range(80):
        seq = draw.randint(1, len(entries))
        assert differences(kept.state("job-A", entries[:seq]), fold(entries[:seq])) == [], seq


def test_an_entry_that_was_only_tried_is_not_kept() -> None:
    crew = Crew(ONE)
    crew.release()
    kept = Folds()
    here = kept.state("job-A", crew.entries)
    other = Crew(ONE)
    other.release("panel_by_panel")

    tried = kept.trial("job-A", (*crew.entries, *_later(other, len(crew.entries))))

    assert tried.seq == len(crew.entries) + 1
    assert kept.state("job-A", crew.entries) is here


def _later(crew: Crew, count: int) -> tuple[Entry, ...]:
    crew.do("join.ways")
    return crew.entries[count : count + 1]


def test_the_longest_unasked_job_is_let_go_first(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(folds, "MOST_JOBS", 2)
    entries, kept = Crew(ONE).entries, Folds()
    first = kept.state("job-A", entries)
    kept.state("job-B", entries)
    assert kept.state("job-A", entries) is first
    kept.state("job-C", entries)
    assert len(kept) == 2
    assert kept.state("job-A", entries) is first


def test_phones_that_ask_at_once_fold_the_job_once(monkeypatch: pytest.MonkeyPatch) -> None:
    entries, kept = Crew(ONE).entries, Folds()
    begun: list[int] = []
    everybody = threading.Barrier(6)

    def counted(given: Sequence[Entry]) -> object:
        begun.append(len(given))
        return fold(given)

    def ask() -> None:
        everybody.wait()
        kept.state("job-A", entries)

    monkeypatch.setattr(folds, "fold", counted)
    phones = [threading.Thread(target=ask) for _ in range(6)]
    for phone in phones:
        phone.start()
    for phone in phones:
        phone.join()
    assert begun == [1]


def test_looking_at_what_an_entry_changed_folds_nothing_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    crew = Crew(ONE)
    crew.release()
    entry = crew.do("join.ways")
    assert crew.state.seq == entry.seq
    monkeypatch.setattr(folds, "replayed", lambda *_: pytest.fail("folded again"))

    before = jobs.state_before(crew.services, crew.job, entry.seq)
    after = jobs.state_before(crew.services, crew.job, entry.seq + 1)

    assert (before.seq, after.seq) == (entry.seq - 1, entry.seq)
