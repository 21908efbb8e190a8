"""Carrying a job out of a store and into another one, whole."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from holdtrue.domain.bundle import Bundle, BundleEntry, bundle_document, photo_digests
from holdtrue.domain.errors import ConflictError, NotFoundError
from holdtrue.service import jobs, members
from holdtrue.service.services import Actor, Services
from holdtrue.store.port import Entry, EventStore, NewEntry


@dataclass(frozen=True, slots=True, kw_only=True)
class Imported:
    job_id: str
    added: int
    """Entries that were not here before."""
    known: int


def bundle_of(services: Services, actor: Actor, job_id: str) -> dict[str, Any]:
    """A job's bundle, for a lead."""
    jobs.require_lead(actor)
    state = jobs.state_of(services, job_id)
    stream = jobs.stream_of(job_id)
    entries = services.store.read(stream)[: state.seq]
    return bundle_from(
        stream.removeprefix("job-"),
        entries,
        services.store.get_blob,
        members.names(services, state),
    )


def bundle_from(
    job_id: str,
    entries: Sequence[Entry],
    get_blob: Callable[[str], bytes | None],
    names: Mapping[str, str],
) -> dict[str, Any]:
    """The bundle of entries read from any store; refused when a photo is gone."""
    blobs = {}
    for digest in photo_digests(entries):
        data = get_blob(digest)
        if data is None:
            raise NotFoundError(
                f"The photo {digest[:12]} of this job is gone; bring it back from a backup first."
            )
        blobs[digest] = data
    return bundle_document(job_id, entries, blobs, names)


def import_bundle(store: EventStore, bundle: Bundle) -> Imported:
    """Bring a bundle in. Entries that are here already stay; any that differ refuse it whole."""
    stream = f"job-{bundle.job_id}"
    here = store.read(stream)
    for stored, brought in zip(here, bundle.entries, strict=False):
        if not _is_same(stored, brought):
            raise ConflictError(
                f"Job {bundle.job_id} is here already and differs from entry {stored.seq} on; "
                "nothing was changed. Both logs cannot be one: keep this bundle as a file."
            )
    for data in bundle.blobs.values():
        store.put_blob(data)
    for entry in bundle.entries[len(here) :]:
        store.append(stream, _new(entry), expected=entry.seq - 1)
    added = max(0, len(bundle.entries) - len(here))
    return Imported(job_id=bundle.job_id, added=added, known=len(here))


def _is_same(stored: Entry, brought: BundleEntry) -> bool:
    return all(
        getattr(stored, name) == getattr(brought, name)
        for name in ("seq", "key", "type", "body", "who", "received", "tapped")
    )


def _new(entry: BundleEntry) -> NewEntry:
    return NewEntry(
        key=entry.key,
        type=entry.type,
        body=entry.body,
        who=entry.who,
        received=entry.received,
        tapped=entry.tapped,
    )
