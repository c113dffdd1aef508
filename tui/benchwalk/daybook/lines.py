"""What is said at each point of a walk, as paragraphs; `terse` for people trusted with the procedure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime

from ..procedure.facts import FACTS
from ..procedure.model import HazardText, Reading
from ..procedure.showing import words_of
from ..quantities import decimal_text, with_unit
from ..walk.by_ear import BY_EAR
from ..walk.desk import Bench, view_of
from ..walk.job_acts import job_hazards
from ..walk.phase import Now, advised, countable, each_places, noted_places, parse_time
from ..walk.places import step_name
from ..walk.record import Understood
from ..walk.state import State, Visit
from ..walk.view import View
from ..walk.worded import done_text
from ..walk.wording import asked_at, before_answer, hand_words, render, said, said_entry, turns_figure
from .entries import entries_of, entry_line, why_words

SPOKEN = {"danger": "DANGER", "warning": "WARNING", "caution": "CAUTION", "notice": "NOTICE"}


def opening_lines(state: State, names: dict[str, str]) -> Iterator[str]:
    """Said once when a walk begins or goes on."""
    kind = {"practice": "a practice job", "customer": "a customer's job", "rehearsal": "a rehearsal"}[state.kind]
    yield f"{state.title}, revision {state.revision}. Job {state.job}, {kind}."
    yield f"{names.get(state.person, state.person)} has the work in hand."


def ready_lines(here: Now) -> Iterator[str]:
    """What must be at hand before the first step, and the hazards of the whole."""
    yield from needs_lines(here)
    yield from hazard_lines(here)


def needs_lines(here: Now) -> Iterator[str]:
    """What the whole is for, how long it takes and what must be at hand: of it and of all that it runs, each once.

    What must be so before is told for each of them by its title: it is confirmed now for all.
    """
    assert here.linked is not None
    root = here.linked
    yield f"What it is for: {root.procedure.purpose}"
    yield f"Time: {root.procedure.time}."
    yield f"Before you begin: {_listed(root.procedure.needs.before)}."
    for linked in root.family():
        if linked is not root and linked.procedure.needs.before:
            yield f"Before {linked.procedure.title}: {_listed(linked.procedure.needs.before)}."
    for key, word in (("tools", "Tools"), ("parts", "Parts"), ("supplies", "Supplies")):
        yield f"{word}: {_listed(each for linked in root.family() for each in getattr(linked.procedure.needs, key))}."


def _listed(items: Iterable[str]) -> str:
    """Each once, in order; `none` where there is nothing."""
    return "; ".join(dict.fromkeys(items)) or "none"


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
    return f"Stop {visit.number}, {words_of(step_name(visit.path, visit.step))}."


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
        yield f"Why you are here: {why_words(state, here.visit)}."
    if not terse:
        yield from given_lines(state, here, view)
    for grade, part in here.step.graded():
        yield hazard_line(grade, part, view, ("steps", here.linked.at[here.step.step]))


def given_lines(state: State, here: Now, view: View) -> Iterator[str]:
    """At the first stop of a part that another procedure runs: what it was given."""
    assert here.visit is not None and here.linked is not None
    takes = here.linked.procedure.takes
    if here.visit.path and takes and _first_stop(state, here.visit):
        yield "Given to this part: " + ", ".join(_given(name, said(name, view)) for name in takes) + "."


def _given(name: str, value: str) -> str:
    """A value that was given, after its name where it does not say that itself."""
    word = words_of(name)
    return value if word in value.split() else f"{word} {value}"


def last_line(state: State, bench: Bench) -> str:
    """What the log says was done last, in one sentence."""
    for visit in reversed(state.visits):
        if visit.struck:
            continue
        linked = bench.books(visit.text)
        entries = [e for e in entries_of(state, visit) if state.live(e.visit, e.n)]
        if entries:
            return f"Last noted: {entry_line(entries[-1], linked.procedure.readings.get(entries[-1].name))}."
        step = linked.steps[visit.step]
        if step.do and visit.done:
            return f"Last done: {done_text(state, view_of(state, visit, bench), visit)}"
    return "Nothing was done yet."


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
    yield f"You are here because: {why_words(state, visit) or 'it follows the step before'}."
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
    asked = asked_at(_text(reading.ask, view, ("readings", here.name), "ask"), place)
    if not choices:
        yield f"{asked}{'' if asked.endswith('?') else '.'} {hints}".rstrip()
        return
    yield before_answer(asked)
    yield from choices
    if hints:
        yield hints


def _choices(reading: Reading, terse: bool) -> list[str]:
    wanted = () if terse else reading.wanted or ()
    choices = (reading.choices or {}).items()
    return [f"{i} {text}{' (wanted)' if word in wanted else ''}" for i, (word, text) in enumerate(choices, 1)]


def place_words(place: str | None) -> str:
    """A place that is confirmed singly: `rod 3`, or its own name."""
    return f"rod {place}" if (place or "").isdigit() else str(place)


def begins_with(state: State, here: Now, bench: Bench) -> str:
    """The place that comes first where an action is done place by place right after it is read; else empty."""
    step, visit = here.step, here.visit
    if step is None or visit is None or step.choose or step.run:
        return ""
    places = each_places(step, visit, view_of(state, visit, bench))
    return place_words(places[0]) if places else ""


def advised_words(asked: Now, view: View) -> str:
    """What a sum advises for the place asked, as a hand does it: `tighten an eighth (1/8 turn)`; empty without."""
    found = advised(asked, view)
    if found is None:
        return ""
    if asked.reading.unit == "turns":
        return f"{hand_words(found)} ({turns_figure(found)})"
    return with_unit(decimal_text(found), asked.reading.unit or "")


def _hints(state: State, here: Now, bench: Bench) -> str:
    assert here.visit is not None
    hints = []
    if advice := advised_words(here, view_of(state, here.visit, bench)):
        hints.append(f"Advised: {advice}. Enter alone notes just that.")
    wanted = "" if here.reading.choices else wanted_text(state, here, bench)
    if wanted:
        hints.append(f"Wanted: {wanted}.")
    last = [e for e in state.readings.get((here.visit.run, here.name), ()) if e.place == here.place and e.value]
    if last:
        hints.append(f"Last: {said_entry(last[-1], here.reading)}.")
    if here.reading.optional:
        hints.append("It may be left out with /none.")
    if here.reading.sort == "note" and here.place and noted_places(state, here.visit, here.name):
        hints.append(f"{BY_EAR}.")
    if here.todo:
        hints.append(f"{here.todo} more after this.")
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
        "picture": "Path of the picture, newest, or on paper and its number:",
        "sound": "Path of the recording, newest, or on paper and its number:",
        "note": "Type it as a note or in Hz:",
    }
    return prompts.get(reading.sort, f"Type it in {reading.unit}:" if reading.unit else "Type it:")


def typed_help(reading: Reading, pending: bool) -> str:
    """What `?` says of the answer to a reading; `pending`: the step's action still waits to be done."""
    helps = {
        "choice": "Type the number of what fits.",
        "words": "Write it in one line.",
        "picture": "Type the file's path, newest for the one that arrived last, or on paper and where it is.",
        "sound": "Type the file's path, newest for the one that arrived last, or on paper and where it is.",
        "note": "Type a note or its pitch: A3, A3 -12c, 220 Hz. It is said back before it counts.",
    }
    number = "Type the value, with its unit if it is another: 6,35 mm, 1/4 in, 1 1/2. It is said back before it counts."
    if not pending:
        return helps.get(reading.sort, number)
    return f"Do what is said, then: {helps.get(reading.sort, number)} Type no if you do not see yet what you should."


