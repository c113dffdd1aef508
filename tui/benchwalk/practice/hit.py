"""One tap: what rings after it, and the sound of it at the microphone."""

from __future__ import annotations

import math
from collections.abc import Iterable
from random import Random
from typing import NamedTuple

import numpy as np

from ..errors import UsageError
from .membrane import Array, heights, zeros
from .ringing import Ring

TAPPED = 0.843  # of the radius: 28 mm inside the rod of a 14 in drum
HEARD = 0.85  # of the radius: where the microphone hangs over a rod
# m over the film: what changes within a shorter distance along the film cancels out on the way. At this height the
# loudest line is not the rod note in some three of ten taps, as on drums: illustrative.
MIC_HEIGHT = 0.09
TIP = {"soft": 700.0, "hard": 1500.0}  # Hz up to which the tip of the stick sets a film going: illustrative
LEVEL = {"soft": (0.15, 0.3), "hard": (0.6, 0.9)}  # peak of the sound
# Cents by which the note sinks from 45 to 250 ms after the stroke; recorded toms, struck hard, sank by 107 to 207.
GLIDE = {"soft": (1.0, 4.0), "hard": (100.0, 200.0)}
OTHER_HEARD = 0.25  # how much of the far head comes round to the microphone: illustrative
FINGER = 300.0  # 1/s that a finger on the middle adds to what has its belly there
QUIET = 1e-3  # of the loudest part: what is below is left out
FINE = 48000  # samples a second at least on which a sound is made
LEAD = 0.05  # s of the room before the stroke
_CLICK, _CLICK_S = 0.3, 0.002  # the stick itself: share of the peak, and how long


class Spot(NamedTuple):
    """A place on a head: share of the radius, and angle in radians."""

    radius: float
    angle: float


class Part(NamedTuple):
    """One thing that rings: Hz, amplitude (the loudest part has 1), decay in 1/s, phase in radians, its name."""

    hz: float
    amplitude: float
    decay: float
    phase: float
    name: str


class Hit(NamedTuple):
    """One tap on the drum. `parts` is empty where the head is too loose to ring: then only the stick is heard.

    `sharp` is how many cents sharp the stroke begins, which dies away at `settles` (1/s); `level` the peak of the
    sound; `buzz` how loud the snares rattle beside it; `seed` that of the room's noise.
    """

    parts: list[Part]
    sharp: float
    settles: float
    level: float
    buzz: float
    seed: int

    def sound(self, rate: int = 48000, seconds: float = 1.2, noise_db: float = -50) -> Array:
        """What the microphone hears: samples between -1 and 1, the stroke LEAD seconds after the start.

        `noise_db` is the room's noise (root mean square) against the peak of the tap. Raises UsageError for a rate or
        a length nobody records.
        """
        if not 8000 <= rate <= 192_000 or not 0.1 <= seconds <= 30 or not -200 <= noise_db <= 0:
            raise UsageError(
                f"no sound of {seconds} s at {rate} samples a second with noise at {noise_db} dB: 0.1 to 30 s, 8000 to "
                "192000 samples, -200 to 0 dB can be had"
            )
        noise = np.random.default_rng(self.seed)
        count, lead = round(seconds * rate), round(LEAD * rate)
        heard = np.zeros(count)
        if count > lead:
            ringing = self._ringing(rate, count - lead)
            time = np.arange(len(ringing)) / rate
            if self.buzz:
                ringing += self.buzz * np.exp(-time / 0.08) * noise.standard_normal(len(ringing))
            click = round(8 * _CLICK_S * rate)
            burst = np.exp(-time[:click] / _CLICK_S) * noise.standard_normal(len(time[:click]))
            ringing[:click] += _CLICK * burst / 3
            heard[lead:] = ringing * (self.level / np.max(np.abs(ringing)))
        room = noise.standard_normal(count) * self.level * 10 ** (noise_db / 20)
        return np.clip(heard + room, -0.999, 0.999)

    def _ringing(self, rate: int, count: int) -> Array:
        """The parts together, their peak 1: first at their settled notes on a fine even grid, then hurried along.

        The grid goes in steps of many samples, each step the last one turned on: sums of products, no sines.
        """
        if not self.parts:
            return np.zeros(count)
        fine_rate = rate * math.ceil(FINE / rate)
        bent = 2 ** (self.sharp / 1200) - 1
        time = np.arange(count) / rate
        run = (time - bent / self.settles * np.expm1(-self.settles * time)) * fine_rate
        step = math.ceil(math.sqrt(run[-1] + 2))
        moves = np.array([complex(-part.decay, 2 * math.pi * part.hz) for part in self.parts]) / fine_rate
        begins = np.array([part.amplitude * np.exp(1j * (part.phase - math.pi / 2)) for part in self.parts])
        coarse = begins * np.exp(np.outer(np.arange(step) * step, moves))
        fine = np.exp(np.outer(moves, np.arange(step)))
        even = (coarse.real @ fine.real - coarse.imag @ fine.imag).ravel()
        total = np.interp(run, np.arange(len(even)), even)
        return np.asarray(total / np.max(np.abs(total)))


def struck(
    rings: Iterable[Ring], at: Spot, mic: Spot, radius: float, force: str, finger: Spot | None, reference: float
) -> list[Part]:
    """The parts of a tap `at` a place, heard at `mic`, of a head of `radius` m, a finger on it or none.

    `reference` is how much the lowest shape moves in the middle, squared: a finger there adds FINGER to that one.
    Each ring is as loud as it moves at the stroke, times as it moves under the microphone.
    """
    near = heights(*mic) * np.exp(-zeros() * MIC_HEIGHT / radius)
    hit = heights(*at)
    under = None if finger is None else heights(*finger)
    parts = []
    for ring in rings:
        loud = float(ring.motion @ hit) * float(near @ ring.motion + OTHER_HEARD * (near @ ring.beyond))
        loud *= math.exp(-((ring.hz / TIP[force]) ** 2))
        decay = ring.decay
        if under is not None:
            held = float(ring.motion @ under) ** 2 / reference
            loud, decay = loud / (1 + 4 * held), decay + FINGER * held
        parts.append(Part(ring.hz, abs(loud), decay, 0.0 if loud >= 0 else math.pi, ring.name))
    most = max((part.amplitude for part in parts), default=1.0)
    return [part._replace(amplitude=part.amplitude / most) for part in parts if part.amplitude > QUIET * most]


def hit_of(parts: list[Part], force: str, buzz: float, chance: Random) -> Hit:
    """The tap that these parts make, with its loudness, its glide and its noise drawn."""
    sunk = chance.uniform(*GLIDE[force])
    # What stretches the film and sharpens a stroke goes with the square of the motion: mostly what is low and lasts.
    weights = [(part.amplitude / part.hz) ** 2 / part.decay for part in parts]
    held = sum(weight * part.decay for weight, part in zip(weights, parts, strict=True))
    settles = 2 * held / sum(weights) if parts else 20.0
    settles = min(max(settles, 10.0), 40.0)
    sharp = sunk / (math.exp(-0.045 * settles) - math.exp(-0.25 * settles))
    return Hit(parts, sharp, settles, chance.uniform(*LEVEL[force]), buzz, chance.getrandbits(63))
