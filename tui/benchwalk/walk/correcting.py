"""Corrections and going back: the old is kept, and what rests on it is gone through again."""

from __future__ import annotations

from ..errors import Misread, Refused
from ..procedure.model import Reading
from ..quantities import shown
from .acts import Correct, GoBack
from .by_ear import is_by_ear
from .desk import Desk
from .job_acts import fact_data
from .phase import Now, reading_places
from .record import Understood, doubt, heard_in, understand
from .settle import touches
from .state import Entry, Visit


def correct(desk: Desk, here: Now, act: Correct) -> None:
    """Replace the value of a reading or a fact; both values stay in the log."""
    state = desk.state
    entry = state.entries.get(act.of)
    if entry is None:
        raise Refused(f"event {act.of} is no reading that could be corrected")
    if not state.live(entry.visit, entry.n):
        raise Refused("the walk went back over this reading; note it again where it is asked")
    if not act.reason.strip():
        raise Refused("say why the value is corrected; the reason stands in the record")
    if entry.visit == 0:
        _correct_fact(desk, entry, act)
        return
    visit = state.visits[entry.visit - 1]
    view = desk.view(upto=entry.n, visit=visit)
    reading = view.linked.procedure.readings.get(entry.name)
    if reading is None:
        raise Refused("a way that was chosen is not corrected; go back to that step")
    first = reading.sort == "note" and entry.place is not None and entry.place == reading_places(reading, view)[0]
    if first and is_by_ear(act.typed):
        raise Misread(f"{shown(act.typed)} compares with another note, and the others compare with this one; type it")
    meant = understand(reading, entry.name, act.typed, view, act.file)
    if not act.sure and (question := doubt(reading, entry.name, entry.place, meant, view)):
        raise question
    _emit(desk, entry, meant, act.reason, **heard_in(reading, act.file))
    if first:
        _told_against(desk, entry, visit, reading)


def _told_against(desk: Desk, first: Entry, visit: Visit, reading: Reading) -> None:
    """Notes told by ear against the first of their round, which was corrected just now: they lie elsewhere too."""
    told = [e for e in desk.state.entries.values() if e.n > first.n and (e.visit, e.name) == (first.visit, first.name)]
    for entry in told:
        if is_by_ear(entry.typed) and desk.state.live(entry.visit, entry.n):
            try:
                meant = understand(reading, entry.name, entry.typed, desk.view(upto=entry.n, visit=visit), None)
            except Misread as misread:
                raise Refused(f"at {entry.place}, told by ear against it: {misread.message}") from None
            if meant.value != entry.value:
                _emit(desk, entry, meant, f"told by ear against the note at {first.place}, which was corrected")


def _emit(desk: Desk, entry: Entry, meant: Understood, reason: str, **more: str) -> None:
    desk.emit(
        "corrected",
        of=entry.n,
        typed=meant.typed,
        value=meant.value,
        unit=meant.unit,
        verdict=meant.verdict,
        by=meant.by,
        against=meant.against,
        odd=meant.odd,
        reason=reason,
        touches=touches(desk, entry.n),
        **more,
    )


def _correct_fact(desk: Desk, entry: Entry, act: Correct) -> None:
    if entry.name == "rods" and desk.state.visits:
        raise Refused("the number of rods cannot be corrected once the walk has begun; open a new job")
    data = fact_data(entry.name, act.typed)
    desk.emit(
        "corrected",
        of=entry.n,
        **data,
        verdict=None,
        by=None,
        against=None,
        odd=False,
        reason=act.reason,
        touches=touches(desk, entry.n),
    )


def go_back(desk: Desk, here: Now, act: GoBack) -> None:
    """Go back to an earlier visit; it and all that followed no longer count, and stay in the log."""
    state = desk.state
    if not 1 <= act.visit <= len(state.visits):
        raise Refused(f"there is no stop {act.visit}; the walk has come to stop {len(state.visits)}")
    visit = state.visits[act.visit - 1]
    if visit.struck:
        raise Refused("the walk went back over that stop already; choose one that still counts")
    if not act.reason.strip():
        raise Refused("say why the walk goes back; the reason stands in the record")
    elsewhere = state.leads_elsewhere()
    if elsewhere is not None and visit.entered > (state.diverged or 0):
        stop = elsewhere.number
        raise Refused(f"the corrected value leads elsewhere from stop {stop} on; go back to there or before")
    struck = [v.number for v in state.visits if v.number >= act.visit and not v.struck]
    desk.emit("went_back", visit=act.visit, path=visit.path, step=visit.step, struck=struck, reason=act.reason)
