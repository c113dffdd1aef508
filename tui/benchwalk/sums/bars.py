"""Bars of mallet instruments: how far off their note, and where they are still. Notes in Hz, distances in cents."""

from __future__ import annotations

from fractions import Fraction

from ..quantities import cents_between, decimal_text, rounded
from ..signatures import TENTH, NoResult, Outcome

A4 = Fraction(440)
REFERENCE = Fraction(20)  # deg C
USUAL_FINE, USUAL_MOST = Fraction(5), Fraction(15)
USUAL_TOLERANCE = Fraction(2)
NODE = Fraction("0.224158")
"""Where a free bar that is as thick everywhere is still in its lowest note, as a share of its length from each end.

The first zero of its shape cosh + cos - s (sinh + sin), s = (cosh B - cos B) / (sinh B - sin B), where B = 4.730041 is
the first root of cosh B cos B = 1 (Euler-Bernoulli beam, free at both ends); the tests work it out anew.
"""

_FARTHEST = Fraction(100)
_NEARBY = Fraction(5)  # deg C either way of 20: at half a cent a degree (from memory) half of what still is in tune


def bar_note(
    note: Fraction,
    want: Fraction,
    a4: Fraction = A4,
    warmth: Fraction | None = None,
    a_degree: Fraction | None = None,
    fine: Fraction = USUAL_FINE,
    most: Fraction = USUAL_MOST,
) -> Outcome:
    """Cents above the note wanted at the owner's A, brought to 20 deg C where it is known what a degree does."""
    if min(note, want, a4) <= 0:
        return NoResult("a note is above 0 Hz, and one of these is not")
    if abs(cents_between(a4, A4)) > 200:
        return NoResult(f"an A of {decimal_text(a4)} Hz is more than a whole step from 440 Hz; ask again")
    if fine < 0 or most < fine:
        return NoResult("no limit may be below zero, nor the larger below the smaller")
    warmer = REFERENCE - REFERENCE if warmth is None else warmth - REFERENCE
    if a_degree is None and abs(warmer) > _NEARBY:
        return NoResult(
            f"at {decimal_text(rounded(REFERENCE + warmer, TENTH))} deg C the bar is not judged; let it come to 15 to "
            "25 deg C, or say what a degree does to it"
        )
    wanted = want * a4 / A4
    off = rounded(Fraction(cents_between(note, wanted)) + warmer * (a_degree or 0), TENTH)
    if abs(off) > _FARTHEST:
        return NoResult(
            f"{decimal_text(abs(off), TENTH)} cents off is another bar, or a higher note of this one; read it again"
        )
    return {
        "off": off,
        "by": abs(off),
        "side": "sharp" if off > 0 else "flat" if off < 0 else "true",
        "bar": "in-tune" if abs(off) <= fine else "out" if abs(off) > most else "watch",
        "wanted": wanted,
    }


def bar_nodes(length: Fraction, cord: Fraction | None = None, tolerance: Fraction = USUAL_TOLERANCE) -> Outcome:
    """The still place from each end, and how much farther in the cord runs. Judged as it is told, at 0.1 mm."""
    if length <= 0:
        return NoResult("the length of the bar must be above zero")
    if tolerance < 0:
        return NoResult("the tolerance must not be below zero")
    if cord is not None and not 0 <= cord <= length / 2:
        return NoResult(
            f"a cord {decimal_text(cord)} mm from the end is not between the end and the middle of a bar of "
            f"{decimal_text(length)} mm; measure from the nearer end"
        )
    node = length * NODE
    off = None if cord is None else rounded(cord - node, TENTH)
    runs = None if off is None else "at-node" if abs(off) <= tolerance else "off-node"
    return {"node": node, "off": off, "runs": runs}
