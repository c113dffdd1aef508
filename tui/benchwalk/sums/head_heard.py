"""What the notes round a head and the turns given to its rods tell together: its level, its patterns, its stiffness.

The first note tells the mean pull and the pattern of two waves (the oval), the second note the pattern of four. A turn
pattern moves the note pattern of as many waves and no other, so each has one gain, in cents a turn, and the filter
learns the gains from what each round did. To first order the rest is not in the notes at all.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from ..plaindata import Frozen
from .kalman import Belief
from .rim import amount, over, pattern, shapes
from .round_heard import FIRST, SECOND, Reading, Round, readings

CENTS_TIMES_TURNS = 600 / math.log(2)
"""Note goes as the root of the turns up from slack: one turn moves it by this many cents over those turns."""

SHARE, SHARE_SURE, SLACK_SURE = 0.27, 0.15, 0.15
"""What a pattern of turns moves its note pattern by, as a share of the whole head's gain; how sure that is, and how
sure the counted turns from slack are (from finger-tight an eighth to a quarter of a turn), each as a share."""

SLACKEST = 40.0
"""Turns up from slack: more than any rod has thread for."""

LEVEL_PRIOR, PATTERN_PRIOR = 600.0, 60.0
DRIFT, UNTOLD = 0.5, 4.0
"""Cents: what a head creeps between two rounds by itself; the same where no turn was noted between them."""

STRANGE = 6.0
"""Readings that are off what was expected by more than so many times what their doubt explains (squared, in mean)."""

HAND_LEAST, HAND_SHARE = 0.012, 0.1
"""What a hand's turn is off by, one standard deviation: so many turns, and such a share of the turn."""

class Band(Frozen):
    """One pattern that a note tells: its `waves`, and its shape or two at each rod."""

    waves: int
    across: list[list[float]]


