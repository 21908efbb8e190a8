"""What a phone sent and the job refused stays in the log until the lead settles it."""

from __future__ import annotations

import json

import pytest

from holdtrue.domain import events
from holdtrue.domain.bundle import photo_digests
from holdtrue.domain.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from holdtrue.domain.fold import fold
from holdtrue.domain.parked import planned_words, shown_words, typed_words
from holdtrue.domain.review import bars_to_accepting, photos, work_since
from holdtrue.domain.timeline import timeline
from holdtrue.service import parked, review
from holdtrue.service.services import Actor
from holdtrue.store.port import Entry, KeyReusedError
from tests.domain.crew import Crew, panel, row
from tests.walking import JPEG

ONE = row(panel("A"))
FIELDS = {
    "outcome": "measured",
    "x": "125",
    "x.side": "left",
    "above": "99,5",
    "csrf": "secret",
    "key": "0" * 32,
    "seen": "1 2",
    "echoed.x": "125",
    "shown.x_mm": "-125",
}


@pytest.fixture
def crew() -> Crew:
    crew = Crew(ONE)
    crew.release()
    return crew


def park(crew: Crew, *, fields: str | None = None, key: str | None = None) -> Entry:
    return parked.park(
        crew.services,
        crew.installer,
        crew.job,
        task="fasteners.measure:A1",
        fields=json.dumps(FIELDS) if fields is None else fields,
        words="Measure A1 must wait: first finish: Mark A1",
        key=key or crew.key(),
        tapped="2026-03-02T07:00:00Z",
    )


def settle(crew: Crew, of: int, note: str = "measured again", by: Actor | None = None) -> Entry:
    return parked.settle(crew.services, by or crew.lead, crew.job, of=of, note=note, key=crew.key())


def test_a_refused_entry_is_kept_with_what_was_typed_who_when_and_why(crew: Crew) -> None:
    entry = park(crew)
    (one,) = crew.state.parked
    assert (one.seq, one.who, one.tapped) == (
        entry.seq,
        crew.installer.person,
        "2026-03-02T07:00:00Z",
    )
    assert typed_words(one) == (
        ("Tapped", "measured"),
        ("From the reference line", "125 left"),
        ("Above the level line", "99,5"),
    )
    assert one.words == "Measure A1 must wait: first finish: Mark A1"
    assert one.is_open


def test_the_place_the_phone_showed_and_what_the_plan_read_are_told(crew: Crew) -> None:
    shown = {
        "shown.x_mm": "-125",
        "shown.y_mm": "1500",
        "shown.hole_y_mm": "1506",
        "shown.above_mm": "100",
        "shown.fastener": "hook",
    }
    park(crew, fields=json.dumps({**FIELDS, **shown, "planned.x": "-127", "planned.above": "100"}))
    (one,) = crew.state.parked
    assert shown_words(one, "mm") == (
        "125.0 mm left of the reference line, seat 100.0 mm above its level line, "
        "hole 1506.0 mm above the floor, hook"
    )
    assert planned_words(one, "mm") == (
        "from the reference line 127.0 mm left, above the level line 100.0 mm"
    )


@pytest.mark.parametrize("text", ["", "x", "nan", "inf", "1e99"])
def test_a_place_that_is_none_is_not_told_and_not_refused(crew: Crew, text: str) -> None:
    park(crew, fields=json.dumps({"shown.x_mm": text, "planned.x": text}))
    (one,) = crew.state.parked
    assert (shown_words(one, "mm"), planned_words(one, "mm")) == ("", "")


def test_a_refused_photo_goes_where_the_job_goes(crew: Crew) -> None:
    """With the bundle, to the photos of its log; not among those of the work."""
    entry = parked.park(
        crew.services,
        crew.installer,
        crew.job,
        task="close.photo",
        fields="{}",
        words="recorded meanwhile",
        key=crew.key(),
        photo=JPEG,
    )
    entries = crew.services.store.read(entry.stream)
    (photo,) = photos(entries)
    assert (photo.is_parked, photo.seq, photo.kind) == (True, entry.seq, "image/jpeg")
    assert photo_digests(entries) == (photo.digest,)
    assert timeline(entries, {}, "mm")[-1].photo == photo.digest
    assert crew.state.parked[0].photo == photo.digest


def test_the_sessions_token_is_not_written_into_the_log(crew: Crew) -> None:
    assert not {"csrf", "key"} & park(crew).body["fields"].keys()


def test_parking_changes_nothing_else(crew: Crew) -> None:
    before = crew.state
    park(crew)
    after = crew.state
    assert (after.records, after.marks_mm, after.revision) == (
        before.records,
        before.marks_mm,
        before.revision,
    )


def test_an_entry_parked_twice_stands_once(crew: Crew) -> None:
    key = crew.key()
    assert park(crew, key=key) == park(crew, key=key)
    assert len(crew.state.parked) == 1
    with pytest.raises(KeyReusedError):
        park(crew, key=key, fields='{"x": "1"}')


