"""The note of a whole drum as it has settled: the loudest line of the later part of the window.

Two heads that drive each other, or a hard stroke, fall in ways that no few decaying lines follow. What is left from
150 ms on repeats from stroke to stroke; how far it still falls there is its uncertainty.
"""

from __future__ import annotations

import math

import numpy as np

from .bands import Real
from .note import Note
from .spectrum import summit

FROM_S = 0.120
"""From the window's start, which is 150 ms after the tap."""
_NEAR = (0.88, 1.08)
_LEAST_ABOVE_DB = 15.0


def late_note(window: Real, rate: float, around_hz: float) -> Note | None:
    """The note near a line of the whole window; None where nothing stands clear there, or it does not die away."""
    part = window[round(FROM_S * rate) :]
    if len(part) < 0.15 * rate:
        return None
    whole = _peak(part, rate, around_hz)
    half = len(part) // 2
    first, then = _peak(part[: half * 4 // 3], rate, around_hz), _peak(part[half * 2 // 3 :], rate, around_hz)
    if whole is None or first is None or then is None:
        return None
    apart = (len(part) - half * 4 // 3) / rate
    decay = (first[1] - then[1]) / apart * math.log(10) / 20
    if not 0.5 < decay < 42 or whole[2] < _LEAST_ABOVE_DB:
        return None
    falls = abs(1200 * math.log2(first[0] / then[0]))
    return Note(whole[0], math.hypot(falls, 1.0), None, decay, (1.0,), (whole[0],), (decay,), whole[2])


def _peak(part: Real, rate: float, around_hz: float) -> tuple[float, float, float] | None:
    """(Hz, dB, dB above the middle of the spectrum round about) of the loudest line near a note."""
    size = 1 << (len(part) * 8 - 1).bit_length()
    shape = np.hanning(len(part) + 2)[1:-1]
    db = 20 * np.log10(np.abs(np.fft.rfft(part * shape, size)) / shape.sum() + 1e-9)
    low, high = (round(side * around_hz * size / rate) for side in _NEAR)
    if low < 1 or high + 1 >= len(db):
        return None
    at = low + int(np.argmax(db[low : high + 1]))
    if at in (low, high):
        return None
    around = db[max(1, at // 2) : 2 * at]
    return summit(db, at) * rate / size, float(db[at]), float(db[at] - np.median(around))
