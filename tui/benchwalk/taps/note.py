"""From fitted lines to the note beside a rod: the pair's mean by amplitude, how far it is apart, how sure it is.

Of half a dozen lines plain numbers are worked out sooner than arrays.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

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
    chosen = _chosen(band, lines, around_hz) or _chosen(band, lines, around_hz, HARDLY_RINGING)
    if not chosen:  # not even as a finger that misses the middle damps the pair
        return None
    at_tap = _at_tap(lines, since_tap_s)
    chosen.sort(key=lambda place: -abs(at_tap[place]))
    if not pair:
        chosen = chosen[:1]
    members = _members(lines, chosen, since_tap_s)
    pitch = _mean(members)
    if not CLOSE[0] * around_hz <= pitch <= CLOSE[1] * around_hz:
        return None
    cents = _deviation(band, lines, members, pitch, since_tap_s) / pitch / CENT
    fall = abs(float(lines.falls[0])) / CENT if len(lines.falls) else 0.0
    chance = _chance(band, lines, around_hz, since_tap_s, pitch) if pair else 0.0
    sure = math.sqrt((COVERS * cents) ** 2 + LEAST_CENTS**2 + (_FALL_UNSURE * fall) ** 2 + chance**2)
    strong = [member.hz for member in members if member.loud >= 0.05 * members[0].loud]
    decays, hz = lines.decays.tolist(), lines.hz.tolist()
    return Note(
        pitch_hz=pitch,
        uncertainty_cents=min(sure, 1200.0),
        split_hz=abs(strong[1] - strong[0]) if len(strong) == 2 else None,
        decay=decays[chosen[0]],
        loud=tuple(member.loud for member in members),
        hz=tuple(member.hz for member in members),
        die=tuple(min(zip(hz, decays, strict=True), key=lambda line: abs(line[0] - each.hz))[1] for each in members),
        snr_db=_stands(band, lines, chosen),
    )


def _chance(band: Band, lines: Lines, around_hz: float, since_tap_s: float, pitch: float) -> float:
    """How far the note would move (cents) with another number of lines, or with what hardly rings."""
    others = [rough_pitch(band, other, around_hz, since_tap_s) for other in lines.others]
    others.append(rough_pitch(band, lines, around_hz, since_tap_s, HARDLY_RINGING))
    return max((abs(1200 * math.log2(max(other, 1.0) / pitch)) for other in others if other is not None), default=0.0)


def rough_pitch(
    band: Band, lines: Lines, around_hz: float, since_tap_s: float, rings: tuple[float, float] = RINGING
) -> float | None:
    """The note alone (Hz), of lines that die at such rates."""
    chosen = _chosen(band, lines, around_hz, rings)
    return _mean(_members(lines, chosen, since_tap_s)) if chosen else None


class _Member(NamedTuple):
    """One member of a pair: its lines' places, the sum of their amplitudes at the tap, and of these times their Hz."""

    places: list[int]
    total: complex
    moved: complex

    @property
    def loud(self) -> float:
        return abs(self.total)

    @property
    def hz(self) -> float:
        """Lines of one member count with their sign, as their sum moves: apart from each other they mean nothing."""
        return (self.moved / self.total).real


def _growth(decay: float, since_tap_s: float) -> float:
    """How much louder a line was at the tap than where the window begins."""
    return math.exp(min(60.0, max(0.0, decay)) * since_tap_s)


def _at_tap(lines: Lines, since_tap_s: float) -> list[complex]:
    """The amplitudes at the tap."""
    parts = zip(lines.values.tolist(), lines.decays.tolist(), strict=True)
    return [value * _growth(decay, since_tap_s) for value, decay in parts]


def _members(lines: Lines, chosen: list[int], since_tap_s: float) -> list[_Member]:
    """The pair's members, loudest first: lines too close to be told apart are one."""
    hz, values = lines.hz.tolist(), _at_tap(lines, since_tap_s)
    groups: list[list[int]] = []
    last = -math.inf
    for place in sorted(chosen, key=lambda place: hz[place]):
        if hz[place] - last > TOGETHER_HZ:
            groups.append([])
        groups[-1].append(place)
        last = hz[place]
    found = [
        _Member(group, sum(values[place] for place in group), sum(values[place] * hz[place] for place in group))
        for group in groups
    ]
    return sorted((member for member in found if member.total), key=lambda member: -member.loud)


def _mean(members: list[_Member]) -> float:
    """Of the members' notes, by their amplitudes; 0 of none that sounds."""
    whole = sum(member.loud for member in members)
    return sum(member.loud * member.hz for member in members) / whole if whole else 0.0


def _chosen(band: Band, lines: Lines, around_hz: float, ringing: tuple[float, float] = RINGING) -> list[int]:
    """The lines that are parts of the note: near it, ringing, loud enough and clear of the noise."""
    hz, decays, size = lines.hz.tolist(), lines.decays.tolist(), [abs(value) for value in lines.values.tolist()]
    low, high = (side * around_hz for side in CLOSE)
    near = [k for k in range(len(hz)) if low <= hz[k] <= high and ringing[0] <= decays[k] <= ringing[1]]
    if not near:
        return []
    loudest = max(near, key=lambda place: size[place])
    apart = math.log(PAIR_APART)
    return [
        k
        for k in near
        if size[k] >= _FAINTEST * size[loudest]
        and (size[k] >= OTHER * size[loudest] or abs(math.log(hz[k] / hz[loudest])) < apart)
        and lines.passed[k] ** 2 * len(band.values) * _lasting(band, decays[k]) >= _SURE**2 * lines.noise
    ]


def _lasting(band: Band, decay: float) -> float:
    """The mean power of a line over the window, as a part of that at its beginning."""
    fallen = 2 * decay * float(band.times[-1])
    return -math.expm1(-fallen) / fallen


def _deviation(band: Band, lines: Lines, members: list[_Member], pitch: float, since_tap_s: float) -> float:
    """The standard deviation of the mean (Hz), from how the errors of the fit go together."""
    spread = covariance(band, lines)
    if spread is None:
        return 0.02 * pitch
    slopes = _slopes(lines, members, pitch, since_tap_s)
    return math.sqrt(max(0.0, float(slopes @ spread @ slopes)))


def _slopes(lines: Lines, members: list[_Member], pitch: float, since_tap_s: float) -> Real:
    """How the members' mean moves with (hz..., decays..., falls..., re..., im...) of all lines."""
    count, real = len(lines.hz), 2 * len(lines.hz) + len(lines.falls)
    found = np.zeros(real + 2 * count)
    hz, decays, values = lines.hz.tolist(), lines.decays.tolist(), _at_tap(lines, since_tap_s)
    whole = sum(member.loud for member in members)
    for member in members:
        towards = member.total.conjugate() / member.loud / whole
        for k in member.places:
            by_value = towards * (member.hz - pitch + hz[k] - member.moved / member.total)
            louder = _growth(decays[k], since_tap_s)
            found[k] = (towards * values[k]).real
            found[count + k] = since_tap_s * (by_value * values[k]).real if 0 < decays[k] < 60 else 0.0
            found[real + k] = louder * by_value.real
            found[real + count + k] = -louder * by_value.imag
    return found


def _stands(band: Band, lines: Lines, chosen: list[int]) -> float:
    """How far the note's mean power over the window stands above what is left over in its band (dB)."""
    power = sum(abs(lines.values[k]) ** 2 * _lasting(band, float(lines.decays[k])) for k in chosen)
    return 10 * math.log10((float(power) + 1e-30) / (lines.left / len(band.values) + 1e-30))
