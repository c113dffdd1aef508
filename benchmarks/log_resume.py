"""How long it takes to open a job again, against the floor of parsing and hashing the same bytes.

First the log alone (verify and parse), then all of it: verified, parsed and folded to the state of the job, for a job
that goes round four steps. At last whether twice the events take twice the time.

The floor is `orjson.loads` of every line and SHA-256 of the file, in this process, in turn with ours, on the same bytes
in memory. Ours also checks every link of the chain, the form of every line and the order of the numbers.

    python benchmarks/log_resume.py [PAIRS]      15 pairs by default; only ratios of one run mean anything
"""

from __future__ import annotations

import gc
import statistics
import sys
import time
from collections.abc import Callable
from hashlib import sha256
from typing import Any

import orjson
from log_append import reading

from benchwalk.job.line import FIRST, seal
from benchwalk.job.reading import check
from benchwalk.walk.events import KINDS, lacking
from benchwalk.walk.fold import replay

EVENTS = 10_000
GOAL = 2.0
WHOLE_GOAL = 4.0
LINEAR_GOAL = 2.3  # twice the events; 2 is exactly linear


def log_bytes() -> bytes:
    """A sound log of EVENTS typical events."""
    lines: list[bytes] = []
    before = FIRST
    for n in range(1, EVENTS + 1):
        line, before = seal(reading(n), n, before)
        lines.append(line)
    return b"".join(lines)


ROUND = ("entered", "acknowledged", "done", "read", "worked", "took")


def walk_bytes(count: int) -> bytes:
    """A sound log of so many events of one job that goes round its steps again and again."""
    run = {"run": 1, "path": "", "text": "ab" * 32}
    opened: dict[str, Any] = {"job": "J-1", "kind": "customer", "procedure": "retie", "revision": "1"}
    opened |= {"title": "Re-tie", "text": "ab" * 32, "content": "cd" * 32, "texts": {}, "drum": {}, "given": {}}
    opened |= {"note": {}, "owner": ""}
    ran = run | {"procedure": "retie", "revision": "1", "title": "Re-tie", "given": {}, "back": False, "event": ""}
    bodies = [("opened", opened), ("readied", {"needs": {}, "waived": "", "hazards": []}), ("ran", ran)]
    lines: list[bytes] = []
    before = FIRST
    visit = 0
    for n in range(1, count + 1):
        if bodies:
            what, body = bodies.pop(0)
        else:
            what = ROUND[(n - 4) % len(ROUND)]
            visit += what == "entered"
            body = round_body(what, visit, n, run)
        event = {"v": 1, "n": n, "at": "2026-11-25T09:53:46+00:00", "who": "ada", "what": what, **body}
        assert lacking(event) is None, lacking(event)
        line, before = seal(event, n, before)
        lines.append(line)
    return b"".join(lines)


def round_body(what: str, visit: int, n: int, run: dict[str, Any]) -> dict[str, Any]:
    """The fields of one event of a round."""
    step = f"step-{visit % 4}"
    if what == "entered":
        more = {"step": step, "title": "Re-tie", "stage": "tie", "why": "the gap is good", "by_hand": False}
        return {"visit": visit, **run, **more, "pass": 1 + visit // 4}
    if what == "acknowledged":
        return {"visit": visit, "hazards": ["caution: the knife slips; a cut hand; cut away from you"]}
    if what == "read":
        kept = reading(n) | {"visit": visit, "run": 1, "name": f"gap_{visit % 4}", "by": None, "against": None}
        return {key: kept[key] for key in KINDS["read"]}
    if what == "worked":
        outputs = {"r": "8.0", "gap": {"low": "2.5", "high": "5.5"}}
        sum_ = {"name": "room", "use": "snare-room", "version": 1, "sources": [n - 1], "outputs": outputs}
        return {"visit": visit, "run": 1, **sum_, "no_result": None, "again": None}
    if what == "took":
        way = {"line": 0, "go": f"step-{(visit + 1) % 4}", "because": "the gap is good", "count": 1 + visit // 4}
        return {"visit": visit, **way, "at_most": 99999, "then": False, "reads": [n - 2, n - 1]}
    return {"visit": visit}


def floor(data: bytes) -> object:
    """Parse every line and hash the file: what no reader of a hashed log can do without."""
    sha256(data).hexdigest()
    return [orjson.loads(line) for line in data.split(b"\n")[:-1]]


def measure(ours: Callable[[], object], theirs: Callable[[], object], pairs: int) -> tuple[list[float], list[float]]:
    """Seconds of each, `pairs` times in turn, after one unmeasured pair."""
    times: tuple[list[float], list[float]] = ([], [])
    for pair in range(pairs + 1):
        for call, kept in zip((ours, theirs), times, strict=True):
            gc.collect()
            start = time.perf_counter()
            result = call()
            spent = time.perf_counter() - start
            del result
            if pair:
                kept.append(spent)
    return times


def main(arguments: list[str]) -> int:
    """Print the medians and their ratio; exit 1 if the goal is missed."""
    pairs = int(arguments[0]) if arguments else 15
    data = log_bytes()
    print(f"{EVENTS:,} events, {len(data):,} bytes, {pairs} pairs")
    ours, theirs = measure(lambda: check(data, "log.jsonl"), lambda: floor(data), pairs)
    ratios = [a / b for a, b in zip(ours, theirs, strict=True)]
    ratio = statistics.median(ratios)
    rate = EVENTS / statistics.median(ours)
    print(f"verify and parse   {statistics.median(ours) * 1000:6.1f} ms   {rate:,.0f} events/s")
    print(f"floor              {statistics.median(theirs) * 1000:6.1f} ms")
    print(f"ratio, median of pairs   {ratio:.2f}   (from {min(ratios):.2f} to {max(ratios):.2f}; goal {GOAL})")
    whole, growth = resume(pairs)
    return 0 if ratio <= GOAL and whole <= WHOLE_GOAL and growth <= LINEAR_GOAL else 1


def resume(pairs: int) -> tuple[float, float]:
    """Print and return what a whole resume costs against the floor, and against one of half the events."""
    data, half = walk_bytes(EVENTS), walk_bytes(EVENTS // 2)
    ours, theirs = measure(lambda: replay(check(data, "log.jsonl").events), lambda: floor(data), pairs)
    ratios = [a / b for a, b in zip(ours, theirs, strict=True)]
    print(f"verify, parse and fold {statistics.median(ours) * 1000:6.1f} ms")
    print(f"ratio, median of pairs   {statistics.median(ratios):.2f}   (goal {WHOLE_GOAL})")
    again, halves = measure(
        lambda: replay(check(data, "log.jsonl").events), lambda: replay(check(half, "log.jsonl").events), pairs
    )
    growth = statistics.median(a / b for a, b in zip(again, halves, strict=True))
    print(f"twice the events take    {growth:.2f} times as long   (goal {LINEAR_GOAL})")
    return statistics.median(ratios), growth


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
