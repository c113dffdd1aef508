"""A round film held at its rim, with a pull that differs from place to place: its matrices in a basis of Bessel shapes.

The motion u of a film with pull T (at every place a pull along and one across) and mass sigma per area obeys
div(T grad u) = sigma d2u/dt2, u = 0 at the rim. Tried on the shapes of the evenly pulled film, J_m(j_mn r) cos or
sin(m angle), it becomes a small eigenproblem (Galerkin). j_mn are the zeros of the Bessel functions (DLMF 10.21). What
pull a rim drawn out unevenly makes inside comes from `stress`. The radius is 1 here; `ringing` gives it its size.

What is worked out here is the same for every drum, and is made once.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import jn_zeros, jv, jvp

from .stress import drawn

Array = NDArray[np.float64]

DIAMETERS = 6  # shapes have up to this many nodal diameters
CIRCLES = 3  # and up to this many nodal circles, the rim counted
WAVES = 8  # patterns of pull round the rim have up to this many waves
_RADII, _ANGLES = 40, 48  # places where the integrals are taken: exact in the angle, to 1e-12 along the radius


class Shape(NamedTuple):
    """One shape of the basis: nodal diameters, nodal circles, "c" or "s" for cos or sin, and its Bessel zero."""

    m: int
    n: int
    kind: str
    zero: float


class Matrices(NamedTuple):
    """What each pattern of pull adds to the stiffness; every array is of basis size by basis size, dimensionless.

    `even` for a pull of 1 everywhere; `cosines[k]` and `sines[k]` for what a rim drawn out by cos(k angle) or
    sin(k angle), in units of the mean draw, adds (k from 1; index 0 is unused); `along` and
    `across` for a film that pulls by 1 more along the angle 0, or 45 degrees, and by 1 less at a right angle to it.
    """

    even: Array
    cosines: tuple[Array, ...]
    sines: tuple[Array, ...]
    along: Array
    across: Array


@lru_cache(maxsize=1)
def basis() -> tuple[Shape, ...]:
    """The shapes, lowest number of diameters first; cos before sin."""
    shapes = []
    for m in range(DIAMETERS + 1):
        for n, zero in enumerate(jn_zeros(m, CIRCLES), start=1):
            shapes += [Shape(m, n, kind, float(zero)) for kind in ("c" if m == 0 else "cs")]
    return tuple(shapes)


@lru_cache(maxsize=1)
def zeros() -> Array:
    """The Bessel zero of each shape."""
    return np.array([shape.zero for shape in basis()])


@lru_cache(maxsize=1)
def _columns() -> tuple[Array, Array, Array, Array]:
    """For each shape: m, zero, the factor that makes its mean square over the disc 1/area, and 1 for sin."""
    ms = np.array([shape.m for shape in basis()], dtype=float)
    norms = np.sqrt(np.where(ms == 0, 1.0, 2.0) / np.pi) / np.abs(jv(ms + 1, zeros()))
    return ms, zeros(), norms, np.array([shape.kind == "s" for shape in basis()], dtype=float)


def heights(radius: Array | float, angle: Array | float) -> Array:
    """How high each shape stands at a place: (shapes,) for one place, (shapes, places) for arrays of places.

    `radius` as a share of the film's, `angle` in radians. The square of a shape integrates to 1 over the disc of
    radius 1.
    """
    r, a = np.asarray(radius, dtype=float), np.asarray(angle, dtype=float)
    ms, js, norms, sin = (column.reshape(-1, *(1,) * r.ndim) for column in _columns())
    return np.asarray(norms * jv(ms, js * r) * np.cos(ms * a - sin * np.pi / 2))


def volumes() -> Array:
    """What each shape pushes aside: its integral over the disc of radius 1; nought but for those without diameters."""
    ms, js, norms, _ = _columns()
    return np.asarray(np.where(ms == 0, 2 * np.pi * norms * jv(1, js) / js, 0.0))


@lru_cache(maxsize=1)
def matrices() -> Matrices:
    """All matrices, by integrating over the disc: Gauss points along the radius, equal steps in the angle."""
    nodes, weights = np.polynomial.legendre.leggauss(_RADII)
    r = np.repeat((nodes + 1) / 2, _ANGLES)
    a = np.tile(np.arange(_ANGLES) * 2 * np.pi / _ANGLES, _RADII)
    area = np.repeat(weights / 2, _ANGLES) * r * 2 * np.pi / _ANGLES
    ms, js, norms, sin = (column[:, None] for column in _columns())
    turned = ms * a - sin * np.pi / 2
    outward = norms * js * jvp(ms, js * r) * np.cos(turned)
    round_it = -norms * ms * jv(ms, js * r) / r * np.sin(turned)

    def pulled(radial: Array, hoop: Array, shear: Array) -> Array:
        mixed = (outward * (area * shear)) @ round_it.T
        return np.asarray(
            (outward * (area * radial)) @ outward.T + (round_it * (area * hoop)) @ round_it.T + mixed + mixed.T
        )

    none, one = np.zeros_like(r), np.ones_like(r)
    cosines = [pulled(none, none, none)] + [pulled(*drawn(k, r, a)) for k in range(1, WAVES + 1)]
    sines = [cosines[0]] + [pulled(*drawn(k, r, a - np.pi / (2 * k))) for k in range(1, WAVES + 1)]
    along = pulled(np.cos(2 * a), -np.cos(2 * a), -np.sin(2 * a))
    across = pulled(np.sin(2 * a), -np.sin(2 * a), np.cos(2 * a))
    return Matrices(pulled(one, one, none), tuple(cosines), tuple(sines), along, across)


def stiffness(parts: dict[int, tuple[float, float]], grain: tuple[float, float] = (0.0, 0.0)) -> Array:
    """The stiffness for a mean pull of 1.

    `parts` maps a number of waves k (1..WAVES) to the cos and sin part of how far the rim is drawn out, as shares of
    the mean. `grain` is how much more the film pulls along than across, towards the angle 0 and towards 45 degrees.
    """
    made = matrices()
    total = made.even + grain[0] * made.along + grain[1] * made.across
    for k, (cosine, sine) in parts.items():
        total = total + cosine * made.cosines[k] + sine * made.sines[k]
    return total
