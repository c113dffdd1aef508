"""What can be done at every prompt beside answering it: commands that begin with a slash."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..errors import Refused
from ..shop.pages import entries_of, entry_line, pages
from ..walk import acts
from ..walk.phase import Now
from ..walk.step_acts import happenings
from . import lines

if TYPE_CHECKING:
    from .walk import PlainWalk


class Leave(Exception):
    """The person puts the work down."""


@dataclass(frozen=True)
class Command:
    """One command: what it does, and what follows its name."""

    does: str
    run: Callable[[PlainWalk, Now, str], None]
    takes: str = ""


def run_command(walk: PlainWalk, here: Now, typed: str) -> None:
    """Do what a line beginning with a slash asks for."""
    name, _, rest = typed[1:].partition(" ")
    known = COMMANDS.get(name.lower())
    if known is None:
        raise Refused(f"'/{name[:30]}' is not a command here; type ? to hear them all")
    known.run(walk, here, rest.strip())


def help_lines(walk: PlainWalk, here: Now) -> Iterator[str]:
    """What can be typed here."""
    yield _ANSWERS.get(here.kind, "Answer the question, and press Enter.")
    yield "At every prompt:"
    for name, command in COMMANDS.items():
        yield f"/{name}{' ' + command.takes if command.takes else ''}: {command.does}"


_ANSWERS = {
    "hazard": "Type read once you have read the hazard.",
    "do": "Do what is said, then press Enter, or type the reading if one is asked; that says it is done. "
    "no or /notyet says not yet, and tells what to try.",
    "way": "Enter says it is done. no says not yet.",
    "each": "Each place is confirmed singly: Enter says this one is done.",
    "choose": "Type the number of the way you take.",
    "reading": "Type the value, with a unit if it is another than asked: 6,35 mm, 1/4 in, 1 1/2, A3 -12c. "
    "What was understood is said back before it counts.",
    "wait": "Enter goes on once the time is up. You may leave and come back.",
    "hold": "Another person looks and says release or refuse.",
    "fact": "Type what is asked about the drum.",
    "ready": "Enter confirms that all is at hand.",
}


def _note(walk: PlainWalk, here: Now, rest: str) -> None:
    text = rest or walk.talk.ask("The note:").strip()
    walk.do(acts.Note(text))
    walk.talk.say("Noted.")


def _why(walk: PlainWalk, here: Now, rest: str) -> None:
    for line in lines.why_lines(walk.session.state, here, walk.session.bench):
        walk.talk.say(line)


def _again(walk: PlainWalk, here: Now, rest: str) -> None:
    walk.said = None


def _terse(walk: PlainWalk, here: Now, rest: str) -> None:
    walk.terse = not walk.terse
    walk.said = None
    walk.talk.say("Fewer words from here." if walk.terse else "All words from here.")


def _log(walk: PlainWalk, here: Now, rest: str) -> None:
    for line in pages(walk.session.state, walk.session.bench.books, walk.session.names):
        walk.talk.say(line)


def _route(walk: PlainWalk, here: Now, rest: str) -> None:
    state = walk.session.state
    stops = [f"{v.number} {v.path + '/' if v.path else ''}{v.step}" for v in state.visits if not v.struck]
    walk.talk.say("Stops so far: " + ", ".join(stops) + "." if stops else "No stop yet.")


def _fix(walk: PlainWalk, here: Now, rest: str) -> None:
    """Correct a reading: the last one, or the one with that number."""
    state = walk.session.state
    if rest and not rest.isdigit():
        raise Refused("name the number that stands after the reading in /log, as in /fix 12")
    live = [e for e in state.entries.values() if state.live(e.visit) and e.visit]
    entry = state.entries.get(int(rest)) if rest else (max(live, key=lambda e: e.n) if live else None)
    if entry is None:
        raise Refused("there is no reading to correct" + (f" with number {rest}" if rest else " yet"))
    reading = None
    if entry.visit:
        reading = walk.session.bench.books(state.visits[entry.visit - 1].text).procedure.readings.get(entry.name)
    walk.talk.say(f"It stands: {entry_line(entry, reading, state)}.")
    typed = walk.talk.ask("What is right? (Enter leaves it as it is)").strip()
    if not typed:
        walk.talk.say("Left as it is.")
        return
    if reading is not None and reading.choices:
        from .walk import pick

        typed = pick(typed, list(reading.choices), list(reading.choices.values()))
    reason = walk.talk.ask("Why was it wrong?").strip()
    decision = walk.do(acts.Correct(entry.n, typed, reason))
    if decision.question:
        walk.talk.say(decision.refusal or "")
        if walk.talk.ask("Type yes if it is so:").strip().lower() not in ("yes", "y"):
            walk.talk.say("Left as it is.")
            return
        walk.do(acts.Correct(entry.n, typed, reason, sure=True))
    walk.talk.say("Corrected; the old value stays in the log.")
    walk.said = None


def _back(walk: PlainWalk, here: Now, rest: str) -> None:
    state = walk.session.state
    word, _, reason = rest.partition(" ")
    if not word.isdigit():
        live = [v for v in state.visits if not v.struck]
        for visit in live[-8:]:
            walk.talk.say(f"{visit.number}. {visit.path + '/' if visit.path else ''}{visit.step}")
        word = walk.talk.ask("Back to which stop? (Enter stays here)").strip()
        reason = rest if rest and not rest.isdigit() else ""
    if not word:
        return
    if not word.isdigit():
        raise Refused("a stop is named by its number")
    number = int(word)
    if not reason:
        reason = walk.talk.ask("Why do you go back?").strip()
    noted = sum(len(entries_of(state, v)) for v in state.visits if v.number >= number and not v.struck)
    walk.do(acts.GoBack(number, reason))
    walk.said = None
    walk.talk.say(f"Back at stop {number}. {noted} readings made since no longer count; they stay in the log.")


def _pause(walk: PlainWalk, here: Now, rest: str) -> None:
    state = walk.session.state
    if here.kind in ("paused", "ended", "account", "problem", "handover", "sign-again", "ready", "fact"):
        raise Leave
    note = rest
    decision = walk.session.do(acts.Pause(note))
    if decision.refusal and not note:
        walk.talk.say(decision.refusal[:1].upper() + decision.refusal[1:] + ".")
        note = walk.talk.ask("How does the drum stand?").strip()
        decision = walk.session.do(acts.Pause(note or "left without a word"))
    if decision.refusal:
        raise Refused(decision.refusal)
    del state
    raise Leave


def _problem(walk: PlainWalk, here: Now, rest: str) -> None:
    text = rest or walk.talk.ask("What is wrong with this step?").strip()
    walk.do(acts.Problem(text))
    walk.talk.say("Reported to whoever writes the procedure. Work rests here until it is settled.")


def _skip(walk: PlainWalk, here: Now, rest: str) -> None:
    if here.step is None or here.step.may_skip is None:
        raise Refused("this step cannot be skipped; if it cannot be done, report it with /problem")
    walk.talk.say(f"It may be skipped by a {here.step.may_skip.by}: {here.step.may_skip.because}")
    reason = rest or walk.talk.ask("Why is it skipped?").strip()
    sign = None
    if here.step.may_skip.by not in walk.session.bench.roles.get(walk.session.who, frozenset()):
        from .looks import role_sign

        sign = role_sign(walk, here.step.may_skip.by, here)
        if sign is None:
            return
    walk.do(acts.Skip(reason, sign))


def _event(walk: PlainWalk, here: Now, rest: str) -> None:
    fits = happenings(walk.session.state, walk.session.bench)
    if not fits:
        raise Refused("nothing is foreseen at this step; write a /note, or report it with /problem")
    if not rest:
        for i, (_path, event) in enumerate(fits, 1):
            walk.talk.say(f"{i}. {event.say}")
        rest = walk.talk.ask("Which happened? (Enter: none)").strip()
    if not rest:
        return
    from .walk import pick

    picked = pick(rest, [e.event for _p, e in fits], [e.say for _p, e in fits])
    path = next(p for p, e in fits if e.event == picked)
    walk.do(acts.Happens(picked, path))


def _none(walk: PlainWalk, here: Now, rest: str) -> None:
    walk.do(acts.LeaveOut(rest))


def _late(walk: PlainWalk, here: Now, rest: str) -> None:
    when, _, typed = rest.partition(" ")
    if not typed:
        raise Refused("write the time it was taken and the value, as in /late 2026-11-25T09:30+00:00 4 mm")
    decision = walk.do(acts.Record(typed.strip(), late_at=when))
    if decision.question:
        walk.talk.say(decision.refusal or "")
        if walk.talk.ask("Type yes if it is so:").strip().lower() in ("yes", "y"):
            walk.do(acts.Record(typed.strip(), sure=True, late_at=when))


def _hand(walk: PlainWalk, here: Now, rest: str) -> None:
    name = rest or walk.talk.ask("To whom?").strip()
    to = walk.session.person_called(name)
    note = walk.talk.ask("How does the drum stand, and what is to be looked out for?").strip()
    walk.do(acts.HandOver(to, note))
    walk.talk.say(f"Handed to {walk.session.names.get(to, to)}, who must take it on before work goes on.")


def _other(walk: PlainWalk, here: Now, rest: str) -> None:
    from .looks import take_other

    if here.step is None or not here.step.lines:
        raise Refused("there are no branches at this step")
    take_other(walk, here)


def _not_yet(walk: PlainWalk, here: Now, rest: str) -> None:
    walk.not_yet(here)


COMMANDS: dict[str, Command] = {
    "again": Command("say the step again", _again),
    "why": Command("why you are here, and the background of this step", _why),
    "notyet": Command("you do not see yet what you should: what to try", _not_yet),
    "note": Command("write a note into the job, at any moment", _note, "TEXT"),
    "fix": Command("correct the last reading, or the one with that number in /log", _fix, "[NUMBER]"),
    "none": Command("leave out a reading that may be left out", _none, "[WHY]"),
    "late": Command("note a reading that was taken earlier", _late, "TIME VALUE"),
    "happened": Command("something happened that the procedure foresees", _event, "[WHICH]"),
    "back": Command("go back to an earlier stop; what was noted since no longer counts", _back, "[STOP] [WHY]"),
    "skip": Command("leave this step out, where that is allowed", _skip, "[WHY]"),
    "other": Command("take another branch than the one that fits; a senior's decision", _other),
    "problem": Command("this step cannot be followed as written", _problem, "[TEXT]"),
    "hand": Command("hand the work to another person", _hand, "[NAME]"),
    "route": Command("the stops so far", _route),
    "log": Command("the pages of this job", _log),
    "terse": Command("fewer words, or all of them again", _terse),
    "leave": Command("put the work down; everything noted is kept", _pause, "[HOW IT STANDS]"),
}
