"""The phone on a slow network: weight and time of the first open, from task to task, of a saving.

Headless Chromium, a phone's screen, a slow 4G line (1.6 Mbit/s down, 750 kbit/s up, 150 ms) and a
processor slowed four times, against a real server on this machine. A job of twelve seats. Every
time is also given as a ratio: to one round trip on that line, and to opening a page that is next
to nothing (``/health``), both measured in the same run. "Usable" is when the phone's own script
has taken over: from then on a tap is kept, network or not.
"""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from copy import deepcopy
from dataclasses import dataclass, field
from statistics import median
from typing import Any

from playwright.sync_api import BrowserContext, CDPSession, Page, sync_playwright

from tests.conftest import CHROMIUM_FLAGS, find_chromium
from tests.e2e.prepared import Prepared
from tests.e2e.server import Server, new_server
from tests.walking import golden

SLOW_4G = {
    "offline": False,
    "latency": 150,
    "downloadThroughput": 1_600_000 / 8,
    "uploadThroughput": 750_000 / 8,
}
CPU_TIMES = 4
SEATS = 12
TARGETS = {"bytes": 60_000, "usable": 2000.0, "task": 100.0, "saved": 300.0}
USABLE = "html[data-app]"
READY = 'html[data-app="ready"]'
WATCH = """
(() => {
  new MutationObserver(() => {
    if (document.documentElement?.dataset.app) window.usableMs ??= performance.now();
  }).observe(document, { attributes: true, subtree: true, childList: true });
})();
"""
TO_THE_NEXT = """
async () => {
  const button = document.querySelector(".thumb button.button-main, .thumb a.button-main");
  const before = document.getElementById("main");
  const start = performance.now();
  button.click();
  while (document.getElementById("main") === before) await new Promise(requestAnimationFrame);
  // the frame after the one in which it was put in: it is on the glass
  await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
  return performance.now() - start;
}
"""
ROUND_TRIP = """
async () => {
  const start = performance.now();
  await (await fetch("/health", { cache: "no-store" })).text();
  return performance.now() - start;
}
"""
SAVE = """
async () => {
  const box = document.getElementById("outbox");
  const start = performance.now();
  [...document.querySelectorAll(".thumb button")].find((b) => b.value === "as_planned").click();
  await new Promise((done) => requestAnimationFrame(done));
  const shownMs = performance.now() - start;
  while (!box.hidden) await new Promise((done) => setTimeout(done, 2));
  return [shownMs, performance.now() - start];
}
"""


@dataclass
class Line:
    """What went over the line: each answer with its headers, compressed as it was sent."""

    session: CDPSession
    bodies: dict[str, int] = field(default_factory=dict)
    urls: dict[str, str] = field(default_factory=dict)

    def listen(self) -> None:
        self.session.on("Network.requestWillBeSent", self._asked)
        self.session.on("Network.loadingFinished", self._finished)

    def _asked(self, event: Any) -> None:
        self.urls[event["requestId"]] = event["request"]["url"]

    def _finished(self, event: Any) -> None:
        self.bodies[event["requestId"]] = int(event["encodedDataLength"])

    def rows(self) -> list[tuple[str, int]]:
        """Kind of answer and its compressed bytes, in the order they came."""
        named = ((self.urls.get(id_, "?"), size) for id_, size in self.bodies.items())
        return [(_kind_of(url), size) for url, size in named]


def _kind_of(url: str) -> str:
    path = url.partition("://")[2].partition("/")[2].partition("?")[0]
    last = path.rpartition("/")[2]
    if path.startswith("jobs/") and last not in ("drawings", "pack"):
        return "page with every task"
    return last


def main(arguments: list[str]) -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench phone")
    parser.add_argument("--times", type=int, default=5, help="how often the first open is taken")
    options = parser.parse_args(arguments)
    with new_server() as server:
        job = Prepared(server, document=twelve_seats(), until="before.cautions")
        late = Prepared(server, document=twelve_seats(), until="fasteners.measure:C1")
        server.start()
        with browser() as context:
            opens = [first_open(context(), server, job) for _ in range(options.times)]
            tasks_ms, saved, trip_ms = at_work(context(), server, late)
    report(opens, tasks_ms, saved, trip_ms)


def twelve_seats() -> dict[str, Any]:
    """The reference job with a fifth panel of three hangers."""
    document = golden()
    fifth = deepcopy(document["panels"][-1])
    fifth["name"] = "E"
    document["panels"].append(fifth)
    document["layout"]["gap"].append(document["layout"]["gap"][-1])
    assert sum(len(panel["hangers"]) for panel in document["panels"]) == SEATS
    return document


@contextmanager
def browser() -> Iterator[Any]:
    path = find_chromium()
    if path is None:
        sys.exit("no Chromium here")
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(
            executable_path=path, args=[*CHROMIUM_FLAGS, "--no-sandbox"]
        )
        yield lambda: started.new_context(
            viewport={"width": 390, "height": 844},
            device_scale_factor=2,
            is_mobile=True,
            has_touch=True,
            # it would answer instead of the network, and neither count nor slow down
            service_workers="block",
        )
        started.close()


