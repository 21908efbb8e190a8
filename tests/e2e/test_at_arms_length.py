"""One hand, a screen that stays on, words that stay in view: at the widths phones have."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.e2e.offline.fieldwork import Job, has_the_job, installer, offline, open_task, prepared
from tests.e2e.people import Crew, Person
from tests.e2e.server import Server

WIDTHS_PX = (360, 390, 430)
LEAST_TARGET_PX = 48
TASKS = ("work.hanger:A1", "fasteners.mark:C1", "fasteners.measure:C1", "panels.level:A")
COUNTED_LOCKS = """
  window.locks = [];
  const request = async () => {
    const lock = { released: false, release: async () => { lock.released = true; } };
    window.locks.push(lock);
    return lock;
  };
  Object.defineProperty(navigator, "wakeLock", { value: { request } });
"""
HELD = "window.locks.map((lock) => lock.released)"


def joined(server: Server, crew: Crew, job: Job, hand: str) -> Person:
    """Ivo, with the job on a phone held in that hand."""
    ivo = crew.person("Ivo")
    ivo.join(server.address, job.code, tape="Inch fractions", hand=hand)
    has_the_job(ivo)
    return ivo


@pytest.mark.parametrize("hand", ["Left hand", "Right hand"])
def test_every_main_action_is_under_the_thumb_of_that_hand(
    server: Server, crew: Crew, hand: str
) -> None:
    """In the lower third, 48 px at least, the main one on the hand's own side."""
    job = prepared(server, until="panels.level:A")
    server.start()
    ivo = joined(server, crew, job, hand)
    for task in TASKS:
        ivo.page.goto(f"{server.address}/jobs/{job.id}/phone/{task}?again=1")
        for width in WIDTHS_PX:
            ivo.page.set_viewport_size({"width": width, "height": 740})
            boxes = assert_in_reach(ivo.page, task, width)
            if len(boxes) > 1:
                is_left = boxes[0] < boxes[1]
                assert is_left == (hand == "Left hand"), (task, width)


def assert_in_reach(page: Page, task: str, width: int) -> list[float]:
    """The middles of the main button and, if there is one, the other."""
    buttons = page.locator(".thumb > .button")
    middles = {}
    for button in buttons.all():
        box = button.bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= LEAST_TARGET_PX, (task, width)
        assert box["y"] >= 740 * 2 / 3, (task, width)
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= width
        assert box["y"] + box["height"] <= 740
        is_main = "button-main" in (button.get_attribute("class") or "")
        middles[not is_main] = box["x"] + box["width"] / 2
    return [middles[key] for key in sorted(middles)]


READINGS = (
    *("work.hanger:A1", "work.spacing:A1-A2", "level.line:1"),
    *("fasteners.measure:C1", "fasteners.measure:A1", "fasteners.again:C1", "panels.level:A"),
    *("reference.mark", "reference.floor", "reference.bow"),
)
FIRST = {
    "panels.facing:B|C": ("first", "second"),
    "fasteners.cross:A1-A2": ("distance", "higher", "by"),
    "reference.ends": ("left", "right"),
    "level.check": ("instrument", "over", "miss"),
}
"""They ask for more than a small phone shows at once, or for what need not be: what is asked for
first, by its inputs."""
LONG = {"in": "116 39/64", "mm": "12345.6"}
ABOVE_THE_BAR = """
(names) => {
  const bar = document.querySelector(".thumb").getBoundingClientRect().top;
  const isAsked = (field) => names
    ? names.some((name) => field?.querySelector(`[name="${name}"]`))
    : !field?.querySelector(".hint");
  return [...document.querySelectorAll("#task-form .nudge > *, #task-form .seg")]
    .filter((e) => e.checkVisibility() && isAsked(e.closest(".field")))
    .map((e) => ({
      words: e.getAttribute("aria-label") ?? e.textContent,
      isReached: e.getBoundingClientRect().bottom <= bar,
      isWhole: !e.matches("input") || e.scrollWidth <= e.clientWidth,
      px: e.matches("input") ? parseFloat(getComputedStyle(e).fontSize) : null,
    }));
}
"""


@pytest.mark.parametrize("hand", ["Left hand", "Right hand"])
def test_a_reading_is_typed_and_recorded_without_scrolling(
    server: Server, crew: Crew, hand: str
) -> None:
    """All it asks for stands over the two big buttons, whole, and large enough to be read."""
    job = prepared(server, until="secure.lock:A")
    begun = prepared(server, until="fasteners.pair:C1-C2")
    server.start()
    ivo = joined(server, crew, job, hand)
    ivo.page.set_viewport_size({"width": 360, "height": 740})
    for task in (*READINGS, *FIRST):
        open_again(ivo.page, server, job, task)
        assert_over_the_bar(ivo.page, task)
    # its two marks are pencilled, and no seat is set yet
    vera = joined(server, crew, begun, hand)
    vera.page.set_viewport_size({"width": 360, "height": 740})
    open_again(vera.page, server, begun, "fasteners.pair:C1-C2")
    assert_over_the_bar(vera.page, "fasteners.pair:C1-C2", ("spacing", "higher", "by"))


def open_again(page: Page, server: Server, job: Job, task: str) -> None:
    page.goto(f"{server.address}/jobs/{job.id}/phone/{task}?again=1")
    page.wait_for_selector('html[data-app="ready"]', state="attached")


def assert_over_the_bar(page: Page, task: str, first: tuple[str, ...] | None = None) -> None:
    shown = page.evaluate(ABOVE_THE_BAR, first or FIRST.get(task))
    assert shown, task
    for one in shown:
        assert one["isReached"], (task, one)
        assert one["isWhole"], (task, one)
        assert (one["px"] or 40) >= 40, (task, one)
    assert page.evaluate("scrollY") == 0


