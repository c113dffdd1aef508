"""The window of one tap: where it is listened to, and what can be told of it before any note is looked for."""

from __future__ import annotations

from typing import NamedTuple

from .bands import Real, mean_power
from .onsets import Onset
from .spectrum import STANDS_OUT_DB, Peak, Spectrum

BEGIN_S, END_S = 0.030, 0.450
"""The window in which a tap is listened to, after its onset: a struck head starts sharp and falls."""
LEAST_RING_S = 0.150
_SWELLING = 0.6


class Window(NamedTuple):
    """A tap's window in the slimmed recording, what was before the tap, and how long the tap had.

    `rest` goes on to the next tap; `hasty` says that another tap rang just before.
    """

    onset: Onset
    attack: Real
    sound: Real
    rest: Real
    before: Real
    ring_s: float
    until_s: float
    followed: bool
    hasty: bool
    rate: float


def swells(window: Window) -> bool:
    """Whether the sound grows after it began, as a syllable does and a struck head does not."""
    early = window.attack[: round(0.025 * window.rate)]
    later = window.sound[round(0.03 * window.rate) : round(0.13 * window.rate)]
    return mean_power(early) < _SWELLING * mean_power(later)


def since_the_tap(spectrum: Spectrum, window: Window, above_db: float = STANDS_OUT_DB) -> list[Peak]:
    """The lines that the tap made: those that were as loud before it are a hum, or the tap before."""
    peaks, rate = spectrum.peaks(above_db), window.rate
    if len(window.before) < 0.06 * rate:
        return peaks
    before = Spectrum(window.before, rate)
    loudest = spectrum.at(max(peaks, key=lambda peak: peak.db).hz) if peaks else 0.0
    kept = [peak for peak in peaks if loudest + peak.db > before.at(peak.hz) + 3]
    top = max((peak.db for peak in kept), default=0.0)
    return [peak._replace(db=peak.db - top) for peak in kept]


def dies(window: Window) -> bool:
    """Whether all of it is 30 dB down, or in the noise, 150 ms after the tap."""
    rate = window.rate
    piece = round(0.03 * rate)
    late = round((LEAST_RING_S - BEGIN_S) * rate)
    first, then = window.sound[:piece], window.sound[late : late + piece]
    if len(then) < piece // 2:
        return False
    floor = mean_power(window.before) if len(window.before) > piece else 0.0
    return mean_power(then) < max(1e-3 * mean_power(first), 2 * floor)