def joined(context: BrowserContext, server: Server, job: Prepared) -> Page:
    """Signed in, on an empty page: nothing of the job is on the phone yet."""
    page = context.new_page()
    page.goto(f"{server.address}/join?code={job.code}")
    page.get_by_label("Your name").fill("Ivo")
    # the sign-in's own way on would already fetch the job
    page.route(re.compile(r"/phone\b"), lambda route: route.abort())
    page.get_by_role("button", name="Join").click()
    page.wait_for_timeout(500)
    page.unroute_all()
    page.goto("about:blank")
    return page


def slowed(page: Page) -> CDPSession:
    session = page.context.new_cdp_session(page)
    session.send("Network.enable")
    session.send("Network.setCacheDisabled", {"cacheDisabled": True})
    session.send("Network.emulateNetworkConditions", SLOW_4G)
    session.send("Emulation.setCPUThrottlingRate", {"rate": CPU_TIMES})
    return session


@dataclass(frozen=True, kw_only=True)
class Open:
    """One first open."""

    usable_ms: float
    painted_ms: float
    bare_ms: float
    at_once: list[tuple[str, int]]
    later: list[tuple[str, int]]


def first_open(context: BrowserContext, server: Server, job: Prepared) -> Open:
    page = joined(context, server, job)
    session = slowed(page)
    page.goto(f"{server.address}/health")
    bare_ms = page.evaluate("performance.timing.loadEventEnd - performance.timing.navigationStart")
    page.wait_for_load_state("networkidle")
    line = Line(session)
    line.listen()
    page.add_init_script(WATCH)
    page.goto(f"{server.address}/jobs/{job.job_id}/phone/before.cautions", wait_until="commit")
    page.wait_for_selector(USABLE, state="attached")
    at_once = line.rows()
    page.wait_for_load_state("networkidle")
    paint = "performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? 0"
    opened = Open(
        usable_ms=page.evaluate("window.usableMs"),
        painted_ms=page.evaluate(paint),
        bare_ms=bare_ms,
        at_once=at_once,
        later=line.rows()[len(at_once) :],
    )
    context.close()
    return opened


def at_work(
    context: BrowserContext, server: Server, job: Prepared
) -> tuple[list[float], list[tuple[float, float]], float]:
    """From task to task, then measurements: on the screen, and acknowledged by the server."""
    page = joined(context, server, job)
    page.goto(f"{server.address}/jobs/{job.job_id}/phone/fasteners.measure:C1")
    page.wait_for_selector(READY, state="attached")
    page.wait_for_load_state("networkidle")
    slowed(page)
    trip_ms = median(page.evaluate(ROUND_TRIP) for _ in range(7))
    saved: list[tuple[float, float]] = []
    tasks_ms: list[float] = []
    while len(saved) < 4:
        if page.locator('.thumb button[value="as_planned"]').count():
            kept, acknowledged = page.evaluate(SAVE)
            saved.append((kept, acknowledged))
        else:
            for choice in page.locator('[name="met"][value="nothing"]').all():
                choice.check(force=True)
            tasks_ms.append(page.evaluate(TO_THE_NEXT))
        page.wait_for_timeout(600)
    context.close()
    return tasks_ms, saved, trip_ms


def report(
    opens: list[Open], tasks_ms: list[float], saved: list[tuple[float, float]], trip_ms: float
) -> None:
    bare_ms = median(one.bare_ms for one in opens)
    say = sys.stdout.write
    say(f"{SEATS} seats; slow 4G, processor slowed {CPU_TIMES} times\n")
    say(f"one round trip {trip_ms:.0f} ms, a bare page {bare_ms:.0f} ms\n\n")
    say("first open, gzipped, with headers:\n")
    first = opens[0]
    for name, size in first.at_once:
        say(f"  {size:7d}  {name}\n")
    total = sum(size for _, size in first.at_once)
    judge("bytes until usable", total, TARGETS["bytes"], "bytes")
    say("afterwards, while somebody reads:\n")
    for name, size in first.later:
        say(f"  {size:7d}  {name}\n")
    everything = total + sum(size for _, size in first.later)
    say(f"  {everything:7d}  everything, drawings included\n\n")
    timing("first words on the screen", [one.painted_ms for one in opens], None, trip_ms, bare_ms)
    timing("usable", [one.usable_ms for one in opens], TARGETS["usable"], trip_ms, bare_ms)
    timing("task to task", tasks_ms, TARGETS["task"], trip_ms, bare_ms)
    timing("a measurement on the screen", [shown for shown, _ in saved], None, trip_ms, bare_ms)
    beyond = [acknowledged - trip_ms for _, acknowledged in saved]
    timing("... acknowledged, less one round trip", beyond, TARGETS["saved"], trip_ms, bare_ms)


def timing(
    name: str, values: list[float], target: float | None, trip_ms: float, bare_ms: float
) -> None:
    middle = median(values)
    ratios = f"{middle / trip_ms:.2f} round trips, {middle / bare_ms:.2f} bare pages"
    sys.stdout.write(f"{name}: worst {max(values):.0f} ms of {len(values)}, {ratios}\n")
    if target is not None:
        judge(name, middle, target, "ms")


def judge(name: str, value: float, target: float, unit: str) -> None:
    verdict = "met" if value < target else "MISSED"
    sys.stdout.write(f"  {name}: {value:.0f} {unit}, target {target:.0f}: {verdict}\n")
