"""``holdtrue label JOB``."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from holdtrue.cli import main
from tests.walking import REFERENCE

Captured = pytest.CaptureFixture[str]
JOB = str(REFERENCE / "tidewrack.job.json")


def svg_of(path: str) -> ET.Element:
    return ET.fromstring(Path(path).read_text(encoding="utf-8"))  # noqa: S314 - our own label


def test_one_crate_with_everything_on_a6(tmp_path: Path, capsys: Captured) -> None:
    assert main(["label", JOB, "--out", str(tmp_path / "new"), "--date", "2026-11-05"]) == 0
    (path,) = capsys.readouterr().out.split()
    root = svg_of(path)
    assert (root.get("width"), root.get("height")) == ("105mm", "148mm")
    said = " ".join(root.itertext())
    assert "crate 1 of 1" in said
    assert "2026-11-05" in said
    assert "no card to scan" in said
    assert "Tidewrack" not in said
    assert root.find(".//*[@data-code='card']") is None


def test_crates_an_address_and_the_title(tmp_path: Path, capsys: Captured) -> None:
    options = ["--crate", "A,B", "--crate", "C, D", "--size", "4x6", "--title"]
    address = ["--address", "https://hang.example.org/C/7K3MQ2XDA9V0TBR5W8ENHJ4CFP"]
    assert main(["label", JOB, "--out", str(tmp_path), *options, *address]) == 0
    first, second = (svg_of(path) for path in capsys.readouterr().out.split())
    assert "crate 1 of 2" in " ".join(first.itertext())
    assert "crate 2 of 2" in " ".join(second.itertext())
    assert "Tidewrack" in " ".join(second.itertext())
    assert second.find(".//*[@data-code='card']") is not None


def test_the_same_file_gets_the_same_short_id(tmp_path: Path, capsys: Captured) -> None:
    for name in ("x", "y"):
        assert main(["label", JOB, "--out", str(tmp_path / name)]) == 0
    first, second = capsys.readouterr().out.split()
    assert Path(first).name == Path(second).name


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--crate", "Z"], "give panels of this work: A, B, C, D"),
        (["--crate", "A", "--crate", ""], "give panels of this work"),
        (["--date", "yesterday"], "give a date as in"),
        (["--address", "https://hang.example.org/" + "C" * 600], "shorter address"),
    ],
)
def test_what_cannot_be_printed_is_said_and_nothing_is_written(
    tmp_path: Path, capsys: Captured, options: list[str], said: str
) -> None:
    assert main(["label", JOB, "--out", str(tmp_path), *options]) == 1
    answer = capsys.readouterr()
    assert answer.out == ""
    assert said in answer.err
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_cannot_be_is_said(tmp_path: Path, capsys: Captured) -> None:
    (tmp_path / "file").write_text("x")
    assert main(["label", JOB, "--out", str(tmp_path / "file")]) == 1
    assert "cannot be written" in capsys.readouterr().err


def test_a_wrong_job_file_is_named(tmp_path: Path, capsys: Captured) -> None:
    file = tmp_path / "job.json"
    file.write_text("{}")
    assert main(["label", str(file), "--out", str(tmp_path)]) == 1
    assert "job.json: format" in capsys.readouterr().err


@pytest.mark.parametrize("odd", ["http://x/\udcff", "http://x/\x9b1m", "http://x/\u202e"])
def test_an_address_that_is_no_text_is_refused_in_one_line(
    tmp_path: Path, capsys: Captured, odd: str
) -> None:
    """Bytes that are no UTF-8 reach a program as halves of characters (PEP 383)."""
    folder = tmp_path / "labels"

    assert main(["label", JOB, "--out", str(folder), "--address", odd]) == 1

    said = capsys.readouterr()
    assert said.err.startswith("holdtrue: --address: ")
    assert said.err.count("\n") == 1
    assert said.err.isascii()
    assert not folder.exists()
