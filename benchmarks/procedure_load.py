"""How long a 5,000-step procedure takes to load, against a plain load of PyYAML's C loader, which gives no model.

`read` is tree with positions and typed model; `and link` settles every name, edge and condition too.

    python benchmarks/procedure_load.py [PAIRS]      15 pairs by default; only ratios of one run mean anything
"""

from __future__ import annotations

import statistics
import sys

import yaml
from yaml_load import large_procedure, measure

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


def main(arguments: list[str]) -> int:
    """Print the medians and their ratios; exit 1 if the goal is missed."""
    pairs = int(arguments[0]) if arguments else 15
    data = sound_procedure()
    source = read(data, "large.yaml")
    assert source.procedure is not None, source.findings[:3]
    print(f"{len(data):,} bytes, {pairs} pairs")
    result = 0
    for name, call in (
        ("read", lambda: read(data, "large.yaml")),
        ("read and link", lambda: link(read(data, "large.yaml"), lambda wanted: None)),
    ):
        ours, theirs = measure(call, lambda: yaml.load(data, Loader=yaml.CSafeLoader), pairs)
        ratio = statistics.median(a / b for a, b in zip(ours, theirs, strict=True))
        spent, floor = statistics.median(ours) * 1000, statistics.median(theirs) * 1000
        print(f"{name:14} {spent:6.0f} ms   CSafeLoader {floor:6.0f} ms   ratio {ratio:.2f}")
        result = 0 if ratio <= GOAL else 1
    print(f"goal for read and link, a procedure ready to walk: {GOAL}: {'MISSED' if result else 'kept'}")
    return result


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
