"""How long our positioned tree takes for a large procedure, against a plain load of PyYAML's C loader.

Both run in this process, in turn, A B A B ..., each as it would really run: the garbage collector is on for both, and
our reader rests it while it builds, as it always does. Only the ratio of one run means anything.

    python benchmarks/yaml_load.py [PAIRS]      15 pairs by default; prints both medians and the median ratio
"""

from __future__ import annotations

import gc
import statistics
import sys
import time
from collections.abc import Callable

import yaml

from benchwalk.procedure.tree import parse
from benchwalk.procedure.yaml_reader import reader_note

STEPS = 5_000
GOAL = 0.3

_HEAD = """\
# A procedure as large as none should be
procedure: large
title: A very long walk
revision: 7
for: [snare drum]
purpose: Show that a long file is read at once.
needs: {tools: [drum key, feeler gauge], parts: none, supplies: [cord], before: none}
hazards:
  - caution: {hazard: Sharp wire ends, consequence: cut fingers, avoid: wear gloves at the butt side}
readings:
  butt_gap: {ask: "Gap from plate to hoop, butt side (minus: rides on the hoop)", unit: mm, possible: -15 .. 30}  # ½ mm
  lie: {ask: How do the snares lie?, choices: {all: All touch, some: Some lift, none: None touch}, wanted: all}
steps:
"""

_STEP = """\
  - step: look-{n}
    do: Turn rod {rod} a quarter and look along the wires
"""
_HAZARD = """\
    # the wires are cut by now
    caution: {{hazard: Sharp wire ends, avoid: gloves on}}
"""
_REST = """\
    expect: The plate clears the hoop by {gap} mm
    record: [butt_gap, lie]
    branches:
      - {{when: butt_gap < {gap} mm, go: look-{next}}}
      - when: otherwise
        go: look-{next}
"""


def large_procedure(steps: int = STEPS) -> str:
    """A file of `steps` steps; with 5,000 it has some 44,000 lines and 1.4 MB, and half as many comments as steps."""
    parts = [_HEAD]
    for n in range(steps):
        names = {"n": n, "next": n + 1, "rod": n % 10 + 1, "gap": f"{1 + n % 7}.{n % 10}"}
        step = _STEP + (_HAZARD if n % 2 else "") + _REST
        parts.append(step.format(**names))
    parts.append("examples: []\n")
    return "".join(parts)


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
    text = large_procedure()
    data = text.encode()
    note = reader_note()
    if note:
        print(note)
        return 1
    print(f"{STEPS:,} steps, {text.count(chr(10)):,} lines, {len(data):,} bytes, {pairs} pairs")
    document = parse(data, "large.yaml")
    assert document.complete and not document.findings, document.findings[:3]
    ours, theirs = measure(
        lambda: parse(data, "large.yaml"),
        lambda: yaml.load(data, Loader=yaml.CSafeLoader),
        pairs,
    )
    ratios = [a / b for a, b in zip(ours, theirs, strict=True)]
    ratio = statistics.median(ratios)
    lines = text.count("\n") / statistics.median(ours)
    print(f"our tree with positions   {statistics.median(ours) * 1000:7.0f} ms   {lines:,.0f} lines/s")
    print(f"PyYAML CSafeLoader load   {statistics.median(theirs) * 1000:7.0f} ms")
    print(f"ratio, median of pairs    {ratio:7.3f}      (from {min(ratios):.3f} to {max(ratios):.3f}; goal {GOAL})")
    return 0 if ratio <= GOAL else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
