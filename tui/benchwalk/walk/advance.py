"""What the walk does by itself between two acts: sums, branches, runs, entering the next step.

Each turn of the loop looks where the walk stands and lets one thing happen, so that a log cut anywhere goes on from
where it was.
"""

from __future__ import annotations

from datetime import timedelta

from ..errors import Refused
from ..procedure.linked import Linked, quantity_or_none
from ..procedure.model import Branch, Run, Step
from ..procedure.showing import many
from .desk import Desk
from .handing import given_data, run_path
from .phase import AUTOMATIC, Now, noted_places, now, parse_time, reading_places, unrecorded, unworked, way_on
from .record import note_value
from .settle import settle_next
from .state import Frame
from .view import View
from .wording import render
from .working import find, no_result, reads, work_out

MOST = 500
"""Turns after which a walk that never asks anybody is a fault of the procedure (the proof excludes it)."""


def advance(desk: Desk) -> Now:
    """Let happen what happens by itself; what is asked then."""
    for _ in range(MOST):
        here = now(desk.state, desk.bench)
        if here.kind not in AUTOMATIC:
            return here
        _DO[here.kind](desk, here)
    raise Refused("the procedure goes round without asking anybody; it must be mended before it is walked")


def _known_fact(desk: Desk, here: Now) -> None:
    """What the shop knows of the drum is noted as if it had been asked, so that it can be corrected as such."""
    known = desk.state.drum[here.name]
    desk.emit("fact", name=here.name, typed=known["typed"], value=known["value"], unit=known["unit"], known=True)


def _begin(desk: Desk, here: Now) -> None:
    root = desk.book(desk.state.text)
    desk.emit(
        "ran",
        run=1,
        path="",
        text=root.text,
        procedure=root.id,
        revision=str(root.procedure.revision),
        title=root.procedure.title,
        given=desk.state.taken,
        back=False,
        event="",
    )


def _enter(desk: Desk, here: Now) -> None:
    state = desk.state
    if state.pending is None:
        frame = state.frames[-1]
        _into(desk, frame, desk.book(frame.text).procedure.steps[0].step, "", False)
        return
    path, target, why, by_hand = state.pending
    if state.frames[-1].path != path:
        frame = state.frames[-1]
        desk.emit("returned", run=frame.run, path=frame.path, outcome="stopped", why=why)
        return
    _into(desk, state.frames[-1], target, why, by_hand)


def _into(desk: Desk, frame: Frame, target: str, why: str, by_hand: bool) -> None:
    linked = desk.book(frame.text)
    counts = desk.state.counts
    for _ in range(len(linked.steps) + 1):
        step = linked.steps[target]
        times = counts.get((frame.run, f"entered:{target}"), 0) + (0 if by_hand else 1)
        if step.entered is None or by_hand or times <= step.entered.at_most:
            break
        why = f"{step.step} was entered {many(step.entered.at_most, 'time')}" + (f"; {why}" if why else "")
        target = step.entered.then
    desk.emit(
        "entered",
        visit=len(desk.state.visits) + 1,
        run=frame.run,
        path=frame.path,
        text=frame.text,
        step=target,
        title=linked.procedure.title,
        stage=linked.stage.get(target),
        why=why,
        **{"pass": times},
        by_hand=by_hand,
    )


def _run(desk: Desk, here: Now) -> None:
    assert here.step is not None and here.step.run is not None
    start_run(desk, here.step.run, desk.state.frames[-1])


def _find(desk: Desk, here: Now) -> None:
    assert here.visit is not None
    find(desk, here.name, here.visit)


def _run_event(desk: Desk, here: Now) -> None:
    assert desk.state.happened is not None
    path, name = desk.state.happened
    owner = next(frame for frame in desk.state.frames if frame.path == path)
    run = next(e.run for e in desk.book(owner.text).procedure.whenever if e.event == name)
    assert run is not None
    start_run(desk, run, owner, name)


def start_run(desk: Desk, run: Run, owner: Frame, event: str = "") -> None:
    """Begin the run of another procedure that the procedure of `owner` asks for, at its step or for an event."""
    linked = desk.book(owner.text)
    inner = linked.runs[run.as_]
    desk.emit(
        "ran",
        run=desk.state.runs + 1,
        path=run_path(owner, run),
        text=inner.text,
        procedure=inner.id,
        revision=str(inner.procedure.revision),
        title=inner.procedure.title,
        given=given_data(run, inner, View(desk.state, linked, owner.run, visit=desk.state.visit)),
        back=bool(event),
        event=event,
    )


