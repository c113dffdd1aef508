"""What is said at each point of a walk, as paragraphs; `terse` for people trusted with the procedure."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from ..procedure.facts import FACTS
from ..procedure.model import Reading
from ..walk.desk import Bench, view_of
from ..walk.job_acts import job_hazards
from ..walk.phase import Now, countable, parse_time
from ..walk.record import Understood
from ..walk.state import State
from ..walk.view import View
from ..walk.wording import render, said, said_entry

SPOKEN = {"danger": "DANGER", "warning": "WARNING", "caution": "CAUTION", "notice": "NOTICE"}


def place_line(state: State, here: Now) -> str:
    """Which job, stop, stage and step this is."""
    if here.visit is None or here.linked is None:
        return f"Job {state.job}."
    visit = here.visit
    stage = f", stage {visit.stage}" if visit.stage else ""
    under = f" ({visit.path.replace('/', ', ')})" if visit.path else ""
    return f"Stop {visit.number}{under}{stage}. Step {visit.step}."


def opening_lines(state: State, names: dict[str, str]) -> Iterator[str]:
    """Said once when a walk begins or goes on."""
    kind = {"practice": "a practice job", "customer": "a customer's job", "rehearsal": "a rehearsal"}[state.kind]
    yield f"{state.title}, revision {state.revision}. Job {state.job}, {kind}."
    yield f"{names.get(state.person, state.person)} has the work in hand."


def step_lines(state: State, here: Now, bench: Bench, terse: bool) -> Iterator[str]:
    """Said when a step comes up: where this is, why, hazards, the action and what to see then."""
    assert here.visit is not None and here.step is not None and here.linked is not None
    view = view_of(state, here.visit, bench)
    at = ("steps", here.linked.at[here.step.step])
    yield place_line(state, here)
    if here.visit.why and not terse:
        yield f"Why you are here: {here.visit.why}."
    if here.visit.path and here.linked.procedure.takes and not terse and _first_stop(state, here):
        taken = ", ".join(f"{name.replace('_', ' ')} {said(name, view)}" for name in here.linked.procedure.takes)
        yield f"This part: {here.linked.procedure.title}: {taken}."
    for grade, part in here.step.graded():
        parts = [f"{SPOKEN[grade]}: {_text(part.hazard, view, at, grade)}."]
        if part.consequence:
            parts.append(f"It can: {_text(part.consequence, view, at, grade)}.")
        parts.append(f"Avoid it: {_text(part.avoid, view, at, grade)}.")
        yield " ".join(parts)


def action_lines(state: State, here: Now, bench: Bench, terse: bool) -> Iterator[str]:
    """The action of the step, and what should be seen then."""
    assert here.visit is not None and here.step is not None and here.linked is not None
    view = view_of(state, here.visit, bench)
    at = ("steps", here.linked.at[here.step.step])
    if here.step.do:
        yield f"Do: {_text(here.step.do, view, at, 'do')}"
    if here.step.expect and not terse:
        yield f"You should see: {_text(here.step.expect, view, at, 'expect')}"


def why_lines(state: State, here: Now, bench: Bench) -> Iterator[str]:
    """The background of a step, on demand, and how the walk came here."""
    if here.visit is None or here.step is None or here.linked is None:
        yield "Nothing has been walked yet."
        return
    view = view_of(state, here.visit, bench)
    at = ("steps", here.linked.at[here.step.step])
    yield f"You are here because: {here.visit.why or 'it follows the step before'}."
    if here.step.why:
        yield _text(here.step.why, view, at, "why")
    if here.step.hold:
        yield f"Somebody looks here because: {here.step.hold.because}"
    for text in here.step.if_not or []:
        yield f"If it does not come right: {text}"


def _first_stop(state: State, here: Now) -> bool:
    assert here.visit is not None
    return all(v.run != here.visit.run for v in state.visits[: here.visit.number - 1])


def _text(text: str, view: View, at: tuple[str | int, ...], key: str) -> str:
    """The text with its values; what is set into a sentence of ours loses its own full stop."""
    rendered = render(text, view, (*at, key))
    return rendered if key in ("do", "expect", "why") else rendered.rstrip(".?")


def ready_lines(here: Now) -> Iterator[str]:
    """What must be at hand before the first step, and the hazards of the whole."""
    assert here.linked is not None
    yield f"What it is for: {here.linked.procedure.purpose}"
    yield f"Time: {here.linked.procedure.time}."
    for key, word in (("before", "Before you begin"), ("tools", "Tools"), ("parts", "Parts"), ("supplies", "Supplies")):
        found = getattr(here.linked.procedure.needs, key)
        yield f"{word}: {'; '.join(found) if found else 'none'}."
    hazards = job_hazards(here.linked)
    if not hazards:
        yield "Hazards of the whole: none found."
    for grade, part in hazards:
        consequence = f" It can: {part.consequence}." if part.consequence else ""
        yield f"{SPOKEN[grade]}: {part.hazard}.{consequence} Avoid it: {part.avoid}."


def reading_lines(state: State, here: Now, bench: Bench, terse: bool) -> Iterator[str]:
    """What is asked, what is wanted, and what it was the last time."""
    assert here.visit is not None and here.linked is not None
    view = view_of(state, here.visit, bench)
    reading = here.reading
    at = f", at {'rod ' if reading.by_rod else ''}{here.place}" if here.place else ""
    yield f"{_text(reading.ask, view, ('readings', here.name), 'ask')}{at}?"
    if reading.choices:
        yield from (f"{i} {text}" for i, text in enumerate(reading.choices.values(), 1))
    if terse:
        return
    hints = []
    wanted = wanted_text(state, here, bench)
    if wanted:
        hints.append(f"wanted: {wanted}")
    last = [e for e in state.readings.get((here.visit.run, here.name), ()) if e.place == here.place and e.value]
    if last:
        hints.append(f"last: {said_entry(last[-1], reading)}")
    if reading.optional:
        hints.append("may be left out with /none")
    if here.todo:
        hints.append(f"{here.todo} more after this")
    if hints:
        text = "; ".join(hints)
        yield text[:1].upper() + text[1:] + "."


def wanted_text(state: State, here: Now, bench: Bench) -> str:
    """The wanted range or choice in words; empty where nothing is wanted."""
    assert here.visit is not None and here.linked is not None
    reading = here.reading
    if reading.wanted is None:
        return ""
    if reading.choices:
        return " or ".join(reading.choices.get(word, word) for word in reading.wanted)
    unit = "Hz" if reading.sort == "note" else (reading.unit or "")
    source = here.linked.wanted_from.get(here.name)
    if source:
        return said(source, view_of(state, here.visit, bench))
    found = here.linked.wanted.get(here.name)
    return found.text(unit) if found else ""


def understood_line(meant: Understood, reading: Reading) -> str:
    """What was understood, and how it stands, before it counts."""
    words = f"Understood: {meant.shown}"
    if meant.verdict:
        by = f" by {meant.by} {meant.unit}".rstrip() if meant.by and meant.by != "0" else ""
        words += f"; {meant.verdict}{by}"
    return words + "."


def wait_line(here: Now, time: datetime) -> str:
    """How long there is still to wait."""
    assert here.visit is not None and here.visit.until is not None
    until = parse_time(here.visit.until)
    left = (until - time).total_seconds()
    latest = f", at the latest {here.visit.latest[11:16]}" if here.visit.latest else ""
    if left <= 0:
        return f"The time is up (since {until:%H:%M}{latest})."
    return f"Wait until {until:%H:%M}: {int(-(-left // 60))} min left{latest}. You may leave with /leave and come back."


def fact_line(name: str) -> str:
    """The question for a fact of the drum."""
    return FACTS[name].ask + "?"


def account_lines(here: Now) -> Iterator[str]:
    """What is counted at the end."""
    assert here.linked is not None
    yield "Count what must be back on the bench: " + "; ".join(countable(here.linked)) + "."
