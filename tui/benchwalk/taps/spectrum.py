"""The lines that stand out of a window's spectrum, without those that were there before the tap."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .bands import HIGHEST_HZ, LOWEST_HZ, Real

STANDS_OUT_DB = 10.0
"""So far above the spectrum round about a line is one: noise alone passes that about once in ten windows."""
_PROMINENT_DB = 3.0
_FAINTEST_DB = 34.0


class Peak(NamedTuple):
    """A line: where (Hz), how loud (dB below the loudest: 0 or less), how far above the spectrum round about."""

    hz: float
    db: float
    above_db: float


class Spectrum:
    """The power spectrum of a window (opened fast, closed slowly), in dB, with the level round about each place."""

    def __init__(self, window: Real, rate: float) -> None:
        size = 1 << int(np.ceil(np.log2(len(window) * 4)))
        shape = early(len(window), rate)
        found = np.abs(np.fft.rfft(window * shape, size)) / shape.sum() * 2
        self.step = rate / size
        self.width = rate / len(window)
        self.db: Real = 20 * np.log10(found + 1e-9)

    def at(self, hz: float) -> float:
        """The highest level within a line's width of a place."""
        low = max(0, int((hz - self.width) / self.step))
        return float(self.db[low : int((hz + self.width) / self.step) + 2].max())

    def floor(self) -> Real:
        """The level of the noise round about each place: the lower quarter of pieces of 90 Hz, joined by lines."""
        piece = max(8, round(90 / self.step))
        count = max(1, len(self.db) // piece)
        middles = (np.arange(count) + 0.5) * piece
        low = np.sort(self.db[: count * piece].reshape(count, -1), axis=1)[:, piece // 4]
        return np.asarray(np.interp(np.arange(len(self.db)), middles, low))

    def peaks(
        self, above_db: float = STANDS_OUT_DB, reach: tuple[float, float] = (LOWEST_HZ, HIGHEST_HZ)
    ) -> list[Peak]:
        """The lines from low to high, within reach (Hz), that stand so far above the spectrum, down to 34 dB below the
        loudest of them.
        """
        db, floor = self.db, self.floor()
        top = np.flatnonzero((db[1:-1] > db[:-2]) & (db[1:-1] >= db[2:])) + 1
        top = top[((top + 1) * self.step >= reach[0]) & ((top - 1) * self.step <= reach[1])]
        if not len(top):
            return []
        loudest = float(db[top].max())
        top = top[db[top] >= loudest - _FAINTEST_DB]
        kept = []
        for at, stands in zip(top, _prominence(db, top), strict=True):
            above = float(db[at] - floor[at])
            if above >= above_db and stands >= _PROMINENT_DB:
                kept.append(Peak(float(summit(db, int(at)) * self.step), float(db[at]) - loudest, above))
        return kept


def _prominence(db: Real, top: NDArray[np.intp]) -> Real:
    """How deep the lower of the valleys on both sides of each top is, as far as the next higher top (dB)."""
    heights = db[top]
    valleys = np.minimum.reduceat(db, top)[:-1] if len(top) > 1 else np.empty(0)
    found = np.empty(len(top))
    for index, height in enumerate(heights):
        sides = []
        left = index
        while left > 0 and heights[left - 1] <= height:
            left -= 1
        sides.append(valleys[left - 1 : index].min() if left > 0 else -np.inf)
        right = index
        while right < len(top) - 1 and heights[right + 1] <= height:
            right += 1
        sides.append(valleys[index : right + 1].min() if right < len(top) - 1 else -np.inf)
        found[index] = height - max(sides)
    return found


@lru_cache(maxsize=64)
def early(count: int, rate: float) -> Real:
    """A window that opens within 20 ms and closes slowly: what dies fast is heard before it is gone."""
    opening = min(count, max(1, round(0.02 * rate)))
    shape = 0.5 + 0.5 * np.cos(math.pi * np.arange(count) / count)
    shape[:opening] *= 0.5 - 0.5 * np.cos(math.pi * (np.arange(opening) + 0.5) / opening)
    return np.asarray(shape)


def summit(db: Real, at: int) -> float:
    """The top of the parabola through three values round a top, in steps."""
    left, middle, right = db[at - 1 : at + 2]
    bend = left - 2 * middle + right
    return at + (0.5 * (left - right) / bend if bend < 0 else 0.0)
