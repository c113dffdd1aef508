"""The least-squares fit of decaying sines to a band, and how sure each of its numbers is.

All lines at once, with numbers for how far the drum's notes still fall: all fall together by the same part of
themselves. The amplitudes are always the best for the other numbers (variable projection, Golub and Pereyra 1973, with
Kaufman's derivative). Everything is done with the columns' products, which are small.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from .bands import Band, Complex, Real
from .lines import TAU, Falling, Lines

_PAIR, _ALIKE = 0.06, 0.2
"""Lines nearer than this part of their note are one pair, and their decays differ by about this part: an assumption."""
_DEPENDENT = 1e12
_WORTHLESS = 1e-4
"""A step that promises to take less than this part off what is left over is not worth taking."""


class _At(NamedTuple):
    """The best amplitudes at some numbers, and what they leave over; `basis` has a row for each line."""

    basis: Complex
    inverse: Complex
    values: Complex
    left: Complex
    power: float


def fit(band: Band, poles: Complex, falls: Real, falling: Falling, steps: int = 6) -> Lines | None:
    """Least squares from a first guess, in at most so many steps; None where it runs away.

    `falls` are first guesses of the numbers of `falling`. Steps are damped where they do not help.
    """
    count = len(poles)
    sought = _Sought(band, count, falling)
    state = np.concatenate([poles.imag, -poles.real, falls])
    usual = np.concatenate([np.zeros(2 * count), falling.usual])
    damping = 1e-3
    best = sought.project(state)
    if best is None:
        return None
    for _ in range(steps):
        matrix, pull = sought.normal(best, state)
        stiff = sought.stiffness(best.power, state)
        off = state - usual
        matrix += stiff
        pulled = stiff @ off
        pull -= pulled
        scale = matrix.diagonal()
        sizes = scale.tolist()
        if not (min(sizes) > 0 and math.isfinite(sum(sizes))):
            return None
        now = None
        least = best.power + float(off @ pulled)
        for _try in range(4):
            damped = matrix.copy()
            damped.reshape(-1)[:: len(damped) + 1] += damping * scale
            step = np.linalg.solve(damped, pull)
            if step @ pull < _WORTHLESS * best.power:
                return sought.lines(state, best, settled=True)
            trial = state + step
            now = sought.project(trial)
            off = trial - usual
            if now is not None and now.power + float(off @ stiff @ off) <= least:
                break
            now, damping = None, damping * 10
        if now is None:
            break
        gained = best.power - now.power
        state, best, damping = trial, now, max(damping / 10, 1e-9)
        if gained < _WORTHLESS * best.power:
            break
    return sought.lines(state, best)


class _Sought:
    """So many lines sought in a band, whose notes fall in some way.

    The numbers (`state`) are the lines' turns beside the band's middle (radians a second), their decays (1/s), and
    those of the fall.
    """

    def __init__(self, band: Band, count: int, falling: Falling) -> None:
        self._band, self._count, self._falling = band, count, falling
        self._middle = TAU * band.centre_hz

    def project(self, state: Real) -> _At | None:
        """None where the lines cannot be told apart."""
        count, values = self._count, self._band.values
        turns, decays = state[:count], np.maximum(np.minimum(state[count : 2 * count], 400.0), -20.0)
        basis = np.asarray((1j * turns - decays)[:, None] * self._band.times, dtype=np.complex128)
        if len(self._falling.leads):
            basis += (1j * (self._middle + turns))[:, None] * (state[2 * count :] @ self._falling.leads)
        np.exp(basis, out=basis)  # had `@` made its exponent, this would be slow: see DEVELOPERS.md
        turned = basis.conj()
        gram = turned @ basis.T
        try:
            inverse = np.asarray(np.linalg.inv(gram), dtype=np.complex128)
        except np.linalg.LinAlgError:
            return None
        if not (inverse.diagonal() * gram.diagonal()).real.max() < _DEPENDENT:
            return None
        amplitudes = inverse @ (turned @ values)
        left = values - amplitudes @ basis
        return _At(basis, inverse, amplitudes, left, float(np.vdot(left, left).real))

    def slopes(self, at: _At, state: Real, out: Complex) -> None:
        """How the lines' sum moves with each number, a row each."""
        count, times, leads = self._count, self._band.times, self._falling.leads
        ringing = at.basis * at.values[:, None]
        np.multiply(ringing, 1j * (times + state[2 * count :] @ leads), out=out[:count])
        np.multiply(ringing, -times, out=out[count : 2 * count])
        if len(leads):
            np.multiply((1j * (self._middle + state[:count])) @ ringing, leads, out=out[2 * count :])

    def normal(self, at: _At, state: Real) -> tuple[Real, Real]:
        """The normal equations of a step: the products of the slopes, the amplitudes' part taken out."""
        held = len(state)
        rows = np.empty((held + 1 + self._count, len(at.left)), np.complex128)
        self.slopes(at, state, rows[:held])
        rows[held], rows[held + 1 :] = at.left, at.basis
        products = rows.conj() @ rows[: held + 1].T
        cross = products[held + 1 :, :held]
        matrix = products[:held, :held] - cross.conj().T @ (at.inverse @ cross)
        return matrix.real, products[:held, held].real

    def noise(self, power: float) -> float:
        """The noise's power for one free value of the band, from what the lines leave over."""
        return power / max(1.0, self._band.free - 2 * self._count)

    def stiffness(self, power: float, state: Real) -> Real:
        """What is known beforehand, as a matrix to add to the squares: the usual fall, and pairs that die alike."""
        count, spread = self._count, self._falling.spread
        found = np.zeros((len(state), len(state)))
        half = self.noise(power) / 2
        for place in range(2 * count, len(state)):
            found[place, place] = half / spread[place - 2 * count] ** 2
        turns, decays = state[:count].tolist(), state[count : 2 * count].tolist()
        hz = [self._middle + turn for turn in turns]
        for one in range(1, count):
            for other in range(one):
                if abs(hz[one] - hz[other]) < _PAIR * hz[one]:
                    mean = max(2.0, abs(decays[one] + decays[other]) / 2)
                    each = half / (_ALIKE * mean) ** 2
                    here, there = count + one, count + other
                    found[here, here] += each
                    found[there, there] += each
                    found[here, there] -= each
                    found[there, here] -= each
        return found

    def lines(self, state: Real, at: _At, settled: bool = False) -> Lines | None:
        """What was found, or None where it is no number."""
        if not math.isfinite(at.power):
            return None
        band, count = self._band, self._count
        turns, decays = state[:count], state[count : 2 * count]
        return Lines(
            hz=band.centre_hz + turns / TAU,
            decays=decays,
            values=np.asarray(at.values / band.gain(-decays + 1j * turns)),
            passed=np.abs(at.values),
            falls=state[2 * count :],
            left=at.power,
            power=band.power,
            noise=self.noise(at.power),
            falling=self._falling,
            settled=settled,
        )