def _wait_begins(desk: Desk, here: Now) -> None:
    visit, step = here.visit, here.step
    assert visit is not None and step is not None and step.wait is not None
    start = desk.bench.now
    if step.wait.from_:
        ends = [
            v.closed_at for v in desk.state.visits if v.run == visit.run and v.step == step.wait.from_ and not v.struck
        ]
        if ends and ends[-1]:
            start = parse_time(ends[-1])
    until = start + _minutes(step.wait.for_)
    latest = start + _minutes(step.wait.at_latest) if step.wait.at_latest else None
    desk.emit(
        "waiting",
        visit=visit.number,
        until=until.isoformat(timespec="seconds"),
        latest=latest.isoformat(timespec="seconds") if latest else None,
    )


def _minutes(text: str) -> timedelta:
    quantity = quantity_or_none(text, "min")
    return timedelta(minutes=float(quantity.value)) if quantity else timedelta()


def _elsewhere(desk: Desk, here: Now) -> None:
    """The places a sum does not name get the value that counts elsewhere."""
    visit, view = desk.visit, desk.view()
    reading = here.reading
    noted = noted_places(desk.state, visit, here.name)
    for place in reading_places(reading, view):
        if place not in noted:
            note_value(desk, here.name, place, reading.elsewhere or "0", sure=True)
            return


def _skip_rest(desk: Desk, here: Now) -> None:
    visit, step = here.visit, here.step
    assert visit is not None and step is not None
    why = f"skipped: {visit.skipped}"
    for name, place in unrecorded(desk.state, visit, step, desk.view()):
        desk.emit("left_out", visit=visit.number, run=visit.run, name=name, place=place, why=why)
    for name in unworked(visit, step):
        no_result(desk, name, visit, why)


def _work(desk: Desk, here: Now) -> None:
    assert here.visit is not None
    work_out(desk, here.name, here.visit, None)


def _pass(desk: Desk, here: Now) -> None:
    assert here.visit is not None and here.step is not None and here.step.hold is not None
    roles = " or ".join(here.step.hold.for_work_by)
    desk.emit("not_needed", visit=here.visit.number, run=here.visit.run, because=f"only for work by: {roles}")


def _tell(desk: Desk, here: Now) -> None:
    assert here.visit is not None and here.step is not None and here.step.witness is not None
    witness = here.step.witness
    stay = {"visit": here.visit.number, "run": here.visit.run}
    desk.emit("told", **stay, role=witness.by, because=witness.because, meaning=witness.signs)


def _go(desk: Desk, here: Now) -> None:
    visit, linked, step = here.visit, here.linked, here.step
    assert visit is not None and linked is not None and step is not None
    view = desk.view()
    way = way_on(visit, linked, step, view)
    if way is None:
        raise Refused(f"no branch of {step.step} fits what was noted; the senior decides")
    index, line, target = way
    because = _because(linked, step, index, line, view)
    for finding in line.find if line else []:
        find(desk, finding, visit)
    count, spent = None, False
    if line is not None and line.at_most is not None:
        count = desk.state.counts.get((visit.run, f"{step.step}:{index}"), 0) + 1
        if count > line.at_most:
            spent, target, count = True, line.then or target, line.at_most
            because = f"{because}; tried {many(line.at_most, 'time')}".lstrip("; ")
    desk.emit(
        "took",
        visit=visit.number,
        line=index,
        go=target,
        because=because,
        count=count,
        at_most=line.at_most if line else None,
        then=spent,
        reads=reads(linked, step, view),
    )


def _because(linked: Linked, step: Step, index: int | None, line: Branch | None, view: View) -> str:
    if line is None or not line.because:
        return ""
    key = "branches" if step.branches else "first_of"
    return render(line.because, view, ("steps", linked.at[step.step], key, index or 0, "because"))


def _end(desk: Desk, here: Now) -> None:
    visit, step = here.visit, here.step
    assert visit is not None and step is not None and step.end is not None
    frame = desk.state.frames[-1]
    view = desk.view()
    say = render(step.end.say, view, ("steps", view.linked.at[step.step], "end", "say")) if step.end.say else ""
    if frame.path:
        desk.emit("returned", run=frame.run, path=frame.path, outcome=step.end.as_, why=say)
    else:
        desk.emit("ended", visit=visit.number, outcome=step.end.as_, proposes=list(step.end.proposes), say=say)


def _settle(desk: Desk, here: Now) -> None:
    settle_next(desk)


_DO = {
    "settle": _settle,
    "known-fact": _known_fact,
    "begin": _begin,
    "enter": _enter,
    "run": _run,
    "run-event": _run_event,
    "find": _find,
    "wait-begins": _wait_begins,
    "elsewhere": _elsewhere,
    "work": _work,
    "pass": _pass,
    "tell": _tell,
    "go": _go,
    "end": _end,
    "skip-rest": _skip_rest,
}
