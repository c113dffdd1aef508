"""Long lines broken between words, with what follows set in under the text."""

from __future__ import annotations

import re
import textwrap

from ..procedure.showing import display_width, safe_text
from .ink import Line, Span, text_of

SET_IN = 2
"""Cells by which the rest of a line stands further in than its beginning."""

_UNITS = "mm|cm|m|in|mil|um|ft|turns?|deg|k?Hz|cents?|percent|s|min|h|k?g|N"
_HELD = re.compile(rf"(?<=\d) (?=(?:{_UNITS})(?!\w))| (?=\[\d+\])")
"""Blanks at which no line is broken: a figure keeps its unit, and a reading the number of its event."""


def hung(some: Line, width: int, hang: int | None = None) -> list[Line]:
    """A line as lines of at most `width` cells, tones kept; from the second on they begin after `hang` cells.

    Without `hang` they begin two cells further in than the line does. A word longer than a line is broken.
    """
    spans = [span._replace(text=safe_text(span.text)) for span in some]
    text = text_of(tuple(spans))
    lead = len(text) - len(text.lstrip(" "))
    inset = min(lead + SET_IN if hang is None else hang, width // 2)
    rows: list[Line] = []
    for start, end in _rows(text, width, inset, lead):
        row = tuple(_cut(spans, start, end))
        rows.append((Span(" " * inset), *row) if rows and inset else row)
    return rows


def hung_text(text: str, width: int, hang: int | None = None) -> list[str]:
    """The same for text without tones."""
    return [text_of(row) for row in hung((Span(text),), width, hang)]


def _rows(text: str, width: int, inset: int, lead: int) -> list[tuple[int, int]]:
    """Where each row begins and ends in the text."""
    breaks = _HELD.sub("_", text)
    rows: list[tuple[int, int]] = []
    start, first, room = 0, lead, max(1, width)
    while display_width(text[start:]) > room:
        end = _fits(text, start, room)
        space = breaks.rfind(" ", first + 1, end + 1)
        if space > first:
            end = space
        rows.append((start, start + len(text[start:end].rstrip(" "))))
        start = first = end + len(text[end:]) - len(text[end:].lstrip(" "))
        room = max(1, width - inset)
    return [*rows, (start, len(text))] if start < len(text) or not rows else rows


def _fits(text: str, start: int, room: int) -> int:
    """Where the longest piece ends that takes at most so many cells, one character at least."""
    end = start + 1
    while end < len(text) and display_width(text[start : end + 1]) <= room:
        end += 1
    return end


def _cut(spans: list[Span], start: int, end: int) -> list[Span]:
    """The spans between two places of their text."""
    found: list[Span] = []
    at = 0
    for span in spans:
        piece = span.text[max(0, start - at) : max(0, end - at)]
        if piece:
            found.append(span._replace(text=piece))
        at += len(span.text)
    return found


def fitted(lead: Line, text: str, width: int, *, whole: bool) -> list[Line]:
    """A text behind its lead, in one line, or (whole) in as many as it needs, hung under its words."""
    indent = sum(len(span.text) for span in lead)
    rows = textwrap.wrap(text, max(20, width - indent)) or [""]
    if not whole:
        cut = rows[0] if len(rows) == 1 else rows[0][: max(1, width - indent - 2)] + " …"
        return [(*lead, Span(cut))]
    return [(*lead, Span(rows[0])), *((Span(" " * indent + row),) for row in rows[1:])]
