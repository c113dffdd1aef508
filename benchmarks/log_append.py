"""What keeping an event costs beside the sync that makes it safe.

The floor is `orjson.dumps` and SHA-256 of the same event. In this process, in turn with it, as multiples of it:

- line: what Benchwalk itself does to make the line (check every value, encode, chain, hash);
- calls: the system's own calls of an append, bare: one write, and two looks at the file that show nobody touched it;
- append: all of an append but the sync (of one event, and per event of an act of four);
- synced: an append with a real sync, the sync's own time taken off; caches and the file are then as cold as at work.

Last, whole: a real append against the bare floor with a write and a sync of the same bytes, the wait at the bench.

    python benchmarks/log_append.py [PAIRS]      15 pairs by default; only ratios of one run mean anything
"""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

import orjson

from benchwalk.job.disk import OsDisk
from benchwalk.job.line import FIRST, seal
from benchwalk.job.log import Holder, JobLog

EVENTS = 300  # in one measurement
GOAL = 3.0
NOW = datetime(2026, 11, 25, 9, 53, 46, tzinfo=UTC)
HOLDER = Holder.here("ada", NOW)


def reading(n: int) -> dict[str, Any]:
    """A typical event; with its hashes the line has some 500 bytes."""
    return {
        "v": 1,
        "n": n,
        "at": "2026-11-25T09:53:46+00:00",
        "who": "ada",
        "what": "read",
        "visit": "far/measure-gap",
        "run": "far",
        "name": "butt_gap",
        "place": None,
        "typed": "6,35 mm",
        "value": "6.35",
        "unit": "mm",
        "verdict": "within",
        "by": "wanted",
        "against": "3 to 8 mm",
        "odd": False,
        "late_at": None,
    }


class Unsynced(OsDisk):
    """The real disk without syncs."""

    fsync = staticmethod(lambda fd: None)


class Timed(OsDisk):
    """The real disk, which adds up the time its syncs take."""

    spent = 0.0

    def fsync(self, fd: int) -> None:
        start = time.perf_counter()
        os.fsync(fd)
        self.spent += time.perf_counter() - start


def append(path: Path, disk: Any, together: int = 1) -> float:
    """Microseconds of appending one event, `together` in an act; syncs that the disk timed are taken off."""
    with JobLog.open(path, HOLDER, disk=disk) as log:
        bodies = [[reading(n + k) for k in range(1, together + 1)] for n in range(0, EVENTS, together)]
        before = getattr(disk, "spent", 0.0)
        start = time.perf_counter()
        for body in bodies:
            log.append(body)
        spent = time.perf_counter() - start - (getattr(disk, "spent", 0.0) - before)
    return spent / EVENTS * 1e6


def floor(path: Path) -> float:
    """Microseconds of encoding and hashing one event as it stands in the log."""
    bodies = [{**reading(n), "before": "0" * 64} for n in range(EVENTS)]
    start = time.perf_counter()
    for body in bodies:
        sha256(orjson.dumps(body)).hexdigest()
    return (time.perf_counter() - start) / EVENTS * 1e6


def line(path: Path) -> float:
    """Microseconds of making one line of the log."""
    bodies = [reading(n) for n in range(1, EVENTS + 1)]
    before = FIRST
    start = time.perf_counter()
    for n, body in enumerate(bodies, 1):
        _, before = seal(body, n, before)
    return (time.perf_counter() - start) / EVENTS * 1e6


def bare(path: Path) -> float:
    """Microseconds of the floor with a write and a sync of the line."""
    bodies = [{**reading(n), "before": "0" * 64} for n in range(EVENTS)]
    fd = os.open(path, os.O_RDWR | os.O_APPEND | os.O_CREAT)
    rest = b',"hash":"' + b"0" * 64 + b'"}\n'
    start = time.perf_counter()
    for body in bodies:
        encoded = orjson.dumps(body)
        sha256(encoded).hexdigest()
        os.write(fd, encoded[:-1] + rest)
        os.fsync(fd)
    spent = time.perf_counter() - start
    os.close(fd)
    return spent / EVENTS * 1e6


def calls(path: Path) -> float:
    """Microseconds of the calls to the system alone: a write and two looks at the file."""
    line = orjson.dumps({**reading(1), "before": "0" * 64, "hash": "0" * 64}) + b"\n"
    name = os.fspath(path)
    fd = os.open(name, os.O_RDWR | os.O_APPEND | os.O_CREAT)
    start = time.perf_counter()
    for _ in range(EVENTS):
        os.fstat(fd)
        os.write(fd, line)
        os.stat(name)
    spent = time.perf_counter() - start
    os.close(fd)
    return spent / EVENTS * 1e6


def file_system(folder: str) -> str:
    """The kind of file system a folder is on, where the system says so."""
    best = ("", "unknown")
    try:
        for row in Path("/proc/mounts").read_text().splitlines():
            _, point, kind, *_ = row.split(" ")
            if (folder + "/").startswith(point.rstrip("/") + "/") and len(point) >= len(best[0]):
                best = (point, kind)
    except OSError:
        pass
    return best[1]


def main(arguments: list[str]) -> int:
    """Print the medians and ratios; exit 1 if an append, its sync taken off, costs more than the goal."""
    pairs = int(arguments[0]) if arguments else 15
    with tempfile.TemporaryDirectory(dir=".") as scratch:
        folder = Path(scratch).resolve()
        kinds: dict[str, Callable[[Path], float]] = {
            "floor": floor,
            "line": line,
            "calls": calls,
            "append": lambda path: append(path, Unsynced()),
            "of four": lambda path: append(path, Unsynced(), 4),
            "bare": bare,
            "whole": lambda path: append(path, OsDisk()),
            "synced": lambda path: append(path, Timed()),
        }
        times: dict[str, list[float]] = {kind: [] for kind in kinds}
        for pair in range(pairs + 1):
            for kind, run in kinds.items():
                spent = run(folder / f"{kind}-{pair}.jsonl")
                if pair:
                    times[kind].append(spent)
        size = len(orjson.dumps({**reading(1), "before": "0" * 64, "hash": "0" * 64})) + 1
        print(f"{pairs} pairs of {EVENTS} events of {size} bytes, on {file_system(str(folder))}")
    print(f"floor: dumps and SHA-256   {statistics.median(times['floor']):8.2f} us")
    for kind in ("line", "calls", "append", "of four", "synced"):
        told(kind, times[kind], times["floor"], "floor")
    told("whole", times["whole"], times["bare"], "floor, write and sync")
    mid = statistics.median(a / b for a, b in zip(times["synced"], times["floor"], strict=True))
    print(f"goal: synced at most {GOAL} times the floor: {'kept' if mid <= GOAL else 'MISSED'}")
    return 0 if mid <= GOAL else 1


def told(kind: str, spent: list[float], base: list[float], than: str) -> None:
    """Print one figure and its ratio, median of the pairs."""
    ratios = [a / b for a, b in zip(spent, base, strict=True)]
    mid = statistics.median(ratios)
    span = f"from {min(ratios):.2f} to {max(ratios):.2f}"
    print(f"{kind:8} {statistics.median(spent):8.2f} us   {mid:6.2f} x {than} ({span})")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
