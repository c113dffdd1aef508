"""The lines that stand out of a window's spectrum, without those that were there before the tap."""

from __future__ import annotations

import math
from functools import cached_property, lru_cache
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
        self.size = 1 << (len(window) * 4 - 1).bit_length()
        shape = early(len(window), rate)
        found = np.fft.rfft(window * shape, self.size)
        self.power: Real = found.real**2 + found.imag**2
        self.step = rate / self.size
        self.width = rate / len(window)
        self.db: Real = 10 * np.log10((4 / shape.sum() ** 2) * self.power + 1e-18)

    def at(self, hz: float) -> float:
        """The highest level within a line's width of a place."""
        low = max(0, int((hz - self.width) / self.step))
        return float(self.db[low : int((hz + self.width) / self.step) + 2].max())

    def floor(self, places: NDArray[np.intp]) -> Real:
        """The level of the noise round about some places: the lower quarter of pieces of 90 Hz, joined by lines."""
        return np.asarray(np.interp(places, *self._floors))

    @cached_property
    def _floors(self) -> tuple[Real, Real]:
        piece = max(8, round(90 / self.step))
        count = max(1, len(self.db) // piece)
        parts = np.partition(self.db[: count * piece].reshape(count, -1), piece // 4, axis=1)
        return np.asarray((np.arange(count) + 0.5) * piece), np.asarray(parts[:, piece // 4])

    @cached_property
    def _tops(self) -> NDArray[np.intp]:
        db = self.db
        return np.asarray(np.flatnonzero((db[1:-1] > db[:-2]) & (db[1:-1] >= db[2:])) + 1)

    def tops(self, below_db: float, reach: tuple[float, float]) -> NDArray[np.intp]:
        """The places (in steps) of what is higher than beside it, within reach (Hz), and down to so far below the
        loudest there, lines or not.
        """
        first, last = reach[0] / self.step - 1, reach[1] / self.step + 1
        top = self._tops[(self._tops >= first) & (self._tops <= last)]
        level = self.db[top]
        return np.asarray(top[level >= level.max(initial=-np.inf) - below_db])

    def peaks(
        self, above_db: float = STANDS_OUT_DB, reach: tuple[float, float] = (LOWEST_HZ, HIGHEST_HZ)
    ) -> list[Peak]:
        """The lines from low to high, within reach (Hz), that stand so far above the spectrum, down to 34 dB below the
        loudest of them.
        """
        db, top = self.db, self.tops(_FAINTEST_DB, reach)
        if not len(top):
            return []
        heights = db[top].tolist()
        loudest = max(heights)
        stand = zip(top.tolist(), heights, self.floor(top).tolist(), _prominence(db, top, heights), strict=True)
        return [
            Peak(summit(db, at) * self.step, height - loudest, height - floor)
            for at, height, floor, stands in stand
            if height - floor >= above_db and stands >= _PROMINENT_DB
        ]


def _prominence(db: Real, top: NDArray[np.intp], heights: list[float]) -> list[float]:
    """How deep the lower of the valleys on both sides of each top is, as far as the next higher top (dB)."""
    valleys = np.minimum.reduceat(db, top)[:-1].tolist() if len(top) > 1 else []
    found = []
    for index, height in enumerate(heights):
        left = right = index
        while left > 0 and heights[left - 1] <= height:
            left -= 1
        while right < len(heights) - 1 and heights[right + 1] <= height:
            right += 1
        before = min(valleys[left - 1 : index]) if left > 0 else -math.inf
        after = min(valleys[index : right + 1]) if right < len(heights) - 1 else -math.inf
        found.append(height - max(before, after))
    return found


@lru_cache(maxsize=256)
def early(count: int, rate: float) -> Real:
    """A window that opens within 20 ms and closes slowly: what dies fast is heard before it is gone."""
    opening = min(count, max(1, round(0.02 * rate)))
    shape = 0.5 + 0.5 * np.cos(math.pi * np.arange(count) / count)
    shape[:opening] *= 0.5 - 0.5 * np.cos(math.pi * (np.arange(opening) + 0.5) / opening)
    return np.asarray(shape)


def summit(db: Real, at: int) -> float:
    """The top of the parabola through three values round a top, in steps."""
    left, middle, right = db[at - 1 : at + 2].tolist()
    bend = left - 2 * middle + right
    return at + (0.5 * (left - right) / bend if bend < 0 else 0.0)
