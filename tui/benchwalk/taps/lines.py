"""Decaying sines in a narrow band: how many, at which frequencies, how fast they die, how loud, how sure.

First guess: ESPRIT (Roy and Kailath 1989), the signal's own subspace shifted by one sample. `solving` betters it.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from .bands import Band, Complex, Real, pieces

TAU = 2 * math.pi
_LONGEST, _TURNS = 50, 3
CENT = math.log(2) / 1200
_USUAL_FALL, _FALL_SPREAD = 1 * CENT, 2 * CENT
"""How sharp a soft tap usually begins its window, as a part of the note: 1 cent, give or take 2 (an assumption).

It steadies the fit in noise; a clear recording overrules it.
"""


class Falling(NamedTuple):
    """What is fitted of the notes' fall: a row of `leads` for each of its numbers, none where nothing falls.

    `leads` say by how many seconds the notes have run ahead at the band's times, for 1 of the number; `usual` and
    `spread` what the number mostly is, and how far it strays.
    """

    leads: Real
    usual: Real
    spread: Real


def no_fall(band: Band) -> Falling:
    """Nothing falls."""
    return Falling(np.zeros((0, len(band.times))), np.zeros(0), np.ones(0))


def soft_fall(band: Band, decay: float) -> Falling:
    """How sharp a soft tap begins, as a part of the note, dying with `decay` (1/s)."""
    lead = -np.expm1(-decay * band.times) / decay
    return Falling(lead[None, :], np.array([_USUAL_FALL]), np.array([_FALL_SPREAD]))


class Lines(NamedTuple):
    """Decaying sines fitted to a band; times from the window's start.

    `hz` and `decays` (1/s) are of the sound at rest, `values` complex amplitudes at the window's start, before the
    filter, `passed` what it left of their sizes. `falls` are the numbers of the notes' fall. `left` is the power left
    over, `power` that of the band's values; `noise` is the noise's power for one free value. `settled` says that more
    steps of the fit would better nothing. `others` are fits of other numbers of lines, about as likely.
    """

    hz: Real
    decays: Real
    values: Complex
    passed: Real
    falls: Real
    left: float
    power: float
    noise: float
    falling: Falling
    settled: bool = False
    others: tuple[Lines, ...] = ()


def unfallen(band: Band, falls: Sequence[float], fall_decay: float) -> Complex:
    """The band's values with some falls of the notes taken out, a row each, as far as the band's centre goes."""
    lead = np.expm1(-fall_decay * band.times) / fall_decay
    return np.asarray(band.values * np.exp(np.outer(1j * TAU * band.centre_hz * np.array(falls), lead)))


def subspace(values: Complex, most: int) -> tuple[Complex, Real]:
    """The `most` strongest directions of the band's shifted windows, a column each, strongest first.

    And the power that no sum of 1, 2, ... `most` steady lines can explain: what the best windows of such a rank leave
    over, as every value lies in at most so many windows. By block power iteration, begun with windows spread over the
    band: some of hundreds of columns are wanted.
    """
    length = max(4, min(len(values) // 2, _LONGEST))
    windows = np.ascontiguousarray(pieces(values, length).T)
    turned = windows.conj().T
    block = min(most + 2, length, windows.shape[1])
    found = windows[:, [k * (windows.shape[1] - 1) // (block - 1) for k in range(block)]]
    for turn in range(_TURNS):
        found = windows @ (turned @ found)
        if turn:
            found = np.linalg.qr(found)[0]
    part = found.conj().T @ windows
    powers, mixed = np.linalg.eigh(part @ part.conj().T)
    left = np.vdot(windows, windows).real - np.cumsum(powers[::-1])
    return np.asarray((found @ mixed)[:, ::-1][:, :most]), np.maximum(left, 0.0) / min(windows.shape)


def poles_of(directions: Complex, count: int, rate: float) -> Complex:
    """ESPRIT: the poles -d + 2 pi i f (1/s) of `count` lines.

    What turns the directions without their last row into those without their first, by least squares. As they stand
    square on each other, the normal equations miss unity by the last row alone, and are solved in one go.
    """
    part = directions[:, :count]
    last = part[-1]
    turned = part[:-1].conj().T @ part[1:]
    missing = max(1e-9, 1 - float(np.vdot(last, last).real))
    found = np.linalg.eigvals(turned + last.conj()[:, None] * (last @ turned / missing)).tolist()
    poles = [complex(math.log(min(1.2, max(1e-3, abs(one)))), cmath.phase(one)) for one in found]
    return np.asarray(rate * np.array(poles), dtype=np.complex128)
