"""Recording at the wall: a key counts once, two at once are both kept, nonsense is refused."""

from __future__ import annotations

import random
import threading
from collections.abc import Callable
from dataclasses import replace
from hashlib import sha256
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from holdtrue.domain import events
from holdtrue.domain.errors import (
    AppError,
    ConflictError,
    InputError,
    NotAllowedError,
    NotFoundError,
)
from holdtrue.domain.picture import read_picture
from holdtrue.domain.tasks import TASK_KINDS
from holdtrue.service import review, tasks
from holdtrue.service.folds import Folds
from holdtrue.service.services import Actor
from holdtrue.service.tasks import PHOTO_LIMIT, Typed
from holdtrue.store.port import Entry, KeyReusedError, NewEntry, StreamMovedError
from tests.domain.crew import Crew, at_fasteners, golden, panel, row
from tests.domain.test_picture import drawn
from tests.walking import JPEG

THREE = row(panel("A"), panel("B"), panel("C"))
ONE = row(panel("A"))


def accepted(crew: Crew) -> None:
    crew.walk()
    review.accept(
        crew.services,
        crew.lead,
        crew.job,
        points=dict.fromkeys(crew.state.form.seats, "seen"),
        key=crew.key(),
    )


# -- a key counts once -----------------------------------------------------------------------------


def test_the_same_form_sent_twice_is_stored_once_and_answered_alike() -> None:
    crew = at_fasteners(ONE)
    key = crew.key()
    first = crew.record("fasteners.mark:A1", key=key)
    assert crew.record("fasteners.mark:A1", key=key) == first
    assert [entry.key for entry in crew.entries].count(key) == 1


@pytest.mark.parametrize("times", [1, 2])
def test_a_measurement_sent_again_after_the_next_one_is_still_only_acknowledged(times: int) -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="fasteners.measure:A1")
    raw = {"x": "200", "x.side": "left", "above": "103"}
    key = crew.key()
    first = crew.record("fasteners.measure:A1", raw, key=key)
    crew.walk()
    after = crew.state
    for _ in range(times):
        assert crew.record("fasteners.measure:A1", raw, key=key) == first
    assert crew.state is after


def test_the_same_key_for_something_else_is_refused() -> None:
    crew = at_fasteners(ONE)
    key = crew.key()
    crew.record("fasteners.mark:A1", key=key)
    before = crew.entries
    with pytest.raises(KeyReusedError):
        crew.record("fasteners.mark:A2", key=key)
    with pytest.raises(KeyReusedError):
        tasks.call_stop(crew.services, crew.installer, crew.job, "A1", what="cable", key=key)
    assert crew.entries == before


def test_the_same_key_with_another_reading_is_refused() -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="fasteners.measure:A1")
    key = crew.key()
    crew.record("fasteners.measure:A1", {"x": "200", "x.side": "left", "above": "103"}, key=key)
    with pytest.raises(KeyReusedError):
        crew.record("fasteners.measure:A1", {"x": "201", "x.side": "left", "above": "103"}, key=key)


@pytest.mark.parametrize("key", ["", "short", "x" * 65, "key with spaces and more", "ключ" * 8])
def test_a_form_without_a_proper_key_is_refused(key: str) -> None:
    crew = at_fasteners(ONE)
    with pytest.raises(InputError, match="key"):
        tasks.call_stop(crew.services, crew.installer, crew.job, "A1", what="cable", key=key)


# -- two at once -----------------------------------------------------------------------------------


def test_two_who_record_different_tasks_at_once_are_both_kept() -> None:
    crew = at_fasteners(THREE)
    marks = [f"fasteners.mark:{seat}" for seat in crew.state.form.seats]
    with_all = len(crew.entries) + len(marks)
    threads = [threading.Thread(target=crew.record, args=(task,)) for task in marks]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(crew.entries) == with_all
    assert set(crew.state.marked) == set(crew.state.form.seats)


class Interrupted:
    """A store on which somebody else is quicker once."""

    def __init__(self, crew: Crew, first: Any) -> None:
        self.inner = crew.services.store
        self.first = first

    def __getattr__(self, name: str) -> Any:
        return getattr(self.inner, name)

    def append(self, stream: str, entry: NewEntry, *, expected: int) -> Entry:
        if self.first is not None:
            first, self.first = self.first, None
            first()
        return self.inner.append(stream, entry, expected=expected)


def interrupted(crew: Crew, first: Any) -> Crew:
    """The same crew, overtaken by ``first`` before its next entry is stored."""
    other = Crew.__new__(Crew)
    other.__dict__.update(crew.__dict__)
    other.services = replace(crew.services, store=Interrupted(crew, first), memo=Folds())
    return other


