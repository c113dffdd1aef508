"""How each step stands: one word out of a closed set for every step of a job, its runs' steps included."""

from __future__ import annotations

from collections.abc import Iterator

from ..procedure.linked import Linked
from .desk import Bench
from .phase import now
from .state import State, Visit

NOT_STARTED = "not started"
CURRENT = "current"
UNDER_WAY = "under way"
HELD = "held"
DONE = "done"
SKIPPED = "skipped"
BROKEN_OFF = "broken off"
GONE_BACK = "gone back over"
NOT_ON_THE_WAY = "not on the way"

STATES = (NOT_STARTED, CURRENT, UNDER_WAY, HELD, DONE, SKIPPED, BROKEN_OFF, GONE_BACK, NOT_ON_THE_WAY)
"""Every word there is. The latest stay at a step that still counts decides:

- current: the walk stands here; held: it stands here and waits for somebody else (a look, a reported problem);
- under way: the step runs another procedure, or an event interrupted it, and the walk stands inside that;
- done: left as the procedure says; skipped: left out, with a reason; broken off: left before it was finished, for an
  event or because the latest time had passed;
- gone back over: no stay at it counts any more; not started: it was never come to; not on the way: it was never come
  to, and the walk has ended.
"""


def step_states(state: State, bench: Bench) -> dict[str, str]:
    """How each step stands, by its full name (`step`, `run/step`), in the order of the files; empty before opening."""
    if not state.job:
        return {}
    latest: dict[str, Visit] = {}
    for visit in state.visits:
        name = step_name(visit.path, visit.step)
        known = latest.get(name)
        if known is None or known.struck or not visit.struck:
            latest[name] = visit
    waiting = {frame.caller for frame in state.frames}
    stuck = now(state, bench).kind in ("hold", "problem")
    unseen = NOT_ON_THE_WAY if state.ended else NOT_STARTED
    return {
        name: _word(state, latest[name], waiting, stuck) if name in latest else unseen
        for name in step_names(bench.books(state.text))
    }


def step_name(path: str, step: str) -> str:
    """A step's full name."""
    return f"{path}/{step}" if path else step


def step_names(linked: Linked, path: str = "") -> Iterator[str]:
    """Every step of a procedure and, under the name of the run, of what it runs."""
    for step in linked.steps:
        yield step_name(path, step)
    for name, inner in linked.runs.items():
        yield from step_names(inner, step_name(path, name))


def _word(state: State, visit: Visit, waiting: set[int], stuck: bool) -> str:
    if visit.struck:
        return GONE_BACK
    if visit.broken is not None:
        return BROKEN_OFF
    if visit.closed is not None:
        return SKIPPED if visit.skipped is not None else DONE
    if visit.number in waiting:
        return UNDER_WAY
    return HELD if stuck else CURRENT
