"""Values beside the rods as patterns round the rim: their mean, and so many waves.

Rod 1 stands at angle 0 and the rods are evenly spaced. Of N rods a pattern of k waves can be told only up to k = N/2;
at k = N/2 rods alternate, and one number holds it instead of two.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

from ..plaindata import Frozen
from ..signatures import NoResult


class Fit(Frozen):
    """Values fitted by least squares as a mean and one pattern of waves.

    `amounts` are the parts along cosine and sine (one at k = N/2), `rest` what the fit leaves at each rod, all in the
    unit of the values.
    """

    mean: float
    amounts: list[float]
    rest: list[float]

    @property
    def size(self) -> float:
        """From the lowest to the highest of the pattern, all round the rim."""
        return 2 * math.hypot(*self.amounts)

    @property
    def left(self) -> int:
        """How many numbers of the values the fit does not use up."""
        return len(self.rest) - 1 - len(self.amounts)

    @property
    def squares(self) -> float:
        """The squares of the rest, added."""
        return sum(each * each for each in self.rest)


def shapes(rods: int, waves: int) -> list[list[float]]:
    """The pattern of `waves` at each rod: its cosine and sine, the cosine alone at half the rods, nothing beyond."""
    if waves < 1 or 2 * waves > rods:
        return []
    angles = [2 * math.pi * (waves * rod % rods) / rods for rod in range(rods)]
    found = [[math.cos(angle) for angle in angles]]
    if 2 * waves < rods:
        found.append([math.sin(angle) for angle in angles])
    return found


def amount(values: Sequence[float], shape: Sequence[float]) -> float:
    """How much of `shape` is in the values, by least squares."""
    return sum(v * s for v, s in zip(values, shape, strict=True)) / sum(s * s for s in shape)


def pattern(amounts: Sequence[float], across: Sequence[Sequence[float]], rods: int) -> list[float]:
    """The value at each rod of so much of each shape."""
    return [sum(part * shape[rod] for part, shape in zip(amounts, across, strict=True)) for rod in range(rods)]


def fitted(values: Sequence[float], waves: int) -> Fit:
    """The values as their mean, `waves` round the rim, and the rest."""
    rods, across = len(values), shapes(len(values), waves)
    mean = sum(values) / rods
    amounts = [amount(values, shape) for shape in across]
    told = pattern(amounts, across, rods)
    return Fit(mean, amounts, [value - mean - part for value, part in zip(values, told, strict=True)])


def over(values: Sequence[float]) -> float:
    """The largest less the smallest."""
    return max(values) - min(values)


def by_rod(values: dict[str, Fraction | None], what: str) -> list[Fraction] | NoResult:
    """The values in the order of the rods, rod 1 first; no result, with the reason, where one is missing."""
    found: list[Fraction] = []
    for rod in range(1, len(values) + 1):
        value = values.get(str(rod))
        if value is None:
            return NoResult(f"rod {rod} has no {what}")
        found.append(value)
    return found


def notes_by_rod(values: dict[str, Fraction | None], what: str = "note") -> list[Fraction] | NoResult:
    """As `by_rod`, of frequencies in Hz, which lie above zero."""
    found = by_rod(values, what)
    if isinstance(found, list):
        for rod, note in enumerate(found, start=1):
            if note <= 0:
                return NoResult(f"rod {rod} has a {what} that is not above 0 Hz")
    return found
