"""The first pair where it shows as no line of its own, beside louder pairs whose short ring makes them wide."""

from __future__ import annotations

import numpy as np

from .bands import LOWEST_HZ, Band, Real
from .fitting import fitted
from .lines import Lines
from .modes import SECOND
from .spectrum import Peak

_WIDTHS = (4.0, 5.0)
"""In oscillations of the second pair; a line of the drum stands at one place in bands of either width."""
_AT_ONE_PLACE = 0.005
_RINGS = (1.0, 60.0)
_FAINTEST = 10 ** (-20 / 20)
_MIDDLE = 1.40
_EXPLAINED = 0.005


def hidden_first(window: Real, rate: float, second: Peak) -> Peak | None:
    """The loudest line that the second pair may have below it, as decaying lines fitted to both find it.

    None where there is none, or where bands of two widths do not find it at one place.
    """
    middle = second.hz / _MIDDLE
    if middle < LOWEST_HZ:
        return None
    found = [_below(fitted(Band(window, rate, middle, width / second.hz)), second.hz) for width in _WIDTHS]
    (one, _), (other, loud) = found
    if not one or not other or abs(one / other - 1) > _AT_ONE_PLACE:
        return None
    return Peak(other, second.db + 20 * float(np.log10(loud)), 0.0)


def _below(lines: Lines | None, hz: float) -> tuple[float, float]:
    """The loudest line (Hz) of which this may be the second pair, and its part of the loudest there; zeros for none."""
    if lines is None or lines.left > _EXPLAINED * lines.power:
        return 0.0, 0.0
    rings = (lines.decays >= _RINGS[0]) & (lines.decays <= _RINGS[1])
    size = np.abs(lines.values) * rings
    fits = (lines.hz * SECOND[0] <= hz) & (lines.hz * SECOND[1] >= hz)
    beside = np.abs(lines.hz / hz - 1) < 0.03
    loud, whole = float((size * fits).max()), float((size * beside).max())
    if not whole or loud < _FAINTEST * whole:
        return 0.0, 0.0
    return float(lines.hz[int(np.argmax(size * fits))]), loud / whole
