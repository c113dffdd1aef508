"""What loud work uses of a day's dose for hearing: NIOSH publication 98-126, 1.1. An estimate.

A level L (dBA) may last t = 480 / 2^((L - 85) / 3) minutes a day; a bout of m minutes uses 100 m / t percent, and bouts
add up. Counted from 80 dBA; from 140 dBA on no time is short enough (from memory).
"""

from __future__ import annotations

from fractions import Fraction

from ..quantities import rounded
from ..signatures import TENTH, NoResult, Outcome

A_DAY = Fraction(480)
FROM, UP_TO = Fraction(80), Fraction(140)
HALF, WHOLE = Fraction(50), Fraction(100)
_LONGEST = Fraction(24 * 60)


def hearing_dose(level: Fraction, minutes: Fraction, earlier: Fraction = Fraction(0)) -> Outcome:
    """The day's dose after it in percent, what this adds, and how long this level may still last."""
    if level >= UP_TO:
        return NoResult("at 140 dBA or above no time is short enough: ears must be protected")
    if not 0 <= minutes <= _LONGEST:
        return NoResult("a time from none to a day is wanted, 1440 min")
    if earlier < 0:
        return NoResult("what was used before must not be below zero")
    may_last = allowed_minutes(level) if level >= FROM else None
    adds = 100 * minutes / may_last if may_last else Fraction(0)
    dose = rounded(earlier + adds, TENTH)
    return {
        "dose": dose,
        "adds": adds,
        "left": max(WHOLE - earlier - adds, Fraction(0)) / 100 * may_last if may_last else None,
        "day": "used-up" if dose >= WHOLE else "near" if dose >= HALF else "well-within",
    }


def allowed_minutes(level: Fraction) -> Fraction:
    """How many minutes a day `level` (dBA, 80 to below 140) may last: exact for whole steps of 3 dB from 85."""
    steps = (level - 85) / 3
    if steps.denominator == 1:
        return A_DAY / Fraction(2) ** steps.numerator
    return Fraction(480 / 2.0 ** float(steps))
