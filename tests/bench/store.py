"""How long a durable append takes, against the least it could take on the same disk.

Entries go to three jobs in turn, and every append is followed by a bare one (write and fsync of
a line of the same size), so that both see the same disk at the same time. The ratio is what the
store costs; the milliseconds belong to the machine.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

from holdtrue.store.port import NewEntry
from holdtrue.store.tinydb import TinyStore

JOBS = ("job-A", "job-B", "job-C")
BODY = {"seat": "B2", "x": {"mm": 1608.1375, "typed": "63 5/16 in"}, "note": "x" * 40}


def main(arguments: list[str]) -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench store")
    parser.add_argument("--entries", type=int, default=300, help="entries in each job")
    parser.add_argument("--dir", type=Path, help="where to write; the disk to be measured")
    options = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory(dir=options.dir) as folder:
        store_ms, raw_ms = measure(Path(folder), options.entries)
        reopen_ms = measure_reopening(Path(folder) / "data")
    report(store_ms, raw_ms, reopen_ms, options.entries)


def measure(folder: Path, entries: int) -> tuple[list[float], list[float]]:
    store = TinyStore(folder / "data")
    fds = [os.open(folder / job, os.O_WRONLY | os.O_CREAT | os.O_APPEND) for job in JOBS]
    store_ms, raw_ms = [], []
    for seq in range(entries):
        for job, fd in zip(JOBS, fds, strict=True):
            new = NewEntry(key=f"{seq:032x}", type="T", body=BODY, who="p", received="2031")
            append = partial(store.append, job, new, expected=seq)
            store_ms.append(timed_ms(append))
            line = last_line(folder / "data" / "streams" / f"{job}.log")
            raw_ms.append(timed_ms(partial(raw_append, fd, line)))
    for fd in fds:
        os.close(fd)
    store.close()
    return store_ms, raw_ms


def measure_reopening(directory: Path) -> float:
    store = TinyStore(directory)
    taken_ms = timed_ms(lambda: store.read(JOBS[0]))
    store.close()
    return taken_ms


def raw_append(fd: int, line: bytes) -> None:
    os.write(fd, line)
    os.fsync(fd)


def last_line(path: Path) -> bytes:
    return path.read_bytes().splitlines(keepends=True)[-1]


def timed_ms(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return (time.perf_counter() - start) * 1000


def percentile(values: list[float], share: float) -> float:
    return sorted(values)[min(int(len(values) * share), len(values) - 1)]


def report(store_ms: list[float], raw_ms: list[float], reopen_ms: float, entries: int) -> None:
    lines = [
        f"{len(JOBS)} jobs, {entries} entries each",
        "",
        "          store ms    raw ms   ratio",
    ]
    for name, share in (("p50", 0.50), ("p95", 0.95)):
        store, raw = percentile(store_ms, share), percentile(raw_ms, share)
        lines.append(f"{name:>5} {store:12.3f} {raw:9.3f} {store / raw:7.2f}")
    lines += ["", f"opening and reading one job: {reopen_ms:.2f} ms"]
    sys.stdout.write("\n".join(lines) + "\n")
