"""Cuts single taps out of sound as it comes in: each from a little before its stroke to the end of its ring.

It only cuts. Whether that was a tap, and what note it gave, is for `hear` to say.
"""

from __future__ import annotations

import math
from collections import deque

import numpy as np
from numpy.typing import NDArray

from .facts import SILENT_DB

Samples = NDArray[np.int32]  # full scale is the whole range of 32 bits

_HOP_S = 0.005
_BEFORE_S = 0.20  # kept from before a stroke: what the room sounds like
_LONGEST_S = 0.60  # kept from the stroke on
_SHORTEST_S = 0.20  # a stroke sooner than this after another belongs to the same cut, which is then refused
_FADED_S = 0.04  # so long as quiet as before, and the ring has ended
_FLOOR_S = 2.0  # over which the quiet of the room is measured
_SETTLING_S = 0.15  # just after it is opened a microphone may click
_STROKE = 8.0  # times the energy just before (9 dB)
_FADED = 2.5  # times the quiet of the room (4 dB)
_FAINTEST = 1e-7  # of full scale squared (-70 dB): nothing below is a stroke
FULL_SCALE = 2.0**31


class Catcher:
    """Takes samples in as they come (`take`) and gives out each tap once its ring has ended."""

    def __init__(self, rate_hz: int) -> None:
        self.rate_hz = rate_hz
        self._hop = max(1, round(rate_hz * _HOP_S))
        self._rest = np.empty(0, np.int32)  # less than a hop
        self._kept: deque[Samples] = deque(maxlen=_hops(_BEFORE_S + _LONGEST_S) + 1)
        self._energies: deque[float] = deque(maxlen=_hops(_FLOOR_S))
        self._mean = 0.0  # of late: what some sound cards add to every sample
        self._hops = 0
        self._stroke: int | None = None  # the hop in which the tap began that rings now
        self._begin = 0  # no cut reaches back behind this hop
        self._quiet = 0.0

    def take(self, samples: Samples) -> list[Samples]:
        """Take the next samples in; the taps that have ended with them, mostly none."""
        joined = np.concatenate([self._rest, samples])
        whole = len(joined) // self._hop * self._hop
        self._rest = joined[whole:]
        cuts = (self._next(hop) for hop in joined[:whole].reshape(-1, self._hop))
        return [cut for cut in cuts if cut is not None]

    def forget(self) -> bool:
        """Samples were lost here, so no cut may reach over this place; whether a tap was ringing."""
        rang = self._stroke is not None
        self._stroke, self._begin = None, self._hops
        self._rest = self._rest[:0]
        return rang

    def _next(self, hop: Samples) -> Samples | None:
        values = hop / FULL_SCALE
        self._mean += 0.05 * (float(values.mean()) - self._mean) if self._hops else float(values.mean())
        energy = float(np.square(values - self._mean).mean())
        struck = self._is_stroke(energy)
        self._kept.append(hop)
        self._energies.append(energy)
        self._hops += 1
        if self._stroke is None:
            if struck:
                self._quiet = float(np.percentile(self._energies, 20))
                self._stroke = self._hops - 1
            return None
        rung = self._hops - self._stroke
        if struck and rung >= _hops(_SHORTEST_S):
            cut = self._cut(self._hops - 2)  # the new stroke may have begun in the hop before
            self._stroke = self._hops - 1
            return cut
        if rung >= _hops(_LONGEST_S) or (rung >= _hops(_SHORTEST_S) and self._has_faded()):
            cut = self._cut(self._hops)
            self._stroke = None
            return cut
        return None

    def _is_stroke(self, energy: float) -> bool:
        if self._hops < _hops(_SETTLING_S):
            return False
        late = self._energies
        just_before = (late[-6] + late[-5] + late[-4] + late[-3] + late[-2]) / 5
        return energy > max(_FAINTEST, _STROKE * just_before)

    def _has_faded(self) -> bool:
        late = list(self._energies)[-_hops(_FADED_S) :]
        return float(np.mean(late)) < max(_FADED * self._quiet, _FAINTEST / 100)

    def _cut(self, end: int) -> Samples:
        """From a little before the stroke, or from where the cut before ended, up to the hop `end`."""
        assert self._stroke is not None
        first = self._hops - len(self._kept)
        start = max(self._begin, self._stroke - _hops(_BEFORE_S), first)
        self._begin = end
        return np.concatenate([self._kept[n - first] for n in range(start, end)])


def _hops(seconds: float) -> int:
    return round(seconds / _HOP_S)


def peak_db(samples: Samples) -> float:
    """The loudest sample in dB below full scale; `SILENT_DB` for zeros alone."""
    loudest = float(np.abs(samples.astype(np.float64)).max(initial=0.0)) / FULL_SCALE
    return 20 * math.log10(loudest) if loudest else SILENT_DB


def one_channel(data: bytes, channels: int) -> Samples:
    """The samples of a block with 24 bits each, as they are kept; of two channels the mean."""
    samples = np.frombuffer(data, np.int32)
    if channels > 1:
        samples = samples.reshape(-1, channels).mean(axis=1).astype(np.int32)
    return samples & np.int32(-256)
