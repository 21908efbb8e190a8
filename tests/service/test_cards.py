"""Cards: printed again while they are good, and only by the server that made them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from holdtrue.domain.errors import NotAllowedError
from holdtrue.service import cards, jobs
from holdtrue.service.services import Actor, Ids, Services
from tests import walking
from tests.walking import LEAD


@pytest.fixture
def services() -> Services:
    return walking.minutes_apart()


@pytest.fixture
def job_id(services: Services) -> str:
    return walking.released(services, LEAD)


def issue(services: Services, job_id: str) -> str:
    return cards.issue_card(services, LEAD, job_id, key=services.ids.key())


def test_a_good_card_can_be_printed_again(services: Services, job_id: str) -> None:
    assert cards.current_card(cards.issued_cards(services, LEAD, job_id)) is None
    token = issue(services, job_id)
    current = cards.current_card(cards.issued_cards(services, LEAD, job_id))
    assert current is not None
    assert current.token == token
    assert token not in str(services.store.read(jobs.stream_of(job_id)))


def test_the_newest_good_card_is_the_current_one(services: Services, job_id: str) -> None:
    old, new = issue(services, job_id), issue(services, job_id)
    issued = cards.issued_cards(services, LEAD, job_id)
    assert [card.token for card in issued] == [old, new]
    cards.revoke_card(services, LEAD, job_id, card=issued[1].digest, key=services.ids.key())
    issued = cards.issued_cards(services, LEAD, job_id)
    assert [card.is_revoked for card in issued] == [False, True]
    current = cards.current_card(issued)
    assert current is not None
    assert current.token == old
    assert cards.job_of_card(services, new) is None


def test_a_card_made_under_another_secret_opens_but_is_not_printed(
    services: Services, job_id: str
) -> None:
    token = issue(services, job_id)
    other = replace(services, ids=Ids(b"another secret", bytes))
    (card,) = cards.issued_cards(other, LEAD, job_id)
    assert card.token is None
    assert cards.current_card((card,)) is None
    assert cards.job_of_card(other, token) == job_id


def test_tokens_are_for_leads(services: Services, job_id: str) -> None:
    ivo = Actor(person="IVO", name="Ivo", role="installer", job=job_id)
    with pytest.raises(NotAllowedError):
        cards.issued_cards(services, ivo, job_id)
