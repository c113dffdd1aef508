"""Recordings that must be refused: each a way in which taps go wrong at the bench, made anew from a seed."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from drum_taps import Part, Samples, hum, in_noise, noise, random_head, ringing, speech

RATE = 48000


def _parts(rng: np.random.Generator) -> list[Part]:
    angle = float(rng.uniform(0, 6.28))
    return random_head(rng).parts((0.85, angle), (0.85, angle))


def no_tap(rng: np.random.Generator) -> Samples:
    """A quiet room."""
    return noise(rng, RATE * 2, RATE) * 0.02


def motor(rng: np.random.Generator) -> Samples:
    """A compressor, and nobody taps."""
    base = float(rng.choice([50.0, 60.0, 24.5]))
    return hum(RATE * 2, RATE, 0.1, base) + noise(rng, RATE * 2, RATE) * 0.005


def talk(rng: np.random.Generator) -> Samples:
    """Somebody speaks."""
    return speech(rng, RATE, 2.0) * 0.5 + noise(rng, RATE * 2, RATE) * 0.003


def overdriven(rng: np.random.Generator) -> Samples:
    """The level stands much too high."""
    sound = ringing(_parts(rng), RATE, 1.2, glide_cents=2)
    return np.clip(in_noise(rng, sound / np.abs(sound).max(), RATE, 40) * 6, -1, 1)


def hasty(rng: np.random.Generator) -> Samples:
    """A second stroke follows within 60 to 140 ms, each with the click of the tip."""
    sound = ringing(_parts(rng), RATE, 1.2, click=0.5)
    again = np.roll(sound, round(float(rng.uniform(0.06, 0.14)) * RATE)) * float(rng.uniform(0.6, 1.2))
    return in_noise(rng, sound + again, RATE, 30)


def cut_short(rng: np.random.Generator) -> Samples:
    """The recorder was stopped 60 to 140 ms after the tap."""
    sound = in_noise(rng, ringing(_parts(rng), RATE, 1.2), RATE, 35)
    return sound[: round(RATE * (0.2 + float(rng.uniform(0.06, 0.14))))]


def muffled(rng: np.random.Generator) -> Samples:
    """A pad lies on the head."""
    parts = _parts(rng)
    for part in parts:
        part.decay = float(rng.uniform(50, 100))
    sound = ringing(parts, RATE, 1.2)
    return sound / np.abs(sound).max() * 0.5 + noise(rng, len(sound), RATE) * 0.0005


def knock(rng: np.random.Generator) -> Samples:
    """Something is put down on the bench."""
    sound = np.zeros(RATE)
    sound[9600:14400] = rng.normal(size=4800) * np.exp(-np.arange(4800) / RATE / 0.01)
    return sound * 0.3 + noise(rng, RATE, RATE) * 0.001


def other_head(rng: np.random.Generator) -> Samples:
    """The other head was left to ring: its first pair lies 125 to 250 cents beside, half as loud or louder."""
    head = random_head(rng)
    aside = float(rng.choice([rng.uniform(0.86, 0.93), rng.uniform(1.075, 1.16)]))
    other = random_head(rng, f11=head.f11 * aside, decay=head.decay, loud=head.loud)
    angle, level = float(rng.uniform(0, 6.28)), float(rng.uniform(0.5, 1.0))
    parts = head.parts((0.85, angle), (0.85, angle))
    for part in other.parts((0.85, angle), (0.85, angle)):
        part.amplitude *= level
        parts.append(part)
    return in_noise(rng, ringing(parts, RATE, 1.2, glide_cents=2), RATE, 35)


BAD: dict[str, tuple[Callable[[np.random.Generator], Samples], str]] = {
    "no tap": (no_tap, "no tap is heard"),
    "a motor": (motor, "a steady hum"),
    "talk": (talk, "speech or noise"),
    "overdriven": (overdriven, "overdriven"),
    "two taps close": (hasty, "too fast"),
    "cut short": (cut_short, "ends too soon"),
    "muffled": (muffled, "take the muffling off"),
    "a knock": (knock, ""),
    "the other head": (other_head, "the other head rings"),
}
"""Name to what makes it, and words of the reason that is wanted."""
