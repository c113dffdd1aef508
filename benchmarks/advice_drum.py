"""A drum for the benchmark of rod advice, of its own: nothing in it is shared with the advice.

A round membrane whose rim is drawn out as far as the rods say (between them as a bent strip lies, the periodic cubic
spline) and does not slip round the edge; the plane stress inside that goes with it is Airy's stress function (Michell's
terms for so many waves, from memory). Its vibration comes from a Galerkin solution over Bessel modes: the generalised
eigenvalue problem of stiffness, with the pull varying over the head, and mass. What is heard beside a rod are the
members of the (1,1) pair, and of the (2,1) pair, weighted by what a tap there starts and a microphone there picks up:
the square of each shape at 0.85 of the radius. Ideal ratios: Bessel zeros, A&S table 9.5.
"""

from __future__ import annotations

import numpy as np
from scipy.interpolate import CubicSpline
from scipy.linalg import eigh
from scipy.special import jn_zeros, jv, jvp

AROUND, ALONG, RADIUS = 6, 4, 0.85
"""Most nodal diameters, most nodal circles, and where a tap lands, of the radius."""

KAPPA = (3 - 0.38) / (1 + 0.38)
"""(3 - v) / (1 + v) with Poisson's ratio v of polyester film, from memory."""


class Membrane:
    """The parts of the eigenvalue problem, worked out once: one stiffness for each wave of the pull round the rim."""

    def __init__(self) -> None:
        self.modes = [
            (m, n, part) for m in range(AROUND + 1) for n in range(ALONG) for part in (("c", "s") if m else ("c",))
        ]
        points, weights = np.polynomial.legendre.leggauss(60)
        self.r, self.w = (points + 1) / 2, weights / 2
        angles = 2 * np.pi * np.arange(64) / 64
        shape, slope, across, turn = [], [], [], []
        for m, n, part in self.modes:
            zero = jn_zeros(m, ALONG)[n]
            radial, steep = jv(m, zero * self.r), zero * jvp(m, zero * self.r)
            norm = np.sqrt(np.sum(self.w * self.r * radial**2))
            shape.append(radial / norm)
            slope.append(steep / norm)
            across.append(np.cos(m * angles) if part == "c" else np.sin(m * angles))
            turn.append(-m * np.sin(m * angles) if part == "c" else m * np.cos(m * angles))
        self.shape, self.slope = np.array(shape), np.array(slope)
        self.across, self.turn = np.array(across), np.array(turn)
        self.mass = np.diag(np.mean(self.across**2, axis=1))
        self.stiff = {}
        for waves in range(9):
            radial_pull, ring_pull, shear = self._stress(waves)
            along = (self.slope * self.w * self.r * radial_pull) @ self.slope.T
            ring = (self.shape * self.w / self.r * ring_pull) @ self.shape.T
            mixed = (self.slope * self.w * shear) @ self.shape.T
            for part in ("c", "s") if waves else ("c",):
                pull, twist = np.cos(waves * angles), np.sin(waves * angles)
                if part == "s":
                    pull, twist = twist, -pull
                found = along * ((self.across * pull) @ self.across.T / 64)
                found = found + ring * ((self.turn * pull) @ self.turn.T / 64)
                cross = mixed * ((self.across * twist) @ self.turn.T / 64)
                self.stiff[waves, part] = found + cross + cross.T

    def _stress(self, k: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Radial, ring and shear pull along the radius where the rim is drawn out by k waves of size 1.

        The unit is the pull of an even head drawn out by 1. The stress function is a r^k + b r^(k+2), with no slip at
        the rim: k a + (KAPPA + k + 1) b = 0; and the rim drawn out by (KAPPA - k - 1) b - k a.
        """
        r = self.r
        if k == 0:
            return np.ones_like(r), np.ones_like(r), np.zeros_like(r)
        a = -(KAPPA + k + 1) / k
        b = (KAPPA - 1) / 2 / ((KAPPA - k - 1) - k * a)
        a *= b
        inner = r ** (k - 2) if k > 1 else np.zeros_like(r)  # of one wave the first term is a shift and no stress
        return (
            a * k * (1 - k) * inner + b * (k + 2 - k * k) * r**k,
            a * k * (k - 1) * inner + b * (k + 2) * (k + 1) * r**k,
            k * (a * (k - 1) * inner + b * (k + 1) * r**k),
        )

    def notes(self, pulls: np.ndarray, scale: float) -> tuple[np.ndarray, np.ndarray]:
        """The first and the second note beside each rod, in Hz, with the rods so far up from slack; `scale` Hz at 1."""
        rods = len(pulls)
        strip = CubicSpline(np.arange(rods + 1), np.append(pulls, pulls[0]), bc_type="periodic")
        rim = strip(np.arange(240) * rods / 240)
        waves = np.fft.rfft(rim) / 240
        whole = waves[0].real * self.stiff[0, "c"]
        for k in range(1, 9):
            whole = whole + 2 * waves[k].real * self.stiff[k, "c"] - 2 * waves[k].imag * self.stiff[k, "s"]
        values, vectors = eigh(whole, self.mass, subset_by_index=[0, 9])
        at = np.array([np.interp(RADIUS, self.r, row) for row in self.shape])
        angles = 2 * np.pi * np.arange(rods) / rods
        seen = np.array([
            at[i] * (np.cos(m * angles) if part == "c" else np.sin(m * angles))
            for i, (m, _, part) in enumerate(self.modes)
        ])
        return tuple(self._beside(values, vectors, seen, m) * scale for m in (1, 2))  # type: ignore[return-value]

    def _beside(self, values: np.ndarray, vectors: np.ndarray, seen: np.ndarray, waves: int) -> np.ndarray:
        own = [i for i, (m, n, _) in enumerate(self.modes) if (m, n) == (waves, 0)]
        share = np.sum((vectors[own] / np.linalg.norm(vectors, axis=0)) ** 2, axis=0)
        pair = np.argsort(share)[-2:]
        loud = (vectors[:, pair].T @ seen) ** 2
        return (np.sqrt(values[pair]) @ loud) / loud.sum(axis=0)


class Bench:
    """A head on that membrane, and the hand and the ear at it. Chance comes from `seed`."""

    def __init__(
        self, membrane: Membrane, turns: np.ndarray, seed: int, noise: float, hand: tuple[float, float]
    ) -> None:
        self.membrane, self.chance, self.noise, self.hand = membrane, np.random.default_rng(seed), noise, hand
        self.rods = len(turns)
        self.turns = np.array(turns, float)  # up from slack, as the film feels them
        self.stuck = np.zeros(self.rods)
        self.scale = 240 / 3.8317 / np.sqrt(1.5)

    def true(self) -> tuple[np.ndarray, np.ndarray]:
        """Both notes beside each rod, without noise, in Hz."""
        return self.membrane.notes(np.maximum(self.turns, 0.05), self.scale)

    def tap(self) -> tuple[list[float], list[float]]:
        """Both notes as they are read, one tap a rod."""
        return tuple(  # type: ignore[return-value]
            [float(x) for x in note * 2 ** (self.noise * self.chance.standard_normal(self.rods) / 1200)]
            for note in self.true()
        )

    def turn(self, moves: np.ndarray) -> None:
        """What a hand gives: a little off, some of it held by friction until the film is pressed home next time."""
        least, share = self.hand
        given = np.where(moves == 0, 0, moves + self.chance.normal(0, least + share * np.abs(moves)))
        late = given * self.chance.uniform(0, 0.03, self.rods)
        self.turns += given - late + self.stuck
        self.stuck = late


def spread(notes: np.ndarray) -> float:
    """Cents from the lowest to the highest."""
    return float(1200 * np.log2(max(notes) / min(notes)))
