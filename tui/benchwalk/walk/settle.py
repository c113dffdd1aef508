"""After a correction: what rests on the old value is gone through again, one by one, in the order it happened."""

from __future__ import annotations

from ..errors import Refused
from ..procedure.model import Branch
from .desk import Desk
from .handing import give_again
from .phase import each_places, fitting, way_on
from .record import judge_number
from .state import Entry, Found, State, Took, Visit, Worded
from .view import View, fraction
from .worded import ACTION, see_wording
from .wording import render
from .working import find, work_out

Way = tuple[int | None, Branch | None, str]
"""A way on: which branch, the branch, the step it leads to."""


def touches(desk: Desk, of: int) -> list[int]:
    """The events that rest on event `of`, directly or through others, that still count, in order."""
    state = desk.state
    rests: list[tuple[int, int, list[int]]] = []  # (event, visit, the events it rests on)
    rests += [(e.n, e.visit, [e.against]) for e in state.entries.values() if e.against is not None]
    rests += [(w.n, w.visit, w.sources) for many in state.sums.values() for w in many]
    rests += [(t.n, t.visit, t.reads) for t in state.took if t.state != "overruled"]
    rests += [(w.n, w.visit, w.reads) for w in state.worded if is_done(state, w)]
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


def is_done(state: State, worded: Worded) -> bool:
    """Whether what was told was done as well (a log may end between the two)."""
    visit = state.visits[worded.visit - 1]
    return worded.part in visit.confirmed or (worded.part == ACTION and visit.done)


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
    for worded in state.worded:
        if worded.n == n:
            see_wording(desk, worded)
            return
    for found in state.found:
        if found.n == n:
            maker = made_by(desk, found)
            if maker is not None and maker.n in state.unsettled:
                _see_way(desk, maker)  # whether the branch that found it still holds comes first
            else:
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
        for name in step.lines[took.line].find if took.line is not None else ():
            find(desk, name, visit, upto=took.n)  # what was withdrawn while the branch did not hold
        desk.emit("stands", took=took.n, because="it leads the same way")
        return
    way = way_on(visit, view.linked, step, view)
    would = way[2] if way else None
    because = _otherwise(desk, took, visit, view, way)
    desk.emit("diverged", took=took.n, would=would, because=because, keeps=[f.n for f in found_by(desk, took)])


def found_by(desk: Desk, took: Took) -> list[Found]:
    """The findings that still count and were made by the branch taken there."""
    if took.line is None:
        return []
    visit = desk.state.visits[took.visit - 1]
    line = desk.book(visit.text).steps[visit.step].lines[took.line]
    here = [f for f in desk.state.found if f.visit == took.visit and desk.state.live(f.visit, f.n)]
    return [f for f in here if f.finding in line.find]


def made_by(desk: Desk, found: Found) -> Took | None:
    """The branch that made a finding; None where it is not known."""
    here = [t for t in desk.state.took if t.visit == found.visit and t.state != "overruled"]
    return next((t for t in here if found.n in [f.n for f in found_by(desk, t)]), None)


def no_longer_found(desk: Desk, took: Took) -> list[int]:
    """The findings of a branch that would not be made now: another branch fits, or none, and does not make them."""
    visit = desk.state.visits[took.visit - 1]
    view = desk.view(upto=took.n, visit=visit)
    step = view.linked.steps[visit.step]
    fits = fitting(view.linked, step, view) if took.line is not None else None
    still = step.lines[fits].find if fits is not None else []
    return [f.n for f in found_by(desk, took) if f.finding not in still]


def _otherwise(desk: Desk, took: Took, visit: Visit, view: View, way: Way | None) -> str:
    """What would be otherwise now at a step that was left: the way, or what was found, or only the reason."""
    line = way[1] if way else None
    finds = line.find if line else []
    mine = {f.finding: f.sentence for f in found_by(desk, took)}
    told = [f"without the finding '{said.rstrip('.')}'" for name, said in mine.items() if name not in finds]
    for name in finds:
        if name not in mine:
            text = view.linked.procedure.findings[name].found
            told.append(f"with the finding '{render(text, view, ('findings', name, 'found')).rstrip('.')}'")
    more = f", {' and '.join(told)}" if told else ""
    if way is None:
        return f"at {visit.step} the walk went to {took.go}, and no branch fits now{more}"
    if way[2] != took.go:
        return f"at {visit.step} the walk went to {took.go}, and would now go to {way[2]}{more}"
    if not told:
        key = "branches" if view.linked.steps[visit.step].branches else "first_of"
        at = ("steps", view.linked.at[visit.step], key, way[0] or 0, "because")
        reason = render(line.because, view, at) if line and line.because else "another branch fits"
        told = [f"for another reason: {reason.rstrip('.')}"]
    return f"at {visit.step} the walk would still go to {took.go}, but {' and '.join(told)}"
