"""The crate label for the lead, and the card that its code opens for anybody who has the crate."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any, NoReturn, cast

from flask import Blueprint, Response, abort, current_app, request, url_for
from flask.blueprints import BlueprintSetupState
from markupsafe import Markup

from holdtrue.core.model import Panel
from holdtrue.core.readout import format_length
from holdtrue.domain.card import Card, hardware
from holdtrue.domain.errors import InputError
from holdtrue.domain.review import SMALLEST_MM
from holdtrue.domain.state import JobState
from holdtrue.drawing import elevation, panel_back
from holdtrue.labels import LabelContent, label_content, label_svg
from holdtrue.service import cards, jobs
from holdtrue.web import htmx
from holdtrue.web.context import (
    EXTENSION,
    actor,
    download_json,
    fetch_job,
    page,
    public_address,
    services,
)
from holdtrue.web.labelform import SIZES, LabelChoice, LabelForm, from_query, read_form
from holdtrue.web.limits import Brake
from holdtrue.web.preview import BEHIND
from holdtrue.web.reach import reach_of
from holdtrue.web.security import anyone, require_lead

blueprint = Blueprint("label", __name__)

JOB_LINK = ("Crate label", "label.show")
BRAKE = "holdtrue-card-brake"
PRIVATE = {
    "Cache-Control": "no-store",
    "X-Robots-Tag": "noindex, nofollow",
    "Referrer-Policy": "no-referrer",
}
CARD_ENDPOINTS = ("label.card", "label.card_small", "label.job_file")
CARD_PX = 420.0


@blueprint.record
def _own_brake(setup: BlueprintSetupState) -> None:
    """A brake of the cards' own: a crate's torn code must not keep installers from joining."""
    setup.app.extensions[BRAKE] = Brake(setup.app.extensions[EXTENSION].clock)


# -- the lead's page ------------------------------------------------------------------------------


@blueprint.get("/jobs/<job_id>/label")
@require_lead
def show(job_id: str) -> Response:
    state = fetch_job(job_id)
    form = from_query(request.args.get, request.args.getlist("panels"))
    issued = cards.issued_cards(services(), actor(), job_id)
    current = cards.current_card(issued)
    address = _card_address(current)
    try:
        svg = label_svg(_content(job_id, state, form, address), _choice(form, state).size)
    except InputError as error:
        error = _of_field(error)
        return _page(job_id, state, form, issued, status=422, address=address, error=error)
    # Our own markup: every text in it is escaped by the drawing's writer.
    label = Markup(svg)  # noqa: S704
    return _page(job_id, state, form, issued, label=label, address=address, current=current)


def _page(
    job_id: str,
    state: JobState,
    form: LabelForm,
    issued: tuple[cards.IssuedCard, ...],
    *,
    status: int = 200,
    address: str = "",
    error: InputError | None = None,
    **values: Any,
) -> Response:
    return page(
        "label/label.html",
        status,
        job_id=job_id,
        state=state,
        form=form,
        sizes=SIZES,
        issued=issued,
        address=address,
        reach=reach_of(address or public_address()),
        server=public_address(),
        errors={} if error is None else {error.path: error.remedy},
        query=request.query_string.decode("utf-8", "replace"),
        **values,
    )


def _choice(form: LabelForm, state: JobState) -> LabelChoice:
    return read_form(form, state.job.unit)


def _content(job_id: str, state: JobState, form: LabelForm, address: str) -> LabelContent:
    choice = _choice(form, state)
    return label_content(
        state.plan,
        short_id=jobs.stream_of(job_id).removeprefix("job-"),
        card_url=address,
        revision=state.revision,
        date=cards.card_of_job(services(), job_id).dated[:10],
        crate=choice.crate,
        crates=choice.crates,
        panel_names=choice.panels,
        crate_size_mm=choice.crate_size_mm,
        crate_mass_kg=choice.crate_mass_kg,
        show_title=choice.title,
    )


def _of_field(error: InputError) -> InputError:
    """The label's own errors are about the label; the page shows them at the field they concern."""
    return InputError(error.path.removeprefix("label."), error.value, error.remedy)


def _card_address(current: cards.IssuedCard | None) -> str:
    if current is None or current.token is None:
        return ""
    return public_address() + url_for("label.card", token=current.token)


@blueprint.get("/jobs/<job_id>/label.svg")
@require_lead
def download(job_id: str) -> Response:
    """The label at true size, as a file."""
    state = fetch_job(job_id)
    form = from_query(request.args.get, request.args.getlist("panels"))
    current = cards.current_card(cards.issued_cards(services(), actor(), job_id))
    content = _content(job_id, state, form, _card_address(current))
    response = Response(label_svg(content, _choice(form, state).size), mimetype="image/svg+xml")
    name = f"{content.short_id}-crate-{content.crate}-of-{content.crates}-{form.size}.svg"
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


