"""Which rod is which: a head seen by the one who works it, as a ring of rod numbers and nothing else.

Rods are numbered from the strainer, clockwise (common practice, no published source).
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from .ink import Line, Span, Tone, line

WIDE, HIGH = 21, 9
"""Cells of the ring itself; the words stand above and below."""
MIDDLE, DOWN = WIDE // 2, HIGH // 2
ACROSS = 2 * DOWN  # a cell is about twice as high as it is wide
FEWEST, MOST = 3, 16

_WORDS = (
    "Clockwise from the strainer, as you look at the",
    "head you work on; turned over, it runs the other way.",
    "(Common practice, no published source.)",
)
_WORDS_BARE = (
    "Clockwise, as you look at the head you work on.",
    "(Common practice, no published source.)",
)


def ring(rods: int, asked: int | None = None, *, strainer: bool = True) -> list[Line]:
    """The ring of `rods` numbers with the one asked for in brackets, and in words how they run.

    `strainer` says that the drum has one, between the last rod and the first. Fewer than 3 rods or more than 16 have
    no drawing: the list is empty.
    """
    if not FEWEST <= rods <= MOST:
        return []
    grid: list[list[tuple[str, Tone]]] = [[(" ", "plain")] * WIDE for _ in range(HIGH)]
    for x, y in _hoop():
        grid[y][x] = (".", "quiet")
    for number in range(1, rods + 1):
        word = f"({number})" if number == asked else f" {number} "
        x, y = _cell((number - 0.5) / rods)
        start = x - 1 if x > MIDDLE else x + 2 - len(word) if x < MIDDLE else x - len(word) // 2
        tone: Tone = "brass" if number == asked else "plain"
        grid[y][start : start + len(word)] = [(sign, tone) for sign in word]
    lines = [_joined(row) for row in grid]
    if not strainer:
        return [*lines, (), *(line(Span(words, "quiet")) for words in _WORDS_BARE)]
    top, foot = (line(Span(word.center(WIDE).rstrip(), "quiet")) for word in ("strainer", "butt"))
    return [top, *lines, foot, (), *(line(Span(words, "quiet")) for words in _WORDS)]


def _cell(turn: float) -> tuple[int, int]:
    """Column and row at that part of a whole turn, clockwise from the top."""
    angle = 2 * math.pi * turn
    return round(MIDDLE + ACROSS * math.sin(angle)), round(DOWN - DOWN * math.cos(angle))


def _hoop() -> Iterator[tuple[int, int]]:
    """The cells of the hoop: one at each side of every row, and a few along its top and foot."""
    for y in range(HIGH):
        if y in (0, HIGH - 1):
            yield from ((MIDDLE + x, y) for x in range(-4, 5, 2))
        else:
            x = round(ACROSS * math.sqrt(1 - ((y - DOWN) / DOWN) ** 2))
            yield from ((MIDDLE - x, y), (MIDDLE + x, y))


def _joined(row: list[tuple[str, Tone]]) -> Line:
    spans: list[Span] = []
    for sign, tone in row:
        if spans and spans[-1].tone == tone:
            spans[-1] = Span(spans[-1].text + sign, tone)
        else:
            spans.append(Span(sign, tone))
    while spans and not spans[-1].text.strip():
        spans.pop()
    if spans:
        spans[-1] = Span(spans[-1].text.rstrip(), spans[-1].tone)
    return tuple(spans)
