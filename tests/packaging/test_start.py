"""The README's two commands on a bare copy of the checkout, and what they say when stuck."""

from __future__ import annotations

import ast
import importlib.util
import json
import subprocess
import sys
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]


def load_environment() -> Any:
    """deploy/environment.py, which lies outside the package."""
    spec = importlib.util.spec_from_file_location("environment", ROOT / "deploy/environment.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


environment = load_environment()


@pytest.mark.slow
def test_one_command_starts_a_bare_checkout_and_again_without_network_and_after_a_move(
    tmp_path: Path,
    copy_checkout: Callable[[Path], Path],
    serve: Callable[..., AbstractContextManager[Any]],
    outside_environ: dict[str, str],
    offline_environ: dict[str, str],
) -> None:
    checkout = copy_checkout(tmp_path / "first place")
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    options = ["--port", "0", "--data", tmp_path / "data"]

    command = [sys.executable, checkout / "deploy" / "start.py", *options]
    with serve(command, cwd=elsewhere, environ=outside_environ) as server:
        assert "Making an environment" in server.printed
        assert server.get("/")[0] == "text/html"
    assert (tmp_path / "data").is_dir()
    assert list(elsewhere.iterdir()) == []

    with serve(command, cwd=elsewhere, environ=offline_environ) as server:
        assert "Making" not in server.printed
        assert "Installing" not in server.printed
        assert server.get("/")[0] == "text/html"

    moved = checkout.rename(tmp_path / "second place")
    command = [sys.executable, moved / "deploy" / "start.py", *options]
    with serve(command, cwd=elsewhere, environ=offline_environ) as server:
        assert server.get("/")[0] == "text/html"
    python = environment.venv_program(moved / ".venv", "python")
    where = [str(python), "-c", "import holdtrue; print(holdtrue.__file__)"]
    done = subprocess.run(where, cwd=elsewhere, capture_output=True, text=True, check=True)
    assert Path(done.stdout.strip()) == moved / "server" / "holdtrue" / "__init__.py"


@pytest.mark.slow
@pytest.mark.parametrize("script", ["start.py", "test.py"])
def test_without_network_the_first_set_up_says_that_it_needs_one(
    script: str,
    tmp_path: Path,
    copy_checkout: Callable[[Path], Path],
    offline_environ: dict[str, str],
) -> None:
    checkout = copy_checkout(tmp_path / "checkout")
    command = [sys.executable, str(checkout / "deploy" / script)]
    done = subprocess.run(command, env=offline_environ, capture_output=True, text=True)
    assert done.returncode == 1
    assert "needs the internet once" in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize("script", ["start.py", "test.py"])
def test_an_old_python_is_told_which_one_is_needed(script: str) -> None:
    path = ROOT / "deploy" / script
    pretend = f"import runpy, sys; sys.version_info = (3, 10); runpy.run_path({str(path)!r})"
    done = subprocess.run([sys.executable, "-c", pretend], capture_output=True, text=True)
    assert done.returncode == 1
    assert done.stderr.startswith("holdtrue needs Python 3.11 or newer; this is Python ")
    assert f"deploy/{script}" in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize("script", ["start.py", "test.py"])
def test_an_old_python_can_read_the_scripts(script: str) -> None:
    """What Python 2 cannot parse would be a syntax error instead of advice."""
    tree = ast.parse((ROOT / "deploy" / script).read_text(encoding="ascii"))
    too_new = (ast.JoinedStr, ast.AnnAssign, ast.NamedExpr, ast.Starred, ast.FunctionDef)
    assert [node for node in ast.walk(tree) if isinstance(node, too_new)] == []


def test_a_python_without_venv_is_told_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    find_spec = importlib.util.find_spec
    monkeypatch.setattr(
        importlib.util,
        "find_spec",
        lambda name: None if name == "ensurepip" else find_spec(name),
    )
    with pytest.raises(environment.SetUpError, match=r"comes without ensurepip(.|\n)*-venv"):
        environment.make_venv(tmp_path / ".venv")


def test_a_folder_that_is_no_environment_is_not_cleared(tmp_path: Path) -> None:
    precious = tmp_path / ".venv" / "precious"
    precious.mkdir(parents=True)
    with pytest.raises(environment.SetUpError, match="Move it elsewhere"):
        environment.make_venv(tmp_path / ".venv")
    assert precious.is_dir()


def checkout_with(folder: Path, *, lock: str, project: str = "[project]") -> Path:
    (folder / "deploy").mkdir(parents=True)
    (folder / "pyproject.toml").write_text(project, encoding="utf-8")
    for name in (environment.RUNTIME, environment.TEST):
        (folder / "deploy" / name).write_text(lock, encoding="utf-8")
    return folder


def test_an_installation_is_stale_when_lock_project_or_place_differ(tmp_path: Path) -> None:
    checkouts = [
        checkout_with(tmp_path / "1", lock="a==1"),
        checkout_with(tmp_path / "2", lock="a==1"),
    ]
    prints = [environment.fingerprint(root, environment.RUNTIME) for root in checkouts]
    (checkouts[0] / "deploy" / environment.RUNTIME).write_text("a==2", encoding="utf-8")
    prints.append(environment.fingerprint(checkouts[0], environment.RUNTIME))
    (checkouts[0] / "pyproject.toml").write_text("[project] # changed", encoding="utf-8")
    prints.append(environment.fingerprint(checkouts[0], environment.RUNTIME))
    assert len(set(prints)) == 4
    assert prints[-1] == environment.fingerprint(checkouts[0], environment.RUNTIME)


@pytest.mark.parametrize("stamp", ["", "{", "[]", '{"requirements.lock": "something else"}'])
def test_an_unfinished_installation_does_not_pass_for_a_finished_one(
    stamp: str, tmp_path: Path
) -> None:
    root = checkout_with(tmp_path, lock="a==1")
    venv = tmp_path / ".venv"
    program = environment.venv_program(venv, "python")
    program.parent.mkdir(parents=True)
    program.symlink_to(sys.executable)
    finished = {environment.RUNTIME: environment.fingerprint(root, environment.RUNTIME)}
    (venv / environment.STAMP).write_text(json.dumps(finished), encoding="utf-8")
    assert environment.is_ready(root, venv, environment.RUNTIME)
    (venv / environment.STAMP).write_text(stamp, encoding="utf-8")
    assert not environment.is_ready(root, venv, environment.RUNTIME)


def test_an_environment_whose_python_is_gone_does_not_work(tmp_path: Path) -> None:
    program = environment.venv_program(tmp_path, "python")
    program.parent.mkdir()
    program.symlink_to(tmp_path / "gone")
    assert not environment.python_works(tmp_path)


def test_programs_are_found_where_each_system_keeps_them() -> None:
    venv = Path("x") / ".venv"
    windows = environment.venv_program(venv, "python", windows=True)
    assert windows == venv / "Scripts" / "python.exe"
    assert environment.venv_program(venv, "holdtrue", windows=False) == venv / "bin" / "holdtrue"


@pytest.mark.parametrize(
    ("complaint", "advice"),
    [
        ("[Errno -3] Temporary failure in name resolution", "needs the internet once"),
        ("[Errno 111] Connection refused", "needs the internet once"),
        ("[Errno 28] No space left on device", "disk is full"),
        ("THESE PACKAGES DO NOT MATCH THE HASHES FROM THE REQUIREMENTS FILE", "changes files"),
        ("error: something nobody thought of", "message above"),
    ],
)
def test_a_failed_installation_ends_with_what_to_do(complaint: str, advice: str) -> None:
    assert advice in environment.pip_advice(f"WARNING: one\nERROR: {complaint}\n")


def test_errors_and_ctrl_c_end_without_a_traceback(capsys: pytest.CaptureFixture[str]) -> None:
    def fail(arguments: list[str]) -> int:
        raise environment.SetUpError("do this")

    def stop(arguments: list[str]) -> int:
        raise KeyboardInterrupt

    for task, status, words in ((fail, 1, "do this"), (stop, 130, "Start again")):
        with pytest.raises(SystemExit) as ended:
            environment.run(task, [])
        assert ended.value.code == status
        assert words in capsys.readouterr().err
