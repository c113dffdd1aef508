"""Other people's part: releasing and refusing holds, signing again, overruling, releasing the job."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from ..errors import Refused
from ..procedure.model import Hold
from .acts import Accept, Overrule, Refuse, Release, ReleaseJob, Sign, SignAgain
from .desk import Desk
from .job_acts import fresh
from .phase import Now, covered, workers
from .second_look import second_look
from .settle import no_longer_found
from .state import SignOff, State, Took, Visit


class NotAllowed(Refused):
    """A sign-off by somebody who may not give it; the refusal is kept in the log."""


def release(desk: Desk, here: Now, act: Release) -> None:
    """Release the hold the walk stands at."""
    visit, step = here.visit, here.step
    if here.kind != "hold" or visit is None or step is None or step.hold is None:
        raise Refused("nothing waits for a sign-off here")
    covers = covered(step, desk.view())
    sign = _sign(desk, act.sign, step.hold.by, workers(desk.state, visit, step, desk.view()), covers, visit)
    if act.note:
        desk.emit("noted", visit=visit.number, text=act.note)
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


def refuse(desk: Desk, here: Now, act: Refuse) -> None:
    """Refuse the hold, for one of the reasons the procedure names (if it names any)."""
    visit, step = here.visit, here.step
    if here.kind != "hold" or visit is None or step is None or step.hold is None:
        raise Refused("nothing waits for a sign-off here")
    _refused(desk, visit, step.hold, act, covered(step, desk.view()))


def _refused(desk: Desk, visit: Visit, hold: Hold, act: Refuse | SignAgain, covers: list[int], **more: int) -> None:
    reasons = hold.refused_for
    if reasons and act.refused_for not in reasons:
        known = ", ".join(f"{key} ({said})" for key, said in reasons.items())
        raise Refused(f"say what it is refused for: {known}")
    if not reasons and act.refused_for:
        raise Refused("this look is refused without a named reason; write it as a note")
    sign = _sign(desk, act.sign, hold.by)
    desk.emit(
        "refused",
        visit=visit.number,
        run=visit.run,
        job=desk.state.job,
        step=visit.step,
        text=visit.text,
        meaning=f"refused for {reasons[act.refused_for]}" if act.refused_for else "refused",
        covers=covers,
        sign=sign,
        refused_for=act.refused_for,
        note=act.note,
        **more,
    )


def sign_again(desk: Desk, here: Now, act: SignAgain) -> None:
    """Give a sign-off again that a correction made void, or refuse it: then it stays void."""
    old = next((s for s in desk.state.open_signs() if s.n == act.sign_off), None)
    if old is None:
        raise Refused("no void sign-off has that number")
    visit = desk.state.visits[old.visit - 1]
    view = desk.view(visit=visit)
    step = view.linked.steps[visit.step]
    assert step.hold is not None
    if act.refuse:
        _refused(desk, visit, step.hold, act, old.covers, again=old.n)
        return
    did_the_work = workers(desk.state, visit, step, view) | _who_noted(desk, old)
    sign = _sign(desk, act.sign, step.hold.by, did_the_work, old.covers, visit)
    if act.note:
        desk.emit("noted", visit=visit.number, text=act.note)
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
    if act.visit and act.visit != desk.state.visit:
        visit, undoes = _just_left(desk, act.visit)
    else:
        if here.visit is None or here.step is None:
            raise Refused("no step is in hand")
        visit, undoes = here.visit, None
    linked = desk.book(visit.text)
    step = linked.steps[visit.step]
    if not step.lines:
        raise Refused("there are no branches here to choose from")
    if undoes is None and here.kind not in ("stuck", "reading", "hold", "do", "each", "choose", "wait"):
        raise Refused("first finish what is asked here")
    if not 0 <= act.line < len(step.lines):
        raise Refused(f"there are {len(step.lines)} branches; {act.line + 1} is none of them")
    if not act.reason.strip():
        raise Refused("say why another branch is taken; the reason stands in the record")
    if step.hold and visit.hold not in ("released", "not needed"):
        raise Refused("a look by another person cannot be passed by taking another branch")
    sign = _sign(desk, act.sign, desk.bench.overrules)
    line = step.lines[act.line]
    withdraws = []
    if undoes is not None:
        mine = [f for f in desk.state.found if f.visit == visit.number and desk.state.live(f.visit, f.n)]
        withdraws = [f.n for f in mine if f.finding not in line.find]
    desk.emit(  # what the branch finds is noted after this (`advance`), so that no cut log has it without the branch
        "overruled",
        visit=visit.number,
        line=act.line,
        go=line.go,
        because=f"by hand: {act.reason}",
        reason=act.reason,
        sign=sign,
        undoes=undoes.n if undoes else None,
        withdraws=withdraws,
    )


def just_taken(state: State) -> Took | None:
    """The branch that was taken last by itself and can still be overruled: nothing was done since."""
    took = state.took[-1] if state.took else None
    if took is None or took.line is None or took.state != "ok" or not state.live(took.visit, took.n) or state.ended:
        return None
    after = [v for v in state.visits[took.visit :] if not v.struck and v.entered > took.n]
    return took if after and all(fresh(state, v) for v in after) else None


def _just_left(desk: Desk, number: int) -> tuple[Visit, Took]:
    took = just_taken(desk.state)
    if took is None or took.visit != number:
        raise Refused("only the branch taken last can be overruled, while nothing was done since; else go back to it")
    return desk.state.visits[number - 1], took


def accept(desk: Desk, here: Now, act: Accept) -> None:
    """Let the walk stand although a corrected value would have led elsewhere."""
    if here.kind != "diverged" or desk.state.diverged is None:
        raise Refused("no corrected value leads elsewhere; there is nothing to accept")
    if not act.reason.strip():
        raise Refused("say why the walk may stand as it went; the reason stands in the record")
    n = desk.state.diverged
    sign = _sign(desk, act.sign, desk.bench.overrules)
    took = next((t for t in desk.state.took if t.n == n), None)
    withdraws = no_longer_found(desk, took) if took is not None else []
    kept = {"reason": act.reason, "sign": sign, "covers": [n], "withdraws": withdraws}
    desk.emit("accepted", job=desk.state.job, took=n, **kept)


def release_job(desk: Desk, here: Now, act: ReleaseJob) -> None:
    """Release the whole job; refused while anything is missing or stale, and said what."""
    state = desk.state
    if here.kind == "sign-again" or state.stale():
        raise Refused("the job cannot be released: " + "; ".join(state.stale()))
    if here.kind == "account":
        gone = f"; missing: {state.missing}" if state.missing else ""
        raise Refused(f"first count the tools and loose parts{gone}")
    if here.kind != "ended":
        raise Refused("the walk has not come to its end; there is nothing to release yet")
    sign = _sign(desk, act.sign, desk.bench.releases)
    covers = [s.n for s in state.signs if state.live(s.visit, s.n) and s.void is None]
    desk.emit("job_released", job=state.job, meaning=act.meaning, sign=sign, head=act.head, covers=covers)


def signed(desk: Desk, sign: Sign, role: str) -> dict[str, object]:
    """A sign-off by somebody of that role that covers no reading."""
    return _sign(desk, sign, role)


def _sign(
    desk: Desk,
    sign: Sign,
    role: str,
    did_the_work: Collection[str] = (),
    covers: Sequence[int] = (),
    visit: Visit | None = None,
) -> dict[str, object]:
    """The sign-off as data, once it is sure that this person may give it; `visit` is where a hold stands."""
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
        if not bench.one_person:
            raise NotAllowed("this shop has more than one person; another person must look")
        stamped |= second_look(desk, sign, covers, visit)
    elif sign.who in did_the_work:
        raise NotAllowed(f"{stamped['name']} did this work; another person must look at it")
    return stamped