@pytest.mark.parametrize("unit", LONG)
def test_a_long_number_is_seen_whole(server: Server, crew: Crew, unit: str) -> None:
    """Ten feet to the 64th, or a dozen metres: no digit is cut off, and no unit stands on one."""
    job = prepared(server, until="secure.lock:A")
    server.start()
    ivo = crew.person("Ivo")
    tape = {"in": "Inch fractions", "mm": "Millimetres"}[unit]
    ivo.join(server.address, job.code, tape=tape, hand="Left hand")
    for task in (*READINGS, *FIRST, "fasteners.pair:A1-A2"):
        open_again(ivo.page, server, job, task)
        for width in WIDTHS_PX:
            ivo.page.set_viewport_size({"width": width, "height": 740})
            for field in ivo.page.locator("#task-form .nudge").all():
                number = field.locator("input")
                number.fill(LONG[unit])
                ivo.wait_for_echo(str(number.get_attribute("name")))
                assert number.evaluate("(one) => one.scrollWidth <= one.clientWidth"), (task, width)
                assert not field.locator(".nudge-unit").is_visible()


def test_choices_stand_beside_each_other_and_show_all_their_words(
    server: Server, crew: Crew
) -> None:
    job = prepared(server, until="fasteners.pilot:C1")
    server.start()
    ivo = crew.person("Ivo")
    ivo.join(server.address, job.code, tape="Inch fractions", hand="Left hand")
    for width in (320, *WIDTHS_PX):
        ivo.page.set_viewport_size({"width": width, "height": 740})
        for task in ("join.ways", "fasteners.pilot:C1"):
            ivo.page.goto(f"{server.address}/jobs/{job.id}/phone/{task}?again=1")
            ivo.page.locator(".seg").first.tap()
            spilt = ivo.page.evaluate(
                """[...document.querySelectorAll(".seg")].filter((seg) =>
                     seg.querySelector("span").offsetWidth > seg.clientWidth
                     || seg.querySelector("span").scrollWidth > seg.clientWidth)
                   .map((seg) => seg.textContent.trim())"""
            )
            assert spilt == [], (task, width)


def test_no_word_of_what_is_undone_is_cut_off(server: Server, crew: Crew) -> None:
    job = prepared(server, until="fasteners.measure:C1")
    server.start()
    ivo = installer(crew, server, job)
    ivo.do("fasteners.measure:C1")
    for width in (320, *WIDTHS_PX):
        ivo.page.set_viewport_size({"width": width, "height": 740})
        undo = ivo.page.get_by_role("button", name="Undo Measure C1")
        expect(undo).to_be_visible()
        assert undo.evaluate("(button) => button.scrollWidth <= button.clientWidth"), width


def test_how_much_is_only_on_the_phone_stays_in_view(server: Server, crew: Crew) -> None:
    job = prepared(server, until="before.people")
    server.start()
    ivo = installer(crew, server, job)
    open_task(ivo, server, job, "before.people")
    ivo.page.set_viewport_size({"width": 360, "height": 640})
    with offline(ivo):
        ivo.do("before.people")
        ivo.page.go_back()
        ivo.go_to("Cautions")
        ivo.tap(ivo.page.locator("a.bar"))
        for at in (0, 300, 100_000):
            ivo.page.evaluate("(y) => scrollTo(0, y)", at)
            box = ivo.page.locator("#outbox .outbox-count").bounding_box()
            assert box is not None
            assert 0 <= box["y"] <= 640 - box["height"], at
        assert ivo.page.evaluate("scrollY") > 300


@pytest.fixture
def wakeful(chromium: Browser, crew: Crew) -> Iterator[Person]:
    context = chromium.new_context(viewport={"width": 390, "height": 844}, has_touch=True)
    context.add_init_script(COUNTED_LOCKS)
    context.set_default_timeout(30_000)
    yield Person(context, "Ivo", crew.inspection)
    context.close()


def test_the_screen_stays_awake_at_the_wall_and_only_there(server: Server, wakeful: Person) -> None:
    job = prepared(server, until="fasteners.measure:C1")
    server.start()
    wakeful.join(server.address, job.code, tape="Inch fractions", hand="Left hand")
    has_the_job(wakeful)
    open_task(wakeful, server, job, "all")
    assert wakeful.page.evaluate(HELD) == []
    wakeful.go_to("Measure C1")
    assert wakeful.page.evaluate(HELD) == [False]
    wakeful.tap(wakeful.link("Read out"))
    assert wakeful.page.evaluate(HELD) == [False]
    # another program was in front: the browser took it back
    wakeful.page.evaluate(
        "window.locks[0].released = true; document.dispatchEvent(new Event('visibilitychange'))"
    )
    assert wakeful.page.evaluate(HELD) == [True, False]
    wakeful.tap(wakeful.link("Type a reading in"))
    wakeful.tap(wakeful.page.locator("a.bar"))
    assert wakeful.page.evaluate(HELD) == [True, True]


def test_a_browser_that_lets_the_screen_go_dark_says_so(server: Server, crew: Crew) -> None:
    job = prepared(server, until="fasteners.mark:C1")
    server.start()
    ivo = crew.person("Ivo")
    ivo.context.add_init_script(
        "Object.defineProperty(navigator, 'wakeLock', { value: undefined });"
    )
    ivo.join(server.address, job.code, tape="Inch fractions", hand="Left hand")
    ivo.open(f"{server.address}/jobs/{job.id}/phone/fasteners.mark:C1?look=readout")
    expect(ivo.main).to_contain_text("This screen may go dark: touch it now and then.")
