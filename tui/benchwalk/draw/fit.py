"""Blocks set in columns on one page: how large the letters can be, where every line breaks, and what stands where.

All lengths in here are in parts of the letter's size (em), so that a block breaks alike wherever its column is as wide.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from .blocks import Band, Block, Para, Style
from .widths import Face, width

LINE = 1.17
"""From one line to the next."""
HEADING = 1.75
"""The heading of a band."""
SPACE = 0.25
"""Between two words, in every face."""
BETWEEN = 0.55
"""Between two stops."""
AFTER_BAND = 0.7
GAP = 1.2
"""Between two columns."""
GUTTER = 2.55
"""What is kept for the rope and for the ways back beside it."""
EDGE = 0.4
"""What is kept free at the right of a column."""
INDENT = 1.15
"""What is set in for the signs of paragraphs."""
FLAG = 0.95
"""The pennant before such a letter, and the room around both."""
NARROWEST, WIDEST = 13.0, 37.0
"""A column's text, in parts of the letter's size."""
MOST_COLUMNS = 16

FACES: dict[Style, Face] = {
    "name": "bold",
    "plain": "plain",
    "quiet": "plain",
    "number": "bold",
    "strong": "bold",
    "title": "italic",
}


class Text(NamedTuple):
    """A piece of a line in one style, where it begins, and how wide it is."""

    x: float
    text: str
    style: Style
    width: float


class Line(NamedTuple):
    """One line of a block; `para` is the paragraph that begins with it, None where it goes on."""

    texts: tuple[Text, ...]
    para: Para | None


class Word(NamedTuple):
    """A word (or part of one) with no room in it to break.

    `spaced` says that a space stands before it; `tail` is the width of what follows it without one, as a comma does.
    """

    text: str
    style: Style
    width: float
    spaced: bool
    tail: float = 0.0


class Placed(NamedTuple):
    """A block where it stands in its column, from the top."""

    block: Block
    y: float
    lines: tuple[Line, ...]


@dataclass
class Strip:
    """The part of a band that stands in one column: from `y` down for `height`. `goes_on`: it began in another."""

    title: str
    y: float
    goes_on: bool
    height: float = 0.0
    blocks: list[Placed] = field(default_factory=list)


@dataclass(frozen=True)
class Fitted:
    """Everything on a page: the size of the letters, the width of the columns, and what stands in each."""

    size: float
    column: float
    columns: list[list[Strip]]


class Setter:
    """Sets blocks for columns of any width; what was broken once for a width is kept."""

    def __init__(self, bands: Sequence[Band]) -> None:
        self.bands = bands
        self._words = {id(p): _words(p) for band in bands for block in band.blocks for p in block.paras}
        self._counts: dict[tuple[int, float], int] = {}

    def count(self, block: Block, column: float) -> int:
        """How many lines the block has in a column of that width."""
        key = (id(block), column)
        if key not in self._counts:
            self._counts[key] = sum(_count(self._words[id(p)], *ends) for p, ends in self._paras(block, column))
        return self._counts[key]

    def lines(self, block: Block, column: float) -> tuple[Line, ...]:
        """The block's lines in a column of that width."""
        found: list[Line] = []
        for para, ends in self._paras(block, column):
            texts = list(_broken(self._words[id(para)], *ends))
            found += [Line(line, None if number else para) for number, line in enumerate(texts)]
        return tuple(found)

    def _paras(self, block: Block, column: float) -> Iterator[tuple[Para, tuple[float, float]]]:
        """Each paragraph with where its lines begin and end."""
        room = column - GUTTER - EDGE
        for number, para in enumerate(block.paras):
            yield para, (INDENT, room) if number else (0.0, room - flags_width(block.flags))

    def columns(self, column: float, height: float, most: int) -> list[list[Strip]] | None:
        """All bands one after the other in columns of that width and height; None where they need more than `most`."""
        found: list[list[Strip]] = [[]]
        y = 0.0
        for band in self.bands:
            strip: Strip | None = None
            for block in band.blocks:
                tall = self.count(block, column) * LINE
                head = HEADING if band.title else AFTER_BAND / 2
                lead = BETWEEN if strip and strip.blocks else head
                if y and y + lead + tall > height:
                    if len(found) == most:
                        return None
                    found.append([])
                    y, strip, lead = 0.0, None, head
                if lead + tall > height:
                    return None
                if strip is None:
                    began = bool(band.blocks and block is not band.blocks[0])
                    strip = Strip(band.title, y, began)
                    found[-1].append(strip)
                y += lead
                strip.blocks.append(Placed(block, y, ()))
                y += tall
                strip.height = y - strip.y + BETWEEN / 2
            y += AFTER_BAND + BETWEEN / 2
        return found


