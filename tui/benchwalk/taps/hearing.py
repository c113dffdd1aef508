"""Taps of a recording, each with its note or the reason why it has none."""

from __future__ import annotations

import math
from collections import Counter

from ..errors import UsageError
from ..plaindata import changed
from .bands import HIGHEST_HZ, LOWEST_HZ, Real, slim
from .kinds import PLACES, Heard, LeftOut, Sound, Tap
from .one_tap import heard_in
from .onsets import Onset, onsets
from .refusals import Why
from .spectrum import Spectrum
from .window import BEGIN_S, END_S, LEAST_RING_S, Window

_BEFORE_S = 0.120
_NEAR_DB = 12.0


def hear(sound: Sound, band: tuple[float, float] | None, place: str, full: bool) -> Heard:
    """What `benchwalk.taps.hear` promises."""
    usable(band, place)
    slimmed, rate = slim(sound.samples, sound.rate)
    found = onsets(slimmed, rate)
    if not found:
        return Heard([], _no_tap(slimmed, rate))
    taps: list[Tap] = []
    left_out: list[LeftOut] = []
    for window in _windows(slimmed, rate, found):
        answer = heard_in(window, sound, band, place)
        if isinstance(answer, str):
            left_out.append(LeftOut(window.onset.at_s, answer))
            continue
        taps.append(_with_rings(answer, sound, window.until_s) if full else answer)
    reasons = Counter(each.why for each in left_out)
    if taps and reasons[Why.NO_NOTE] < max(2, len(taps)):  # a word of talk may pass for a tap
        return Heard(taps, None, left_out)
    (why, _count), *_rest = reasons.most_common()
    if why == Why.NO_NOTE and (hum := _steady(slimmed, rate)) is not None:
        why = Why.hum(hum)
    return Heard([], why)


def usable(band: tuple[float, float] | None, place: str) -> None:
    """What `benchwalk.taps.usable` promises."""
    if place not in PLACES:
        raise UsageError(f"taps are at a place out of {', '.join(PLACES)}, not '{place[:40]}'")
    if band is None:
        return
    low, high = band
    if not (math.isfinite(low) and math.isfinite(high) and LOWEST_HZ <= low < high <= HIGHEST_HZ):
        raise UsageError(
            f"a band is two frequencies, the lower first, from {LOWEST_HZ:g} to {HIGHEST_HZ:g} Hz, "
            f"not {low:g} and {high:g}"
        )


def _no_tap(slimmed: Real, rate: float) -> str:
    """Why there is no tap: a hum fills the recording, or there is nothing to hear."""
    hum = _steady(slimmed, rate)
    return Why.NO_TAP if hum is None else Why.hum(hum)


def _steady(slimmed: Real, rate: float) -> float | None:
    """The loudest line (Hz) that is as loud in each third of the recording; None where nothing is steady."""
    third = min(len(slimmed) // 3, round(2 * rate))
    if third < 0.15 * rate:
        return None
    parts = [Spectrum(slimmed[k * third : (k + 1) * third], rate) for k in range(3)]
    for peak in sorted(parts[0].peaks(), key=lambda peak: -peak.db):
        levels = [part.at(peak.hz) for part in parts]
        if peak.db > -20 and peak.above_db > 20 and max(levels) - min(levels) < 3:
            return peak.hz
    return None


def _windows(slimmed: Real, rate: float, found: list[Onset]) -> list[Window]:
    ends = len(slimmed) / rate
    windows = []
    for index, onset in enumerate(found):
        following = found[index + 1].at_s - 0.006 if index + 1 < len(found) else ends
        stop = min(onset.at_s + END_S, following, ends)
        begin = round((onset.at_s + BEGIN_S) * rate)
        start = max(0.0, onset.at_s - 0.006 - _BEFORE_S)
        windows.append(
            Window(
                onset,
                slimmed[round(onset.at_s * rate) : begin],
                slimmed[begin : round(stop * rate)],
                slimmed[begin : round(following * rate)],
                slimmed[round(start * rate) : max(0, round((onset.at_s - 0.006) * rate))],
                stop - onset.at_s,
                following,
                index + 1 < len(found) and following < onset.at_s + END_S,
                index > 0 and _rings_on(found[index - 1], onset),
                rate,
            )
        )
    return windows


def _rings_on(before: Onset, onset: Onset) -> bool:
    """Whether the tap before is as loud, and so near that its ring is mixed with this one's."""
    return onset.at_s - before.at_s < LEAST_RING_S and before.level_db > onset.level_db - _NEAR_DB


def _with_rings(tap: Tap, sound: Sound, until_s: float) -> Tap:
    from .rings import rings_of

    rings, levels = rings_of(sound, tap.at_s, until_s)
    return changed(tap, rings=rings, levels=levels)


def spectrum_of(sound: Sound, at_s: float) -> list[tuple[float, float]]:
    """The lines of a tap's window, from low to high: (Hz, dB below the loudest)."""
    begin, end = (round((at_s + side) * sound.rate) for side in (BEGIN_S, END_S))
    slimmed, rate = slim(sound.samples[begin:end], sound.rate)
    return [(peak.hz, peak.db) for peak in Spectrum(slimmed, rate).peaks()]
