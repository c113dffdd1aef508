"""The lines round about a note, with the fall of a hard stroke taken out where there is one."""

from __future__ import annotations

import math

from .bands import Band
from .falls import Fall, moved, rest_of, unrolled
from .fitting import fitted
from .lines import Lines
from .window import Window

_FALLEN = 6.0
"""So many times its time constant a fall is followed: a quarter of a hundredth is left of it then."""
_AS_WELL = 1.3
"""A faint fall counts only where a soft tap would leave more than this much more of the sound unexplained."""


def settled_lines(window: Window, hz: float, fall: Fall | None) -> tuple[Band, Lines | None, Fall | None]:
    """The lines round about a note, and the fall that was taken out: where a soft tap explains as much, none."""
    if fall is not None and fall.clear:
        return _fitted_falling(window, hz, fall)
    band = Band(window.sound, window.rate, hz, 4 / hz)
    lines = fitted(band)
    if fall is None:
        return band, lines, None
    fallen = _fitted_falling(window, hz, fall)
    left = math.inf if fallen[1] is None else fallen[1].left / len(fallen[0].values)
    explains = lines is not None and lines.left / len(band.values) < _AS_WELL * left
    return (band, lines, None) if explains else fallen


def _fitted_falling(window: Window, hz: float, fall: Fall) -> tuple[Band, Lines | None, Fall]:
    """The lines once a fall is taken out, which is bettered by what the first fit finds of it."""
    sound = window.rest[: max(len(window.sound), round(_FALLEN / fall.decay * window.rate))]
    for _ in range(2):
        band = Band(unrolled(sound, window.rate, fall), window.rate, hz, 4 / hz)
        lines = fitted(band, rest_of(band, fall, len(sound), window.rate))
        if lines is None:
            break
        fall = moved(fall, lines.falls)
    return band, lines, fall
