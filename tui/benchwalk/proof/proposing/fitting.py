"""Which other answers make a walk leave a stop by a certain branch, those that change least first.

What is noted itself is found exactly, over the cells of the step (`cases`). What a sum gives is first looked for among
the readings that the sum takes, by trying; only then is the sum taken to say something else.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import combinations, islice

from ..space import TooMany
from .cases import Cases
from .script import Script, Value
from .spot import Spot
from .telling import Change
from .values import candidates

MOST_TRIED = 6000
"""Most pairs of values that sums are worked out for."""
MOST_WALKED = 30
"""Most values of readings that only a walk can try: of many rounds there are many, and a sum can still be assumed."""


def changes(spot: Spot, line: int) -> Iterator[Change]:
    """Other answers with which the walk may leave the spot by that branch."""
    sums = any(spot.sum_of(name) for name in spot.variables)
    tries: list[Callable[[Spot, int], Iterator[Change]]] = [_one_reading, _two_readings] if sums else []
    try:
        cases: Cases | None = Cases(spot, line)
    except TooMany:
        cases = None
    names = len(cases.direct) if cases is not None else 0
    for number in range(1, max(names, len(tries)) + 1):
        if cases is not None and number <= names:
            yield from cases.told(number)
        if number <= len(tries):
            yield from tries[number - 1](spot, line)
    if cases is not None:
        yield from cases.assumed()


def _one_reading(spot: Spot, line: int) -> Iterator[Change]:
    """Other values of one reading with which sums come out so that the branch is taken."""
    leaves = spot.leaves(spot.variables)
    walked = 0
    for leaf in sorted(leaves, key=lambda leaf: -leaf.visit.number):
        for value in candidates(leaf, leaves):
            if leaf.only_walked and walked == MOST_WALKED:
                break
            walked += leaf.only_walked
            if leaf.only_walked or spot.line_with({leaf.name: value}) == line:
                yield Change(Script(given={leaf.at: value}), leaf.visit.number)


def _two_readings(spot: Spot, line: int) -> Iterator[Change]:
    """Other values of two readings with which they come out so, where neither value does it alone: that was tried."""
    leaves = [leaf for leaf in spot.leaves(spot.variables) if not leaf.only_walked]
    values = {
        leaf.at: [value for value in candidates(leaf, leaves) if spot.line_with({leaf.name: value}) != line]
        for leaf in leaves
    }
    pairs = (
        (one, a, other, b)
        for one, other in combinations(leaves, 2)
        for a, b in _by_turns(values[one.at], values[other.at])
    )
    for one, a, other, b in islice(pairs, MOST_TRIED):
        if spot.line_with({one.name: a, other.name: b}) == line:
            yield Change(Script(given={one.at: a, other.at: b}), min(one.visit.number, other.visit.number))


def _by_turns(ones: Sequence[Value], others: Sequence[Value]) -> Iterator[tuple[Value, Value]]:
    """All pairs, those near the front of both first."""
    for far in range(len(ones) + len(others) - 1):
        for index in range(max(0, far - len(others) + 1), min(far + 1, len(ones))):
            yield ones[index], others[far - index]
