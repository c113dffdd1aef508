"""From the bytes of a file to a typed procedure, with every fault of its shape said at its place.

`read` never raises on what an author wrote: it answers what it could read and all that is wrong.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import fields
from itertools import takewhile
from typing import Any

from pydantic import ValidationError

from . import model
from .collector import collector_rests
from .findings import Finding, Pos
from .parts import Part
from .source import Source
from .tree import Document
from .tree_again import parse_again


@collector_rests()
def read(data: bytes, name: str, before: Source | None = None) -> Source:
    """Read one procedure file; `name` is what findings call it, `before` an earlier text of it, which saves reading
    what is still as it was."""
    document = parse_again(data, name, before.document if before is not None else None)
    findings = list(document.findings)
    procedure = None
    broken = any(f.severity == "error" for f in findings)
    if isinstance(document.root, dict):
        try:
            procedure = model.Procedure.of(_with_parts(document.root, before))
        except ValidationError as error:
            told = [_finding(e, document) for e in error.errors(include_url=False, include_context=True)]
            findings += [finding for finding in told if not _cut_off(finding, document.findings)]
    elif not broken:
        findings.append(
            Finding(
                "shape", "a procedure is a list of keys and values, the first of them 'procedure: its-id'", Pos(1, 1)
            )
        )
    if procedure is not None and broken:
        procedure = None
    return Source(name, data, procedure, tuple(findings), document)


def _with_parts(root: dict[str, Any], before: Source | None) -> dict[str, Any]:
    """The tree with the readings, steps and examples of an earlier text where they would be read from the same."""
    if before is None or before.procedure is None or not isinstance(before.document.root, dict):
        return root
    made, old, known = dict(root), before.document.root, before.procedure
    for key, parts in (("steps", known.steps), ("examples", known.examples)):
        one, other = old.get(key), root.get(key)
        if isinstance(one, list) and isinstance(other, list) and len(one) == len(parts):
            first = _alike(zip(one, other, strict=False))
            last = _alike(zip(one[:first:-1], other[:first:-1], strict=False))
            made[key] = [*parts[:first], *other[first : len(other) - last], *parts[len(parts) - last :]]
    one, other = old.get("readings"), root.get("readings")
    if isinstance(one, dict) and isinstance(other, dict):
        made["readings"] = {
            name: known.readings[name] if name in one and one[name] == value else value for name, value in other.items()
        }
    return made


def _alike(pairs: Iterable[tuple[Any, Any]]) -> int:
    """How many pairs hold the same, up to the first that does not."""
    return sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], pairs))


def _finding(error: Any, document: Document) -> Finding:
    loc = error["loc"]
    kind = error["type"]
    owner, path = _part(document.root, loc)
    place = document.locate(tuple(path))
    key = str(loc[-1]) if loc else ""
    if kind == "missing":
        return Finding("missing-key", f"'{key}' is not said here{_needed(owner, key)}", place)
    if kind == "unexpected_keyword_argument":
        return Finding("unknown-key", _unknown(key, owner), document.locate_key(tuple(path)))
    if kind == "benchwalk":
        named = key == "[key]"  # what stands before the colon is wrong, not what stands after it
        return Finding("shape", error["msg"], document.locate_key(tuple(path)) if named else place)
    return Finding("shape", _plainly(error) + (_as_in(path) if kind in _SHAPES else ""), place)


def _cut_off(finding: Finding, traps: Iterable[Finding]) -> bool:
    """Whether a key that cannot stand here is the rest of a text that a comma cut, which is told already."""
    if finding.rule != "unknown-key":
        return False
    return any(
        (trap.rule == "yaml-comma-in-braces" and trap.pos == finding.pos)
        or (trap.rule == "yaml-decimal-comma" and trap.pos.line == finding.pos.line and finding.message[1:2].isdigit())
        for trap in traps
    )


def _part(root: Any, loc: tuple[Any, ...]) -> tuple[type[Part] | None, list[Any]]:
    """The class of the part a pydantic location lies in, and the location's steps that exist in the file."""
    node, path = root, []
    for part in loc:
        if (isinstance(node, dict) and part in node) or (
            isinstance(node, list) and isinstance(part, int) and part < len(node)
        ):
            path.append(part)
            node = node[part]
    owner = path[-2] if len(path) > 1 and isinstance(path[-1], int) else (path[-1] if path else "")
    if isinstance(loc[-1], str) and path and path[-1] == loc[-1]:
        owner = _above(path[:-1])
    return _CLASSES.get(str(owner)), path


