"""A practice drum: two heads with hidden truths, turned, pressed, damped and tapped as at the bench.

The same seed and the same acts make the same drum, noise and the hand's slips included; `Drum.state` is plain data.
`docs/practice-drum.md` says what the model has and what it lacks.
"""

from __future__ import annotations

import math
from operator import index
from random import Random
from typing import Any, Self, SupportsIndex

from ..errors import Refused, UsageError
from ..procedure.showing import shortened
from ..quantities import shown
from .film import THREAD
from .heads import Heads
from .hidden import HEADS, TOP, Hidden, hidden_of, hide, told
from .hit import HEARD, LEVEL, Hit, Spot, hit_of
from .rods import Rods
from .values import count, number, yes

RODS = range(5, 13)
MICS = ("over", "fixed")
DIAMETERS_MM = (150, 700)
BUZZ = 0.15  # how loud snares rattle beside a tap: illustrative
LIP_MM = 12.0  # from the hoop's lip down to the film at true slack; a shop's own drum has its own
# What a hand misses when it taps, standard deviations: shares of the radius, and radians.
TAP_OUT, TAP_ALONG, MIC_OUT, MIC_ALONG, FINGER_OUT = 0.02, 0.03, 0.02, 0.04, 0.03
GAUGE_MM = 0.03


class Drum:
    """A drum on the bench, batter up on a pad: the snare-side head is damped until the pad is laid elsewhere.

    Heads are "batter" and "snare-side"; rods count from 1, from the strainer. Every act raises UsageError for a head or
    rod that is not there. `hidden` without anything still has snare beds, and slack that differs from rod to rod.
    """

    heads = HEADS

    def __init__(self, *, rods: int, diameter_mm: float = 356, hidden: Hidden | None = None, seed: int = 0) -> None:
        _checked(rods, diameter_mm)
        self.rods, self.diameter_mm, self.seed, self.hidden = rods, diameter_mm, seed, hidden or Hidden()
        _head(self.hidden.head)
        hides = self.hidden
        for rod in (hides.lopsided_rod, hides.oval_rod, hides.split_rod, hides.burr_rod, hides.bottom_rod):
            if rod is not None:
                self._rod(rod)
        self._acts = 0
        self._heads = Heads(rods, diameter_mm / 2000, self.hidden, Random(f"{seed}/made"))

    # --- the hands ---

    def turn(self, head: str, rod: int, turns: float) -> None:
        """Turn one rod; above nought tightens. Part of it arrives at the film, the rest when the head is pressed."""
        on, at = self._on(head), self._rod(rod) - 1
        if not abs(turns) <= TOP:
            raise UsageError(f"a rod is turned by {-TOP:g} to {TOP:g} turns at a time, not {turns}")
        if turns:
            on.turn(at, float(turns), self._chance())
            self._heads.changed()

    def press(self, head: str) -> None:
        """Press the film home with the palm, so that what was turned arrives."""
        self._on(head).press(self._chance())
        self._heads.changed()

    def pressed(self, head: str) -> bool:
        """Whether the head was pressed home after the last turn that moved it."""
        return self._on(head).pressed

    def rest(self, minutes: float) -> None:
        """Leave the drum alone for some minutes: both heads drop a little."""
        if not 0 <= minutes < math.inf:
            raise UsageError(f"a drum rests for nought or more minutes, not {minutes}")
        for head in HEADS:
            self._on(head).rest(minutes)
        self._heads.changed()

    def bring_up(self, head: str, turns: float) -> None:
        """Turn every rod by `turns` in passes of half a turn, across and across, pressing home after each pass."""
        passes = max(1, math.ceil(abs(turns) / 0.5)) if abs(turns) <= TOP else 1
        for _ in range(passes):
            for rod in across(self.rods):
                self.turn(head, rod, turns / passes)
            self.press(head)

    def damp(self, head: str, damped: bool = True) -> None:
        """Lay the pad on this head, or take it off. There is one pad: laid here, it is gone from the other head."""
        _head(head)
        if damped:
            self._heads.pad = head
        elif self._heads.pad == head:
            self._heads.pad = None

    def damped(self, head: str) -> bool:
        """Whether the pad lies on this head."""
        return self._heads.pad == _head(head)

    def snares(self, on: bool) -> None:
        """Put the snares on the snare-side head, or take them off."""
        self._heads.snares = on

    def tap(
        self, head: str, place: int | str, mic: str = "over", force: str = "soft", centre_touched: bool = True
    ) -> Hit:
        """Tap beside a rod (1..N), with a finger on the middle unless told otherwise, or in the "centre".

        `mic` "over" hangs over the place tapped, "fixed" over rod 1 whatever is tapped; `force` is "soft" or "hard".
        The hand lands near the place, not on it.
        """
        _head(head)
        for given, known, what in ((mic, MICS, "microphone"), (force, tuple(LEVEL), "force")):
            if given not in known:
                raise UsageError(f"{what} is {' or '.join(known)}, not {shown(str(given))}")
        rod = self._tapped(place)
        aim = self._heads.spot(rod) if rod else Spot(0.0, 0.0)
        over = self._heads.spot(1) if mic == "fixed" else aim
        chance = self._chance()
        at = _missed(aim, TAP_OUT, TAP_ALONG, chance)
        heard = _missed(over._replace(radius=over.radius and HEARD), MIC_OUT, MIC_ALONG, chance)
        finger = Spot(abs(chance.gauss(0, FINGER_OUT)), chance.uniform(0, math.tau))
        parts = self._heads.parts(head, at, heard, force, finger if centre_touched and rod else None, rod)
        return hit_of(parts, force, BUZZ if self._heads.rattles() else 0.0, chance)

    # --- what a gauge and the person's own count say ---

    def hoop_depths(self, head: str) -> list[float]:
        """What a depth gauge reads beside each rod from the hoop's lip to the film, mm, to within some 0.03 mm."""
        on, chance = self._on(head), self._chance()
        level = [drawn + bed for drawn, bed in zip(on.arrived, self._heads.beds(head), strict=True)]
        return [LIP_MM - THREAD * 1000 * travel + chance.gauss(0, GAUGE_MM) for travel in level]

    def counted(self, head: str) -> list[float]:
        """The turns of each rod from finger-tight, as the person gave them."""
        return list(self._on(head).counted)

    # --- the truth, for tests and for the end ---

    def true_note(self, head: str, rod: int) -> float:
        """The rod note in Hz as a perfect hand would read it, the other head damped: the first pair, by loudness.

        nan for a head too loose to ring.
        """
        return self._heads.note(_head(head), self._rod(rod))

    def tension(self, head: str) -> list[float]:
        """The pull at each rod against the mean of all (1 = as the mean); all nought for a head without pull."""
        pulls = [max(pull, 0.0) for pull in self._on(head).pulls()]
        mean = sum(pulls) / len(pulls)
        return [pull / mean if mean else 0.0 for pull in pulls]

    def turns_up(self, head: str) -> float:
        """How many turns past true slack the head is, on the mean of its rods."""
        return sum(self._on(head).pulls()) / self.rods

    def told(self) -> list[str]:
        """What was hidden, in plain sentences."""
        apart = {head: max(self._on(head).slack) - min(self._on(head).slack) for head in HEADS}
        return told(self.hidden, apart, self.rods)

    # --- kept ---

    def state(self) -> dict[str, Any]:
        """The whole drum as plain data, for `from_state`."""
        return {
            "rods": self.rods,
            "diameter_mm": self.diameter_mm,
            "seed": self.seed,
            "acts": self._acts,
            "pad": self._heads.pad,
            "snares": self._heads.snares,
            "hidden": dict(vars(self.hidden)),
            "heads": {head: self._on(head).state() for head in HEADS},
        }

    @classmethod
    def from_state(cls, state: dict[str, Any]) -> Self:
        """The drum of a state. Raises Refused where it is not one."""
        try:
            hidden = hidden_of(state["hidden"])
            rods, across_mm, seed = count(state["rods"]), number(state["diameter_mm"]), count(state["seed"])
            drum = cls(rods=rods, diameter_mm=across_mm, hidden=hidden, seed=seed)
            drum._acts = count(state["acts"])
            if state["pad"] is not None:
                drum.damp(state["pad"])
            else:
                drum._heads.pad = None
            drum._heads.snares = yes(state["snares"])
            drum._heads.on = {head: Rods.of(state["heads"][head], drum.rods) for head in HEADS}
        except (KeyError, TypeError, ValueError, AttributeError, UsageError) as error:
            raise Refused(f"this is not the state of a practice drum: {shortened(str(error), 80)}") from error
        return drum

    # --- within ---

    def _chance(self) -> Random:
        """Chance for one act: the same for the same seed and the same number of acts before it."""
        self._acts += 1
        return Random(f"{self.seed}/{self._acts}")

    def _on(self, head: str) -> Rods:
        return self._heads.on[_head(head)]

    def _rod(self, rod: int) -> int:
        if not isinstance(rod, SupportsIndex) or not 1 <= index(rod) <= self.rods:
            raise UsageError(f"this drum has rods 1 to {self.rods}, not {shown(str(rod))}")
        return index(rod)

    def _tapped(self, place: int | str) -> int | None:
        """The rod tapped beside; None for the middle."""
        if not isinstance(place, str):
            return self._rod(place)
        if place != "centre":
            raise UsageError(f"a tap goes beside a rod, 1 to {self.rods}, or to the 'centre', not {shown(place)}")
        return None


