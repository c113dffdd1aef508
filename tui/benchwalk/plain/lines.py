"""What is said at each point of a walk, as paragraphs; `terse` for people trusted with the procedure."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from ..procedure.facts import FACTS
from ..procedure.model import HazardText, Reading
from ..walk.desk import Bench, view_of
from ..walk.job_acts import job_hazards
from ..walk.phase import Now, countable, noted_places, parse_time
from ..walk.record import Understood
from ..walk.state import State, Visit
from ..walk.view import View
from ..walk.wording import render, said, said_entry

SPOKEN = {"danger": "DANGER", "warning": "WARNING", "caution": "CAUTION", "notice": "NOTICE"}


def opening_lines(state: State, names: dict[str, str]) -> Iterator[str]:
    """Said once when a walk begins or goes on."""
    kind = {"practice": "a practice job", "customer": "a customer's job", "rehearsal": "a rehearsal"}[state.kind]
    yield f"{state.title}, revision {state.revision}. Job {state.job}, {kind}."
    yield f"{names.get(state.person, state.person)} has the work in hand."


def ready_lines(here: Now) -> Iterator[str]:
    """What must be at hand before the first step, and the hazards of the whole."""
    assert here.linked is not None
    yield f"What it is for: {here.linked.procedure.purpose}"
    yield f"Time: {here.linked.procedure.time}."
    for key, word in (("before", "Before you begin"), ("tools", "Tools"), ("parts", "Parts"), ("supplies", "Supplies")):
        found = getattr(here.linked.procedure.needs, key)
        yield f"{word}: {'; '.join(found) if found else 'none'}."
    yield from hazard_lines(here)


def hazard_lines(here: Now) -> Iterator[str]:
    """The hazards of the whole; they are said at the terse level too."""
    assert here.linked is not None
    hazards = job_hazards(here.linked)
    if not hazards:
        yield "Hazards of the whole: none found."
    for grade, part in hazards:
        yield hazard_line(grade, part)


def hazard_line(grade: str, part: HazardText, view: View | None = None, at: tuple[str | int, ...] = ()) -> str:
    """The signal word, the hazard, what can happen, and how to avoid it."""

    def sentence(text: str) -> str:
        return (_text(text, view, at, grade) if view is not None else text).rstrip(".?") + "."

    parts = [f"{SPOKEN[grade]}: {sentence(part.hazard)}"]
    if part.consequence:
        parts.append(sentence(part.consequence))
    return " ".join([*parts, f"Avoid it: {sentence(part.avoid)}"])


def place_line(state: State, visit: Visit | None) -> str:
    """Which stop this is, and which step."""
    if visit is None:
        return f"Job {state.job}, before its first stop."
    under = f"{visit.path.replace('/', ', ')}, " if visit.path else ""
    return f"Stop {visit.number}: {under}{visit.step}."


def stage_line(here: Now) -> str:
    """The stage the walk is in, by its title; empty where there is none."""
    assert here.visit is not None and here.linked is not None
    stages = (step.stage for step in here.linked.procedure.steps if step.stage is not None)
    return next((f"Stage: {stage.title}." for stage in stages if stage.id == here.visit.stage), "")


def step_lines(state: State, here: Now, bench: Bench, terse: bool) -> Iterator[str]:
    """Said when a step comes up, after its place: why, and its hazards."""
    assert here.visit is not None and here.step is not None and here.linked is not None
    view = view_of(state, here.visit, bench)
    if here.visit.why and not terse:
        yield f"Why you are here: {here.visit.why.rstrip('.')}."
    takes = here.linked.procedure.takes
    if here.visit.path and takes and not terse and _first_stop(state, here.visit):
        yield "Given to this part: " + ", ".join(f"{name.replace('_', ' ')} {said(name, view)}" for name in takes) + "."
    for grade, part in here.step.graded():
        yield hazard_line(grade, part, view, ("steps", here.linked.at[here.step.step]))


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
    visit = here.visit or state.here()
    if visit is None:
        yield "Nothing was walked yet."
        return
    view = view_of(state, visit, bench)
    step, at = view.linked.steps[visit.step], ("steps", view.linked.at[visit.step])
    yield f"You are here because: {visit.why.rstrip('.') or 'it follows the step before'}."
    if step.why:
        yield _text(step.why, view, at, "why")
    if step.hold:
        yield f"Somebody looks here because: {step.hold.because}"
    for text in step.if_not or []:
        yield f"If it does not come right: {text}"


def _first_stop(state: State, visit: Visit) -> bool:
    return all(v.run != visit.run for v in state.visits[: visit.number - 1])


def _text(text: str, view: View, at: tuple[str | int, ...], key: str) -> str:
    return render(text, view, (*at, key))


# --- readings --------------------------------------------------------------------------------------------------


def reading_lines(state: State, here: Now, bench: Bench, terse: bool) -> Iterator[str]:
    """What is asked; and (not terse) what is wanted, and what it was the last time.

    At the second place of a reading and those after it, what was said at the first is not said again.
    """
    assert here.visit is not None and here.linked is not None
    view = view_of(state, here.visit, bench)
    reading = here.reading
    place = f"{'rod ' if reading.by_rod else ''}{here.place}" if here.place else ""
    choices = _choices(reading, terse)
    hints = "" if terse else _hints(state, here, bench)
    if place and noted_places(state, here.visit, here.name):
        said_before = f": {', '.join(choices)}" if choices else ""
        yield f"At {place}{said_before}. {hints}".rstrip()
        return
    asked = _text(reading.ask, view, ("readings", here.name), "ask").rstrip(" .:") + (f", at {place}" if place else "")
    end = "" if asked.endswith("?") else (":" if choices else ".")
    if not choices:
        yield f"{asked}{end} {hints}".rstrip()
        return
    yield asked + end
    yield from choices
    if hints:
        yield hints


def _choices(reading: Reading, terse: bool) -> list[str]:
    wanted = () if terse else reading.wanted or ()
    choices = (reading.choices or {}).items()
    return [f"{i} {text}{' (wanted)' if word in wanted else ''}" for i, (word, text) in enumerate(choices, 1)]


def _hints(state: State, here: Now, bench: Bench) -> str:
    assert here.visit is not None
    hints = []
    wanted = "" if here.reading.choices else wanted_text(state, here, bench)
    if wanted:
        hints.append(f"Wanted: {wanted}.")
    last = [e for e in state.readings.get((here.visit.run, here.name), ()) if e.place == here.place and e.value]
    if last:
        hints.append(f"Last: {said_entry(last[-1], here.reading)}.")
    if here.reading.optional:
        hints.append("It may be left out with /none.")
    if here.todo:
        hints.append(f"{'One' if here.todo == 1 else here.todo} more after this.")
    return " ".join(hints)


def wanted_text(state: State, here: Now, bench: Bench) -> str:
    """The wanted range in words; empty where nothing is wanted."""
    assert here.visit is not None and here.linked is not None
    reading = here.reading
    if reading.wanted is None:
        return ""
    unit = "Hz" if reading.sort == "note" else (reading.unit or "")
    source = here.linked.wanted_from.get(here.name)
    if source:
        return said(source, view_of(state, here.visit, bench))
    found = here.linked.wanted.get(here.name)
    return found.text(unit) if found else ""


def typed_prompt(reading: Reading) -> str:
    """What to type for a reading."""
    prompts = {
        "choice": "Type its number:",
        "words": "Write it:",
        "picture": "Path of the picture, or on paper and its number:",
        "sound": "Path of the recording, or on paper and its number:",
        "note": "Type it as a note or in Hz:",
    }
    return prompts.get(reading.sort, f"Type it in {reading.unit}:" if reading.unit else "Type it:")


def typed_help(reading: Reading, pending: bool) -> str:
    """What `?` says of the answer to a reading; `pending`: the step's action still waits to be done."""
    helps = {
        "choice": "Type the number of what fits.",
        "words": "Write it in one line.",
        "picture": "Type the file's path, or on paper and where it is.",
        "sound": "Type the file's path, or on paper and where it is.",
        "note": "Type a note or its pitch: A3, A3 -12c, 220 Hz. It is said back before it counts.",
    }
    number = "Type the value, with its unit if it is another: 6,35 mm, 1/4 in, 1 1/2. It is said back before it counts."
    if not pending:
        return helps.get(reading.sort, number)
    return f"Do what is said, then: {helps.get(reading.sort, number)} Type no if you do not see yet what you should."


