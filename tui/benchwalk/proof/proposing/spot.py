"""A stop of a walk at the moment it branches: what its branches ask, which readings that rests on, and which branch
would be taken if something else had been noted."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from ...errors import Misread
from ...procedure.bound import Bound
from ...procedure.linked import Argument
from ...procedure.variables import Variable
from ...walk.phase import fitting
from ...walk.record import understand
from ...walk.state import Entry, Visit, Worked
from ...walk.view import View, entry_value
from ...walk.working import result_of
from ..answers import MISSING, full
from ..flow import flow_of
from ..refine import conditions
from .script import Round, Value
from .trail import Trail


@dataclass(frozen=True)
class Leaf:
    """A reading, or the way chosen, as it was last noted (`back` rounds before that): `at` is its round, `visit` the
    stop, `entries` what was noted by place. `by_rounds` says that a sum takes its rounds, so that only a walk tells
    what another value comes to."""

    name: str
    at: Round
    visit: Visit
    variable: Variable
    entries: Mapping[str | None, Entry]
    only_walked: bool
    optional: bool

    @property
    def text(self) -> Value:
        """What was typed; by place where it has places."""
        texts = {place: MISSING if e.value is None else e.typed for place, e in self.entries.items()}
        return texts[None] if None in texts else {str(place): text for place, text in texts.items()}

    def value(self, place: str | None = None) -> Fraction | str | None:
        """The value as conditions see it; None where it was left out."""
        entry = self.entries.get(place)
        return None if entry is None else entry_value(entry, self.variable.kind)


class Spot:
    """A stop at which a walk branches, as of event `upto`."""

    def __init__(self, trail: Trail, visit: Visit, upto: int) -> None:
        self.trail, self.visit, self.upto = trail, visit, upto
        self.linked = trail.book(visit)
        self.step = self.linked.steps[visit.step]
        self.view = trail.view(visit, upto)
        self.bounds: list[Bound | None] = conditions(flow_of(self.linked), self.step) or []
        self.variables = {a.variable.name: a.variable for bound in self.bounds if bound for a in bound.atoms}

    def sum_of(self, name: str) -> str | None:
        """The sum that gives a name, or is it."""
        head = name.partition(".")[0]
        return head if head in self.linked.procedure.sums else None

    def run_of(self, name: str) -> Round | None:
        """The path and round of the run that came back under the first part of a name; None where none did."""
        result = self.trail.state.result(self.visit.run, name.partition(".")[0], self.upto)
        return None if result is None else self.trail.run_round(result.run)

    def leaf(self, name: str, how: str = "last") -> Leaf | None:
        """The reading of a name; None where it is none, or this walk has not asked it."""
        if name in self.view.given:
            return self._handed_in(name)
        run, path, inner = self.visit.run, self.visit.path, name
        head, dot, part = name.partition(".")
        if dot and head in self.linked.runs:
            result = self.trail.state.result(run, head, self.upto)
            if result is None:
                return None
            run, path, inner = result.run, self.trail.state.begun[result.run].path, part
        variable = self.linked.variables.get(name)
        rounds = self.trail.state.rounds(run, inner, self.upto)
        back = 2 if how == "previous" else 1
        if variable is None or len(rounds) < back:
            return None
        visit = self.trail.state.visits[next(iter(rounds[-back].values())).visit - 1]
        key = full(path, inner)
        number = self.trail.answers.asked_in(key, visit.number)
        told = how == "last" and inner == name
        reading = self.linked.reading(name)
        optional = reading is not None and reading.optional is not None
        return None if number is None else Leaf(name, (key, number), visit, variable, rounds[-back], not told, optional)

    def _handed_in(self, name: str) -> Leaf | None:
        """The reading of the caller that was handed in under a name."""
        frame = self.visit.frames[-1]
        if frame.caller == 0:
            return None
        caller = Spot(self.trail, self.trail.state.visits[frame.caller - 1], self.upto)
        events = {event.event: event.run for event in caller.linked.procedure.whenever}
        run = events.get(frame.event) if frame.back else caller.step.run
        leaf = caller.leaf(run.with_[name]) if run is not None and name in run.with_ else None
        return None if leaf is None else replace(leaf, only_walked=True)

    def leaves(self, names: Iterable[str]) -> list[Leaf]:
        """The readings that these names rest on, through sums and sums of sums."""
        found: dict[Round, Leaf] = {}
        for name in names:
            for argument in self._rests_on(name):
                leaf = self.leaf(argument.name, argument.how)
                if leaf is not None:
                    found.setdefault(leaf.at, leaf)
        return list(found.values())

    def _rests_on(self, name: str) -> Iterator[Argument]:
        known = self.sum_of(name)
        for argument in self.linked.arguments[known].values() if known else (Argument("last", name),):
            if argument.how == "literal":
                continue
            if self.sum_of(argument.name):
                yield from self._rests_on(argument.name)
            else:
                yield argument

    def line_with(self, values: Mapping[str, Value]) -> int | None:
        """The branch that would be taken with these values in place of what was noted."""
        return fitting(self.linked, self.step, Supposed(self, values))


class Supposed(View):
    """What a procedure would see if other values had been noted, the sums that rest on them worked out again."""

    def __init__(self, spot: Spot, values: Mapping[str, Value]) -> None:
        super().__init__(spot.trail.state, spot.linked, spot.visit.run, visit=spot.visit.number, upto=spot.upto)
        self.spot, self.values = spot, values
        self._worked: dict[str, Worked | None] = {}

    def entries(self, name: str) -> dict[str | None, Entry]:
        before, told = super().entries(name), self.values.get(name)
        if told is None:
            return before
        return {p: self._entry(name, e, told if isinstance(told, str) else told[str(p)]) for p, e in before.items()}

    def _entry(self, name: str, entry: Entry, text: str) -> Entry:
        reading = self.linked.procedure.readings.get(name)
        if text == MISSING:
            return replace(entry, value=None, verdict=None)
        if reading is None:  # a way chosen
            return replace(entry, value=text)
        try:
            meant = understand(reading, name, text, self)
        except Misread:
            return entry
        return replace(entry, value=meant.value, verdict=meant.verdict)

    def worked(self, name: str) -> Worked | None:
        if name not in self._worked:
            known = super().worked(name)
            if known is not None and any(leaf.name in self.values for leaf in self.spot.leaves([name])):
                bench = replace(self.spot.trail.bench, assumed=None)
                outputs, why, _ = result_of(bench, name, self, self.spot.visit.path)
                known = replace(known, outputs=outputs, no_result=why)
            self._worked[name] = known
        return self._worked[name]
