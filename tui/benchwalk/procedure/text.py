"""Texts with places for values: `{{ butt_gap }}`, `{{ room.gap }}`, `{{ rods where runs is binds }}`.

Literal but for what stands in double braces: a name, a part of one, the rods (or places) where a condition fits, and
one of our own filters after `|`. Nothing else is a template language here, and nothing is evaluated.
"""

from __future__ import annotations

import re
from functools import lru_cache

from ..errors import Refused
from ..plaindata import Frozen

FILTERS = ("turns",)
_OPEN = re.compile(r"\{\{")
_NAME = re.compile(r"[a-z][a-z0-9_]*(?:\.[a-z][a-z0-9_]*)?\Z")
_WHERE = re.compile(r"(rods|places)\s+where\s+(.+)\Z", re.DOTALL)


class TextError(Refused):
    """A text whose braces cannot be understood; `offset` counts characters from its start."""

    def __init__(self, message: str, offset: int) -> None:
        super().__init__(message)
        self.offset = offset


class Field(Frozen):
    """A place for a value: a `name`, or the places `where` a condition fits; `filter` says how it is worded."""

    name: str
    where: str | None
    filter: str | None
    offset: int


Parts = tuple[str | Field, ...]


@lru_cache(maxsize=4096)
def parse_text(text: str) -> Parts:
    """The literal pieces and the fields of `text`, in order; TextError where braces are wrong."""
    parts: list[str | Field] = []
    start = 0
    while (found := _OPEN.search(text, start)) is not None:
        end = text.find("}}", found.end())
        if end < 0:
            raise TextError("'{{' is opened here and never closed with '}}'", found.start())
        if found.start() > start:
            parts.append(text[start : found.start()])
        parts.append(_field(text[found.end() : end], found.end()))
        start = end + 2
    if (stray := text.find("}}", start)) >= 0:
        raise TextError("'}}' closes nothing here", stray)
    if start < len(text):
        parts.append(text[start:])
    return tuple(parts)


def _field(inside: str, offset: int) -> Field:
    body, bar, word = inside.partition("|")
    offset += len(body) - len(body.lstrip())
    body = body.strip()
    filter_ = word.strip() if bar else None
    if filter_ is not None and filter_ not in FILTERS:
        raise TextError(f"'{filter_[:30]}' is not a filter; there is only: {', '.join(FILTERS)}", offset)
    if where := _WHERE.match(body):
        return Field(where[1], where[2].strip(), filter_, offset)
    if not _NAME.match(body):
        raise TextError(
            f"'{body[:40]}' is not the name of a value; between the braces stands a name, as in butt_gap", offset
        )
    return Field(body, None, filter_, offset)


@lru_cache(maxsize=4096)
def fields(text: str) -> tuple[Field, ...]:
    """Only the fields of `text`."""
    return tuple(part for part in parse_text(text) if isinstance(part, Field))
