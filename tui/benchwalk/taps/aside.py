"""What rang beside the note when the head was struck: of one head alone nothing lies there.

Below a head's first pair lies the open note, a fourth or more away, and the second pair lies as far above it. What is
heard between them is another head: one that was not damped, or the struck one itself, which dies at once where a pad
lies on it, while the note is the other head's. So the lines that ring later, the note's and the second pair's, are
taken out of the note's first oscillations, and what is left beside it is held against them.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .bands import Real
from .note import Note
from .spectrum import Peak
from .window import BEGIN_S, Window

BESIDE = ((0.80, 0.91), (1.09, 1.23))
"""Where nothing of one head rings, in notes of its first pair."""
_SECOND, _FAINTEST_DB = (1.25, 1.70), -30.0
_FIRST_S, _OSCILLATIONS = 0.004, 24
_LATER_S, _TO_S = 0.060, 0.250
_LOUD = 10 ** (-15.5 / 10)
"""Of the note's power, beside it. Of 1,194 good taps with 10 to 30 dB over the noise none has so much; of 136 on
practice drums with the pad on the head that was struck, and the other one free, all but 5 have more."""
_CLEAR_DB = 15.0
"""Nearer to the noise than this, the noise has as much."""
_FALLS = 2.5
"""A note that falls by more nepers while it is looked at is not known well enough at its beginning."""


def rang_beside(window: Window, note: Note, peaks: Sequence[Peak]) -> bool:
    """Whether something rang beside the note in its first oscillations that is none of one head's; `peaks` are all
    lines of the tap."""
    rate, hz = window.rate, note.pitch_hz
    sound = np.concatenate([window.attack, window.sound[: round((_TO_S - BEGIN_S) * rate)]])
    first, later = round(_FIRST_S * rate), round(_LATER_S * rate)
    count = min(round(_OSCILLATIONS / hz * rate), len(sound) - first)
    if note.snr_db < _CLEAR_DB or len(sound) < 2 * later or note.decay * _OSCILLATIONS / hz > _FALLS:
        return False
    over = [peak.hz for peak in peaks if _SECOND[0] < peak.hz / hz < _SECOND[1] and peak.db > _FAINTEST_DB]
    lines = _lines(len(sound), rate, [*note.hz, *over], [*note.die, *(note.decay for _ in over)])
    rings = lines[later:]
    amounts = np.linalg.lstsq(rings.T @ rings, rings.T @ sound[later:], rcond=None)[0]
    model = lines[first : first + count] @ amounts
    size = 1 << (4 * count - 1).bit_length()
    parts = np.hanning(count) * np.array([sound[first : first + count] - model, model])
    left, own = np.abs(np.fft.rfft(parts, size)) ** 2
    beside = max(
        float(left[round(low * hz * size / rate) : round(high * hz * size / rate) + 1].max()) for low, high in BESIDE
    )
    return beside > _LOUD * float(own.max())


def _lines(count: int, rate: float, hz: Sequence[float], die: Sequence[float]) -> Real:
    """Decaying lines at so many times, two columns each; each is made of two short ones, which costs a tenth."""
    step = (2j * np.pi * np.asarray(hz) - np.asarray(die)) / rate
    fine, coarse = np.exp(np.outer(np.arange(64), step)), np.exp(np.outer(np.arange(count // 64 + 1), 64 * step))
    turning = (coarse[:, None] * fine).reshape(-1, len(step))[:count]
    return np.hstack([turning.real, turning.imag])
