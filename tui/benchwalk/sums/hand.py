"""Which rods to turn, and how far, in steps that a hand can do: the best of the moves near the wanted ones.

Steps are sixteenths of a turn. Opposite rods move alike, since no note tells one from the other; only where that is too
coarse for the last cents does one rod of a pair get a sixteenth more than its opposite.
"""

from __future__ import annotations

from collections.abc import Sequence

from .head_heard import Heard, hand_error, hand_noise
from .rim import amount

STEPS = 16
"""The smallest move is 1/16 turn: less is left as it is."""

AT_ONCE = 0.5
"""Turns: the most a rod is turned at once."""

LEVEL_WEIGHT, KEEP_WEIGHT = 0.1, 0.02
"""What a squared cent off the wanted note counts beside one of unevenness; and one off a note nobody wants moved."""


TIGHTEN = 2.0
"""Squared cents for each turn of the mean: of two moves as good as each other, the one that tightens."""

SECOND_WEIGHT = 0.25
"""What a squared cent of the second note's unevenness counts beside one of the first, by which a head is judged."""


class Search:
    """The moves for a head as it is believed to be. `lift` is the mean turn that would bring it to the wanted note."""

    def __init__(self, heard: Heard, slack_now: float, lift: float | None) -> None:
        self.heard = heard
        rods = heard.rods
        self.pairs = rods % 2 == 0
        self.slots = rods // 2 if self.pairs else rods
        self.down = int(STEPS * min(AT_ONCE, slack_now / 2))
        self.up = max(1, self.down)
        self.lift = max(-AT_ONCE, min(AT_ONCE, lift)) if lift is not None else 0.0
        self.weight = LEVEL_WEIGHT if lift is not None else KEEP_WEIGHT
        shapes = [shape for _, shape in heard.parts]
        self.shapes = shapes
        self.tells = [[amount(self.turns(self._one(slot)), shape) for shape in shapes] for slot in range(self.slots)]

    def _one(self, slot: int) -> list[int]:
        return [STEPS * self._rods_a_slot * (other == slot) for other in range(self.slots)]

    @property
    def _rods_a_slot(self) -> int:
        return 2 if self.pairs else 1

    def turns(self, steps: Sequence[int]) -> list[float]:
        """The mean turn of each rod's slot, for steps given to each slot (a pair's two rods together)."""
        each = [step / (STEPS * self._rods_a_slot) for step in steps]
        return each * self._rods_a_slot

    def amounts_after(self, turns: Sequence[float]) -> list[float]:
        """Every part of the patterns after such turns, in cents."""
        return [
            held + self.heard.gain(part) * amount(turns, shape)
            for part, (held, shape) in enumerate(zip(self.heard.amounts, self.shapes, strict=True))
        ]

    def cost(self, steps: Sequence[int]) -> float:
        """What such steps leave, in cents squared: patterns, doubt of the gains, the hand's error, the level."""
        turns = self.turns(steps)
        errors = [hand_error(each) for each in turns]
        mean = sum(turns) / len(turns)
        found = self.weight * (self.heard.gain() * (mean - self.lift)) ** 2 - TIGHTEN * mean
        for part, shape in enumerate(self.shapes):
            told = sum(step * tells[part] for step, tells in zip(steps, self.tells, strict=True))
            told /= STEPS * self._rods_a_slot
            gain = self.heard.gain(part)
            left = (self.heard.amounts[part] + gain * told) ** 2 + self.heard.doubt(part) * told * told
            weight = SECOND_WEIGHT if self.heard.parts[part][0] else 1.0
            found += weight * (left + gain**2 * hand_noise(errors, shape))
        return found

    def best(self, step: int) -> list[int]:
        """The steps with the least cost that can be reached from the wanted ones, one or two slots at a time."""
        steps = [self._held(round(wanted / step) * step) for wanted in self._wanted()]
        least = self.cost(steps)
        while True:
            options = [(self.cost(near), number, near) for number, near in enumerate(self._near(steps, step))]
            cost, _, near = min(options)
            if cost >= least - 1e-9:
                still = [0] * self.slots
                return still if self.cost(still) <= least else steps
            steps, least = near, cost

    def _wanted(self) -> list[float]:
        """Steps for each slot as if the hand could do any, the less the gain is known."""
        turns = [self.lift] * self.heard.rods
        for part, shape in enumerate(self.shapes):
            gain = self.heard.gain(part)
            much = -self.heard.amounts[part] * gain / (gain * gain + self.heard.doubt(part))
            turns = [turn + much * s for turn, s in zip(turns, shape, strict=True)]
        return [STEPS * self._rods_a_slot * turns[slot] for slot in range(self.slots)]

    def _held(self, steps: int) -> int:
        return max(-self.down * self._rods_a_slot, min(self.up * self._rods_a_slot, steps))

    def _near(self, steps: list[int], step: int) -> list[list[int]]:
        found = []
        for slot in range(self.slots):
            for one in (-step, step):
                changed = steps.copy()
                changed[slot] = self._held(changed[slot] + one)
                found.append(changed)
                for second in range(slot + 1, self.slots):
                    for other in (-step, step):
                        both = changed.copy()
                        both[second] = self._held(both[second] + other)
                        found.append(both)
        return found


def to_rods(steps: Sequence[int], rods: int, counted: Sequence[float], lower: Sequence[float]) -> list[int]:
    """Sixteenths for each rod from those of each slot: of a pair with an odd sixteenth the rod gets it that was turned
    less so far (`counted`), or, where both were turned alike, the one with the lower note (`lower`)."""
    if rods % 2:
        return list(steps)
    half = rods // 2
    found = [0] * rods
    for slot, step in enumerate(steps):
        low, odd = divmod(step, 2)
        found[slot] = found[slot + half] = low
        if odd:
            behind = (counted[slot], lower[slot]) <= (counted[slot + half], lower[slot + half])
            found[slot if behind else slot + half] += 1
    return found
