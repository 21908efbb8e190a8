"""Which streams of a store are ours: the house's own, and one for each job's id."""

from __future__ import annotations

from holdtrue.domain import house, tokens

_JOB = "job-"


def job_id_of(stream: str) -> str | None:
    """The job of a stream; None for the house, and for a copy somebody put beside it."""
    job_id = stream.removeprefix(_JOB)
    is_job = stream.startswith(_JOB) and tokens.normalise(job_id, tokens.CODE_LENGTH) == job_id
    return job_id if is_job else None


def is_ours(stream: str) -> bool:
    return stream == house.STREAM or job_id_of(stream) is not None
