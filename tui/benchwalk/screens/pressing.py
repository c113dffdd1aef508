"""What the keys do at the point in hand, said under what is asked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.containers import VerticalScroll
from textual.widgets import Static

from ..daybook.ink import Line, Span
from ..daybook.page import Page as RightPage
from ..procedure.showing import display_width
from . import doing
from .keymap import key_of
from .looks import inked

if TYPE_CHECKING:
    from .walk import WalkScreen

WIDE = 100
"""Columns from which both pages stand side by side."""


def lay_press(screen: WalkScreen) -> None:
    """What the keys do here, those of the foot switch among choices last."""
    rows = _press(screen, screen.shown)
    shown = screen.query_one("#press", Static)
    shown.update(inked(rows))
    shown.display = any(rows)


def more_below(page: VerticalScroll) -> bool:
    """Whether more than a blank line of the page stands below what is seen of it."""
    return page.max_scroll_y - page.scroll_offset.y > 1


LEAST = 40


def page_width(screen: WalkScreen) -> int:
    """Cells of a line of the right page; never too few to lay something out, though nobody sees it then."""
    width = max(screen.app.size.width, LEAST)
    return width - 4 if width < WIDE else width - left_width(width) - 5


def left_width(width: int) -> int:
    """Cells of the left page on a terminal of that many."""
    return max(34, min(60, width * 2 // 5))


def _press(screen: WalkScreen, page: RightPage) -> list[Line]:
    mine = dict(screen.app._keymap)
    going_on = key_of("walk.next", mine)
    unread = page.kind == "ready" or (not screen.typed and screen.marked is None)
    if unread and more_below(screen.query_one("#page", VerticalScroll)):
        return _keys([(going_on, "reads on")], screen)
    if screen.only_page:
        return _keys([(going_on, "goes back to the question")], screen)
    parts = [(key_of(action, mine), words) for action, words in page.press if not screen.off(action.partition(".")[2])]
    if page.kind in ("ready", "recheck") and screen.typed and parts:
        does = "goes on without it, and notes why" if page.kind == "ready" else "notes how it is instead"
        parts = [(parts[0][0], does), *parts[1:]]
    if page.choices and screen.marked is None and parts:
        count = len(page.choices)
        parts = [(f"1 {'or' if count == 2 else 'to'} {count}", f"marks, then {parts[0][0]} takes it"), *parts[1:]]
    if page.kind in ("do", "each", "way", "choose", "reading", "wait", "hold") and not screen.off("happened"):
        parts.append((key_of("walk.happened", mine), "if something happened"))
    rows = _keys(parts, screen)
    by_foot = doing.foot_words(page, screen.marked)
    if by_foot is not None:
        foot = [(key_of("walk.foot", mine), by_foot[0]), (key_of("walk.not_yet", mine), f"{by_foot[1]} (foot switch)")]
        rows += _keys(foot, screen)
    return rows


def _keys(parts: list[tuple[str, str]], screen: WalkScreen) -> list[Line]:
    """Keys and what they do, as many in a line as fit."""
    room, used = page_width(screen), 0
    rows: list[Line] = [()]
    for key, words in parts:
        needed = display_width(f"{key} {words}") + (3 if used else 0)
        if used and used + needed > room:
            rows.append(())
            used, needed = 0, needed - 3
        rows[-1] = (*rows[-1], Span(f"{'   ' if used else ''}{key}", "brass"), Span(f" {words}", "quiet"))
        used += needed
    return rows
