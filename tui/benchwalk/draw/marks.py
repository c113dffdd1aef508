"""What is drawn of one column: bands, text, the rope with its knots, and the ways back as loops at its left."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from xml.sax.saxutils import escape

from ..procedure.showing import safe_text
from .blocks import Block
from .fit import EDGE, FLAG, GAP, GUTTER, HEADING, LINE, Fitted, Placed, Strip, flags_width
from .signs import SIGNS
from .widths import width

ROPE = GUTTER - 0.78
"""Where the rope hangs, from the left of the column, in parts of the letter's size."""
_HALF = 0.13
_KNOT = 0.42  # half of a knot's width
_FIRST_LOOP, _LOOP, _LOOPS = 0.74, 0.27, 4
_MIDDLE = 0.32  # the middle of small letters above the line they stand on


def piece(text: str) -> str:
    """A text as it may stand between tags: nothing in it acts, hides, or is no character of XML."""
    return escape(safe_text(text).translate({0xFFFE: "\\ufffe", 0xFFFF: "\\uffff"}))


def attribute(text: str, length: float) -> str:
    """What fits another face into the room a text was measured for."""
    return f'textLength="{length:.2f}" lengthAdjust="spacingAndGlyphs"' if text else ""


def sign(drawn: str, x: float, y: float, size: float) -> str:
    """A sign whose left foot stands there."""
    return (
        f'<path class="sign" stroke-width=".075" transform="translate({x:.2f} {y:.2f}) scale({size:.3f})" d="{drawn}"/>'
    )


def column_marks(fitted: Fitted, number: int, strips: Sequence[Strip], origin: tuple[float, float]) -> Iterator[str]:
    """Everything of one column; `origin` is the upper left corner of the first."""
    size = fitted.size
    left = origin[0] + number * (fitted.column + GAP) * size
    column = _Column(size, left, origin[1], fitted.column)
    for strip in strips:
        yield from column.band(strip)
    placed = [block for strip in strips for block in strip.blocks]
    before = fitted.columns[number - 1][-1].blocks[-1].block if number else None
    yield from column.rope(placed, before)
    yield from column.loops(placed)
    for each in placed:
        yield from column.block(each)


