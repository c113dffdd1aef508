"""Walking a small procedure through whole: every answer that can be told apart, at every stop that can be told apart.

What is past the cap is not looked at. Facts of the drum and what the procedure takes are as usual, and so are numbers
that only sums take.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from ...errors import Misread, Refused
from ...procedure.linked import Linked, quantity_or_none, typed_value
from ...procedure.variables import FROM_A_SUM, Variable
from ...walk import acts
from ...walk.events import Event
from ...walk.phase import Now, now
from ...walk.step_acts import happenings
from ..answers import MISSING, full
from ..branch_reads import atoms_of
from ..cells import cells
from ..flow import flow_of
from ..walked import Key, walked_ways
from .script import Script, step_name
from .trail import AT_AN_END, Trail
from .values import holds, near

MOST_ACTS = 12_000
"""Most acts that are tried."""

Option = tuple[str, Any]
"""What is answered: ("say", text), ("act", what is done at the step), or as usual."""

USUALLY: Option = ("", None)

TELLING = frozenset(("entered", "skipped", "took", "late", "happened", "ended", "returned"))
"""The events that say which ways were taken."""


@dataclass(frozen=True)
class Gone:
    """A walk as far as it has gone."""

    events: Sequence[Event]
    ok: bool = True


@dataclass
class Stop:
    """Where a walk can stand: the first way to come there (a stop and what was answered), and all of them."""

    came: tuple[int, Option]
    into: list[tuple[int, Option]] = field(default_factory=list)
    end: bool = False


class Roaming:
    """All stops of a procedure, by number. `whole`: there are no more."""

    def __init__(self, start: Trail, ways: Collection[Key]) -> None:
        self.start, self.ways = start, ways
        self.whole = True
        self.stops: list[Stop] = []
        self.met: dict[Key, dict[int, tuple[int, Option]]] = {}  # by way, and the stop it comes to

    def found(self) -> Iterator[tuple[Key, Trail]]:
        """A walk to an end for each of the ways that some walk takes and comes to an end after."""
        self._explore()
        onward = self._onward()
        for way, moves in self.met.items():
            for there, (stop, option) in moves.items():
                if there in onward:
                    yield way, self._walk(stop, option, there, onward)
                    break

    def _explore(self) -> None:
        known: dict[Any, int] = {}
        try:
            first = _begun(self.start)
        except (Refused, Misread):
            return
        waiting = deque([(0, first)])
        known[_key(first, now(first.state, first.bench))] = 0
        self.stops.append(Stop((0, USUALLY)))
        tried = 0
        while waiting:
            number, trail = waiting.popleft()
            here = now(trail.state, trail.bench)
            self.stops[number].end = here.kind in AT_AN_END
            if self.stops[number].end or here.kind == "stuck":
                continue
            for option in _options(trail, here, self.ways):
                tried += 1
                if tried > MOST_ACTS:
                    self.whole = False
                    return
                after = _after(trail, here, option)
                if after is None:
                    continue
                there = known.setdefault(_key(after, now(after.state, after.bench)), len(self.stops))
                if there == len(self.stops):
                    self.stops.append(Stop((number, option)))
                    waiting.append((there, after))
                self.stops[there].into.append((number, option))
                for way in self._taken(trail, after):
                    self.met.setdefault(way, {}).setdefault(there, (number, option))

    def _taken(self, before: Trail, after: Trail) -> set[Key]:
        if not any(event["what"] in TELLING for event in after.events[len(before.events) :]):
            return set()
        now_, then = (walked_ways(self.start.linked, [Gone(trail.events)]) for trail in (after, before))
        return {way for way in self.ways if way in now_ and way not in then}

    def _onward(self) -> dict[int, tuple[Option, int] | None]:
        """By stop, what to answer to come soonest to an end and where that leads; None at an end."""
        onward: dict[int, tuple[Option, int] | None] = {n: None for n, stop in enumerate(self.stops) if stop.end}
        waiting = deque(onward)
        while waiting:
            there = waiting.popleft()
            for stop, option in self.stops[there].into:
                if stop not in onward:
                    onward[stop] = option, there
                    waiting.append(stop)
        return onward

    def _walk(self, stop: int, option: Option, there: int, onward: dict[int, tuple[Option, int] | None]) -> Trail:
        options = [option]
        while stop:
            stop, before = self.stops[stop].came
            options.append(before)
        options.reverse()
        while (on := onward[there]) is not None:
            option, there = on
            options.append(option)
        trail = _begun(self.start)
        for told in options:
            trail = _after(trail, now(trail.state, trail.bench), told) or trail
        return trail


def _begun(start: Trail) -> Trail:
    trail = Trail(start.linked, start.compute, Script())
    trail.begin()
    return trail


def _after(trail: Trail, here: Now, option: Option) -> Trail | None:
    """The walk after one more answer; None where that is refused."""
    after = trail.forked(_script(trail, here, option))
    try:
        after.act(after.answer(here))
    except (Refused, Misread):
        return None
    return after


def _script(trail: Trail, here: Now, option: Option) -> Script:
    kind, told = option
    if here.visit is None or here.step is None or option == USUALLY:
        return Script()
    path, visit = here.visit.path, here.visit.number
    if kind == "act":
        number = trail.answers.next_round(f"act {path}/{here.step.step}", visit)
        return Script(acts={(step_name(path, here.step.step), number): told})
    name = full(path, here.step.choose.as_ if here.kind == "choose" and here.step.choose else here.name)
    at = name, trail.answers.next_round(name, visit)
    if here.place is None:
        return Script(given={at: told})
    before = trail.script.given.get(at)
    return Script(given={at: {**(before if isinstance(before, dict) else {}), here.place: told}})


def _options(trail: Trail, here: Now, ways: Collection[Key]) -> Iterator[Option]:
    """Every answer that can be told apart, the usual one first."""
    yield USUALLY
    if here.visit is None or here.step is None or here.linked is None:
        return
    visit, step = here.visit, here.step
    if trail.answers.asked_in(f"act {visit.path}/{step.step}", visit.number) is None:
        if step.may_skip:
            yield "act", {"skipped": step.may_skip.because}
        for _, event in happenings(trail.state, trail.bench):
            if (event.event, "event", 0) in ways or (event.event, "event-then", 0) in ways:
                yield "act", {"event": event.event}
    if here.kind == "choose" and step.choose:
        yield from (("say", way.way) for way in step.choose.ways)
    elif here.kind == "hold" and step.hold:
        reasons = step.hold.refused_for
        yield from (("act", f"refused for {reason}") for reason in reasons)
        yield from (("act", "refused") for _ in range(not reasons))
    elif here.kind == "wait" and step.wait and (latest := quantity_or_none(step.wait.at_latest or "", "min")):
        yield "act", {"after": f"{int(latest.value) + 1} min"}
    elif here.kind == "reading":
        yield from (("say", text) for text in _values(trail, here, here.linked))


def _values(trail: Trail, here: Now, linked: Linked) -> Iterator[str]:
    """A value of every cell of a reading but the usual one's, and none at all where it is optional."""
    if here.reading.optional:
        yield MISSING
    variable, wanted = linked.variables[here.name], None
    if variable.wanted == FROM_A_SUM and here.visit is not None:
        found = trail.view(here.visit).range(linked.wanted_from[here.name])
        wanted = found[0] if found else None
    tests = [atom.test for atom in atoms_of(flow_of(linked)).get(here.name, ())]
    usual = _usual(trail, here, variable) if tests else None
    for cell in cells(variable, tests) if tests else ():
        text = near(variable, cell, None, wanted)
        if text is not None and (wanted is not None or not holds(cell, usual, None)):
            yield text