@pytest.mark.parametrize(
    ("fields", "kept"),
    [
        ("not json", {"note": "not json"}),
        ("[1, 2]", {"note": "[1, 2]"}),
        ("", {"note": ""}),
        ('{"x": 12.5, "deep": {"a": [1]}}', {"x": "12.5", "deep": '{"a": [1]}'}),
        ('{"note": "two\\nlines\\u0000\\ud800"}', {"note": "two lines"}),
        ("[" * 100_000, {"note": "[" * 999 + "…"}),
    ],
)
def test_whatever_a_phone_sends_is_kept_as_well_as_it_can_be(
    crew: Crew, fields: str, kept: dict[str, str]
) -> None:
    assert park(crew, fields=fields).body["fields"] == kept


def test_too_much_is_cut_and_not_refused(crew: Crew) -> None:
    many = json.dumps({f"x{i}": "7" * 5000 for i in range(500)})
    fields = park(crew, fields=many).body["fields"]
    assert len(fields) == 200
    assert {len(text) for text in fields.values()} == {1000}


def test_it_is_kept_after_the_job_was_accepted_too(crew: Crew) -> None:
    crew.walk()
    points = dict.fromkeys(crew.state.form.seats, "seen")
    review.accept(crew.services, crew.lead, crew.job, points=points, key=crew.key())
    entry = park(crew)
    settle(crew, entry.seq)
    assert not crew.state.open_parked


def test_the_lead_settles_it_in_writing_and_once(crew: Crew) -> None:
    entry = park(crew)
    with pytest.raises(NotAllowedError):
        settle(crew, entry.seq, by=crew.installer)
    with pytest.raises(InputError, match="note"):
        settle(crew, entry.seq, note=" ")
    settle(crew, entry.seq)
    (one,) = crew.state.parked
    assert (one.is_open, one.settled_by, one.settled_note) == (False, "LEAD", "measured again")
    with pytest.raises(ConflictError, match="settled meanwhile"):
        settle(crew, entry.seq)
    with pytest.raises(ConflictError):
        settle(crew, 1)


def test_a_stranger_parks_nothing(crew: Crew) -> None:
    other = Actor(person="X", name="X", role="installer", job="AAAAAAAA")
    with pytest.raises(NotFoundError):
        parked.park(crew.services, other, crew.job, task="", fields="{}", words="", key=crew.key())


def test_work_with_a_parked_entry_is_not_accepted_before_it_is_settled(crew: Crew) -> None:
    crew.walk()
    seen = crew.state.seq
    entry = park(crew)
    assert bars_to_accepting(crew.state) == (
        "Measure A1, sent by a phone and refused, is not settled.",
    )
    assert work_since(crew.entries, seen)
    settle(crew, entry.seq)
    assert bars_to_accepting(crew.state) == ()


def test_the_log_says_both_in_words(crew: Crew) -> None:
    entry = park(crew)
    settle(crew, entry.seq)
    first, second = timeline(crew.entries, {}, "mm")[-2:]
    assert first.text == (
        "Sent by a phone and refused: Measure A1. Measure A1 must wait: first finish: Mark A1"
    )
    assert first.is_otherwise
    assert second.text == "Settled: Measure A1, “measured again”"


def test_what_is_no_task_stands_as_the_phone_named_it(crew: Crew) -> None:
    entry = parked.park(
        crew.services,
        crew.installer,
        crew.job,
        task="way A1",
        fields=json.dumps({"what": "free:spent", "note": "toggle gone", "tapped": "x"}),
        words="",
        key=crew.key(),
    )
    (one,) = crew.state.parked
    assert typed_words(one) == (("What", "free:spent"), ("Note", "toggle gone"))
    assert timeline(crew.entries, {}, "mm")[-1].text.startswith(
        "Sent by a phone and refused: way A1"
    )
    assert entry.type == events.ENTRY_PARKED


def test_studs_are_told_one_by_one(crew: Crew) -> None:
    fields = {"studs[0].x": "100", "studs[0].x.side": "left", "studs[0].material": "wood"}
    parked.park(
        crew.services,
        crew.installer,
        crew.job,
        task="behind.studs",
        fields=json.dumps(fields),
        words="",
        key=crew.key(),
    )
    assert typed_words(crew.state.parked[0]) == (
        ("Centre from the reference line, width, material", "100 left"),
        ("Centre from the reference line, width, material", "wood"),
    )


def test_a_log_read_again_gives_the_same_parked_entries(crew: Crew) -> None:
    settle(crew, park(crew).seq)
    park(crew)
    assert fold(crew.entries).parked == crew.state.parked


def test_fields_nested_however_deep_are_kept_or_said_to_be_too_deep(crew: Crew) -> None:
    """Reading and writing give up at depths of their own, so all are tried."""
    for deep in (*range(800, 1000), 5000):
        entry = park(crew, fields='{"note": ' + "[" * deep + "]" * deep + ', "x": "125"}')
        assert entry.body["fields"]["note"]