def understood_line(meant: Understood) -> str:
    """What was understood, and how it stands, before it counts."""
    words = f"Understood: {meant.shown}"
    if meant.verdict:
        by = f" by {meant.by} {meant.unit}".rstrip() if meant.by and meant.by != "0" else ""
        words += f"; {meant.verdict}{by}"
    return words + "."


def chosen_line(meant: Understood) -> str:
    """Which of the choices was noted, and whether it is the wanted one."""
    wanted = {"within": "; as wanted", "outside": "; not what is wanted"}.get(meant.verdict or "", "")
    return f"Noted: {meant.shown}{wanted}."


# --- other points ----------------------------------------------------------------------------------------------


def wait_line(here: Now, time: datetime) -> str:
    """How long there is still to wait."""
    assert here.visit is not None and here.visit.until is not None
    until = parse_time(here.visit.until)
    left = (until - time).total_seconds()
    latest = f", at the latest {here.visit.latest[11:16]}" if here.visit.latest else ""
    if left <= 0:
        return f"The time is up (since {until:%H:%M}{latest})."
    return f"Wait until {until:%H:%M}: {int(-(-left // 60))} min left{latest}. You may /leave and come back."


def fact_line(name: str) -> str:
    """The question for a fact of the drum."""
    return f"{FACTS[name].ask}?"


def account_lines(here: Now) -> Iterator[str]:
    """What is counted at the end."""
    assert here.linked is not None
    yield "Count what must be back on the bench: " + "; ".join(countable(here.linked)) + "."
