"""Other people's part in plain mode: looks, sign-offs, taking another branch, counting, releasing the job."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..daybook import lines
from ..daybook.entries import corrected_lines, covered_lines
from ..daybook.offers import offers
from ..errors import Refused
from ..procedure.model import Hold
from ..procedure.showing import sentence, words_of
from ..walk import acts
from ..walk.desk import view_of
from ..walk.phase import Now, covered
from ..walk.places import step_name
from ..walk.worded import action_text
from .picking import only
from .proving import role_sign, sign_of

if TYPE_CHECKING:
    from .walk import PlainWalk


def look(walk: PlainWalk, here: Now) -> None:
    """A hold: another person releases or refuses it, or in practice the senior is played."""
    assert here.visit is not None and here.step is not None and here.step.hold is not None
    hold = here.step.hold
    if walk.once("question", (here.visit.number, "hold")):
        walk.talk.say(f"Work stops here: a {hold.by} must look. {sentence(hold.because)}")
        for line in covered_lines(walk.session.state, here, walk.session.bench):
            walk.talk.say(line)
    if walk.session.state.kind != "customer":
        answer = walk.ask(f"Type play to play the {hold.by} (practice only), or /leave:", here)
        if answer is None:
            return
        if answer.lower() != "play":
            walk.talk.say(only("play", answer, "a look"))
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
    verdict = ask_verdict(walk, hold)
    if verdict is None:
        note = walk.more("A word about it (or Enter):")
        walk.do(acts.Release(sign, note), f"Signed: {hold.signs}.")
        return
    note = walk.more("A word about it (or Enter):")
    walk.do(acts.Refuse(sign, verdict, note))


def ask_verdict(walk: PlainWalk, hold: Hold) -> str | None:
    """Release (None) or refuse: then for which of the hold's reasons, "" where it names none."""
    while (verdict := walk.more("Type release or refuse:").lower()) not in ("release", "refuse"):
        walk.talk.say("Type the word release or the word refuse.")
    if verdict == "release":
        return None
    if not hold.refused_for:
        return ""
    words, said = list(hold.refused_for), list(hold.refused_for.values())
    for i, text in enumerate(said, 1):
        walk.talk.say(f"{i} {text}")
    index = walk.choose("What is it refused for? Type its number:", words, said)
    assert index is not None
    return words[index]


def take_other(walk: PlainWalk, here: Now) -> None:
    """No branch fits, or the technician knows better: another branch, with a reason, by whom the shop lets do so.

    The branch that was just taken by itself can be taken otherwise too, while nothing was done since.
    """
    session = walk.session
    role = session.bench.overrules
    stuck = here.kind == "stuck"
    tell = not stuck or walk.once("question", (session.state.visit, "stuck"))
    if stuck and tell:
        walk.talk.say(f"None of the branches fits what was noted. A {role} says how to go on.")
    found = offers(session.state, here, session.bench)
    for number, offer in enumerate(found if tell else (), 1):
        walk.talk.say(f"{number} {offer.text}")
    if not found:
        raise Refused("no branches stand here to choose from")
    answer = walk.ask("Which branch? Type its number (or /leave):", here) if stuck else ""
    if stuck and not answer:
        return
    numbers = [str(number) for number in range(1, len(found) + 1)]
    prompt = "Which branch? Type its number, or Enter to leave it:"
    which = walk.choose(prompt, numbers, numbers, answer or "", leave=True)
    if which is None:
        return
    offer = found[which]
    reason = walk.more("Why?")
    if not reason:
        raise Refused("a reason is needed; nothing was changed")
    sign = role_sign(walk, role)
    if sign is not None:
        act = acts.Overrule(offer.line, reason, sign, offer.visit)
        walk.do(act, "Taken by hand; the reason stands in the record.")


def accept_walk(walk: PlainWalk, here: Now) -> None:
    """A corrected value leads elsewhere: back to that step, or a senior accepts."""
    state, role = walk.session.state, walk.session.bench.overrules
    visit = state.leads_elsewhere()
    assert visit is not None
    told = next((w for w in state.worded if w.n == state.diverged), None)
    stop = f"stop {visit.number}, {words_of(step_name(visit.path, visit.step))}"
    if walk.once("question", state.n):
        if told is None:
            walk.talk.say(f"A corrected value would have led elsewhere at {stop}.")
        else:
            now = action_text(view_of(state, visit, walk.session.bench, told.n), visit, told.part)
            walk.talk.say(f"At {stop}, the action was told with the old value: {told.text}")
            walk.talk.say(f"With the corrected value it reads: {now}")
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
    """A sign-off that a correction made void is asked for again, from the role that gave it; it may be refused."""
    session = walk.session
    old = session.state.open_signs()[0]
    visit = session.state.visits[old.visit - 1]
    hold = session.bench.books(visit.text).steps[visit.step].hold
    assert hold is not None
    if walk.once("question", (old.n, "sign again")):
        where = words_of(step_name(old.path, old.step))
        walk.talk.say(f"The sign-off at {where} no longer stands: {old.void}. A {hold.by} must give it again.")
        for line in corrected_lines(session.state, old, session.bench):
            walk.talk.say(line)
    if session.state.kind != "customer":
        answer = walk.ask(f"Type play to play the {hold.by} (practice only), or /leave:", here)
        if answer is None:
            return
        if answer.lower() != "play":
            walk.talk.say(only("play", answer, "a look"))
            return
        sign = acts.Sign(hold.by, "practice")
    else:
        answer = walk.ask(f"A {hold.by} types their name (or /leave):", here)
        if not answer:
            return
        sign = sign_of(walk, answer, old.covers, visit)
    verdict = ask_verdict(walk, hold)
    note = walk.more("A word about it (or Enter):")
    if verdict is None:
        walk.do(acts.SignAgain(old.n, sign, note), f"Signed again: {hold.signs}.")
    else:
        walk.do(acts.SignAgain(old.n, sign, note, refuse=True, refused_for=verdict))


def account(walk: PlainWalk, here: Now) -> None:
    """Tools and loose parts are counted at the end; what is missing is noted, and a senior may let the job close."""
    state, role = walk.session.state, walk.session.bench.releases
    if walk.once("question", ("account", state.missing)):
        for line in lines.account_lines(here, state.missing, role):
            walk.talk.say(line)
    close = f", or close for a {role} to close the job without it" if state.missing else ""
    answer = walk.ask(f"Type all when every piece is here, or missing and what is{close}:", here)
    if answer is None:
        return
    word, _, rest = answer.partition(" ")
    if answer.lower() == "all":
        walk.do(acts.Account(), "All is counted.")
    elif word.lower() == "missing":
        what = rest.strip() or walk.more("What is missing? (Enter to count again)")
        if what:
            walk.do(acts.Account(missing=what), f"Noted as missing: {what.rstrip('.')}.")
    elif answer.lower() == "close" and state.missing:
        sign = role_sign(walk, role)
        if sign is not None:
            walk.do(acts.Account(sign=sign), f"The job may close with this missing: {state.missing.rstrip('.')}.")
    else:
        walk.talk.say("Type the word all once every piece is counted, or missing and what is.")


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
