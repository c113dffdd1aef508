"""Looking ahead: at which steps a reading just recorded will still be read, before it is recorded anew.

A backward analysis over the ways of `graph`, all readings at once, one bit each.
"""

from __future__ import annotations

from collections.abc import Mapping, Set

from ..procedure.linked import Linked
from .graph import graph_of


def read_ahead(linked: Linked, readers: Mapping[str, Set[str]]) -> dict[str, set[str]]:
    """For each name, the steps that record it and are followed, on some way, by one of its `readers`.

    A step that records it is its own reader, since branches stand behind what is recorded.
    """
    graph = graph_of(linked)
    bit = {name: 1 << number for number, name in enumerate(readers)}
    reads = dict.fromkeys(linked.steps, 0)
    for name, steps in readers.items():
        for step in steps:
            reads[step] |= bit[name]
    records = {
        name: sum({bit[reading] for reading in step.record if reading in bit}) for name, step in linked.steps.items()
    }
    behind = dict(reads)  # what is read at the branches of a step or later
    order = list(linked.steps)
    sweeps = (order[::-1], order)  # against the order of the steps and with it in turn, as `flow` does
    changed = set(order)
    turn = 0
    while changed:
        for step in sweeps[turn]:
            if step in changed:
                changed.discard(step)
                before = behind[step] & ~records[step]
                for way in graph.into[step]:
                    if before & ~behind[way.source]:
                        behind[way.source] |= before
                        changed.add(way.source)
        turn = 1 - turn
    found: dict[str, set[str]] = {name: set() for name in readers}
    for where in linked.steps.values():
        for reading in where.record:
            if reading in bit and behind[where.step] & bit[reading]:
                found[reading].add(where.step)
    return found
