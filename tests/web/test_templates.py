"""What templates may not hold, because the policy blocks it or htmx would go wrong on it."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

import pytest

import holdtrue
from holdtrue.staticfiles import static_folder

TEMPLATES = sorted((Path(holdtrue.__file__).parent / "web" / "templates").rglob("*.html"))
VENDOR = static_folder() / "js" / "vendor"

FORBIDDEN = {
    "a style attribute (blocked by the policy)": re.compile(r"\sstyle\s*=", re.IGNORECASE),
    "a style element (blocked by the policy)": re.compile(r"<style", re.IGNORECASE),
    "an inline script (blocked by the policy)": re.compile(
        r"<script(?![^>]*\ssrc=)(?! type=\"application/json\")", re.IGNORECASE
    ),
    "an inline handler (blocked by the policy)": re.compile(r"\son[a-z]+\s*=", re.IGNORECASE),
    "hx-on (needs eval)": re.compile(r"hx-on"),
    "a trigger filter (dropped without eval, and the request is sent)": re.compile(
        r"hx-trigger\s*=\s*[\"'][^\"']*\["
    ),
    "js: (needs eval)": re.compile(r"[\"'\s]js:|javascript:", re.IGNORECASE),
    "hx-boost (a dead network then shows nothing)": re.compile(r"hx-boost"),
    "something from another host": re.compile(r"(src|href|action)\s*=\s*[\"'](https?:)?//"),
    "markup let through unescaped": re.compile(r"\|\s*safe\b"),
}


def test_there_are_templates() -> None:
    assert len(TEMPLATES) > 10


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: f"{path.parent.name}/{path.name}")
@pytest.mark.parametrize("what", FORBIDDEN)
def test_no_template_holds(path: Path, what: str) -> None:
    found = FORBIDDEN[what].search(path.read_text(encoding="utf-8"))

    assert found is None, f"{path.name} holds {what}: {found[0]}"


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_every_form_that_posts_carries_the_token(path: Path) -> None:
    text = path.read_text(encoding="utf-8")

    for form in re.findall(r"<form[^>]*method=\"post\".*?</form>", text, re.DOTALL):
        assert "hidden(" in form or 'name="csrf"' in form, form[:200]


@pytest.mark.parametrize(
    "nasty",
    [
        '<p style="color:red">',
        "<script>x</script>",
        '<button onclick="x">',
        '<a hx-trigger="click[ctrlKey]">',
        "<a hx-vals='js:{a:1}'>",
        '<img src="https://elsewhere.example/x.png">',
    ],
)
def test_the_lint_finds_what_it_should(nasty: str) -> None:
    assert any(pattern.search(nasty) for pattern in FORBIDDEN.values())


def test_vendored_files_are_as_published() -> None:
    listed = re.findall(
        r"\| `([^`]+\.js)` \|.*`([0-9a-f]{64})`", (VENDOR / "README.md").read_text()
    )

    assert {name for name, _ in listed} == {path.name for path in VENDOR.glob("*.js")}
    for name, wanted in listed:
        assert hashlib.sha256((VENDOR / name).read_bytes()).hexdigest() == wanted
