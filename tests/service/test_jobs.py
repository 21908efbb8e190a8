"""Jobs: made, revised, released, shared; by whom, and what is refused."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from holdtrue.domain import events, tokens
from holdtrue.domain.errors import (
    ConflictError,
    InputError,
    NotAllowedError,
    NotFoundError,
    UnreadableEntryError,
)
from holdtrue.service import cards, installers, jobs
from holdtrue.service.folds import Folds
from holdtrue.service.services import Services
from holdtrue.store.memory import MemoryStore
from holdtrue.store.port import Entry, KeyReusedError, NewEntry, StoreBrokenError
from tests.domain.crew import Crew, differences, golden, make_services, panel, row

ONE = row(panel("A"))


def written_directly(crew: Crew, event: str, body: dict[str, Any]) -> None:
    """An entry this version would not write: from another one, or damaged."""
    stream = jobs.stream_of(crew.job)
    new = NewEntry(key=crew.key(), type=event, body=body, who="LEAD", received="2026-03-02")
    crew.services.store.append(stream, new, expected=len(crew.entries))


# -- making --------------------------------------------------------------------------------------


def test_a_job_is_made_once_however_often_its_form_is_sent() -> None:
    crew = Crew(ONE)
    key = crew.key()
    made = [jobs.create_job(crew.services, crew.lead, document=ONE, key=key) for _ in range(2)]
    assert made[0] == made[1]
    assert jobs.job_ids(crew.services).count(made[0]) == 1
    with pytest.raises(KeyReusedError):
        jobs.create_job(crew.services, crew.lead, document=golden("staithe"), key=key)


def test_a_made_job_is_planned_and_waits_for_its_release() -> None:
    state = Crew(ONE).state
    assert (state.revision, state.is_released, state.review.state) == (1, False, "open")
    assert [seat.seat for seat in state.plan.seats] == ["A1", "A2"]


@pytest.mark.parametrize(
    ("change", "path"),
    [
        ({"panels": []}, "panels"),
        ({"format": "holdtrue.job/2"}, "format"),
        ({"unit": "furlong"}, "unit"),
        ({"panels": [panel("A", width=-600)]}, "panels[0].width"),
        ({"panels": [panel("A|B")]}, "panels[0].name"),
        ({"panels": [panel("A", centre_of_gravity={"in": 50, "down": 200})]}, "panels[0]"),
    ],
)
def test_a_wrong_job_file_makes_no_job(change: dict[str, Any], path: str) -> None:
    crew = Crew(ONE)
    before = crew.services.store.streams()
    with pytest.raises(InputError) as refusal:
        jobs.create_job(crew.services, crew.lead, document=ONE | change, key=crew.key())
    assert refusal.value.path.startswith(path)
    assert crew.services.store.streams() == before


def test_an_id_that_is_taken_is_not_written_over() -> None:
    crew = Crew(ONE)

    class OneId:
        def short(self, purpose: str, key: str) -> str:
            return crew.job

    services: Services = replace(crew.services, ids=OneId())  # type: ignore[arg-type]
    with pytest.raises(ConflictError, match="id is taken"):
        jobs.create_job(services, crew.lead, document=ONE, key="k" * 32)
    assert crew.state.job.title == "Row"


@pytest.mark.parametrize("count", [1, 12])
def test_a_job_may_have_one_panel_with_one_hanger_or_twelve_panels(count: int) -> None:
    crew = Crew(row(*(panel("ABCDEFGHIJKL"[i], 1 if count == 1 else 2) for i in range(count))))
    crew.release()
    crew.walk()
    assert crew.state.review.state == "handed_over"


# -- reading -------------------------------------------------------------------------------------


@pytest.mark.parametrize("job_id", ["", "nope", "2345678", "../../etc", "23456789", "💥" * 8])
def test_a_job_that_is_not_there_is_not_found(job_id: str) -> None:
    with pytest.raises(NotFoundError):
        jobs.state_of(make_services(), job_id)


def test_an_id_may_be_typed_in_small_letters() -> None:
    crew = Crew(ONE)
    assert differences(jobs.state_of(crew.services, crew.job.lower()), crew.state) == []


def test_more_jobs_than_are_kept_in_mind_read_alike() -> None:
    services = make_services()
    crews = [Crew(ONE, services=services) for _ in range(40)]
    assert [crew.state.seq for crew in crews] == [3] * 40
    assert len(services.memo) == len(crews)


@pytest.mark.parametrize(
    ("event", "body", "said"),
    [
        ("PlanetDiscovered", {}, r"Entry 4 .*\(PlanetDiscovered\).* knows no such entry"),
        (events.JOB_CREATED, {"document": ONE}, r"Entry 4 .*\(JobCreated\)"),
        (events.TASK_RECORDED, {}, r"Entry 4 .*KeyError: 'task'"),
        (events.TASK_RECORDED, {"task": 7, "values": 1}, "Entry 4 "),
        (events.PLAN_REVISED, {"document": {}}, "Entry 4 .*format"),
        (events.PLAN_REVISED, {"document": None}, "Entry 4 "),
        (events.STOP_CALLED, {"seat": "Q7", "what": "cable", "note": ""}, "Entry 4 .*no seat 'Q7'"),
        (events.SEAT_BLOCKED, {"seat": "Q7", "found": "stud"}, "Entry 4 .*no seat 'Q7'"),
        (events.ENTRY_UNDONE, {}, "Entry 4 "),
    ],
)
def test_an_entry_this_version_cannot_take_is_named_and_never_passed_over(
    event: str, body: dict[str, Any], said: str
) -> None:
    crew = Crew(ONE)
    written_directly(crew, event, body)
    for services in (crew.services, replace(crew.services, memo=Folds())):
        with pytest.raises(UnreadableEntryError, match=said):
            jobs.state_of(services, crew.job)
    with pytest.raises(UnreadableEntryError, match="Entry 4"):
        crew.release()
    assert len(crew.entries) == 4


def test_a_stream_that_does_not_start_as_a_job_is_refused() -> None:
    crew = Crew(ONE)
    new = NewEntry(key=crew.key(), type="PlanReleased", body={}, who="LEAD", received="2026")
    crew.services.store.append("job-23456789", new, expected=0)
    with pytest.raises(UnreadableEntryError, match=r"Entry 1 .*starts with JobCreated"):
        jobs.state_of(crew.services, "23456789")


class Damaged(MemoryStore):
    """A store in which one job's file cannot be read."""

    job = ""

    def read(self, stream: str) -> tuple[Entry, ...]:
        if stream == f"job-{self.job}":
            raise StoreBrokenError("line 1: damaged")
        return super().read(stream)


