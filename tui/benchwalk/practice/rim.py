"""Round the rim: where the rods stand, and the pattern that their pulls make between them.

The hoop is a springy ring drawn down at the rods. Between them it lies as a bent strip does, on the curve of least
bending: the periodic cubic spline. Of the waves that look alike at N rods (k, N-k, N+k, ...) such a curve holds the
parts in proportion to 1/k^4 (known of cubic splines, from memory; a test compares it with scipy's).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .membrane import WAVES, Array

_ALIASES = 40  # how many turns of the rod count the sum over waves that look alike goes
LEAST_PULL = 0.05  # of the mean: a rod cannot push, the film would only wrinkle there


def angles(rods: int) -> Array:
    """The angle of each rod in radians, in order, seen looking at the head; the strainer lies at 0 between N and 1."""
    return np.asarray((np.arange(rods) + 0.5) * 2 * np.pi / rods)


def place(rod: int, rods: int) -> float:
    """The angle of one rod (1..N) in radians."""
    return float((rod - 0.5) * 2 * np.pi / rods)


def parts(pulls: Sequence[float] | Array) -> dict[int, tuple[float, float]]:
    """The pattern at the rim that these pulls make: waves k to its cos and sin part, as shares of the mean pull.

    `pulls` are of any one unit, their mean above nought; what lies below LEAST_PULL of the mean counts as that.
    """
    given = np.asarray(pulls, dtype=float)
    shares = np.maximum(given / given.mean(), LEAST_PULL)
    shares = shares / shares.mean()
    rods = len(shares)
    at = angles(rods)
    found = {}
    for k in range(1, WAVES + 1):
        share = _share(k, rods)
        if share > 1e-6:
            cosine = 2 * share * float(np.mean(shares * np.cos(k * at)))
            sine = 2 * share * float(np.mean(shares * np.sin(k * at)))
            found[k] = (cosine, sine)
    return found


def _share(waves: int, rods: int) -> float:
    """How much of what the rods show as `waves` the curve holds there; the rest lies in waves that look alike."""
    if waves % rods == 0:
        return 0.0  # the mean is all in the even pull
    alike = np.abs(waves + rods * np.arange(-_ALIASES, _ALIASES + 1, dtype=float))
    return float(waves**-4.0 / np.sum(alike**-4.0))
