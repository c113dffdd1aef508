"""What a head is made of, and the air beside it: masses and stiffnesses of one drum.

Film: 1390 kg/m3, 4 GPa, Poisson's ratio 0.3 (polyester, all three from memory). Rod thread: 24 turns to the inch
(No. 12-24 UNC, ASME B1.1, from memory). Air: 1.204 kg/m3 and 343 m/s at 20 degrees C (from memory).
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from scipy.special import jnp_zeros, jv

from ..plaindata import Frozen
from .membrane import Array, basis, volumes, zeros
from .stress import POISSON

DENSITY = 1390.0
YOUNG = 4.0e9
MIL = 25.4e-6  # m
THREAD = 25.4e-3 / 24  # m a turn
AIR, SOUND = 1.204, 343.0
# What hoop, collar, rods and lugs give beside the film, as N/m of pull a turn on a 14 in drum. Sized so that a head
# of 7.5 mil has a rod note near 290 Hz two turns up, as concert snare drums often have: illustrative.
FRAME, FRAME_RADIUS = 1730.0, 0.1778
# Of the spring of the shut-in air this much works: vent, shell and pad give. Sized to put the open note about a
# fourth below the rod note when the other head is damped, as measured drums have it: illustrative.
AIR_SPRING = 0.3


class Film(Frozen):
    """One film on its shell: `thickness` and `radius` in m."""

    thickness: float
    radius: float

    @property
    def mass(self) -> float:
        """kg per square metre."""
        return DENSITY * self.thickness

    @property
    def slope(self) -> float:
        """N/m of pull for one turn of all rods past slack: the film's own stiffness and the frame's, in a row.

        A turn draws the rim of the film outwards by one thread, a strain of thread/radius both ways in its plane.
        """
        own = YOUNG * self.thickness / (1 - POISSON) * THREAD / self.radius
        frame = FRAME * FRAME_RADIUS / self.radius
        return own * frame / (own + frame)


def moving(film: Film) -> Array:
    """The mass that moves with each shape, kg (for a film of radius 1 as `membrane` counts): film and air.

    Air beside a standing wave of wave number k moves along to a depth of 1/k on each side, as still water under a
    short wave does: potential flow, good while the wave is shorter than that of sound.
    """
    return np.asarray(film.radius**2 * (film.mass + 2 * AIR * film.radius / zeros()))


def ideal_hz(zero: float, pull: float, film: Film) -> float:
    """The frequency in Hz of the shape with this Bessel zero on an evenly pulled film without air; `pull` in N/m."""
    return zero / (2 * math.pi * film.radius) * math.sqrt(pull / film.mass)


def spring(radius: float, depth: float) -> Array:
    """The stiffness that the air shut in a shell (m) adds between shapes of one head, N/m; minus it between heads."""
    pushed = volumes()
    return np.asarray(AIR_SPRING * AIR * SOUND**2 * radius**2 / (math.pi * depth) * np.outer(pushed, pushed))


@lru_cache(maxsize=8)
def carried(radius: float, depth: float) -> Array:
    """The air mass in kg that couples each shape of one head with the same shape of the other, both counted one way.

    Potential flow in a shell with firm walls: rho/k / sinh(k depth) for the wave number k of the air's own first shape
    with as many diameters, times the square of how much the film's shape is like it. Of shapes with more nodal
    circles too little comes across to count; shapes without diameters work through `spring`.
    """
    mass = np.zeros(len(basis()))
    for index, shape in enumerate(basis()):
        if shape.m > 0 and shape.n == 1:
            wall = float(jnp_zeros(shape.m, 1)[0])
            like = _likeness(shape.m, shape.zero, wall)
            mass[index] = -AIR * radius**3 / wall / math.sinh(wall * depth / radius) * like**2
    return mass


def _likeness(m: int, film_zero: float, wall_zero: float) -> float:
    """The part, 0 to 1, of J_m(film_zero r) that lies along J_m(wall_zero r) on the disc."""
    nodes, weights = np.polynomial.legendre.leggauss(40)
    r, weight = (nodes + 1) / 2, weights * (nodes + 1)
    one, two = jv(m, film_zero * r), jv(m, wall_zero * r)
    return float(np.sum(weight * one * two) / math.sqrt(np.sum(weight * one**2) * np.sum(weight * two**2)))
