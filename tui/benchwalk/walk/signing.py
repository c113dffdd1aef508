"""Other people's part: releasing and refusing holds, signing again, overruling, releasing the job."""

from __future__ import annotations

from datetime import timedelta

from ..errors import Refused
from .acts import Accept, Overrule, Refuse, Release, ReleaseJob, Sign, SignAgain
from .desk import Desk
from .phase import Now, covered, parse_time, workers
from .record import understand
from .state import SignOff
from .view import View
from .working import find


class NotAllowed(Refused):
    """A sign-off by somebody who may not give it; the refusal is kept in the log."""


def release(desk: Desk, here: Now, act: Release) -> None:
    """Release the hold the walk stands at."""
    visit, step = here.visit, here.step
    if here.kind != "hold" or visit is None or step is None or step.hold is None:
        raise Refused("nothing waits for a sign-off here")
    covers = covered(step, desk.view())
    sign = _sign(desk, act.sign, step.hold.by, workers(desk.state, step, desk.view()), covers)
    desk.emit(
        "released",
        visit=visit.number,
        run=visit.run,
        job=desk.state.job,
        step=step.step,
        text=visit.text,
        meaning=step.hold.signs,
        covers=covers,
        sign=sign,
        again=None,
    )
    if act.note:
        desk.emit("noted", visit=visit.number, text=act.note)


def refuse(desk: Desk, here: Now, act: Refuse) -> None:
    """Refuse the hold, for one of the reasons the procedure names (if it names any)."""
    visit, step = here.visit, here.step
    if here.kind != "hold" or visit is None or step is None or step.hold is None:
        raise Refused("nothing waits for a sign-off here")
    reasons = step.hold.refused_for
    if reasons and act.refused_for not in reasons:
        known = ", ".join(f"{key} ({said})" for key, said in reasons.items())
        raise Refused(f"say what it is refused for: {known}")
    if not reasons and act.refused_for:
        raise Refused("this look is refused without a named reason; write it as a note")
    covers = covered(step, desk.view())
    sign = _sign(desk, act.sign, step.hold.by, workers(desk.state, step, desk.view()), covers, refusing=True)
    desk.emit(
        "refused",
        visit=visit.number,
        run=visit.run,
        job=desk.state.job,
        step=step.step,
        text=visit.text,
        meaning=f"refused for {reasons[act.refused_for]}" if act.refused_for else "refused",
        covers=covers,
        sign=sign,
        refused_for=act.refused_for,
        note=act.note,
    )


def sign_again(desk: Desk, here: Now, act: SignAgain) -> None:
    """Give a sign-off again that a correction made void."""
    old = next((s for s in desk.state.open_signs() if s.n == act.sign_off), None)
    if old is None:
        raise Refused("no void sign-off has that number")
    visit = desk.state.visits[old.visit - 1]
    view = desk.view(visit=visit)
    step = view.linked.steps[visit.step]
    assert step.hold is not None
    sign = _sign(desk, act.sign, step.hold.by, workers(desk.state, step, view) | _who_noted(desk, old), old.covers)
    desk.emit(
        "released",
        visit=visit.number,
        run=visit.run,
        job=desk.state.job,
        step=visit.step,
        text=visit.text,
        meaning=step.hold.signs,
        covers=old.covers,
        sign=sign,
        again=old.n,
    )


def _who_noted(desk: Desk, old: SignOff) -> set[str]:
    return {desk.state.entries[n].who for n in old.covers if n in desk.state.entries}


def overrule(desk: Desk, here: Now, act: Overrule) -> None:
    """Take another of the branches than the one that fits, or one where none fits."""
    visit, step, linked = here.visit, here.step, here.linked
    if visit is None or step is None or linked is None or not step.lines:
        raise Refused("there are no branches here to choose from")
    if here.kind not in ("stuck", "reading", "hold", "do", "each", "choose", "wait"):
        raise Refused("first finish what is asked here")
    if not 0 <= act.line < len(step.lines):
        raise Refused(f"there are {len(step.lines)} branches; {act.line + 1} is none of them")
    if not act.reason.strip():
        raise Refused("say why another branch is taken; the reason stands in the record")
    if here.kind == "hold" or (step.hold and visit.hold is None):
        raise Refused("a look by another person cannot be passed by taking another branch")
    sign = _sign(desk, act.sign, desk.bench.overrules, set(), [])
    line = step.lines[act.line]
    for finding in line.find:
        find(desk, finding, visit)
    desk.emit(
        "overruled", visit=visit.number, line=act.line, go=line.go, because=f"by hand: {act.reason}", reason=act.reason, sign=sign
    )


