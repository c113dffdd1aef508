"""How far the notes of a hard stroke fall, and a window with that fall taken out.

A struck head is stretched by its own motion: all its notes begin sharp by the same part of themselves and fall as the
motion dies, about as exp(-s t). Run the recording along a clock that is ahead by as much, and every line stands still.
The right clock is the one by which the lines are narrowest; `solving` betters it.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .bands import HIGHEST_HZ, Band, Real, pieces
from .lines import CENT, Falling
from .spectrum import Spectrum, early

_DEPTHS = tuple(cents * CENT for cents in (25, 50, 80, 115, 150, 190, 240, 300, 370))
_USUAL_DECAY = 16.0
_DEEPEST = 0.3
_SLOWEST, _FASTEST = 5.0, 70.0
_NARROWER, _CLEARLY = 1.012, 1.1
_HIGHEST_HZ = 1.3 * HIGHEST_HZ
"""As far as a fall can move the highest note: moved over the edge of what is judged, a line would seem to narrow."""
_FALL_SPREAD, _DECAY_SPREAD = 40 * CENT, 0.3
_THROUGH_FOUR = np.array([[0, 6, 0, 0], [-2, -3, 6, -1], [3, -6, 3, 0], [-1, 3, -3, 1]]) / 6
"""Four samples to the cubic through them, its powers from the lowest, from the second sample on."""


class Fall(NamedTuple):
    """How sharp a window begins (a part of the note), and how fast that dies (1/s)."""

    depth: float
    decay: float
    clear: bool = False
    """Whether it cannot well be anything else."""

    def lead(self, times: Real) -> Real:
        """By how many seconds the notes have run ahead at some times (s)."""
        return np.asarray(-self.depth / self.decay * np.expm1(-self.decay * times))


_TRIED = (Fall(40 * CENT, 12.0), Fall(40 * CENT, 30.0), Fall(110 * CENT, 18.0))


def hard_fall(window: Real, rate: float, spectrum: Spectrum) -> Fall | None:
    """The fall of a window that falls far; None for a soft tap. `spectrum` is the window's."""
    judged = _Judged(window, rate)
    still = judged.standing(spectrum)
    if max(judged.all_of(_TRIED)) < _NARROWER * still:
        return None
    deep = judged.best(tuple(Fall(depth, _USUAL_DECAY) for depth in _DEPTHS))
    fall = _bettered(judged, judged.best(tuple(deep._replace(decay=_USUAL_DECAY * by) for by in (0.5, 1.0, 2.0))))
    if fall.depth > 0.95 * _DEEPEST:
        return None
    return fall._replace(clear=judged(fall) > _CLEARLY * still)


class _Judged:
    """Says how much of a window's power stands in few places once a fall is taken out."""

    def __init__(self, window: Real, rate: float) -> None:
        self._window, self._rate, self._cubics = window, rate, _cubics(window)
        self._size = 1 << (len(window) - 1).bit_length()
        self._last = int(_HIGHEST_HZ * self._size / rate)
        self._known: dict[Fall, float] = {}

    def __call__(self, fall: Fall) -> float:
        if fall not in self._known:
            read = _read(self._cubics, _reading(len(self._window), self._rate, fall))
            self._known[fall] = self._narrow(self._powers(read * early(len(read), self._rate)), len(read))
        return self._known[fall]

    def standing(self, spectrum: Spectrum) -> float:
        """The same for the window as it is, whose spectrum is a finer one."""
        finer = spectrum.size // self._size
        return self._narrow(spectrum.power[: self._last * finer : finer], len(self._window))

    def all_of(self, falls: tuple[Fall, ...]) -> list[float]:
        """The same for falls that many taps are tried with, all at once."""
        readings, counts = _kept_readings(len(self._window), self._rate, falls)
        powers = self._powers(_read(self._cubics, readings))
        return [self._narrow(power, count) for power, count in zip(powers, counts, strict=True)]

    def best(self, falls: tuple[Fall, ...]) -> Fall:
        """The one of these that makes the lines narrowest."""
        found = self.all_of(falls)
        return falls[found.index(max(found))]

    def _powers(self, shaped: Real) -> Real:
        found = np.fft.rfft(shaped, self._size)[..., : self._last]
        return np.asarray(found.real**2 + found.imag**2)

    @staticmethod
    def _narrow(power: Real, count: int) -> float:
        """How narrow the lines of a spectrum are, which so many readings made."""
        return float(power @ power) / (float(power.sum()) ** 2 + 1e-30) / count  # a slower clock narrows all


