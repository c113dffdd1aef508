"""What is known of a recording and of a tap in it, as plain data."""

from __future__ import annotations

from dataclasses import field
from functools import cached_property
from typing import TYPE_CHECKING

from ..plaindata import Frozen

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

PLACES = ("rod", "centre", "shell")


class Sound(Frozen):
    """A recording: one channel, full scale 1.0, `rate` in samples a second."""

    samples: NDArray[np.float64]
    rate: int

    @cached_property
    def ends(self) -> tuple[float, float]:
        """The highest and the lowest sample; zeros where there is none."""
        return (float(self.samples.max()), float(self.samples.min())) if len(self.samples) else (0.0, 0.0)


class Tap(Frozen):
    """One tap.

    `at_s` is when, from the start of the recording. `pitch_hz` is the note; beside a rod the mean of the parts of the
    first pair, weighted by amplitude. `uncertainty_cents` covers about 95 %. `mode` is `(1,1)` beside a rod, `(0,1)`
    for the open note, `shell`; None where the recording does not show which it is. `split_hz` is how far the pair is
    apart, `second_hz` the note of the second pair, each None where none was heard. `decay_per_s` is d of exp(-d t);
    `snr_db` how far the note stands above the noise in its band. `rings` (centre Hz of a third octave to seconds for
    60 dB, or None) and `levels` (to dB below the loudest) are None unless they were asked for.
    """

    at_s: float
    pitch_hz: float
    uncertainty_cents: float
    mode: str | None
    split_hz: float | None
    second_hz: float | None
    decay_per_s: float
    snr_db: float
    rings: dict[float, float | None] | None = None
    levels: dict[float, float] | None = None


class LeftOut(Frozen):
    """A tap that was heard and gives no note: when, and why with what to do."""

    at_s: float
    why: str


class Heard(Frozen):
    """What a recording gave: its taps; `refused` says why there is none and what to do about it.

    `left_out` are taps of a recording that gave others.
    """

    taps: list[Tap]
    refused: str | None
    left_out: list[LeftOut] = field(default_factory=list)


class Together(Frozen):
    """Several taps at one place as one note; `uncertainty_cents` covers about 95 %, `count` says of how many."""

    pitch_hz: float
    uncertainty_cents: float
    count: int
