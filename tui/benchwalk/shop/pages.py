"""A job as its pages: what was done, found, corrected and signed, in the order it happened, as lines of text.

Everything shown comes from the log; what the walk went back over is shown as such. Lines are safe for a terminal.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from ..daybook.entries import before, entries_of, entry_line, stale_words, why_words
from ..procedure.linked import Linked
from ..procedure.showing import safe_text, words_of
from ..procedure.variables import Variable
from ..quantities import decimal_text, with_unit
from ..walk.places import step_name
from ..walk.state import SignOff, State, Visit, Worked
from ..walk.view import View, fraction, range_from
from ..walk.worded import action_text, done_text
from ..walk.wording import moment, spoken
from .also import also

Names = Mapping[str, str]
Books = Callable[[str], Linked]


def pages(
    state: State, books: Books, names: Names, events: Iterable[Mapping[str, Any]] = (), last: int | None = None
) -> list[str]:
    """All pages of a job, or its last stops only; `events` are those of its log."""
    beside = also(events, names)
    lines = [*heading(state, names), ""]
    if last is None:
        lines += [*unplaced(state, names), *beside.get(0, ())]
    elif len(state.visits) > last:
        lines.append(f"The last {last} of {len(state.visits)} stops:")
    for visit in state.visits if last is None else state.visits[-last:]:
        lines += visit_lines(state, visit, books, names)
        lines += [f"  {line}" for line in beside.get(visit.number, ())]
    lines += closing(state, names)
    return [safe_text(line) for line in lines]


def heading(state: State, names: Names) -> Iterator[str]:
    """Which job, which procedure, which drum."""
    yield f"Job {state.job} ({state.kind}). {state.title}, revision {state.revision}."
    yield f"Opened {moment(state.opened_at)} by {names.get(state.opened_by, state.opened_by)}."
    for key, value in state.note.items():
        yield f"{key.capitalize()}: {value}"
    known = {name: data["typed"] for name, data in state.drum.items()}
    known |= {name: f"{entry.typed}{before(entry)} [{entry.n}]" for name, entry in state.facts.items()}
    if known:
        yield "Drum: " + ", ".join(f"{words_of(name)} {typed}" for name, typed in known.items()) + "."
    if state.owner_removed is not None:
        who = names.get(state.owner_removed["who"], state.owner_removed["who"])
        gone = moment(state.owner_removed["at"])
        yield f"Owner's facts removed {gone} by {who}; the log keeps a salted hash of them."
    if len(state.people) > 1:
        yield "Worked on by: " + ", ".join(names.get(p, p) for p in state.people) + "."


def unplaced(state: State, names: Names) -> Iterator[str]:
    """Notes that were written before the first stop."""
    for _n, at_visit, who_noted, at, text in state.notes:
        if at_visit == 0:
            yield f"Note by {names.get(who_noted, who_noted)}, {moment(at)}: {text}"


def visit_lines(state: State, visit: Visit, books: Books, names: Names) -> Iterator[str]:
    """One stop: where, when, who, and what came of it."""
    linked = books(visit.text)
    step = linked.steps[visit.step]
    gone = " (gone back over: no longer counts)" if visit.struck else ""
    who = names.get(visit.who, visit.who)
    yield f"Stop {visit.number}, {words_of(step_name(visit.path, visit.step))}; {moment(visit.at)}, {who}{gone}"
    if visit.why:
        yield f"  Came here because: {why_words(state, visit)}"
    if step.do and visit.done:
        frame = visit.frames[-1]
        view = View(state, linked, frame.run, visit=visit.number, upto=visit.closed)
        yield f"  Done: {_first_line(done_text(state, view, visit))}"
        yield from (f"  {line}" for line in _told_otherwise(state, visit, linked))
    for place in visit.confirmed:
        yield f"  Confirmed: {place}"
    for entry in entries_of(state, visit):
        gone = "; gone back over" if not visit.struck and not state.live(entry.visit, entry.n) else ""
        yield f"  {entry_line(entry, linked.procedure.readings.get(entry.name))}{gone}"
    for many in state.sums.values():
        for worked in many:
            if worked.visit == visit.number:
                yield f"  Worked out, {words_of(worked.name)}: {_outputs(worked, linked)}"
    for sign in state.signs:
        if sign.visit == visit.number:
            yield "  " + sign_line(sign, names)
    for found in state.found:
        if found.visit == visit.number:
            again = "; said again after a correction" if found.latest != found.n else ""
            yield f"  Found ({words_of(found.grade)}): {found.sentence.rstrip('.')}{again}."
            if found.proposes:
                yield f"    Proposed: {', '.join(map(words_of, found.proposes))}"
    for _n, at_visit, who_noted, at, text in state.notes:
        if at_visit == visit.number:
            yield f"  Note by {names.get(who_noted, who_noted)}, {moment(at)}: {text}"
    for problem in state.problems:
        if problem["visit"] == visit.number:
            settled = f"; settled: {problem['settled']}" if problem["settled"] else "; open"
            yield f"  Problem with this step: {problem['text']}{settled}"


def _told_otherwise(state: State, visit: Visit, linked: Linked) -> Iterator[str]:
    """What an action that was done reads now, where a value in it was corrected since."""
    for worded in state.worded:
        if worded.visit == visit.number and worded.state != "ok":
            view = View(state, linked, visit.run, visit=visit.number, upto=worded.n)
            end = ", which was accepted" if worded.state == "accepted" else ""
            yield f"Told with a value corrected since{end}; it reads now: {action_text(view, visit, worded.part)}"


def closing(state: State, names: Names) -> Iterator[str]:
    """How it ended, and who released it."""
    if state.ended:
        yield f"Ended {state.ended['outcome']}, {moment(state.ended['at'])}."
        if state.ended["say"]:
            yield f"  {state.ended['say']}"
        if state.ended["proposes"]:
            yield f"  Proposed next: {', '.join(map(words_of, state.ended['proposes']))}"
    yield from (f"Stale: {words}" for words in stale_words(state))
    if state.released:
        who = names.get(state.released["who"], state.released["who"])
        yield f"Released: {state.released['meaning']}, by {who}, {moment(state.released['at'])}."


def sign_line(sign: SignOff, names: Names) -> str:
    """A sign-off: name, time, meaning; and whether it still stands."""
    line = f"{sign.meaning[:1].upper()}{sign.meaning[1:]}: {names.get(sign.who, sign.who)}, {moment(sign.at)}"
    if sign.note:
        line += f"; {sign.note}"
    if sign.void:
        line += f"; void: {sign.void}" + ("; signed again" if sign.renewed else "")
    return line


def _first_line(text: str) -> str:
    return " ".join(text.split())


def _outputs(worked: Worked, linked: Linked) -> str:
    """What a sum gave, with its units; or why there was no result."""
    if worked.no_result is not None:
        return f"no result, {worked.no_result}"
    said = []
    for part, value in worked.outputs.items():
        variable = linked.variables.get(f"{worked.name}.{part}")
        said.append(f"{spoken(worked.use, part)} {_output(value, variable)}")
    return ", ".join(said)


def _output(value: Any, variable: Variable | None) -> str:
    unit = variable.unit if variable is not None else ""
    if value is None:
        return "none"
    if isinstance(value, dict) and "low" in value:
        return range_from(value).text(unit, variable.resolution if variable is not None else None)
    if isinstance(value, dict):
        return "; ".join(f"{place}: {_output(each, variable)}" for place, each in value.items())
    if variable is None or not variable.is_number:
        return str(value)
    return with_unit(decimal_text(fraction(value)), unit)
