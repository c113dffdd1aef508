"""How long it takes to take a job of 10,000 events up again (verify and fold), against parsing and hashing its bytes.

The job is walked by `decide` through a procedure that asks for a reading again and again, and sealed as the log does.
Half of it is measured too: twice the events must not take much more than twice the time.

    python benchmarks/job_resume.py [PAIRS]      15 pairs by default; only ratios of one run mean anything
"""

from __future__ import annotations

import statistics
import sys
from datetime import UTC, datetime

from log_resume import floor
from yaml_load import measure

from benchwalk.job.line import FIRST, seal
from benchwalk.job.reading import check
from benchwalk.procedure.linking import link
from benchwalk.procedure.read import read
from benchwalk.sums import compute
from benchwalk.walk import acts
from benchwalk.walk.decide import decide
from benchwalk.walk.desk import Bench
from benchwalk.walk.fold import replay
from benchwalk.walk.state import State

EVENTS = 10_000
GOAL = 4.0
LOOP = b"""
procedure: measure-again
title: Measure again and again
revision: 1
for: snare drum
purpose: A long job.
needs: {tools: none, parts: none, supplies: none, before: none}
hazards: {none_found_by: senior}
time: long
sources: none
readings:
  gap: {ask: The gap, unit: mm, possible: 0 .. 30, wanted: 2 .. 5}
steps:
  - step: measure
    do: Measure the gap.
    record: [gap]
    entered: {at_most: 9000, then: stop}
    branches:
      - {when: gap is within, because: "It is {{ gap }}", go: stop}
      - {when: gap is not within, because: "Still {{ gap }}", go: measure}
  - step: stop
    end: done
"""


def log_bytes() -> bytes:
    """The log of a job of at least EVENTS events, as the walk makes it."""
    linked = link(read(LOOP, "measure-again.yaml"), lambda name: None)
    assert linked is not None and linked.sound, linked and linked.findings
    bench = Bench({linked.text: linked}.__getitem__, compute, datetime(2026, 1, 5, 9, 0, tzinfo=UTC))
    state, before, lines = State(), FIRST, []
    act: acts.Act = acts.Open("J-0001", "practice", linked.text)
    while state.n < EVENTS:
        decision = decide(state, act, "mara-quill", bench)
        assert not decision.refusal, decision.refusal
        for event in decision.events:
            line, before = seal(event, event["n"], before)
            lines.append(line)
        state = decision.state
        act = acts.Ready() if not state.readied else acts.Record("7.5")
    return b"".join(lines)


def main(arguments: list[str]) -> int:
    """Print the medians and their ratios; exit 1 if a goal is missed."""
    pairs = int(arguments[0]) if arguments else 15
    data = log_bytes()
    lines = data.splitlines(keepends=True)
    half = b"".join(lines[: len(lines) // 2])
    ours, theirs = measure(lambda: replay(check(data, "log").events), lambda: floor(data), pairs)
    ratio = statistics.median(a / b for a, b in zip(ours, theirs, strict=True))
    whole, part = measure(lambda: replay(check(data, "log").events), lambda: replay(check(half, "log").events), pairs)
    growth = statistics.median(a / b for a, b in zip(whole, part, strict=True))
    print(f"{len(lines):,} events, {len(data):,} bytes, {pairs} pairs")
    print(f"verify and fold    {statistics.median(ours) * 1000:6.1f} ms")
    print(f"floor              {statistics.median(theirs) * 1000:6.1f} ms")
    print(f"ratio, median of pairs   {ratio:.2f}   (goal {GOAL})")
    print(f"twice the events, times the time   {growth:.2f}   (goal 2.4)")
    return 0 if ratio <= GOAL and growth <= 2.4 else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