def accept(desk: Desk, here: Now, act: Accept) -> None:
    """Let the walk stand although a corrected value would have led elsewhere."""
    if here.kind != "diverged" or desk.state.diverged is None:
        raise Refused("no corrected value leads elsewhere; there is nothing to accept")
    if not act.reason.strip():
        raise Refused("say why the walk may stand as it went; the reason stands in the record")
    took = next(t for t in desk.state.took if t.n == desk.state.diverged)
    sign = _sign(desk, act.sign, desk.bench.overrules, set(), [])
    desk.emit(
        "accepted", job=desk.state.job, took=desk.state.diverged, reason=act.reason, sign=sign, covers=[took.n]
    )


def release_job(desk: Desk, here: Now, act: ReleaseJob) -> None:
    """Release the whole job; refused while anything is missing or stale, and said what."""
    state = desk.state
    if here.kind == "sign-again" or state.stale():
        raise Refused("the job cannot be released: " + "; ".join(state.stale()))
    if here.kind == "account":
        raise Refused("first count the tools and loose parts")
    if here.kind != "ended":
        raise Refused("the walk has not come to its end; there is nothing to release yet")
    sign = _sign(desk, act.sign, desk.bench.releases, set(), [])
    covers = [s.n for s in state.signs if state.live(s.visit) and s.void is None]
    desk.emit("job_released", job=state.job, meaning=act.meaning, sign=sign, head=act.head, covers=covers)


def signed(desk: Desk, sign: Sign, role: str) -> dict[str, object]:
    """A sign-off by somebody of that role that covers no reading."""
    return _sign(desk, sign, role, set(), [])


def _sign(
    desk: Desk, sign: Sign, role: str, did_the_work: set[str], covers: list[int], refusing: bool = False
) -> dict[str, object]:
    """The sign-off as data, once it is sure that this person may give it."""
    state, bench = desk.state, desk.bench
    stamped: dict[str, object] = {
        "who": sign.who,
        "name": bench.names.get(sign.who, sign.who),
        "at": desk.at,
        "how": sign.how,
        "role": role,
    }
    if sign.how == "practice":
        if state.kind == "customer":
            raise NotAllowed("a sign-off on a customer's job needs a person of the shop and their PIN")
        return stamped
    if sign.how not in ("pin", "second look"):
        raise NotAllowed("a sign-off is proved by a PIN")
    roles = bench.roles.get(sign.who)
    if roles is None:
        raise NotAllowed(f"nobody called '{sign.who}' works in this shop")
    if role not in roles:
        raise NotAllowed(f"this sign-off is a {role}'s; {stamped['name']} is not one")
    if sign.how == "second look":
        stamped |= _second_look(desk, sign, covers)
    elif sign.who in did_the_work and not refusing:
        raise NotAllowed(f"{stamped['name']} did this work; another person must look at it")
    return stamped


def _second_look(desk: Desk, sign: Sign, covers: list[int]) -> dict[str, object]:
    """The one-person shop's second look: later, and every covered number measured again without seeing the first."""
    if not desk.bench.one_person:
        raise NotAllowed("this shop has more than one person; another person must look")
    entries = [desk.state.entries[n] for n in covers if n in desk.state.entries]
    if entries:
        since = desk.bench.now - max(parse_time(e.at) for e in entries)
        if since < desk.bench.second_look:
            left = desk.bench.second_look - since
            raise Refused(f"the second look comes {_minutes(desk.bench.second_look)} min after the first; {_minutes(left)} min left")
    again: dict[str, str] = {}
    view = desk.view()
    for entry in entries:
        reading = view.linked.reading(entry.name)
        if reading is None or reading.sort not in ("number", "whole", "note") or entry.place is not None:
            continue
        typed = sign.again.get(entry.name, "")
        if not typed:
            raise Refused(f"measure again without looking at the first value: {reading.ask}")
        meant = understand(reading, entry.name, typed, _of(view, entry.run))
        if meant.verdict != entry.verdict:
            raise Refused(f"the second look at '{reading.ask}' does not agree with the first; measure and correct it")
        again[entry.name] = typed
    return {"again": again, "policy": "second look by the same hand"}


def _of(view: View, run: int) -> View:
    return view if view.run == run else View(view.state, view.linked, run, view.given, visit=view.visit)


def _minutes(span: timedelta) -> int:
    return max(1, -(-int(span.total_seconds()) // 60))


__all__ = ["NotAllowed", "accept", "overrule", "refuse", "release", "release_job", "sign_again", "signed"]
