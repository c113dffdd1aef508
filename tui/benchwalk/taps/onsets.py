"""Where taps begin: a sudden rise of short-time energy, of all the sound or of its upper part."""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np

from .bands import Real, pieces

FRAME_S = 0.004
RISE_DB = 7.5
LOOK_BACK_S = 0.12
APART_S = 0.04
"""Rises nearer than this belong to one stroke."""
FAINTEST_DB = 32.0
"""A rise this far below the recording's loudest is no tap but handling."""
_CLICKS_HZ = 1500.0
_CLICK_DB, _FAINT_CLICK_DB = 9.0, 20.0
"""Where hardly anything rings, a stroke stands out of the ring of the one before; not so a tick in the room."""
_AT_ONCE = 32


class Onset(NamedTuple):
    """When a tap begins (s), and how loud it is at the loudest of its first 40 ms (dB)."""

    at_s: float
    level_db: float


def onsets(sound: Real, rate: float) -> list[Onset]:
    """All taps, in order."""
    size = max(1, round(FRAME_S * rate))
    if len(sound) < 4 * size:
        return []
    powers = _powers(np.stack([sound, _upper(sound, rate), _clicks(sound, rate)]), size)
    (whole, _, clicks), (rises, upper_rises, click_rises) = 10 * np.log10(powers), _rises(powers, (14, 9, 11))
    rises = np.maximum(rises, upper_rises)
    clicked = (click_rises >= _CLICK_DB) & (clicks >= clicks.max() - _FAINT_CLICK_DB)
    clicked[: round(APART_S / FRAME_S)] = False  # there the recording itself begins
    rises[1:][clicked[:-1]] = RISE_DB  # the filter hears it up to a frame before
    marked = np.flatnonzero((rises >= RISE_DB) & (whole >= whole.max() - FAINTEST_DB))
    found: list[Onset] = []
    apart = round(APART_S / FRAME_S)
    last = -apart - 1
    for frame in map(int, marked):
        if frame - last > apart:
            found.append(Onset(_start(sound, frame, size) / rate, float(whole[frame : frame + apart].max())))
        last = frame
    return found


def _clicks(sound: Real, rate: float) -> Real:
    """What lies above 1500 Hz: a stroke's click, and hardly anything that rings."""
    many = _high_pass(rate)
    at_once = many.shape[1]
    around = np.pad(sound, (len(many) - at_once) // 2, mode="reflect", reflect_type="odd")
    around = np.concatenate([around, np.zeros(-len(sound) % at_once)])
    return np.asarray(np.dot(pieces(around, len(many), at_once), many).reshape(-1)[: len(sound)])


@lru_cache(maxsize=16)
def _high_pass(rate: float) -> Real:
    """A windowed sinc, 5 ms long, in each column a place further: a product with it filters so many places at once."""
    half = round(0.0025 * rate)
    at = np.arange(-half, half + 1)
    low = np.sinc(2 * _CLICKS_HZ / rate * at) * np.hanning(2 * half + 3)[1:-1]
    low /= -low.sum()
    low[half] += 1
    many = np.zeros((len(low) + _AT_ONCE - 1, _AT_ONCE))
    for place in range(_AT_ONCE):
        many[place : place + len(low), place] = low
    return many


def _upper(sound: Real, rate: float) -> Real:
    """What lies above about 700 Hz: there strokes are, and rings are short."""
    width = max(2, round(rate / 1400))
    smooth = np.convolve(sound, np.full(width, 1 / width), "same")
    return np.asarray(sound - np.convolve(smooth, np.full(width, 1 / width), "same"))


def _powers(sounds: Real, size: int) -> Real:
    """The mean power of each frame of some sounds, a row each."""
    rows, length = sounds.shape
    frames = sounds[:, : length // size * size].reshape(rows, -1, size)
    return np.asarray(np.einsum("rij,rij->ri", frames, frames) / size + 1e-12)


def _rises(powers: Real, back: tuple[int, ...], gap: int = 2) -> Real:
    """How far two frames lie above the loudest two of the `back` frames before, but for the last `gap` (dB), a row
    for each of some sounds.

    Loudest, not mean: two lines close together beat, and come back as loud as they were but not louder.
    """
    rows, length = powers.shape
    tenth, longest = length // 10, max(back)
    two = np.empty((rows, longest + length))
    two[:, :longest] = np.partition(powers, tenth, axis=1)[:, tenth, None]
    two[:, longest:-1] = (powers[:, :-1] + powers[:, 1:]) / 2
    two[:, -1] = powers[:, -1]
    before = [pieces(row[longest - far :], length)[: far - gap].max(axis=0) for row, far in zip(two, back, strict=True)]
    return np.asarray(10 * np.log10(two[:, longest:] / np.stack(before)))


def _start(sound: Real, frame: int, size: int) -> int:
    """The sample at which the stroke first reaches a fifth of its first 12 ms."""
    begin = max(0, (frame - 1) * size)
    piece = np.abs(sound[begin : begin + 4 * size])
    return begin + int(np.argmax(piece >= 0.2 * piece.max()))
