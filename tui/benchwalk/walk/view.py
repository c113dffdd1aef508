"""What a procedure can see of its job: the values of names as the log has them, at a moment.

Conditions, texts, sums and sign-offs all look through the same view, so that they agree on what a name is.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from functools import lru_cache
from typing import Any

from ..errors import Misread
from ..plaindata import changed
from ..procedure.linked import BESIDE_A_NOTE, Linked
from ..quantities import HeardNote, Range, parse_heard
from .figures import exact
from .state import Entry, State, Worked

Value = Fraction | str | None


@lru_cache(maxsize=8192)
def fraction(text: str) -> Fraction:
    """Decimal text (or p/q) as an exact number."""
    return Fraction(text)


def range_from(data: Mapping[str, Any]) -> Range:
    """A range from what events carry: {low, high}, either of them null where there is none."""
    low = fraction(data["low"]) if data["low"] is not None else None
    high = fraction(data["high"]) if data["high"] is not None else None
    return Range(low, high, data.get("low_open", False), data.get("high_open", False))


class View:
    """The values of one run's names, now or (`upto`) as of an event; `visit` is where a hold is asked about."""

    def __init__(
        self,
        state: State,
        linked: Linked,
        run: int,
        *,
        visit: int = 0,
        upto: int | None = None,
    ) -> None:
        self.state = state
        self.linked = linked
        self.run = run
        self.given: Mapping[str, Any] = state.given.get(run, {})
        self.visit = visit
        self.upto = upto

    # --- what conditions ask ---

    def value(self, name: str) -> Value | dict[str, Value]:
        """The value in the variable's unit, or place -> value, or None where it is missing."""
        if name == "hold":
            hold = self.state.visits[self.visit - 1].hold if self.visit else None
            return "released" if hold == "not needed" else hold
        if name in self.given:
            return _given(self.given[name])
        head, _, part = name.partition(".")
        if head == "drum":
            return self._fact(part)
        if head in self.linked.procedure.sums:
            return self._sum(head, part)
        if part and head in self.linked.runs:
            if part == "outcome":
                result = self.state.result(self.run, head, self.upto)
                return result.outcome if result else None
            return self._placed(self._inside(head, part), name)
        return self._placed(self.entries(name), name)

    def verdict(self, name: str, place: str | None = None) -> str | None:
        """below, within or above (for choices within or outside) what was wanted when it was noted."""
        entry = self.entries(name).get(place)
        return entry.verdict if entry is not None and entry.value is not None else None

    # --- where values come from ---

    def entries(self, name: str) -> dict[str | None, Entry]:
        """The latest round of a reading that still counts, by place; empty where there is none."""
        head, dot, part = name.partition(".")
        if dot and head in self.linked.runs:
            return self._inside(head, part)
        rounds = self.rounds(name)
        return rounds[-1] if rounds else {}

    def rounds(self, name: str) -> list[dict[str | None, Entry]]:
        """All rounds of a reading (or of what was heard beside a note) that still count, oldest first, by place."""
        head, dot, part = name.rpartition(".")
        if not dot or part not in BESIDE_A_NOTE:
            return self.state.rounds(self.run, name, self.upto)
        notes = self.state.rounds(self.run, head, self.upto)
        return [{place: _beside(entry, part) for place, entry in entries.items()} for entries in notes]

    def sources(self, name: str) -> list[int]:
        """The events a name's value rests on."""
        if name == "hold":
            return [s.n for s in self.state.signs if s.visit == self.visit and self.state.live(s.visit, s.n)]
        if name in self.given:
            return list(self.given[name].get("sources", []))
        head, dot, part = name.partition(".")
        if head == "drum":
            return [self.state.facts[part].n] if part in self.state.facts else []
        if head in self.linked.procedure.sums:
            worked = self.worked(head)
            return [worked.n] if worked else []
        if dot and part == "outcome":
            result = self.state.result(self.run, head, self.upto)
            return [result.n] if result else []
        return [e.n for e in self.entries(name).values()]

    def worked(self, name: str) -> Worked | None:
        """The sum's latest working out."""
        return self.state.last(self.run, name, self.upto)

    def _inside(self, head: str, part: str) -> dict[str | None, Entry]:
        result = self.state.result(self.run, head, self.upto)
        if result is None:
            return {}
        inner = View(self.state, self.linked.runs[head], result.run, upto=self.upto)
        return inner.entries(part)

    def _placed(self, entries: dict[str | None, Entry], name: str) -> Value | dict[str, Value]:
        if None in entries:
            return entry_value(entries[None], self._kind(name))
        if not entries:
            return None
        kind = self._kind(name)
        return {place: entry_value(e, kind) for place, e in entries.items() if place is not None}

    def _kind(self, name: str) -> str:
        variable = self.linked.variable(name)
        return variable.kind if variable is not None else "words"

    def _fact(self, name: str) -> Value:
        if name in self.state.facts:
            entry = self.state.facts[name]
            return entry_value(entry, "number" if self._number_fact(name) else "words")
        known = self.state.drum.get(name)
        if known is None or known.get("value") is None:
            return None
        return fraction(known["value"]) if self._number_fact(name) else str(known["value"])

    def _number_fact(self, name: str) -> bool:
        variable = self.linked.variables.get(f"drum.{name}")
        return variable is not None and variable.is_number

    def _sum(self, name: str, part: str) -> Value | dict[str, Value]:
        worked = self.worked(name)
        if worked is None or worked.no_result is not None:
            return None
        if not part:
            return "worked"
        output = worked.outputs.get(part)
        if output is None:
            return None
        if isinstance(output, dict):
            if "low" in output:
                return "range"
            return {k: fraction(v) if v is not None else None for k, v in output.items()}
        variable = self.linked.variables.get(f"{name}.{part}")
        return fraction(output) if variable is not None and variable.is_number else str(output)

    def range(self, name: str) -> tuple[Range, list[int]] | None:
        """A sum's range (or one handed in by the caller) with the events it rests on; None where there is none."""
        if name in self.given:
            data = self.given[name]
            if data.get("range") is None:
                return None
            return range_from(data["range"]), list(data.get("sources", []))
        head, _, part = name.partition(".")
        worked = self.worked(head)
        if worked is None or worked.no_result is not None or worked.outputs.get(part) is None:
            return None
        return range_from(worked.outputs[part]), [worked.n]

    @property
    def rods(self) -> int:
        """How many rods the drum's head has; 0 where that is not known."""
        value = self._fact("rods") if "drum.rods" in self.linked.variables else None
        return int(value) if isinstance(value, Fraction) else 0


def _given(data: Mapping[str, Any]) -> Value:
    if data.get("choice") is not None:
        return str(data["choice"])
    if data.get("range") is not None:
        return "range"
    return fraction(data["value"]) if data.get("value") is not None else None


def _beside(note: Entry, part: str) -> Entry:
    """What was heard beside a note, as an entry of its own; without a value where nothing was said of it."""
    heard = heard_of(note)
    found = None if heard is None else heard.second if part == "second" else heard.sure
    value = None if found is None else exact(found)
    return changed(note, value=value, typed=value or "", unit=BESIDE_A_NOTE[part], verdict=None, by=None, against=None)


def heard_of(note: Entry) -> HeardNote | None:
    """What was said of a note beside its pitch; None where it was left out, or told by ear."""
    try:
        return parse_heard(note.typed) if note.value is not None else None
    except Misread:
        return None


def entry_value(entry: Entry, kind: str) -> Value:
    """An entry's value as conditions see it."""
    if entry.value is None:
        return None
    return fraction(entry.value) if kind in ("number", "whole", "note") else entry.value
