"""Sums about the notes beside the tension rods of one head. Notes in Hz, distances in cents."""

from __future__ import annotations

from fractions import Fraction

from ..quantities import cents_between
from ..signatures import NoResult, Outcome


def rod_evenness(notes: dict[str, Fraction | None]) -> Outcome:
    """The pitch spread over the rods, and how far opposite rods disagree.

    A round head's notes are the same beside a rod and beside the one opposite it, whatever the two rods pull; so what
    opposite rods disagree by is the error of the taps (or a burr, a bent hoop, a cracked lug).
    """
    count = len(notes)
    if count < 2:
        return NoResult(f"evenness needs two rods or more, and there {'is one' if count else 'is none'}")
    heard: list[Fraction] = []
    for rod in range(1, count + 1):
        note = notes.get(str(rod))
        if note is None:
            return NoResult(f"rod {rod} has no note")
        if note <= 0:
            return NoResult(f"rod {rod} has a note that is not above 0 Hz")
        heard.append(note)
    highest, lowest = max(heard), min(heard)
    return {
        "spread": _cents(highest, lowest),
        "opposite": _opposite(heard),
        "highest": Fraction(heard.index(highest) + 1),
        "lowest": Fraction(heard.index(lowest) + 1),
    }


def _opposite(heard: list[Fraction]) -> Fraction | None:
    """The largest disagreement of opposite rods, in cents; None for an odd count, where no rod has an opposite."""
    half, odd = divmod(len(heard), 2)
    if odd:
        return None
    return max(_cents(max(pair), min(pair)) for pair in zip(heard[:half], heard[half:], strict=True))


def _cents(high: Fraction, low: Fraction) -> Fraction:
    return Fraction(cents_between(high, low))
