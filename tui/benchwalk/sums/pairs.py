"""The match of two drums: each quality against the scatter of its own repeated readings.

The difference of two means is known to U = k sqrt(s_a^2 / n_a + s_b^2 / n_b + 2 d^2 / 12): s the standard deviation of
the readings of one drum, n their count, d the step they were read to (a rectangular error of each mean, which reading
again does not average out). NIST TN 1297, 6.1-6.2; d / sqrt 12 from memory. Judged is what is told, at its resolution.
"""

from __future__ import annotations

import math
from fractions import Fraction
from statistics import NormalDist

from ..errors import Misread
from ..quantities import cents_apart, decimal_text, parse_quantity, rounded
from ..signatures import TENTH, NoResult, Outcome, Value
from .guarded import verdict as guarded

THOUSANDTH = Fraction(1, 1000)
FEWEST = 2
MATCH = {"within": "alike", "too-close": "too-close", "outside": "differs"}
_NONE = Fraction(0)
_Rounds = list[Fraction | None]
_Bands = list[dict[str, Fraction | None] | None]


def pair_likeness(a: _Rounds, b: _Rounds, limit: Fraction = _NONE, step: Fraction = _NONE) -> Outcome:
    """The mean of `a` less that of `b`, what that is sure to (k = 2), and whether it is within `limit`."""
    first, other = _noted(a), _noted(b)
    lacking = _lacking(first, other) or _below(limit, step)
    if lacking:
        return lacking
    return _judged(_mean(first) - _mean(other), 2 * _spread(first, other, step), limit, THOUSANDTH)


def note_likeness(a: _Rounds, b: _Rounds, limit: Fraction = _NONE, step: Fraction = _NONE) -> Outcome:
    """The same for notes in Hz, in cents; a step in Hz counts as it does at the lower of the two notes."""
    first, other = _noted(a), _noted(b)
    lacking = _lacking(first, other) or _below(limit, step)
    if lacking:
        return lacking
    if min(*first, *other) <= 0:
        return NoResult("a note is above 0 Hz, and one of these is not")
    base = other[0]
    high, low = [cents_apart(note, base) for note in first], [cents_apart(note, base) for note in other]
    lowest = min(_mean(first), _mean(other))
    read_to = cents_apart(lowest + step, lowest)
    return _judged(_mean(high) - _mean(low), 2 * _spread(high, low, read_to), limit, TENTH)


def band_likeness(a: _Bands, b: _Bands, limit: Fraction = _NONE, step: Fraction = _NONE) -> Outcome:
    """The band that decides: the one that differs most surely, or the one least sure to be alike."""
    lacking = _below(limit, step)
    if lacking:
        return lacking
    try:
        first, other = _by_band(a), _by_band(b)
    except Misread as refused:
        return NoResult(refused.message)
    bands = sorted(band for band in first.keys() & other.keys() if min(len(first[band]), len(other[band])) >= FEWEST)
    if not bands:
        return NoResult(f"no band was read {FEWEST} times or more on both drums; read each drum again from the start")
    k = _k_of(len(bands))
    found = {
        band: (
            rounded(_mean(first[band]) - _mean(other[band]), THOUSANDTH),
            rounded(Fraction(k) * _spread(first[band], other[band], step), THOUSANDTH),
        )
        for band in bands
    }
    worst = max(bands, key=lambda band: abs(found[band][0]) - found[band][1])
    if guarded(abs(found[worst][0]), found[worst][1], limit) != "outside":
        worst = max(bands, key=lambda band: abs(found[band][0]) + found[band][1])
    return {**_judged(*found[worst], limit, THOUSANDTH), "band": worst, "bands": Fraction(len(bands))}


def _judged(difference: Fraction, sure: Fraction, limit: Fraction, resolution: Fraction) -> dict[str, Value]:
    told, to = rounded(difference, resolution), rounded(sure, resolution)
    return {"difference": told, "sure": to, "match": MATCH[guarded(abs(told), to, limit)]}


def _noted(rounds: _Rounds) -> list[Fraction]:
    return [value for value in rounds if value is not None]


def _lacking(first: list[Fraction], other: list[Fraction]) -> NoResult | None:
    for which, values in (("one", first), ("other", other)):
        if len(values) < FEWEST:
            has = "one reading" if values else "no reading"
            return NoResult(f"the {which} drum has {has}; how far readings scatter shows from two or more")
    return None


def _below(limit: Fraction, step: Fraction) -> NoResult | None:
    return NoResult("the limit and the finest step read must not be below zero") if min(limit, step) < 0 else None


def _mean(values: list[Fraction]) -> Fraction:
    return sum(values, Fraction(0)) / len(values)


def _spread(first: list[Fraction], other: list[Fraction], step: Fraction) -> Fraction:
    """The standard uncertainty of the difference of two means, of each drum's scatter and the step read to."""
    squares = _of_mean(first) + _of_mean(other) + step * step / 6
    return _root(squares)


def _of_mean(values: list[Fraction]) -> Fraction:
    """The square of the standard uncertainty of a mean: s^2 / n."""
    mean, count = _mean(values), len(values)
    return sum(((value - mean) ** 2 for value in values), Fraction(0)) / (count - 1) / count


def _root(square: Fraction) -> Fraction:
    """The square root, to sixteen figures or more, however large or small (no float could overflow on the way)."""
    scale = 10**40
    return Fraction(math.isqrt(square.numerator * square.denominator * scale * scale), square.denominator * scale)


def _k_of(bands: int) -> float:
    """k that leaves all `bands` together the chance of error that k = 2 leaves one (4.55 %)."""
    normal = NormalDist()
    return -normal.inv_cdf(normal.cdf(-2) / bands)


def _by_band(rounds: _Bands) -> dict[Fraction, list[Fraction]]:
    """Band (Hz, as it is called) to its readings. Raises Misread for a place that is none, or that comes twice."""
    found: dict[Fraction, list[Fraction]] = {}
    for one in rounds:
        seen: set[Fraction] = set()
        for place, value in (one or {}).items():
            hertz = parse_quantity(place, "Hz").value
            band = rounded(hertz, TENTH)
            if band < 1 or band in seen:
                raise Misread(f"two bands are one, {decimal_text(band)} Hz" if band >= 1 else "a band lies above 1 Hz")
            seen.add(band)
            if value is not None:
                found.setdefault(band, []).append(value)
    return found
