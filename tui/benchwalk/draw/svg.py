"""The step graph as one page to print: an SVG of our own making, in columns, however many stops there are.

The stops hang on a rope that is drawn tight where one leads on to the next and cut where none does; ways back are loops
at its left. What an author wrote stands in it as text and nothing else: there is no script in it, no link, no font and
nothing from outside. Lengths are points.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from ..procedure.linked import Linked
from ..proof.rehearse import Rehearsal
from ..proof.walked import walked_ways
from .blocks import Band, Sign, bands, cut
from .fit import Fitted, fit
from .marks import attribute, column_marks, piece, sign
from .signs import KEY, ROPE, SIGNS
from .ways import listed
from .widths import Face, width

SHORT, LONG = 595.28, 841.89
"""A sheet of A4."""
MARGIN = 23.0
LARGEST = 9.5
"""The largest letters, so that a small procedure does not shout."""
READABLE = 5.4
"""Letters below this are made larger, if they can be, by leaving out what is done and noted at each stop."""
_HEAD, _SMALL, _TITLE = 48.0, 7.0, 17.0
_KEY, _KEYS = 6.2, 2  # the size of what explains the signs, and the most lines of it

STYLE = """\
text{font-family:"Liberation Serif","Times New Roman",Tinos,"Nimbus Roman",Times,serif;white-space:pre;\
text-rendering:geometricPrecision;fill:#211c15}
.paper{fill:#fbf8f0}.band{fill:#f3ebda}
.quiet{fill:#5c5344}.number,.title,.shown{fill:#85600f}
.name,.number,.strong{font-weight:bold}.title{font-style:italic}
.sign,.rope,.knot,.loop,.rule{fill:none;stroke:#85600f;stroke-linecap:round;stroke-linejoin:round}
.knot{fill:#fbf8f0}.sign,.loop{stroke:#211c15}
@page{size:A4 ORIENTATION;margin:0}
@media print{.paper{fill:#fff}.knot{fill:#fff}.band{fill:#f3f1ec}.number,.title,.shown{fill:#5c4207}.quiet{fill:#333}\
.rope,.knot,.rule{stroke:#5c4207}}
"""


class Page(NamedTuple):
    """A sheet, upright or across, and the room in it for stops."""

    width: float
    height: float

    @property
    def room(self) -> tuple[float, float]:
        return self.width - 2 * MARGIN, self.height - 2 * MARGIN - _HEAD - (1.3 * _KEYS + 0.4) * _KEY

    @property
    def orientation(self) -> str:
        return "portrait" if self.height > self.width else "landscape"


def draw_svg(linked: Linked, walked: Sequence[Rehearsal] | None = None) -> str:
    """The procedure on one sheet of A4, as the text of an SVG file. Ends with a line feed.

    With `walked` (its rehearsed examples) each way says how many examples take it.
    """
    counts = None if walked is None else walked_ways(linked, walked)
    whole = bands(linked, counts)
    page, fitted = _best(whole)
    if fitted.size < READABLE:
        brief = bands(linked, counts, brief=True)
        other = _best(brief)
        if other[1].size > fitted.size * 1.1:
            (page, fitted), whole = other, brief
    good = None if walked is None else sum(r.ok for r in walked)
    lines = [*_opening(linked, page), *_head(linked, page, good), *_stops(fitted)]
    return "\n".join([*lines, *_foot(page, whole), "</svg>"]) + "\n"


def _best(whole: Sequence[Band]) -> tuple[Page, Fitted]:
    """The sheet that gives the larger letters; upright where both are alike."""
    upright, across = Page(SHORT, LONG), Page(LONG, SHORT)
    tall, wide = fit(whole, upright.room, LARGEST), fit(whole, across.room, LARGEST)
    return (upright, tall) if tall.size >= wide.size * 0.98 else (across, wide)


def _opening(linked: Linked, page: Page) -> Iterator[str]:
    p = linked.procedure
    wide, high = ("297mm", "210mm") if page.width > page.height else ("210mm", "297mm")
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}" height="{high}" '
        f'viewBox="0 0 {page.width} {page.height}" role="img" aria-labelledby="t d">'
    )
    yield f'<title id="t">{piece(cut(p.title))}</title>'
    yield f'<desc id="d">{piece(f"{_about(linked)}. The same as text: benchwalk draw {p.procedure}")}</desc>'
    yield f"<style>{STYLE.replace('ORIENTATION', page.orientation)}</style>"
    yield f'<rect class="paper" width="{page.width}" height="{page.height}"/>'


def _about(linked: Linked) -> str:
    p = linked.procedure
    steps = f"{len(p.steps)} stop{'s' if len(p.steps) > 1 else ''}"
    ends = f", ends {listed(linked.outcomes(), 'or')}" if linked.outcomes() else ""
    return f"{p.procedure}, revision {p.revision}: {steps}{ends}"


# --- above and below the stops -----------------------------------------------------------------------------------


def _head(linked: Linked, page: Page, good: int | None) -> Iterator[str]:
    room = page.width - 2 * MARGIN
    title = cut(linked.procedure.title)
    size = min(_TITLE, _TITLE * room / max(1.0, width(title) * _TITLE))
    yield _line(title, MARGIN, MARGIN + 14, size, "plain")
    about = _about(linked) + (f"; in square brackets: how many of its {good} examples go that way" if good else "")
    yield _line(about, MARGIN, MARGIN + 25, min(8.0, room / width(about)), "quiet")
    yield f'<path class="rule" stroke-width=".5" d="M{MARGIN} {MARGIN + 42.5:.2f}h{room:.2f}m0 1.6h{-room:.2f}"/>'
    yield from _stages(linked, page)


def _stages(linked: Linked, page: Page) -> Iterator[str]:
    """The stages along one rope, where they have room."""
    stages = [s for s in linked.procedure.steps if s.stage]
    titles = [cut(s.stage.title) for s in stages if s.stage]
    numbers = [f" from {linked.at[s.step] + 1}" for s in stages]
    words = [_SMALL * (width(t, "italic") + width(n)) for t, n in zip(titles, numbers, strict=True)]
    room = page.width - 2 * MARGIN - sum(words)
    if len(titles) < 2 or room < 16 * (len(titles) - 1):
        return
    gap = min(60.0, room / (len(titles) - 1))
    x, y = MARGIN, MARGIN + 36.5
    for i, (title, number) in enumerate(zip(titles, numbers, strict=True)):
        if i:
            strands = f"M{x + 4:.2f} {y - 3:.2f}h{gap - 8:.2f}m0 1.8h{8 - gap:.2f}"
            yield f'<path class="rope" stroke-width=".5" d="{strands}"/>'
            x += gap
        yield _line(title, x, y, _SMALL, "title", "italic")
        yield _line(number.strip(), x + _SMALL * width(title + " ", "italic"), y, _SMALL, "quiet")
        x += words[i]


def _line(text: str, x: float, y: float, size: float, style: str, face: Face = "plain") -> str:
    return (
        f'<text class="{style}" x="{x:.2f}" y="{y:.2f}" font-size="{size:.3f}" '
        f"{attribute(text, width(text, face) * size)}>{piece(text)}</text>"
    )


def _foot(page: Page, whole: Sequence[Band]) -> Iterator[str]:
    """What the signs mean, of those that are drawn."""
    used: set[Sign] = {para.sign for band in whole for block in band.blocks for para in block.paras}
    used |= {"event"} if any(block.flags for band in whole for block in band.blocks) else set()
    shown = [(SIGNS[s], KEY[s]) for s in KEY if s in used]
    shown += [ROPE] if sum(len(band.blocks) for band in whole) > 1 else []
    rows: list[list[tuple[str, str]]] = [[]]
    for each in shown:
        if sum(map(_key_width, [*rows[-1], each])) > page.width - 2 * MARGIN and len(rows) < _KEYS:
            rows.append([])
        rows[-1].append(each)
    for number, row in enumerate(rows):
        x, y = MARGIN, page.height - MARGIN - (len(rows) - 1 - number) * 1.3 * _KEY
        for each in row:
            yield sign(each[0], x, y, _KEY)
            yield _line(each[1], x + 1.1 * _KEY, y, _KEY, "quiet")
            x += _key_width(each)


def _key_width(key: tuple[str, str]) -> float:
    return (width(key[1]) + 2.2) * _KEY


def _stops(fitted: Fitted) -> Iterator[str]:
    """All columns, in letters of the size that fits."""
    yield f'<g font-size="{fitted.size:.3f}">'
    for number, strips in enumerate(fitted.columns):
        yield from column_marks(fitted, number, strips, (MARGIN, MARGIN + _HEAD))
    yield "</g>"
