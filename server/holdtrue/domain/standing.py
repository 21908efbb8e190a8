"""Where a job stands, as the forecast and the choices of the core take it."""

from __future__ import annotations

from collections.abc import Iterable

from holdtrue.core.choices import Standing
from holdtrue.core.criteria import all_criteria
from holdtrue.core.forecast import Errors, Grid
from holdtrue.core.marks import give_marks
from holdtrue.core.model import Job, Plan
from holdtrue.core.order import driving_order
from holdtrue.core.quality import quadratic_form
from holdtrue.core.shims import ShimsToLay
from holdtrue.core.trim_kit import plan_kit
from holdtrue.domain.estimating import placing_u_mm
from holdtrue.domain.hanging import law_of_set
from holdtrue.domain.shims import planned_shims, shims_to_lay
from holdtrue.domain.state import JobState
from holdtrue.domain.subjects import panel_of_seat
from holdtrue.domain.trimming import kit_of


def standing(state: JobState) -> Standing:
    """A job at the wall: what is set and how well it is known, and the work still to do."""
    set_mm, covariance = law_of_set(state)
    return Standing(
        job=state.job,
        arrangement=state.plan.arrangement,
        goal=all_criteria(state.job, state.plan.arrangement),
        form=state.form,
        order=state.order,
        set_mm=set_mm,
        set_covariance_mm2=covariance,
        errors=errors_of(
            state.job,
            state.current,
            _panels(state.job, state.sticks),
            shims_to_lay(state),
            _staying(state),
        ),
        kit=kit_of(state),
        marks_mm=state.marks_mm,
    )


def _staying(state: JobState) -> frozenset[str]:
    """Seats whose marks answer to nothing any more: aimed clear of old holes, or drilled.

    What a story stick carries is where its panel's first seat really is, not where it is marked.
    """
    carried = {seat for seat in state.form.seats if panel_of_seat(seat) in state.sticks}
    drilled = {seat for seat in state.marked if state.is_drilled(seat)}
    return frozenset((*state.aims, *(drilled - carried))) - state.set_seats.keys()


def standing_of_plan(plan: Plan) -> Standing:
    """A plan before anything is set, with the marks it gives."""
    form = quadratic_form(plan.job, plan.arrangement)
    order = driving_order(plan)
    marks = give_marks(
        form,
        set_mm={},
        order=order,
        drop_mm={s.seat: s.hole_y_mm - s.y_mm for s in plan.seats},
        graduation_mm=plan.job.graduation_mm,
        given_mm={},
    )
    return Standing(
        job=plan.job,
        arrangement=plan.arrangement,
        goal=all_criteria(plan.job, plan.arrangement),
        form=form,
        order=order,
        set_mm={},
        set_covariance_mm2=None,
        errors=errors_of(plan.job, plan, frozenset(), planned_shims(plan.job, plan.arrangement)),
        kit=plan_kit(plan),
        marks_mm=marks,
    )


def _panels(job: Job, names: Iterable[str]) -> frozenset[int]:
    wanted = set(names)
    return frozenset(k for k, panel in enumerate(job.panels) if panel.name in wanted)


def errors_of(
    job: Job,
    plan: Plan,
    stick_panels: frozenset[int],
    shims: ShimsToLay | None = None,
    stay: frozenset[str] = frozenset(),
) -> Errors:
    """Placing and reading errors of the work still to do, by each seat's fastener."""
    placing = {}
    for seat in plan.seats:
        u = placing_u_mm(job, seat.fastener)
        placing[seat.seat] = (u, u)
    tape = job.uncertainty.tape
    return Errors(
        placing=placing,
        reading=dict.fromkeys(plan.arrangement.seat_names, (tape, tape)),
        stick=job.uncertainty.stick,
        stick_panels=stick_panels,
        shims=shims,
        grid=Grid(
            graduation_mm=job.graduation_mm,
            drop_mm={seat.seat: seat.drop_mm for seat in plan.seats},
            stay=stay,
        ),
    )
