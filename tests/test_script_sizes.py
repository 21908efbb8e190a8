"""A script that cannot be read in one go is split."""

from __future__ import annotations

from pathlib import Path

from holdtrue.staticfiles import static_folder

MOST_LINES = 199


def own_scripts() -> list[Path]:
    folder = static_folder() / "js"
    return [file for file in folder.rglob("*.js") if "vendor" not in file.parts]


def test_every_script_of_ours_is_under_200_lines() -> None:
    files = own_scripts()
    assert len(files) > 50
    lines = {file.name: len(file.read_text("utf-8").splitlines()) for file in files}
    assert {name: count for name, count in lines.items() if count > MOST_LINES} == {}
