"""Where a recording was driven into its limit: flat tops with steep sides."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .bands import Real

_FLAT = 3
_STEEP = 0.002
_LOUD = 0.3
_STEPS = 3.5
"""A wave that fills a few steps of a coarse recording falls by up to 2.8 of them beside a flat run of three."""


def clipped(samples: Real, highest: float, lowest: float) -> bool:
    """Whether samples stand at the recording's highest or lowest value in flat runs with steep sides.

    `highest` and `lowest` are of all of the recording. The top of a slow wave is flat too, in few bits most of all; but
    there the values beside it are few steps down.
    """
    return _flat_top(samples, highest) or _flat_top(-samples, -lowest)


def _flat_top(samples: Real, top: float) -> bool:
    if len(samples) < _FLAT + 2 or top < _LOUD:
        return False
    at = np.flatnonzero(samples >= top - 1e-7)
    if len(at) < _FLAT:
        return False
    runs = np.split(at, np.flatnonzero(np.diff(at) > 1) + 1)
    steps = np.diff(np.unique(samples[:: max(1, len(samples) // 5000)]))
    steep = max(_STEEP * top, _STEPS * float(steps.min()) if len(steps) else 0.0)
    return any(len(run) >= _FLAT and _side(samples, run) > steep for run in runs)


def _side(samples: Real, run: NDArray[np.intp]) -> float:
    """How far the nearer side falls off right beside a run."""
    left, right = int(run[0]) - 1, int(run[-1]) + 1
    sides = [float(samples[run[0]] - samples[k]) for k in (left, right) if 0 <= k < len(samples)]
    return max(sides, default=0.0)