class _Column:
    """A column of the page: turns parts of the letter's size into points."""

    def __init__(self, size: float, left: float, top: float, width: float) -> None:
        self.size = size
        self.left = left
        self.top = top
        self.width = width

    def x(self, ems: float) -> str:
        return f"{self.left + ems * self.size:.2f}"

    def y(self, ems: float) -> str:
        return f"{self.top + ems * self.size:.2f}"

    def path(self, style: str, stroke: float, drawn: str) -> str:
        return f'<path class="{style}" stroke-width="{stroke * self.size:.3f}" d="{drawn}"/>'

    # --- bands and text ---

    def band(self, strip: Strip) -> Iterator[str]:
        """The band's ground and heading."""
        if not strip.title:
            return
        wide, high = self.width * self.size, (strip.height) * self.size
        yield f'<rect class="band" x="{self.x(0)}" y="{self.y(strip.y)}" width="{wide:.2f}" height="{high:.2f}"/>'
        title = f"{strip.title}, goes on" if strip.goes_on else strip.title
        room = self.width - GUTTER - EDGE
        scale = min(1.12, room / max(1.0, width(title, "italic")))
        yield (
            f'<text class="title" x="{self.x(GUTTER)}" y="{self.y(strip.y + HEADING - 0.62)}" '
            f'font-size="{scale * self.size:.3f}" {attribute(title, width(title, "italic") * scale * self.size)}>'
            f"{piece(title)}</text>"
        )
        below = strip.y + HEADING - 0.3
        yield self.path("rule", 0.06, f"M{self.x(GUTTER)} {self.y(below)}H{self.x(self.width - EDGE)}")

    def block(self, placed: Placed) -> Iterator[str]:
        """The text of a stop, with the signs of its paragraphs."""
        for number, line in enumerate(placed.lines):
            base = placed.y + number * LINE + 0.86
            if line.para is not None and line.para.sign:
                yield sign(
                    SIGNS[line.para.sign], self.left + GUTTER * self.size, self.top + base * self.size, self.size
                )
            for text in line.texts:
                yield (
                    f'<text class="{text.style}" x="{self.x(GUTTER + text.x)}" y="{self.y(base)}" '
                    f"{attribute(text.text, text.width * self.size)}>{piece(text.text)}</text>"
                )
        if placed.block.flags:
            yield from self.flags(placed)

    def flags(self, placed: Placed) -> Iterator[str]:
        """Pennants with the letters of what may happen, at the right of the stop's first line."""
        x, base = self.width - EDGE - flags_width(placed.block.flags), placed.y + 0.86
        for letter in placed.block.flags.split():
            yield sign(SIGNS["event"], self.left + x * self.size, self.top + base * self.size, self.size)
            wide = width(letter, "bold")
            fitted = attribute(letter, wide * self.size)
            yield f'<text class="shown" x="{self.x(x + 0.68)}" y="{self.y(base)}" {fitted}>{piece(letter)}</text>'
            x += wide + FLAG

    # --- the rope ---

    def rope(self, placed: Sequence[Placed], before: Block | None) -> Iterator[str]:
        """The rope from stop to stop, tight where one leads on to the next, and the knots on it."""
        for number, each in enumerate(placed):
            if each.block.knot == "event":
                continue
            above = placed[number - 1].block if number else before
            if not number and above is not None and above.goes_on:
                yield self.strands(each.y - 0.6, _knot_y(each))
            if each.block.goes_on:
                below = placed[number + 1] if number + 1 < len(placed) else None
                ends = each.y + len(each.lines) * LINE
                yield self.strands(_knot_y(each), _knot_y(below) if below else ends)
            else:
                yield self.strands(_knot_y(each), _knot_y(each) + 0.75)
        for each in placed:
            if each.block.knot != "event":
                yield from self.knot(each)

    def strands(self, first: float, last: float) -> str:
        """A length of rope: two strands."""
        sides = (ROPE - _HALF, ROPE + _HALF)
        return self.path("rope", 0.07, "".join(f"M{self.x(s)} {self.y(first)}V{self.y(last)}" for s in sides))

    def knot(self, placed: Placed) -> Iterator[str]:
        """How the rope is tied at a stop."""
        y, kind = _knot_y(placed), placed.block.knot
        if kind == "hold":
            arms = "".join(
                f"M{self.x(ROPE + side * 0.28)} {self.y(y - 0.42)}H{self.x(ROPE + side * 0.52)}V{self.y(y + 0.42)}"
                f"H{self.x(ROPE + side * 0.28)}"
                for side in (-1, 1)
            )
            yield self.path("sign", 0.1, arms)
        elif kind == "end":
            bars = "".join(f"M{self.x(ROPE - 0.36)} {self.y(y + low)}H{self.x(ROPE + 0.36)}" for low in (0.75, 1.0))
            yield self.path("sign", 0.13, bars)
        elif kind == "run":
            below = min(len(placed.lines) * LINE - 1.0, 2.2)
            count = max(2, int(below / 0.32))
            laid = "".join(
                f"M{self.x(ROPE - 0.3)} {self.y(y + 0.75 + n * 0.3)}L{self.x(ROPE + 0.3)} {self.y(y + 0.45 + n * 0.3)}"
                for n in range(count)
            )
            yield self.path("sign", 0.08, laid)
        if kind != "hold":
            radius = f"{0.21 * self.size:.2f}"
            for side in (-1, 1):
                yield (
                    f'<circle class="knot" stroke-width="{0.1 * self.size:.3f}" cx="{self.x(ROPE + side * 0.21)}" '
                    f'cy="{self.y(y)}" r="{radius}"/>'
                )

    # --- ways back ---

    def loops(self, placed: Sequence[Placed]) -> Iterator[str]:
        """Ways back: a loop to a stop of this column, and a short hook for one to another column."""
        here = {each.block.number: each for each in placed if each.block.number}
        wanted = [(number, each.block.number) for each in here.values() for number in each.block.back if number in here]
        lanes: list[list[tuple[int, int]]] = [[] for _ in range(_LOOPS)]
        for target, source in sorted(wanted, key=lambda pair: pair[1] - pair[0]):
            free = (i for i, lane in enumerate(lanes) if all(s < target or source < t for t, s in lane))
            lane = next(free, None)
            if lane is not None:
                lanes[lane].append((target, source))
                yield self.loop(_knot_y(here[source]), _knot_y(here[target]), lane)
        for each in here.values():
            if any(number not in here for number in each.block.back):
                yield self.hook(_knot_y(each))

    def loop(self, source: float, target: float, lane: int) -> str:
        """From a stop back to an earlier one, or to itself."""
        if source == target:
            source, target = source + 0.28, target - 0.28
        x, side, bend = ROPE - _FIRST_LOOP - lane * _LOOP, ROPE - _KNOT - 0.08, 0.22
        return self.path(
            "loop",
            0.07,
            f"M{self.x(side)} {self.y(source)}H{self.x(x + bend)}Q{self.x(x)} {self.y(source)} {self.x(x)} "
            f"{self.y(source - bend)}V{self.y(target + bend)}Q{self.x(x)} {self.y(target)} {self.x(x + bend)} "
            f"{self.y(target)}H{self.x(side)}" + self.head(side, target),
        )

    def head(self, x: float, y: float) -> str:
        """The head of an arrow that points to the right."""
        return f"M{self.x(x - 0.2)} {self.y(y - 0.17)}L{self.x(x)} {self.y(y)}L{self.x(x - 0.2)} {self.y(y + 0.17)}"

    def hook(self, y: float) -> str:
        """A way back that leads out of the column."""
        side, x = ROPE - _KNOT - 0.08, ROPE - _FIRST_LOOP - 0.1
        return self.path(
            "loop",
            0.07,
            f"M{self.x(side)} {self.y(y)}H{self.x(x)}V{self.y(y - 0.6)}M{self.x(x - 0.17)} {self.y(y - 0.4)}"
            f"L{self.x(x)} {self.y(y - 0.62)}L{self.x(x + 0.17)} {self.y(y - 0.4)}",
        )


def _knot_y(placed: Placed) -> float:
    return placed.y + 0.86 - _MIDDLE
