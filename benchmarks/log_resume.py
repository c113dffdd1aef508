"""How long it takes to read and verify a log, against the floor of parsing and hashing it; job_resume.py folds one too.

The floor is `orjson.loads` of every line and SHA-256 of the file, in this process, in turn with ours, on the same bytes
in memory. Ours also checks every link of the chain, the form of every line and the order of the numbers.

    python benchmarks/log_resume.py [PAIRS]      15 pairs by default; only ratios of one run mean anything
"""

from __future__ import annotations

import statistics
import sys
from hashlib import sha256

import orjson
from log_append import reading
from yaml_load import measure

from benchwalk.job.line import FIRST, seal
from benchwalk.job.reading import check

EVENTS = 10_000
GOAL = 2.0


def log_bytes() -> bytes:
    """A sound log of EVENTS typical events."""
    lines: list[bytes] = []
    before = FIRST
    for n in range(1, EVENTS + 1):
        line, before = seal(reading(n), n, before)
        lines.append(line)
    return b"".join(lines)


def floor(data: bytes) -> object:
    """Parse every line and hash the file: what no reader of a hashed log can do without."""
    sha256(data).hexdigest()
    return [orjson.loads(line) for line in data.split(b"\n")[:-1]]


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
    return 0 if ratio <= GOAL else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
