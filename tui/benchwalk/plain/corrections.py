"""Corrections in plain mode: another value for what was noted, or going back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..daybook.entries import entries_of, entry_line
from ..errors import Refused
from ..procedure.model import Reading
from ..procedure.showing import many, sentence, words_of
from ..quantities import shown
from ..walk import acts
from ..walk.desk import view_of
from ..walk.phase import Now
from ..walk.places import step_name
from ..walk.state import Entry
from ..walk.view import View
from .picking import number_of
from .readings import agree, ask_sure

if TYPE_CHECKING:
    from .walk import PlainWalk

_CORRECTED = "Corrected; the old value stays in the log."
_STOPS_TOLD = 8
_WHY = "Why was it wrong?"
_WHICH_STOP = "Back to which stop? Type its number, or Enter to stay here:"


def fix(walk: PlainWalk, here: Now, rest: str) -> None:
    """Correct a reading or a fact: the last reading, or what has that number in the pages."""
    session = walk.session
    state = session.state
    entry = _entry(walk, rest)
    if entry.visit == 0:
        walk.talk.say(f"It stands: {words_of(entry.name)} {entry.typed}.")
        typed = walk.more("What is right? (Enter leaves it as it is)")
        sure, kept = False, None
    else:
        view = view_of(state, state.visits[entry.visit - 1], session.bench, entry.n)
        reading = view.linked.procedure.readings.get(entry.name)
        walk.talk.say(f"It stands: {entry_line(entry, reading)}.")
        if reading is None:
            raise Refused("a way that was chosen is not corrected; go /back to that stop")
        for i, text in enumerate((reading.choices or {}).values(), 1):
            walk.talk.say(f"{i} {text}")
        typed, sure, kept = _right(walk, entry.name, reading, view)
    if not typed:
        walk.talk.say("Left as it is.")
        return
    reason = walk.more(_WHY)
    if not reason:
        walk.talk.say("Say why the value is corrected; the reason stands in the record.")
        reason = walk.more(f"{_WHY} (Enter leaves it as it is)")
    if not reason:
        walk.talk.say(f"Left as it is; {shown(typed)} is not noted.")
        return
    act = acts.Correct(entry.n, typed, reason, sure, kept)
    decision = walk.do(act, _CORRECTED)
    if decision.question and ask_sure(walk, decision):
        decision = walk.do(acts.Correct(entry.n, typed, reason, True, kept), _CORRECTED)
    also = [e for e in decision.events if e["what"] == "corrected" and e["of"] != entry.n]
    if also:
        walk.talk.say(f"{many(len(also), 'note')} told by ear against it went with it; /log says them all.")


def _right(walk: PlainWalk, name: str, reading: Reading, view: View) -> tuple[str, bool, str | None]:
    """What is typed, whether an impossible value is meant, and the kept file; asked until it is understood or left."""
    while typed := walk.more("What is right? (Enter leaves it as it is)"):
        try:
            got = agree(walk, name, reading, typed, view)
        except Refused as refused:
            walk.talk.say(sentence(refused.message))
            continue
        return (got[0].typed, got[0].odd, got[1]) if got else ("", False, None)
    return "", False, None


def _entry(walk: PlainWalk, rest: str) -> Entry:
    state = walk.session.state
    if rest:
        number = number_of(rest, "a reading; it stands after the reading in /log")
        entry = state.entries.get(number)
        if entry is None:
            raise Refused(f"no reading has the number {number}; it stands after the reading in /log")
        return entry
    live = [e for e in state.entries.values() if e.visit and e.value is not None and state.live(e.visit, e.n)]
    if not live:
        raise Refused("there is no reading to correct yet")
    return max(live, key=lambda e: e.n)


def back(walk: PlainWalk, here: Now, rest: str) -> None:
    """Go back to an earlier stop."""
    state = walk.session.state
    word, _, reason = rest.partition(" ")
    if not word:
        live = [v for v in state.visits if not v.struck]
        for visit in live[-_STOPS_TOLD:]:
            walk.talk.say(f"{visit.number} {words_of(step_name(visit.path, visit.step))}")
        word = walk.more(_WHICH_STOP)
    number = None
    while word and number is None:
        try:
            number = number_of(word, "a stop")
            walk.check(acts.GoBack(number, "asked"))
        except Refused as refused:
            walk.talk.say(sentence(refused.message))
            number, word, reason = None, walk.more(_WHICH_STOP), ""
    if number is None:
        return
    reason = reason.strip() or walk.more("Why do you go back? (Enter to stay here)")
    if not reason:
        return
    noted = sum(state.live(e.visit, e.n) for v in state.visits if v.number >= number for e in entries_of(state, v))
    stay = "; they stay in the log" if noted else ""
    count = "1 reading no longer counts" if noted == 1 else f"{noted or 'No'} readings no longer count"
    walk.do(acts.GoBack(number, reason), f"Back at stop {number}. {count}{stay}.")
