"""From events to what the job is: `fold` alone says what an event means.

Folding never calculates, renders or loads a procedure; it only puts what the event carries in its place. `fold`
leaves the state it is given untouched; `replay` folds a whole log in one go.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from . import fold_job, fold_record, fold_route
from .events import Event
from .state import State


def fold(state: State, event: Event) -> State:
    """The state after `event`; `state` itself is not changed."""
    after = copy(state)
    put(after, event)
    return after


def replay(events: Iterable[Event]) -> State:
    """The state after all `events`, from the first."""
    state = State()
    for event in events:
        put(state, event)
    return state


def copy(state: State) -> State:
    """A state of its own: containers are new, and so is everything in them that later events may change."""
    after = replace(state)
    after.texts = dict(state.texts)
    after.drum = dict(state.drum)
    after.people = list(state.people)
    after.facts = {k: replace(v, before=list(v.before)) for k, v in state.facts.items()}
    after.problems = [dict(p) for p in state.problems]
    after.visits = [replace(v, confirmed=dict(v.confirmed), worked=list(v.worked)) for v in state.visits]
    after.entries = {n: replace(e, before=list(e.before)) for n, e in state.entries.items()}
    after.readings = {k: [after.entries[e.n] for e in v] for k, v in state.readings.items()}
    after.sums = {k: [replace(w) for w in v] for k, v in state.sums.items()}
    after.results = {k: list(v) for k, v in state.results.items()}
    after.counts = dict(state.counts)
    after.took = [replace(t) for t in state.took]
    after.found = [replace(f) for f in state.found]
    after.signs = [replace(s) for s in state.signs]
    after.notes = list(state.notes)
    after.unsettled = list(state.unsettled)
    return after


def put(state: State, event: Event) -> None:
    """Put one event in its place in `state` (which changes); its number must be the next."""
    if event["n"] != state.n + 1:
        raise ValueError(f"event {event['n']} cannot follow event {state.n}")
    _PUT[event["what"]](state, event)
    state.n = event["n"]
    state.at = event["at"]


_PUT: dict[str, Callable[[State, Event], None]] = {**fold_job.PUT, **fold_route.PUT, **fold_record.PUT}
