"""What the weather does to a note, in cents. Estimates; common practice, no published source."""

from __future__ import annotations

from fractions import Fraction

from ..quantities import cents_between, rounded
from ..signatures import TENTH, NoResult, Outcome

A_DEGREE_ON_WOOD = Fraction(4), Fraction(6)
A_PERCENT_ON_METAL = Fraction(5, 2), Fraction(4)


def weather_allowance(
    warmer: Fraction,
    damper: Fraction,
    shell: str,
    head: str = "film",
    before: Fraction | None = None,
    now: Fraction | None = None,
) -> Outcome:
    """The estimate's two ends for this change, and where the move of the note lies against them.

    Nobody says which way a note goes, so the size of the move alone is judged, as it is told: at 0.1 cents.
    """
    if head == "skin":
        return NoResult("a skin head is not compared across days")
    if abs(damper) > 100:
        return NoResult("humidity cannot change by more than 100 percent; one of the two is misread")
    if (before is None) != (now is None):
        return NoResult("the note before and the note now go together, and one of them is not noted")
    if before is not None and now is not None and min(before, now) <= 0:
        return NoResult("a note is above 0 Hz, and one of these is not")
    low, high = A_DEGREE_ON_WOOD if shell == "wood" else A_PERCENT_ON_METAL
    change, other = (abs(warmer), damper) if shell == "wood" else (abs(damper), warmer)
    least, allow = rounded(change * low, TENTH), rounded(change * high, TENTH)
    moved = None if before is None or now is None else rounded(Fraction(cents_between(now, before)), TENTH)
    return {
        "allow": allow,
        "least": least,
        "no_figure": "none" if not other else "damp" if shell == "wood" else "warmth",
        "moved": moved,
        "explained": None if moved is None else _explained(abs(moved), least, allow),
    }


def _explained(size: Fraction, least: Fraction, allow: Fraction) -> str:
    return "weather" if size <= least else "not-weather" if size > allow else "too-close"
