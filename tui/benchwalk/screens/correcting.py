"""Corrections at a screen: another value for what was noted, going back, another branch."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..daybook.entries import entries_of, entry_line
from ..daybook.lines import understood_line
from ..daybook.offers import offers
from ..daybook.points import typed_in
from ..errors import BenchwalkError, Refused
from ..procedure.showing import many, words_of
from ..walk import acts
from ..walk.desk import view_of
from ..walk.places import step_name
from ..walk.record import understand
from ..walk.state import Entry, Visit
from . import signing
from .asking import AskLine, Pick
from .doing import Wish

if TYPE_CHECKING:
    from .walk import WalkScreen


async def fix(screen: WalkScreen) -> None:
    """Correct a reading or a fact: which, the right value, and why it was wrong."""
    session = screen.session
    state = session.state
    noted = [e for e in state.entries.values() if e.value is not None and (not e.visit or state.live(e.visit, e.n))]
    noted.sort(key=lambda e: -e.n)
    index = await screen.app.push_screen_wait(
        Pick("Correct", "Which was wrong? The last one noted stands first.", [_said(screen, e) for e in noted])
    )
    if index is None:
        return
    entry = noted[index]
    got = await _right_value(screen, entry)
    if got is None:
        return
    typed, sort = got
    reason = await screen.app.push_screen_wait(AskLine("Why was it wrong?", "The old value stays in the log."))
    if reason is not None:
        await screen.do(Wish(acts.Correct(entry.n, typed, reason), file=typed if sort else "", sort=sort))


def _said(screen: WalkScreen, entry: Entry) -> str:
    if entry.visit == 0:
        return f"{words_of(entry.name)}: {entry.typed}"
    visit = screen.session.state.visits[entry.visit - 1]
    linked = screen.session.bench.books(visit.text)
    return f"{entry_line(entry, linked.procedure.readings.get(entry.name))}  (stop {visit.number})"


async def _right_value(screen: WalkScreen, entry: Entry) -> tuple[str, str] | None:
    """(what is right as typed, the sort of file it names or ""); None where it is left."""
    session = screen.session
    title, sentence = "What is right?", f"It stands: {_said(screen, entry)}"
    if entry.visit == 0:
        typed = await screen.app.push_screen_wait(AskLine(title, sentence))
        return (typed, "") if typed else None
    visit = session.state.visits[entry.visit - 1]
    view = view_of(session.state, visit, session.bench, entry.n)
    reading = view.linked.procedure.readings.get(entry.name)
    if reading is None:
        raise Refused("a way that was chosen is not corrected; go back to that stop")
    if reading.choices:
        index = await screen.app.push_screen_wait(Pick(title, sentence, list(reading.choices.values())))
        return (list(reading.choices)[index], "") if index is not None else None
    if reading.sort in ("picture", "sound"):
        typed = await screen.app.push_screen_wait(AskLine(title, sentence))
        return (typed, reading.sort) if typed else None
    known = reading

    def check(text: str) -> None:
        understand(known, entry.name, text, view)

    def tell(text: str) -> str:
        if not text or known.sort == "words":
            return ""
        try:
            meant = understand(known, entry.name, text, view)
        except BenchwalkError:
            return ""
        return understood_line(meant)

    typed = await screen.app.push_screen_wait(AskLine(title, sentence, hint=typed_in(reading), check=check, tell=tell))
    return (typed, "") if typed else None


async def back(screen: WalkScreen) -> None:
    """Go back to an earlier stop."""
    state = screen.session.state
    live = [v for v in state.visits if not v.struck]
    texts = [stop_text(v) for v in live]
    told = "To which stop? What was noted from there on no longer counts."
    before = max(0, len(texts) - 2)  # the stop in hand is the last
    index = await screen.app.push_screen_wait(Pick("Go back", told, texts, start=before))
    if index is None:
        return
    number = live[index].number
    noted = sum(state.live(e.visit, e.n) for v in state.visits if v.number >= number for e in entries_of(state, v))
    told = f"{many(noted, 'reading')} from stop {number} on will count no more; all of it stays in the log."
    reason = await screen.app.push_screen_wait(AskLine("Why do you go back?", told))
    if reason is not None:
        await screen.do(Wish(acts.GoBack(number, reason)))


def stop_text(visit: Visit) -> str:
    """A stop by its number and the step it was at."""
    return f"{visit.number}  {words_of(step_name(visit.path, visit.step))}"


async def other_branch(screen: WalkScreen) -> None:
    """Take another branch: of the step in hand, or of the one just left while nothing was done since."""
    session = screen.session
    found = offers(session.state, session.now(), session.bench)
    if not found:
        raise Refused("no branches stand here to choose from")
    texts = [offer.text for offer in found]
    picked = await screen.app.push_screen_wait(Pick("Another branch", "Which way should it go?", texts))
    if picked is None:
        return
    offer = found[picked]
    reason = await screen.app.push_screen_wait(AskLine("Why?", "The reason stands wherever the record is shown."))
    if reason is None:
        return
    given = await signing.role_sign(screen, session.bench.overrules, [], None, f"another branch: {reason}")
    if given is not None:
        await screen.do(Wish(acts.Overrule(offer.line, reason, given, offer.visit)))
