"""Who writes to one job at once waits for a turn; nobody is refused for being quick."""

from __future__ import annotations

import threading
import time

import pytest

from holdtrue.domain import events
from holdtrue.domain.errors import AppError
from holdtrue.service import parked
from holdtrue.service.services import Turns
from holdtrue.store.port import Entry, StoreError
from tests.domain.crew import Crew, panel, row

MANY = 24


@pytest.fixture
def crew() -> Crew:
    crew = Crew(row(panel("A")))
    crew.release()
    return crew


@pytest.fixture
def slow_reads(crew: Crew, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every thread reads before any goes on, unless something makes them take turns."""
    read = crew.services.store.read

    def reading(stream: str) -> tuple[Entry, ...]:
        entries = read(stream)
        time.sleep(0.005)
        return entries

    monkeypatch.setattr(crew.services.store, "read", reading)


def key_of(number: int) -> str:
    return f"phone-{number:026x}"


def park(crew: Crew, number: int) -> Entry:
    return parked.park(
        crew.services,
        crew.installer,
        crew.job,
        task=f"task {number}",
        fields="{}",
        words="",
        key=key_of(number),
    )


@pytest.mark.usefixtures("slow_reads")
def test_many_who_write_to_one_job_at_once_are_all_stored(crew: Crew) -> None:
    refused: list[Exception] = []

    def send(number: int) -> None:
        try:
            park(crew, number)
        except (AppError, StoreError) as error:
            refused.append(error)

    phones = [threading.Thread(target=send, args=(number,)) for number in range(MANY)]
    for phone in phones:
        phone.start()
    for phone in phones:
        phone.join()

    entries = crew.services.store.read(f"job-{crew.job}")
    kept = {entry.key for entry in entries if entry.type == events.ENTRY_PARKED}
    assert refused == []
    assert kept == {key_of(number) for number in range(MANY)}


def test_streams_do_not_wait_for_each_other_and_leave_no_lock_behind() -> None:
    turns = Turns()

    def take() -> None:
        with turns.at("job-B"):
            pass

    with turns.at("job-A"):
        other = threading.Thread(target=take)
        other.start()
        other.join(timeout=5)
        assert not other.is_alive()
    assert len(turns._of) == 0
