"""Readings as the pages of a job have them, in one line each."""

from __future__ import annotations

from ..procedure.model import Reading
from ..procedure.showing import in_words, words_of
from ..walk.desk import Bench, view_of
from ..walk.phase import Now, covered
from ..walk.places import step_name
from ..walk.state import Entry, SignOff, State, Visit
from ..walk.wording import as_noted, asked_at, before_answer, judged, listed, moment, said_entry


def entries_of(state: State, visit: Visit) -> list[Entry]:
    """What was noted at a stop, in order."""
    return sorted((e for e in state.entries.values() if e.visit == visit.number), key=lambda e: e.n)


def entry_line(entry: Entry, reading: Reading | None) -> str:
    """One reading in words, with its judgement and its earlier values."""
    ask = reading.ask if reading else words_of(entry.name)
    label = before_answer(asked_at(ask, entry.place or ""))
    if entry.value is None:
        allowed = f"; the procedure allows it: {entry.allowed}" if entry.allowed else ""
        return f"{label} left out ({entry.why}){allowed}"
    return f"{label} {_value(entry, reading)} [{entry.n}]"


def _value(entry: Entry, reading: Reading | None) -> str:
    """What was noted, with its judgement, how it came about, and what stood there before."""
    judgement = judged(entry)
    if reading is not None and reading.choices:
        judgement = {"within": "as wanted", "outside": "not what is wanted"}.get(judgement, judgement)
    parts = [said_entry(entry, reading)]
    if judgement:
        parts.append(f"; {judgement}")
    if entry.odd:
        parts.append("; outside what is possible, said twice")
    if entry.late_at:
        parts.append(f"; late entry, taken {moment(entry.late_at)}")
    return "".join(parts) + before(entry, reading)


def corrected_lines(state: State, sign: SignOff, bench: Bench) -> list[str]:
    """The readings that a sign-off covers and that were corrected since it was given: old and new, and of which run,
    in words."""
    lines = []
    for entry in (state.entries[n] for n in sign.covers if n in state.entries):
        if entry.before and entry.before[-1][2] > sign.n:
            path = state.visits[entry.visit - 1].path if entry.visit else sign.path
            run = f" ({words_of(path)})" if path != sign.path else ""
            lines.append(f"Corrected since{run}: {entry_line(entry, _reading(state, entry, bench))}")
    return lines


def covered_lines(state: State, here: Now, bench: Bench) -> list[str]:
    """The readings that the look here covers, those that say the same at every place in one line, and of which run.

    None where a shop of one measures them again without seeing them.
    """
    if here.step is None or here.visit is None or bench.one_person:
        return []
    alike: dict[tuple[str, int, str], list[Entry]] = {}
    for entry in (state.entries[n] for n in covered(here.step, view_of(state, here.visit, bench))):
        alike.setdefault((entry.name, entry.visit, _value(entry, _reading(state, entry, bench))), []).append(entry)
    lines = []
    for (_name, number, value), entries in alike.items():
        reading = _reading(state, entries[0], bench)
        ask = reading.ask if reading else words_of(entries[0].name)
        places = [entry.place for entry in entries if entry.place]
        at = listed(places) if len(places) < 3 else f"{len(places)} places"
        path = state.visits[number - 1].path
        asked = asked_at(ask, at) + (f" ({words_of(path)})" if path != here.visit.path else "")
        lines.append(f"{before_answer(asked)} {value}")
    return lines


def _reading(state: State, entry: Entry, bench: Bench) -> Reading | None:
    return bench.books(state.visits[entry.visit - 1].text).procedure.readings.get(entry.name) if entry.visit else None


def why_words(state: State, visit: Visit) -> str:
    """Why the walk came to a stop, as it stood then; and whether what it rests on was corrected since."""
    why = visit.why.rstrip(".")
    took = next((t for t in reversed(state.took) if t.n < visit.entered), None)
    fits = took is not None and took.because.rstrip(".") in why
    why = in_words(why, steps_named(state))
    if not why or took is None or not fits:
        return why
    changed = [e.before[-1][2] for n in took.reads if (e := state.entries.get(n)) is not None and e.before]
    changed += [w.latest for many in state.sums.values() for w in many if w.n in took.reads and w.latest != w.n]
    return f"{why} (corrected since)" if any(n > took.n for n in changed) else why


def steps_named(state: State, *more: str) -> set[str]:
    """The steps that a sentence of the log may name: those that were come to, and more."""
    return {visit.step for visit in state.visits} | {took.go for took in state.took} | set(more)


def stale_words(state: State) -> list[str]:
    """What stands in the way of releasing a job because it rests on something changed since."""
    void = state.open_signs()
    signs = [f"the sign-off at {words_of(step_name(sign.path, sign.step))} is void: {sign.void}" for sign in void]
    return signs + state.stale()[len(void) :]


def before(entry: Entry, reading: Reading | None = None) -> str:
    """The values that stood here before they were corrected."""
    if not entry.before:
        return ""
    choices = (reading.choices if reading is not None else None) or {}
    told = (choices.get(value) or as_noted(typed, value, entry.unit) or "left out" for typed, value, _n in entry.before)
    return f"; corrected, before: {', then '.join(told)}"
