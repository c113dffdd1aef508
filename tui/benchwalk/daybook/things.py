"""What is worth knowing of a job, thing by thing in the order it came about; what was gone back over is left out."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import NamedTuple

from ..procedure.linked import Linked
from ..procedure.model import Reading
from ..procedure.showing import safe_text, words_of
from ..quantities import decimal_text
from ..walk.foretold import bare_ask
from ..walk.phase import reading_places
from ..walk.state import Entry, SignOff, State, Visit, Worked
from ..walk.view import View, fraction
from ..walk.wording import as_typed, asked_at, before_answer, judged, listed, moment, render, said_entry, worked_words
from .ink import Line, Span, Tone

Names = Mapping[str, str]
Books = Callable[[str], Linked]

_JUDGED: dict[str, Tone] = {"within": "within", "below": "outside", "above": "outside", "outside": "outside"}
_CHOSEN = {"within": "as wanted", "outside": "not what is wanted"}
_GRADES: dict[str, tuple[str, Tone]] = {
    "ok": ("Found", "within"),
    "watch": ("Watch", "caution"),
    "refer": ("Refer", "outside"),
    "tell-owner": ("Tell the owner", "notice"),
}
FEW = 2
"""Up to so many figures stand one by one; more are told as from the lowest to the highest."""


class Thing(NamedTuple):
    """One thing: the event it came about with (a corrected value: of its last correction), its stop, its line."""

    n: int
    visit: int
    line: Line


def things(state: State, books: Books, names: Names) -> list[Thing]:
    """Everything that counts, oldest first."""
    found = [*_facts(state), *_readings(state, books), *_sums(state, books), *_runs(state), *_events(state, names)]
    return sorted(found, key=lambda thing: thing.n)


def _line(*parts: str | Span) -> Line:
    """A line nothing in which acts on a terminal."""
    spans = (part if isinstance(part, Span) else Span(part) for part in parts)
    return tuple(span._replace(text=safe_text(_flat(span.text))) for span in spans if span.text)


def _flat(text: str) -> str:
    """On one line; blanks at the ends stay."""
    return text if "\n" not in text and "\r" not in text else " ".join(text.split())


# --- readings ----------------------------------------------------------------------------------------------------


def _facts(state: State) -> Iterator[Thing]:
    for name, entry in state.facts.items():
        noted = as_typed(entry.typed, entry.unit)
        yield Thing(_latest(entry), 0, _line(f"Drum, {words_of(name)}: {noted}", *_before(entry, None)))


def _readings(state: State, books: Books) -> Iterator[Thing]:
    rounds: dict[tuple[int, str], list[Entry]] = {}
    for entry in state.entries.values():
        if entry.visit and state.live(entry.visit, entry.n):
            rounds.setdefault((entry.visit, entry.name), []).append(entry)
    for (number, name), entries in rounds.items():
        visit = state.visits[number - 1]
        linked = books(visit.text)
        reading = linked.procedure.readings.get(name)
        view = View(state, linked, visit.run, visit=number, upto=max(e.n for e in entries))
        ask = render(reading.ask, view, ("readings", name, "ask")) if reading else words_of(name).capitalize()
        count = len(reading_places(reading, view)) if reading else len(entries)
        for alike in _alike(entries):
            yield Thing(max(map(_latest, alike)), number, _noted(ask, alike, count, reading))


def _latest(entry: Entry) -> int:
    return entry.before[-1][2] if entry.before else entry.n


def _alike(entries: list[Entry]) -> list[list[Entry]]:
    """The places of one reading that can be told in one line: judged alike, and nothing else to say of them."""
    groups: dict[tuple[object, ...], list[Entry]] = {}
    for entry in entries:
        own = entry.n if entry.before or entry.odd or entry.late_at else None
        groups.setdefault((own, entry.value is None and entry.why, entry.verdict), []).append(entry)
    return list(groups.values())


def _noted(ask: str, alike: list[Entry], count: int, reading: Reading | None) -> Line:
    """What was noted at some of the `count` places it is asked at (or without any), judged alike."""
    first = alike[0]
    label = before_answer(asked_at(bare_ask(ask), _where(alike, count, reading))) + " "
    if first.value is None:
        return _line(label, Span(f"left out ({first.why})", "quiet"), *_before(first, reading))
    words = judged(first) if len(alike) == 1 else first.verdict or ""
    if reading is not None and reading.choices:
        words = _CHOSEN.get(words, words)
    judgement = (Span("; "), Span(words, _JUDGED[first.verdict or ""])) if words else ()
    more = "; outside what is possible, said twice" if first.odd else ""
    late = f"; late entry, taken {moment(first.late_at)}" if first.late_at else ""
    return _line(label, _values(alike, reading), *judgement, more, late, *_before(first, reading))


def _where(alike: list[Entry], count: int, reading: Reading | None) -> str:
    """At which of its places a reading was noted; empty where it has none."""
    places = [entry.place for entry in alike if entry.place is not None]
    if not places:
        return ""
    if len(places) == count and count > 1:
        how_many = "both" if count == 2 else f"all {count}"
        return f"{how_many} {'rods' if reading is not None and reading.by_rod else 'places'}"
    rod = "rods " if len(places) > 1 else "rod "
    return f"{rod if reading is not None and reading.by_rod else ''}{listed(places)}"


def _values(alike: list[Entry], reading: Reading | None) -> str:
    told = [said_entry(entry, reading) for entry in alike]
    if len(set(told)) == 1:
        return told[0]
    if len(told) > FEW and reading is not None and reading.sort in ("number", "whole", "note"):
        values = sorted(fraction(entry.value) for entry in alike if entry.value is not None)
        return f"{decimal_text(values[0])} to {decimal_text(values[-1])} {alike[0].unit}".rstrip()
    return ", ".join(f"{entry.place}: {words}" for entry, words in zip(alike, told, strict=True))


def _before(entry: Entry, reading: Reading | None) -> Iterator[Span]:
    """The values that stood here before they were corrected."""
    if entry.before:
        choices = (reading.choices if reading is not None else None) or {}
        told = (choices.get(value, as_typed(typed, entry.unit)) or "left out" for typed, value, _n in entry.before)
        yield Span(f"; corrected, before: {', then '.join(told)}", "quiet")


# --- what came of them -------------------------------------------------------------------------------------------


def _sums(state: State, books: Books) -> Iterator[Thing]:
    for worked in (each for many in state.sums.values() for each in many):
        if state.live(worked.visit, worked.n):
            yield Thing(worked.latest, worked.visit, _worked(state, books(state.visits[worked.visit - 1].text), worked))


def _worked(state: State, linked: Linked, worked: Worked) -> Line:
    label = f"Worked out, {words_of(worked.name)}: "
    if worked.no_result is not None:
        return _line(label, Span(f"no result, {worked.no_result}", "outside"))
    view = View(state, linked, worked.run, upto=worked.n)
    return _line(label, worked_words(worked.use, worked.name, worked.outputs, view))


def _runs(state: State) -> Iterator[Thing]:
    for (_run, name), results in state.results.items():
        for result in results:
            if state.live(result.visit, result.n):
                outcome = Span(result.outcome, "quiet" if result.outcome == "done" else "outside")
                yield Thing(result.n, result.visit, _line(f"{words_of(name).capitalize()}: ", outcome))


def _events(state: State, names: Names) -> Iterator[Thing]:
    for found in state.found:
        if state.live(found.visit, found.n):
            word, tone = _GRADES[found.grade]
            yield Thing(found.latest, found.visit, _line(Span(f"{word}: ", tone), found.sentence))
    for sign in state.signs:
        if state.live(sign.visit, sign.n):
            yield Thing(sign.n, sign.visit, _signed(sign, names))
    for n, visit, who, _at, text in state.notes:
        if state.live(visit, n):
            yield Thing(n, visit, _line(Span(f"Note by {names.get(who, who)}: ", "quiet"), text))
    for problem in state.problems:
        if state.live(problem["visit"]):
            settled = f"; settled: {problem['settled']}" if problem["settled"] else ""
            open_ = () if problem["settled"] else (Span("; open", "caution"),)
            yield Thing(problem["n"], problem["visit"], _line(f"Problem: {problem['text']}{settled}", *open_))
    yield from (thing for visit in state.visits if not visit.struck for thing in _left_otherwise(visit))
    if state.ended:
        say = f". {state.ended['say']}" if state.ended["say"] else ""
        yield Thing(state.ended["n"], state.visit, _line(f"Ended {state.ended['outcome']}{say}"))


def _left_otherwise(visit: Visit) -> Iterator[Thing]:
    """A stop that was skipped, or left before it was finished."""
    if visit.skipped is not None:
        yield Thing(visit.closed or visit.entered, visit.number, _line(f"Skipped: {visit.skipped}"))
    elif visit.broken is not None:
        yield Thing(visit.closed or visit.entered, visit.number, _line(f"Broken off: {visit.broken}"))


def _signed(sign: SignOff, names: Names) -> Line:
    meaning = f"{sign.meaning[:1].upper()}{sign.meaning[1:]}" if sign.kind == "released" else "Refused"
    note = f"; {sign.note}" if sign.note else ""
    void = Span(f"; void: {sign.void}" + ("; signed again" if sign.renewed else ""), "outside") if sign.void else ""
    tone: Tone = "plain" if sign.kind == "released" else "outside"
    return _line(Span(meaning, tone), f": {names.get(sign.who, sign.who)}, {moment(sign.at)}{note}", void)
