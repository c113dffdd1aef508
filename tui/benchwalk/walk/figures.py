"""Numbers and ranges as events carry them: exact text that gives the same number back."""

from __future__ import annotations

from fractions import Fraction

from ..quantities import Range, decimal_text


def range_data(found: Range) -> dict[str, str | bool | None]:
    """A range as events carry it; an end that does not belong to it is marked."""
    data: dict[str, str | bool | None] = {
        "low": exact(found.low) if found.low is not None else None,
        "high": exact(found.high) if found.high is not None else None,
    }
    if found.low_open:
        data["low_open"] = True
    if found.high_open:
        data["high_open"] = True
    return data


def exact(value: Fraction) -> str:
    """A number as text that gives exactly it back: decimal where that ends, else p/q."""
    text = decimal_text(value)
    return text if Fraction(text) == value else f"{value.numerator}/{value.denominator}"