def across(rods: int) -> list[int]:
    """The rods in the order a hand goes: opposite pairs; on an odd drum always to one of the two nearest across."""
    if rods % 2:
        return [(n * (rods // 2)) % rods + 1 for n in range(rods)]
    half = rods // 2
    return [rod for first in range(1, half + 1) for rod in (first, first + half)]


def random_drum(*, rods: int, diameter_mm: float = 356, seed: int, level: str = "plain") -> Drum:
    """A drum at finger-tight whose hidden faults come of the seed.

    Level "even" hides none of them, "plain" one, "hard" three. Raises UsageError for what cannot be had.
    """
    _checked(rods, diameter_mm)
    return Drum(rods=rods, diameter_mm=diameter_mm, hidden=hide(rods, level, Random(f"{seed}/hidden")), seed=seed)


def _checked(rods: int, diameter_mm: float) -> None:
    if rods not in RODS:
        raise UsageError(f"a practice drum has {RODS[0]} to {RODS[-1]} rods, not {rods}")
    if not DIAMETERS_MM[0] <= diameter_mm <= DIAMETERS_MM[1]:
        low, high = DIAMETERS_MM
        raise UsageError(f"a practice drum is {low} to {high} mm across, not {diameter_mm:g} mm")


def _head(head: str) -> str:
    if head not in HEADS:
        raise UsageError(f"the heads are {' and '.join(HEADS)}, not {shown(str(head))}")
    return head


def _missed(aim: Spot, out: float, along: float, chance: Random) -> Spot:
    """Where a hand that aims there lands."""
    return Spot(abs(aim.radius + chance.gauss(0, out)), aim.angle + chance.gauss(0, along))
