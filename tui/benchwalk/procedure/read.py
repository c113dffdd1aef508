"""From the bytes of a file to a typed procedure, with every fault of its shape said at its place.

`read` never raises on what an author wrote: it answers what it could read and all that is wrong.
"""

from __future__ import annotations

import difflib
import hashlib
from dataclasses import dataclass
from typing import Any

import orjson
from pydantic import BaseModel, ValidationError

from . import model
from .findings import Finding, Pos
from .tree import Document, parse


@dataclass(frozen=True)
class Source:
    """A procedure file as read: its name, bytes, tree, typed procedure (None if it has none) and findings."""

    name: str
    data: bytes
    document: Document
    procedure: model.Procedure | None
    findings: tuple[Finding, ...]

    @property
    def text_hash(self) -> str:
        """sha256 of the file as it is: what a job pins."""
        return hashlib.sha256(self.data).hexdigest()

    @property
    def content_hash(self) -> str:
        """sha256 of what the file says, whatever its layout and comments: what an approval speaks of."""
        return hashlib.sha256(orjson.dumps(self.document.root, option=orjson.OPT_SORT_KEYS)).hexdigest()


def read(data: bytes, name: str) -> Source:
    """Read one procedure file; `name` is what findings call it."""
    document = parse(data, name)
    findings = list(document.findings)
    procedure = None
    broken = any(f.severity == "error" for f in findings)
    if isinstance(document.root, dict):
        try:
            procedure = model.Procedure.model_validate(document.root)
        except ValidationError as error:
            findings += [_finding(e, document) for e in error.errors(include_url=False, include_context=True)]
    elif not broken:
        findings.append(
            Finding(
                "shape", "a procedure is a list of keys and values, the first of them 'procedure: its-id'", Pos(1, 1)
            )
        )
    if procedure is not None and broken:
        procedure = None
    return Source(name, data, document, procedure, tuple(findings))


def _finding(error: Any, document: Document) -> Finding:
    loc = error["loc"]
    kind = error["type"]
    owner, path = _part(document.root, loc)
    place = document.locate(tuple(path))
    key = str(loc[-1]) if loc else ""
    if kind == "missing":
        return Finding("missing-key", f"'{key}' is not said here{_needed(owner, key)}", place)
    if kind == "extra_forbidden":
        return Finding("unknown-key", _unknown(key, owner), document.locate_key(tuple(path)))
    if kind == "benchwalk":
        return Finding("shape", error["msg"], place)
    return Finding("shape", _plainly(error), place)


def _part(root: Any, loc: tuple[Any, ...]) -> tuple[type[BaseModel] | None, list[Any]]:
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


_CLASSES: dict[str, type[BaseModel]] = {
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


def keys_of(part: type[BaseModel]) -> list[str]:
    """The keys a part may have, as written in a file."""
    return [field.alias or name for name, field in part.model_fields.items()]


def _needed(owner: type[BaseModel] | None, key: str) -> str:
    return {
        "because": "; write the reason",
        "hazards": "; list them, or say {none_found_by: senior}",
        "tools": "; a list, or the word none",
        "parts": "; a list, or the word none",
        "supplies": "; a list, or the word none",
        "before": "; a list, or the word none",
        "sources": "; a list, or the word none",
    }.get(key, "")


def _unknown(key: str, owner: type[BaseModel] | None) -> str:
    if owner is None:
        return f"'{key[:40]}' is not a key that can stand here"
    known = keys_of(owner)
    near = difflib.get_close_matches(key, known, 1)
    hint = f"; did you mean '{near[0]}'?" if near else f"; known here: {', '.join(known)}"
    return f"'{key[:40]}' is not a key of {_CALLED.get(owner, 'this part')}{hint}"


_CALLED: dict[type[BaseModel], str] = {
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
    if kind in ("model_type", "dict_type", "model_attributes_type"):
        return f"{said} found where keys and values are expected"
    if kind == "list_type":
        return f"{said} found where a list is expected"
    if kind == "too_short":
        return f"at least {context.get('min_length', 1)} must be given here"
    if kind == "string_type":
        return f"{said} found where a text is expected"
    return f"{said} cannot stand here"


def _shape(value: Any) -> str:
    return "a list" if isinstance(value, list) else "keys and values"
