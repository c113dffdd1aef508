"""A hand that walks a procedure on a practice drum: it turns, presses and taps where the steps say so.

What the procedure asks beside that (does the head drop on, is the film smooth) is answered as its own usual example
does. The hand does what it is advised and nothing else, so the walk shows what the procedure itself is worth.
"""

from __future__ import annotations

import math
from fractions import Fraction
from random import Random
from typing import Any

from benchwalk.library import Library
from benchwalk.practice.drum import Drum, across
from benchwalk.procedure.model import Example
from benchwalk.proof.rehearse import Player
from benchwalk.quantities import decimal_text
from benchwalk.sums import compute
from benchwalk.walk import acts
from benchwalk.walk.phase import Now
from benchwalk.walk.view import View

HALF = ("half-one", "half-two")
PRESSES = ("press", "press-again", "press-crease", "press-last")
ALL = {"last-turns": "to_go.turns", "ease": "to_go.turns", "take-again": "back.turns"}
FIXED = {"quarter": Fraction(1, 4), "back-off": Fraction(-1, 2)}
EACH = {"turned": "advice.moves", "levelled": "hoop.turns"}
EIGHTH = 0.125


class Hand(Player):
    """Brings up one head of `drum` to `want` Hz; `scatter` is how far one tap is off, in cents, standard deviation."""

    def __init__(self, drum: Drum, head: str, want: float, *, seed: int = 0, scatter: float = 1.5) -> None:
        given = {"head": head.replace("-", "_"), "want": f"{want:.1f}"}
        example = Example.of({"example": "a drum", "drum": {"rods": str(drum.rods)}, "given": given})
        super().__init__(Library.of().get("bring-up-head"), example, compute)
        self.drum, self.head, self.scatter, self.chance = drum, head, scatter, Random(seed)
        self.order = across(drum.rods)
        self.count, self.taps = Fraction(0), 0
        drum.damp("snare-side" if head == "batter" else "batter")
        drum.snares(False)

    @property
    def outcome(self) -> str | None:
        """How the walk ended."""
        return self.state.ended["outcome"] if self.state.ended else None

    @property
    def found(self) -> set[str]:
        """What it found on the way."""
        return {f.finding for f in self.state.found if self.state.live(f.visit, f.n)}

    @property
    def notes(self) -> list[float]:
        """The true note beside each rod, Hz."""
        return [self.drum.true_note(self.head, rod) for rod in range(1, self.drum.rods + 1)]

    @property
    def spread(self) -> float:
        """From the lowest rod to the highest, in cents."""
        return 1200 * math.log2(max(self.notes) / min(self.notes))

    def answer(self, here: Now) -> acts.Act:
        """Do at the drum what the step says, then answer."""
        step = here.step.step if here.step else ""
        if here.kind == "each" and step in HALF:
            self.turn(int(here.place or 0), Fraction(1, 2))
            self.count += Fraction(1, 2 * self.drum.rods)
        elif here.kind == "do":
            self._do(here, step)
        elif here.kind == "wait":
            self.drum.rest(35)
        elif here.kind == "reading":
            said = self._read(here)
            if said is not None:
                return acts.Record(said, sure=True)
        return super().answer(here)

    def turn(self, rod: int, turns: Fraction) -> None:
        """Turn one rod; to loosen, an eighth further and back up."""
        if turns < 0:
            self.drum.turn(self.head, rod, float(turns) - EIGHTH)
            self.drum.turn(self.head, rod, EIGHTH)
        elif turns:
            self.drum.turn(self.head, rod, float(turns))

    def _do(self, here: Now, step: str) -> None:
        if step in PRESSES:
            self.drum.press(self.head)
        elif step in FIXED or step in ALL:
            turns = FIXED[step] if step in FIXED else self._advised(here, ALL[step])
            self.count += turns
            for rod in self.order:
                self.turn(rod, turns)

    def _read(self, here: Now) -> str | None:
        name, rod = here.name, int(here.place) if here.place and here.place.isdigit() else 1
        hidden = self.drum.hidden if self.drum.hidden.head == self.head else None
        if name in ("pass_note", "rod_one", "rod_note", "left_note"):
            self.taps += 1
            off = self.chance.gauss(0, self.scatter)
            return f"{self.drum.true_note(self.head, rod) * 2 ** (off / 1200):.2f}"
        if name == "turns_at":
            return decimal_text(self.count)
        if name in EACH:
            turns = self._advised(here, EACH[name])[here.place]
            self.turn(rod, turns)
            return decimal_text(turns)
        if name == "depth":
            return f"{self.drum.hoop_depths(self.head)[rod - 1]:.1f}"
        if name == "rod_seen":
            return "fault" if hidden is not None and hidden.burr_rod is not None else "sound"
        if name == "gives_way":
            bottomed = hidden is not None and hidden.bottom_rod is not None and self.count > hidden.bottoms
            return "rod" if bottomed else "nothing"
        return None

    def _advised(self, here: Now, name: str) -> Any:
        assert here.visit is not None and here.linked is not None
        return View(self.state, here.linked, here.visit.run).value(name)


def wanted(drum: Drum, head: str, turns: float) -> float:
    """The note, in Hz, at which a head like this one, with nothing hidden in it, stands after so many turns."""
    plain = Drum(rods=drum.rods, diameter_mm=drum.diameter_mm, seed=drum.seed)
    plain.bring_up(head, turns)
    return sum(plain.true_note(head, rod) for rod in range(1, drum.rods + 1)) / drum.rods
