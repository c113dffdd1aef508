"""How long a 5,000-step procedure takes to load, against a plain load of PyYAML's C loader, which gives no model.

`read` is tree with positions and typed model; `and link` settles every name, edge and condition too. The garbage
collector is on for both loads; ours rests it while it builds, as it always does. What that puts off shows in the last
row, which nobody judges: a full collection after either load, within the measurement.

    python benchmarks/procedure_load.py [PAIRS]      15 pairs by default; only ratios of one run mean anything
"""

from __future__ import annotations

import gc
import statistics
import sys
from collections.abc import Callable

import yaml
from yaml_load import large_procedure, measure

from benchwalk.procedure.linked import Linked
from benchwalk.procedure.linking import link
from benchwalk.procedure.read import read

GOAL = 0.5


def sound_procedure() -> bytes:
    """The large procedure of `yaml_load`, with all that the grammar wants of one."""
    text = large_procedure()
    text = text.replace("readings:\n", "time: long\nsources: none\nreadings:\n", 1)
    text = text.replace("Sharp wire ends, avoid: gloves on", "Sharp wire ends, consequence: cuts, avoid: gloves on")
    text = text.replace("examples: []\n", "  - step: look-5000\n    end: done\nexamples: []\n")
    return text.encode()


def ready(data: bytes) -> Linked:
    """The procedure, ready to walk."""
    linked = link(read(data, "large.yaml"), lambda wanted: None)
    assert linked is not None
    return linked


def plain(data: bytes) -> object:
    """Dictionaries and lists, as PyYAML's C loader makes them."""
    return yaml.load(data, Loader=yaml.CSafeLoader)


def collected(loaded: object) -> object:
    """What was loaded, after a full collection."""
    gc.collect()
    return loaded


def compare(name: str, ours: Callable[[], object], theirs: Callable[[], object], pairs: int) -> float:
    """Measure and print one row; the median of the pairs' ratios."""
    times, floors = measure(ours, theirs, pairs)
    ratio = statistics.median(a / b for a, b in zip(times, floors, strict=True))
    spent, floor = statistics.median(times) * 1000, statistics.median(floors) * 1000
    print(f"{name:14} {spent:6.0f} ms   CSafeLoader {floor:6.0f} ms   ratio {ratio:.2f}")
    return ratio


def main(arguments: list[str]) -> int:
    """Print the medians and their ratios; exit 1 if the goal is missed."""
    pairs = int(arguments[0]) if arguments else 15
    data = sound_procedure()
    assert ready(data).sound
    print(f"{len(data):,} bytes, {pairs} pairs")
    compare("read", lambda: read(data, "large.yaml"), lambda: plain(data), pairs)
    ratio = compare("read and link", lambda: ready(data), lambda: plain(data), pairs)
    compare("and collect", lambda: collected(ready(data)), lambda: collected(plain(data)), pairs)
    print(f"goal for read and link, a procedure ready to walk: {GOAL}: {'kept' if ratio <= GOAL else 'MISSED'}")
    return 0 if ratio <= GOAL else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
