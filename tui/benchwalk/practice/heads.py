"""Both heads of a practice drum as they are: what is hidden in them, what lies on them, and what rings then."""

from __future__ import annotations

import math
from random import Random

from . import film as films
from .film import Film
from .hidden import HEADS, TOP, Hidden
from .hit import HEARD, TAPPED, Part, Spot, struck
from .membrane import heights
from .rim import place
from .ringing import Ring, Tensioned, alone, together
from .rods import SLACK, Rods

DEPTH = 0.14  # m: the shell
FILMS = {"batter": 7.5 * films.MIL, "snare-side": 3 * films.MIL}  # m: what concert snare drums often carry
LOOSE = 0.1  # turns past slack, on the mean: below that a head does not ring
PAD = 60.0  # 1/s that a pad adds to what rings in the head it lies on: illustrative
SNARES = 25.0  # 1/s that snares lying on add to what rings in their head: illustrative
GRAIN_CENTS = 866.0  # between the two notes of a film that pulls by 1 more along and by 1 less across, to first order
BURR_BESIDE = 0.3  # of a burr's cents at the next rods


class Heads:
    """The heads by name in `on`, the pad on one of them or on none, the snares on or off."""

    def __init__(self, rods: int, radius: float, hidden: Hidden, chance: Random) -> None:
        self.rods, self.radius, self.hidden = rods, radius, hidden
        self.pad: str | None = None if hidden.other_free else "snare-side"
        self.snares = False
        self.on = {head: Rods.fitted(*self._truth(head, chance), chance) for head in HEADS}
        self._rings: dict[tuple[str, bool], list[Ring]] = {}

    def _truth(self, head: str, chance: Random) -> tuple[list[float], list[float]]:
        """How far past true slack finger-tight is at each rod of a head, and where each rod bottoms; turns."""
        slack = [chance.uniform(-SLACK, SLACK) for _ in range(self.rods)]
        bottoms = [TOP] * self.rods
        hidden = self.hidden
        if head == hidden.head:
            for rod in range(self.rods):
                at = place(rod + 1, self.rods)
                slack[rod] += hidden.lopsided * math.cos(at - place(hidden.lopsided_rod, self.rods))
                slack[rod] += hidden.oval * math.cos(2 * (at - place(hidden.oval_rod, self.rods)))
        slack = [given - bed for given, bed in zip(slack, self.beds(head), strict=True)]
        if head == hidden.head and hidden.bottom_rod is not None:
            bottoms[hidden.bottom_rod - 1] = hidden.bottoms + slack[hidden.bottom_rod - 1]
        return slack, bottoms

    def beds(self, head: str) -> list[float]:
        """What the snare beds take off the pull at each rod, turns: most at the strainer and across from it."""
        depth = self.hidden.beds if head == "snare-side" else 0.0
        return [depth * math.cos(2 * place(rod + 1, self.rods)) for rod in range(self.rods)]

    def changed(self) -> None:
        """Forget what rang: a rod was turned, the film pressed home or left to rest."""
        self._rings.clear()

    def spot(self, rod: int) -> Spot:
        """Where one taps beside a rod (1..N)."""
        return Spot(TAPPED, place(rod, self.rods))

    def parts(self, head: str, at: Spot, heard: Spot, force: str, finger: Spot | None, rod: int | None) -> list[Part]:
        """What rings after a tap, as the drum lies now; `rod` is the one tapped, if it was beside one."""
        film = self._tensioned(head).film
        belly = float(heights(0.0, 0.0)[0] ** 2 / films.moving(film)[0])
        return self._burred(struck(self._ringing(head), at, heard, self.radius, force, finger, belly), head, rod)

    def note(self, head: str, rod: int) -> float:
        """The rod note in Hz without hand, finger or room, the other head damped; nan for a loose head."""
        at = self.spot(rod)
        rings = [ring for ring in self._still(head) if ring.name in ("(1,1)a", "(1,1)b")]
        pair = struck(rings, at, Spot(HEARD, at.angle), self.radius, "soft", None, 1.0)
        pair = self._burred(pair, head, rod)
        return (
            sum(part.hz * part.amplitude for part in pair) / sum(part.amplitude for part in pair) if pair else math.nan
        )

    def rattles(self) -> bool:
        """Whether the snares lie on and may rattle."""
        return self.snares and self.pad != "snare-side"

    def _tensioned(self, head: str) -> Tensioned:
        split = self.hidden.split / GRAIN_CENTS if head == self.hidden.head else 0.0
        twice = 2 * place(self.hidden.split_rod, self.rods)
        grain = (-split * math.cos(twice), -split * math.sin(twice))
        return Tensioned(Film(FILMS[head], self.radius), self.on[head].pulls(), grain)

    def _still(self, head: str) -> list[Ring]:
        """What rings in a head while the other is damped; nothing in a loose one."""
        if (head, True) not in self._rings:
            tensioned = self._tensioned(head)
            loose = tensioned.pull < LOOSE * tensioned.film.slope
            self._rings[head, True] = [] if loose else alone(tensioned, DEPTH)
        return self._rings[head, True]

    def _ringing(self, head: str) -> list[Ring]:
        """What rings as the drum lies now."""
        other = HEADS[1 - HEADS.index(head)]
        rings = self._still(head)
        if rings and self.pad != other and self._still(other):
            if (head, False) not in self._rings:
                self._rings[head, False] = together(self._tensioned(head), self._tensioned(other).mirrored(), DEPTH)
            rings = self._rings[head, False]
        return [ring._replace(decay=ring.decay + self._held(other if ring.beyond_most else head)) for ring in rings]

    def _held(self, head: str) -> float:
        """How much sooner what rings in a head dies for the pad or the snares on it, 1/s."""
        if self.pad == head:
            return PAD
        return SNARES if self.snares and head == "snare-side" else 0.0

    def _burred(self, parts: list[Part], head: str, rod: int | None) -> list[Part]:
        """The same parts as they sound beside a burr: the first pair stands higher there, half held by it.

        This one thing does not come out of the wave equation: it is put in by hand.
        """
        burr = self.hidden.burr_rod
        if burr is None or rod is None or head != self.hidden.head:
            return parts
        away = min((rod - burr) % self.rods, (burr - rod) % self.rods)
        higher = 2 ** (self.hidden.burr * (1.0, BURR_BESIDE, 0.0)[min(away, 2)] / 1200)
        return [part._replace(hz=part.hz * higher) if part.name.startswith("(1,1)") else part for part in parts]
