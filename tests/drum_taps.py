"""Taps made from mode shapes, as truth for the tests and the benchmark of what is heard in recordings.

A round membrane whose pairs (m,n) are split along an axis of its own, tapped and listened to at places; every mode is
a decaying sine. Shares nothing with the program. Zeros and shapes: Bessel functions (scipy.special; DLMF 10.21).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import jn_zeros, jv

Samples = NDArray[np.float64]
MODES = [(0, 1), (1, 1), (2, 1), (0, 2), (3, 1), (1, 2), (4, 1), (2, 2), (0, 3), (5, 1), (3, 2), (6, 1)]
ZERO = {(m, n): float(jn_zeros(m, n)[-1]) for m, n in MODES}
ROD = 0.85
"""Where a tap beside a rod lies, as a part of the radius."""


@dataclass
class Part:
    """One decaying sine."""

    hz: float
    amplitude: float
    decay: float
    phase: float
    mode: tuple[int, int]


@dataclass
class Head:
    """A head: the mean note of its first pair, how far each pair is apart (as a part of its note), and along what.

    `stretch` bends the ratios of the modes as air does; `decay` is that of the first pair (1/s).
    """

    f11: float
    split: dict[int, float] = field(default_factory=dict)
    axis: dict[int, float] = field(default_factory=dict)
    stretch: float = 1.0
    decay: float = 8.0
    slope: float = 0.5
    uneven: dict[tuple[int, int, int], float] = field(default_factory=dict)
    loud: dict[tuple[int, int], float] = field(default_factory=dict)

    def parts(
        self, tap: tuple[float, float], mic: tuple[float, float], *, touched: bool = True, snap_hz: float = 900.0
    ) -> list[Part]:
        """What rings after a tap at (part of the radius, angle), heard over `mic`; `snap_hz` is how hard the tip is."""
        found = []
        for m, n in MODES:
            zero = ZERO[m, n]
            mean = self.f11 * (zero / ZERO[1, 1]) ** self.stretch
            radial = float(jv(m, zero * tap[0]) * jv(m, zero * mic[0]))
            radial *= self.loud.get((m, n), 1.0) / (1 + (mean / snap_hz) ** 2)
            for side in (0, 1) if m else (0,):
                axis = self.axis.get(m, 0.0) + side * math.pi / (2 * m or 1)
                angular = math.cos(m * (tap[1] - axis)) * math.cos(m * (mic[1] - axis))
                hz = mean * (1 + (side - 0.5) * self.split.get(m, 0.0) * (m > 0))
                decay = self.decay * (mean / self.f11) ** self.slope * self.uneven.get((m, n, side), 1.0)
                amplitude = radial * angular
                if m == 0 and touched:
                    amplitude, decay = amplitude * 0.15, max(decay, 60.0)
                found.append(Part(hz, amplitude, decay, -math.pi / 2, (m, n)))
        return found


def random_head(rng: np.random.Generator, **fixed: Any) -> Head:
    """A head that nobody tuned to: from a bass tom to a tight snare-side head, pairs up to 40 cents apart."""
    split = {m: float(rng.uniform(0, 40) * math.log(2) / 1200) for m in range(1, 7)}
    sides = [(m, n, side) for m, n in MODES for side in (0, 1)]
    values: dict[str, Any] = {
        "f11": float(np.exp(rng.uniform(math.log(90), math.log(450)))),
        "split": split,
        "axis": {m: float(rng.uniform(0, math.pi)) for m in range(1, 7)},
        "stretch": float(rng.uniform(1.0, 1.18)),
        "decay": float(np.exp(rng.uniform(math.log(3), math.log(25)))),
        "slope": float(rng.uniform(0, 1)),
        "uneven": {each: float(np.exp(rng.normal(0, 0.08))) for each in sides},
        "loud": {mode: float(np.exp(rng.normal(0, 0.35))) for mode in MODES},
    }
    return Head(**{**values, **fixed})


def rod_note(parts: list[Part], mode: tuple[int, int] = (1, 1)) -> float:
    """The mean of a pair's parts weighted by amplitude, Hz: the note at rest."""
    pair = [part for part in parts if part.mode == mode]
    weight = sum(abs(part.amplitude) for part in pair)
    return sum(abs(part.amplitude) * part.hz for part in pair) / weight


