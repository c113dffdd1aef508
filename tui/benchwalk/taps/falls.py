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

from .bands import HIGHEST_HZ, Band, Real
from .lines import CENT, Falling
from .spectrum import Spectrum, early

_TRIED = ((40, 12.0), (40, 30.0), (110, 18.0))
_DEPTHS = tuple(cents * CENT for cents in (25, 50, 80, 115, 150, 190, 240, 300, 370))
_USUAL_DECAY = 16.0
_DEEPEST = 0.3
_SLOWEST, _FASTEST = 5.0, 70.0
_NARROWER, _CLEARLY = 1.012, 1.1
_HIGHEST_HZ = 1.3 * HIGHEST_HZ
"""As far as a fall can move the highest note: moved over the edge of what is judged, a line would seem to narrow."""
_FALL_SPREAD, _DECAY_SPREAD = 40 * CENT, 0.3


class Fall(NamedTuple):
    """How sharp a window begins (a part of the note), and how fast that dies (1/s)."""

    depth: float
    decay: float
    clear: bool = False
    """Whether it cannot well be anything else."""

    def lead(self, times: Real) -> Real:
        """By how many seconds the notes have run ahead at some times (s)."""
        return np.asarray(-self.depth / self.decay * np.expm1(-self.decay * times))


def hard_fall(window: Real, rate: float, spectrum: Spectrum) -> Fall | None:
    """The fall of a window that falls far; None for a soft tap. `spectrum` is the window's."""
    judged = _Judged(window, rate)
    still = judged.standing(spectrum)
    if max(judged.first_tried()) < _NARROWER * still:
        return None
    deep = max((Fall(depth, _USUAL_DECAY) for depth in _DEPTHS), key=judged)
    deep = max((deep._replace(decay=_USUAL_DECAY * by) for by in (0.5, 1.0, 2.0)), key=judged)
    fall = _bettered(judged, deep)
    if fall.depth > 0.95 * _DEEPEST:
        return None
    return fall._replace(clear=judged(fall) > _CLEARLY * still)


class _Judged:
    """Says how much of a window's power stands in few places once a fall is taken out."""

    def __init__(self, window: Real, rate: float) -> None:
        self._window, self._rate = window, rate
        self._size = 1 << (len(window) - 1).bit_length()
        self._last = int(_HIGHEST_HZ * self._size / rate)

    def __call__(self, fall: Fall) -> float:
        read = unrolled(self._window, self._rate, fall)
        return self._narrow(self._powers(read * early(len(read), self._rate)), len(read))

    def standing(self, spectrum: Spectrum) -> float:
        """The same for the window as it is, whose spectrum is a finer one."""
        finer = spectrum.size // self._size
        return self._narrow(spectrum.power[: self._last * finer : finer], len(self._window))

    def first_tried(self) -> list[float]:
        """The same for the falls that every tap is tried with, all at once."""
        places, weights, counts = _first_readings(len(self._window), self._rate)
        read = (self._window.take(places) * weights).sum(axis=0)
        return [self._narrow(power, count) for power, count in zip(self._powers(read), counts, strict=True)]

    def _powers(self, shaped: Real) -> Real:
        found = np.fft.rfft(shaped, self._size)[..., : self._last]
        return np.asarray(found.real**2 + found.imag**2)

    @staticmethod
    def _narrow(power: Real, count: int) -> float:
        """How narrow the lines of a spectrum are, which so many readings made."""
        return float(power @ power) / (float(power.sum()) ** 2 + 1e-30) / count  # a slower clock narrows all


def _bettered(judge: _Judged, fall: Fall) -> Fall:
    """A fall from a grid moved to where the lines are narrowest."""
    best = judge(fall)
    wide = 1.3
    while wide > 1.06:
        around = [(wide, 1.0), (1 / wide, 1.0), (1.0, wide), (1.0, 1 / wide), (wide, wide), (1 / wide, 1 / wide)]
        tried = [_held(fall.depth * by, fall.decay * fast) for by, fast in around]
        found = [judge(each) for each in tried]
        top = int(np.argmax(found))
        if found[top] > best:
            fall, best = tried[top], found[top]
        else:
            wide = math.sqrt(wide)
    return fall


def _held(depth: float, decay: float) -> Fall:
    """A fall of these, or what comes next to it within reason."""
    return Fall(min(_DEEPEST, max(-_DEEPEST, depth)), min(_FASTEST, max(_SLOWEST, decay)))


def clock(count: int, rate: float, fall: Fall) -> tuple[Real, Real]:
    """The times (s) at which a window is read so that its notes stand still, and the even clock of these readings."""
    times = np.arange(count) / rate
    ahead = times + fall.lead(times)
    even = np.arange(int(ahead[-1] * rate)) / rate
    return np.interp(even, ahead, times), even


def unrolled(window: Real, rate: float, fall: Fall) -> Real:
    """The window with its fall taken out: read along that clock, by cubics through four samples."""
    return _read(window, *_reading(len(window), rate, fall))


def _read(window: Real, whole: NDArray[np.intp], weights: Real) -> Real:
    found = window[whole - 1] * weights[0]
    for step in range(3):
        found += window[whole + step] * weights[step + 1]
    return np.asarray(found)


def _reading(count: int, rate: float, fall: Fall) -> tuple[NDArray[np.intp], Real]:
    """Beside which samples the clock reads, and the weights of the four round about; loudness held."""
    at, even = clock(count, rate, fall)
    place = at * rate
    whole = np.clip(place.astype(np.intp), 1, count - 3)
    part = place - whole
    more, less, lesser = part + 1, part - 1, part - 2
    weights = np.stack(
        [-part * less * lesser / 6, more * less * lesser / 2, -more * part * lesser / 2, more * part * less / 6]
    )
    return whole, np.asarray(weights * np.exp(fall.decay / 2 * (at - even)))


@lru_cache(maxsize=8)
def _first_readings(count: int, rate: float) -> tuple[NDArray[np.intp], Real, list[int]]:
    """Where the clocks that every tap is tried with read, a row each in four layers, with weights that shape them for
    a spectrum too; and how many readings each has.
    """
    readings = [_reading(count, rate, Fall(cents * CENT, decay)) for cents, decay in _TRIED]
    counts = [len(whole) for whole, _ in readings]
    places, weights = np.zeros((4, len(_TRIED), max(counts)), np.intp), np.zeros((4, len(_TRIED), max(counts)))
    for row, (whole, weight) in enumerate(readings):
        places[:, row, : counts[row]] = whole + np.arange(-1, 3)[:, None]
        weights[:, row, : counts[row]] = weight * early(counts[row], rate)
    return places, weights, counts


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
