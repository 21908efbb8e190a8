"""``holdtrue export`` and ``holdtrue import``."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path

import pytest

from holdtrue.cli import main
from holdtrue.store.outside import read_stream
from holdtrue.store.tinydb import TinyStore

Captured = pytest.CaptureFixture[str]


def exported(job_id: str, data: Path, capsys: Captured) -> str:
    assert main(["export", job_id, "--data", str(data)]) == 0
    return capsys.readouterr().out


def test_out_and_in_again_gives_the_identical_entries(
    data: Path, job_id: str, tmp_path: Path, capsys: Captured
) -> None:
    file = tmp_path / "job.json"
    file.write_text(exported(job_id, data, capsys), encoding="utf-8")
    other = tmp_path / "other"

    assert main(["import", str(file), "--data", str(other)]) == 0

    stream = f"job-{job_id}"
    entries = read_stream(data, stream)
    assert read_stream(other, stream) == entries
    assert capsys.readouterr().out == f"job {job_id}: {len(entries)} entries brought in\n"
    again = json.loads(exported(job_id, other, capsys))
    first = json.loads(file.read_text(encoding="utf-8"))
    assert (again["entries"], again["blobs"]) == (first["entries"], first["blobs"])


def test_exporting_works_beside_a_running_server(data: Path, job_id: str, capsys: Captured) -> None:
    running = TinyStore(data)
    try:
        document = json.loads(exported(job_id.lower(), data, capsys))
    finally:
        running.close()
    assert document["job"] == job_id
    assert "Ivo Installer" in document["people"].values()


def test_standard_input_is_read(
    data: Path, job_id: str, tmp_path: Path, capsys: Captured, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = exported(job_id, data, capsys)
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text.encode())))
    assert main(["import", "-", "--data", str(tmp_path / "other")]) == 0
    assert job_id in capsys.readouterr().out


@pytest.mark.parametrize("asked", ["ZZZZZZZZ", "house", "../x"])
def test_a_job_that_is_not_there_is_said(
    data: Path, job_id: str, capsys: Captured, asked: str
) -> None:
    assert main(["export", asked, "--data", str(data)]) == 1
    said = capsys.readouterr()
    assert said.out == ""
    assert "no" in said.err


def test_a_folder_without_data_is_said(tmp_path: Path, capsys: Captured) -> None:
    assert main(["export", "ZZZZZZZZ", "--data", str(tmp_path)]) == 1
    assert "not a data directory" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("content", "said"),
    [(b"", "is not JSON"), (b"{}", "is not a bundle"), (None, "cannot be read")],
)
def test_what_is_no_bundle_is_refused_and_nothing_is_made(
    tmp_path: Path, capsys: Captured, content: bytes | None, said: str
) -> None:
    file, other = tmp_path / "b.json", tmp_path / "other"
    if content is not None:
        file.write_bytes(content)
    assert main(["import", str(file), "--data", str(other)]) == 1
    answer = capsys.readouterr()
    assert (answer.out, said in answer.err) == ("", True)
    assert not other.exists()


def test_what_never_ends_is_not_read_to_its_end(
    tmp_path: Path, capsys: Captured, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("holdtrue.domain.bundle.MAX_BYTES", 1024 * 1024)

    assert main(["import", "/dev/zero", "--data", str(tmp_path / "other")]) == 1
    assert "larger than 1 MB" in capsys.readouterr().err


def test_a_job_that_went_on_differently_is_refused(
    data: Path, job_id: str, tmp_path: Path, capsys: Captured
) -> None:
    document = json.loads(exported(job_id, data, capsys))
    other = tmp_path / "other"
    file = tmp_path / "b.json"
    file.write_text(json.dumps(document), encoding="utf-8")
    assert main(["import", str(file), "--data", str(other)]) == 0
    from holdtrue.domain.bundle import checksum

    document["entries"][3]["received"] = "2020-01-01T00:00:00.000Z"
    file.write_text(json.dumps(document | {"sha256": checksum(document)}), encoding="utf-8")
    capsys.readouterr()
    assert main(["import", str(file), "--data", str(other)]) == 1
    assert "differs from entry 4 on" in capsys.readouterr().err
    assert read_stream(other, f"job-{job_id}") == read_stream(data, f"job-{job_id}")


def test_importing_beside_a_running_server_is_refused(
    data: Path, job_id: str, tmp_path: Path, capsys: Captured
) -> None:
    file = tmp_path / "b.json"
    file.write_text(exported(job_id, data, capsys), encoding="utf-8")
    running = TinyStore(tmp_path / "other")
    try:
        assert main(["import", str(file), "--data", str(tmp_path / "other")]) == 1
    finally:
        running.close()
    assert "already in use" in capsys.readouterr().err


def test_a_damaged_store_is_not_exported(data: Path, job_id: str, capsys: Captured) -> None:
    path = data / "streams" / f"job-{job_id}.log"
    text = bytearray(path.read_bytes())
    text[500] ^= 1
    path.write_bytes(bytes(text))
    assert main(["export", job_id, "--data", str(data)]) == 1
    said = capsys.readouterr()
    assert (said.out, "damaged" in said.err) == ("", True)
