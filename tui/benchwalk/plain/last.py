"""What was done last, for whoever takes work up."""

from __future__ import annotations

from ..session import Session
from ..shop.pages import entries_of, entry_line
from ..walk.desk import view_of
from ..walk.wording import render


def last_words(session: Session) -> str:
    """What the log says was done last, in one sentence."""
    state, bench = session.state, session.bench
    for visit in reversed(state.visits):
        if visit.struck:
            continue
        linked = bench.books(visit.text)
        entries = [e for e in entries_of(state, visit) if state.live(e.visit, e.n)]
        if entries:
            return f"Last noted: {entry_line(entries[-1], linked.procedure.readings.get(entries[-1].name))}."
        step = linked.steps[visit.step]
        if step.do and visit.done:
            return f"Last done: {render(step.do, view_of(state, visit, bench), ('steps', linked.at[visit.step], 'do'))}"
    return "Nothing was done yet."