def understood_line(meant: Understood) -> str:
    """What was understood, and how it stands, before it counts."""
    words = f"Understood: {meant.shown}"
    if meant.verdict and not meant.odd:
        by = f" by {with_unit(meant.by, meant.unit)}" if meant.by and meant.by != "0" else ""
        words += f"; {meant.verdict}{by}"
    return words + "."


def chosen_line(meant: Understood) -> str:
    """Which of the choices was noted, and whether it is the wanted one."""
    wanted = {"within": "; as wanted", "outside": "; not what is wanted"}.get(meant.verdict or "", "")
    return f"Noted: {meant.shown}{wanted}."


# --- other points ----------------------------------------------------------------------------------------------


def time_line(here: Now, time: datetime) -> str:
    """How long there is still to wait."""
    assert here.visit is not None and here.visit.until is not None
    until = parse_time(here.visit.until)
    left = (until - time).total_seconds()
    latest = f", at the latest {here.visit.latest[11:16]}" if here.visit.latest else ""
    if left <= 0:
        return f"The time is up (since {until:%H:%M}{latest})."
    return f"Wait until {until:%H:%M}: {int(-(-left // 60))} min left{latest}."


def fact_line(name: str) -> str:
    """The question for a fact of the drum."""
    return f"{FACTS[name].ask}?"


def account_lines(here: Now, missing: str = "", role: str = "senior") -> Iterator[str]:
    """What is counted at the end, and what was missing when it was."""
    assert here.linked is not None
    yield "Count what must be back on the bench: " + "; ".join(countable(here.linked)) + "."
    if missing:
        yield f"Missing so far: {missing.rstrip('.')}. The job stays open until it is found, or a {role} lets it close."
