"""Fitting a page of the walk into its room: what is asked is never pushed off, and no half drawing is shown."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.containers import VerticalScroll
from textual.widgets import Static

from ..daybook.hanging import hung
from ..daybook.ink import Span, line
from ..daybook.left import last_line
from ..walk.phase import noted_places
from .looks import inked
from .pressing import lay_press, more_below, page_width

if TYPE_CHECKING:
    from .walk import WalkScreen


LAST_LEFT = 3
"""Lines that stay of what was found last where the page is too long."""


def fit(screen: WalkScreen, tried: int = 0) -> None:
    """Let what is asked stand right under the page, or at the foot where the page is longer than the room for it.

    A page that is too long is made shorter first, one way after the other.
    """
    if not screen.query("#page"):  # the screen was left meanwhile
        return
    page = screen.query_one("#page", VerticalScroll)
    room = screen.query_one("#right").content_size.height - screen.query_one("#ask").outer_size.height
    needed = _lines(page)
    if needed > room:
        for number, shorter in enumerate(_SHORTER[tried:], tried + 1):
            if shorter(screen, needed - room):
                screen.call_after_refresh(fit, screen, number)
                return
    line_below = needed > room or bool(_drawing_waits(screen))
    page.styles.height = min(needed, max(3, room - line_below))
    screen.query_one("#below").display = line_below
    screen.call_after_refresh(lay_below, screen)


def _grown(screen: WalkScreen, page: VerticalScroll) -> bool:
    """Give a page the lines that it needs beside a scroll bar, where there is room; whether it got any.

    A scroll bar that the page of before needed makes lines narrower, a line more of them may be needed then, and for
    want of that line the bar stays.
    """
    if not page.max_scroll_y or screen.query_one("#below").display:
        return False
    room = screen.query_one("#right").content_size.height - screen.query_one("#ask").outer_size.height
    needed = _lines(page)
    height = min(needed, max(3, room - (needed > room)))
    if height <= page.outer_size.height:
        return False
    page.styles.height = height
    return True


def _lines(page: VerticalScroll) -> int:
    """How many lines the whole page takes."""
    shown = [child for child in page.children if child.display]
    return max((child.virtual_region_with_margin.bottom for child in shown), default=0)


def _last_words(screen: WalkScreen, over: int) -> bool:
    """Of what was found last leave the beginning; the pages of the job have the rest."""
    shown = screen.query_one("#last-left", Static)
    if not shown.display or shown.outer_size.height <= LAST_LEFT:
        return False
    session = screen.session
    found = last_line(session.state, session.bench.books, session.names)
    rows = hung(found, page_width(screen) - 4, 0)[:LAST_LEFT]  # beside it, room for the scroll bar and the sign
    shown.update(inked([*rows[:-1], (*rows[-1], Span(" …"))]))
    return True


def _known_words(screen: WalkScreen, over: int) -> bool:
    """At the next place of the same reading, leave out what was read at the first."""
    asked = screen.shown.asked
    if screen.said_again or asked is None or asked.visit is None or asked.place is None:
        return False
    return bool(noted_places(screen.session.state, asked.visit, asked.name)) and _hide(
        screen, "why", "expect", "given", "just-now"
    )


def _reasons(screen: WalkScreen, over: int) -> bool:
    """Leave out why one is here where just that makes room for the whole drawing."""
    if screen.said_again or not screen.query_one("#drawing").display:
        return False
    parts = [screen.query_one(f"#{name}") for name in ("why", "given")]
    room = sum(part.outer_size.height for part in parts if part.display)
    return over <= room and _hide(screen, "why", "given")


def _half_drawing(screen: WalkScreen, over: int) -> bool:
    """Show no half of a drawing; the whole one is a key away."""
    return not screen.said_again and _hide(screen, "drawing")


def _before_the_action(screen: WalkScreen, over: int) -> bool:
    """Where the action would stand below the edge, leave out what was found last and why one is here."""
    page, action = screen.query_one("#page", VerticalScroll), screen.query_one("#action")
    seen = _lines(page) - over - 1  # a line says that there is more
    hidden = action.display and action.virtual_region.bottom > seen
    return hidden and not screen.said_again and _hide(screen, "last-left", "why")


def _choices(screen: WalkScreen, over: int) -> bool:
    """Where all the words are wanted, let the choices stand back until they were read."""
    if not screen.said_again or screen.marked is not None or not screen.shown.choices:
        return False
    screen.only_page = _hide(screen, "choices", "hints")
    return screen.only_page


_SHORTER = (_last_words, _known_words, _reasons, _half_drawing, _before_the_action, _choices)
"""Each hides something of a page that is so many lines too long, and says whether it did."""


def _hide(screen: WalkScreen, *names: str) -> bool:
    """Hide these parts; whether any was seen."""
    seen = [part for name in names if (part := screen.query_one(f"#{name}", Static)).display]
    for part in seen:
        part.display = False
    return bool(seen)


def _drawing_waits(screen: WalkScreen) -> bool:
    """Whether there is a drawing that has no room here."""
    drawing = screen.query_one("#drawing", Static)
    return not drawing.display and bool(str(drawing.visual))


def lay_below(screen: WalkScreen, grown: bool = False) -> None:
    """Say that more of the page stands below, where it does not all fit; `grown`: it was given its lines already, which
    is done once, for a page that something lies over is not laid out and would grow for ever."""
    if not screen.query("#page"):
        return
    page = screen.query_one("#page", VerticalScroll)
    if not grown and _grown(screen, page):
        screen.call_after_refresh(lay_below, screen, True)
        return
    told = ["more of this page below"] if more_below(page) else []
    if _drawing_waits(screen):
        told.append(screen.keyed("{walk.again} shows the drawing"))
    below = screen.query_one("#below", Static)
    below.display = bool(told)
    below.update(inked([line(Span("; ".join(told), "brass"))]))
    lay_press(screen)
