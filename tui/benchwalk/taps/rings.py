"""How a tap rings in each third octave: how long and how loud.

Centres in base ten, 1000 * 10^(k/10) Hz (IEC 61260-1). Decay by Schroeder's backward integration (1965) of each
band's power, noise taken off; time for 60 dB from the straight line between -5 and -25 dB (T20, ISO 3382, from memory).
"""

from __future__ import annotations

import math

import numpy as np

from .bands import Real
from .kinds import Sound

CENTRES = tuple(1000 * 10 ** (k / 10) for k in range(-10, 6))
"""From 100 Hz to 3.2 kHz."""
LONGEST_S = 1.5
_ENOUGH = 8000
"""Samples a second that hold the highest band."""
_FROM_DB, _TO_DB = -5.0, -25.0
_FIRST_S = 0.03


def rings_of(sound: Sound, at_s: float, until_s: float) -> tuple[dict[float, float | None], dict[float, float]]:
    """Third octave's centre (Hz, to 0.01) to seconds for 60 dB, or None where 25 dB do not stand clear of the noise;
    and to its level over the first 450 ms, in dB below the loudest.

    `until_s` is where the next tap begins, or the recording ends.
    """
    begin = round(at_s * sound.rate)
    piece = sound.samples[begin : min(round(until_s * sound.rate), begin + round(LONGEST_S * sound.rate))]
    size = 1 << (2 * len(piece) - 1).bit_length()
    step = 1 << max(0, (sound.rate // _ENOUGH).bit_length() - 1)  # each band is looked at in every so many samples
    rate, count = sound.rate / step, -(-len(piece) // step)
    spectrum = np.fft.rfft(piece, size)[: size // step // 2 + 1] / step
    places = np.arange(len(spectrum)) * (sound.rate / size)
    early = round(0.45 * rate)
    rings: dict[float, float | None] = {}
    levels: dict[float, float] = {}
    for centre in CENTRES:
        if centre * 1.25 > sound.rate / 2:
            continue
        low, high = centre / 10**0.05, centre * 10**0.05
        within = spectrum * ((places >= low) & (places < high))
        band = np.fft.irfft(within, size // step)[:count]
        name = round(centre, 2)
        rings[name] = _decay(band, rate)
        levels[name] = 10 * math.log10(float(np.sum(band[:early] ** 2)) + 1e-30)
    top = max(levels.values(), default=0.0)
    return rings, {name: round(level - top, 1) for name, level in levels.items()}


def _decay(band: Real, rate: float) -> float | None:
    """Seconds for 60 dB; None where the noise hides it."""
    power = band**2
    tail = len(power) // 10
    if tail < 10:
        return None
    noise = float(power[-tail:].mean())
    if float(power[: max(1, round(_FIRST_S * rate))].mean()) < noise * 10 ** (-_TO_DB / 10):
        return None  # what is summed up backward would be the noise's own chance
    power = power - noise
    backward = np.cumsum(power[::-1])[::-1]
    if backward[0] <= 0:
        return None
    level = 10 * np.log10(np.maximum(backward / backward[0], 1e-9))
    first, last = int(np.argmax(level <= _FROM_DB)), int(np.argmax(level <= _TO_DB))
    if last <= first or last > len(level) - tail:
        return None
    slope = np.polyfit(np.arange(first, last + 1) / rate, level[first : last + 1], 1)[0]
    return round(-60 / float(slope), 3) if slope < 0 else None
