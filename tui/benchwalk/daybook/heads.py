"""A head's rods as they stand at one stop: what was noted at each, what is asked now, and what is still open."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from ..notes import cents_between
from ..numerals import decimal_text, decimals_of
from ..procedure.linked import Linked
from ..procedure.model import Reading
from ..walk.desk import Bench, view_of
from ..walk.phase import each_places, now, reading_after
from ..walk.state import Entry, State, Visit
from ..walk.view import View, fraction
from ..walk.wording import said_entry
from .ink import Tone

MOST_DECIMALS = 3
_TONES: dict[str, Tone] = {"within": "within", "below": "outside", "above": "outside", "outside": "outside"}


@dataclass(frozen=True)
class Rod:
    """One rod: its number, how it stands, what was noted in words and (where it is one) as a number, the judgement.

    `here`: it is the one in hand, although something was noted of it.
    """

    number: int
    mark: Literal["noted", "now", "open", "left out", "not asked"]
    said: str = ""
    value: Fraction | None = None
    judged: str = ""
    here: bool = False

    @property
    def tone(self) -> Tone:
        """How it stands out."""
        if self.mark == "now":
            return "brass"
        return _TONES.get(self.judged, "plain") if self.mark == "noted" else "quiet"


@dataclass(frozen=True)
class Head:
    """The rods of a head in order, and what their figures are in.

    `sort`: number, note (figures in Hz, differences in cents), words, or done (confirmed only). `decimals` is how many
    every figure is shown with. `from_strainer` says that rod 1 is known to stand beside the strainer.
    """

    rods: tuple[Rod, ...]
    sort: Literal["number", "note", "words", "done"]
    unit: str = ""
    decimals: int = 0
    from_strainer: bool = False

    @property
    def rows(self) -> list[tuple[Rod, Rod | None]]:
        """Each rod with the one opposite, or by itself where the count is odd."""
        half, odd = divmod(len(self.rods), 2)
        if odd:
            return [(rod, None) for rod in self.rods]
        return list(zip(self.rods[:half], self.rods[half:], strict=True))

    def figure(self, value: Fraction, decimals: int | None = None) -> str:
        """A figure with as many decimals as all of them."""
        return decimal_text(value, Fraction(1, 10 ** (self.decimals if decimals is None else decimals)))

    def apart(self) -> list[str]:
        """How far the two of each row lie apart, without the unit; empty where that cannot be said."""
        return [self._apart(*values) if values else "" for values in map(_both, self.rows)]

    def together(self) -> list[str]:
        """What the two of each row make together, their mean, without the unit; empty where that cannot be said."""
        means = [(values[0] + values[1]) / 2 if values else None for values in map(_both, self.rows)]
        fine = Fraction(1, 10**self.decimals)
        finer = self.sort == "number" and any(mean % fine for mean in means if mean is not None)
        return ["" if mean is None else self.figure(mean, self.decimals + finer) for mean in means]

    def _apart(self, one: Fraction, other: Fraction) -> str:
        if self.sort != "note":
            return self.figure(abs(one - other))
        low, high = sorted((one, other))
        return str(round(cents_between(high, low))) if low > 0 else ""


def _both(row: tuple[Rod, Rod | None]) -> tuple[Fraction, Fraction] | None:
    one, other = row
    if other is None or one.value is None or other.value is None:
        return None
    return one.value, other.value


def head(state: State, bench: Bench, visit: Visit, name: str = "") -> Head | None:
    """The rods as they stand at that stop, by the reading of that name, or (no name) by what is confirmed at each.

    None where that is not asked rod by rod, or the count of rods is not known.
    """
    view = view_of(state, visit, bench)
    linked = view.linked
    reading = linked.procedure.readings.get(name) if name else None
    step = linked.steps[visit.step]
    by_rod = reading.by_rod if reading else not name and any(word.startswith("rod") for word in step.each or ())
    if not by_rod or not view.rods:
        return None
    asked = _asked(state, bench, visit, name)
    snares = any("snare" in kind for kind in linked.procedure.for_)
    snares = snares or (reading is not None and reading.head == "snare-side")
    if reading is None:
        places = each_places(step, visit, view)
        return Head(tuple(_confirmed(visit, n, places, asked) for n in _numbers(view)), "done", from_strainer=snares)
    entries = {
        entry.place: entry
        for entry in state.readings.get((visit.run, name), ())
        if entry.visit == visit.number and state.live(entry.visit, entry.n)
    }
    rods = tuple(_noted(entries.get(str(n)), n, reading, asked) for n in _numbers(view))
    if reading.sort not in ("number", "whole", "note"):
        return Head(rods, "words", from_strainer=snares)
    sort: Literal["number", "note"] = "note" if reading.sort == "note" else "number"
    unit = "Hz" if sort == "note" else reading.unit or ""
    return Head(rods, sort, unit, _decimals(linked, name, reading, rods), snares)


def _numbers(view: View) -> range:
    return range(1, view.rods + 1)


def _asked(state: State, bench: Bench, visit: Visit, name: str) -> str | None:
    """The rod that is asked for just now."""
    here = now(state, bench)
    if here.kind == "do" and name:
        here = reading_after(state, here, bench) or here
    if here.visit is None or here.visit.number != visit.number:
        return None
    fits = here.kind == "reading" and here.name == name if name else here.kind == "each"
    return here.place if fits else None


def _confirmed(visit: Visit, number: int, places: list[str], asked: str | None) -> Rod:
    place = str(number)
    if place in visit.confirmed:
        return Rod(number, "noted", "done")
    if place not in places:
        return Rod(number, "not asked")
    return Rod(number, "now" if place == asked else "open")


def _noted(entry: Entry | None, number: int, reading: Reading, asked: str | None) -> Rod:
    if entry is None:
        return Rod(number, "now" if str(number) == asked else "open")
    if entry.value is None:
        return Rod(number, "left out")
    numeric = reading.sort in ("number", "whole", "note")
    value = fraction(entry.value) if numeric else None
    return Rod(number, "noted", said_entry(entry, reading), value, entry.verdict or "")


def _decimals(linked: Linked, name: str, reading: Reading, rods: tuple[Rod, ...]) -> int:
    """As many as the instrument resolves, more where a finer value was typed; for notes one, as they are tempered."""
    variable = linked.variables.get(name)
    resolution = variable.resolution if variable is not None else None
    if reading.sort == "note":
        return decimals_of(resolution) if resolution else 1
    typed = [decimals_of(rod.value) for rod in rods if rod.value is not None]
    return min(MOST_DECIMALS, max([decimals_of(resolution) if resolution else 0, *typed]))
