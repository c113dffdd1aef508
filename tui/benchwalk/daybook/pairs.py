"""A head the way it works: its rods laid straight as opposite pairs, one line a pair; odd counts stand singly.

Rods are numbered from the strainer, clockwise as one looks at the head being worked (common practice, no published
source). So the first half of them runs from the strainer to the butt, and the rods opposite from the butt to the
strainer.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from ..procedure.showing import display_width, safe_text
from ..walk.desk import Bench
from ..walk.state import State, Visit
from .heads import Head, Rod, head
from .ink import Line, Span, Tone

NOT_YET = "-"
_MARKS = {"now": "now", "open": NOT_YET, "left out": "left out", "not asked": "not asked"}
_CHOICE = {"within": "as wanted", "outside": "not wanted"}


def pairs(state: State, bench: Bench, visit: Visit, name: str = "") -> Head | None:
    """The rods of that stop by a reading, or by what is confirmed at each (no name); None where nothing is by rod."""
    return head(state, bench, visit, name)


class _Layout(NamedTuple):
    """Which columns there are room for, whether units stand beside the figures, and the longest word at a rod."""

    together: bool = True
    units: bool = True
    apart: bool = True
    judged: bool = True
    longest: int = 40

    @property
    def gap(self) -> str:
        """What stands between columns."""
        return "   " if self.units else "  "

    @property
    def inset(self) -> str:
        """What stands between a rod's number and what was noted there."""
        return "  " if self.units else " "


_FIGURES = (
    _Layout(),
    _Layout(together=False),
    _Layout(together=False, units=False),
    _Layout(together=False, apart=False),
    _Layout(together=False, apart=False, units=False),
    _Layout(together=False, apart=False, units=False, judged=False),
)
_WORDS = (
    *(_Layout(longest=longest) for longest in range(40, 11, -1)),
    *(_Layout(longest=longest, judged=False) for longest in range(24, 5, -1)),
)


def pair_lines(found: Head, width: int) -> list[Line]:
    """The pairs as lines of at most `width` cells, with the ends where they are known.

    Where it is narrow the mean goes first, then the units move to a line of their own, then the differences go.
    """
    for layout in _WORDS if found.sort == "words" else _FIGURES:
        lines = list(_lines(found, layout))
        if max(map(_cells, lines)) <= width:
            return lines
    return [_cut(line, width) for line in lines]


def _lines(found: Head, layout: _Layout) -> Iterator[Line]:
    rows = found.rows
    odd = rows[0][1] is None
    wide = max(_value_width(found, layout), 3)
    verdicts = max((len(_judged(found, rod)) for rod in found.rods), default=0) if layout.judged else 0
    side = 4 + len(layout.inset) + wide + (1 + verdicts if verdicts else 0)
    titles = ["from the strainer", "from the butt"] if found.from_strainer else ["rod", "rod"]
    feet = ["to the butt", "to the strainer"] if found.from_strainer else []
    if odd:
        titles, feet = titles[:1], ["round to the strainer"] * found.from_strainer
    side = max(side, *map(len, titles + feet))
    columns = _columns(found, layout)
    heading = layout.gap.join(title.ljust(side) for title in titles)
    for title, cells in columns:
        heading += layout.gap + title.rjust(max(map(len, (title, *cells))))
    yield (Span(heading.rstrip(), "quiet"),)
    for index, (one, other) in enumerate(rows):
        spans = list(_side(found, one, layout, wide, verdicts, side if other or columns else 0))
        if other:
            spans += [Span(layout.gap), *_side(found, other, layout, wide, verdicts, side if columns else 0)]
        for title, cells in columns:
            spans.append(Span(layout.gap + cells[index].rjust(max(map(len, (title, *cells))))))
        yield _trimmed(spans)
    if feet:
        yield (Span(layout.gap.join(foot.ljust(side) for foot in feet).rstrip(), "quiet"),)
    if not layout.units and found.unit:
        apart = ", apart in cents" if found.sort == "note" and layout.apart else ""
        yield (Span(f"in {safe_text(found.unit)}{apart}", "quiet"),)


def _columns(found: Head, layout: _Layout) -> list[tuple[str, list[str]]]:
    """What a pair has beside its two rods: (title, a cell for each row)."""
    columns = []
    if layout.apart and any(apart := found.apart()):
        unit = "cents" if found.sort == "note" else found.unit
        columns.append(("apart", _with_unit(apart, unit if layout.units else "")))
    if layout.together and any(together := found.together()):
        columns.append(("together", _with_unit(together, found.unit if layout.units else "")))
    return columns


def _with_unit(figures: list[str], unit: str) -> list[str]:
    """The figures with their unit, empty ones as long as it would be."""
    return [f"{figure} {safe_text(unit)}".rstrip() if figure else "" for figure in figures]


def _side(found: Head, rod: Rod, layout: _Layout, wide: int, verdicts: int, side: int) -> Iterator[Span]:
    """One rod's half of a line: number, what was noted, judgement."""
    here = rod.here or rod.mark == "now"
    number = f"({rod.number})" if here else f"{rod.number} "
    tone: Tone = "brass" if here else "plain"
    yield Span(number.rjust(4), tone)
    value = _value(found, rod, layout)
    if found.sort in ("number", "note") and rod.mark == "noted":
        value = " " * (wide - display_width(value)) + value
    yield Span(layout.inset + value + " " * (wide - display_width(value)), tone if rod.mark == "noted" else rod.tone)
    used = 4 + len(layout.inset) + wide
    if verdicts:
        yield Span(" " + _judged(found, rod).ljust(verdicts), rod.tone)
        used += 1 + verdicts
    if side > used:
        yield Span(" " * (side - used))


def _value(found: Head, rod: Rod, layout: _Layout) -> str:
    if rod.mark != "noted":
        return _MARKS[rod.mark] if layout.units else _MARKS[rod.mark].replace("left out", "none")
    if rod.value is not None and found.sort in ("number", "note"):
        unit = safe_text(found.unit) if layout.units else ""
        return f"{found.figure(rod.value)} {unit}".rstrip()
    return _shortened(safe_text(rod.said), layout.longest)


def _value_width(found: Head, layout: _Layout) -> int:
    return max(display_width(_value(found, rod, layout)) for rod in found.rods)


def _judged(found: Head, rod: Rod) -> str:
    return _CHOICE.get(rod.judged, rod.judged) if found.sort == "words" else rod.judged


def _shortened(text: str, most: int) -> str:
    if display_width(text) <= most:
        return text
    while text and display_width(text) > most - 2:
        text = text[:-1]
    return text.rstrip() + ".."


# --- lines -------------------------------------------------------------------------------------------------------


def _cells(line: Line) -> int:
    return sum(display_width(span.text) for span in line)


def _trimmed(spans: list[Span]) -> Line:
    """The spans without blanks at the end."""
    while spans and not spans[-1].text.strip():
        spans.pop()
    if spans:
        spans[-1] = spans[-1]._replace(text=spans[-1].text.rstrip())
    return tuple(spans)


def _cut(line: Line, width: int) -> Line:
    """The line cut after so many cells."""
    spans: list[Span] = []
    for span in line:
        text = span.text
        while display_width(text) > width:
            text = text[:-1]
        width -= display_width(text)
        spans.append(span._replace(text=text))
    return _trimmed(spans)
