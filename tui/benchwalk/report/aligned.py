"""Lines and columns of plain text: figures under each other at their decimals, words wrapped between blanks."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from ..procedure.showing import display_width
from .parts import Figure, Number, Taken

WIDTH = 78
"""Cells of the longest line of a text report."""
_LABEL = 42
_NARROW = 12


class Widths(NamedTuple):
    """Cells before and after the decimal sign, and of the unit."""

    whole: int
    part: int
    unit: int


def widths(taken: Iterable[Taken | None]) -> Widths:
    """What the widest of these figures needs."""
    numbers = [each.number for each in taken if each is not None and each.number is not None]
    return Widths(*(max((display_width(n[i]) for n in numbers), default=0) for i in range(3)))


def aligned(number: Number | None, room: Widths, blank: str = " ") -> str:
    """The figure in its room, so that decimals stand under each other."""
    if number is None:
        return blank * (room.whole + room.part) + " " + blank * room.unit
    whole = blank * (room.whole - display_width(number.whole)) + number.whole
    part = number.part + blank * (room.part - display_width(number.part))
    return f"{whole}{part} {number.unit}{blank * (room.unit - display_width(number.unit))}"


def padded(text: str, cells: int) -> str:
    """The text with blanks after it."""
    return text + " " * (cells - display_width(text))


_BLANK = re.compile(r"(?<!\[)(?<!\[ \])(?<!\[x\]) |(?<=\[) (?!\])")


def wrapped(text: str, first: str = "", rest: str = "", width: int = WIDTH) -> Iterator[str]:
    """Lines of at most `width` cells, broken between words, inside a word only where it is longer than a line.

    A box to tick stays with the word behind it.
    """
    lead, line = first, ""
    for word in _BLANK.split(text):
        for piece in _pieces(word, max(8, width - display_width(rest))):
            joined = f"{line} {piece}" if line else piece
            if line and display_width(lead + joined) > width:
                yield (lead + line).rstrip()
                lead, line = rest, piece
            else:
                line = joined
    yield (lead + line).rstrip()


def _pieces(word: str, room: int) -> Iterator[str]:
    piece = ""
    for char in word:
        if display_width(piece + char) > room and piece:
            yield piece
            piece = ""
        piece += char
    yield piece


def figure_lines(rows: Sequence[Figure], both: bool, refs: bool) -> Iterator[str]:
    """Figures as lines of text; texts must be safe already. Taken once: one line; more than once: two under a name."""
    room = widths(each for row in rows for each in (row.first, row.last))
    for row in rows:
        if both and row.first is not None:
            yield from wrapped(row.label, "  ", "    ")
            yield _figure("    before  ", row.first, room, refs)
            yield _figure("    after   ", row.last, room, refs)
        else:
            label = list(wrapped(row.label, "  ", "    ", _LABEL))
            yield from label[:-1]
            yield _figure(padded(label[-1], _LABEL + 2), row.last, room, refs)
        if row.under:
            yield from wrapped("".join(map(str, row.under)), "    ", "    ")


def _figure(lead: str, taken: Taken, room: Widths, refs: bool) -> str:
    judgement = f"  {taken.judgement}" if taken.judgement else ""
    return f"{lead}{aligned(taken.number, room)}{judgement}{f'  [{taken.n}]' if refs else ''}".rstrip()


def table_lines(head: Sequence[str], rows: Sequence[Sequence[str]]) -> Iterator[str]:
    """A table as lines, in columns; where it is too wide, the widest columns are wrapped."""
    room = [max(display_width(row[i]) for row in (head, *rows)) for i in range(len(head))]
    while sum(room) + 2 * len(room) > WIDTH and max(room) > _NARROW:
        room[room.index(max(room))] -= 1
    for row in (head, *rows):
        columns = [list(wrapped(cell, "", "  ", room[i])) for i, cell in enumerate(row)]
        for line in range(max(map(len, columns))):
            parts = [column[line] if line < len(column) else "" for column in columns]
            yield ("  " + "  ".join(padded(part, room[i]) for i, part in enumerate(parts))).rstrip()