def _above(path: list[Any]) -> Any:
    names = [p for p in path if isinstance(p, str)]
    return names[-1] if names else ""


_CLASSES: dict[str, type[Part]] = {
    "": model.Procedure,
    "steps": model.Step,
    "branches": model.Branch,
    "first_of": model.Branch,
    "needs": model.Needs,
    "hold": model.Hold,
    "run": model.Run,
    "wait": model.Wait,
    "choose": model.Choose,
    "ways": model.Way,
    "stage": model.Stage,
    "entered": model.Entered,
    "may_skip": model.MaySkip,
    "whenever": model.Whenever,
    "examples": model.Example,
    "usual": model.Usual,
    "end": model.End,
    "witness": model.Witness,
}


def keys_of(part: type[Part]) -> list[str]:
    """The keys a part may have, as written in a file."""
    return [field.metadata.get("alias", field.name) for field in fields(part)]


def _needed(owner: type[Part] | None, key: str) -> str:
    return {
        "because": "; write the reason",
        "hazards": "; list them, or say {none_found_by: senior}",
        "tools": "; a list, or the word none",
        "parts": "; a list, or the word none",
        "supplies": "; a list, or the word none",
        "before": "; a list, or the word none",
        "sources": "; a list, or the word none",
    }.get(key, "")


def _unknown(key: str, owner: type[Part] | None) -> str:
    if owner is None:
        return f"'{key[:40]}' is not a key that can stand here"
    if owner is model.Branch and key == "end":
        return "'end' is not a key of a branch; lead to a step that has it, as in go: hand-back"
    known = keys_of(owner)
    near = difflib.get_close_matches(key, known, 1)
    hint = f"; did you mean '{near[0]}'?" if near else f"; known here: {', '.join(known)}"
    return f"'{key[:40]}' is not a key of {_CALLED.get(owner, 'this part')}{hint}"


_CALLED: dict[type[Part], str] = {
    model.Procedure: "a procedure",
    model.Step: "a step",
    model.Branch: "a branch",
    model.Example: "an example",
    model.Whenever: "an event",
}


def _plainly(error: Any) -> str:
    kind, context = error["type"], error.get("ctx", {})
    found = error.get("input")
    said = f"'{found[:40]}'" if isinstance(found, str) else ("nothing" if found is None else _shape(found))
    if kind == "literal_error":
        return f"{said} found; expected {context.get('expected', 'another word')}"
    if kind in ("dataclass_type", "dict_type"):
        return f"{said} found where keys and values are expected"
    if kind == "list_type":
        return f"{said} found where a list is expected"
    if kind == "too_short":
        return f"at least {context.get('min_length', 1)} must be given here"
    if kind == "string_type":
        return f"{said} found where a text is expected"
    return f"{said} cannot stand here"


_SHAPES = frozenset({"dataclass_type", "dict_type", "list_type"})
_HAZARD = "{hazard: Sharp ends, consequence: Pricked fingers, avoid: Gloves on}"
SAMPLES = {
    "caution": _HAZARD,
    "danger": _HAZARD,
    "warning": _HAZARD,
    "notice": "{hazard: Screws shear, avoid: Stop at firm}",
    "choices": "{all: All touch, some: Some lift}",
    "stage": "{id: tie, title: Tie it}",
    "wait": "{for: 30 min}",
    "hold": "{by: senior, signs: checked, because: It comes back}",
    "witness": "{by: senior, because: It happened twice}",
    "may_skip": "{because: The drum is wanted, by: senior}",
    "entered": "{at_most: 3, then: leave}",
    "limits.": "{is: 1 mm, sure: C, whose: the shop, because: The plate must clear the hoop}",
    "readings.": "{ask: The gap, unit: mm}",
    "sums.": "{use: difference, with: {a: one_gap, b: other_gap}}",
    "findings.": "{found: Too long., grade: refer}",
}
"""How what is not to be guessed is written, by its key; what stands under a name of one's own by the key above."""


def _as_in(path: list[Any]) -> str:
    names = [part for part in path if isinstance(part, str)]
    for key in (*names[-1:], *(f"{above}." for above in names[-2:-1])):
        if key in SAMPLES:
            return f"; it is written as in {names[-1]}: {SAMPLES[key]}"
    return ""


def _shape(value: Any) -> str:
    return "a list" if isinstance(value, list) else "keys and values"
