"""Every text of a procedure into which values are put, and every value that it names."""

from __future__ import annotations

from collections.abc import Iterator

from . import model
from .linked import Linked, Path
from .text import fields


def all_texts(linked: Linked) -> list[tuple[str, Path, model.Step | None]]:
    """Every text into which values are put, with its place and its step."""
    return linked.once(_texts)


def _texts(linked: Linked) -> list[tuple[str, Path, model.Step | None]]:
    return [*_each_text(linked)]


def _each_text(linked: Linked) -> Iterator[tuple[str, Path, model.Step | None]]:
    for step in linked.steps.values():
        at: Path = ("steps", linked.at[step.step])
        for key in ("do", "expect", "why"):
            text = getattr(step, key)
            if text:
                yield text, (*at, key), step
        for i, text in enumerate(step.if_not or []):
            yield text, (*at, "if_not", i), step
        for grade, hazard in step.graded():
            for key in ("hazard", "consequence", "avoid"):
                text = getattr(hazard, key)
                if text:
                    yield text, (*at, grade), step
        branch_key = "branches" if step.branches else "first_of"
        for i, line in enumerate(step.lines):
            if line.because:
                yield line.because, (*at, branch_key, i, "because"), step
        if step.choose:
            for i, way in enumerate(step.choose.ways):
                if way.do:
                    yield way.do, (*at, "choose", "ways", i, "do"), step
        if step.end and step.end.say:
            yield step.end.say, (*at, "end", "say"), step
    for name, finding in linked.procedure.findings.items():
        yield finding.found, ("findings", name, "found"), None
    for name, reading in linked.procedure.readings.items():
        yield reading.ask, ("readings", name, "ask"), None


def named(linked: Linked) -> frozenset[str]:
    """The names that a text or a condition asks for, that a value is wanted by, or that a run is given."""
    return linked.once(_named)


def _named(linked: Linked) -> frozenset[str]:
    found = set(linked.wanted_from.values())
    for bound in linked.conditions.values():
        found.update(bound.variables)
    for text, _path, _step in all_texts(linked):
        found.update(field.name for field in fields(text) if field.where is None)
    runs = [part.run for part in linked.procedure.steps] + [part.run for part in linked.procedure.whenever]
    for run in runs:
        found.update(run.with_.values() if run else ())
    return frozenset(found)