def test_one_damaged_file_does_not_shut_the_others() -> None:
    store = Damaged()
    services = replace(make_services(), store=store)
    crews = sorted((Crew(ONE, services=services) for _ in range(2)), key=lambda crew: crew.job)
    broken, other = crews
    code = installers.invite_installer(services, other.lead, other.job, label="", key=other.key())
    card = cards.issue_card(services, other.lead, other.job, key=other.key())
    store.job = broken.job
    assert other.joined(code, "Una").job == other.job
    assert cards.job_of_card(services, card) == other.job
    with pytest.raises(StoreBrokenError):
        jobs.state_of(services, broken.job)


def test_one_unreadable_job_does_not_shut_the_others() -> None:
    services = make_services()
    broken, other = Crew(ONE, services=services), Crew(ONE, services=services)
    written_directly(broken, "PlanetDiscovered", {})
    code = installers.invite_installer(services, other.lead, other.job, label="", key=other.key())
    assert other.joined(code, "Una").job == other.job
    card = cards.issue_card(services, other.lead, other.job, key=other.key())
    assert cards.job_of_card(services, card) == other.job


# -- the plan ------------------------------------------------------------------------------------


def test_a_revised_plan_is_released_again() -> None:
    crew = Crew(ONE)
    crew.release()
    crew.revise(row(panel("A"), panel("B")))
    assert (crew.state.revision, crew.state.is_released) == (2, False)
    assert crew.task("before.cautions").why == "the lead has not released the plan yet"


def test_two_leads_who_edit_the_same_plan_do_not_overwrite_each_other() -> None:
    crew = Crew(ONE)
    crew.revise(row(panel("A"), panel("B")))
    with pytest.raises(ConflictError, match="changed meanwhile"):
        jobs.revise_plan(
            crew.services, crew.lead, crew.job, document=ONE, key=crew.key(), revision=1
        )
    with pytest.raises(ConflictError, match="changed meanwhile"):
        jobs.release(
            crew.services,
            crew.lead,
            crew.job,
            reason="",
            way="fasteners_first",
            key=crew.key(),
            revision=1,
        )


def test_a_measurement_counts_as_a_change_of_the_plan() -> None:
    crew = Crew(ONE)
    crew.release()
    crew.walk(until="work.hanger:A1")
    crew.record("work.hanger:A1", {"edge": "right", "in": "101", "down": "100"})
    with pytest.raises(ConflictError, match="something was measured"):
        jobs.revise_plan(
            crew.services, crew.lead, crew.job, document=ONE, key=crew.key(), revision=1
        )