@blueprint.post("/jobs/<job_id>/label/card")
@require_lead
def issue(job_id: str) -> Response:
    cards.issue_card(services(), actor(), job_id, key=request.form.get("key", ""))
    return htmx.go_to(url_for("label.show", job_id=job_id))


@blueprint.post("/jobs/<job_id>/label/revoke")
@require_lead
def revoke(job_id: str) -> Response:
    cards.revoke_card(
        services(),
        actor(),
        job_id,
        card=request.form.get("card", ""),
        key=request.form.get("key", ""),
    )
    return htmx.go_to(url_for("label.show", job_id=job_id))


# -- the card -------------------------------------------------------------------------------------


@blueprint.get("/C/<token>")
@blueprint.get("/c/<token>", endpoint="card_small")
@anyone
def card(token: str) -> Response:
    """The card, for whoever holds the crate; an unknown and a revoked token look the same."""
    job_id = _job_of(token)
    state = fetch_job(job_id)
    shown = cards.card_of_job(services(), job_id)
    fmt = partial(
        format_length, unit=state.job.unit, graduation_mm=state.job.graduation_mm, with_unit=True
    )
    return page(
        "label/card.html",
        card=shown,
        token=token,
        short_id=jobs.stream_of(job_id).removeprefix("job-"),
        drawing=_front(shown, fmt),
        backs=[(panel, _back(panel, fmt)) for panel in shown.panels],
        hardware=partial(hardware, fmt=fmt),
        size=_two_units(fmt),
        fine=partial(format_length, unit=state.job.unit),
        signed=partial(format_length, unit=state.job.unit, signed=True),
        behind=BEHIND,
        drop=partial(_drop, unit=state.job.unit),
    )


@blueprint.get("/c/<token>/job.json")
@anyone
def job_file(token: str) -> Response:
    """The job file of the work alone, for the next venue's own server."""
    job_id = _job_of(token)
    name = f"{jobs.issued_id(job_id)}.job.json"
    return download_json(cards.carried_document(services(), job_id), name)


@blueprint.post("/c/<token>/start")
@require_lead
def start(token: str) -> Response:
    """A lead of this house starts the next job of the work."""
    job_id = _job_of(token)
    key = request.form.get("key", "")
    started = cards.start_next_job(services(), actor(), job_id, key=key)
    return htmx.go_to(url_for("plan.edit", job_id=started))


def _job_of(token: str) -> str:
    job_id = cards.job_of_card(services(), token)
    if job_id is None:
        _refuse_unknown()
    return job_id


def _refuse_unknown() -> NoReturn:
    """Nobody guesses 130 bits, so a good token opens whatever was tried before it."""
    brake = cast(Brake, current_app.extensions[BRAKE])
    address = request.remote_addr or "unknown"
    if brake.is_on(address):
        abort(429, "Too many wrong codes from here. Wait ten minutes, then try again.")
    brake.count_failure(address)
    abort(404)


@blueprint.after_request
def _keep_private(response: Response) -> Response:
    """A card, found or not, is neither kept by caches nor by search engines, nor told to others."""
    if request.endpoint in CARD_ENDPOINTS:
        response.headers.update(PRIVATE)
    return response


def _front(shown: Card, fmt: Callable[[float], str]) -> Markup:
    svg = elevation(
        shown.plan, fmt=fmt, dims=False, floor=False, seat_names=True, width_px=CARD_PX, id_="front"
    )
    return Markup(svg)  # noqa: S704 - our own markup, texts escaped by its writer


def _back(panel: Panel, fmt: Callable[[float], str]) -> Markup:
    """The panel as seen from its back, whichever face it was measured on."""
    svg = panel_back(replace(panel, measured_on="back"), fmt=fmt, which="all")
    return Markup(svg)  # noqa: S704 - our own markup, texts escaped by its writer


def _two_units(fmt: Callable[[float], str]) -> Callable[[float], str]:
    """A length in the work's unit and, where that is not metric, in mm beside it."""

    def said(mm: float) -> str:
        own = fmt(mm)
        metric = f"{round(mm, 3):.1f}".removesuffix(".0")
        return own if own.endswith("m") else f"{own} ({metric} mm)"

    return said


def _drop(mm: float, *, unit: str) -> str:
    """Where a fastener bears against its hole."""
    if abs(mm) < SMALLEST_MM:
        return "bears at its hole"
    return f"bears {format_length(abs(mm), unit)} {'below' if mm > 0 else 'above'} its hole"