def covariance(band: Band, lines: Lines) -> Real | None:
    """How the errors of (hz..., decays..., falls..., re..., im...) go together, from what the fit left over.

    The inverse of the Fisher matrix for white noise of the measured density. None where the lines cannot be told
    apart.
    """
    count = len(lines.hz)
    turns = TAU * (lines.hz - band.centre_hz)
    state = np.concatenate([turns, lines.decays, lines.falls])
    sought = _Sought(band, count, lines.falling)
    at = sought.project(state)
    if at is None:
        return None
    held = len(state)
    rows = np.empty((held + 2 * count, len(band.values)), np.complex128)
    sought.slopes(at, state, rows[:held])
    gained = np.multiply(at.basis, band.gain(-lines.decays + 1j * turns)[:, None], out=rows[held : held + count])
    np.multiply(gained, 1j, out=rows[held + count :])
    fisher = (rows.conj() @ rows.T).real
    fisher[:held, :held] += sought.stiffness(at.power, state)
    fisher[:count] *= TAU
    fisher[:, :count] *= TAU
    scale = 1 / np.sqrt(fisher.diagonal())
    scales = scale[:, None] * scale
    try:
        found = np.linalg.inv(fisher * scales) * scales * (lines.noise / 2)
    except np.linalg.LinAlgError:
        return None
    return np.asarray(found) if (found.diagonal() >= 0).all() else None