def test_what_was_drilled_stays_where_it_is_when_the_plan_is_revised() -> None:
    crew = Crew(row(panel("A"), panel("B")))
    crew.release()
    crew.walk(until="fasteners.press:A2")
    before = crew.state
    document = dict(before.document)
    document["layout"] = {**document["layout"], "height": {"of": "centre", "at": 1503}}
    crew.revise(document)
    state = crew.state
    assert dict(state.set_seats) == dict(before.set_seats)
    assert dict(state.holes) == dict(before.holes)
    assert state.marks_mm["A2"] == before.marked["A2"].seat_mm
    assert crew.status("stand_back.yes") != "done"


def test_a_panel_taken_out_takes_its_seats_with_it() -> None:
    crew = Crew(row(panel("A"), panel("B")))
    crew.release()
    crew.walk(until="fasteners.measure:A1")
    crew.block("A1", "same", fastener="hook")
    crew.revise(row(panel("B")))
    state = crew.state
    seats = {"B1", "B2"}
    for kept in (state.marks_mm, state.set_seats, state.holes, state.marked, state.found):
        assert set(kept) <= seats
    assert state.chosen == {}


def test_a_picked_fastener_the_plan_no_longer_lists_is_dropped() -> None:
    crew = Crew(ONE)
    crew.release()
    crew.walk(until="fasteners.mark:A1")
    crew.block("A1", "same", fastener="tired hook")
    fewer = [f for f in ONE["fasteners"] if f["name"] != "tired hook"]
    crew.revise({**crew.state.document, "fasteners": fewer})
    assert crew.state.seat("A1").fastener.name == "hook"


def bars(fastener: dict[str, Any]) -> dict[str, Any]:
    return ONE | {"fasteners": [{"name": "hook", "into": "hollow", "drop": 6} | fastener]}


@pytest.mark.parametrize(
    ("fastener", "said"),
    [
        ({}, "capacity of hook is not known"),
        ({"capacity": "40 kg"}, "basis of hook's capacity is not stated"),
        ({"capacity": "2 kg", "basis": "working"}, "no reason releases this"),
        ({"into": "solid"}, "no fastener is listed for a hollow wall"),
    ],
)
def test_what_is_unknown_or_too_heavy_is_never_released(
    fastener: dict[str, Any], said: str
) -> None:
    crew = Crew(bars(fastener))
    for reason in ("", "it held last time"):
        with pytest.raises(ConflictError, match=said):
            crew.release(reason=reason)
    assert not crew.state.is_released


def test_more_than_allowed_is_released_with_a_written_reason_only() -> None:
    crew = Crew(bars({"capacity": "10 kg", "basis": "working", "design_factor": 4}))
    before = crew.entries
    for reason in ("", "   "):
        with pytest.raises(InputError, match="write why") as refusal:
            crew.release(reason=reason)
        assert refusal.value.path == "reason"
    assert crew.entries == before
    crew.release(reason="backed by a batten, seen in person")
    release = crew.state.release
    assert release is not None
    assert (release.who, release.reason) == ("LEAD", "backed by a batten, seen in person")
    assert len(release.accepted) == 2
    assert crew.state.open_findings == ()


@pytest.mark.parametrize(
    ("change", "path"),
    [
        ({"way": "from the top"}, "way"),
        ({"holds": ("first_hole", "lunch")}, "holds"),
        ({"reason": "x" * 501}, "reason"),
        ({"reason": "a\x07b"}, "reason"),
    ],
)
def test_a_release_says_a_known_way_known_holds_and_a_readable_reason(
    change: dict[str, Any], path: str
) -> None:
    crew = Crew(ONE)
    with pytest.raises(InputError) as refusal:
        crew.release(**{"way": "fasteners_first", **change})
    assert refusal.value.path == path


def test_the_next_day_is_asked_for_by_the_lead() -> None:
    crew = Crew(ONE)
    jobs.release(
        crew.services,
        crew.lead,
        crew.job,
        reason="",
        way="fasteners_first",
        next_day=True,
        holds=("leave",),
        key=crew.key(),
    )
    done = crew.walk()
    assert "close.next_day:A" in done
    # the crew leaves today, what is read tomorrow keeps nobody in; the hand-over waits for both
    close = [task for task in done if task in ("hold.leave", "close.next_day:A", "close.hand_over")]
    assert close == ["hold.leave", "close.next_day:A", "close.hand_over"]


# -- who may -------------------------------------------------------------------------------------


def test_an_installer_changes_no_plan_and_lets_nobody_in() -> None:
    crew = Crew(ONE)
    services, who, job, key = crew.services, crew.installer, crew.job, crew.key()
    attempts: list[Callable[[], object]] = [
        lambda: jobs.create_job(services, who, document=ONE, key=key),
        lambda: jobs.revise_plan(services, who, job, document=ONE, key=key),
        lambda: jobs.release(services, who, job, reason="", way="fasteners_first", key=key),
        lambda: installers.invite_installer(services, who, job, label="", key=key),
        lambda: installers.revoke_code(services, who, job, code="x", key=key),
        lambda: cards.issue_card(services, who, job, key=key),
        lambda: cards.revoke_card(services, who, job, card="x", key=key),
    ]
    before = crew.entries
    for attempt in attempts:
        with pytest.raises(NotAllowedError):
            attempt()
    assert crew.entries == before


