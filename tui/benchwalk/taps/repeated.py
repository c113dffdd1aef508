"""Several taps at one place: one note, and how sure it is from their scatter."""

from __future__ import annotations

import math
from collections.abc import Sequence

from .kinds import Tap, Together

# Student's t, two-sided 95 %, for n - 1 degrees of freedom (NIST/SEMATECH handbook table 1.3.6.7.2, from memory).
_T95 = {2: 12.706, 3: 4.303, 4: 3.182, 5: 2.776, 6: 2.571, 7: 2.447, 8: 2.365, 9: 2.306, 10: 2.262}
_USUAL = 0.7
"""Cents by which repeated taps of a hand scatter (one standard deviation) where nothing else is known: an assumption.

Two or three taps alone say little of their own scatter: it is pooled with this, which counts as `_USUAL_WORTH` taps.
"""
_USUAL_WORTH = 4
ONE_PLACE = 25.0
"""Cents that taps at one place may lie apart, beside what each is unsure by: far more than a hand scatters, and less
than any two notes that somebody would want told apart. A choice of ours."""


def together(taps: Sequence[Tap]) -> Together | None:
    """The mean note of taps at one place; the uncertainty is the larger of scatter of the mean and of one tap's own."""
    if not taps:
        return None
    centre = sum(math.log2(tap.pitch_hz) for tap in taps) / len(taps)
    own = math.sqrt(sum(tap.uncertainty_cents**2 for tap in taps)) / len(taps)
    count = len(taps)
    if count == 1:
        return Together(taps[0].pitch_hz, taps[0].uncertainty_cents, 1)
    spread = sum((1200 * (math.log2(tap.pitch_hz) - centre)) ** 2 for tap in taps)
    freedom = count - 1 + _USUAL_WORTH
    deviation = math.sqrt((spread + _USUAL_WORTH * _USUAL**2) / freedom)
    scatter = _T95.get(freedom + 1, 2.1) * deviation / math.sqrt(count)
    return Together(2**centre, max(own, scatter), count)


def too_far_apart(taps: Sequence[Tap]) -> float | None:
    """How many cents the highest of these lies above the lowest, where that is more than taps at one place do."""
    if len(taps) < 2:
        return None
    low, high = min(taps, key=lambda tap: tap.pitch_hz), max(taps, key=lambda tap: tap.pitch_hz)
    apart = 1200 * math.log2(high.pitch_hz / low.pitch_hz)
    return apart if apart > ONE_PLACE + low.uncertainty_cents + high.uncertainty_cents else None
