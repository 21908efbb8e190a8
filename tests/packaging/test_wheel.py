"""The built wheel on its own: everything in it, nothing else, and it plans and serves.

Built by hatchling from a clean copy and installed in an environment outside the checkout, so that a
file that only the checkout has cannot help it.
"""

from __future__ import annotations

import json
import subprocess
import sys
import zipfile
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
GOLDEN = ROOT / "tests" / "reference"

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory, copy_checkout: Callable[[Path], Path]) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    copy = copy_checkout(folder / "checkout")
    # lies about in a checkout that is in use, is ignored by git, and must stay out
    for stray in ("static/__pycache__/stray.pyc", "server/holdtrue/.coverage"):
        (copy / stray).parent.mkdir(exist_ok=True)
        (copy / stray).write_text("stray", encoding="utf-8")
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder / "dist")]
    done = subprocess.run(build, cwd=copy, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    (built,) = (folder / "dist").glob("*.whl")
    return built


@pytest.fixture(scope="module")
def programs(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder of the programs of a fresh environment with the wheel and the locked versions."""
    venv = tmp_path_factory.mktemp("fresh") / "venv"
    subprocess.run([sys.executable, "-m", "venv", venv], check=True)
    folder = venv / ("Scripts" if sys.platform == "win32" else "bin")
    pip = [str(folder / "python"), "-m", "pip", "install", "--quiet", "--no-input"]
    lock = str(ROOT / "deploy" / "requirements.lock")
    subprocess.run([*pip, "--require-hashes", "-r", lock], check=True)
    subprocess.run([*pip, "--no-deps", "--no-index", str(wheel)], check=True)
    return folder


@pytest.fixture(scope="module")
def server(
    programs: Path,
    serve: Callable[..., AbstractContextManager[Any]],
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[Any]:
    folder = tmp_path_factory.mktemp("venue")
    command = [programs / "holdtrue", "serve", "--port", "0", "--data", folder / "data"]
    with serve(command, cwd=folder) as running:
        yield running


def test_the_wheel_holds_the_package_and_the_static_files_and_nothing_else(
    wheel: Path, tracked: Callable[..., list[str]]
) -> None:
    names = {name for name in zipfile.ZipFile(wheel).namelist() if ".dist-info/" not in name}
    package = {name.removeprefix("server/") for name in tracked("server/holdtrue")}
    static = {f"holdtrue/{name}" for name in tracked("static")}
    assert static, "there are static files to look for"
    assert names == package | static


def test_the_wheel_carries_its_licence(wheel: Path) -> None:
    (name,) = (n for n in zipfile.ZipFile(wheel).namelist() if n.endswith("licenses/LICENSE"))
    assert zipfile.ZipFile(wheel).read(name) == (ROOT / "LICENSE").read_bytes()


@pytest.mark.parametrize("job", ["tidewrack", "staithe"])
def test_the_installed_command_plans_the_golden_job(
    job: str, programs: Path, tmp_path: Path
) -> None:
    command = [str(programs / "holdtrue"), "plan", str(GOLDEN / f"{job}.job.json"), "--json"]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    golden = json.loads((GOLDEN / f"{job}.plan.json").read_text(encoding="utf-8"))
    planned = json.loads(done.stdout)
    assert [row["seat"] for row in planned] == [row["seat"] for row in golden]
    for row, expected in zip(planned, golden, strict=True):
        for name in ("x_mm", "y_mm", "hole_y_mm", "load_N", "pull_N"):
            assert row[name] == pytest.approx(expected[name], abs=0.05), (row["seat"], name)


def test_the_installed_server_serves_the_sign_in_page(server: Any) -> None:
    kind, body = server.get("/")
    assert kind == "text/html"
    assert b"holdtrue" in body


def test_the_installed_server_serves_every_static_file(
    server: Any, tracked: Callable[..., list[str]]
) -> None:
    names = tracked("static")
    assert names
    for name in names:
        assert server.get(f"/{name}")[1] == (ROOT / name).read_bytes(), name
