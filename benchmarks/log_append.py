"""What keeping an event costs beside the sync that makes it safe.

The floor is `orjson.dumps` and SHA-256 of the same event and one bare write of the same bytes to a file of its own on
the same file system: nothing that keeps a hashed log can do without these three. Both sides leave out the sync, which
takes far longer than all the rest and is the disk's own. The file of the floor is looked at before each write, outside
the timing: writes that come within one tick of the system's clock share a time, and all but the first are spared noting
it; acts at the bench lie seconds apart, and no write is spared there. After a look a system that keeps finer times
notes one for every write, and the log's file is looked at too.

In this process, in turn, with no sync in between, the middle one of many events, as multiples of the floor:

- append: all of an append but the sync; this one is judged;
- of four: the same per event of an act of four, which has one write and one sync;
- calls: the system's own calls of an append, bare: one write, and two looks at the file that show nobody touched it.

Not judged:

- append, against the floor without a look before its writes;
- line: what Benchwalk itself does to make the line (check every value, encode, chain, hash), against encoding and
  hashing alone; append and synced (with a real sync, its own time taken off: the caches are then as cold as at work)
  against the same;
- whole: an append with its sync, the wait at the bench, against the floor with a sync.

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


def append(path: Path, disk: OsDisk, together: int = 1) -> list[float]:
    """Appending one event, `together` in an act; syncs that the disk timed are taken off."""
    spent = []
    with JobLog.open(path, HOLDER, disk=disk) as log:
        for n in range(0, EVENTS, together):
            bodies = [reading(n + k) for k in range(1, together + 1)]
            synced = getattr(disk, "spent", 0.0)
            start = time.perf_counter()
            log.append(bodies)
            end = time.perf_counter()
            spent.append((end - start - (getattr(disk, "spent", 0.0) - synced)) / together)
    return spent


def encode_and_hash(path: Path) -> list[float]:
    """Encoding and hashing one event as it stands in the log."""
    spent = []
    for n in range(EVENTS):
        body = {**reading(n), "before": "0" * 64}
        start = time.perf_counter()
        sha256(orjson.dumps(body)).hexdigest()
        spent.append(time.perf_counter() - start)
    return spent


def floor(
    path: Path, look: Callable[[int], object] = os.fstat, sync: Callable[[int], None] | None = None
) -> list[float]:
    """Encoding, hashing and writing one event, and the sync if one is handed in."""
    spent = []
    rest = b',"hash":"' + b"0" * 64 + b'"}\n'
    fd = os.open(path, os.O_RDWR | os.O_APPEND | os.O_CREAT)
    for n in range(EVENTS):
        body = {**reading(n), "before": "0" * 64}
        look(fd)
        start = time.perf_counter()
        encoded = orjson.dumps(body)
        sha256(encoded).hexdigest()
        os.write(fd, encoded[:-1] + rest)
        if sync is not None:
            sync(fd)
        spent.append(time.perf_counter() - start)
    os.close(fd)
    return spent


def line(path: Path) -> list[float]:
    """Making one line of the log."""
    spent = []
    before = FIRST
    for n in range(1, EVENTS + 1):
        body = reading(n)
        start = time.perf_counter()
        _, before = seal(body, n, before)
        spent.append(time.perf_counter() - start)
    return spent


def calls(path: Path) -> list[float]:
    """The calls to the system alone: a write and two looks at the file."""
    spent = []
    line = orjson.dumps({**reading(1), "before": "0" * 64, "hash": "0" * 64}) + b"\n"
    name = os.fspath(path)
    fd = os.open(name, os.O_RDWR | os.O_APPEND | os.O_CREAT)
    for _ in range(EVENTS):
        start = time.perf_counter()
        os.fstat(fd)
        os.write(fd, line)
        os.stat(name)
        spent.append(time.perf_counter() - start)
    os.close(fd)
    return spent


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


Run = Callable[[Path], list[float]]


def in_turn(kinds: dict[str, Run], pairs: int, folder: Path) -> dict[str, list[float]]:
    """Microseconds of each kind's middle event, `pairs` times in turn, after one unmeasured round."""
    times: dict[str, list[float]] = {kind: [] for kind in kinds}
    for pair in range(pairs + 1):
        for kind, run in kinds.items():
            spent = statistics.median(run(folder / f"{kind}-{pair}.jsonl")) * 1e6
            if pair:
                times[kind].append(spent)
    return times


def main(arguments: list[str]) -> int:
    """Print the medians and ratios; exit 1 if an append, its sync left out, costs more than the goal."""
    pairs = int(arguments[0]) if arguments else 15
    warm: dict[str, Run] = {
        "hashed": encode_and_hash,
        "line": line,
        "floor": floor,
        "unlooked": lambda path: floor(path, look=lambda fd: None),
        "append": lambda path: append(path, Unsynced()),
        "of four": lambda path: append(path, Unsynced(), 4),
        "calls": calls,
    }
    cold: dict[str, Run] = {
        "kept": lambda path: floor(path, sync=OsDisk.fsync),
        "whole": lambda path: append(path, OsDisk()),
        "hashed": encode_and_hash,
        "synced": lambda path: append(path, Timed()),
    }
    with tempfile.TemporaryDirectory(dir=".") as scratch:
        folder = Path(scratch).resolve()
        times = in_turn(warm, pairs, folder)
        synced = in_turn(cold, pairs, folder)
        size = len(orjson.dumps({**reading(1), "before": "0" * 64, "hash": "0" * 64})) + 1
        print(f"{pairs} pairs of {EVENTS} events of {size} bytes, on {file_system(str(folder))}")
    print(f"floor: encode, hash, write {statistics.median(times['floor']):8.2f} us")
    ratio = told("append", times["append"], times["floor"], "floor")
    for kind in ("of four", "calls"):
        told(kind, times[kind], times["floor"], "floor")
    told("append", times["append"], times["unlooked"], "floor without looks")
    print(f"encode and hash alone      {statistics.median(times['hashed']):8.2f} us")
    for kind in ("line", "append"):
        told(kind, times[kind], times["hashed"], "encode and hash")
    told("synced", synced["synced"], synced["hashed"], "encode and hash")
    told("whole", synced["whole"], synced["kept"], "floor and a sync")
    print(f"goal: append at most {GOAL} times the floor: {'kept' if ratio <= GOAL else 'MISSED'}")
    return 0 if ratio <= GOAL else 1


def told(kind: str, spent: list[float], base: list[float], than: str) -> float:
    """Print one figure and its ratio, the median of the pairs, which is the answer."""
    ratios = [a / b for a, b in zip(spent, base, strict=True)]
    mid = statistics.median(ratios)
    span = f"from {min(ratios):.2f} to {max(ratios):.2f}"
    print(f"{kind:8} {statistics.median(spent):8.2f} us   {mid:6.2f} x {than} ({span})")
    return mid


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
