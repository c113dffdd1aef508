"""Values out of a kept drum: anybody may have written that file, so each is taken only where it can be one.

All raise ValueError; the readers of a state make one sentence of it.
"""

from __future__ import annotations

from collections.abc import Collection

MOST = 10_000.0  # turns, Hz, cents: far more than a practice drum comes to, and all of it can be reckoned with


def number(value: object, most: float = MOST) -> float:
    """A number from -most to most."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) <= most:
        raise ValueError("a number stands wrong")
    return float(value)


def pitch(value: object) -> float:
    """A pitch in Hz."""
    hz = number(value)
    if hz <= 0:
        raise ValueError("a pitch stands wrong")
    return hz


def count(value: object) -> int:
    """A whole number from nought on: how often something was done, or what chance begins with."""
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value < 1 << 40:
        raise ValueError("a count stands wrong")
    return value


def word(value: object, known: Collection[str]) -> str:
    """One of the words known."""
    if not isinstance(value, str) or value not in known:
        raise ValueError("a word stands wrong")
    return value


def text(value: object, most: int = 64) -> str:
    """A line of text of at most `most` characters."""
    if not isinstance(value, str) or len(value) > most or not value.isprintable():
        raise ValueError("a text stands wrong")
    return value


def yes(value: object) -> bool:
    """A yes or a no."""
    if not isinstance(value, bool):
        raise ValueError("a yes or no stands wrong")
    return value
