"""A text and its places: an offset in code points to a line and a column."""

from __future__ import annotations

import re
from bisect import bisect_right
from itertools import accumulate

from .findings import Pos

_FOLD = re.compile(r"[ \t]*(?:\r\n|\r|\n)\s*")
_JOINED = re.compile(r"\\(?:\r\n|\r|\n)[ \t]*")
_ESCAPES = {"x": 4, "u": 6, "U": 10}
_BREAK = re.compile("\r\n|\r|\n")


class Source:
    """The text under reading. Lines end at LF, CRLF or CR, as in YAML 1.2; columns count code points from 1."""

    __slots__ = ("_lines", "_reached", "_starts", "text")

    def __init__(self, text: str) -> None:
        self.text = text
        self._lines: list[str] | None = None
        self._starts: list[int] | None = None
        self._reached = (-1, "", 0, 0)
        """The scalar asked about last, by its offset and value, and the character and cursor that were reached: many
        places of one long text are asked for from left to right."""

    @property
    def lines(self) -> list[str]:
        """The lines without their breaks; a break at the very end opens no further line."""
        if self._lines is None:
            lines = _BREAK.split(self.text) if "\r" in self.text else self.text.split("\n")
            if len(lines) > 1 and not lines[-1]:
                lines.pop()
            self._lines = lines
        return self._lines

    @property
    def starts(self) -> list[int]:
        """The offset of each line's first character."""
        if self._starts is None:
            if "\r" in self.text:
                self._starts = [0, *(found.end() for found in _BREAK.finditer(self.text))]
            else:
                self._starts = [0, *accumulate(len(line) + 1 for line in self.lines)]
            del self._starts[len(self.lines) :]
        return self._starts

    def pos(self, offset: int) -> Pos:
        """The line and column of an offset; past a line's end (or the text's) it is the place just after the line."""
        starts = self.starts
        line = bisect_right(starts, offset) - 1
        column = min(offset - starts[line], len(self.lines[line]))
        return Pos(line + 1, column + 1)

    def line_at(self, offset: int) -> int:
        """The 0-based number of the line in which an offset stands."""
        return bisect_right(self.starts, offset) - 1

    def value_pos(self, offset: int, value: object) -> Pos:
        """Where a value's own text begins: inside the quotes, or at the first text line of a block scalar."""
        if isinstance(value, str):
            mark = self.text[offset : offset + 1]
            if mark in ("'", '"'):
                offset += 1
            elif mark in ("|", ">"):
                offset = self._block(offset)
        return self.pos(offset)

    def inside(self, offset: int, value: str, index: int) -> Pos:
        """Where character `index` of the scalar `value` stands that begins at `offset`.

        Quotes, escapes and folded lines are followed through the source; in blocks with lines of different depth the
        answer may be some columns to the left. Never beyond the text.
        """
        text, style = self.text, self.text[offset : offset + 1]
        known, of, reached, cursor = self._reached
        if known != offset or of is not value or reached > index:
            pos = self.value_pos(offset, value)
            reached, cursor = 0, self.starts[pos.line - 1] + pos.column - 1
        for char in value[reached:index]:
            cursor = _next(text, cursor, char, style)
        self._reached = (offset, value, min(index, len(value)), cursor)
        joined = _JOINED.match(text, cursor) if style == '"' else None
        cursor = joined.end() if joined else cursor
        return self.pos(min(cursor, len(text)))

    def _block(self, offset: int) -> int:
        lines, starts = self.lines, self.starts
        for number in range(self.line_at(offset) + 1, len(lines)):
            text = lines[number]
            if text.strip():
                return starts[number] + len(text) - len(text.lstrip(" "))
        return offset


def _next(text: str, cursor: int, char: str, style: str) -> int:
    """The place after `char`, which the scalar holds at `cursor` of the source."""
    if style == '"' and text.startswith("\\", cursor):
        joined = _JOINED.match(text, cursor)  # a backslash at a line's end joins the lines and stands for nothing
        if joined:
            return _next(text, joined.end(), char, style)
        return cursor + _ESCAPES.get(text[cursor + 1 : cursor + 2], 2)
    if style == "'" and text.startswith("''", cursor):
        return cursor + 2
    if char in " \n":
        space = _FOLD.match(text, cursor)
        if space:
            return space.end()
        return cursor + 1 if text.startswith(char, cursor) else cursor
    return cursor + 1