def test_who_was_overtaken_decides_again_on_what_is_there_now() -> None:
    crew = at_fasteners(ONE)
    late = interrupted(crew, lambda: crew.do("fasteners.mark:A1"))
    entry = late.record("fasteners.mark:A2")
    assert entry.seq == len(crew.entries)
    assert {"A1", "A2"} <= set(crew.state.marked)


def test_who_was_overtaken_by_a_stop_is_told_so() -> None:
    crew = at_fasteners(ONE)
    late = interrupted(crew, lambda: crew.stop("A1"))
    with pytest.raises(ConflictError, match="the lead clears it"):
        late.record("fasteners.mark:A1")
    assert crew.entries[-1].type == events.STOP_CALLED


def test_two_who_measure_the_same_seat_are_both_kept_and_the_later_stands() -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="fasteners.measure:A1")
    late = interrupted(crew, lambda: crew.measure("A1", -201.0, 1602.0))
    late.measure("A1", -198.0, 1600.0)
    assert [e.body["values"]["x"]["mm"] for e in crew.entries[-2:]] == [-201.0, -198.0]
    assert crew.state.set_seats["A1"].x_mm == pytest.approx(-198.0)


def test_who_is_overtaken_again_and_again_is_to_send_it_later_and_not_refused() -> None:
    crew = at_fasteners(ONE)

    class Busy(Interrupted):
        def append(self, stream: str, entry: NewEntry, *, expected: int) -> Entry:
            raise StreamMovedError("somebody was quicker")

    other = interrupted(crew, None)
    other.services = replace(crew.services, store=Busy(crew, None))
    with pytest.raises(StreamMovedError):
        other.record("fasteners.mark:A1")


# -- who may ---------------------------------------------------------------------------------------


def test_an_installer_of_another_job_finds_nothing() -> None:
    crew = at_fasteners(ONE)
    stranger = Actor(person="X", name="Xenia", role="installer", job="23456789")
    attempts: list[Callable[[], object]] = [
        lambda: crew.record("fasteners.mark:A1", by=stranger),
        lambda: crew.undo(5, by=stranger),
    ]
    for attempt in attempts:
        with pytest.raises(NotFoundError):
            attempt()


def test_hold_points_and_stops_are_the_leads_to_let_go() -> None:
    crew = at_fasteners(ONE, holds=("first_lift",))
    stop = crew.stop("A1")
    with pytest.raises(NotAllowedError):
        crew.clear(stop.seq, by=crew.installer)
    crew.clear(stop.seq)
    with pytest.raises(NotAllowedError):
        crew.record("hold.first_lift")


# -- photos ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["jpeg", "png", "webp"])
def test_a_photo_is_kept_before_the_entry_that_names_it(kind: str) -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="close.photo")
    data = drawn(kind)
    photo = crew.record("close.photo", photo=data).body["values"]["photo"]
    assert photo["type"] == f"image/{kind}"
    assert crew.services.store.get_blob(photo["sha256"]) == read_picture(data).data


def test_a_photo_of_a_task_that_must_wait_is_not_kept() -> None:
    crew = at_fasteners(row(panel("A")))
    with pytest.raises(ConflictError, match="must wait"):
        crew.record("close.photo", photo=JPEG)
    assert crew.services.store.get_blob(sha256(JPEG).hexdigest()) is None


@pytest.mark.parametrize("data", [b"", b"GIF89a", b"RIFF\0\0\0\0WAVE", bytes(PHOTO_LIMIT + 1)])
def test_what_is_no_photo_or_too_large_is_refused(data: bytes) -> None:
    crew = at_fasteners(ONE)
    crew.walk(until="close.photo")
    with pytest.raises(InputError, match="photo"):
        crew.record("close.photo", photo=data)
    with pytest.raises(InputError, match="choose a photo"):
        crew.record("close.photo")


# -- a closed job ----------------------------------------------------------------------------------


def test_an_accepted_job_takes_no_more_entries() -> None:
    crew = at_fasteners(ONE)
    accepted(crew)
    assert crew.state.review.state == "accepted"
    before = crew.entries
    attempts: list[Callable[[], object]] = [
        lambda: crew.record("close.note", {"note": "one more thing"}),
        lambda: crew.measure("A1", -200.0, 1600.0),
        lambda: crew.block("A1", "stud"),
        lambda: crew.free("A1"),
        lambda: crew.stop("A1"),
        lambda: crew.undo(crew.state.records["close.note"].seq),
        lambda: crew.revise(crew.state.document),
        crew.release,
    ]
    for attempt in attempts:
        with pytest.raises(ConflictError, match="accepted"):
            attempt()
    assert crew.entries == before


