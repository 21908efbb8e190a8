"""The browser the other tests rely on, and that a missing one is not passed over in silence."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from playwright.sync_api import Page

CONFTEST = Path(__file__).resolve().parents[1] / "conftest.py"

A_BROWSER_TEST = """
def test_opens_a_page(phone):
    phone.set_content("<h1>Wall</h1>")
"""


def run_pytest(folder: Path, **environ: str) -> subprocess.CompletedProcess[str]:
    (folder / "conftest.py").write_text(CONFTEST.read_text(encoding="utf-8"), encoding="utf-8")
    (folder / "pytest.ini").write_text("[pytest]\nmarkers =\n  browser\n", encoding="utf-8")
    return subprocess.run(
        [sys.executable, "-m", "pytest", "-p", "no:cacheprovider"],
        cwd=folder,
        env=os.environ | environ,
        capture_output=True,
        text=True,
    )


def test_a_page_is_as_wide_as_a_phone_and_runs_scripts(phone: Page) -> None:
    phone.set_content('<meta name="viewport" content="width=device-width"><h1>Wall</h1>')
    assert phone.evaluate("window.innerWidth") == 390
    assert phone.inner_text("h1") == "Wall"


def test_a_missing_browser_is_named_loudly(tmp_path: Path) -> None:
    (tmp_path / "test_it.py").write_text(A_BROWSER_TEST, encoding="utf-8")
    done = run_pytest(tmp_path, TESTS_CHROMIUM="no-such-browser", TESTS_NO_SKIPS="0")
    assert done.returncode == 0
    assert "1 skipped" in done.stdout
    assert "1 BROWSER TESTS WERE SKIPPED" in done.stdout
    assert "apt-get install chromium" in done.stdout


def test_where_nothing_may_be_skipped_a_missing_browser_fails(tmp_path: Path) -> None:
    (tmp_path / "test_it.py").write_text(A_BROWSER_TEST, encoding="utf-8")
    done = run_pytest(tmp_path, TESTS_CHROMIUM="no-such-browser", TESTS_NO_SKIPS="1")
    assert done.returncode == 1
    assert "nothing may be skipped here" in done.stdout
    assert "apt-get install chromium" in done.stdout


def test_where_nothing_may_be_skipped_a_module_that_skips_itself_fails(tmp_path: Path) -> None:
    (tmp_path / "test_it.py").write_text(
        "import pytest\npytest.importorskip('no_such_module')\n", encoding="utf-8"
    )
    done = run_pytest(tmp_path, TESTS_NO_SKIPS="1")
    assert done.returncode != 0
    assert "nothing may be skipped here" in done.stdout


def test_where_nothing_may_be_skipped_an_expected_failure_still_counts_as_expected(
    tmp_path: Path,
) -> None:
    (tmp_path / "test_it.py").write_text(
        "import pytest\n@pytest.mark.xfail\ndef test_it():\n    assert 1 == 2\n", encoding="utf-8"
    )
    done = run_pytest(tmp_path, TESTS_NO_SKIPS="1")
    assert done.returncode == 0
    assert "1 xfailed" in done.stdout