def _bettered(judge: _Judged, fall: Fall) -> Fall:
    """A fall from a grid moved to where the lines are narrowest."""
    wide = 1.3
    while wide > 1.06:
        around = [(wide, 1.0), (1 / wide, 1.0), (1.0, wide), (1.0, 1 / wide), (wide, wide), (1 / wide, 1 / wide)]
        top = max((_held(fall.depth * by, fall.decay * fast) for by, fast in around), key=judge)
        if judge(top) > judge(fall):
            fall = top
        else:
            wide = math.sqrt(wide)
    return fall


def _held(depth: float, decay: float) -> Fall:
    """A fall of these, or what comes next to it within reason; rounded, so that places come upon twice are one."""
    return Fall(round(min(_DEEPEST, max(-_DEEPEST, depth)), 9), round(min(_FASTEST, max(_SLOWEST, decay)), 6))


def clock(count: int, rate: float, fall: Fall) -> tuple[Real, Real]:
    """The times (s) at which a window is read so that its notes stand still, and the even clock of these readings."""
    times = np.arange(count) / rate
    ahead = times + fall.lead(times)
    even = np.arange(int(ahead[-1] * rate)) / rate
    return np.interp(even, ahead, times), even


class _Reading(NamedTuple):
    """Where a clock reads: beside which samples, how far beyond each, and how loud. Of several clocks, a row each."""

    whole: NDArray[np.intp]
    part: Real
    loud: Real


def unrolled(window: Real, rate: float, fall: Fall) -> Real:
    """The window with its fall taken out: read along that clock, by cubics through four samples."""
    return _read(_cubics(window), _reading(len(window), rate, fall))


def _cubics(window: Real) -> Real:
    """The cubics through four samples each, a row for each power of how far a place lies beyond the second."""
    return np.asarray(_THROUGH_FOUR @ pieces(window, len(window) - 3))


def _read(cubics: Real, reading: _Reading) -> Real:
    steady, slope, bend, turn = cubics.take(reading.whole - 1, axis=1)
    for lower in (bend, slope, steady):
        turn *= reading.part
        turn += lower
    return np.asarray(turn * reading.loud)


def _reading(count: int, rate: float, fall: Fall) -> _Reading:
    """The clock's readings of a window of so many samples; loudness held."""
    at, even = clock(count, rate, fall)
    place = at * rate
    whole = np.minimum(np.maximum(place.astype(np.intp), 1), count - 3)
    return _Reading(whole, place - whole, np.exp(fall.decay / 2 * (at - even)))


@lru_cache(maxsize=24)
def _kept_readings(count: int, rate: float, falls: tuple[Fall, ...]) -> tuple[_Reading, list[int]]:
    """The readings for some falls, their loudness shaped for a spectrum, and how many each has."""
    readings = [_reading(count, rate, fall) for fall in falls]
    counts = [len(each.part) for each in readings]
    found = _Reading(np.ones((len(falls), max(counts)), np.intp), *np.zeros((2, len(falls), max(counts))))
    for row, (whole, part, loud) in enumerate(readings):
        found.whole[row, : counts[row]], found.part[row, : counts[row]] = whole, part
        found.loud[row, : counts[row]] = loud * early(counts[row], rate)
    return found, counts


def rest_of(band: Band, fall: Fall, count: int, rate: float) -> Falling:
    """What may still be fitted of a fall that was taken out of a window of `count` samples: its depth and its decay."""
    at, even = clock(count, rate, fall)
    times = np.interp(band.times, even, at)
    deep = -np.expm1(-fall.decay * times) / fall.decay
    slow = fall.depth * (times * np.exp(-fall.decay * times) - deep)
    return Falling(np.stack([deep, slow]), np.zeros(2), np.array([_FALL_SPREAD, _DECAY_SPREAD]))


def moved(fall: Fall, by: Real) -> Fall:
    """A fall with what was fitted of the rest added."""
    return _held(fall.depth + float(by[0]), fall.decay * math.exp(min(1.0, max(-1.0, float(by[1])))))
