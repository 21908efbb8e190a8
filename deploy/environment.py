"""The environment holdtrue runs in: ``.venv`` in the checkout, filled from a lock file with hashes.

Standard library only, since nothing else is there yet. What was installed, and for which checkout,
is written into the environment; while that still holds, nothing is installed again and a start
needs no network. When it does not (the lock changed, the checkout was moved, an installation was
cut off), pip adds what is missing; an environment whose own Python is gone is made anew.
"""

from __future__ import annotations

import hashlib
import importlib.util
import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import NoReturn

ROOT = Path(__file__).resolve().parent.parent
OLDEST = (3, 11)

RUNTIME = "requirements.lock"
TEST = "requirements-test.lock"

# As many at a time as there are cores, four at most. A file's tests stay together: they share what
# is dear to make. Files begin in their usual order, so that the browser's long ones do not come
# last.
SIDE_BY_SIDE = [
    f"--numprocesses={min(os.cpu_count() or 1, 4)}",
    *("--dist=loadfile", "--no-loadscope-reorder"),
]

STAMP = "holdtrue-installed.json"

NO_NETWORK = (
    "Temporary failure in name resolution",
    "Name or service not known",
    "nodename nor servname",
    "getaddrinfo failed",
    "Failed to establish a new connection",
    "Network is unreachable",
    "No route to host",
    "Connection refused",
    "ConnectTimeoutError",
    "ReadTimeoutError",
    "NewConnectionError",
    "NameResolutionError",
)


class SetUpError(Exception):
    """Setting up cannot go on; the message says what to do."""


def venv_program(venv: Path, name: str, *, windows: bool = os.name == "nt") -> Path:
    """Where an environment keeps a program, such as ``python``."""
    return venv / "Scripts" / f"{name}.exe" if windows else venv / "bin" / name


def fingerprint(root: Path, lock: str) -> str:
    """Changes with whatever makes an installation stale."""
    digest = hashlib.sha256()
    for path in (root / "pyproject.toml", root / "deploy" / lock):
        digest.update(path.read_bytes())
    # an editable install points at one checkout; a copy of it elsewhere must not serve the old one
    digest.update(str(root).encode())
    return digest.hexdigest()


def installed(venv: Path) -> dict[str, str]:
    """What was installed: fingerprint by lock file; nothing when unknown or unreadable."""
    try:
        stamp = json.loads((venv / STAMP).read_text(encoding="utf-8"))
    except (FileNotFoundError, NotADirectoryError, ValueError):
        return {}
    return stamp if isinstance(stamp, dict) else {}


def is_ready(root: Path, venv: Path, lock: str) -> bool:
    """True when ``lock`` is installed as it stands; the tests' lock holds the runtime one too."""
    stamp = installed(venv)
    return any(
        stamp.get(held) == fingerprint(root, held) for held in {lock, TEST}
    ) and python_works(venv)


def python_works(venv: Path) -> bool:
    """True when the environment's Python starts, is new enough and has pip."""
    check = (
        "import importlib.util, sys\n"
        f"sys.exit(sys.version_info < {OLDEST!r} or importlib.util.find_spec('pip') is None)"
    )
    try:
        done = subprocess.run(
            [venv_program(venv, "python"), "-c", check], capture_output=True, check=False
        )
    except OSError:
        return False
    return done.returncode == 0


def make_venv(venv: Path) -> None:
    """A new, empty environment at ``venv``; refuses to clear a folder that is something else."""
    if venv.exists() and not (venv / "pyvenv.cfg").is_file():
        raise SetUpError(f"{venv} is in the way and is no Python environment. Move it elsewhere.")
    for module in ("venv", "ensurepip"):
        if importlib.util.find_spec(module) is None:
            raise SetUpError(no_venv_advice(module))
    print(f"Making an environment in {venv}", flush=True)
    done = subprocess.run(
        [sys.executable, "-m", "venv", "--clear", venv],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        check=False,
    )
    if done.returncode != 0:
        raise SetUpError(f"The environment could not be made:\n{done.stdout.strip()}")


def no_venv_advice(module: str) -> str:
    version = f"{sys.version_info.major}.{sys.version_info.minor}"
    return (
        f"This Python ({sys.executable}) comes without {module}, which makes environments.\n"
        f"On Debian and Ubuntu: sudo apt-get install python{version}-venv\n"
        "Elsewhere: install Python from python.org or your system's packages, with pip and venv."
    )


