"""The pull inside a film whose rim is drawn out unevenly: a flat elastic disc in plane stress, solved on paper.

Every smooth state of pull without load inside comes from an Airy function; that of k waves round the rim is
(A r^k + B r^(k+2)) cos(k angle) (Michell's solution, from memory). A and B follow from the rim: it goes straight
outwards by cos(k angle), and cannot slide along the edge. So a pattern of k waves falls off inside as r^(k-2) to r^k:
the oval reaches the middle, the finer ones do not. A finite-element disc in the tests solves the same without paper.

One wave, one side drawn and the other let go, mostly moves the film sideways and hardly pulls on it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

POISSON = 0.3  # of polyester film, from memory


def drawn(waves: int, radius: Array, angle: Array) -> tuple[Array, Array, Array]:
    """The pull along the radius, round it, and the shear, at places of a disc of radius 1.

    The rim is drawn out by cos(waves * angle) in units of the mean draw, whose pull counts as 1 everywhere.
    """
    k, (a, b) = waves, _airy(waves)
    inner = a * radius ** (k - 2) if k > 1 else np.zeros_like(radius)
    outer = b * radius**k
    cosine, sine = np.cos(k * angle), np.sin(k * angle)
    radial = (k * (1 - k) * inner + (k + 2 - k * k) * outer) * cosine
    hoop = (k * (k - 1) * inner + (k + 2) * (k + 1) * outer) * cosine
    shear = k * ((k - 1) * inner + (k + 1) * outer) * sine
    return radial, hoop, shear


def _airy(k: int) -> tuple[float, float]:
    """A and B for a rim drawn out by cos(k angle), where an even draw of 1 makes a pull of 1.

    In units of Young's modulus an even draw d makes the pull d / (1 - nu).
    """
    if k == 1:  # A makes no pull; a shift of the whole film takes its place
        return 0.0, (1 - POISSON) / (6 - 2 * POISSON)
    (out_a, along_a), (out_b, along_b) = _moved(k, 1, 0), _moved(k, 0, 1)
    ratio = -along_a / along_b
    scale = (1 - POISSON) / (out_a + ratio * out_b)
    return scale, scale * ratio


def _moved(k: int, a: float, b: float) -> tuple[float, float]:
    """How far the rim goes outwards (times cos) and along (times sin) under these A and B, k above 1."""
    radial = (a * k * (1 - k), b * (k + 2 - k * k))  # the parts in r^(k-2) and r^k
    hoop = (a * k * (k - 1), b * (k + 2) * (k + 1))
    outwards = (radial[0] - POISSON * hoop[0]) / (k - 1) + (radial[1] - POISSON * hoop[1]) / (k + 1)
    round_it = sum(hoop) - POISSON * sum(radial)
    return outwards, (round_it - outwards) / k
