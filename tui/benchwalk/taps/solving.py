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
    """The best amplitudes at some numbers, and what they leave over."""

    basis: Complex
    inverse: Complex
    values: Complex
    left: Complex
    power: float
    lead: Real


def fit(band: Band, poles: Complex, falls: Real, falling: Falling, steps: int = 6) -> Lines | None:
    """Least squares from a first guess, in at most so many steps; None where it runs away.

    `falls` are first guesses of the numbers of `falling`. Steps are damped where they do not help.
    """
    count = len(poles)
    state = np.concatenate([poles.imag, -poles.real, falls])
    usual = np.concatenate([np.zeros(2 * count), falling.usual])
    damping = 1e-3
    best = _project(band, state, count, falling)
    if best is None:
        return None
    for _ in range(steps):
        matrix, pull = _normal(band, best, state, count, falling)
        stiff = _stiffness(band, best.power, state, count, falling)
        off = state - usual
        matrix += stiff
        pull -= stiff @ off
        scale = matrix.diagonal()
        if not np.isfinite(matrix).all() or scale.min() <= 0:
            return None
        now = None
        least = best.power + float(off @ stiff @ off)
        for _try in range(4):
            damped = matrix.copy()
            damped.flat[:: len(damped) + 1] += damping * scale
            step = np.linalg.solve(damped, pull)
            if step @ pull < _WORTHLESS * best.power:
                return _lines(band, state, best, count, falling)
            trial = state + step
            now = _project(band, trial, count, falling)
            if now is not None and now.power + float((trial - usual) @ stiff @ (trial - usual)) <= least:
                break
            now, damping = None, damping * 10
        if now is None:
            break
        gained = best.power - now.power
        state, best, damping = trial, now, max(damping / 10, 1e-9)
        if gained < _WORTHLESS * best.power:
            break
    return _lines(band, state, best, count, falling)


def _project(band: Band, state: Real, count: int, falling: Falling) -> _At | None:
    """None where the lines cannot be told apart."""
    lead = state[2 * count :] @ falling.leads
    turns = state[:count]
    poles = np.minimum(np.maximum(-state[count : 2 * count], -400.0), 20.0) + 1j * turns
    basis = band.times[:, None] * poles
    if len(falling.leads):
        basis += lead[:, None] * (1j * (TAU * band.centre_hz + turns))
    np.exp(basis, out=basis)
    turned = basis.conj().T
    gram = turned @ basis
    size = 1 / np.sqrt(gram.diagonal().real)
    sizes = size[:, None] * size
    try:
        inverse = np.linalg.inv(gram * sizes)
    except np.linalg.LinAlgError:
        return None
    if not inverse.diagonal().real.max() < _DEPENDENT:
        return None
    inverse *= sizes
    values = inverse @ (turned @ band.values)
    left = band.values - basis @ values
    return _At(basis, inverse, values, left, float(np.vdot(left, left).real), lead)


def _slopes(band: Band, at: _At, state: Real, count: int, falling: Falling) -> Complex:
    """How the lines' sum moves with each number."""
    ringing = at.basis * at.values
    found = np.empty((len(band.times), len(state)), dtype=np.complex128)
    found[:, :count] = ringing * (1j * (band.times + at.lead))[:, None]
    found[:, count : 2 * count] = ringing * -band.times[:, None]
    if len(falling.leads):
        found[:, 2 * count :] = (1j * (ringing @ (TAU * band.centre_hz + state[:count])))[:, None] * falling.leads.T
    return found


def _normal(band: Band, at: _At, state: Real, count: int, falling: Falling) -> tuple[Real, Real]:
    """The normal equations of a step: the products of the slopes, the amplitudes' part taken out."""
    slopes = _slopes(band, at, state, count, falling)
    turned = slopes.conj().T
    cross = at.basis.conj().T @ slopes
    matrix = (turned @ slopes).real - (cross.conj().T @ (at.inverse @ cross)).real
    return matrix, (turned @ at.left).real


def _noise(band: Band, power: float, count: int) -> float:
    """The noise's power for one free value of the band, from what `count` lines leave over."""
    return power / max(1.0, band.free - 2 * count)


def _stiffness(band: Band, power: float, state: Real, count: int, falling: Falling) -> Real:
    """What is known beforehand, as a matrix to add to the squares: the usual fall, and pairs that die alike."""
    found = np.zeros((len(state), len(state)))
    half = _noise(band, power, count) / 2
    if len(falling.spread):
        places = np.arange(2 * count, len(state))
        found[places, places] = half / falling.spread**2
    hz = TAU * band.centre_hz + state[:count]
    decays = state[count : 2 * count]
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


def _lines(band: Band, state: Real, at: _At, count: int, falling: Falling) -> Lines | None:
    if not math.isfinite(at.power) or not np.isfinite(at.values).all():
        return None
    turns, decays = state[:count], state[count : 2 * count]
    return Lines(
        hz=band.centre_hz + turns / TAU,
        decays=decays,
        values=np.asarray(at.values / band.gain(-decays + 1j * turns)),
        passed=np.abs(at.values),
        falls=state[2 * count :],
        left=at.power,
        power=band.power,
        noise=_noise(band, at.power, count),
        falling=falling,
    )


def covariance(band: Band, lines: Lines) -> Real | None:
    """How the errors of (hz..., decays..., falls..., re..., im...) go together, from what the fit left over.

    The inverse of the Fisher matrix for white noise of the measured density. None where the lines cannot be told
    apart.
    """
    count, falling = len(lines.hz), lines.falling
    turns = TAU * (lines.hz - band.centre_hz)
    state = np.concatenate([turns, lines.decays, lines.falls])
    at = _project(band, state, count, falling)
    if at is None:
        return None
    gained = at.basis * band.gain(-lines.decays + 1j * turns)
    raw = np.concatenate([_slopes(band, at, state, count, falling), gained, 1j * gained], axis=1)
    fisher = (raw.conj().T @ raw).real
    held = len(state)
    fisher[:held, :held] += _stiffness(band, at.power, state, count, falling)
    fisher[:count] *= TAU
    fisher[:, :count] *= TAU
    scale = 1 / np.sqrt(fisher.diagonal())
    scales = scale[:, None] * scale
    try:
        found = np.linalg.inv(fisher * scales) * scales * (lines.noise / 2)
    except np.linalg.LinAlgError:
        return None
    return np.asarray(found) if (found.diagonal() >= 0).all() else None
