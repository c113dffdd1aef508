"""What a report is made of, before it has a format: sections of a few kinds of blocks, and lines with references.

A template knows these kinds and nothing of jobs. Every text here is as somebody typed it; making it harmless is the
business of `render`, at the moment it is put into a format.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal, NamedTuple

Tone = Literal["", "within", "outside", "quiet", "strong"]


class Ref(NamedTuple):
    """An event of the log, by its number."""

    n: int


class Tinted(NamedTuple):
    """A text with a tone. The text alone says everything; the tone only stresses."""

    text: str
    tone: Tone


Piece = str | Ref | Tinted
Line = tuple[Piece, ...]


class Point(NamedTuple):
    """One thing of a list, and what stands under it."""

    line: Line
    under: tuple[Line, ...] = ()


class Number(NamedTuple):
    """A figure as typed, cut before its decimals so that figures stand under each other, and its unit."""

    whole: str
    part: str
    unit: str


class Taken(NamedTuple):
    """One reading of a figure: the number (None: left out), the judgement by word, the event."""

    number: Number | None
    judgement: str
    tone: Tone
    n: int


class Figure(NamedTuple):
    """A measured thing: the first time it was taken (None where it was taken once) and the last."""

    label: str
    first: Taken | None
    last: Taken
    under: Line = ()


@dataclass(frozen=True, slots=True)
class Facts:
    """Names and what stands beside them."""

    rows: tuple[tuple[str, Line], ...]
    kind: ClassVar[str] = "facts"


@dataclass(frozen=True, slots=True)
class Words:
    """Paragraphs."""

    lines: tuple[Line, ...]
    kind: ClassVar[str] = "words"


@dataclass(frozen=True, slots=True)
class Points:
    """A list."""

    points: tuple[Point, ...]
    kind: ClassVar[str] = "points"


@dataclass(frozen=True, slots=True)
class Figures:
    """A table of figures; `both` says that they were taken more than once. `refs`: with the events they come from."""

    rows: tuple[Figure, ...]
    both: bool
    refs: bool
    kind: ClassVar[str] = "figures"


@dataclass(frozen=True, slots=True)
class Table:
    """A table of lines under a head."""

    head: tuple[str, ...]
    rows: tuple[tuple[Line, ...], ...]
    kind: ClassVar[str] = "table"


class Stretch(NamedTuple):
    """A part of the route: its title, and whether it lies behind, is in hand, or lies ahead."""

    title: str
    stands: Literal["behind", "here", "ahead"]


@dataclass(frozen=True, slots=True)
class Rope:
    """The route as one line; `end` says how it ended ("" where it has not)."""

    stretches: tuple[Stretch, ...]
    end: str
    kind: ClassVar[str] = "rope"


class Stop(NamedTuple):
    """One stop of the route. `gone`: the walk went back over it, and it counts no more."""

    number: int
    name: str
    stage: str
    when: str
    who: str
    gone: bool
    why: str
    done: str
    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Stops:
    """Every stop, in order."""

    stops: tuple[Stop, ...]
    kind: ClassVar[str] = "stops"


class Told(NamedTuple):
    """An event in words."""

    n: int
    when: str
    who: str
    what: Line


@dataclass(frozen=True, slots=True)
class Events:
    """Every event, in order: where references lead."""

    rows: tuple[Told, ...]
    kind: ClassVar[str] = "events"


Block = Facts | Words | Points | Figures | Table | Rope | Stops | Events


class Section(NamedTuple):
    """A titled part; the blocks under it."""

    title: str
    blocks: tuple[Block, ...]

    @property
    def long(self) -> bool:
        """Whether it holds stops or events, which take the whole width of a page."""
        return any(isinstance(block, Stops | Events) for block in self.blocks)


@dataclass(frozen=True, slots=True)
class Document:
    """A whole report. `banner` is what must be read before anything else."""

    audience: Literal["owner", "shop"]
    shop: str
    title: str
    subtitle: str
    job: str
    banner: tuple[Line, ...]
    sections: tuple[Section, ...]
