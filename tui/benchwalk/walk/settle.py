"""After a correction: what rests on the old value is gone through again, one by one, in the order it happened."""

from __future__ import annotations

from ..errors import Refused
from .desk import Desk
from .handing import give_again
from .phase import each_places, fitting, way_on
from .record import judge_number
from .state import Entry, Took
from .view import fraction
from .working import find, work_out


def touches(desk: Desk, of: int) -> list[int]:
    """The events that rest on event `of`, directly or through others, that still count, in order."""
    state = desk.state
    rests: list[tuple[int, int, list[int]]] = []  # (event, visit, the events it rests on)
    rests += [(e.n, e.visit, [e.against]) for e in state.entries.values() if e.against is not None]
    rests += [(w.n, w.visit, w.sources) for many in state.sums.values() for w in many]
    rests += [(t.n, t.visit, t.reads) for t in state.took if t.state != "overruled"]
    rests += [(f.n, f.visit, f.evidence) for f in state.found]
    rests += [(s.n, s.visit, s.covers) for s in state.signs if s.void is None]
    for frame in state.begun.values():
        given = state.given[frame.run].values()
        rests.append((frame.n, frame.caller, [n for data in given for n in data["sources"]]))
    changed = {of}
    for n, visit, on in sorted(rests):
        if not changed.isdisjoint(on) and state.live(visit, n):
            changed.add(n)
    return sorted(changed - {of})


def settle_next(desk: Desk) -> None:
    """Go through the first thing that is not settled: judge it, work it out, or see whether it would lead elsewhere."""
    state = desk.state
    n = state.unsettled[0]
    if n in state.entries:
        _rejudge(desk, state.entries[n])
        return
    for worked in (w for many in state.sums.values() for w in many):
        if worked.n == n:
            work_out(desk, worked.name, state.visits[worked.visit - 1], worked.n)
            return
    for took in state.took:
        if took.n == n:
            _see_way(desk, took)
            return
    for found in state.found:
        if found.n == n:
            find(desk, found.finding, state.visits[found.visit - 1], found.n)
            return
    for frame in state.begun.values():
        if frame.n == n:
            give_again(desk, frame)
            return
    for sign in state.signs:
        if sign.n == n:
            desk.emit("voided", sign_off=n, because="a reading it covers was corrected")
            return
    raise Refused(f"event {n} rests on a corrected value and is not known here")


def _rejudge(desk: Desk, entry: Entry) -> None:
    view = desk.view(upto=entry.n, visit=desk.state.visits[entry.visit - 1])
    if entry.value is None:
        desk.emit("rejudged", of=entry.n, verdict=None, by=None, because="it was left out")
        return
    verdict, by, against = judge_number(entry.name, fraction(entry.value), view)
    desk.emit("rejudged", of=entry.n, verdict=verdict, by=by, because=f"judged by event {against}")


def _see_way(desk: Desk, took: Took) -> None:
    """Whether the step would be left the same way now, with nothing more to confirm at it."""
    visit = desk.state.visits[took.visit - 1]
    view = desk.view(upto=took.n, visit=visit)
    step = view.linked.steps[visit.step]
    more = [p for p in each_places(step, visit, view) if p not in visit.confirmed]
    if more and visit.skipped is None:
        because = f"at {visit.step} more would be done now: {', '.join(more)}"
        desk.emit("diverged", took=took.n, would=visit.step, because=because)
        return
    if took.line is None or fitting(view.linked, step, view) == took.line:
        desk.emit("stands", took=took.n, because="it leads the same way")
        return
    way = way_on(visit, view.linked, step, view)
    would = way[2] if way else None
    because = f"at {visit.step} the walk went to {took.go}, and would now go to {would or 'nowhere'}"
    desk.emit("diverged", took=took.n, would=would, because=because)
