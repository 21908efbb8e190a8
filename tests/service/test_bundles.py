"""A job carried from store to store is the same job, and nothing here is ever lost to it."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest

from holdtrue.core.plan import make_plan
from holdtrue.domain.bundle import Bundle, checksum, photo_digests, read_bundle
from holdtrue.domain.errors import ConflictError, NotAllowedError, NotFoundError
from holdtrue.domain.jobfile import parse_job
from holdtrue.domain.logexport import log_document
from holdtrue.domain.results import recompute_job
from holdtrue.service import bundles, jobs
from holdtrue.service.services import Actor, Services
from holdtrue.store.memory import MemoryStore
from tests import walking
from tests.walking import JPEG, LEAD


@pytest.fixture
def services() -> Services:
    return walking.minutes_apart()


@pytest.fixture
def job_id(services: Services) -> str:
    return walking.handed_over(services, "off")


def carried(services: Services, job_id: str) -> Bundle:
    document = bundles.bundle_of(services, LEAD, job_id)
    return read_bundle(json.dumps(document).encode(), "j.json")


def test_out_and_in_again_gives_the_same_entries_photos_and_state(
    services: Services, job_id: str
) -> None:
    there = walking.minutes_apart()
    done = bundles.import_bundle(there.store, carried(services, job_id))

    stream = jobs.stream_of(job_id)
    assert there.store.read(stream) == services.store.read(stream)
    (digest,) = photo_digests(there.store.read(stream))
    assert there.store.get_blob(digest) == JPEG
    assert jobs.state_of(there, job_id).set_mm == jobs.state_of(services, job_id).set_mm
    assert (done.job_id, done.added, done.known) == (job_id, len(there.store.read(stream)), 0)


def test_bringing_it_in_twice_adds_nothing(services: Services, job_id: str) -> None:
    store = MemoryStore()
    bundle = carried(services, job_id)
    bundles.import_bundle(store, bundle)
    again = bundles.import_bundle(store, bundle)
    assert (again.added, again.known) == (0, len(bundle.entries))


def test_a_longer_log_goes_on_where_the_store_ends(services: Services, job_id: str) -> None:
    store = MemoryStore()
    bundle = carried(services, job_id)
    begun = replace(bundle, entries=bundle.entries[:10])
    bundles.import_bundle(store, begun)
    done = bundles.import_bundle(store, bundle)
    assert (done.added, done.known) == (len(bundle.entries) - 10, 10)
    assert store.read(jobs.stream_of(job_id)) == services.store.read(jobs.stream_of(job_id))


def test_an_older_bundle_takes_nothing_away(services: Services, job_id: str) -> None:
    bundle = carried(services, job_id)
    before = services.store.read(jobs.stream_of(job_id))
    done = bundles.import_bundle(services.store, replace(bundle, entries=bundle.entries[:10]))
    assert done.added == 0
    assert services.store.read(jobs.stream_of(job_id)) == before


def test_a_job_that_differs_is_refused_whole(services: Services, job_id: str) -> None:
    bundle = carried(services, job_id)
    changed = list(bundle.entries)
    changed[5] = replace(changed[5], received="2020-01-01T00:00:00.000Z")
    store = MemoryStore()
    bundles.import_bundle(store, replace(bundle, entries=bundle.entries[:10]))
    before = store.read(jobs.stream_of(job_id))
    with pytest.raises(ConflictError, match="differs from entry 6 on; nothing was changed"):
        bundles.import_bundle(store, replace(bundle, entries=tuple(changed)))
    assert store.read(jobs.stream_of(job_id)) == before


def test_a_missing_photo_is_said_before_anything_is_written(
    services: Services, job_id: str
) -> None:
    entries = services.store.read(jobs.stream_of(job_id))
    with pytest.raises(NotFoundError, match="of this job is gone"):
        bundles.bundle_from(job_id, entries, lambda _digest: None, {})


def test_bundles_are_for_leads(services: Services, job_id: str) -> None:
    ivo = Actor(person="IVO", name="Ivo", role="installer", job=job_id)
    with pytest.raises(NotAllowedError):
        bundles.bundle_of(services, ivo, job_id)


def test_the_checksum_covers_everything(services: Services, job_id: str) -> None:
    document: dict[str, Any] = bundles.bundle_of(services, LEAD, job_id)
    for part in ("job", "people", "entries", "blobs"):
        assert checksum(document | {part: None}) != document["sha256"]


@pytest.mark.parametrize("name", ["clean", "off"])
def test_the_exported_job_and_log_recompute_to_the_same_set_places(name: str) -> None:
    """What the log file says, replayed beside the job file, is where the seats are."""
    services = walking.minutes_apart()
    job_id = walking.handed_over(services, name)
    state = jobs.state_of(services, job_id)
    log = log_document(services.store.read(jobs.stream_of(job_id)), state, {})

    job = parse_job(json.loads(json.dumps(dict(state.document))))
    result = recompute_job(job, json.loads(json.dumps(log)))

    assert result.set_mm.keys() == state.set_mm.keys()
    for seat, place in state.set_mm.items():
        assert result.set_mm[seat] == pytest.approx(place, abs=1e-5), seat
    assert {seat.seat: seat.fastener for seat in result.plan.seats} == {
        seat.seat: seat.fastener for seat in state.current.seats
    }
    assert len(make_plan(job).seats) == len(state.plan.seats)
