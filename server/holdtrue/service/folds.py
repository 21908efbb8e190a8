"""Jobs as last folded: only ever a shortcut, the log decides.

Folding a long log takes seconds, and a result screen needs the job before and after its entry; so
the latest states of a job are kept, and of the older ones enough to go on from. A kept state is
what its first entries alone give. It holds for a longer log as long as none of those entries was
taken back later.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import replace

from holdtrue.domain import events
from holdtrue.domain.fold import fold, replayed, undone_seqs
from holdtrue.domain.state import JobState
from holdtrue.store.port import Entry

MOST_JOBS = 64
"""Jobs kept; the one nobody asked for the longest goes first."""
LATEST = 8
EVERY = 64
"""Of the states older than the latest, those after every so many entries."""


class _Folded:
    """The kept states of one job, by the number of entries they were folded from."""

    def __init__(self) -> None:
        self.lock = threading.Lock()
        self._states: dict[int, JobState] = {}

    def state(self, entries: Sequence[Entry]) -> JobState:
        at = self._best(entries)
        state = self._states[at] if at else fold(entries[:1])
        undone = undone_seqs(entries)
        for entry in entries[max(at, 1) :]:
            if entry.seq not in undone:
                state = replayed(state, entry)
        return state if state.seq == len(entries) else replace(state, seq=len(entries))

    def _best(self, entries: Sequence[Entry]) -> int:
        """The longest kept beginning that still holds; 0 when there is none."""
        reach = len(entries)
        for entry in reversed(entries):
            if entry.seq <= reach and entry.seq in self._states:
                return entry.seq
            if entry.type == events.ENTRY_UNDONE:
                of = entry.body.get("of")
                reach = min(reach, of - 1) if isinstance(of, int) else 0
        return 0

    def keep(self, state: JobState) -> None:
        self._states[state.seq] = state
        for seq in sorted(self._states)[:-LATEST]:
            if seq % EVERY:
                del self._states[seq]


class Folds:
    """Folded jobs by stream. Safe for threads: a job is folded by one of them at a time."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._jobs: OrderedDict[str, _Folded] = OrderedDict()

    def __len__(self) -> int:
        return len(self._jobs)

    def state(self, stream: str, entries: Sequence[Entry]) -> JobState:
        """The fold of a stream's first entries, which are stored. Raises what ``fold`` raises."""
        kept = self._of(stream)
        # After a restart every phone asks at once: the first one folds, the others wait for it.
        with kept.lock:
            state = kept.state(entries)
            kept.keep(state)
            return state

    def trial(self, stream: str, entries: Sequence[Entry]) -> JobState:
        """The same with entries that are not stored yet, and may never be; nothing is kept."""
        kept = self._of(stream)
        with kept.lock:
            return kept.state(entries)

    def _of(self, stream: str) -> _Folded:
        with self._lock:
            kept = self._jobs.setdefault(stream, _Folded())
            self._jobs.move_to_end(stream)
            while len(self._jobs) > MOST_JOBS:
                self._jobs.popitem(last=False)
            return kept
