"""Who somebody is, in plain mode: sign-offs by name and PIN, or played in practice."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..errors import Refused
from ..job.people import PinRefused
from ..procedure.showing import sentence
from ..walk import acts
from ..walk.state import Visit

if TYPE_CHECKING:
    from .walk import PlainWalk

_TRIES = 3


def sign_of(walk: PlainWalk, name: str, covers: list[int], visit: Visit | None) -> acts.Sign:
    """A sign-off by a person of the shop, proved by PIN at a terminal; Refused where that fails.

    In a shop of one the same hand measures again what the look covers, without seeing the first values.
    """
    session = walk.session
    who = session.person_called(name)
    prove(walk, who)
    if not (session.one_person and who == session.state.person):
        return acts.Sign(who, "pin")
    again: dict[str, str] = {}
    asked = session.measured_again(covers, visit)
    if asked:
        walk.talk.say("Measure again, without looking at the first values.")
    for key, ask in asked.items():
        again[key] = walk.more(f"{ask.rstrip('.?')}:")
    return acts.Sign(who, "second look", again)


def prove(walk: PlainWalk, who: str) -> None:
    """That person shows by PIN, at a terminal, that it is them; a wrong one is asked again, three times at most.

    Refused where that fails.
    """
    for left in range(_TRIES - 1, -1, -1):
        pin = walk.talk.pin(f"PIN of {walk.session.names.get(who, who)} (not shown):")
        if pin is None:
            never = "a PIN is typed at a terminal and never comes from a pipe"
            raise Refused(f"{never}; this waits, and /leave puts it down")
        try:
            walk.session.prove(who, pin)
            return
        except PinRefused as refused:
            if not left or refused.wait or not walk.session.has_pin(who):
                raise
            walk.talk.say(sentence(refused.message))


def role_sign(
    walk: PlainWalk, role: str, covers: list[int] | None = None, visit: Visit | None = None
) -> acts.Sign | None:
    """A sign-off by somebody of that role, or in practice the role played; None where nobody gives it."""
    if walk.session.state.kind != "customer":
        while answer := walk.more(f"Type play to play the {role} (practice only), or Enter to leave it:"):
            if answer.lower() == "play":
                return acts.Sign(role, "practice")
            walk.talk.say("Type the word play, or Enter alone.")
        return None
    while answer := walk.more(f"A {role} types their name, or Enter to leave it:"):
        try:
            if role in walk.session.bench.roles.get(walk.session.person_called(answer), ()):
                return sign_of(walk, answer, covers or [], visit)
            walk.talk.say(f"This sign-off is a {role}'s; {answer} is not one.")
        except PinRefused as refused:
            walk.talk.say(sentence(refused.message))
            return None
        except Refused as refused:
            if not walk.talk.tty:
                raise
            walk.talk.say(sentence(refused.message))
    return None
