"""How many lines a band holds, and the best fit of them."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from .bands import Band, Complex, Real
from .lines import CENT, Falling, Lines, poles_of, soft_fall, subspace, unfallen
from .solving import fit

MOST_LINES = 6
_FEWEST = 5
"""A band of fewer values, as of a low note that was cut off soon, tells of no line."""
ENOUGH = 1e-5
"""What is left over may be so small a part of the band's power that more lines would only model the drum's whims."""
_DEARER = 2.5
_LIKELY = 16.0
_HOPELESS = 50.0
"""So much worse than the best bound, a number of lines has won no fit of the benchmark; it spares a third of them."""
_ONE_PLACE_HZ, _CANCELLED = 0.5, 0.2
_TWINS_HZ, _TWINS = 1.0, 0.5
"""Lines so near that take more than this away from each other are one, when all is fitted: no note is sure of them."""
_FALLS = tuple(cents * CENT for cents in (0, 2, 5, 10, 20, 35, 55, 80, 110, 150))


def fitted(band: Band, falling: Falling | None = None, *, most: int = MOST_LINES, rough: bool = False) -> Lines | None:
    """The lines of a band; None where none can be fitted. `rough` fits `most` lines, less exactly.

    Without `falling` the notes fall as after a soft tap, with the square of the ring. Lines are added while they pay:
    each brings four numbers, and each number must better the fit by `_DEARER`, which lies between the criteria of
    Akaike (1974) and Schwarz (1978).
    """
    if len(band.values) < _FEWEST:
        return None
    soft = falling is None
    fall, decay = _first_fall(band) if soft else (0.0, 0.0)
    directions, beyond = subspace(unfallen(band, [fall], decay)[0] if fall else band.values, most)
    best: Lines | None = None
    least = math.inf
    tried: list[tuple[float, Lines]] = []
    counts = range(1, min(most, int(band.free / 2.5)) + 1)
    for count in [most] if rough else _hopeful(band, beyond, counts) if soft else counts:
        poles = poles_of(directions, count, band.rate)
        if soft and not tried:
            guess = fit(band, poles, np.array([fall]), soft_fall(band, decay), steps=0)
            decay = decay if guess is None else _square(band, guess)
        shape = soft_fall(band, decay) if falling is None else falling
        falls = np.full(len(shape.leads), fall)
        now = fit(band, poles, falls, shape, steps=1 if rough else 3)
        if now is None or _cancelling(now):
            continue
        decay = _square(band, now)
        score = _score(band, now.left, count)
        tried.append((score, now))
        if score < least:
            best, least = now, score
        elif count > len(best.hz if best else ()) + 1:
            break
        if now.left < ENOUGH * now.power:
            break
    if best is None or rough:
        return best
    others = tuple(lines for score, lines in tried if lines is not best and score < least + _LIKELY)
    found = best if best.settled else _polished(band, best)
    if soft and _cancelling(found, _TWINS_HZ, _TWINS):
        found, others = _merged(band, found), (found, *others)
    return found._replace(others=others)


def _score(band: Band, left: float, count: int) -> float:
    return 2 * band.free * math.log(left + 1e-30) + _DEARER * 4 * count


def _hopeful(band: Band, beyond: Real, counts: Sequence[int]) -> list[int]:
    """The numbers of lines worth a fit, by the power that so many cannot explain. After a hard stroke it does not tell:
    lines that still fall are several of its steady ones.
    """
    scores = [_score(band, float(beyond[count - 1]), count) for count in counts]
    return [count for count, score in zip(counts, scores, strict=True) if score < min(scores) + _HOPELESS]


def _cancelling(lines: Lines, within: float = _ONE_PLACE_HZ, part: float = _CANCELLED) -> bool:
    """Whether two lines at one place are there only to take each other away, which no drum has."""
    found = list(zip(lines.hz.tolist(), lines.values.tolist(), strict=True))
    for hz, _ in found:
        near = [value for other, value in found if abs(other - hz) < within]
        if abs(sum(near)) < part * sum(map(abs, near)):
            return True
    return False


def _square(band: Band, lines: Lines) -> float:
    """How fast the square of the loudest line near the band's middle dies (1/s)."""
    wide = 0.1 * band.centre_hz
    parts = zip(lines.hz.tolist(), lines.values.tolist(), lines.decays.tolist(), strict=True)
    found = [(abs(value) * math.exp(-(((hz - band.centre_hz) / wide) ** 2)), decay) for hz, value, decay in parts]
    return 2 * min(40.0, max(1.5, float(max(found)[1])))


def _polished(band: Band, found: Lines) -> Lines:
    """The same lines fitted to the end."""
    poles = -found.decays + 2j * math.pi * (found.hz - band.centre_hz)
    return fit(band, poles, found.falls, found.falling, steps=6) or found


def _merged(band: Band, found: Lines) -> Lines:
    """The same lines, of twins only the first."""
    near = np.abs(found.hz[:, None] - found.hz) < _TWINS_HZ
    first = ~np.tril(near, -1).any(axis=1)
    return _polished(band, found._replace(hz=found.hz[first], decays=found.decays[first]))


def _first_fall(band: Band) -> tuple[float, float]:
    """How far the notes fall and how fast: what makes the band's strongest line sharpest (a part of the note, 1/s)."""
    power = band.values.real**2 + band.values.imag**2
    half = len(power) // 2
    early, late = float(power[:half].sum()), float(power[half:].sum())
    apart = band.times[half] - band.times[0]
    decay = min(40.0, max(1.5, math.log(max(early, 1e-30) / max(late, 1e-30)) / (2 * apart)))
    shaped = unfallen(band, _FALLS, 2 * decay) * np.exp(-decay * band.times)
    found: Complex = np.fft.fft(shaped, 1 << (4 * len(power) - 1).bit_length(), axis=1)
    heights: Real = (found.real**2 + found.imag**2).max(axis=1)
    best = int(np.argmax(heights))
    return (_FALLS[best] if heights[best] > 1.02**2 * heights[0] else 0.0), 2 * decay
