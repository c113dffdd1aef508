"""One change: what it is about, where, and how it was and is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import fields
from typing import Any, Literal, NamedTuple

from ..procedure.linked import Path
from ..procedure.parts import Part

Group = Literal["hazards", "at hand", "steps", "looks", "leads", "limits", "asked", "sums", "found", "texts", "other"]

GROUPS: dict[Group, str] = {
    "hazards": "Hazards",
    "at hand": "What must be at hand",
    "steps": "What is done, and in which order",
    "looks": "Who must look",
    "leads": "Where it leads",
    "limits": "Limits, and what is wanted",
    "asked": "What is asked",
    "sums": "What is worked out",
    "found": "What is found",
    "texts": "What is said",
    "other": "The rest",
}
"""The groups that changes are told in, what matters for the hands first."""


class Change(NamedTuple):
    """One change. `where` is the step or thing in words; `old` and `new` are empty where it was or is not there.

    `old_at` and `new_at` are its places in the two files.
    """

    group: Group
    where: str
    what: str
    old: str = ""
    new: str = ""
    old_at: Path | None = None
    new_at: Path | None = None


Places = tuple[Path | None, Path | None]
"""Where a thing stands in the old file and in the new one; None where it does not."""


def between(group: Group, where: str, what: str, texts: Iterable[str], at: Places) -> Change:
    """A change from the first of two texts to the second."""
    old, new = texts
    return Change(group, where, what, old, new, *at)


def plain(value: Any) -> Any:
    """A part of a procedure as plain values, with nothing in it that only layout changes: blanks, and empty keys."""
    if isinstance(value, Part):
        found = {key_of(field): plain(getattr(value, field.name)) for field in fields(value)}
        return {key: each for key, each in found.items() if each not in (None, [], {}, False)}
    if isinstance(value, str):
        return " ".join(value.split())
    if isinstance(value, Mapping):
        return {key: plain(each) for key, each in value.items()}
    return [plain(each) for each in value] if isinstance(value, list | tuple) else value


def key_of(field: Any) -> str:
    """A field's key as it is written in a file."""
    return str(field.metadata.get("alias", field.name))


def said(value: Any) -> str:
    """A plain value in words."""
    if value is None or value in ([], {}):
        return ""
    if isinstance(value, dict):
        return "; ".join(f"{key}: {said(each)}" for key, each in value.items())
    if isinstance(value, list):
        return ", ".join(f"({said(each)})" if isinstance(each, dict | list) else said(each) for each in value)
    return str(value)
