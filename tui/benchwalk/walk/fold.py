"""From events to what the job is: `fold` alone says what an event means.

Folding never calculates, renders or loads a procedure; it only puts what the event carries in its place. `fold`
leaves the state it is given untouched; `replay` folds a whole log in one go.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from ..plaindata import changed
from . import fold_job, fold_record, fold_route
from .events import Event
from .state import State, Visit


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
    """A state of its own. Containers are new; what stands in them is shared, for `put` replaces what it changes there
    and writes only into visits that are still open, of which the copy has its own."""
    after = changed(state)
    after.texts = dict(state.texts)
    after.drum = dict(state.drum)
    after.people = list(state.people)
    after.facts = dict(state.facts)
    after.problems = list(state.problems)
    after.begun = dict(state.begun)
    after.given = dict(state.given)
    after.stood = dict(state.stood)
    after.visits = [v if v.closed else own(v) for v in state.visits]
    after.entries = dict(state.entries)
    after.readings = {k: list(v) for k, v in state.readings.items()}
    after.sums = {k: list(v) for k, v in state.sums.items()}
    after.results = {k: list(v) for k, v in state.results.items()}
    after.counts = dict(state.counts)
    after.took = list(state.took)
    after.worded = list(state.worded)
    after.found = list(state.found)
    after.signs = list(state.signs)
    after.notes = list(state.notes)
    after.unsettled = list(state.unsettled)
    return after


def own(visit: Visit) -> Visit:
    """A copy of a visit that may be written into."""
    return changed(visit, confirmed=dict(visit.confirmed), worked=list(visit.worked))


def put(state: State, event: Event) -> None:
    """Put one event in its place in `state` (which changes); its number must be the next."""
    if event["n"] != state.n + 1:
        raise ValueError(f"event {event['n']} cannot follow event {state.n}")
    _PUT[event["what"]](state, event)
    state.n = event["n"]
    state.at = event["at"]


_PUT: dict[str, Callable[[State, Event], None]] = {**fold_job.PUT, **fold_route.PUT, **fold_record.PUT}
