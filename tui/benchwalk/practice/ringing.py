"""What rings: the notes of a drum's heads in their present state, as shapes of motion with a frequency and a decay.

One head alone where the other is damped; both together where it is free, joined by the air between them: the shut-in
air as a spring for what has no nodal diameters, the air carried to and fro as a mass for the rest.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from scipy.linalg import eigh

from . import film as films
from .film import Film
from .membrane import Array, basis, stiffness
from .rim import parts

OTHER = "other "  # before the name of what rings mostly in the head that was not struck
KEPT = 16  # lowest ways of ringing kept of each head
JOINED = 24  # of each head go into the reckoning of both together
LOSS = 0.0075  # of film and edge: decay is pi f times this, in 1/s; makes 7 at 300 Hz: illustrative
RADIATED = {0: 15.0, 1: 3.0}  # 1/s more, by diameters, for what goes off as sound: illustrative


class Ring(NamedTuple):
    """One way of ringing: Hz, decay in 1/s, its motion on the struck and on the other head, and what it is.

    `motion` and `beyond` are the shares of each basis shape, scaled so that the energy of motion is the same for all.
    `name` says diameters, circles and which of a pair, "other " before it where the other head moves most.
    """

    hz: float
    decay: float
    motion: Array
    beyond: Array
    name: str

    @property
    def beyond_most(self) -> bool:
        """Whether the other head moves most."""
        return self.name.startswith(OTHER)


class Tensioned(NamedTuple):
    """One head as it is: its film, the pull at each rod in turns, and its grain (see `membrane.stiffness`)."""

    film: Film
    turns: list[float]
    grain: tuple[float, float]

    @property
    def pull(self) -> float:
        """The mean pull, N/m; not above nought for a loose head."""
        return self.film.slope * sum(max(turns, 0.0) for turns in self.turns) / len(self.turns)

    def mirrored(self) -> Tensioned:
        """The same head seen from below: its rods count the other way round from the strainer."""
        return Tensioned(self.film, self.turns[::-1], (self.grain[0], -self.grain[1]))


def alone(head: Tensioned, depth: float) -> list[Ring]:
    """How a head rings while the other one is damped; `depth` of the shell in m."""
    squares, shapes = _ways(head, depth)
    none = np.zeros(len(shapes))
    return _named([(square, shapes[:, n], none) for n, square in enumerate(squares[:KEPT])])


def together(struck: Tensioned, other: Tensioned, depth: float) -> list[Ring]:
    """How both heads ring when neither is damped: the ways of each alone, joined by the air.

    Both as seen from above: the other one mirrored.
    """
    (one_square, one), (two_square, two) = _ways(struck, depth), _ways(other, depth)
    one, two = one[:, :JOINED], two[:, :JOINED]
    mass, stiff = np.eye(2 * JOINED), np.diag(np.concatenate([one_square[:JOINED], two_square[:JOINED]]))
    carried = (one * films.carried(struck.film.radius, depth)[:, None]).T @ two
    sprung = -one.T @ films.spring(struck.film.radius, depth) @ two
    mass[:JOINED, JOINED:], mass[JOINED:, :JOINED] = carried, carried.T
    stiff[:JOINED, JOINED:], stiff[JOINED:, :JOINED] = sprung, sprung.T
    squares, mixed = eigh(stiff, mass)
    mine, beyond = one @ mixed[:JOINED], two @ mixed[JOINED:]
    return _named([(square, mine[:, n], beyond[:, n]) for n, square in enumerate(squares[: 2 * KEPT])])


def _ways(head: Tensioned, depth: float) -> tuple[Array, Array]:
    """The ways a head rings over a still one: (2 pi Hz) squared, and their motions as columns."""
    root = np.sqrt(films.moving(head.film))
    pulled = head.pull * stiffness(parts(np.maximum(head.turns, 0.0)), head.grain)
    squares, motions = np.linalg.eigh((pulled + films.spring(head.film.radius, depth)) / np.outer(root, root))
    return squares, motions / root[:, None]


def _named(found: list[tuple[float, Array, Array]]) -> list[Ring]:
    """Rings in the order of their notes, with their names; a wrinkled film has ways without any pull, left out."""
    kept = [way for way in found if way[0] > 0]
    rings, times = [], dict[str, int]()
    for (square, motion, beyond), (far, m, n) in zip(kept, _likest(kept), strict=True):
        hz = math.sqrt(square) / (2 * math.pi)
        name = (OTHER if far else "") + f"({m},{n})"
        times[name] = times.get(name, 0) + 1
        decay = math.pi * hz * LOSS + RADIATED.get(m, 0.0)
        rings.append(Ring(hz, decay, motion, beyond, name + ("" if m == 0 else " ab"[times[name]])))
    return rings


def _likest(ways: list[tuple[float, Array, Array]]) -> list[tuple[bool, int, int]]:
    """For each way of ringing the shape it is likest to: in the other head or not, its m and n.

    The clearest likeness is settled first, and no shape is given oftener than an even film has it, so that a pair stays
    a pair on a very uneven head.
    """
    shapes = sorted({(shape.m, shape.n) for shape in basis()})
    alike = np.array([[(shape.m, shape.n) == kind for kind in shapes] for shape in basis()], dtype=float)
    likeness = np.array([[*(motion**2 @ alike), *(beyond**2 @ alike)] for _, motion, beyond in ways])
    kinds = [(far, m, n) for far in (False, True) for m, n in shapes]
    room = [2 if m else 1 for _, m, _ in kinds]
    given = dict[int, tuple[bool, int, int]]()
    for flat in np.argsort(-likeness, axis=None, kind="stable"):
        way, kind = divmod(int(flat), len(kinds))
        if way not in given and room[kind]:
            given[way] = kinds[kind]
            room[kind] -= 1
    return [given[way] for way in range(len(ways))]
