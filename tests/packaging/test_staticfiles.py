from __future__ import annotations

from pathlib import Path

import pytest

from holdtrue.staticfiles import static_folder


def make_package(folder: Path) -> Path:
    package = folder / "server" / "holdtrue"
    package.mkdir(parents=True)
    return package


def test_this_copy_of_the_package_has_its_static_files() -> None:
    assert static_folder().is_dir()


def test_an_installed_package_uses_the_files_inside_it(tmp_path: Path) -> None:
    package = make_package(tmp_path)
    (package / "static").mkdir()
    (tmp_path / "static").mkdir()
    (tmp_path / "pyproject.toml").touch()
    assert static_folder(package) == package / "static"


def test_a_checkout_uses_the_folder_beside_pyproject(tmp_path: Path) -> None:
    package = make_package(tmp_path)
    (tmp_path / "static").mkdir()
    (tmp_path / "pyproject.toml").touch()
    assert static_folder(package) == tmp_path / "static"


def test_somebody_elses_static_folder_is_not_served(tmp_path: Path) -> None:
    package = make_package(tmp_path / "site")
    (tmp_path / "site" / "static").mkdir()
    (tmp_path / "static").mkdir()
    (tmp_path / "pyproject.toml").touch()
    assert static_folder(package) == tmp_path / "static"


def test_a_package_without_static_files_says_where_it_looked(tmp_path: Path) -> None:
    package = make_package(tmp_path)
    with pytest.raises(FileNotFoundError) as raised:
        static_folder(package)
    assert str(package / "static") in str(raised.value)
    assert str(tmp_path / "static") in str(raised.value)
