"""Leads and their one-time links."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

import pytest

from holdtrue.domain import house as domain
from holdtrue.domain.errors import (
    ConflictError,
    InputError,
    NotAllowedError,
    NotFoundError,
)
from holdtrue.service import accounts
from holdtrue.service.services import Actor, Services
from holdtrue.store.port import Entry, KeyReusedError, NewEntry, StreamMovedError

if TYPE_CHECKING:
    from tests.service.conftest import Clock


def lead(services: Services, name: str = "Ines") -> Actor:
    token = accounts.issue_system_link(services, services.ids.key())
    accepted = accounts.accept_link(services, token, name=name, key=services.ids.key())
    return Actor(person=accepted.person, name=accepted.name, role="lead")


def test_the_first_link_makes_a_lead(services: Services) -> None:
    token = accounts.issue_first_link(services, services.ids.key())
    assert token is not None

    accepted = accounts.accept_link(services, token, name="  Ines  Vale ", key=services.ids.key())

    assert accepted.name == "Ines Vale"
    assert accounts.lead_actor(services, accepted.person) == Actor(
        person=accepted.person, name="Ines Vale", role="lead"
    )


def test_no_first_link_once_there_is_a_lead(services: Services) -> None:
    lead(services)

    assert accounts.issue_first_link(services, services.ids.key()) is None


def test_a_link_works_once(services: Services) -> None:
    token = accounts.issue_system_link(services, services.ids.key())
    accounts.accept_link(services, token, name="Ines", key=services.ids.key())

    with pytest.raises(ConflictError, match="used already"):
        accounts.accept_link(services, token, name="Otto", key=services.ids.key())
    assert [one.name for one in accounts.house(services).present_leads] == ["Ines"]


def test_a_double_tap_makes_one_lead_and_answers_twice(services: Services) -> None:
    token = accounts.issue_system_link(services, services.ids.key())
    key = services.ids.key()

    first = accounts.accept_link(services, token, name="Ines", key=key)
    second = accounts.accept_link(services, token, name="Ines", key=key)

    assert first == second
    assert len(services.store.read(domain.STREAM)) == 2


def test_one_key_cannot_ask_for_two_things(services: Services) -> None:
    token = accounts.issue_system_link(services, services.ids.key())
    key = services.ids.key()
    accounts.accept_link(services, token, name="Ines", key=key)

    with pytest.raises(KeyReusedError):
        accounts.accept_link(services, token, name="Otto", key=key)


def test_a_double_tap_on_invite_shows_the_same_link(services: Services) -> None:
    ines, key = lead(services), services.ids.key()

    assert accounts.invite_lead(services, ines, note="Otto", key=key) == accounts.invite_lead(
        services, ines, note="Otto", key=key
    )


def test_a_link_ends_after_seven_days(services: Services, clock: Clock) -> None:
    token = accounts.issue_system_link(services, services.ids.key())
    clock.pass_by(days=7)

    with pytest.raises(ConflictError, match="no more"):
        accounts.open_link(services, token)


def test_a_link_printed_at_start_replaces_the_one_before(services: Services) -> None:
    old = accounts.issue_system_link(services, services.ids.key())
    new = accounts.issue_system_link(services, services.ids.key())

    with pytest.raises(ConflictError, match="no more"):
        accounts.open_link(services, old)
    assert accounts.open_link(services, new).state == "open"


def test_a_link_of_ones_own_signs_the_same_lead_in(services: Services) -> None:
    ines = lead(services)
    token = accounts.issue_own_link(services, ines, key=services.ids.key())

    accepted = accounts.accept_link(services, token, name="Ines V.", key=services.ids.key())

    assert accepted.person == ines.person
    assert len(accounts.house(services).present_leads) == 1


def test_a_withdrawn_link_works_no_more(services: Services) -> None:
    ines = lead(services)
    token = accounts.invite_lead(services, ines, note="", key=services.ids.key())
    digest = accounts.open_link(services, token).digest

    accounts.withdraw_link(services, ines, link=digest, key=services.ids.key())

    with pytest.raises(ConflictError):
        accounts.accept_link(services, token, name="Otto", key=services.ids.key())
    with pytest.raises(NotFoundError):
        accounts.withdraw_link(services, ines, link="0" * 64, key=services.ids.key())


def test_a_removed_lead_is_nobody_and_their_links_are_closed(services: Services) -> None:
    ines, otto = lead(services), lead(services, "Otto")
    by_otto = accounts.invite_lead(services, otto, note="", key=services.ids.key())
    for_otto = accounts.issue_own_link(services, otto, key=services.ids.key())

    accounts.remove_lead(services, ines, person=otto.person, key=services.ids.key())

    assert accounts.lead_actor(services, otto.person) is None
    for token in (by_otto, for_otto):
        with pytest.raises(ConflictError):
            accounts.open_link(services, token)


def test_nobody_removes_themselves_or_somebody_unknown(services: Services) -> None:
    ines = lead(services)

    with pytest.raises(ConflictError):
        accounts.remove_lead(services, ines, person=ines.person, key=services.ids.key())
    with pytest.raises(NotFoundError):
        accounts.remove_lead(services, ines, person="NOBODY00", key=services.ids.key())


@pytest.mark.parametrize("token", ["", "short", "0" * 26, "U" * 26, "\u2603" * 26, "x" * 500])
def test_an_unknown_token_is_not_found(services: Services, token: str) -> None:
    lead(services)

    with pytest.raises(NotFoundError):
        accounts.open_link(services, token)


@pytest.mark.parametrize("name", ["", "   ", "x" * 61, "a\x07b"])
def test_a_name_that_cannot_stand_in_the_log_is_refused(services: Services, name: str) -> None:
    token = accounts.issue_system_link(services, services.ids.key())

    with pytest.raises(InputError) as caught:
        accounts.accept_link(services, token, name=name, key=services.ids.key())
    assert caught.value.path == "name"
    assert accounts.open_link(services, token).state == "open"


def test_any_white_space_in_a_name_becomes_one_blank() -> None:
    assert accounts.clean_name(" two\u2028lines ") == "two lines"


def test_a_note_that_is_too_long_is_refused(services: Services) -> None:
    with pytest.raises(InputError, match="note"):
        accounts.invite_lead(services, lead(services), note="x" * 61, key=services.ids.key())


@pytest.mark.parametrize("key", ["", "short", "x" * 65, "a b c d e f g h i j", "\u00e4" * 20])
def test_a_form_without_a_usable_key_is_refused(services: Services, key: str) -> None:
    with pytest.raises(InputError, match="key"):
        accounts.issue_system_link(services, key)


def test_the_token_itself_is_never_stored(services: Services) -> None:
    token = accounts.issue_system_link(services, services.ids.key())

    assert token not in repr(services.store.read(domain.STREAM))


def test_an_entry_of_a_newer_version_is_not_passed_over(services: Services) -> None:
    new = NewEntry(key="k" * 16, type="LeadPromoted", body={}, who="x", received="2026")
    services.store.append(domain.STREAM, new, expected=0)

    with pytest.raises(ValueError, match="LeadPromoted"):
        accounts.house(services)


class BusyStore:
    """Somebody else is always quicker, ``times`` times."""

    def __init__(self, inner: Any, times: int) -> None:
        self._inner, self._left = inner, times

    def read(self, stream: str) -> tuple[Entry, ...]:
        entries: tuple[Entry, ...] = self._inner.read(stream)
        return entries

    def append(self, stream: str, entry: NewEntry, *, expected: int) -> Entry:
        if self._left:
            self._left -= 1
            raise StreamMovedError(stream)
        stored: Entry = self._inner.append(stream, entry, expected=expected)
        return stored


def test_a_decision_is_taken_again_when_somebody_was_quicker(services: Services) -> None:
    busy = dataclasses.replace(services, store=BusyStore(services.store, 3))  # type: ignore[arg-type]

    accounts.issue_system_link(busy, services.ids.key())

    assert len(services.store.read(domain.STREAM)) == 1


def test_nothing_is_written_when_everybody_writes_at_once(services: Services) -> None:
    busy = dataclasses.replace(services, store=BusyStore(services.store, 999))  # type: ignore[arg-type]

    with pytest.raises(StreamMovedError):
        accounts.issue_system_link(busy, services.ids.key())
    assert services.store.read(domain.STREAM) == ()


def test_the_form_of_a_used_link_signs_nobody_in_later(services: Services, clock: Clock) -> None:
    token = accounts.issue_system_link(services, services.ids.key())
    key = services.ids.key()
    accounts.accept_link(services, token, name="Ines", key=key)

    clock.pass_by(minutes=11)

    with pytest.raises(ConflictError, match="used already"):
        accounts.accept_link(services, token, name="Ines", key=key)


def test_two_leads_who_remove_each_other_at_once_leave_one(services: Services) -> None:
    ines, otto = lead(services), lead(services, "Otto")
    accounts.remove_lead(services, ines, person=otto.person, key=services.ids.key())

    with pytest.raises(NotAllowedError):
        accounts.remove_lead(services, otto, person=ines.person, key=services.ids.key())

    assert [one.name for one in accounts.house(services).present_leads] == ["Ines"]


def test_a_lead_removed_meanwhile_makes_and_closes_no_link(services: Services) -> None:
    ines, otto = lead(services), lead(services, "Otto")
    accounts.invite_lead(services, ines, note="", key=services.ids.key())
    (link,) = accounts.house(services).open_links(services.now())
    accounts.remove_lead(services, ines, person=otto.person, key=services.ids.key())

    for late in (
        lambda: accounts.invite_lead(services, otto, note="", key=services.ids.key()),
        lambda: accounts.issue_own_link(services, otto, key=services.ids.key()),
        lambda: accounts.withdraw_link(services, otto, link=link.digest, key=services.ids.key()),
    ):
        with pytest.raises(NotAllowedError):
            late()

    assert accounts.house(services).open_links(services.now()) == (link,)
