"""What a stop of a sheet asks: each reading with its unit, what is wanted and a place to write, and sums by hand."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import lru_cache

from ..procedure.condition_nodes import Is, Or
from ..procedure.conditions import parse_condition
from ..procedure.linked import Linked
from ..procedure.model import Reading, Step
from ..procedure.showing import words_of
from ..procedure.text import fields
from ..signatures import SIGNATURES, Output, Signature
from ..walk.foretold import called
from ..walk.phase import reading_places
from ..walk.state import Entry
from ..walk.wording import NOT_NOTED, said, said_entry
from .parts import Ask, Lead, Option
from .sight import Sight, filled

Answer = tuple[str, str]
"""What is asked, and the word of one of its answers."""
UNKNOWN_RODS = 10
"""Lines for a reading at each rod where nobody has said how many there are."""


def marks_of(sight: Sight) -> dict[str, str]:
    """A letter for each thing that is written down at the step."""
    names = [sight.step.choose.as_] if sight.step.choose else []
    names += [*sight.step.record, *(name for sum_ in sight.step.work_out for name in outputs(sight.linked, sum_))]
    return {name: chr(ord("a") + i % 26) * (i // 26 + 1) for i, name in enumerate(names)}


def asks(sight: Sight, leads: Mapping[Answer, Lead]) -> Iterator[Ask]:
    """Everything that is written down at the step; `leads` are the ways on by the answer that alone decides them."""
    if sight.step.choose:
        yield _way(sight, leads)
    for name in sight.step.record:
        yield _reading(sight, name, leads)
    for name in sight.step.work_out:
        yield from _sum(sight, name)


def _here(sight: Sight, name: str) -> dict[str | None, Entry]:
    """What was noted of it at this stay: what an earlier one noted is no answer."""
    return {place: entry for place, entry in sight.view.entries(name).items() if entry.visit == sight.stay}


def _way(sight: Sight, leads: Mapping[Answer, Lead]) -> Ask:
    assert sight.step.choose is not None
    name = sight.step.choose.as_
    noted = {entry.value for entry in _here(sight, name).values()}
    options = []
    for index, way in enumerate(sight.step.choose.ways):
        done = f": {sight.text(way.do, 'choose', 'ways', index, 'do')}" if way.do else ""
        options.append(Option(f"{way.say}{done}", False, way.way in noted, leads.get((name, way.way))))
    return Ask(sight.marks.get(name, ""), "One of these ways, all equally good", name, options=tuple(options))


def _reading(sight: Sight, name: str, leads: Mapping[Answer, Lead]) -> Ask:
    reading = sight.linked.procedure.readings[name]
    question = filled(reading.ask, sight.view, ("readings", name, "ask"), sight.given, {})
    entries = _here(sight, name)
    noted = ", ".join(
        f"{place}: {said_entry(e, reading)}" if place else said_entry(e, reading) for place, e in entries.items()
    )
    options: tuple[Option, ...] = ()
    if reading.choices:
        values = {entry.value for entry in entries.values()} if not reading.per else set()
        options = tuple(
            Option(shown, word in (reading.wanted or ()), word in values, leads.get((name, word)))
            for word, shown in reading.choices.items()
        )
    notes = [f"may be left out: {reading.optional.because}"] if reading.optional else []
    wide = reading.sort in ("words", "picture", "sound")
    unit = "Hz or a note" if reading.sort == "note" else reading.unit or ""
    question = f"{question} (on paper, its number)" if reading.sort in ("picture", "sound") else question
    return Ask(
        sight.marks.get(name, ""),
        question,
        name,
        unit,
        wanted(sight, name, reading),
        noted,
        options,
        places(sight, reading),
        wide,
        notes=tuple(notes),
    )


def places(sight: Sight, reading: Reading) -> tuple[str, ...]:
    """Where it is asked one by one; rods by number, or with room for the number where their count is not known."""
    if reading.per is None:
        return ()
    if reading.by_rod:
        rods = [place for place in reading_places(reading, sight.view) if place]
        return tuple(f"rod {rod}" for rod in rods) or ("rod ___",) * UNKNOWN_RODS
    return tuple(reading.per)


def wanted(sight: Sight, name: str, reading: Reading) -> str:
    """What is wanted, in words; empty for choices, where it stands beside the answer."""
    if reading.wanted is None or reading.choices:
        return ""
    source = sight.linked.wanted_from.get(name)
    if source is not None:
        known = said(source, sight.view)
        if known not in (NOT_NOTED, "no result"):
            return known
        return f"as worked out: {called(source, sight.linked, sight.given)}"
    found = sight.linked.wanted.get(name)
    return found.text("Hz" if reading.sort == "note" else reading.unit or "") if found else ""


# --- sums --------------------------------------------------------------------------------------------------------


def _sum(sight: Sight, name: str) -> Iterator[Ask]:
    """A line for each thing a sum gives that is used later; the first says what it is worked out from."""
    linked = sight.linked
    use = linked.procedure.sums[name].use
    signature = SIGNATURES[use]
    given = "; ".join(f"{key} is {_argument(sight, name, key)}" for key in linked.arguments.get(name, {}))
    notes = [given] + ([f"No result {signature.no_result}"] if signature.no_result else [])
    for index, full in enumerate(outputs(linked, name)):
        part = full.partition(".")[2]
        output = next((o for o in signature.outputs if o.name == part), None)
        if output is None:
            continue
        worked = sight.view.worked(name)
        known = said(full, sight.view) if worked is not None and worked.visit == sight.stay else NOT_NOTED
        unit = linked.variables[full].unit if full in linked.variables else output.unit
        yield Ask(
            sight.marks.get(full, ""),
            _to_work_out(name, output, signature),
            name,
            unit,
            noted="" if known == NOT_NOTED else known,
            options=tuple(Option(word, False, word == known) for word in output.choices),
            wide=output.kind == "range",
            worked=True,
            notes=() if index else tuple(notes),
        )


def _to_work_out(name: str, output: Output, signature: Signature) -> str:
    spoken, words = output.spoken.replace("_", " "), words_of(name)
    about = (output.about or signature.about).partition(";")[0]
    return f"Work out {words}{'' if spoken == words else f', {spoken}'}: {about}."


def _argument(sight: Sight, name: str, key: str) -> str:
    wish = sight.linked.arguments[name][key]
    if wish.how == "literal":
        return wish.name
    before = {"previous": "the round before of: ", "every": "every round of: "}.get(wish.how, "")
    if wish.name in sight.linked.limits:
        return said(wish.name, sight.view)
    return before + sight.call(wish.name)


def outputs(linked: Linked, name: str) -> tuple[str, ...]:
    """What a sum gives that is used anywhere, by its full name; all of it where nothing is."""
    every = [f"{name}.{output.name}" for output in SIGNATURES[linked.procedure.sums[name].use].outputs]
    used = [full for full in every if full in _used(linked)]
    return tuple(used or every)


@lru_cache(maxsize=64)
def _used(linked: Linked) -> frozenset[str]:
    """Every name that a condition, a text, a sum, a run or what is wanted asks for."""
    found = set(linked.wanted_from.values())
    for bound in linked.conditions.values():
        found.update(bound.variables)
    for arguments in linked.arguments.values():
        found.update(argument.name for argument in arguments.values())
    for step in linked.procedure.steps:
        found.update(step.run.with_.values() if step.run else ())
        texts = [step.do, step.expect, *(branch.because for branch in step.lines)]
        found.update(each.name for text in texts if text for each in fields(text))
    for finding in linked.procedure.findings.values():
        found.update(each.name for each in fields(finding.found))
    return frozenset(found)


# --- answers that lead on ----------------------------------------------------------------------------------------


def deciding(linked: Linked, step: Step) -> dict[Answer, int]:
    """Answer -> branch, where one choice that the step asks decides alone which is taken; empty where none does."""
    found: dict[Answer, int] = {}
    words: Mapping[str, str] = {}
    for index, branch in enumerate(step.lines):
        if branch.when.strip() == "otherwise":
            names = {name for name, _word in found}
            found.update({(name, word): index for name in names for word in words if (name, word) not in found})
            continue
        node = parse_condition(branch.when)
        for each in node.parts if isinstance(node, Or) else (node,):
            if not isinstance(each, Is) or each.negated or each.subject.name not in step.record:
                return {}
            name, reading = each.subject.name, linked.procedure.readings[each.subject.name]
            words = reading.choices or {}
            if reading.per or each.word not in words or any(other != name for other, _word in found):
                return {}
            found.setdefault((name, each.word), index)
    return found if len(found) == len(words) else {}