class Heard:
    """What is believed of a head of `rods`: level in cents, the amounts of each band in cents, then the gains."""

    def __init__(self, rods: int, slack: float, seconds: bool) -> None:
        self.rods = rods
        self.bands = [Band(waves, shapes(rods, waves)) for waves in ((FIRST, SECOND) if seconds else (FIRST,))]
        self.bands = [band for band in self.bands if band.across]
        self.parts = [(number, shape) for number, band in enumerate(self.bands) for shape in band.across]
        self._first_gain = 1 + len(self.parts)
        whole = CENTS_TIMES_TURNS / slack
        gains = [whole] + [SHARE * whole] * len(self.bands)
        mean = [0.0] * self._first_gain + gains
        cov = [[0.0] * len(mean) for _ in mean]
        cov[0][0] = LEVEL_PRIOR**2
        for part in range(1, self._first_gain):
            cov[part][part] = PATTERN_PRIOR**2
        for one, gain in enumerate(gains):
            for other, second in enumerate(gains):
                own = SHARE_SURE**2 if one == other > 0 else 0.0
                cov[self._first_gain + one][self._first_gain + other] = gain * second * (SLACK_SURE**2 + own)
        self.belief = Belief(mean, cov)

    @property
    def level(self) -> float:
        """Cents over the reference."""
        return self.belief.mean[0]

    @property
    def amounts(self) -> list[float]:
        """Cents of every part of every band, the bands one after the other."""
        return self.belief.mean[1 : self._first_gain]

    def gain(self, part: int | None = None) -> float:
        """Cents a turn: of the whole head, or of one part. What was learned never makes a head softer than one with
        SLACKEST turns from slack, nor a part less than a fifth of what is usual."""
        if part is None:
            return max(self.belief.mean[self._first_gain], CENTS_TIMES_TURNS / SLACKEST)
        return max(self.belief.mean[self._gain_at(part)], SHARE / 5 * self.gain())

    def doubt(self, part: int | None = None) -> float:
        """The variance of that gain."""
        at = self._gain_at(part)
        return self.belief.cov[at][at]

    def unsure(self) -> float:
        """One standard deviation of a spread, in cents, for the least sure part."""
        return 2 * math.sqrt(max(self.belief.cov[part][part] for part in range(1, self._first_gain)))

    def vague(self) -> float:
        """The variance of all parts of the patterns together, in cents squared."""
        return sum(self.belief.cov[part][part] for part in range(1, self._first_gain))

    def spreads(self, amounts: Sequence[float]) -> list[float]:
        """The spread over the rods in each band, in cents, with such amounts."""
        found = []
        for number, band in enumerate(self.bands):
            own = [held for held, (band_of, _) in zip(amounts, self.parts, strict=True) if band_of == number]
            found.append(over(pattern(own, band.across, self.rods)))
        return found

    def hear(self, one: Round) -> None:
        """Take in a round's notes. Where they are far from all that was expected, something was done that nobody noted:
        what was believed of the patterns is given up, what was learned of the gains is kept."""
        heard = [
            (number, readings(notes, band.waves))
            for number, (band, notes) in enumerate(zip(self.bands, (one.first, one.second), strict=False))
            if notes is not None
        ]
        for number, found in heard:
            if self._strange(number, found):
                self.belief.forget(0, LEVEL_PRIOR**2)
                for part in range(1, self._first_gain):
                    self.belief.forget(part, PATTERN_PRIOR**2)
                break
        for number, found in heard:
            for each in found:
                value, variance = self._settled(number, each)
                self.belief.read(self._row(number, each.rod), value, variance)

    def _strange(self, number: int, found: list[Reading]) -> bool:
        off = []
        for each in found:
            expected, doubt = self.belief.expected(self._row(number, each.rod))
            off.append((each.value - expected) ** 2 / (doubt + each.variance))
        return sum(off) > STRANGE * len(off)

    def _settled(self, number: int, each: Reading) -> tuple[float, float]:
        """A reading to believe: of two opposite rods that disagree too much the one that was expected, where that is
        sure enough to tell."""
        expected, doubt = self.belief.expected(self._row(number, each.rod))
        if each.apart and each.apart**2 > 16 * doubt:
            nearer = min((each.value - each.apart / 2, each.value + each.apart / 2), key=lambda v: abs(v - expected))
            return nearer, 2 * each.tap
        return each.value, each.variance

    def _row(self, number: int, rod: int) -> list[float]:
        """What a note beside a rod is made of: for the first note the level too."""
        row = [0.0] * len(self.belief.mean)
        row[0] = 1.0 if number == 0 else 0.0
        for at, (band, shape) in enumerate(self.parts, start=1):
            row[at] = shape[rod] if band == number else 0.0
        return row

    def turn(self, turned: Sequence[float] | None) -> None:
        """What is believed after so much was turned at each rod; None where nothing is noted."""
        if turned is None:
            self._carry([0.0] * self.rods, UNTOLD**2)
        else:
            self._carry(turned, DRIFT**2)

    def _carry(self, turned: Sequence[float], drift: float) -> None:
        size = len(self.belief.mean)
        shift, past = sum(turned) / self.rods, CENTS_TIMES_TURNS / self.gain()
        after = max(past + shift, past / 4)
        thinner = past / after  # the same pattern of turns counts for less where the mean is higher
        matrix = [[0.0] * size for _ in range(size)]
        noise = [0.0] * size
        errors = [hand_error(turns) for turns in turned]
        matrix[0][0] = 1.0
        matrix[0][self._first_gain] = past * math.log(after / past)
        noise[0] = drift + self.gain() ** 2 * sum(errors) / self.rods**2
        for at, (_, shape) in enumerate(self.parts, start=1):
            matrix[at][at] = thinner
            matrix[at][self._gain_at(at - 1)] = thinner * amount(turned, shape)
            noise[at] = drift + self.gain(at - 1) ** 2 * hand_noise(errors, shape)
        for at in range(self._first_gain, size):
            matrix[at][at] = thinner
        self.belief.carry(matrix, noise)

    def _gain_at(self, part: int | None) -> int:
        return self._first_gain + (0 if part is None else 1 + self.parts[part][0])


def hand_error(turns: float) -> float:
    """The variance of a turn that a hand gave; of none where it gave none."""
    return HAND_LEAST**2 + (HAND_SHARE * turns) ** 2 if turns else 0.0


def hand_noise(errors: Sequence[float], shape: Sequence[float]) -> float:
    """The variance that such errors at the rods put into the amount of one shape."""
    whole = sum(s * s for s in shape)
    return sum(error * s * s for error, s in zip(errors, shape, strict=True)) / whole**2
