"""The commands of plain mode, one function each: notes, events, skips, problems, hand-over, leaving."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..daybook import lines
from ..daybook.hanging import hung_text
from ..daybook.times import moment_of
from ..errors import Refused
from ..procedure.showing import sentence, words_of
from ..shop.pages import pages
from ..walk import acts
from ..walk.phase import NOT_UNDER_WAY, Now, reading_after
from ..walk.places import step_name
from ..walk.step_acts import happenings, taken_at
from ..walk.wording import moment
from .looks import take_other
from .proving import role_sign
from .readings import note_reading
from .talk import WIDTH

if TYPE_CHECKING:
    from .walk import PlainWalk

_LAST_STOPS = 5
_TO_WHOM = "To whom? (Enter to leave it)"


class Leave(Exception):
    """The person puts the work down."""


def asked_reading(walk: PlainWalk, here: Now) -> Now | None:
    """The reading that can be typed here, if any."""
    if here.kind == "reading":
        return here
    return reading_after(walk.session.state, here, walk.session.bench)


def again(walk: PlainWalk, here: Now, rest: str) -> None:
    walk.say_again()


def why(walk: PlainWalk, here: Now, rest: str) -> None:
    for line in lines.why_lines(walk.session.state, here, walk.session.bench):
        walk.talk.say(line)


def not_yet(walk: PlainWalk, here: Now, rest: str) -> None:
    walk.not_yet(here)


def note(walk: PlainWalk, here: Now, rest: str) -> None:
    text = rest or walk.more("The note:")
    walk.do(acts.Note(text), "Noted.")


def leave_out(walk: PlainWalk, here: Now, rest: str) -> None:
    asked = asked_reading(walk, here)
    if asked is not None and asked.reading.optional:
        walk.talk.say(f"It may be left out: {asked.reading.optional.because.rstrip('.')}.")
        rest = rest or walk.more("Why do you leave it out? (Enter gives no reason)")
    walk.do(acts.LeaveOut(rest), "Left out." if rest else "Left out, no reason given.")


def late(walk: PlainWalk, here: Now, rest: str) -> None:
    """A reading that was taken earlier, with the time it was taken."""
    asked = asked_reading(walk, here)
    when, _, typed = rest.partition(" ")
    if asked is None:
        raise Refused("no reading is asked for here; a late one is noted where it is asked")
    if not typed.strip():
        raise Refused("write the time it was taken and the value, as in /late 9:30 4 mm")
    at = moment_of(when, walk.session.bench.now)
    taken_at(at, walk.session.state, walk.session.bench.now)
    walk.talk.say(f"Taken {moment(at)}.")
    note_reading(walk, asked, typed.strip(), late_at=at)


def at_place(walk: PlainWalk, here: Now, rest: str) -> None:
    """Another place than the one asked, where a sum names the places."""
    asked = asked_reading(walk, here)
    place, _, typed = rest.partition(" ")
    if asked is None or not typed.strip():
        raise Refused("write the place and the value where a reading is asked, as in /at 4 1/8")
    note_reading(walk, asked, typed.strip(), place=place)


def happened(walk: PlainWalk, here: Now, rest: str) -> None:
    """Something the procedure foresees."""
    fits = happenings(walk.session.state, walk.session.bench)
    if not fits:
        raise Refused("nothing is foreseen at this step; write a /note, or report it with /problem")
    names, said = [event.event for _path, event in fits], [event.say for _path, event in fits]
    if not rest:
        for i, text in enumerate(said, 1):
            walk.talk.say(f"{i} {text}")
    which = walk.choose("Which happened? Type its number, or Enter for none:", names, said, rest, leave=True)
    if which is not None:
        path, event = fits[which]
        walk.do(acts.Happens(event.event, path))


def skip(walk: PlainWalk, here: Now, rest: str) -> None:
    """Leave the step out, where the procedure allows it."""
    if here.step is None or here.step.may_skip is None:
        raise Refused("this step cannot be skipped; if it cannot be done, report it with /problem")
    may = here.step.may_skip
    walk.talk.say(f"A {may.by} may skip it: {may.because.rstrip('.')}.")
    reason = rest or walk.more("Why is it skipped? (Enter to leave it)")
    if not reason:
        return
    sign = None
    if may.by not in walk.session.bench.roles.get(walk.session.who, frozenset()):
        sign = role_sign(walk, may.by)
        if sign is None:
            return
    walk.do(acts.Skip(reason, sign), "Skipped.")


def other(walk: PlainWalk, here: Now, rest: str) -> None:
    take_other(walk, here)


def problem(walk: PlainWalk, here: Now, rest: str) -> None:
    """The step cannot be followed as written."""
    text = rest or walk.more("What is wrong with this step? (Enter to leave it)")
    if text:
        walk.do(acts.Problem(text), "It stands in the job for whoever writes the procedure.")


def hand(walk: PlainWalk, here: Now, rest: str) -> None:
    """Hand the work to another person, in writing."""
    to = ""
    name = rest or walk.more(_TO_WHOM)
    while name and not to:
        try:
            to = walk.session.person_called(name)
            walk.check(acts.HandOver(to, "asked"))
        except Refused as refused:
            walk.talk.say(sentence(refused.message))
            to, name = "", walk.more(_TO_WHOM)
    told = walk.more("How does the drum stand, and what is to be looked out for? (Enter leaves it)") if to else ""
    if not told:
        walk.talk.say("Not handed over.")
        return
    walk.do(acts.HandOver(to, told), f"Handed to {walk.session.names.get(to, to)}, who takes it on first.")


def route(walk: PlainWalk, here: Now, rest: str) -> None:
    state = walk.session.state
    stops = [f"{v.number} {words_of(step_name(v.path, v.step))}" for v in state.visits if not v.struck]
    walk.talk.say("Stops so far: " + ", ".join(stops) + "." if stops else "No stop yet.")


def log(walk: PlainWalk, here: Now, rest: str) -> None:
    """The pages: the last stops, or all."""
    session = walk.session
    last = None if rest.lower() == "all" else _LAST_STOPS
    for line in pages(session.state, session.bench.books, session.names, session.events, last):
        for row in hung_text(line, WIDTH):
            walk.talk.say(row)
    walk.say_again("action", "question")


def terse(walk: PlainWalk, here: Now, rest: str) -> None:
    walk.terse = not walk.terse
    walk.talk.say("Fewer words from here." if walk.terse else "All words from here.")


def leave(walk: PlainWalk, here: Now, rest: str) -> None:
    """Put the work down; inside a stage with a word about how it stands."""
    session = walk.session
    if here.kind in NOT_UNDER_WAY or session.who != session.state.person:
        if rest:
            walk.do(acts.Note(rest))
        raise Leave
    decision = session.do(acts.Pause(rest))
    while decision.refusal and not rest:
        walk.talk.say(sentence(decision.refusal))
        rest = walk.more("How does the drum stand?")
        decision = session.do(acts.Pause(rest))
    if decision.refusal:
        raise Refused(decision.refusal)
    raise Leave
