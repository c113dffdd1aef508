"""Other people's part at a screen: who they are, their PIN, and what they say."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..job.people import Person
from ..procedure.model import Hold
from ..walk import acts
from ..walk.desk import view_of
from ..walk.phase import covered
from ..walk.state import Visit
from .asking import AskLine, Pick
from .doing import Wish

if TYPE_CHECKING:
    from .walk import WalkScreen


async def sign(screen: WalkScreen) -> None:
    """Give the sign-off that is waited for: a look, a void one again, a count that lacks something, the release."""
    kind = screen.shown.kind
    if kind == "hold":
        await _look(screen)
    elif kind == "sign-again":
        await _again(screen)
    elif kind == "account":
        missing = screen.session.state.missing.rstrip(".")
        signs = f"{_drum(screen)} may close with this missing: {missing}"
        given = await role_sign(screen, screen.session.bench.releases, [], None, signs)
        if given is not None:
            await screen.do(Wish(acts.Account(sign=given)))
    else:
        await _release(screen)


async def _release(screen: WalkScreen) -> None:
    session = screen.session
    given = await role_sign(screen, session.bench.releases, [], None, f"{_drum(screen)} as released, the whole of it")
    if given is not None and await screen.do(Wish(acts.ReleaseJob(given, head=session.head))) is not None:
        screen.say(f"released; write the head of the log on the owner's sheet: {session.head[:16]}")


async def _look(screen: WalkScreen) -> None:
    session = screen.session
    here = session.now()
    assert here.visit is not None and here.step is not None and here.step.hold is not None
    hold = here.step.hold
    covers = covered(here.step, view_of(session.state, here.visit, session.bench))
    given = await role_sign(screen, hold.by, covers, here.visit, _looked_at(screen, hold, here.visit))
    said = await _verdict(screen, hold, given)
    if given is not None and said is not None:
        refused, word = said
        act = acts.Release(given, word) if refused is None else acts.Refuse(given, refused, word)
        await screen.do(Wish(act))


async def _again(screen: WalkScreen) -> None:
    session = screen.session
    old = session.state.open_signs()[0]
    visit = session.state.visits[old.visit - 1]
    hold = session.bench.books(visit.text).steps[visit.step].hold
    assert hold is not None
    given = await role_sign(screen, hold.by, old.covers, visit, _looked_at(screen, hold, visit))
    said = await _verdict(screen, hold, given)
    if given is not None and said is not None:
        refused, word = said
        again = acts.SignAgain(old.n, given, word, refuse=refused is not None, refused_for=refused or "")
        await screen.do(Wish(again))


async def _verdict(screen: WalkScreen, hold: Hold, given: acts.Sign | None) -> tuple[str | None, str] | None:
    """(None where it is released, else what it is refused for, and a word about it); None where it is left."""
    if given is None:
        return None
    title = f"The look of {_called(screen, given)}"
    verdict = await screen.app.push_screen_wait(Pick(title, hold.because, ["Release: work goes on", "Refuse"]))
    if verdict is None:
        return None
    refused = None if verdict == 0 else ""
    if refused is not None and hold.refused_for:
        which = await screen.app.push_screen_wait(Pick("Refused", "For what?", list(hold.refused_for.values())))
        if which is None:
            return None
        refused = list(hold.refused_for)[which]
    word = await screen.app.push_screen_wait(
        AskLine("A word about it", "What is to be remembered? Enter alone signs without one.", may_be_empty=True)
    )
    return None if word is None else (refused, word)


async def role_sign(
    screen: WalkScreen, role: str, covers: list[int], visit: Visit | None, signs: str = ""
) -> acts.Sign | None:
    """A sign-off by somebody of that role, proved by PIN; in practice the role is played. None where it is left.

    `signs` says what is signed, and is read out where the PIN is asked.
    """
    session = screen.session
    if session.state.kind != "customer":
        title, sentence = f"Play the {role}", "In practice you may. On a customer's job another person signs here."
        played = await screen.app.push_screen_wait(Pick(title, sentence, [f"Play the {role}", "Leave it"]))
        return acts.Sign(role, "practice") if played == 0 else None
    people = [p for p in session.people.by_id.values() if role in p.roles]
    if not people:
        screen.say(f"nobody in this shop is a {role}")
        return None
    index = await screen.app.push_screen_wait(Pick(f"A {role} signs", "Who?", [p.name for p in people]))
    if index is None or not await proved(screen, people[index], signs or f"this for {_drum(screen)}"):
        return None
    who = people[index].id
    if not (session.one_person and who == session.state.person):
        return acts.Sign(who, "pin")
    again: dict[str, str] = {}
    for key, ask in session.measured_again(covers, visit).items():
        sentence = "Measure again, without looking at the first value."
        typed = await screen.app.push_screen_wait(AskLine(ask.rstrip(".?"), sentence))
        if typed is None:
            return None
        again[key] = typed
    return acts.Sign(who, "second look", again)


async def proved(screen: WalkScreen, person: Person, signs: str) -> bool:
    """Whether that person proved who they are; a wrong PIN is said and asked again, until it is left.

    `signs` is what they sign with it: no PIN is given for something that is not said.
    """
    session = screen.session

    def check(pin: str) -> None:
        session.prove(person.id, pin)

    title, told = f"PIN of {person.name}", f"You sign: {signs.rstrip('.')}. The PIN is not shown."
    return await screen.app.push_screen_wait(AskLine(title, told, secret=True, check=check)) is not None


async def known(screen: WalkScreen, who: str, does: str) -> bool:
    """Whether that person is here, as far as the shop can know: by PIN where they have one, else by saying so."""
    session = screen.session
    person = session.people.by_id.get(who)
    if person is not None and session.state.kind == "customer" and session.has_pin(who):
        return await proved(screen, person, f"{person.name} {does}: {_drum(screen)}")
    name = session.names.get(who, who)
    said = await screen.app.push_screen_wait(Pick(f"{name} {does}", "Is that so?", [f"I am {name}", "Leave it"]))
    return bool(said == 0)


def _drum(screen: WalkScreen) -> str:
    """Which job is signed for: its number, and its drum as far as that was said."""
    state = screen.session.state
    drum = state.note.get("instrument", "")
    return f"{state.job} ({drum})" if drum else state.job


def _looked_at(screen: WalkScreen, hold: Hold, visit: Visit) -> str:
    """What a look signs; whether it is released or refused is said after the PIN."""
    return f"{_drum(screen)} at stop {visit.number} as {hold.signs}, or that it is refused"


def _called(screen: WalkScreen, given: acts.Sign) -> str:
    return screen.session.names.get(given.who, f"the {given.who}" if given.how == "practice" else given.who)
