"""Write the two lock files anew from pyproject.toml, with hashes, for every platform.

Needs uv (https://docs.astral.sh/uv/) on the path, or its place in the variable UV. Only whoever
changes a dependency runs this; setting up and serving need nothing but Python. ``--upgrade`` takes
newer versions of what our own dependencies bring along; ours are pinned in pyproject.toml.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent

LOCKS = (
    ("build", ROOT / "deploy" / "requirements.lock", ()),
    # what both locks hold has the same version in both
    ("test", ROOT / "deploy" / "requirements-test.lock", ("-c", "deploy/requirements.lock")),
)


def main(arguments: list[str]) -> None:
    uv = os.environ.get("UV", "uv")
    for group, lock, constraint in LOCKS:
        subprocess.run(
            [
                *(uv, "pip", "compile", "pyproject.toml", "--group", group, *constraint),
                # one file for Linux, macOS, Windows and every Python from the oldest we take
                *("--universal", "--python-version", "3.11", "--generate-hashes"),
                # the address of an index belongs to a machine, not to the project
                *("--no-emit-index-url", "--no-emit-find-links"),
                *("--custom-compile-command", "python3 deploy/lock.py"),
                *("--quiet", "--output-file", str(lock.relative_to(ROOT)), *arguments),
            ],
            cwd=ROOT,
            check=True,
        )
        print(f"wrote {lock.relative_to(ROOT)}")


if __name__ == "__main__":
    main(sys.argv[1:])
