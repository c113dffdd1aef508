"""What a walk is to be answered, round by round, and what is answered where nobody has said anything."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from math import ceil, floor
from typing import Any

from ...procedure.facts import FACTS
from ...procedure.linked import Linked
from ...procedure.variables import Variable
from ...quantities import Range, decimal_text, parse_range
from ..answers import Answers, Unstated, full
from ..cells import simple_inside

Value = str | dict[str, str]
"""What is typed for a reading, or for each of its places."""

Round = tuple[str, int]
"""A full name, and the number of the visit among those that ask for it: 0 is the first."""


@dataclass(frozen=True)
class Script:
    """What is said otherwise than usual. `given` and `acts` are as in an example, but by round; `assume` says for a sum
    what all its outputs are, or "no result".

    `outcomes` is no answer but an aim: how the run at that path is to end, by the number of the run there.
    """

    given: Mapping[Round, Value] = field(default_factory=dict)
    acts: Mapping[Round, Any] = field(default_factory=dict)
    assume: Mapping[Round, dict[str, Any] | str] = field(default_factory=dict)
    outcomes: Mapping[Round, str] = field(default_factory=dict)
    counts: Mapping[str, int] = field(default_factory=dict)
    drum: Mapping[str, str] = field(default_factory=dict)
    takes: Mapping[str, str] = field(default_factory=dict)

    def over(self, other: Script) -> Script:
        """This script laid over another: what both say, this one says."""
        return Script(*({**getattr(other, name), **getattr(self, name)} for name in _PARTS))


_PARTS = ("given", "acts", "assume", "outcomes", "counts", "drum", "takes")


@dataclass
class Scripted(Answers):
    """Answers of a script, laid over what is usual. `acted` keeps what was done at each step that was asked."""

    script: Script = field(default_factory=Script)
    acted: dict[Round, Any] = field(default_factory=dict)

    def reading(self, path: str, name: str, visit: int, place: str | None) -> str:
        key = full(path, name)
        told = self.script.given.get((key, self.round_of(key, visit)))
        if isinstance(told, dict):
            told = told.get(place or "")
        return super().reading(path, name, visit, place) if told is None else told

    def act(self, path: str, step: str, visit: int) -> Any:
        return self._acted(path, step, visit, super().act)

    def fires(self, path: str, step: str, visit: int) -> Any:
        return self._acted(path, step, visit, super().fires)

    def _acted(self, path: str, step: str, visit: int, usual: Any) -> Any:
        key = step_name(path, step)
        at = (key, self._times(f"act {path}/{step}", visit))
        told = self.script.acts[at] if at in self.script.acts else usual(path, step, visit)
        if told is not None:
            self.acted[at] = told
        return told

    def assumed(self, path: str, name: str, visit: int) -> dict[str, Any] | str | None:
        key = full(path, name)
        told = self.script.assume.get((key, self._times(f"sum {key}", visit)))
        if told is None:
            return super().assumed(path, name, visit)
        if isinstance(told, str):
            return "no result is assumed"
        stated = replace(self, script=Script(), assume={f"{key}.{part}": text for part, text in told.items()})
        return Answers.assumed(stated, path, name, visit)

    def counts(self) -> dict[str, int]:
        return {**super().counts(), **self.script.counts}

    def fact(self, name: str) -> str:
        if name in self.script.drum:
            return self.script.drum[name]
        try:
            return super().fact(name)
        except Unstated:
            return usual_fact(name)

    def round_of(self, name: str, visit: int) -> int:
        """The round of a reading that a visit asks for."""
        return self._times(name, visit)

    def next_round(self, key: str, visit: int) -> int:
        """The round that a visit asks for, or would."""
        asked = self.asked_in(key, visit)
        return sum(1 for k in self.asked if k.startswith(f"{key} at ")) if asked is None else asked

    def asked_in(self, key: str, visit: int) -> int | None:
        """The round that a visit already asked for under a key of `asked`; None where it did not ask."""
        return self.asked.get(f"{key} at {visit}")


def step_name(path: str, step: str) -> str:
    """A step's name as examples write it: `far/knot`."""
    return f"{path}/{step}" if path else step


def usual_fact(name: str) -> str:
    """A fact of the drum that nobody has said: the middle of what is possible, to say it in a round number."""
    fact = FACTS[name]
    if fact.possible is None:
        return "as it is"
    value = inside(parse_range(fact.possible, fact.unit), None, Fraction(1 if fact.kind == "whole" else 50))
    return f"{decimal_text(value)} {fact.unit}".rstrip()


def usual_take(linked: Linked, name: str) -> str:
    """What a procedure takes that nobody has said: the first choice, or any range or number."""
    take = linked.procedure.takes[name]
    if take.choices:
        return next(iter(take.choices))
    return "1 .. 2" if take.range else "1"


def usual_value(variable: Variable, wanted: Range | None) -> str:
    """What is typed for a reading that nobody has said: as wanted where something is, else the middle of what is
    possible. `wanted` is the range it is judged by."""
    if variable.is_choice:
        return variable.wanted[0] if isinstance(variable.wanted, tuple) and variable.wanted else variable.words[0]
    if not variable.is_number:
        return "as it is" if variable.kind == "words" else "on paper, no. 1"
    return typed(inside(variable.possible, wanted, step_of(variable)))


def step_of(variable: Variable) -> Fraction | None:
    """The grid that a number is typed on; None where any will do."""
    return Fraction(1) if variable.kind == "whole" else variable.resolution


def typed(value: Fraction) -> str:
    """A number as it is typed in its reading's own unit."""
    text = decimal_text(value)
    return text if Fraction(text) == value else f"{value.numerator}/{value.denominator}"


def inside(possible: Range | None, wanted: Range | None, step: Fraction | None) -> Fraction:
    """The middle of what is wanted as far as it is possible, else of what is possible, on the grid of `step`."""
    spans = [span for span in (possible, wanted) if span is not None]
    found = spans[0].intersect(spans[1]) if len(spans) == 2 else spans[0] if spans else None
    found = found or possible or Range(Fraction(0), Fraction(2))
    if found.low is None or found.high is None:
        return _one_sided(found, step)
    if found.low == found.high:
        return found.low
    middle = (found.low + found.high) / 2
    for grid in (step, _coarse(middle)):
        value = round(middle / grid) * grid if grid else middle
        if found.contains(value):
            return value
    return simple_inside(found.low, found.high)


def _coarse(value: Fraction) -> Fraction:
    """The grid on which a number has two digits that count."""
    digits = 0
    while abs(value) >= 100 * Fraction(10) ** digits:
        digits += 1
    while 0 < abs(value) < 10 * Fraction(10) ** digits:
        digits -= 1
    return Fraction(10) ** digits


def _one_sided(found: Range, step: Fraction | None) -> Fraction:
    step = step or Fraction(1)
    if found.low is not None:
        value = ceil(found.low / step) * step
        return value if found.contains(value) else value + step
    if found.high is not None:
        value = floor(found.high / step) * step
        return value if found.contains(value) else value - step
    return Fraction(0)
