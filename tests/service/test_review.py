"""Accepting, accepting with concession, sending back, and every refusal."""

from __future__ import annotations

import pytest

from holdtrue.domain import events
from holdtrue.domain.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from holdtrue.domain.review import outside, residual_rows
from holdtrue.service import cards, jobs, review, tasks
from holdtrue.service.services import Actor, Services
from holdtrue.store.port import Entry, KeyReusedError
from tests import walking
from tests.walking import LEAD


@pytest.fixture
def services() -> Services:
    return walking.minutes_apart()


@pytest.fixture
def clean(services: Services) -> str:
    return walking.handed_over(services)


@pytest.fixture
def off(services: Services) -> str:
    return walking.handed_over(services, "off")


def points(services: Services, job_id: str, how: str = "log") -> dict[str, str]:
    return dict.fromkeys(jobs.state_of(services, job_id).form.seats, how)


def named(services: Services, job_id: str) -> list[dict[str, str]]:
    """A concession for everything outside."""
    rows = outside(residual_rows(jobs.state_of(services, job_id)))
    return [{"residual": row.name, "why": "unseen", "agreed_by": "Mara"} for row in rows]


def accept(
    services: Services,
    job_id: str,
    actor: Actor = LEAD,
    concessions: list[dict[str, str]] | None = None,
    seen_seq: int | None = None,
) -> Entry:
    return review.accept(
        services,
        actor,
        job_id,
        points=points(services, job_id),
        concessions=concessions or [],
        seen_seq=seen_seq,
        key=services.ids.key(),
    )


def test_it_works(services: Services, clean: str) -> None:
    entry = accept(services, clean)
    found = jobs.state_of(services, clean).review
    assert (found.state, found.who, found.is_self_accepted) == ("accepted", LEAD.person, False)
    assert set(found.points.values()) == {"log"}
    assert entry.type == events.WORK_ACCEPTED


def test_accepting_closes_the_log(services: Services, clean: str) -> None:
    accept(services, clean)
    with pytest.raises(ConflictError, match="accepted"):
        walking.do(services, LEAD, clean, "close.note")
    with pytest.raises(ConflictError, match="It is accepted already"):
        accept(services, clean)


def test_accepting_ones_own_work_is_written_down_as_such(services: Services) -> None:
    job_id = walking.released(services, LEAD)
    walking.walk(services, LEAD, job_id)
    accept(services, job_id)
    assert jobs.state_of(services, job_id).review.is_self_accepted


def test_the_same_form_sent_twice_is_stored_once(services: Services, clean: str) -> None:
    key = services.ids.key()
    chosen = points(services, clean)
    first = review.accept(services, LEAD, clean, points=chosen, key=key)
    assert review.accept(services, LEAD, clean, points=chosen, key=key) == first
    with pytest.raises(KeyReusedError):
        review.accept(services, LEAD, clean, points=points(services, clean, "seen"), key=key)


def test_with_a_concession_for_everything_outside_it_is_conceded(
    services: Services, off: str
) -> None:
    accept(services, off, concessions=named(services, off))
    found = jobs.state_of(services, off).review
    assert found.state == "conceded"
    assert {one["agreed_by"] for one in found.concessions} == {"Mara"}
    assert "gap B|C" in {one["residual"] for one in found.concessions}


def test_outside_without_a_concession_is_refused(services: Services, off: str) -> None:
    with pytest.raises(InputError, match="is outside its tolerance: say why it may stay"):
        accept(services, off)
    with pytest.raises(InputError) as refused:
        accept(services, off, concessions=named(services, off)[:-1])
    assert refused.value.path == "concession " + named(services, off)[-1]["residual"]
    assert jobs.state_of(services, off).review.state == "handed_over"


def test_a_concession_names_something_outside_and_names_it_once(
    services: Services, clean: str, off: str
) -> None:
    with pytest.raises(InputError, match="name each residual outside its tolerance once"):
        accept(
            services,
            off,
            concessions=[
                *named(services, off),
                {"residual": "level C", "why": "so", "agreed_by": "M"},
            ],
        )
    twice = named(services, off)
    with pytest.raises(InputError, match="once"):
        accept(services, off, concessions=[*twice, twice[0]])


@pytest.mark.parametrize("blank", ["why", "agreed_by", "residual"])
def test_a_concession_is_whole(services: Services, off: str, blank: str) -> None:
    given = [one | {blank: "  "} for one in named(services, off)]
    with pytest.raises(InputError) as refused:
        accept(services, off, concessions=given)
    assert refused.value.path == f"concessions[0].{blank}"