def pip(venv: Path, arguments: Iterable[str], *, root: Path) -> None:
    """Run the environment's pip; its complaints are shown as they come and explained at the end."""
    python = str(venv_program(venv, "python"))
    command = [python, "-m", "pip", "install", "--quiet", "--no-input"]
    # settings a person may have for other work and that would install somewhere else or not at all
    environ = os.environ | {"PIP_USER": "0", "PIP_DISABLE_PIP_VERSION_CHECK": "1"}
    for name in ("PIP_TARGET", "PIP_PREFIX", "PYTHONHOME", "PYTHONPATH"):
        environ.pop(name, None)
    complaints: list[str] = []
    with subprocess.Popen(
        [*command, *arguments], cwd=root, env=environ, stderr=subprocess.PIPE, text=True
    ) as process:
        assert process.stderr is not None
        for line in process.stderr:
            sys.stderr.write(line)
            complaints.append(line)
    if process.returncode != 0:
        raise SetUpError(pip_advice("".join(complaints)))


def pip_advice(complaints: str) -> str:
    """What to do about a failed installation, from what pip said."""
    if any(sign in complaints for sign in NO_NETWORK):
        return (
            "The dependencies could not be fetched: the package index did not answer.\n"
            "The first set-up needs the internet once: connect and start again (behind a proxy,\n"
            "set HTTPS_PROXY first). Later starts need no network."
        )
    if "No space left" in complaints:
        return "The disk is full. Free about 300 MB and start again."
    if "DO NOT MATCH THE HASHES" in complaints:
        return (
            "A fetched file is not the one the lock file names, so it was not installed.\n"
            "Start again; if it stays, something between you and the package index changes files."
        )
    return "The dependencies could not be installed; pip's message above says why."


def install(root: Path, venv: Path, lock: str) -> None:
    """Install what the lock names, then the checkout itself, and write down that it is done."""
    # gone first: an installation cut off half-way must not pass for a finished one
    (venv / STAMP).unlink(missing_ok=True)
    print(f"Installing what deploy/{lock} names; this can take a few minutes", flush=True)
    pip(venv, ["--require-hashes", "-r", str(root / "deploy" / lock)], root=root)
    # the build backend came with the lock, so nothing unpinned is fetched to build our own package
    pip(venv, ["--no-build-isolation", "--no-deps", "-e", str(root)], root=root)
    stamp = json.dumps({lock: fingerprint(root, lock)})
    (venv / STAMP).write_text(stamp, encoding="utf-8")


def ensure(lock: str, root: Path = ROOT) -> Path:
    """The environment with ``lock`` installed, made or mended if need be; returns its folder."""
    venv = root / ".venv"
    if not is_ready(root, venv, lock):
        if not python_works(venv):
            make_venv(venv)
        install(root, venv, lock)
    return venv


def hand_over(program: Path, arguments: Sequence[str]) -> int:
    """Run a program in place of this one; where that is not possible, wait for it.

    Replacing this process means that Ctrl-C and a service manager's signals reach the program
    itself. Windows cannot replace a process; there Ctrl-C reaches both, so this one only waits.
    """
    sys.stdout.flush()
    if os.name != "nt":
        os.execv(program, [str(program), *arguments])
    with subprocess.Popen([program, *arguments]) as process:
        while True:
            try:
                return process.wait()
            except KeyboardInterrupt:
                continue  # the program got it as well and is closing down; its status counts


def serve(arguments: list[str]) -> int:
    """What deploy/start.py does."""
    venv = ensure(RUNTIME)
    return hand_over(venv_program(venv, "holdtrue"), ["serve", *arguments])


def test(arguments: list[str]) -> int:
    """What deploy/test.py does."""
    venv = ensure(TEST)
    # pytest reads its settings, and finds the tests, from the top of the checkout
    os.chdir(ROOT)
    return hand_over(venv_program(venv, "python"), ["-m", "pytest", *SIDE_BY_SIDE, *arguments])


def run(task: Callable[[list[str]], int], arguments: list[str]) -> NoReturn:
    """Run a script's task; an error that says what to do is printed without a traceback."""
    try:
        status = task(arguments)
    except SetUpError as error:
        print(f"\n{error}", file=sys.stderr)
        status = 1
    except KeyboardInterrupt:
        print("\nStopped before it was finished. Start again to go on.", file=sys.stderr)
        status = 130
    sys.exit(status)
