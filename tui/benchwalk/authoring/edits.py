"""Edits of a text, by line and column: what a cure or a new name changes, and nothing else of the file."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from typing import NamedTuple

Spot = tuple[int, int]
"""A place between two characters: line and column, both from 0."""


class Edit(NamedTuple):
    """What stands from `start` to `end` becomes `text`."""

    start: Spot
    end: Spot
    text: str


def applied(text: str, edits: Iterable[Edit]) -> str:
    """The text after all edits, which speak of places before any of them and do not overlap."""
    lines = text.split("\n")
    for edit in in_order(edits):
        (top, left), (bottom, right) = edit.start, edit.end
        changed = lines[top][:left] + edit.text + lines[bottom][right:]
        lines[top : bottom + 1] = changed.split("\n")
    return "\n".join(lines)


def in_order(edits: Iterable[Edit]) -> list[Edit]:
    """The edits from the last in the text to the first, so that none moves the place of another."""
    return sorted(edits, key=lambda edit: edit.start, reverse=True)


def lines_apart(one: str, other: str) -> int:
    """In how many lines two texts differ: of lines that stand in place of others the more count."""
    matcher = difflib.SequenceMatcher(None, one.splitlines(), other.splitlines(), autojunk=False)
    return sum(max(i2 - i1, j2 - j1) for tag, i1, i2, j1, j2 in matcher.get_opcodes() if tag != "equal")
