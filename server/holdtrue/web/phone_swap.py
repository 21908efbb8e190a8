"""Two panels in each other's places: put back, or, with the maker's yes, recorded by the lead."""

from __future__ import annotations

from flask import Blueprint, Response, request

from holdtrue.core.model import Panel
from holdtrue.domain.errors import ConflictError, InputError, NotFoundError
from holdtrue.domain.hangers import unlike_mm
from holdtrue.service import swapping
from holdtrue.store.port import KeyReusedError
from holdtrue.web.context import services
from holdtrue.web.phone_here import Here, look, screen
from holdtrue.web.phone_screens import to_result
from holdtrue.web.security import require_job_member, require_lead

blueprint = Blueprint("swap", __name__)


@blueprint.get("/swap/<path:panel>")
@require_job_member
def show(job_id: str, panel: str) -> Response:
    """What can be done when another panel stands where this one goes."""
    return _form(look(job_id), panel)


@blueprint.post("/swap/<path:panel>")
@require_lead
def record(job_id: str, panel: str) -> Response:
    """They stay swapped; what was typed stays when it is refused."""
    here, form = look(job_id), request.form
    try:
        entry = swapping.swap_panels(
            services(),
            here.actor,
            job_id,
            panel,
            form.get("other", ""),
            agreed=form.get("agreed", ""),
            note=form.get("note", ""),
            key=form.get("key", ""),
        )
    except InputError as error:
        return _form(here, panel, status=422, error=error.remedy)
    except ConflictError as conflict:
        return _form(look(job_id), panel, status=409, error=str(conflict))
    except KeyReusedError:
        words = "this form was sent before with something else; that is kept"
        return _form(look(job_id), panel, status=422, error=words)
    return to_result(job_id, entry.seq)


def _form(here: Here, panel: str, *, status: int = 200, error: str = "") -> Response:
    panels = {one.name: one for one in here.state.job.panels}
    if panel not in panels:
        raise NotFoundError("This job has no such panel.")
    others = [
        (name, how_alike(here, panels[panel], other))
        for name, other in panels.items()
        if name != panel and unlike_mm(panels[panel], other) is not None
    ]
    return screen(
        here,
        "_swap.html",
        title=f"Not panel {panel}",
        status=status,
        stage="fasteners",
        panel=panel,
        others=others,
        error=error,
        typed=request.form,
    )


def how_alike(here: Here, one: Panel, other: Panel) -> str:
    """What hanging one in the other's place asks for."""
    unlike = unlike_mm(one, other)
    if not unlike:
        return "same size, same hangers"
    said = ", ".join(f"{name} {here.fmt(mm)}" for name, mm in unlike.items())
    return f"not alike, {said} off; measured again"
