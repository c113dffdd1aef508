"""From fitted lines to the note beside a rod: the pair's mean by amplitude, how far it is apart, how sure it is."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from .bands import Band, Real
from .lines import CENT, Lines
from .solving import covariance

CLOSE = (0.80, 1.22)
"""Where the parts of a pair lie, in notes of its strongest line."""
RINGING = (0.8, 42.0)
"""Decay rates of what rings after a tap (1/s); less is a hum, more a knock."""
HARDLY_RINGING = (0.8, 55.0)
_FAINTEST = 0.02
PAIR_APART = 1.09
"""Members of one pair lie nearer than this (150 cents): a head as lopsided as that would not hold a note."""
OTHER = 0.1
"""What lies farther off and is at least so loud is another head's; what is fainter is nothing."""
_SURE = 3.0
COVERS = 3.6
"""Standard deviations in an uncertainty that covers about 95 %: 2 for the fit alone, more for choosing the lines."""
TOGETHER_HZ = 1.5
"""Lines nearer than this cannot be told apart within the window."""
LEAST_CENTS = 0.05
_FALL_UNSURE = 0.1
"""The part of the fall of a note that the fit of it may miss: an assumption, borne out by the benchmark."""


class Note(NamedTuple):
    """A note: Hz, uncertainty (cents, about 95 %), the pair's distance (Hz) or None, decay (1/s), the lines' number.

    `loud` are the amplitudes at the tap of all lines of the pair, loudest first, `hz` their frequencies, `die` their
    decays.
    """

    pitch_hz: float
    uncertainty_cents: float
    split_hz: float | None
    decay: float
    loud: tuple[float, ...]
    hz: tuple[float, ...]
    die: tuple[float, ...]
    snr_db: float


def pair_note(band: Band, lines: Lines, around_hz: float, since_tap_s: float, *, pair: bool = True) -> Note | None:
    """The note of the lines round about a frequency; None where nothing there rings as a drum does.

    `since_tap_s` is how long after the tap the window begins: amplitudes count as they were at the tap. With `pair`
    false the strongest line alone is the note.
    """
    chosen = _chosen(band, lines, around_hz)
    if not len(chosen):  # a finger that misses the middle damps the pair too
        chosen = _chosen(band, lines, around_hz, HARDLY_RINGING)
    if not len(chosen):
        return None
    chosen = chosen[np.argsort(-_at_tap(lines, since_tap_s)[chosen])]
    if not pair:
        chosen = chosen[:1]
    groups = _grouped(lines.hz[chosen])
    numbers = _numbers(lines, chosen)
    pitch = float(_mean(numbers, groups, since_tap_s))
    deviation = _deviation(numbers, groups, since_tap_s, _part(covariance(band, lines), lines, chosen))
    loud, hz = _members(numbers, groups, since_tap_s)
    if not CLOSE[0] * around_hz <= pitch <= CLOSE[1] * around_hz:
        return None
    cents = deviation / pitch / CENT
    fall = abs(float(lines.falls[0])) / CENT if len(lines.falls) else 0.0
    chance = _chance(band, lines, around_hz, since_tap_s, pitch) if pair else 0.0
    sure = math.sqrt((COVERS * cents) ** 2 + LEAST_CENTS**2 + (_FALL_UNSURE * fall) ** 2 + chance**2)
    strong = loud >= 0.05 * loud.max()
    split = float(np.ptp(hz[strong])) if strong.sum() == 2 else None
    return Note(
        pitch_hz=pitch,
        uncertainty_cents=min(sure, 1200.0),
        split_hz=split,
        decay=float(lines.decays[chosen[0]]),
        loud=tuple(map(float, loud)),
        hz=tuple(map(float, hz)),
        die=tuple(float(lines.decays[int(np.argmin(np.abs(lines.hz - each)))]) for each in hz),
        snr_db=_stands(band, lines, chosen),
    )


def _chance(band: Band, lines: Lines, around_hz: float, since_tap_s: float, pitch: float) -> float:
    """How far the note would move (cents) with another number of lines, or with what hardly rings."""
    others = [rough_pitch(band, other, around_hz, since_tap_s) for other in lines.others]
    others.append(rough_pitch(band, lines, around_hz, since_tap_s, HARDLY_RINGING))
    return max((abs(1200 * math.log2(other / pitch)) for other in others if other is not None), default=0.0)


def rough_pitch(
    band: Band, lines: Lines, around_hz: float, since_tap_s: float, rings: tuple[float, float] = RINGING
) -> float | None:
    """The note alone (Hz), of lines that die at such rates."""
    chosen = _chosen(band, lines, around_hz, rings)
    if not len(chosen):
        return None
    return float(_mean(_numbers(lines, chosen), _grouped(lines.hz[chosen]), since_tap_s))


