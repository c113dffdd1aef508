"""How often a difference told of few readings is really sure to what is said beside it, and what the match then says.

Readings of two drums with the same normal scatter; the true difference is known. Printed for each count of readings of
each drum: how often U (k = 2) covers the true difference, how often a difference that lies outside the limit is called
alike (a false match), and how often one well inside is too close to call.
"""

from __future__ import annotations

from fractions import Fraction
from random import Random

from benchwalk.sums import compute

TRIES = 2000
COUNTS = (2, 3, 4, 5, 7, 10)
LIMIT = 5.0  # cents; one reading scatters by 1 cent
OUTSIDE, INSIDE = 5.01, 3.0


def told(chance: Random, count: int, true: float) -> tuple[bool, str]:
    """(whether U covers the true difference, what the match says) of one comparison."""
    a, b = ([Fraction(round(mean + chance.gauss(0, 1), 6)) for _ in range(count)] for mean in (true, 0.0))
    found = compute("pair-likeness", {"a": [*a], "b": [*b], "limit": Fraction(LIMIT)})
    assert isinstance(found, dict)
    difference, sure, match = found["difference"], found["sure"], found["match"]
    assert isinstance(difference, Fraction) and isinstance(sure, Fraction) and isinstance(match, str)
    return abs(difference - Fraction(true)) <= sure, match


def main() -> None:
    """Print the table."""
    print("readings of each   U covers   false match   too close, well inside")
    for count in COUNTS:
        chance = Random(count)
        out = [told(chance, count, OUTSIDE) for _ in range(TRIES)]
        inside = [told(chance, count, INSIDE) for _ in range(TRIES)]
        covers = sum(one for one, _ in out) / TRIES
        false = sum(match == "alike" for _, match in out) / TRIES
        close = sum(match == "too-close" for _, match in inside) / TRIES
        print(f"{count:16}   {covers:8.1%}   {false:11.1%}   {close:22.1%}")


if __name__ == "__main__":
    main()
