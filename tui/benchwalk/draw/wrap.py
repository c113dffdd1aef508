"""Texts of others made harmless and broken into lines by the cells they take on a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from ..procedure.showing import display_width, safe_text

WIDTH = 80
"""Cells of the longest line."""


def plain(text: str) -> str:
    """The text on one line, with nothing in it that could act on a terminal."""
    return safe_text(" ".join(text.split()))


def wrap(text: str, first: str = "", rest: str = "", width: int = WIDTH) -> Iterator[str]:
    """Lines of at most `width` cells; `first` stands before the first, `rest` before the others."""
    lead, line = first, ""
    for word in plain(text).split(" "):
        for piece in _pieces(word, max(8, width - display_width(rest))):
            joined = f"{line} {piece}" if line else piece
            if line and display_width(lead + joined) > width:
                yield lead + line
                lead, line = rest, piece
            else:
                line = joined
    yield (lead + line).rstrip()


def _pieces(word: str, room: int) -> Iterator[str]:
    """The word, cut where it is longer than a line."""
    piece, used = "", 0
    if display_width(word) <= room:
        yield word
        return
    for char in word:
        cells = display_width(char)
        if used + cells > room and piece:
            yield piece
            piece, used = "", 0
        piece, used = piece + char, used + cells
    yield piece
