"""After a correction: what rests on the old value is gone through again, one by one, in the order it happened."""

from __future__ import annotations

from ..errors import Refused
from .desk import Desk
from .phase import fitting, way_on
from .record import judge_number
from .state import Entry, Took
from .view import fraction
from .wording import said_entry
from .working import find, work_out


def touches(desk: Desk, of: int) -> list[int]:
    """The events that rest on event `of`, directly or through others, that still count, in order."""
    state = desk.state
    changed = {of}
    things: list[tuple[int, set[int]]] = []
    for entry in state.entries.values():
        if entry.against is not None and state.live(entry.visit):
            things.append((entry.n, {entry.against}))
    for worked in (w for many in state.sums.values() for w in many if state.live(w.visit)):
        things.append((worked.n, set(worked.sources)))
    for took in state.took:
        if state.live(took.visit) and took.reads:
            things.append((took.n, set(took.reads)))
    for found in state.found:
        if state.live(found.visit):
            things.append((found.n, set(found.evidence)))
    for sign in state.signs:
        if state.live(sign.visit) and sign.void is None:
            things.append((sign.n, set(sign.covers)))
    for n, rests_on in sorted(things, key=lambda thing: thing[0]):
        if rests_on & changed:
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
    """Whether the branch taken would be taken again now."""
    visit = desk.state.visits[took.visit - 1]
    view = desk.view(upto=took.n, visit=visit)
    step = view.linked.steps[visit.step]
    if took.line is None or fitting(view.linked, step, view) == took.line:
        desk.emit("stands", took=took.n, because="it leads the same way")
        return
    way = way_on(visit, view.linked, step, view)
    desk.emit(
        "diverged",
        took=took.n,
        would=way[2] if way else None,
        because=f"at {visit.step} the walk went to {took.go}, and would now go to {way[2] if way else 'nowhere'}",
    )


def entry_words(entry: Entry, desk: Desk) -> str:
    """An entry's value in words, for a sentence about it."""
    linked = desk.book(desk.state.visits[entry.visit - 1].text) if entry.visit else None
    return said_entry(entry, linked.procedure.readings.get(entry.name) if linked else None)