def _usual(trail: Trail, here: Now, variable: Variable) -> object:
    """The value that is noted as usual."""
    act = trail.forked(Script()).answer(here)
    if not isinstance(act, acts.Record):
        return None
    try:
        return typed_value(act.typed, here.reading).value if variable.is_number else act.typed
    except Misread:
        return None


def _key(trail: Trail, here: Now) -> Any:
    """What all that is ahead of a walk depends on: where it stands, what was noted last, and what was counted."""
    state = trail.state
    values: dict[Any, Any] = {}
    for (run, name), entries in state.readings.items():
        for entry in entries:
            if state.live(entry.visit, entry.n):
                values[state.begun[run].path, name, entry.place] = entry.value, entry.verdict
    sums = {(state.begun[run].path, name): repr(many[-1].outputs) for (run, name), many in state.sums.items()}
    results = {(state.begun[run].path, name): many[-1].outcome for (run, name), many in state.results.items()}
    visit = here.visit.number if here.visit else 0
    noted = frozenset((e.name, e.place) for e in state.entries.values() if e.visit == visit)
    where = here.kind, here.visit and (here.visit.path, here.visit.step), here.name, here.place
    counts = frozenset((key, count) for key, count in state.counts.items() if count)
    frames = tuple((frame.path, frame.step, frame.event) for frame in state.frames)
    return where, noted, frames, counts, *(frozenset(part.items()) for part in (values, sums, results))