def _at_tap(lines: Lines, since_tap_s: float) -> Real:
    return np.asarray(np.abs(lines.values) * np.exp(np.clip(lines.decays, 0, 60) * since_tap_s))


def _grouped(hz: Real) -> NDArray[np.intp]:
    """For each line the number of its group: lines too close to be told apart are one member of the pair."""
    order = np.argsort(hz)
    numbers = np.concatenate([[0], np.cumsum(np.diff(hz[order]) > TOGETHER_HZ)])
    found = np.empty(len(hz), dtype=np.intp)
    found[order] = numbers
    return found


def _numbers(lines: Lines, chosen: NDArray[np.intp]) -> Real:
    """(hz..., decays..., real parts..., imaginary parts...) of the chosen lines."""
    values = lines.values[chosen]
    return np.concatenate([lines.hz[chosen], lines.decays[chosen], values.real, values.imag])


def _part(spread: Real | None, lines: Lines, chosen: NDArray[np.intp]) -> Real | None:
    """The covariance of those numbers."""
    if spread is None:
        return None
    count = len(lines.hz)
    places = np.concatenate([chosen, count + chosen, len(spread) - 2 * count + chosen, len(spread) - count + chosen])
    return np.asarray(spread[np.ix_(places, places)])


def _members(numbers: Real, groups: NDArray[np.intp], since_tap_s: float) -> tuple[Real, Real]:
    """(amplitudes at the tap, Hz) of the pair's members; of several sets of numbers at once, a row each.

    Lines of one group count with their sign, as their sum moves: apart from each other they would mean nothing.
    """
    hz, decays, real, imaginary = np.moveaxis(numbers.reshape(*numbers.shape[:-1], 4, -1), -2, 0)
    values = (real + 1j * imaginary) * np.exp(np.minimum(np.maximum(decays, 0), 60) * since_tap_s)
    if groups.max() == len(groups) - 1:
        return np.abs(values), hz
    within = groups[:, None] == np.arange(groups.max() + 1)
    totals = values @ within
    shares = (values * (totals @ within.T).conj()).real / (np.abs(totals) ** 2 @ within.T)
    return np.abs(totals), (shares * hz) @ within


def _mean(numbers: Real, groups: NDArray[np.intp], since_tap_s: float) -> Real:
    loud, notes = _members(numbers, groups, since_tap_s)
    return np.asarray((loud * notes).sum(axis=-1) / loud.sum(axis=-1))


def _chosen(band: Band, lines: Lines, around_hz: float, ringing: tuple[float, float] = RINGING) -> NDArray[np.intp]:
    """The lines that are parts of the note: near it, ringing, loud enough and clear of the noise."""
    size = np.abs(lines.values)
    near = (lines.hz >= CLOSE[0] * around_hz) & (lines.hz <= CLOSE[1] * around_hz)
    rings = (lines.decays >= ringing[0]) & (lines.decays <= ringing[1])
    kept = near & rings
    if not kept.any():
        return np.empty(0, dtype=np.intp)
    loudest = int(np.argmax(size * kept))
    kept &= size >= _FAINTEST * size[loudest]
    kept &= (size >= OTHER * size[loudest]) | (
        np.abs(np.log(np.maximum(lines.hz, 1.0) / lines.hz[loudest])) < math.log(PAIR_APART)
    )
    length = float(band.times[-1])
    heard = (
        len(band.values)
        * -np.expm1(-2 * np.maximum(lines.decays, 1e-3) * length)
        / (2 * np.maximum(lines.decays, 1e-3) * length)
    )
    kept &= lines.passed**2 * heard >= _SURE**2 * lines.noise
    return np.flatnonzero(kept)


def _deviation(numbers: Real, groups: NDArray[np.intp], since_tap_s: float, spread: Real | None) -> float:
    """The standard deviation of the mean (Hz), from how the errors of the fit go together."""
    pitch = float(_mean(numbers, groups, since_tap_s))
    if spread is None:
        return 0.02 * pitch
    deviations = np.sqrt(np.diag(spread))
    steps = np.minimum(0.01 * deviations, 1e-4 * np.maximum(np.abs(numbers), 1e-9)) + 1e-15
    slopes = (_mean(numbers + np.diag(steps), groups, since_tap_s) - pitch) / steps
    return math.sqrt(max(0.0, float(slopes @ spread @ slopes)))


def _stands(band: Band, lines: Lines, chosen: NDArray[np.intp]) -> float:
    """How far the note's mean power over the window stands above what is left over in its band (dB)."""
    ends = float(band.times[-1])
    power = sum(
        abs(lines.values[k]) ** 2 * -math.expm1(-2 * lines.decays[k] * ends) / (2 * lines.decays[k] * ends)
        for k in chosen
    )
    return float(10 * math.log10((power + 1e-30) / (lines.left / len(band.values) + 1e-30)))
