"""What rings outside the notes that are told, where no line within can be the note that is wanted."""

from __future__ import annotations

from .bands import HIGHEST_HZ, LOWEST_HZ, Real, mean_power
from .kinds import Sound
from .modes import LOUD_DB, SECOND
from .spectrum import Peak, Spectrum
from .window import BEGIN_S, Window

_LOWEST_HEARD_HZ = 20.0
"""Below this a microphone hears steps and doors."""
_TAPPED_DB = 10.0
"""So far above what was there before the tap, for rumble comes and goes by itself."""


def rings_beyond(window: Window, sound: Sound, spectrum: Spectrum) -> float | None:
    """The line (Hz) outside 40 to 2000 Hz that is the note; None where there is none. `spectrum` is the window's.

    It is where no line within is loud beside it, or where the lowest loud one is its second pair.
    """
    begin = round((window.onset.at_s + BEGIN_S) * sound.rate)
    whole = sound.samples[begin : begin + round(len(window.sound) / window.rate * sound.rate)]
    hardly = 10 ** (LOUD_DB / 10) * _power(window.sound)
    if mean_power(whole) > hardly and _power(whole) > hardly:  # slimmed, hardly anything is left of it
        start = round((window.onset.at_s - 0.006) * sound.rate)
        before = sound.samples[max(0, start - round(len(window.before) / window.rate * sound.rate)) : max(0, start)]
        return _loudest_outside(Spectrum(whole, sound.rate), before, sound.rate)
    return _loudest_outside(spectrum, window.before, window.rate)


def _loudest_outside(spectrum: Spectrum, before: Real, rate: float) -> float | None:
    """The same of one spectrum, with what was before the tap."""
    reach = (_LOWEST_HEARD_HZ, rate / 2)
    tops = spectrum.step * spectrum.tops(LOUD_DB, reach)
    if len(tops) and LOWEST_HZ + spectrum.step <= tops[0] and tops[-1] <= HIGHEST_HZ - spectrum.step:
        return None
    peaks = spectrum.peaks(reach=reach)
    loud = [peak for peak in peaks if peak.db >= -LOUD_DB]
    heard = [peak for peak in loud if _within(peak)]
    if not heard:
        found = max(loud, key=lambda peak: peak.db, default=None)
    else:  # the second pair of a head whose first is too low
        below = [peak for peak in loud if peak.hz < LOWEST_HZ]
        found = next((peak for peak in below if SECOND[0] <= heard[0].hz / peak.hz <= SECOND[1]), None)
    if found is None:
        return None
    tapped = len(before) < 0.06 * rate or spectrum.at(found.hz) > Spectrum(before, rate).at(found.hz) + _TAPPED_DB
    return found.hz if tapped else None


def _within(peak: Peak) -> bool:
    return LOWEST_HZ <= peak.hz <= HIGHEST_HZ


def _power(sound: Real) -> float:
    """The mean power about the middle."""
    return mean_power(sound) - float(sound.mean()) ** 2 if len(sound) else 0.0
