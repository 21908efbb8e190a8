"""What all tests share: the browser, and a rule about skipping.

A test that was skipped has shown nothing. On a machine that lacks something the summary at the end
says so in capitals and names what to install; with TESTS_NO_SKIPS=1 (set by .ci/run) every
skip counts as a failure. The variables of the tests do not begin with HOLDTRUE_: those are settings
of the server, which refuses one it does not know.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Generator, Iterator
from typing import Any

import hypothesis
import pytest
from playwright.sync_api import Browser, Page, expect, sync_playwright

# how fast something is, is for the benchmarks: a busy machine must fail no test
hypothesis.settings.register_profile("untimed", deadline=None)
hypothesis.settings.load_profile("untimed")
expect.set_options(timeout=30_000)

NO_SKIPS = os.environ.get("TESTS_NO_SKIPS") == "1"

# the one without a window of its own takes a quarter less of a machine
CHROMIUM_NAMES = ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome")
CHROMIUM_FLAGS = (
    "--disable-dev-shm-usage",  # small in containers
    "--disable-gpu",
    # a browser that looks up hosts of its own would make the tests depend on a network
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
)
NO_CHROMIUM = (
    "no Chromium here; install one (Debian, Ubuntu: apt-get install chromium) "
    "or put its path into TESTS_CHROMIUM"
)


def find_chromium() -> str | None:
    """The browser's path; None when this machine has none."""
    named = os.environ.get("TESTS_CHROMIUM")
    if named:
        return shutil.which(named)
    return next((path for name in CHROMIUM_NAMES if (path := shutil.which(name))), None)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """A real browser, one for the whole run; open a context of its own for every test."""
    path = find_chromium()
    if path is None:
        pytest.skip(NO_CHROMIUM)
    # Chromium's sandbox refuses to run as root
    as_root = hasattr(os, "geteuid") and os.geteuid() == 0
    flags = [*CHROMIUM_FLAGS, *(["--no-sandbox"] if as_root else [])]
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=flags)
        yield browser
        browser.close()


@pytest.fixture
def phone(chromium: Browser) -> Iterator[Page]:
    """An empty page as wide as a phone, touched with a finger; cookies of its own."""
    context = chromium.new_context(
        viewport={"width": 390, "height": 844},
        device_scale_factor=2,
        is_mobile=True,
        has_touch=True,
    )
    context.set_default_timeout(30_000)
    yield context.new_page()
    context.close()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if "chromium" in getattr(item, "fixturenames", ()):
            item.add_marker(pytest.mark.browser)


def skip_reason(report: pytest.TestReport | pytest.CollectReport) -> str:
    """The words given to the skip."""
    longrepr: Any = report.longrepr
    return str(longrepr[2]) if isinstance(longrepr, tuple) else str(longrepr)


def fail_if_skipped(report: pytest.TestReport | pytest.CollectReport) -> None:
    """Turn a skip into a failure where nothing may be skipped; an expected failure is no skip."""
    if NO_SKIPS and report.skipped and not hasattr(report, "wasxfail"):
        report.outcome = "failed"
        report.longrepr = f"{report.nodeid}: nothing may be skipped here: {skip_reason(report)}"


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    report = yield
    fail_if_skipped(report)
    return report


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    report = yield
    fail_if_skipped(report)
    return report


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    for marker, what in (("browser", "BROWSER"), ("postgres", "POSTGRESQL")):
        reports = [r for r in terminalreporter.getreports("skipped") if marker in r.keywords]
        if reports:
            title = f"{len(reports)} {what} TESTS WERE SKIPPED: THIS RUN SHOWS NOTHING ABOUT THEM"
            terminalreporter.section(title, sep="!", red=True, bold=True)
            for reason in sorted({skip_reason(report) for report in reports}):
                terminalreporter.line(reason)