def ringing(
    parts: list[Part], rate: int, seconds: float, *, at_s: float = 0.2, glide_cents: float = 0.0, click: float = 0.0
) -> Samples:
    """The sound, with the tap at `at_s`; all notes start `glide_cents` sharp and fall with the square of the ring."""
    time = np.arange(round((seconds - at_s) * rate)) / rate
    slowest = min(part.decay for part in parts if part.mode[0] or part.decay < 60)
    raised = glide_cents * math.log(2) / 1200
    passed = time + raised * (1 - np.exp(-2 * slowest * time)) / (2 * slowest)
    out = np.zeros(round(seconds * rate))
    sound = sum(
        part.amplitude * np.exp(-part.decay * time) * np.cos(2 * math.pi * part.hz * passed + part.phase)
        for part in parts
        if part.hz < 0.45 * rate
    )
    sound = np.asarray(sound) * (1 - np.exp(-time / 0.0015))
    if click:
        length = min(len(time), rate // 50)
        burst = np.random.default_rng(5).normal(size=length) * np.exp(-time[:length] / 0.003)
        sound[:length] += click * np.abs(sound).max() * burst
    out[-len(sound) :] = sound
    return out


def noise(rng: np.random.Generator, count: int, rate: int, kind: str = "room") -> Samples:
    """Noise of power 1: `white`, or `room`, which falls by 3 dB an octave from 60 Hz on."""
    if kind == "white":
        return rng.normal(size=count)
    spectrum = np.fft.rfft(rng.normal(size=count))
    spectrum /= np.sqrt(np.maximum(np.fft.rfftfreq(count, 1 / rate), 60.0))
    made = np.fft.irfft(spectrum, count)
    return np.asarray(made / made.std())


def in_noise(
    rng: np.random.Generator, sound: Samples, rate: int, snr_db: float, *, at_s: float = 0.2, kind: str = "room"
) -> Samples:
    """The sound in noise; `snr_db` is its mean power from 30 to 450 ms after the tap over that of all the noise."""
    window = sound[round((at_s + 0.03) * rate) : round((at_s + 0.45) * rate)]
    level = math.sqrt(float(np.mean(window**2)) / 10 ** (snr_db / 10))
    return sound + level * noise(rng, len(sound), rate, kind)


def hum(count: int, rate: int, level: float, base_hz: float = 50.0) -> Samples:
    """A motor's steady lines."""
    time = np.arange(count) / rate
    lines = [(1, 0.5), (2, 1.0), (3, 0.4), (4, 0.5), (6, 0.3)]
    return level * np.asarray(sum(a * np.sin(2 * math.pi * base_hz * k * time + k) for k, a in lines))


def speech(rng: np.random.Generator, rate: int, seconds: float) -> Samples:
    """Something like talk: syllables of gliding buzz through two moving resonances, with hisses between."""
    count = round(seconds * rate)
    out = np.zeros(count)
    start = 0.1
    while start < seconds - 0.4:
        length = float(rng.uniform(0.12, 0.3))
        time = np.arange(round(length * rate)) / rate
        base = rng.uniform(95, 220) * (1 + rng.uniform(-0.25, 0.25) * time / length + 0.02 * np.sin(30 * time))
        phase = 2 * math.pi * np.cumsum(base) / rate
        shape = np.sin(math.pi * time / length) ** 0.6 * np.minimum(1, time / 0.012)
        tones = np.zeros(len(time))
        first, second = rng.uniform(300, 800), rng.uniform(900, 2200)
        for k in range(1, 16):
            tone = k * base
            gain = 1 / (1 + ((tone - first) / 90) ** 2) + 0.5 / (1 + ((tone - second) / 130) ** 2) + 0.02
            tones += gain * np.sin(k * phase)
        hiss = rng.normal(size=len(time)) * 0.05 * np.exp(-time / 0.03)
        at = round(start * rate)
        piece = ((tones + hiss) * shape)[: count - at]
        out[at : at + len(piece)] += piece
        start += length + float(rng.uniform(0.02, 0.18))
    return out / np.abs(out).max()
