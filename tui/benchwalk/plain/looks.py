"""Other people's part in plain mode: looks, sign-offs, taking another branch, releasing the job."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..errors import Refused
from ..walk import acts
from ..walk.phase import Now
from . import lines

if TYPE_CHECKING:
    from .walk import PlainWalk


def look(walk: PlainWalk, here: Now) -> None:
    """A hold: another person releases or refuses it, or in practice the senior is played."""
    assert here.step is not None and here.step.hold is not None
    hold = here.step.hold
    if here.step.do and not walk.terse:
        walk.talk.say(f"The work to look at: {here.step.do}")
    walk.talk.say(f"Work stops here: a {hold.by} must look. {hold.because}")
    if walk.session.state.kind != "customer":
        answer = walk.ask("Type play to play the senior (practice only), or /leave:", here)
        if answer is None:
            return
        if answer.lower() != "play":
            walk.talk.say("Enter alone does not pass here. Type play, or /leave.")
            return
        sign = acts.Sign("senior", "practice")
    else:
        answer = walk.ask(f"Who looks? A {hold.by} types their name (or /leave):", here)
        if answer is None:
            return
        sign = sign_of(walk, answer, here)
    verdict = walk.ask("Type release or refuse:", here)
    if verdict is None:
        return
    if verdict.lower() in ("release", "rel"):
        walk.do(acts.Release(sign))
    elif verdict.lower() in ("refuse", "ref"):
        reason = ""
        if hold.refused_for:
            listed = "; ".join(f"{i} {said}" for i, said in enumerate(hold.refused_for.values(), 1))
            walk.talk.say(f"Refused for: {listed}.")
            from .walk import pick

            picked = walk.ask("Which? Type its number:", here)
            if picked is None:
                return
            reason = pick(picked, list(hold.refused_for), list(hold.refused_for.values()))
        note = walk.talk.ask("A word about it (or Enter):").strip()
        walk.do(acts.Refuse(sign, reason, note))
    else:
        walk.talk.say("Type the word release or the word refuse.")


def sign_of(walk: PlainWalk, name: str, here: Now) -> acts.Sign:
    """A sign-off by a person of the shop, proved by PIN at a terminal; Refused where that fails."""
    session = walk.session
    who = session.person_called(name)
    if session.one_person and who == session.state.person:
        pin = _pin(walk, who)
        session.prove(who, pin)
        again: dict[str, str] = {}
        if here.kind == "hold":
            for key, ask in session.measured_again(here).items():
                again[key] = walk.talk.ask(f"Measure again without looking at the first value. {ask}:").strip()
        return acts.Sign(who, "second look", again)
    session.prove(who, _pin(walk, who))
    return acts.Sign(who, "pin")


def _pin(walk: PlainWalk, who: str) -> str:
    pin = walk.talk.pin(f"PIN of {walk.session.names.get(who, who)} (not shown):")
    if pin is None:
        raise Refused("a PIN is typed at a terminal and never comes from a pipe; the look waits")
    return pin


def role_sign(walk: PlainWalk, role: str, here: Now) -> acts.Sign | None:
    """A sign-off by somebody of that role, or in practice the role played; None where it was not given."""
    if walk.session.state.kind != "customer":
        answer = walk.ask(f"Type play to play the {role} (practice only):", here)
        if answer is None or answer.lower() != "play":
            return None
        return acts.Sign(role, "practice")
    answer = walk.ask(f"A {role} types their name:", here)
    return sign_of(walk, answer, here) if answer else None


def take_other(walk: PlainWalk, here: Now) -> None:
    """No branch fits, or the technician knows better: another branch, with a reason."""
    assert here.step is not None
    role = walk.session.bench.overrules
    if here.kind == "stuck":
        walk.talk.say(f"None of the branches fits what was noted. A {role} says how to go on.")
    for i, line in enumerate(here.step.lines, 1):
        walk.talk.say(f"{i}. {line.because or line.when}: goes to {line.go}")
    picked = walk.ask("Which one? Type its number:", here)
    if picked is None:
        return
    if not picked.isdigit():
        raise Refused(f"'{picked[:40]}' is not a number of a branch")
    reason = walk.ask("Why?", here)
    if reason is None:
        return
    sign = role_sign(walk, role, here)
    if sign is not None:
        walk.do(acts.Overrule(int(picked) - 1, reason, sign))


def accept_walk(walk: PlainWalk, here: Now) -> None:
    """A corrected value leads elsewhere: back to that step, or a senior accepts."""
    state = walk.session.state
    took = next(t for t in state.took if t.n == state.diverged)
    visit = state.visits[took.visit - 1]
    walk.talk.say(f"A corrected value would have led elsewhere at stop {visit.number}, {visit.step}.")
    answer = walk.ask(
        f"Type back to go back there, or accept for a {walk.session.bench.overrules} to let it stand:", here
    )
    if answer is None:
        return
    if answer.lower() == "back":
        walk.said = None
        walk.do(acts.GoBack(visit.number, "a corrected value leads elsewhere"))
    elif answer.lower() == "accept":
        reason = walk.ask("Why may it stand?", here)
        sign = role_sign(walk, walk.session.bench.overrules, here) if reason else None
        if reason and sign:
            walk.do(acts.Accept(reason, sign))
    else:
        walk.talk.say("Type back or accept.")


def ask_sign_again(walk: PlainWalk, here: Now) -> None:
    """A sign-off that a correction made void is asked for again."""
    old = walk.session.state.open_signs()[0]
    walk.talk.say(f"The sign-off at {old.step} no longer stands: {old.void}. It must be given again.")
    sign = role_sign(walk, "senior", here)
    if sign is not None:
        walk.do(acts.SignAgain(old.n, sign))


def account(walk: PlainWalk, here: Now) -> None:
    """Tools and loose parts are counted at the end."""
    for line in lines.account_lines(here):
        walk.talk.say(line)
    answer = walk.ask("Type all when every piece is here, or /note what is missing:", here)
    if answer is None:
        return
    if answer.lower() != "all":
        walk.talk.say("Type the word all once every piece is counted.")
        return
    walk.do(acts.Account())


def release_job(walk: PlainWalk, here: Now) -> None:
    """The job as a whole is released: a separate act."""
    session = walk.session
    walk.talk.say(f"The walk has ended: {session.state.ended['outcome'] if session.state.ended else ''}.")
    if session.state.kind != "customer":
        answer = walk.ask("Enter to close this practice job, or /log to read its pages:", here)
        if answer is None:
            return
        walk.do(acts.ReleaseJob(acts.Sign("senior", "practice"), "practice closed", session.head))
        return
    sign = role_sign(walk, session.bench.releases, here)
    if sign is not None:
        walk.do(acts.ReleaseJob(sign, head=session.head))
