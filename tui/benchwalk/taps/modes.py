"""Which line of a tap is the wanted note: by the drum's known band, or by the pattern that heads ring in.

Beside a rod with the centre touched the loudest line is often not the first pair. It is the lowest of the loud lines,
and above it lies the second pair: 1.340 times its note for a membrane alone (zeros of J2 and J1, 5.1356 / 3.8317;
DLMF 10.21), up to about 1.5 times for a head that drives much air (Rossing's measured kettle drums: 1.5).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from .spectrum import Peak

LOUD_DB = 14.0
"""The wanted note is at most this far below the loudest line."""
_HIDDEN_DB = 22.0
_CLEAR_DB = 14.0
SECOND = (1.29, 1.55)
"""Where the second pair lies, in notes of the first."""
_THIRD = (1.60, 2.10)
_THIRD_POWER = 1.742
"""Air stretches all ratios alike: log(6.3802 / 3.8317) / log(5.1356 / 3.8317), zeros of J3, J2 and J1."""
_AFTER_SECOND = (1.22, 1.285)
_FAINTEST_PARTNER_DB = 28.0


class Chosen(NamedTuple):
    """The line of the wanted note, its mode as far as it is sure, and the line of the second pair where one is."""

    line: Peak
    mode: str | None
    second: Peak | None
    doubtful: bool = False
    """Whether it looks like the second pair, above a first one that cannot be heard."""


def choose(peaks: Sequence[Peak], band: tuple[float, float] | None, place: str) -> Chosen | None:
    """The wanted note among lines sorted from low to high; None where there is none."""
    loud = [peak for peak in peaks if peak.db >= -LOUD_DB]
    if band is not None:
        within = [peak for peak in peaks if band[0] <= peak.hz <= band[1]]
        if not within:
            return None
        line = max(within, key=lambda peak: peak.db)
        return Chosen(line, _NAMES[place], _partner(peaks, line, SECOND) if place == "rod" else None)
    if not loud:
        return None
    if place == "shell":
        return Chosen(max(loud, key=lambda peak: peak.db), "shell", None)
    if place == "centre":
        return Chosen(loud[0], "(0,1)", None)
    line = _hidden_below(peaks, loud[0]) or loud[0]
    second = _partner(peaks, line, SECOND)
    sure = second is not None or _partner(peaks, line, _THIRD) is not None
    return Chosen(line, "(1,1)" if sure else None, second, _headless(peaks, line))


_NAMES = {"rod": "(1,1)", "centre": "(0,1)", "shell": "shell"}


def _partner(peaks: Sequence[Peak], line: Peak, ratios: tuple[float, float]) -> Peak | None:
    """The loudest line at these ratios above one."""
    found = [peak for peak in peaks if ratios[0] <= peak.hz / line.hz <= ratios[1] and peak.db >= -_FAINTEST_PARTNER_DB]
    return max(found, key=lambda peak: peak.db, default=None)


def _hidden_below(peaks: Sequence[Peak], lowest: Peak) -> Peak | None:
    """A fainter but clear line of which the lowest loud one is the second pair, as the whole pattern bears out."""
    for peak in peaks:
        ratio = lowest.hz / peak.hz
        if peak.above_db < _CLEAR_DB or not SECOND[0] <= ratio <= SECOND[1] - 0.05:
            continue
        third = ratio**_THIRD_POWER
        if peak.db >= -_HIDDEN_DB and _partner(peaks, peak, _THIRD):
            return peak
        if _partner(peaks, peak, (0.96 * third, 1.04 * third)):
            return peak
    return None


def harmonic(peaks: Sequence[Peak], line: Peak) -> bool:
    """Whether all that is heard above a line stands at whole multiples of it, as of a string or a voice and no drum."""
    above = [peak.hz / line.hz for peak in peaks if peak.hz > 1.2 * line.hz and peak.db >= -_FAINTEST_PARTNER_DB]
    whole = {round(ratio) for ratio in above if abs(ratio - round(ratio)) < 0.01 * round(ratio)}
    return {2, 3} <= whole and len(whole) == len(above)


def _headless(peaks: Sequence[Peak], line: Peak) -> bool:
    """Whether a line as loud stands where only the third pair over the second can be: 1.242 times it or a little more.

    Zeros of J3 and J2, 6.3802 / 5.1356; nothing of one head lies there above its first pair.
    """
    return any(_AFTER_SECOND[0] <= peak.hz / line.hz <= _AFTER_SECOND[1] and peak.db >= line.db - 8 for peak in peaks)
