"""What codes and cards open: found without reading the logs again, and as the logs say."""

from __future__ import annotations

import itertools
import json
from dataclasses import replace

import pytest

from holdtrue.bootstrap import compose
from holdtrue.domain import tokens
from holdtrue.domain.bundle import read_bundle
from holdtrue.domain.errors import InputError
from holdtrue.service import bundles, cards, installers, jobs
from holdtrue.service.services import Services
from holdtrue.store.memory import MemoryStore
from holdtrue.store.port import Entry, StoreBrokenError
from tests import walking
from tests.walking import LEAD


class Counting(MemoryStore):
    """Tells which streams were read; one of them may be unreadable."""

    def __init__(self) -> None:
        super().__init__()
        self.reads: list[str] = []
        self.broken = ""

    def read(self, stream: str) -> tuple[Entry, ...]:
        self.reads.append(stream)
        if stream == self.broken:
            raise StoreBrokenError("line 1: damaged")
        return super().read(stream)


@pytest.fixture
def store() -> Counting:
    return Counting()


@pytest.fixture
def services(store: Counting) -> Services:
    return replace(walking.minutes_apart(), store=store)


def join(services: Services, code: str) -> str | None:
    joined = installers.join(
        services, code=code, name="Ivo", unit="mm", hand="left", key=services.ids.key()
    )
    return joined.job


def invite(services: Services, job_id: str) -> str:
    key = services.ids.key()
    return installers.invite_installer(services, LEAD, job_id, label="crew", key=key)


def test_asking_for_what_opens_nothing_reads_no_log_twice(
    services: Services, store: Counting
) -> None:
    for _ in range(3):
        walking.released(services, LEAD)
    cards.job_of_card(services, "0" * 26)
    store.reads.clear()

    for _ in range(5):
        assert cards.job_of_card(services, "0" * 26) is None
        with pytest.raises(InputError, match="not a code of any job"):
            join(services, "00000000")

    assert store.reads == []


def test_what_is_issued_and_revoked_after_the_first_question_counts(services: Services) -> None:
    job_id = walking.released(services, LEAD)
    assert cards.job_of_card(services, "0" * 26) is None

    card = cards.issue_card(services, LEAD, job_id, key=services.ids.key())
    code = invite(services, job_id)
    assert cards.job_of_card(services, card) == job_id
    assert join(services, code) == job_id

    digest = tokens.digest(card)
    cards.revoke_card(services, LEAD, job_id, card=digest, key=services.ids.key())
    digest = tokens.digest(code)
    installers.revoke_code(services, LEAD, job_id, code=digest, key=services.ids.key())
    assert cards.job_of_card(services, card) is None
    with pytest.raises(InputError, match="was revoked"):
        join(services, code)


def test_a_fresh_index_says_what_the_grown_one_says(services: Services) -> None:
    job_id = walking.released(services, LEAD)
    cards.job_of_card(services, "0" * 26)
    made = [cards.issue_card(services, LEAD, job_id, key=services.ids.key()) for _ in range(3)]
    digest = tokens.digest(made[1])
    cards.revoke_card(services, LEAD, job_id, card=digest, key=services.ids.key())

    fresh = replace(services, openers=type(services.openers)())

    assert [cards.job_of_card(services, card) for card in made] == [job_id, None, job_id]
    assert [cards.job_of_card(fresh, card) for card in made] == [job_id, None, job_id]


def test_a_log_that_could_not_be_read_is_asked_again(services: Services, store: Counting) -> None:
    job_id = walking.released(services, LEAD)
    card = cards.issue_card(services, LEAD, job_id, key=services.ids.key())
    store.broken = jobs.stream_of(job_id)
    assert cards.job_of_card(services, card) is None

    store.broken = ""

    assert cards.job_of_card(services, card) == job_id


def test_codes_of_the_house_a_job_came_from_do_not_open_it_here(services: Services) -> None:
    job_id = walking.released(services, LEAD)
    code = invite(services, job_id)
    document = bundles.bundle_of(services, LEAD, job_id)
    numbers = itertools.count(1000)
    here = compose(
        MemoryStore(),
        secret=b"of another house",
        clock=services.clock,
        random_bytes=lambda length: next(numbers).to_bytes(length, "big"),
    )
    bundles.import_bundle(here.store, read_bundle(json.dumps(document).encode(), "j.json"))

    with pytest.raises(InputError, match="not a code of any job"):
        join(here, code)
    assert join(here, invite(here, job_id)) == job_id
    assert join(services, code) == job_id
