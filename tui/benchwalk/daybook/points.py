"""The right page, kind by kind: what each point of a walk says, asks and takes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from ..procedure.model import Reading
from ..procedure.showing import many, words_of
from ..quantities import decimal_text
from ..walk.by_ear import BY_EAR
from ..walk.desk import Bench, view_of
from ..walk.job_acts import job_hazards
from ..walk.phase import Now, advised, noted_places, reading_after
from ..walk.places import step_name
from ..walk.state import SignOff, State, Visit
from ..walk.view import View
from ..walk.wording import asked_at, before_answer, moment, render, said_entry
from . import lines
from .entries import corrected_lines, covered_lines
from .page import Choice, Hazard, Page
from .rope import stops_walked


def _ready(state: State, here: Now, bench: Bench) -> Page:
    assert here.linked is not None
    hazards = tuple(Hazard(g, p.hazard, p.consequence or "", p.avoid) for g, p in job_hazards(here.linked))
    return Page(
        "ready",
        place="Before the first stop",
        lead=tuple(lines.needs_lines(here)) + (() if hazards else ("Hazards of the whole: none found.",)),
        hazards=hazards,
        question="Is all of this at hand, and were the hazards read?",
        entry="or what is missing, and why you go on without it",
        press=(("walk.next", "when all is at hand"),),
    )


def _fact(state: State, here: Now, bench: Bench) -> Page:
    return Page(
        "fact",
        place="Before the first stop",
        question=lines.fact_line(here.name),
        entry="as you find it on the drum",
        press=(("walk.next", "notes it"),),
    )


def _recheck(state: State, here: Now, bench: Bench) -> Page:
    return Page(
        "recheck",
        action="Look at the drum: is it as the log says?",
        lead=(lines.last_line(state, bench),),
        entry="or how it is instead",
        press=(("walk.next", "when it is as the log says"), ("walk.back", "goes back to an earlier stop")),
    )


def _hazard(state: State, here: Now, bench: Bench) -> Page:
    assert here.step is not None
    people = any(grade != "notice" for grade, _part in here.step.graded())  # a notice speaks of things, not of hands
    press = (("walk.yes" if people else "walk.next", "when you have read it"),)
    return Page("hazard", question="Read this before you go on.", press=press)


def _action(here: Now, view: View) -> str:
    assert here.step is not None and here.linked is not None
    if not here.step.do:
        return ""
    return render(here.step.do, view, ("steps", here.linked.at[here.step.step], "do"))


def _do(state: State, here: Now, bench: Bench) -> Page:
    assert here.visit is not None
    action = _action(here, view_of(state, here.visit, bench))
    asked = reading_after(state, here, bench)
    if asked is not None:
        return replace(_asks(state, asked, bench), kind="do", action=action)
    first = lines.begins_with(state, here, bench)  # done before it is confirmed place by place, it is done twice
    press = (("walk.next", f"begins with {first}" if first else "when it is done"), ("walk.not_yet", "if not yet"))
    return Page("do", action=action, hints=_rest_after(here), press=press)


def _rest_after(here: Now) -> tuple[str, ...]:
    """The time that must pass once a step is done, said before it begins to run."""
    wait = here.step.wait if here.step is not None else None
    if wait is None:
        return ()
    since = f", counted from when '{words_of(wait.from_)}' was done" if wait.from_ else ""
    return (f"Then {wait.for_} must pass{since}.",)


def _way(state: State, here: Now, bench: Bench) -> Page:
    assert here.step is not None and here.step.choose is not None and here.visit is not None
    way = next(w for w in here.step.choose.ways if w.way == here.visit.way)
    return Page("way", action=way.do or "", press=(("walk.next", "when it is done"), ("walk.not_yet", "if not yet")))


def _each(state: State, here: Now, bench: Bench) -> Page:
    assert here.visit is not None
    place = lines.place_words(here.place)
    more = (f"{here.todo} more after this.",) if here.todo else ("This is the last one.",)
    return Page(
        "each",
        action=_action(here, view_of(state, here.visit, bench)),
        question=f"Now {place}.",
        hints=more,
        press=(("walk.next", f"when {place} is done"), ("walk.not_yet", "if not yet")),
    )


def _choose(state: State, here: Now, bench: Bench) -> Page:
    assert here.step is not None and here.step.choose is not None and here.visit is not None
    ways = here.step.choose.ways
    return Page(
        "choose",
        action=_action(here, view_of(state, here.visit, bench)),
        question="These ways are equally good. Which do you take?",
        choices=tuple(Choice(i, w.way, w.say) for i, w in enumerate(ways, 1)),
        press=(("walk.next", "takes the one that is marked"),),
    )


def _reading(state: State, here: Now, bench: Bench) -> Page:
    assert here.visit is not None
    page = _asks(state, here, bench)
    return replace(page, action=_action(here, view_of(state, here.visit, bench)))


def _asks(state: State, asked: Now, bench: Bench) -> Page:
    """The reading asked for: the question, what can be answered, what is wanted, what it was."""
    assert asked.visit is not None
    reading = asked.reading
    view = view_of(state, asked.visit, bench)
    text = asked_at(render(reading.ask, view, ("readings", asked.name, "ask")))
    place = f"{'rod ' if reading.by_rod else ''}{asked.place}" if asked.place else ""
    if place and noted_places(state, asked.visit, asked.name):
        text = f"At {place}: {text[:1].lower()}{text[1:]}"
    elif place:
        text = asked_at(text, place)
    wanted = reading.wanted or () if reading.choices else ()
    choices = tuple(
        Choice(i, word, shown, word in wanted) for i, (word, shown) in enumerate((reading.choices or {}).items(), 1)
    )
    advice = advised(asked, view)
    alone = ", or as advised where nothing is typed" if advice is not None else ""
    press = [("walk.next", "notes the one that is marked" if choices else f"notes it{alone}")]
    if reading.optional:
        press.append(("walk.leave_out", "leaves it out"))
    if reading.heard:
        press.append(("walk.listen", "hears it"))
    if reading.sort in ("picture", "sound"):
        press.append(("walk.newest", "takes the newest file"))
    return Page(
        "reading",
        question=before_answer(text) if choices else text if text.endswith("?") else f"{text}.",
        choices=choices,
        hints=tuple(_hints(state, asked, bench)),
        entry=None if choices else typed_in(reading),
        asked=asked,
        advised=decimal_text(advice) if advice is not None else "",
        press=tuple(press),
    )


def typed_in(reading: Reading) -> str:
    """What is typed for a reading, as it stands in the empty entry."""
    words = {
        "words": "in words",
        "picture": "the file, or: on paper, no. 12",
        "sound": "the file, or: on paper, no. 12",
        "note": "a note or Hz: A3, A3 -12c, 220 Hz",
    }
    return words.get(reading.sort, f"in {reading.unit}" if reading.unit else "a number")


def _hints(state: State, asked: Now, bench: Bench) -> list[str]:
    assert asked.visit is not None
    hints = []
    if advice := lines.advised_words(asked, view_of(state, asked.visit, bench)):
        hints.append(f"Advised: {advice}")
    wanted = "" if asked.reading.choices else lines.wanted_text(state, asked, bench)
    if wanted:
        hints.append(f"Wanted: {wanted}")
    possible = asked.linked.possible.get(asked.name) if asked.linked is not None else None
    if possible is not None:
        hints.append(f"Possible: {possible.text(unit_of(asked.reading))}")
    last = [e for e in state.readings.get((asked.visit.run, asked.name), ()) if e.place == asked.place and e.value]
    if last:
        hints.append(f"Last: {said_entry(last[-1], asked.reading)}")
    if asked.reading.sort == "note" and asked.place and noted_places(state, asked.visit, asked.name):
        hints.append(BY_EAR)
    if asked.todo:
        hints.append(f"{asked.todo} more after this")
    return hints


def unit_of(reading: Reading) -> str:
    """The unit that a reading is kept in."""
    return "Hz" if reading.sort == "note" else (reading.unit or "")


def _wait(state: State, here: Now, bench: Bench) -> Page:
    assert here.visit is not None
    press = [("walk.next", "when the time is up"), ("walk.leave", "puts the work down; the time runs on")]
    if state.kind != "customer":
        press.append(("walk.jump", "jumps over the time (practice only)"))
    return Page(
        "wait",
        action=_action(here, view_of(state, here.visit, bench)),
        question=lines.time_line(here, bench.now),
        press=tuple(press),
    )


def _hold(state: State, here: Now, bench: Bench) -> Page:
    assert here.step is not None and here.step.hold is not None
    hold = here.step.hold
    return Page(
        "hold",
        action=f"Work stops here: a {hold.by} must look.",
        lead=(hold.because.rstrip(".") + ".", *covered_lines(state, here, bench)),
        press=(_signs(state, hold.by), ("walk.leave", "puts the work down until then")),
    )


def _signs(state: State, role: str) -> tuple[str, str]:
    if state.kind != "customer":
        return ("walk.sign", f"plays the {role} (practice only)")
    return ("walk.sign", f"a {role} signs, by name and PIN")


def _stuck(state: State, here: Now, bench: Bench) -> Page:
    role = bench.overrules
    return Page(
        "stuck",
        action=f"None of the branches fits what was noted. A {role} says how to go on.",
        press=(("walk.other_branch", "takes a branch by hand"), ("walk.fix", "corrects what was noted")),
    )


def _at(there: Visit | SignOff) -> str:
    return words_of(step_name(there.path, there.step))


def _diverged(state: State, here: Now, bench: Bench) -> Page:
    visit = state.leads_elsewhere()
    assert visit is not None
    return Page(
        "diverged",
        action="A corrected value would have led elsewhere.",
        lead=(f"It was at stop {visit.number}, {_at(visit)}, that the walk went another way.",),
        press=(("walk.way_out", "goes back there"), ("walk.stand", f"a {bench.overrules} lets it stand")),
    )


def _handover(state: State, here: Now, bench: Bench) -> Page:
    name = bench.names.get(here.name, here.name)
    return Page(
        "handover",
        place=lines.place_line(state, state.here()).rstrip("."),
        action=f"This work was handed to {name}.",
        lead=(state.hand_note,),
        question=f"{name} takes it on here.",
        press=(("walk.next", f"{name} takes it on"), ("walk.leave", "leaves it")),
    )


def _problem(state: State, here: Now, bench: Bench) -> Page:
    problem = state.problems[-1]
    return Page(
        "problem",
        place=lines.place_line(state, state.here()).rstrip("."),
        action=f"A problem was reported at {words_of(problem['step'])}. Work rests until it is settled.",
        lead=(problem["text"],),
        question="How was it settled?",
        entry="in a line",
        press=(("walk.next", "settles it"), ("walk.leave", "leaves it")),
    )


def _paused(state: State, here: Now, bench: Bench) -> Page:
    return Page(
        "paused",
        place=lines.place_line(state, state.here()).rstrip("."),
        action="The work was put down.",
        lead=((state.paused or "Nothing was said about it").rstrip(".") + ".",),
        press=(("walk.next", "takes it up again; the drum is looked at first"), ("walk.leave", "leaves it")),
    )


def _account(state: State, here: Now, bench: Bench) -> Page:
    counted, *missing = lines.account_lines(here, state.missing, bench.releases)
    things = counted.partition(": ")[2]
    return Page(
        "account",
        action="Count what must be back on the bench.",
        lead=(f"{things[:1].upper()}{things[1:]}", *missing),
        press=(
            ("walk.yes", "when every piece is here"),
            ("walk.missing", "says what is missing"),
            *((_signs(state, bench.releases),) if state.missing else ()),
        ),
    )


def _sign_again(state: State, here: Now, bench: Bench) -> Page:
    old = state.open_signs()[0]
    visit = state.visits[old.visit - 1]
    hold = bench.books(visit.text).steps[visit.step].hold
    role = hold.by if hold else bench.overrules
    return Page(
        "sign-again",
        place=lines.place_line(state, visit).rstrip("."),
        action=f"The sign-off at {_at(old)} no longer stands. A {role} must give it again.",
        lead=(str(old.void).rstrip(".") + ".", *corrected_lines(state, old, bench)),
        press=(_signs(state, role), ("walk.leave", "puts it down until then")),
    )


def _ended(state: State, here: Now, bench: Bench) -> Page:
    ended = state.ended or {"outcome": "", "say": "", "proposes": []}
    lead = [ended["say"]] if ended["say"] else []
    if ended["proposes"]:
        lead.append(f"Next, as proposed: {', '.join(map(words_of, ended['proposes']))}.")
    practice = state.kind != "customer"
    press = ("walk.next", "closes this practice job") if practice else _signs(state, bench.releases)
    return Page(
        "ended",
        place="After the last stop",
        action=f"The walk ends here: {ended['outcome']}.",
        lead=tuple(lead),
        question="" if practice else f"A {bench.releases} releases the job as a whole.",
        press=(
            press,
            ("walk.pages", "reads its pages first"),
            ("walk.report", "a report"),
            ("walk.leave", "leaves it"),
        ),
    )


def _released(state: State, here: Now, bench: Bench) -> Page:
    ended, released = state.ended or {}, state.released or {}
    readings = sum(state.live(entry.visit, entry.n) for entry in state.entries.values())
    by = bench.names.get(released.get("who", ""), released.get("who", ""))
    at = moment(str(released.get("at", "")))
    lead = [
        str(ended.get("say", "")),
        f"{stops_walked(state)}, {many(readings, 'reading')}; released by {by}, {at}.",
    ]
    return Page(
        "released",
        action="The job is released.",
        lead=tuple(lead),
        press=(("walk.leave", "back"), ("walk.report", "makes its report"), ("walk.pages", "its pages")),
    )


PAGES: dict[str, Callable[[State, Now, Bench], Page]] = {
    "ready": _ready,
    "fact": _fact,
    "recheck": _recheck,
    "hazard": _hazard,
    "do": _do,
    "way": _way,
    "each": _each,
    "choose": _choose,
    "reading": _reading,
    "wait": _wait,
    "hold": _hold,
    "stuck": _stuck,
    "diverged": _diverged,
    "handover": _handover,
    "problem": _problem,
    "paused": _paused,
    "account": _account,
    "sign-again": _sign_again,
    "ended": _ended,
    "released": _released,
}
