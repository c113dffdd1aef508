"""A recording slimmed to the rate at which drums are listened to, and one band of it moved down to zero."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

Real = NDArray[np.float64]
Complex = NDArray[np.complex128]

BASE_RATE = 6000
"""Samples a second, about: notes of drums lie below 2 kHz."""
LOWEST_HZ = 40.0
HIGHEST_HZ = 2000.0
_BLOCK = 2048


@lru_cache(maxsize=16)
def _low_pass(factor: int) -> Real:
    """A low-pass for slimming by `factor`: a windowed sinc, 0.42 of the new rate, 16 new samples long.

    So many taps are in a row, the last filled up with zeros.
    """
    half = 8 * factor
    at = np.arange(-half, half + 1)
    taps = np.sinc(at * 0.84 / factor) * np.kaiser(2 * half + 1, 7.0)
    return np.asarray(np.append(taps / taps.sum(), np.zeros(factor - 1)).reshape(-1, factor))


def slim(samples: Real, rate: int) -> tuple[Real, float]:
    """The recording at about `BASE_RATE`, sample k at the time of the old sample k * factor, and its exact rate."""
    if not len(samples):
        return samples, float(rate)
    factor = max(1, rate // BASE_RATE)
    mean = samples.mean()
    if factor == 1:
        return samples - mean, float(rate)
    taps = _low_pass(factor)
    rows, count = len(taps), -(-len(samples) // factor)
    out = np.empty(count)
    for start in range(0, count, _BLOCK):
        long, first = min(_BLOCK, count - start), (start - rows // 2) * factor
        block = np.zeros((long + rows - 1) * factor)
        heard = samples[max(0, first) : first + len(block)]
        np.subtract(heard, mean, out=block[max(0, -first) :][: len(heard)])
        parts = taps @ block.reshape(-1, factor).T  # each row of taps with each `factor` samples
        along, beside = parts.strides[0] + parts.itemsize, parts.itemsize
        shifted = np.ndarray((rows, long), parts.dtype, parts, strides=(along, beside))  # each row a place further
        out[start : start + long] = shifted.sum(axis=0)
    return out, rate / factor


@lru_cache(maxsize=256)
def _hann(length: int) -> Real:
    """A Hann window without its zeros, whose sum is 1."""
    shape = np.hanning(length + 2)[1:-1]
    return np.asarray(shape / shape.sum())


def pieces(values: NDArray[Any], length: int, step: int = 1) -> NDArray[Any]:
    """All pieces of so many values, each `step` on from the one before: a row each, not copied."""
    values = np.ascontiguousarray(values)
    count, size = (len(values) - length) // step + 1, values.itemsize
    return np.ndarray((max(0, count), length), values.dtype, values, strides=(step * size, size))


def mean_power(sound: Real) -> float:
    """The mean of a sound's squares; 0 of none."""
    return float(sound @ sound) / max(1, len(sound))


class Band:
    """One band of a window, moved down to zero and slimmed: `values` at `times` (s from the window's start).

    The filter is a Hann window of `width_s` seconds; only places where it lies wholly inside the window are used, so
    that a decaying sine stays exactly one. `gain` says what the filter did to it.
    """

    def __init__(self, window: Real, rate: float, centre_hz: float, width_s: float) -> None:
        length = max(9, round(width_s * rate) | 1)
        step = max(1, length // 5)  # what lies 1.25 / 4 beyond the band folds back, 50 dB down
        self.centre_hz = centre_hz
        self.width_s = length / rate
        self.rate = rate / step
        self._length, self._window_rate = length, rate
        at = np.arange(length) - length // 2
        turn = -2j * math.pi * centre_hz
        kernel = 2 * _hann(length) * np.exp(turn / rate * at)
        parts = np.dot(pieces(window, length, step), kernel.view(np.float64).reshape(-1, 2))  # real by complex is slow
        found = parts.view(np.complex128)[:, 0]
        self.times: Real = (np.arange(len(found)) * step + length // 2) / rate
        self.values: Complex = found * np.exp(turn * self.times)
        self.power = float(np.vdot(self.values, self.values).real)

    def gain(self, poles: Complex) -> Complex:
        """What the filter makes of exp(pole t), pole = -d + 2 pi i (f - centre), as one factor for each.

        A Hann window is three steady turns, and their sums with exp(pole t), geometric series all, make one fraction.
        """
        steps = self._length + 1
        sine = math.sin(math.pi / steps) ** 2
        half = 0.5 / self._window_rate * poles + 1e-15
        return np.asarray(
            sine / steps * np.sinh(steps * half) / (np.tanh(half) * (np.sinh(half) ** 2 + sine)),
            dtype=np.complex128,
        )

    @property
    def alike(self) -> float:
        """How many neighbouring values share their noise: a Hann window lets 1.5 / width_s of noise through."""
        return max(1.0, self.rate * self.width_s / 1.5)

    @property
    def free(self) -> float:
        """How many values are worth the band's, since neighbours share their noise."""
        return len(self.values) / self.alike