def test_a_code_is_kept_as_its_digest_and_lets_into_one_job() -> None:
    services = make_services()
    crew, other = Crew(ONE, services=services), Crew(ONE, services=services)
    code = installers.invite_installer(services, crew.lead, crew.job, label="day 2", key=crew.key())
    actor = crew.joined(f" {code.lower()} ", "Una")
    assert (actor.name, actor.job, actor.is_lead) == ("Una", crew.job, False)
    assert code not in str([entry.body for entry in crew.entries])
    assert crew.state.codes[tokens.digest(code)].label == "day 2"
    with pytest.raises(NotFoundError):
        jobs.require_member(actor, other.job)
    jobs.require_member(actor, crew.job.lower())
    jobs.require_member(crew.lead, other.job)


def test_a_revoked_code_lets_nobody_in_and_ends_who_came_by_it() -> None:
    crew = Crew(ONE)
    code = installers.invite_installer(crew.services, crew.lead, crew.job, label="", key=crew.key())
    actor = crew.joined(code, "Una")
    assert installers.installer_actor(crew.services, crew.job, actor.person) == actor
    digest = tokens.digest(code)
    installers.revoke_code(crew.services, crew.lead, crew.job, code=digest, key=crew.key())
    assert installers.installer_actor(crew.services, crew.job, actor.person) is None
    with pytest.raises(InputError, match="was revoked"):
        crew.joined(code, "Uwe")


def test_a_code_revoked_while_somebody_joins_is_no_code() -> None:
    crew = Crew(ONE)
    code = installers.invite_installer(crew.services, crew.lead, crew.job, label="", key=crew.key())
    looked_up = installers._job_of_code

    def overtaken(services: Services, digest: str) -> str | None:
        found = looked_up(services, digest)
        installers.revoke_code(services, crew.lead, crew.job, code=digest, key=crew.key())
        return found

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(installers, "_job_of_code", overtaken)
        with pytest.raises(InputError, match="was revoked"):
            crew.joined(code, "Una")
    assert [one.name for one in crew.state.installers.values()] == ["Ivo"]


@pytest.mark.parametrize(
    ("change", "path"),
    [
        ({"code": ""}, "code"),
        ({"code": "ZZZZZZZZ"}, "code"),
        ({"name": " "}, "name"),
        ({"name": "x" * 501}, "name"),
        ({"unit": "furlong"}, "unit"),
        ({"hand": "both"}, "hand"),
    ],
)
def test_joining_takes_a_code_a_name_a_unit_and_a_hand(change: dict[str, str], path: str) -> None:
    crew = Crew(ONE)
    code = installers.invite_installer(crew.services, crew.lead, crew.job, label="", key=crew.key())
    asked = {"code": code, "name": "Una", "unit": "in", "hand": "left"} | change
    with pytest.raises(InputError) as refusal:
        installers.join(crew.services, key=crew.key(), **asked)
    assert refusal.value.path == path


def test_nobody_is_known_to_a_job_that_is_not_there_or_that_they_never_joined() -> None:
    crew = Crew(ONE)
    assert installers.installer_actor(crew.services, "23456789", crew.installer.person) is None
    assert installers.installer_actor(crew.services, crew.job, "nobody") is None


@pytest.mark.parametrize("what", ["code", "card"])
def test_only_what_was_given_out_is_revoked(what: str) -> None:
    crew = Crew(ONE)
    revoke: dict[str, Callable[[], None]] = {
        "code": lambda: installers.revoke_code(
            crew.services, crew.lead, crew.job, code="x", key=crew.key()
        ),
        "card": lambda: cards.revoke_card(
            crew.services, crew.lead, crew.job, card="x", key=crew.key()
        ),
    }
    with pytest.raises(NotFoundError, match=f"no such {what}"):
        revoke[what]()


def test_a_card_opens_its_job_until_it_is_revoked() -> None:
    crew = Crew(ONE)
    card = cards.issue_card(crew.services, crew.lead, crew.job, key=crew.key())
    assert cards.job_of_card(crew.services, card.lower()) == crew.job
    assert cards.job_of_card(crew.services, "A" * 26) is None
    assert cards.job_of_card(crew.services, "short") is None
    cards.revoke_card(crew.services, crew.lead, crew.job, card=tokens.digest(card), key=crew.key())
    assert cards.job_of_card(crew.services, card) is None
