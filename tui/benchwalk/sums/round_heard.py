"""What one round of notes tells: a reading for each pair of opposite rods, and how sure each is."""

from __future__ import annotations

from collections.abc import Sequence

from ..plaindata import Frozen
from .rim import fitted

FIRST, SECOND = 2, 4
"""Waves round the rim that the first and the second note tell."""

TAP, TAP_WORTH = 1.5, 4.0
"""Cents: how sure one note is held to be before it is heard, and how many numbers' worth that counts."""

BAD_TAP = 4.5
"""Opposite rods that differ by more than so many times what they usually do: one of the two taps went wrong."""


class Round(Frozen):
    """One round: cents beside each rod (None where the round is not whole), and the turns given to each rod after."""

    first: list[float] | None
    second: list[float] | None
    turned: list[float] | None


class Reading(Frozen):
    """What a rod, or it and its opposite, tell: cents and their variance, that of one `tap`, and by how much the two
    disagree where that is too much to be believed (else 0)."""

    rod: int
    value: float
    variance: float
    tap: float
    apart: float


def readings(notes: Sequence[float], waves: int) -> list[Reading]:
    """What a round tells: each pair of opposite rods once, by their mean; each rod for itself where the count is odd.

    How sure a tap is comes from the pairs' disagreement, or from what the fit leaves; a pair that disagrees by far more
    than the others is left out of that, and itself is the less sure. Of the second note the mean is taken off.
    """
    rods, fit = len(notes), fitted(notes, waves)
    base = 0.0 if waves == FIRST else fit.mean
    if rods % 2:
        tap = (TAP_WORTH * TAP**2 + fit.squares) / (TAP_WORTH + fit.left)
        return [Reading(rod, note - base, tap, tap, 0.0) for rod, note in enumerate(notes)]
    half = rods // 2
    apart = [notes[rod] - notes[rod + half] for rod in range(half)]
    usual = sorted(abs(each) for each in apart)[(half - 1) // 2]
    most = BAD_TAP * max(TAP, usual)
    kept = [each * each / 2 for each in apart if abs(each) <= most]
    tap = (TAP_WORTH * TAP**2 + sum(kept)) / (TAP_WORTH + len(kept))
    found = []
    for rod, each in enumerate(apart):
        value, bad = (notes[rod] + notes[rod + half]) / 2 - base, abs(each) > most
        found.append(Reading(rod, value, tap / 2 + (each * each / 4 if bad else 0.0), tap, each if bad else 0.0))
    return found
