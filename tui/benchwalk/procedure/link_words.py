"""Findings' evidence, what is given back, and every text with braces: whether what they name is there."""

from __future__ import annotations

from . import model
from .findings import Finding
from .linked import Linked, Path
from .scope import StepScope, bind_condition, meant
from .text import Field, TextError, fields
from .texts import all_texts
from .variables import ROD


def link_findings(linked: Linked) -> None:
    p = linked.procedure
    for name, finding in p.findings.items():
        for i, evidence in enumerate(finding.evidence):
            if linked.reading(evidence) is None and evidence not in linked.variables:
                linked.say(
                    "unknown-name",
                    f"'{evidence}' is no reading or sum that could prove this",
                    "findings",
                    name,
                    "evidence",
                    i,
                )
    for i, given in enumerate(p.gives):
        if given not in p.readings and given not in linked.variables:
            linked.say(
                "unknown-name", f"there is no reading '{given}' to give back{meant(given, p.readings)}", "gives", i
            )


def link_words(linked: Linked) -> None:
    """Every text with braces: whether they close, and whether what they name is there."""
    for text, path, step in all_texts(linked):
        if "{{" not in text and "}}" not in text:
            continue
        try:
            for field in fields(text):
                _field(linked, field, path, step)
        except TextError as error:
            linked.findings.append(Finding("text", error.message, linked.inside(path, error.offset)))


def _field(linked: Linked, field: Field, path: Path, step: model.Step | None) -> None:
    if field.where is not None:
        each = ROD if field.name == "rods" else _places_asked(linked, field.where)
        start = field.offset + len(field.name) + 7
        bind_condition(linked, field.where, StepScope(linked, step), (*path, field.where), each=each, offset=start)
        return
    name = field.name
    variable = linked.variable(name)
    if variable is not None or name in linked.limits or linked.reading(name) is not None:
        if field.filter == "turns" and (variable is None or variable.unit != "turns"):
            linked.say("text", f"'turns' words what a hand turns, and '{name}' is not in turns", *path)
        return
    known = [*linked.variables, *linked.limits]
    message = f"'{name}' names no value here{meant(name, known)}"
    linked.findings.append(Finding("unknown-name", message, linked.inside(path, field.offset)))


def _places_asked(linked: Linked, condition: str) -> tuple[str, ...]:
    """The places of the first reading with places that `{{ places where ... }}` names."""
    for word in condition.replace("(", " ").split():
        variable = linked.variables.get(word)
        if variable is not None and isinstance(variable.places, tuple):
            return variable.places
    return ()