def test_every_point_is_said_to_be_seen_or_from_the_log(services: Services, clean: str) -> None:
    chosen = points(services, clean)
    without = {seat: how for seat, how in chosen.items() if seat != "B2"}
    for given, path in (
        (without, "points.B2"),
        (chosen | {"B2": "felt"}, "points.B2"),
        (chosen | {"Z9": "log"}, "points.Z9"),
    ):
        with pytest.raises(InputError) as refused:
            review.accept(services, LEAD, clean, points=given, key=services.ids.key())
        assert refused.value.path == path


def test_work_not_handed_over_cannot_be_accepted(services: Services) -> None:
    job_id = walking.released(services, LEAD)
    walking.walk(services, LEAD, job_id, until="close.hand_over")
    with pytest.raises(ConflictError, match="Not done: Hand over"):
        accept(services, job_id)


def test_an_installer_accepts_and_sends_back_nothing(services: Services, clean: str) -> None:
    (person,) = jobs.state_of(services, clean).installers
    ivo = Actor(person=person, name="Ivo", role="installer", job=clean)
    with pytest.raises(NotAllowedError):
        accept(services, clean, ivo)
    with pytest.raises(NotAllowedError):
        review.send_back(
            services, ivo, clean, why="no", tasks=["close.photo"], key=services.ids.key()
        )


def test_what_happened_since_the_lead_looked_is_not_accepted_unseen(
    services: Services, clean: str
) -> None:
    seen = jobs.state_of(services, clean).seq
    walking.do(services, LEAD, clean, "close.note")
    with pytest.raises(ConflictError, match="The log went on while you were looking"):
        accept(services, clean, seen_seq=seen)


def test_a_card_made_meanwhile_does_not_hinder(services: Services, clean: str) -> None:
    seen = jobs.state_of(services, clean).seq
    cards.issue_card(services, LEAD, clean, key=services.ids.key())
    accept(services, clean, seen_seq=seen)


def test_there_is_no_such_job(services: Services) -> None:
    with pytest.raises(NotFoundError):
        review.accept(services, LEAD, "ZZZZZZZZ", points={}, key=services.ids.key())


# -- sending back ---------------------------------------------------------------------------------


def send_back(services: Services, job_id: str, *again: str, why: str = "read again") -> Entry:
    return review.send_back(services, LEAD, job_id, why=why, tasks=again, key=services.ids.key())


def test_sent_back_tasks_are_to_do_again_and_then_it_is_handed_over_again(
    services: Services, off: str
) -> None:
    send_back(services, off, "panels.facing:B|C", "panels.level:B")
    state = jobs.state_of(services, off)
    assert (state.review.state, state.review.why) == ("sent_back", "read again")
    assert "panels.level:B" not in state.records
    assert "fasteners.measure:B1" in state.records

    state = walking.walk(
        services,
        LEAD,
        off,
        answers={"panels.level:B": {"low": "level", "by": ""}},
    )
    assert state.review.state == "handed_over"
    level = next(row for row in residual_rows(state) if row.name == "level B")
    assert (level.decided_by, level.is_inside) == ("reading", True)


@pytest.mark.parametrize(
    ("again", "why", "path"),
    [
        ((), "read again", "tasks"),
        (("panels.level:Z",), "read again", "tasks"),
        (("close.photo",), "  ", "why"),
        (("close.photo",), "x" * 501, "why"),
    ],
)
def test_sending_back_says_why_and_what(
    services: Services, clean: str, again: tuple[str, ...], why: str, path: str
) -> None:
    with pytest.raises(InputError) as refused:
        send_back(services, clean, *again, why=why)
    assert refused.value.path == path
    assert jobs.state_of(services, clean).review.state == "handed_over"


def test_only_handed_over_work_is_sent_back(services: Services, clean: str) -> None:
    send_back(services, clean, "close.photo")
    with pytest.raises(ConflictError, match="handed over"):
        send_back(services, clean, "close.photo")
    accepted = walking.minutes_apart()
    job_id = walking.handed_over(accepted)
    accept(accepted, job_id)
    with pytest.raises(ConflictError, match="handed over"):
        send_back(accepted, job_id, "close.photo")


def test_an_open_stop_bars_accepting(services: Services, clean: str) -> None:
    tasks.call_stop(services, LEAD, clean, "A1", what="pipe", note="", key=services.ids.key())
    with pytest.raises(ConflictError, match=r"The stop at A1 \(pipe\) is not cleared"):
        accept(services, clean)
