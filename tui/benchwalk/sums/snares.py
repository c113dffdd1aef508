"""Sums about a snare set and its cords. Lengths in mm; common practice, no published source."""

from __future__ import annotations

from fractions import Fraction

from ..quantities import Range, decimal_text
from ..signatures import NoResult, Outcome

USUAL_TOLERANCE = Fraction(3, 2)


def snare_room(clear: Fraction, set: Fraction, least: Fraction, tolerance: Fraction = USUAL_TOLERANCE) -> Outcome:
    """R = clear - set; the gap wanted on each side is R/2 give or take `tolerance`, never below `least`.

    The two gaps make up R, so where R/2 is below the least gap no way of tying leaves both sides enough.
    """
    if clear <= 0 or set <= 0:
        return NoResult("the clear length and the length of the set must be above zero")
    if least < 0 or tolerance < 0:
        return NoResult("the least gap and the tolerance must not be below zero")
    room = clear - set
    half = room / 2
    if half < least:
        return NoResult(
            f"the set is too long for this drum: R is {decimal_text(room)} mm, and two gaps of at least "
            f"{decimal_text(least)} mm need {decimal_text(2 * least)} mm"
        )
    return {"r": room, "gap": Range(max(half - tolerance, least), half + tolerance), "spacer": half}


def snare_balance(butt: Fraction, strainer: Fraction, tolerance: Fraction = Fraction(0)) -> Outcome:
    """The side with the smaller gap is the one the set lies too near to; a difference of `tolerance` still is even."""
    if tolerance < 0:
        return NoResult("the tolerance must not be below zero")
    difference = abs(butt - strainer)
    side = "even" if difference <= tolerance else "butt" if butt < strainer else "strainer"
    return {"side": side, "by": difference / 2, "difference": difference}


def snare_gaps(butt: Fraction, strainer: Fraction, room: Fraction) -> Outcome:
    """Both gaps added, and how far that is off the room: clear length less set is one gap and the other."""
    together = butt + strainer
    return {"together": together, "off": abs(together - room)}
