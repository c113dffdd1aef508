"""From a procedure, or a job that was begun, to its sheet."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

from ..procedure.facts import FACTS
from ..procedure.linked import Linked
from ..procedure.model import Whenever
from ..procedure.showing import words_of
from ..walk.desk import Bench
from ..walk.foretold import bare_ask
from ..walk.job_acts import job_hazards
from ..walk.phase import countable
from ..walk.state import State
from ..walk.wording import as_typed, listed, moment
from .parts import Event, Lead, Sheet, Warn
from .stops import Walked, letters
from .wording import capital, ended

OPENED = {"customer": "a customer's job", "practice": "practice", "rehearsal": "a rehearsal"}


def blank_sheet(linked: Linked, late_key: str) -> Sheet:
    """The sheet of a procedure that nobody has begun; `late_key` is the key that makes a late entry on screen."""
    books = {book.text: book for book in linked.family()}
    bench = Bench(books.__getitem__, _no_sums, datetime(1970, 1, 1, tzinfo=UTC))  # nothing here asks for the time
    return _sheet(State(text=linked.text), bench, "", late_key)


def job_sheet(state: State, bench: Bench, shop: str, late_key: str) -> Sheet:
    """The sheet of a job as it stands: what is known filled in, what is behind crossed off."""
    return _sheet(state, bench, shop, late_key)


def _no_sums(name: str, inputs: dict[str, Any]) -> Any:
    raise AssertionError("a sheet works nothing out")


def _sheet(state: State, bench: Bench, shop: str, late_key: str) -> Sheet:
    root = bench.books(state.text)
    p = root.procedure
    parts = tuple(Walked(state, bench).parts())
    begun = state.readied
    return Sheet(
        shop,
        p.title,
        f"{p.procedure}, revision {p.revision}",
        f"{p.procedure} {p.revision}" + (f", {state.job}" if state.job else ""),
        state.job,
        _how_far(state, bench),
        f"{ended(p.purpose)} Time: {ended(p.time)}",
        tuple(_facts(state, root, bench)),
        () if begun else tuple(_laid_out(root)),
        () if begun else tuple(p.needs.before),
        tuple(Warn(grade.upper(), h.hazard, h.consequence or "", h.avoid) for grade, h in job_hazards(root)),
        parts,
        () if state.ended is not None else tuple(_events(root)),
        tuple(countable(root)) if not state.accounted else (),
        tuple(typing_in(root, state, late_key)),
    )


def _how_far(state: State, bench: Bench) -> str:
    if not state.job:
        return ""
    kind = OPENED.get(state.kind, state.kind)
    if state.ended is not None:
        return f"{kind}; ended {state.ended['outcome']} at {moment(state.ended['at'])}"
    here = state.here()
    where = "not begun" if here is None else f"at stop {here.number}, {words_of(here.step)}, since {moment(here.at)}"
    hand = bench.names.get(state.person, state.person)
    return f"{kind}; as it stood at {moment(state.at)}: {where}; in the hands of {hand}"


def _facts(state: State, root: Linked, bench: Bench) -> Iterator[tuple[str, str]]:
    """What is known of the drum, and a place to write for what must be and is not."""
    if state.note.get("instrument"):
        yield "Drum", state.note["instrument"]
    if state.note.get("complaint"):
        yield "Complaint", state.note["complaint"]
    for name in root.needed_facts():
        entry, data = state.facts.get(name), state.drum.get(name)
        known = as_typed(entry.typed, entry.unit) if entry is not None else str(data["typed"]) if data else ""
        yield bare_ask(FACTS[name].ask), known
    for name in root.procedure.takes if not state.job else ():
        yield capital(words_of(name)), ""
    if not state.job:
        yield "Job or drum", ""
        yield "Work by", ""
        yield "Date", ""
    else:
        yield "Work by", listed(bench.names.get(who, who) for who in state.people)
        yield "From here by", ""
        yield "Date", ""


def _laid_out(root: Linked) -> Iterator[tuple[str, tuple[str, ...]]]:
    for key, word in (("tools", "Tools"), ("parts", "Parts"), ("supplies", "Supplies")):
        needed = (each for linked in root.family() for each in getattr(linked.procedure.needs, key))
        if items := tuple(dict.fromkeys(needed)):
            yield word, items


def _events(root: Linked) -> Iterator[Event]:
    for letter, event in letters(root):
        during = listed(_where(root, word) for word in event.during)
        if event.run is not None:
            runs = f"first {letter} {root.runs[event.run.as_].procedure.title}, then on with the stop"
            yield Event(letter, event.say, during, Lead("", "", ""), runs)
        else:
            yield Event(letter, event.say, during, _lead(root, event))


def _lead(root: Linked, event: Whenever) -> Lead:
    then = _numbered(root, event.then) if event.then else ""
    return Lead("", _numbered(root, event.go or ""), "", False, event.at_most or 0, 0, then)


def _numbered(root: Linked, step: str) -> str:
    return f"{root.at[step] + 1} {words_of(step)}" if step in root.at else words_of(step)


def _where(root: Linked, word: str) -> str:
    if word == "everywhere":
        return "every stop"
    kind, _, stage = word.partition(" ")
    inside = [root.at[step] + 1 for step, name in root.stage.items() if kind == "stage" and name == stage]
    return f"stops {inside[0]} to {inside[-1]}" if inside else _numbered(root, word)


def typing_in(root: Linked, state: State, late_key: str) -> Iterator[str]:
    """How what was written is typed in once the computer is on again."""
    if state.released:
        yield "This job is finished and released; nothing is typed into it any more."
        return
    if state.job:
        yield f"Take the job up: benchwalk walk --job {state.job} --who NAME. It stands where this sheet says."
    else:
        yield f"Open the job (benchwalk intake {root.id}), or practice (benchwalk walk {root.id} --practice)."
    yield (
        "Go through the stops in the order you did them. The name of a stop stands there at the head of the page, as "
        "here; it gets a number there, in the order of the stops: write it beside."
    )
    yield (
        f"At a question that was answered on paper, type the value and press {late_key} for a late entry, then the "
        "time that stands beside the stop here. Line by line (--plain) it is one line: /late 9:30 4 mm. The small word "
        "behind a question here is its name in the procedure, for whoever looks the question up."
    )
    if not state.job:
        yield (
            "A time from before the job was opened is not taken: type such a value as it is, and the time as a note "
            "(/note). So where the computer goes off by plan, open the job first and print its sheet (--job)."
        )
    yield (
        "Whoever looked on paper looks again there and gives their PIN; a signature here is no PIN. What did not go as "
        "written here is a note. Keep this sheet with the job."
    )
