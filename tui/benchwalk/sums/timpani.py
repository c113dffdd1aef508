"""Clearing a timpano: its pairs of opposite lugs against each other. Notes in Hz, distances in cents.

A round head's notes beside a lug and beside the one opposite are one note, whatever the two pull. So the pair's mean is
what can be known, and their disagreement is the taps' error: with disagreements d of n pairs one tap scatters by
s^2 = sum d^2 / (2 n), a pair's mean by s / sqrt 2, the difference of two pairs by s, and U = 2 s.
"""

from __future__ import annotations

import math
from fractions import Fraction

from ..quantities import cents_apart, rounded
from ..signatures import TENTH, NoResult, Outcome
from .guarded import verdict as guarded

USUAL_LIMIT = Fraction(10)
FIFTH = Fraction(3, 2)
FEWEST_LUGS = 4
_CLEAR = {"within": "clear", "too-close": "too-close", "outside": "not-clear"}


def timpano_clear(
    notes: dict[str, Fraction | None], fifth: Fraction | None = None, limit: Fraction | None = None
) -> Outcome:
    """The spread of the pairs, what it is sure to, the verdict, and the pair farthest from the mean of all."""
    heard = _whole_head(notes)
    if isinstance(heard, NoResult):
        return heard
    if (fifth is not None and fifth <= 0) or (limit is not None and limit < 0):
        return NoResult("the second note must be above 0 Hz, and the limit not below zero")
    note = sum(heard, Fraction(0)) / len(heard)
    half = len(heard) // 2
    by_lug = [cents_apart(each, note) for each in heard]
    apart = [abs(one - other) for one, other in zip(by_lug[:half], by_lug[half:], strict=True)]
    pairs = [(one + other) / 2 for one, other in zip(by_lug[:half], by_lug[half:], strict=True)]
    spread = rounded(max(pairs) - min(pairs), TENTH)
    sure = rounded(Fraction(2 * math.sqrt(sum(each * each for each in apart) / (2 * half))), TENTH)
    lowest = min(one + other for one, other in zip(heard[:half], heard[half:], strict=True)) / 2
    allowed = max(USUAL_LIMIT, rounded(cents_apart(lowest + 1, lowest), TENTH)) if limit is None else limit
    verdict = _CLEAR[guarded(spread, sure, allowed)]
    pair, off = _farthest(pairs)
    return {
        "spread": spread,
        "sure": sure,
        "opposite": max(apart),
        "clear": verdict,
        "pair": Fraction(pair + 1),
        "across": Fraction(pair + 1 + half),
        "pair_off": off,
        "turn": "none" if verdict != "not-clear" else "tighten" if off < 0 else "loosen",
        "note": note,
        "fifth_off": None if fifth is None else cents_apart(fifth, note * FIFTH),
    }


def _whole_head(notes: dict[str, Fraction | None]) -> list[Fraction] | NoResult:
    """The notes in the order of the lugs; NoResult where a lug lacks one, or none has an opposite."""
    count = len(notes)
    if count < FEWEST_LUGS or count % 2:
        return NoResult(
            f"clearing goes by opposite lugs, four or more and an even count, and there are {count}"
            if count != 1
            else "clearing goes by opposite lugs, four or more and an even count, and there is one"
        )
    heard: list[Fraction] = []
    for lug in range(1, count + 1):
        note = notes.get(str(lug))
        if note is None:
            return NoResult(f"lug {lug} has no note")
        if note <= 0:
            return NoResult(f"lug {lug} has a note that is not above 0 Hz")
        heard.append(note)
    return heard


def _farthest(pairs: list[Fraction]) -> tuple[int, Fraction]:
    """(which pair, how far above the mean of all): the farthest, a low one before a high one, then the first."""
    mean = sum(pairs, Fraction(0)) / len(pairs)
    off = [rounded(pair - mean, TENTH) for pair in pairs]
    which = max(range(len(pairs)), key=lambda pair: (abs(off[pair]), off[pair] < 0, -pair))
    return which, off[which]
