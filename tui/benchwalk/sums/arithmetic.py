"""Sums any procedure can use, over values of one unit. Exact; rounding is done where they are asked for."""

from __future__ import annotations

from fractions import Fraction

from ..quantities import decimal_text
from ..signatures import NoResult, Outcome


def share(part: Fraction, whole: Fraction) -> Outcome:
    """`part` of `whole`, 0 to 1."""
    if whole <= 0:
        return NoResult(f"the whole is {decimal_text(whole)}; a share needs one above zero")
    if not 0 <= part <= whole:
        return NoResult(f"{decimal_text(part)} is no part of {decimal_text(whole)}; one of the two is wrong")
    return {"share": part / whole}


def difference(a: Fraction, b: Fraction) -> Outcome:
    """How much `a` and `b` differ, and `a` less `b`."""
    return {"by": abs(a - b), "signed": a - b}


def spread(values: dict[str, Fraction | None]) -> Outcome:
    """The largest less the smallest of the places that have a value."""
    noted = [value for value in values.values() if value is not None]
    if len(noted) < 2:
        return NoResult(f"a spread needs two values, and there {'is one' if noted else 'is none'}")
    return {"spread": max(noted) - min(noted)}


def mean(values: dict[str, Fraction | None]) -> Outcome:
    """The mean of the places that have a value."""
    noted = [value for value in values.values() if value is not None]
    if not noted:
        return NoResult("a mean needs a value, and there is none")
    return {"mean": sum(noted, Fraction(0)) / len(noted)}
