"""The composition root: the data folder and the secret in it."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest

from holdtrue.bootstrap import StartError, make_folder, read_or_make_secret, services_for
from holdtrue.settings import Settings
from holdtrue.store.port import StoreBrokenError


def test_it_works(tmp_path: Path) -> None:
    settings = Settings(data_dir=tmp_path / "data", public_url="https://hang.example.org")

    services = services_for(settings)

    assert services.public_url == "https://hang.example.org"
    assert services.store.streams() == ()
    services.store.close()


def test_the_secret_is_made_once_for_the_owner_only(tmp_path: Path) -> None:
    path = tmp_path / "secret.key"

    made = read_or_make_secret(path)

    assert len(made) == 32
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert read_or_make_secret(path) == made
    assert [file.name for file in tmp_path.iterdir()] == ["secret.key"]


def test_the_data_folder_is_the_owners_only(tmp_path: Path) -> None:
    make_folder(tmp_path / "a" / "b")

    assert stat.S_IMODE((tmp_path / "a" / "b").stat().st_mode) == 0o700


def test_a_damaged_secret_stops_the_start(tmp_path: Path) -> None:
    (tmp_path / "secret.key").write_bytes(b"short")

    with pytest.raises(StartError, match="damaged"):
        read_or_make_secret(tmp_path / "secret.key")


def test_a_secret_that_cannot_be_read_stops_the_start(tmp_path: Path) -> None:
    (tmp_path / "secret.key").mkdir()

    with pytest.raises(StartError, match="Cannot read"):
        read_or_make_secret(tmp_path / "secret.key")


def test_a_secret_that_cannot_be_written_stops_the_start(tmp_path: Path) -> None:
    with pytest.raises(StartError, match="Cannot write"):
        read_or_make_secret(tmp_path / "missing" / "secret.key")


def test_a_data_folder_that_is_a_file_stops_the_start(tmp_path: Path) -> None:
    (tmp_path / "data").write_text("")

    with pytest.raises(StartError, match="Cannot use the data folder"):
        make_folder(tmp_path / "data")


def test_a_data_folder_in_use_stops_the_start(tmp_path: Path) -> None:
    settings = Settings(data_dir=tmp_path)
    first = services_for(settings)

    with pytest.raises(StoreBrokenError):
        services_for(settings)
    first.store.close()
