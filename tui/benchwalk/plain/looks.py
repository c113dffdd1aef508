"""Other people's part in plain mode: looks, sign-offs, taking another branch, counting, releasing the job."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..errors import Refused
from ..walk import acts
from ..walk.desk import view_of
from ..walk.phase import Now, covered
from ..walk.signing import just_taken
from ..walk.state import Visit
from ..walk.wording import render
from . import lines
from .picking import number_of, pick, sentence

if TYPE_CHECKING:
    from .walk import PlainWalk


def look(walk: PlainWalk, here: Now) -> None:
    """A hold: another person releases or refuses it, or in practice the senior is played."""
    assert here.visit is not None and here.step is not None and here.step.hold is not None
    hold = here.step.hold
    if walk.once("question", (here.visit.number, "hold")):
        walk.talk.say(f"Work stops here: a {hold.by} must look. {sentence(hold.because)}")
    if walk.session.state.kind != "customer":
        answer = walk.ask(f"Type play to play the {hold.by} (practice only), or /leave:", here)
        if answer is None:
            return
        if answer.lower() != "play":
            walk.talk.say("Enter alone does not pass a look. Type the word play.")
            return
        sign = acts.Sign("senior", "practice")
    else:
        answer = walk.ask(f"Who looks? A {hold.by} types their name (or /leave):", here)
        if not answer:
            return
        view = view_of(walk.session.state, here.visit, walk.session.bench)
        sign = sign_of(walk, answer, covered(here.step, view), here.visit)
        if hold.by not in walk.session.bench.roles.get(sign.who, ()):
            walk.do(acts.Release(sign))  # turned away, which the log keeps, before anybody says release or refuse
            return
    _verdict(walk, here, sign)


def _verdict(walk: PlainWalk, here: Now, sign: acts.Sign) -> None:
    assert here.step is not None and here.step.hold is not None
    hold = here.step.hold
    while (verdict := walk.more("Type release or refuse:").lower()) not in ("release", "refuse"):
        walk.talk.say("Type the word release or the word refuse.")
    if verdict == "release":
        note = walk.more("A word about it (or Enter):")
        walk.do(acts.Release(sign, note), f"Signed: {hold.signs}.")
        return
    reason = ""
    if hold.refused_for:
        for i, said in enumerate(hold.refused_for.values(), 1):
            walk.talk.say(f"{i} {said}")
        answer = walk.more("What is it refused for? Type its number:")
        reason = pick(answer, list(hold.refused_for), list(hold.refused_for.values()))
    note = walk.more("A word about it (or Enter):")
    walk.do(acts.Refuse(sign, reason, note), "Refused.")


def sign_of(walk: PlainWalk, name: str, covers: list[int], visit: Visit | None) -> acts.Sign:
    """A sign-off by a person of the shop, proved by PIN at a terminal; Refused where that fails.

    In a shop of one the same hand measures again what the look covers, without seeing the first values.
    """
    session = walk.session
    who = session.person_called(name)
    pin = walk.talk.pin(f"PIN of {session.names.get(who, who)} (not shown):")
    if pin is None:
        raise Refused("a PIN is typed at a terminal and never comes from a pipe; this waits, and /leave puts it down")
    session.prove(who, pin)
    if not (session.one_person and who == session.state.person):
        return acts.Sign(who, "pin")
    again: dict[str, str] = {}
    asked = session.measured_again(covers, visit)
    if asked:
        walk.talk.say("Measure again, without looking at the first values.")
    for key, ask in asked.items():
        again[key] = walk.more(f"{ask.rstrip('.?')}:")
    return acts.Sign(who, "second look", again)


def role_sign(
    walk: PlainWalk, role: str, covers: list[int] | None = None, visit: Visit | None = None
) -> acts.Sign | None:
    """A sign-off by somebody of that role, or in practice the role played; None where nobody gives it."""
    if walk.session.state.kind != "customer":
        answer = walk.more(f"Type play to play the {role} (practice only), or Enter to leave it:")
        return acts.Sign(role, "practice") if answer.lower() == "play" else None
    answer = walk.more(f"A {role} types their name, or Enter to leave it:")
    return sign_of(walk, answer, covers or [], visit) if answer else None


def take_other(walk: PlainWalk, here: Now) -> None:
    """No branch fits, or the technician knows better: another branch, with a reason, by whom the shop lets do so.

    The branch that was just taken by itself can be taken otherwise too, while nothing was done since.
    """
    session = walk.session
    role = session.bench.overrules
    offers: list[tuple[int, int]] = []
    stuck = here.kind == "stuck"
    tell = not stuck or walk.once("question", (session.state.visit, "stuck"))
    if stuck and tell:
        walk.talk.say(f"None of the branches fits what was noted. A {role} says how to go on.")
    took = just_taken(session.state)
    for visit, told in ((took.visit if took else 0, "just left"), (here.visit.number if here.visit else 0, "here")):
        for index, text in _branches(walk, visit, told):
            offers.append((visit, index))
            if tell:
                walk.talk.say(f"{len(offers)} {text}")
    if not offers:
        raise Refused("no branches stand here to choose from")
    if stuck:
        answer = walk.ask("Which branch? Type its number (or /leave):", here)
    else:
        answer = walk.more("Which branch? Type its number, or Enter to leave it:")
    if not answer:
        return
    number = number_of(answer, "a branch")
    if not 1 <= number <= len(offers):
        raise Refused(f"{number} is none of 1 to {len(offers)}")
    visit, index = offers[number - 1]
    reason = walk.more("Why?")
    if not reason:
        raise Refused("a reason is needed; nothing was changed")
    sign = role_sign(walk, role)
    if sign is not None:
        at = visit if visit != session.state.visit else 0
        walk.do(acts.Overrule(index, reason, sign, at), "Taken by hand; the reason stands in the record.")


def _branches(walk: PlainWalk, number: int, told: str) -> list[tuple[int, str]]:
    """The branches of the step of a stop, as words; none where it is no stop."""
    if not number:
        return []
    state, bench = walk.session.state, walk.session.bench
    visit = state.visits[number - 1]
    view = view_of(state, visit, bench)
    step = view.linked.steps[visit.step]
    key = "branches" if step.branches else "first_of"
    at = ("steps", view.linked.at[visit.step], key)
    found = []
    for index, line in enumerate(step.lines):
        why = render(line.because or line.when, view, (*at, index, "because"))
        found.append((index, f"From {visit.step} ({told}), to {line.go}: {why}"))
    return found


def accept_walk(walk: PlainWalk, here: Now) -> None:
    """A corrected value leads elsewhere: back to that step, or a senior accepts."""
    state, role = walk.session.state, walk.session.bench.overrules
    took = next(t for t in state.took if t.n == state.diverged)
    visit = state.visits[took.visit - 1]
    if walk.once("question", state.n):
        walk.talk.say(f"A corrected value would have led elsewhere at stop {visit.number}, {visit.step}.")
    answer = walk.ask(f"Type back to go back there, or accept for a {role} to let it stand:", here)
    if answer is None:
        return
    if answer.lower() == "back":
        walk.do(acts.GoBack(visit.number, "a corrected value leads elsewhere"))
    elif answer.lower() == "accept":
        reason = walk.more("Why may it stand?")
        if not reason:
            raise Refused("a reason is needed; nothing was changed")
        sign = role_sign(walk, role)
        if sign is not None:
            walk.do(acts.Accept(reason, sign))
    else:
        walk.talk.say("Type the word back or the word accept.")


def sign_again(walk: PlainWalk, here: Now) -> None:
    """A sign-off that a correction made void is asked for again, from the role that gave it."""
    session = walk.session
    old = session.state.open_signs()[0]
    visit = session.state.visits[old.visit - 1]
    hold = session.bench.books(visit.text).steps[visit.step].hold
    role = hold.by if hold else session.bench.overrules
    if walk.once("question", (old.n, "sign again")):
        walk.talk.say(f"The sign-off at {old.step} no longer stands: {old.void}. A {role} must give it again.")
    if session.state.kind != "customer":
        answer = walk.ask(f"Type play to play the {role} (practice only), or /leave:", here)
        sign = acts.Sign(role, "practice") if answer and answer.lower() == "play" else None
    else:
        answer = walk.ask(f"A {role} types their name (or /leave):", here)
        sign = sign_of(walk, answer, old.covers, visit) if answer else None
    if sign is not None:
        walk.do(acts.SignAgain(old.n, sign), "Signed again.")


def account(walk: PlainWalk, here: Now) -> None:
    """Tools and loose parts are counted at the end."""
    if walk.once("question", "account"):
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
    if session.state.kind != "customer":
        answer = walk.ask("Enter to close this practice job, or /log all to read its pages:", here)
        if answer is None:
            return
        walk.do(acts.ReleaseJob(acts.Sign("senior", "practice"), "practice closed", session.head))
        return
    role = session.bench.releases
    if walk.once("question", "release"):
        outcome = session.state.ended["outcome"] if session.state.ended else ""
        walk.talk.say(f"The walk has ended: {outcome}. A {role} releases the job as a whole.")
    answer = walk.ask(f"A {role} types their name to release it (or /leave):", here)
    if answer:
        walk.do(acts.ReleaseJob(sign_of(walk, answer, [], None), head=session.head))
        walk.talk.say("Write the head of the log on the owner's sheet:")
        walk.talk.say_line(session.head[:16])
