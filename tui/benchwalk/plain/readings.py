"""Readings in plain mode: asked, said back as understood, and only then noted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..errors import Misread, Refused
from ..procedure.model import Reading
from ..walk import acts
from ..walk.decide import Decision
from ..walk.desk import view_of
from ..walk.phase import Now
from ..walk.record import Understood, understand
from ..walk.view import View
from ..walk.wording import as_typed
from . import lines
from .picking import pick, sentence

if TYPE_CHECKING:
    from .walk import PlainWalk

YES, NO = ("yes", "y"), ("no", "n", "not yet")


def ask_reading(walk: PlainWalk, here: Now, asked: Now) -> None:
    """Ask for the reading `asked`; where the step's action still waits `here`, `no` means not yet."""
    assert asked.visit is not None
    if walk.once("question", (asked.visit.number, asked.name, asked.place)):
        for line in lines.reading_lines(walk.session.state, asked, walk.session.bench, walk.terse):
            walk.talk.say(line)
    answer = walk.ask(lines.typed_prompt(asked.reading), here)
    if answer is None:
        return
    if not answer:
        walk.talk.say("A reading is asked for here. Type it, or ? for help.")
        return
    try:
        note_reading(walk, asked, answer)
    except Misread:
        if here.kind != "do" or answer.lower() not in NO:
            raise
        walk.not_yet(here)


def note_reading(
    walk: PlainWalk, here: Now, typed: str, *, late_at: str | None = None, place: str | None = None
) -> None:
    """Say back what was understood and note it; `place` is another place than the one asked."""
    assert here.visit is not None
    view = view_of(walk.session.state, here.visit, walk.session.bench)
    got = agree(walk, here.name, here.reading, typed, view)
    if got is None:
        walk.talk.say("Not noted.")
        return
    meant, kept = got
    record = acts.Record(meant.typed, sure=meant.odd, late_at=late_at, file=kept, place=place)
    walk.do(record, lines.chosen_line(meant) if here.reading.choices else "")


def agree(walk: PlainWalk, name: str, reading: Reading, typed: str, view: View) -> tuple[Understood, str | None] | None:
    """What was typed as both sides understand it, and the kept file; None where it is not to be noted.

    A choice needs no second word. A number is said back; another one may be typed in its place.
    """
    while True:
        kept = None
        if reading.choices:
            typed = pick_choice(reading, typed)
        elif reading.sort in ("picture", "sound"):
            kept = walk.session.keep(typed)
        meant = understand(reading, name, typed, view, kept)
        if reading.sort in ("choice", "words", "picture", "sound"):
            return meant, kept
        walk.talk.say(lines.understood_line(meant))
        if meant.odd:
            possible = view.linked.possible[name].text(meant.unit)
            walk.talk.say(f"That lies outside what is possible here ({possible}). Look again.")
            answer = walk.more("Type yes if it is so, or type the value again:")
            if answer.lower() in YES:
                return meant, None
        elif walk.terse and meant.verdict in (None, "within") and meant.shown == as_typed(typed.strip(), meant.unit):
            return meant, None
        else:
            answer = walk.more("Enter to note it, or type it again:")
            if answer.lower() in ("", *YES):
                return meant, None
        if answer.lower() in ("", *NO):
            return None
        typed = answer


def pick_choice(reading: Reading, typed: str) -> str:
    """The word of the choice meant; Misread where it is none."""
    choices = reading.choices or {}
    try:
        return pick(typed, list(choices), list(choices.values()))
    except Refused as refused:
        raise Misread(refused.message) from None


def ask_sure(walk: PlainWalk, decision: Decision) -> bool:
    """Whether an act that was answered with a question is meant all the same."""
    walk.talk.say(sentence(decision.refusal or ""))
    return walk.more("Type yes if it is so:").lower() in YES