def fit(bands: Sequence[Band], room: tuple[float, float], largest: float) -> Fitted:
    """The bands on a page with that much room (width, height, in points), in letters as large as go, up to `largest`.

    Of equally large ones the fewest columns are taken.
    """
    setter = Setter(bands)
    best = _column(setter, room, 1, 0.01)
    for count in range(1, MOST_COLUMNS + 1):
        low, high = best.size if best else 0.01, largest
        if best and low >= largest:
            break
        tried = _column(setter, room, count, low * 1.015)
        if tried is None:
            continue
        best, low = tried, tried.size
        for _ in range(9):
            middle = (low + high) / 2
            tried = _column(setter, room, count, middle)
            if tried is None:
                high = middle
            else:
                best, low = tried, middle
        tried = _column(setter, room, count, largest)
        best = tried or best
    assert best is not None, "no letter is too large at a hundredth of a point"
    return _even(setter, best, room[1] / best.size)


def _even(setter: Setter, fitted: Fitted, height: float) -> Fitted:
    """The same, with columns that end as nearly alike as they can, and every line broken."""
    low, best = 0.0, fitted.columns
    for _ in range(8):
        middle = (low + height) / 2
        tried = setter.columns(fitted.column, middle, len(fitted.columns))
        if tried is None:
            low = middle
        else:
            best, height = tried, middle
    for strip in (strip for column in best for strip in column):
        strip.blocks[:] = [p._replace(lines=setter.lines(p.block, fitted.column)) for p in strip.blocks]
    return Fitted(fitted.size, fitted.column, best)


def _column(setter: Setter, room: tuple[float, float], count: int, size: float) -> Fitted | None:
    column = (room[0] / size - (count - 1) * GAP) / count
    if count > 1 and column - GUTTER < NARROWEST:
        return None
    column = int(min(column, GUTTER + WIDEST) * 4) / 4
    columns = setter.columns(column, room[1] / size, count)
    return Fitted(size, column, columns) if columns is not None else None


def flags_width(flags: str) -> float:
    """The room at the right of a stop's first line for the letters of what may happen there."""
    return sum(width(letter, "bold") + FLAG for letter in flags.split())


# --- lines -------------------------------------------------------------------------------------------------------


def _words(para: Para) -> list[Word]:
    words: list[Word] = []
    spaced = False
    for piece in para.pieces:
        for number, part in enumerate(piece.text.split(" ")):
            spaced = spaced or number > 0
            if part:
                words.append(Word(part, piece.style, width(part, FACES[piece.style]), spaced))
                spaced = False
    tail = 0.0
    for number in range(len(words) - 1, -1, -1):
        words[number] = words[number]._replace(tail=tail)
        tail = 0.0 if words[number].spaced else tail + words[number].width
    return words


def _broken(words: Sequence[Word], indent: float, room: float) -> Iterator[tuple[Text, ...]]:
    """Lines that are `room` wide at most, set in by `indent`; a word that is wider than a line is cut."""
    line: list[Text] = []
    x = indent
    for word in words:
        space = SPACE if word.spaced and line else 0.0
        if line and word.spaced and x + space + word.width + word.tail > room:
            yield tuple(line)
            line, x, space = [], indent, 0.0
        for piece in _cut(word, room - indent):
            if line and x + space + piece.width > room:
                yield tuple(line)
                line, x, space = [], indent, 0.0
            last = line[-1] if line else None
            if last is not None and last.style == piece.style:
                text = f"{last.text}{' ' if space else ''}{piece.text}"
                line[-1] = Text(last.x, text, last.style, last.width + space + piece.width)
            else:
                line.append(Text(x + space, piece.text, piece.style, piece.width))
            x, space = x + space + piece.width, 0.0
    if line:
        yield tuple(line)


def _count(words: Sequence[Word], indent: float, room: float) -> int:
    """How many lines `_broken` makes of them."""
    lines, x = 1, indent
    for _text, _style, wide, spaced, tail in words:
        if wide + tail > room - indent:
            return sum(1 for _line in _broken(words, indent, room))
        there = x + wide + (SPACE if spaced and x > indent else 0.0)
        if there + tail > room and spaced:
            lines, there = lines + 1, indent + wide
        x = there
    return lines


def _cut(word: Word, room: float) -> Iterator[Word]:
    if word.width <= room:
        yield word
        return
    face = FACES[word.style]
    piece, used, spaced = "", 0.0, word.spaced
    for char in word.text:
        cells = width(char, face)
        if piece and used + cells > room:
            yield Word(piece, word.style, used, spaced)
            piece, used, spaced = "", 0.0, False
        piece, used = piece + char, used + cells
    yield Word(piece, word.style, used, spaced)
