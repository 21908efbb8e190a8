"""Two panels in each other's places: the lead records it, with the maker's yes."""

from __future__ import annotations

from holdtrue.domain import events
from holdtrue.domain.errors import ConflictError, InputError
from holdtrue.domain.hangers import unlike_mm
from holdtrue.domain.names import require_name
from holdtrue.domain.state import JobState
from holdtrue.service.jobs import Body, append, clean_text, require_lead
from holdtrue.service.services import Actor, Services
from holdtrue.service.undoing import require_unsettled
from holdtrue.store.port import Entry


def swap_panels(
    services: Services,
    actor: Actor,
    job_id: str,
    one: str,
    other: str,
    *,
    agreed: str,
    note: str = "",
    key: str,
) -> Entry:
    """From here on each hangs where the other was planned; ``agreed``: who said yes to that.

    Raises InputError (no such panel, no yes), ConflictError (one of them hangs, or the two cannot
    hang on each other's fasteners).
    """
    require_lead(actor)
    asked = {
        "panels": [one, other],
        "agreed": require_name("agreed", clean_text("agreed", agreed)),
        "note": clean_text("note", note),
    }

    def decide(state: JobState) -> Body:
        require_unsettled(state)
        require_swappable(state, one, other)
        return {}

    return append(
        services, actor, job_id, events.PANELS_SWAPPED, key=key, asked=asked, decide=decide
    )


def require_swappable(state: JobState, one: str, other: str) -> None:
    """InputError or ConflictError, saying why these two cannot hang in each other's places."""
    panels = {panel.name: panel for panel in state.job.panels}
    for name in (one, other):
        if name not in panels:
            raise InputError("other", name, "choose one of " + ", ".join(panels))
    if one == other:
        raise InputError("other", other, "choose the panel it changed places with")
    for name in (one, other):
        if f"panels.lift:{name}" in state.records:
            raise ConflictError(f"Panel {name} hangs. Take it down first: undo its lift.")
    if unlike_mm(panels[one], panels[other]) is None:
        raise ConflictError(
            f"Panels {one} and {other} do not hang by the same hangers, so neither fits the "
            "other's fasteners. Hang each in its own place, or change the plan."
        )