# -- hostile forms ---------------------------------------------------------------------------------

NASTY = (
    "", " ", "0", "-1", "1e9", "NaN", "inf", "9" * 400, "1/0", "½", "5' 6 1/2\"", "20 3/4",
    "\x00", "\u202e", "💥" * 50, "<script>", "left", "level", "as_planned", "A1", "none", "wood",
    "99999 mm", "-0", "0.0000001", "x" * 10_000, "１２", "٣", "1,5", "1.5 m", "shim", "in", "right",
)  # fmt: skip
SUBJECTS = (
    "",
    "A1",
    "A2",
    "A",
    "B",
    "A1-A2",
    "A|B",
    "1",
    "Q",
    "A1-",
    "|",
    ":",
    "A1\n",
    "💥",
    "x" * 999,
)
FIELDS = sorted({field.name for kind in TASK_KINDS.values() for field in kind.fields})
KEYS = (
    *FIELDS,
    *(f"{field}.side" for field in FIELDS),
    *(
        f"studs[{i}].{part}"
        for i in (0, 1, 39, 40)
        for part in ("x", "x.side", "material", "width")
    ),
    "no such field",
)


@pytest.fixture(scope="module")
def half_done() -> tuple[Crew, ...]:
    """Jobs at different points: surveyed, drilled, hung."""
    found = []
    for until in ("work.hanger:A1", "fasteners.mark:A1", "fasteners.press:A1", "secure.lock:A"):
        crew = Crew(row(panel("A"), panel("B")))
        crew.release()
        crew.walk(until=until)
        found.append(crew)
    return tuple(found)


@settings(max_examples=400, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(seed=st.integers(0, 2**32))
def test_whatever_is_sent_to_a_task_is_stored_or_refused_in_words(
    half_done: tuple[Crew, ...], seed: int
) -> None:
    draw = random.Random(seed)
    crew = draw.choice(half_done)
    kind = draw.choice([*TASK_KINDS, "no.such", "", "fasteners"])
    own = crew.tasks
    task_id = draw.choice(own).id if draw.random() < 0.5 else f"{kind}:{draw.choice(SUBJECTS)}"
    names = [f.name for f in TASK_KINDS[kind].fields] if kind in TASK_KINDS else []
    raw = {
        key: draw.choice(NASTY)
        for key in {*names, *draw.sample(KEYS, draw.randrange(6))}
        if draw.random() < 0.9
    }
    typed = Typed(
        outcome=draw.choice(("as_planned", "measured", "done", "", "won")),
        raw=raw,
        unit=draw.choice(("mm", "in", "cm", "furlong", "")),
        is_sure=draw.random() < 0.5,
        photo=draw.choice((None, None, b"", JPEG)),
    )
    before = crew.entries
    refusal: AppError | None = None
    try:
        tasks.record_task(
            crew.services,
            draw.choice((crew.installer, crew.lead)),
            crew.job,
            task_id,
            typed,
            key=crew.key(),
        )
    except AppError as error:
        refusal = error
    assert len(crew.entries) == len(before) + (refusal is None)
    assert refusal is None or 0 < len(str(refusal)) < 1500
    assert {task.status for task in crew.tasks} <= {"waiting", "ready", "done", "stopped"}


def test_a_huge_note_is_refused_with_a_short_message() -> None:
    crew = at_fasteners(ONE)
    with pytest.raises(InputError) as refusal:
        crew.block("A1", "stud", note="x" * 1_000_000)
    assert len(str(refusal.value)) < 200


def test_tasks_posted_out_of_order_are_refused_and_say_for_what_they_wait() -> None:
    crew = Crew(golden("tidewrack"))
    for task in crew.tasks:
        if task.status == "waiting" and task.kind.has_plan:
            with pytest.raises(ConflictError, match="must wait"):
                crew.do(task.id)
    assert len(crew.entries) == 3  # created, invited, joined


@pytest.mark.parametrize("outcome", ["measured", "as_planned"])
def test_a_task_without_a_plan_is_done_and_one_with_a_plan_is_not(outcome: str) -> None:
    crew = at_fasteners(ONE)
    with pytest.raises(InputError, match="use the buttons"):
        crew.record("before.cautions", outcome=outcome)
    with pytest.raises(InputError, match="use the buttons"):
        crew.record("level.line:1", outcome="done")
