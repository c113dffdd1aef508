"""A job as its pages: what was done, found, corrected and signed, in the order it happened, as lines of text.

Everything shown comes from the log; what the walk went back over is shown as such. Lines are safe for a terminal.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from ..procedure.linked import Linked
from ..procedure.model import Reading
from ..procedure.showing import safe_text
from ..walk.state import Entry, SignOff, State, Visit
from ..walk.view import View
from ..walk.wording import judged, render, said_entry

Names = Mapping[str, str]
Books = Callable[[str], Linked]


def pages(state: State, books: Books, names: Names) -> list[str]:
    """All pages of a job."""
    lines = [*heading(state, names), ""]
    for visit in state.visits:
        lines += visit_lines(state, visit, books, names)
    lines += [*closing(state, names)]
    return [safe_text(line) for line in lines]


def heading(state: State, names: Names) -> Iterator[str]:
    """Which job, which procedure, which drum."""
    yield f"Job {state.job} ({state.kind}). {state.title}, revision {state.revision}."
    yield f"Opened {moment(state.opened_at)} by {names.get(state.opened_by, state.opened_by)}."
    for key, value in state.note.items():
        yield f"{key.capitalize()}: {value}"
    known = {**{k: v["typed"] for k, v in state.drum.items()}, **{k: e.typed for k, e in state.facts.items()}}
    if known:
        yield "Drum: " + ", ".join(f"{name} {typed}" for name, typed in known.items()) + "."
    if len(state.people) > 1:
        yield "Worked on by: " + ", ".join(names.get(p, p) for p in state.people) + "."


def visit_lines(state: State, visit: Visit, books: Books, names: Names) -> Iterator[str]:
    """One stop: where, when, who, and what came of it."""
    linked = books(visit.text)
    step = linked.steps[visit.step]
    path = f"{visit.path}/{visit.step}" if visit.path else visit.step
    gone = " (gone back over: no longer counts)" if visit.struck else ""
    who = names.get(visit.who, visit.who)
    yield f"Stop {visit.number}. {path}, {moment(visit.at)}, {who}{gone}"
    if visit.why:
        yield f"  Came here because: {visit.why}"
    if step.do and visit.done:
        frame = visit.frames[-1]
        view = View(state, linked, frame.run, frame.given, visit=visit.number, upto=visit.closed)
        done = render(step.do, view, ("steps", linked.at[step.step], "do"))
        yield f"  Done: {_first_line(done)}"
    if visit.skipped:
        yield f"  Skipped: {visit.skipped}"
    for place in visit.confirmed:
        yield f"  Confirmed: {place}"
    for entry in entries_of(state, visit):
        yield "  " + entry_line(entry, linked.procedure.readings.get(entry.name), state)
    for many in state.sums.values():
        for worked in many:
            if worked.visit == visit.number:
                said = worked.no_result or ", ".join(f"{k} {_output(v)}" for k, v in worked.outputs.items())
                yield f"  Worked out {worked.name} ({worked.use}): {said}"
    for sign in state.signs:
        if sign.visit == visit.number:
            yield "  " + sign_line(sign, names)
    for found in state.found:
        if found.visit == visit.number:
            yield f"  Found ({found.grade}): {found.sentence}"
            if found.proposes:
                yield f"    Proposed: {', '.join(found.proposes)}"
    for _n, at_visit, who_noted, at, text in state.notes:
        if at_visit == visit.number:
            yield f"  Note by {names.get(who_noted, who_noted)}, {moment(at)}: {text}"
    for problem in state.problems:
        if problem["visit"] == visit.number:
            settled = f"; settled: {problem['settled']}" if problem["settled"] else "; open"
            yield f"  Problem with this step: {problem['text']}{settled}"


def closing(state: State, names: Names) -> Iterator[str]:
    """How it ended, and who released it."""
    if state.ended:
        yield f"Ended {state.ended['outcome']}, {moment(state.ended['at'])}."
        if state.ended["say"]:
            yield f"  {state.ended['say']}"
        if state.ended["proposes"]:
            yield f"  Proposed next: {', '.join(state.ended['proposes'])}"
    yield from (f"Stale: {words}" for words in state.stale())
    if state.released:
        who = names.get(state.released["who"], state.released["who"])
        yield f"Released: {state.released['meaning']}, by {who}, {moment(state.released['at'])}."


def entries_of(state: State, visit: Visit) -> list[Entry]:
    """What was noted at a stop, in order."""
    return sorted((e for e in state.entries.values() if e.visit == visit.number), key=lambda e: e.n)


def entry_line(entry: Entry, reading: Reading | None, state: State) -> str:
    """One reading in words, with its judgement and its earlier values."""
    ask = reading.ask if reading else entry.name
    place = f" at {entry.place}" if entry.place else ""
    if entry.value is None:
        return f"{ask}{place}: left out ({entry.why})"
    judgement = judged(entry)
    parts = [f"{ask}{place}: {said_entry(entry, reading)}"]
    if judgement:
        parts.append(f"; {judgement}")
    if entry.odd:
        parts.append("; outside what is possible, said twice")
    if entry.late_at:
        parts.append(f"; late entry, taken {moment(entry.late_at)}")
    if entry.before:
        parts.append(f"; corrected, before: {', then '.join(typed or 'left out' for typed, _v, _n in entry.before)}")
    return "".join(parts) + f" [{entry.n}]"


def sign_line(sign: SignOff, names: Names) -> str:
    """A sign-off: name, time, meaning; and whether it still stands."""
    line = f"{sign.meaning[:1].upper()}{sign.meaning[1:]}: {names.get(sign.who, sign.who)}, {moment(sign.at)}"
    if sign.note:
        line += f"; {sign.note}"
    if sign.void:
        line += f"; void: {sign.void}" + ("; signed again" if sign.renewed else "")
    return line


def moment(text: str) -> str:
    """A time as people read it: date and minutes."""
    return text[:16].replace("T", " ")


def _first_line(text: str) -> str:
    return " ".join(text.split())


def _output(value: object) -> str:
    if isinstance(value, dict) and "low" in value:
        low, high = value["low"], value["high"]
        return f"{low if low is not None else 'any'} to {high if high is not None else 'any'}"
    if isinstance(value, dict):
        return "; ".join(f"{k}: {v}" for k, v in value.items())
    return str(value)
