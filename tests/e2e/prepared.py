"""Jobs brought as far as a test needs them, straight into the data, before the server starts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from holdtrue.service import installers, jobs
from holdtrue.service.services import Actor
from holdtrue.store.port import Entry
from tests.e2e.server import Server
from tests.walking import golden, released, walk

LEAD = Actor(person="LEADLEAD", name="Lena Prepared", role="lead")
CAPACITY = {"capacity": "40 lb", "basis": "working", "design_factor": 2}


class Prepared:
    """A released job with a code to join; no lead has signed in yet."""

    def __init__(
        self,
        server: Server,
        *,
        until: str | None = None,
        document: Mapping[str, Any] | None = None,
    ) -> None:
        self.server = server
        with server.opened() as services:
            self.job_id = released(services, LEAD, document or golden())
            if until is not None:
                walk(services, LEAD, self.job_id, until=until)
            self.code = installers.invite_installer(
                services, LEAD, self.job_id, label="the crew", key=services.ids.key()
            )

    @property
    def address(self) -> str:
        return f"{self.server.address}/jobs/{self.job_id}"

    def entries(self) -> tuple[Entry, ...]:
        """The job's whole log, once the server has stopped."""
        with self.server.opened() as services:
            return tuple(services.store.read(jobs.stream_of(self.job_id)))


def one_panel() -> dict[str, Any]:
    """A single panel on two hooks, and no stud anywhere near."""
    return {
        "format": "holdtrue.job/1",
        "title": "Groyne, one panel",
        "unit": "in",
        "panels": [
            {
                "name": "A", "width": 30, "height": 40, "depth": 2, "mass": "24 lb",
                "hangers": [{"in": 5, "down": 6}, {"in": 25, "down": 6}],
            }
        ],
        "layout": {"kind": "row", "height": {"of": "centre", "at": 58}},
        "fasteners": [{"name": "hook on a toggle", "into": "hollow", "drop": "1/4", **CAPACITY}],
    }  # fmt: skip
