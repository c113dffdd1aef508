"""The words of a condition: cutting its text into tokens, and showing pieces of it in messages.

A condition has only three kinds of token: comparison signs, brackets, and everything else up to the next of those or
the next space. What a word means (a name, a unit, a choice, part of a place) depends on where it stands, so that is
left to the parser.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from ..errors import Refused

LONGEST = 2000
"""Most characters a condition may have."""

NAME = re.compile(r"[a-z][a-z0-9_]*(?:\.[a-z][a-z0-9_]*)*\Z").match
"""Matches a whole name, dotted or not: `gap`, `far.outcome`."""

_TOKEN = re.compile(r"\s*(?:(<=|>=|==|=<|=>|!=|<>|[<>=≤≥≠])|([()])|([^\s()<>=≤≥≠!]+|!))")
_KINDS = ("", "sign", "bracket", "word")


class ConditionError(Refused):
    """A condition that cannot be understood or does not fit what it speaks of.

    `offset` and `end` are code points counted from the start of the condition's text; the faulty part stands between.
    """

    def __init__(self, message: str, offset: int, end: int | None = None) -> None:
        super().__init__(message)
        self.offset = offset
        self.end = offset + 1 if end is None else max(end, offset + 1)


class Token(NamedTuple):
    """One piece of a condition. `kind` is "sign", "bracket", "word" or, after the last one, "end"."""

    kind: str
    text: str
    at: int
    end: int


def tokens(text: str) -> list[Token]:
    """Cut `text` into tokens, with an "end" token last; raises ConditionError on a text that is too long."""
    if len(text) > LONGEST:
        raise ConditionError(f"this condition is longer than {LONGEST} characters; split it over several steps", 0)
    found = [
        Token(_KINDS[index], match[index], match.start(index), match.end())
        for match in _TOKEN.finditer(text)
        if (index := match.lastindex)
    ]
    end = found[-1].end if found else 0
    found.append(Token("end", "", end, end))
    return found


def quoted(text: str) -> str:
    """`text` between quotes, safe to print: cut when long, and with control and invisible characters spelled out."""
    short = text if len(text) <= 40 else text[:37] + "..."
    if not short.isprintable():
        short = "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in short)
    return f"'{short}'"
