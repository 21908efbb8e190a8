"""``holdtrue backup`` and ``holdtrue check``."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from holdtrue.cli import main
from holdtrue.store.outside import read_stream
from holdtrue.store.tinydb import TinyStore

Captured = pytest.CaptureFixture[str]


def test_a_backup_holds_every_entry_and_the_secret(
    data: Path, job_id: str, tmp_path: Path, capsys: Captured
) -> None:
    target = tmp_path / "copy"
    assert main(["backup", str(target), "--data", str(data)]) == 0
    stream = f"job-{job_id}"
    assert read_stream(target, stream) == read_stream(data, stream)
    assert (target / "secret.key").read_bytes() == (data / "secret.key").read_bytes()
    said = capsys.readouterr().out
    assert "1 logs" in said
    assert "1 photos" in said
    assert "secret.key: keep it as safe as the data" in said
    if os.name == "posix":
        assert (target / "secret.key").stat().st_mode & 0o777 == 0o600


def test_a_backup_can_be_made_beside_a_running_server_and_served(
    data: Path, job_id: str, tmp_path: Path
) -> None:
    target = tmp_path / "copy"
    running = TinyStore(data)
    try:
        assert main(["backup", str(target), "--data", str(data)]) == 0
    finally:
        running.close()
    restored = TinyStore(target)
    assert restored.streams() == (f"job-{job_id}",)
    restored.close()


def test_without_a_secret_there_is_none_to_copy(
    data: Path, job_id: str, tmp_path: Path, capsys: Captured
) -> None:
    (data / "secret.key").unlink()
    assert main(["backup", str(tmp_path / "copy"), "--data", str(data)]) == 0
    assert "secret.key" not in capsys.readouterr().out


def test_a_folder_in_use_is_left_alone(
    data: Path, job_id: str, tmp_path: Path, capsys: Captured
) -> None:
    (tmp_path / "copy").mkdir()
    (tmp_path / "copy" / "mine.txt").write_text("mine")
    assert main(["backup", str(tmp_path / "copy"), "--data", str(data)]) == 1
    assert "already there" in capsys.readouterr().err
    assert [path.name for path in (tmp_path / "copy").iterdir()] == ["mine.txt"]


def test_a_sound_store_checks_out(data: Path, job_id: str, capsys: Captured) -> None:
    assert main(["check", "--data", str(data)]) == 0
    said = capsys.readouterr()
    assert "all as they were written" in said.out
    assert said.err == ""


def test_damage_is_named_and_nothing_is_said_to_be_fine(
    data: Path, job_id: str, tmp_path: Path, capsys: Captured
) -> None:
    path = data / "streams" / f"job-{job_id}.log"
    text = bytearray(path.read_bytes())
    text[500] ^= 1
    path.write_bytes(bytes(text))
    assert main(["check", "--data", str(data)]) == 1
    said = capsys.readouterr()
    assert (said.out, "damaged" in said.err) == ("", True)
    # a backup of it loses nothing, but does not pass for a sound one
    assert main(["backup", str(tmp_path / "copy"), "--data", str(data)]) == 1
    assert "damaged" in capsys.readouterr().err


def test_a_folder_without_data_is_said(tmp_path: Path, capsys: Captured) -> None:
    for command in (["check"], ["backup", str(tmp_path / "copy")]):
        assert main([*command, "--data", str(tmp_path / "none")]) == 1
        assert "not a data directory" in capsys.readouterr().err


def test_a_setting_that_cannot_be_used_is_named(
    capsys: Captured, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HOLDTRUE_DATTA", "x")
    assert main(["check"]) == 1
    assert "HOLDTRUE_DATTA" in capsys.readouterr().err


def test_check_notes_a_copied_log_and_names_an_emptied_one(
    data: Path, job_id: str, capsys: Captured
) -> None:
    log = data / "streams" / f"job-{job_id}.log"
    copy = log.with_name("job-OLD.log")
    copy.write_bytes(log.read_bytes())
    assert main(["check", "--data", str(data)]) == 0
    assert f"note: {copy}: its name is no job's id" in capsys.readouterr().err

    log.write_bytes(b"")
    assert main(["check", "--data", str(data)]) == 1
    assert f"{log}: holds no entry; bring it back from a backup" in capsys.readouterr().err
