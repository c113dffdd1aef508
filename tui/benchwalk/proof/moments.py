"""What one step does with values, in the order in which it is walked: what it reads, records and works out.

Nothing is judged here. `flow` carries facts through these moments, and the rules ask which facts a use meets.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from ..procedure.linked import Linked, Path, covers
from ..procedure.model import Run, Step
from ..procedure.text import TextError, fields
from ..procedure.variables import ROD
from ..signatures import SIGNATURES, Input, Signature

RECORDED, NEVER, LEFT_OUT, NO_RESULT, PARTLY = (1 << n for n in range(5))
"""Facts about a value, as bits: it is there; no step on the way recorded it; it was left out (optional, or its step was
skipped); the sum came to nothing; of several places some have none."""

FEWEST_RODS = 3
"""What a drum has at least, by the facts of a drum."""

NOT_THERE = NEVER | LEFT_OUT | NO_RESULT | PARTLY
FACTS = 5


class Use(NamedTuple):
    """A value is read. `how` says by what, `bad` which facts about it are a fault there."""

    name: str
    path: Path
    how: str
    bad: int = NEVER


class Put(NamedTuple):
    """From here on these are the facts about a value; with `may`, it may also be as before."""

    name: str
    facts: int
    may: bool = False


class Work(NamedTuple):
    """A sum is worked out. It may have no result if `may_fail`, or where one of `needs` is not there."""

    name: str
    needs: tuple[str, ...]
    may_fail: bool


class Ask(NamedTuple):
    """Somebody is asked here, so that an event may strike or the step be skipped; between two of these the walk goes on
    by itself. `partly` names a reading that may be noted at some of its places by then; `late` says that the wait is
    over, and who is late leaves the step."""

    partly: str = ""
    late: bool = False


Moment = Use | Put | Work | Ask
Facts = dict[str, int]
RunFacts = dict[str, Facts]
"""How a run that ended in an outcome leaves its values: outcome -> name in the caller -> facts."""


def moments(linked: Linked, step: Step, runs: dict[str, RunFacts]) -> Iterator[Moment]:
    """Everything `step` does with values before its branches."""
    at: Path = ("steps", linked.at[step.step])
    yield Put(visited(step.step), RECORDED)
    for number, event in enumerate(linked.procedure.whenever):
        if event.run and event.run.as_ in runs and covers(event, step.step, linked.stage.get(step.step)):
            yield from given(linked, event.run, ("whenever", number, "run"))
            yield from came_back(event.run, runs, may=True)
    if step.do or step.graded():
        yield Ask()
    for key in ("do", "expect", "why"):
        yield from in_text(linked, getattr(step, key), (*at, key))
    for number, text in enumerate(step.if_not or []):
        yield from in_text(linked, text, (*at, "if_not", number))
    for grade, hazard in step.graded():
        for said in (hazard.hazard, hazard.consequence, hazard.avoid):
            yield from in_text(linked, said, (*at, grade))
    if step.choose:
        yield Ask()
        yield Put(step.choose.as_, RECORDED)
        if any(way.do for way in step.choose.ways):
            yield Ask()
        for number, way in enumerate(step.choose.ways):
            yield from in_text(linked, way.do, (*at, "choose", "ways", number, "do"))
    if step.run and step.run.as_ in runs:
        yield from given(linked, step.run, (*at, "run"))
        yield Ask()
        yield from came_back(step.run, runs)
    if step.each:
        yield Ask()
    for number, _ in enumerate(step.each or []):
        yield from _asked(linked, (*at, "each", number), "each")
    if step.wait:
        if step.wait.from_ and step.wait.from_ in linked.steps:
            yield Use(visited(step.wait.from_), (*at, "wait", "from"), "wait")
        yield Ask(late=True)
    for name in step.record:
        yield from _record(linked, name)
    for number, name in enumerate(step.work_out):
        yield from _work(linked, name, (*at, "work_out", number))
    if step.hold:
        yield Ask()
        for number, name in enumerate(step.hold.covers):
            yield Use(name, (*at, "hold", "covers", number), "covers")
    if step.end:
        yield from in_text(linked, step.end.say, (*at, "end", "say"))


def line_uses(linked: Linked, step: Step, index: int) -> Iterator[Use]:
    """What a branch reads once it is taken: its reason and the sentences of what it finds."""
    line = step.lines[index]
    at: Path = ("steps", linked.at[step.step], "branches" if step.branches else "first_of", index)
    yield from in_text(linked, line.because, (*at, "because"))
    for name in line.find:
        if name in linked.procedure.findings:
            yield from in_text(linked, linked.procedure.findings[name].found, ("findings", name, "found"))


def visited(step: str) -> str:
    """The name under which the flow knows whether a step was walked."""
    return f"step {step}"


def in_text(linked: Linked, text: str | None, path: Path) -> Iterator[Use]:
    """The values in the braces of a text."""
    if text is None or "{{" not in text:
        return
    try:
        found = fields(text)
    except TextError:
        return
    for field in found:
        if field.where is None:
            yield Use(field.name, path, "text")
        else:
            yield from _asked(linked, (*path, field.where), "text", path)


def _asked(linked: Linked, key: Path, how: str, path: Path | None = None) -> Iterator[Use]:
    bound = linked.conditions.get(key)
    for name in bound.variables if bound else ():
        yield Use(name, path or key, how)


def given(linked: Linked, run: Run, at: Path) -> Iterator[Use]:
    """What a caller hands in: inside, nothing asks whether it is there."""
    takes = linked.runs[run.as_].procedure.takes if run.as_ in linked.runs else {}
    for key, text in run.with_.items():
        choices = takes[key].choices if key in takes else None
        if not (choices and text in choices):
            for name in _whole(linked, text):
                yield Use(name, (*at, "with", key), "with", NOT_THERE)


def came_back(run: Run, runs: dict[str, RunFacts], may: bool = False) -> Iterator[Put]:
    """What is known once a run has come back."""
    by_outcome = runs[run.as_]
    yield Put(f"{run.as_}.outcome", RECORDED, may)
    for name in next(iter(by_outcome.values()), {}):
        facts = 0
        for known in by_outcome.values():
            facts |= known[name]
        yield Put(name, facts, may)


def _record(linked: Linked, name: str) -> Iterator[Moment]:
    reading = linked.procedure.readings.get(name)
    if reading is None:
        return
    yield from in_text(linked, reading.ask, ("readings", name, "ask"))
    if name in linked.wanted_from:
        for source in _whole(linked, linked.wanted_from[name]):
            yield Use(source, ("readings", name, "wanted"), "wanted", NOT_THERE)
    if reading.where is not None:
        yield Use(reading.where, ("readings", name, "where"), "where", NOT_THERE)
    yield Ask(partly=name if reading.per else "")
    left = (LEFT_OUT | (PARTLY if reading.per else 0)) if reading.optional else 0
    yield Put(name, RECORDED | left)


def _work(linked: Linked, name: str, path: Path) -> Iterator[Moment]:
    sum_ = linked.procedure.sums.get(name)
    signature = SIGNATURES.get(sum_.use) if sum_ else None
    if signature is None:
        return
    needs: list[str] = []
    may_fail = signature.no_result is not None and not _enough_places(linked, name, signature)
    for declared in signature.inputs:
        wish = linked.arguments.get(name, {}).get(declared.name)
        if wish is None or wish.how == "literal":
            continue
        if wish.how == "previous":
            may_fail = may_fail or not declared.optional  # the first time there is none
            continue
        if not declared.optional:
            yield Use(wish.name, path, "sum")
            needs += _whole(linked, wish.name) if _alone(declared) else ()
    yield Work(name, tuple(needs), may_fail)
    yield from (Put(output, RECORDED | NO_RESULT) for output in unsure_outputs(linked, name))


def _enough_places(linked: Linked, name: str, signature: Signature) -> bool:
    """Whether only lacking values can leave the sum without a result: there are places enough once all are noted."""
    least = signature.least_places
    wishes = [linked.arguments.get(name, {}).get(declared.name) for declared in signature.inputs if declared.placed]
    variables = [linked.variables.get(wish.name) for wish in wishes if wish is not None]
    places = [variable.places for variable in variables if variable is not None and variable.places is not None]
    return least is not None and bool(places) and all((FEWEST_RODS if p == ROD else len(p)) >= least for p in places)


def _alone(declared: Input) -> bool:
    """Whether a lacking value leaves the sum without this input; of every round, none is a list without entries."""
    return not declared.many


def unsure_outputs(linked: Linked, name: str) -> list[str]:
    """The outputs of a sum that may be missing although it has a result."""
    signature = SIGNATURES.get(linked.procedure.sums[name].use)
    return [f"{name}.{output.name}" for output in signature.outputs if output.may_be_missing] if signature else []


def _whole(linked: Linked, name: str) -> list[str]:
    """A name, and for an output that may be missing by itself its sum too."""
    head, dot, _ = name.partition(".")
    return [name, head] if dot and head in linked.procedure.sums and name in unsure_outputs(linked, head) else [name]


def tracked(linked: Linked, runs: Iterable[RunFacts]) -> Iterator[str]:
    """Every name whose facts are followed: what a procedure takes, its limits and the drum's facts always are there."""
    yield from linked.procedure.readings
    for step in linked.steps.values():
        if step.choose:
            yield step.choose.as_
        if step.wait and step.wait.from_:
            yield visited(step.wait.from_)
    for name in linked.procedure.sums:
        yield name
        yield from unsure_outputs(linked, name)
    for run in linked.runs:
        yield f"{run}.outcome"
    for by_outcome in runs:
        yield from next(iter(by_outcome.values()), {})
