"""Readings in plain mode: asked, said back as understood, and only then noted."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from ..daybook import lines
from ..errors import Misread, Refused
from ..procedure.model import Reading
from ..procedure.showing import sentence
from ..quantities import decimal_text, with_unit
from ..walk import acts
from ..walk.decide import Decision
from ..walk.desk import view_of
from ..walk.phase import Now, advised, parse_time
from ..walk.record import Understood, understand
from ..walk.view import View
from .picking import NO, YES, pick

if TYPE_CHECKING:
    from .walk import PlainWalk


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
        found = advised(asked, view_of(walk.session.state, asked.visit, walk.session.bench))
        answer = "" if found is None else decimal_text(found)
    if not answer:
        walk.talk.say("A reading is asked for here. Type it, or ? for help.")
        return
    if answer.lower() in NO and here.kind == "do":
        walk.not_yet(here)
        _by_number(walk, asked.reading, answer)
        return
    note_reading(walk, asked, answer)


def _by_number(walk: PlainWalk, reading: Reading, typed: str) -> None:
    """Where a choice is called like the word that says not yet: how that choice is meant."""
    for i, (word, said) in enumerate((reading.choices or {}).items(), 1):
        if typed.lower() in (word.lower(), said.lower()):
            walk.talk.say(f"If you meant the choice '{said}', type its number, {i}.")


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
    noted = lines.chosen_line(meant) if here.reading.choices else ""
    early = late_at is not None and parse_time(late_at) < parse_time(here.visit.at)
    record = acts.Record(meant.typed, sure=meant.odd and not early, late_at=late_at, file=kept, place=place)
    decision = walk.do(record, noted)
    if decision.question:
        if ask_sure(walk, decision):
            walk.do(replace(record, sure=True), noted)
        else:
            walk.talk.say("Not noted.")


def agree(walk: PlainWalk, name: str, reading: Reading, typed: str, view: View) -> tuple[Understood, str | None] | None:
    """What was typed as both sides understand it, and the kept file; None where it is not to be noted.

    A choice needs no second word. A number is said back; another one may be typed in its place.
    """
    while True:
        kept = None
        if reading.choices:
            typed = pick_choice(reading, typed)
        elif reading.sort in ("picture", "sound"):
            if typed.lower() == "newest" and not (typed := newest(walk, reading.sort)):
                return None
            kept = walk.session.keep(typed, reading.sort)
            if kept is not None:
                walk.talk.say(f"Kept with the job: {walk.session.kept}.")
        meant = understand(reading, name, typed, view, kept)
        if reading.sort in ("choice", "words", "picture", "sound"):
            return meant, kept
        walk.talk.say(lines.understood_line(meant))
        if meant.odd:
            possible = view.linked.possible[name].text(meant.unit)
            walk.talk.say(f"That lies outside what is possible here ({possible}). Look again.")
            answer = walk.more("Type yes if it is so, or type the value again:")
            if answer.lower() in YES or alike(answer, typed):
                return meant, None
        elif walk.terse and meant.verdict in (None, "within") and meant.shown == with_unit(typed.strip(), meant.unit):
            return meant, None
        else:
            answer = walk.more("Enter to note it, or type it again:")
            if answer.lower() in ("", *YES) or alike(answer, typed):
                return meant, None
        if answer.lower() in ("", *NO):
            return None
        typed = answer


def newest(walk: PlainWalk, sort: str) -> str:
    """The path of the newest file that arrived, once it is agreed to; empty where it is not the one meant."""
    path = walk.session.newest(sort)
    walk.talk.say(f"The newest is {path.name}, of {moment(path)}.")
    return str(path) if walk.agreed("Enter to take it, or no:") else ""


def moment(path: Path) -> str:
    """When a file was last changed, by the clock of this place."""
    return datetime.fromtimestamp(path.stat().st_mtime).astimezone().strftime("%Y-%m-%d %H:%M")


def pick_choice(reading: Reading, typed: str) -> str:
    """The word of the choice meant; Misread where it is none."""
    choices = reading.choices or {}
    if typed.lower() in NO and typed.lower() not in {w.lower() for pair in choices.items() for w in pair}:
        raise Misread(f"'{typed}' alone is none of the choices; type a number, 1 to {len(choices)}")
    try:
        return pick(typed, list(choices), list(choices.values()))
    except Refused as refused:
        raise Misread(refused.message) from None


def ask_sure(walk: PlainWalk, decision: Decision) -> bool:
    """Whether an act that was answered with a question is meant all the same."""
    walk.talk.say(sentence(decision.refusal or ""))
    return walk.agreed("Type yes if it is so:", YES, (*NO, ""))


def alike(answer: str, typed: str) -> bool:
    """Whether the same was typed again, however it is spaced."""
    return bool(answer) and answer.lower().split() == typed.lower().split()
