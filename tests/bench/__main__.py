"""``python -m tests.bench NAME [arguments]`` runs the benchmark in ``tests/bench/NAME.py``.

Every module beside this one is a benchmark; its ``main`` takes the arguments behind its name.
"""

from __future__ import annotations

import importlib
import pkgutil
import sys
from pathlib import Path


def names() -> list[str]:
    found = pkgutil.iter_modules([str(Path(__file__).parent)])
    return sorted(module.name for module in found if not module.name.startswith("_"))


def main(arguments: list[str]) -> int:
    if not arguments or arguments[0] not in names():
        sys.stderr.write(f"usage: python -m tests.bench {{{','.join(names())}}} [arguments]\n")
        return 2
    importlib.import_module(f"tests.bench.{arguments[0]}").main(arguments[1:])
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
