"""The rods of one head: what the key does, and what of it the film feels.

Three things stand between a counted turn and the pull of the film, all sized by common practice, with no published
source: the hand turns a little more or less than it meant; a rod that changes direction first takes up its backlash;
and the film sticks on the bearing edge, so that only part of a turn arrives until the head is pressed home. A film at
rest under pull creeps: it gives a few hundredths in the first hour.
"""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from random import Random
from typing import Any

from .values import number, yes

HAND = (1 / 100, 1 / 40)  # what a hand misses: turns whatever the turn, and as a share of it (standard deviations)
BACKLASH = (1 / 50, 1 / 16)  # turns, from the best rod to the worst
ARRIVES = {True: (0.55, 0.85), False: (0.35, 0.65)}  # of a turn, before pressing: tightened, loosened
HELD_BACK = 0.04  # of what had not arrived, at most this still sticks after pressing
SLACK = 1 / 5  # turns: finger-tight is this far from true slack at most, either way
CREEP, CREEP_MINUTES = 0.03, 25.0  # of the pull, in the end; and how soon

_LISTS = ("counted", "screw", "drawn", "arrived", "crept", "slack", "backlash", "bottoms")


@dataclass
class Rods:
    """What is true of each rod of one head; all in turns.

    `counted` as the person gave them, from finger-tight; `screw` where the rod is; `drawn` where the hoop would be,
    backlash taken up; `arrived` what the film feels; `crept` what it has lost by resting; `slack` how far past true
    slack finger-tight was, hidden patterns included; `backlash`; `bottoms` where a rod ends, past true slack.
    """

    counted: list[float]
    screw: list[float]
    drawn: list[float]
    arrived: list[float]
    crept: list[float]
    slack: list[float]
    backlash: list[float]
    bottoms: list[float]
    pressed: bool = True

    @classmethod
    def fitted(cls, slack: list[float], bottoms: list[float], chance: Random) -> Rods:
        """Rods as they are when each was turned finger-tight, on a head of these hidden truths."""
        none = [0.0] * len(slack)
        backlash = [chance.uniform(*BACKLASH) for _ in slack]
        return cls(none[:], none[:], slack[:], slack[:], none[:], slack[:], backlash, bottoms)

    def turn(self, rod: int, turns: float, chance: Random) -> None:
        """Turn rod number `rod` (from 0) by about `turns`; part of it arrives."""
        self.counted[rod] += turns
        self.screw[rod] += turns + chance.gauss(0, HAND[0]) + turns * chance.gauss(0, HAND[1])
        at = self.screw[rod] + self.slack[rod]
        before = self.drawn[rod]
        # The nut lies against one side of the thread: it follows at once one way, after the backlash the other.
        self.drawn[rod] = max(at, before) if turns > 0 else min(at + self.backlash[rod], before)
        self.drawn[rod] = min(self.drawn[rod], self.bottoms[rod])
        moved = self.drawn[rod] - before
        self.arrived[rod] += moved * chance.uniform(*ARRIVES[turns > 0])
        self.pressed = self.pressed and moved == 0

    def press(self, chance: Random) -> None:
        """Press the film home: nearly all of what was turned arrives."""
        for rod, wanted in enumerate(self.drawn):
            self.arrived[rod] = wanted - (wanted - self.arrived[rod]) * chance.uniform(0, HELD_BACK)
        self.pressed = True

    def rest(self, minutes: float) -> None:
        """Leave the head in peace: the film creeps under its pull, most in the first hour."""
        share = 1 - math.exp(-minutes / CREEP_MINUTES)
        for rod, arrived in enumerate(self.arrived):
            self.crept[rod] += max(CREEP * arrived - self.crept[rod], 0.0) * share

    def pulls(self) -> list[float]:
        """The pull at each rod as turns past true slack; below nought where a rod is still loose."""
        return [arrived - crept for arrived, crept in zip(self.arrived, self.crept, strict=True)]

    @classmethod
    def of(cls, state: dict[str, Any], rods: int) -> Rods:
        """The rods of a state. Raises KeyError, TypeError or ValueError where it is none, or not of so many rods."""
        lists = {name: [number(value) for value in state[name]] for name in _LISTS}
        wrong = next((name for name, values in lists.items() if len(values) != rods), None)
        if wrong is not None:
            raise ValueError(f"'{wrong}' does not hold {rods} numbers")
        return cls(**lists, pressed=yes(state["pressed"]))

    def state(self) -> dict[str, Any]:
        """All of it as plain data."""
        return asdict(self)
