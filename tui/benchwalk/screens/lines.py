"""A long list of single lines of which one is marked. A line is made only once it is seen: a shop has thousands."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import ClassVar

from textual.content import Content
from textual.events import Click
from textual.geometry import Region, Size
from textual.message import Message
from textual.reactive import reactive
from textual.scroll_view import ScrollView
from textual.strip import Strip

from ..daybook.ink import Line, Span, text_of
from .looks import inked, plain

SIGN = 2
"""Cells before each line, in which the sign of the marked one stands."""


def signed(lines: Sequence[Line], *, marked: bool = False) -> Content:
    """The lines of a row with room for a sign before them; the marked one has it, and no tones: a quiet word could not
    be read on brass."""
    if marked:
        first, *more = map(text_of, lines)
        return plain("\n".join([f"> {first}", *(f"  {row}" for row in more)]))
    return inked([(Span("  "), *row) for row in lines])


class Lines(ScrollView, can_focus=True, inherit_bindings=False):
    """Lines, one row each. It has no keys of its own; a click marks, and never acts."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {"lines--marked"}

    highlighted: reactive[int | None] = reactive(None, repaint=False)
    """Which line is marked, from 0; None where there are none."""

    class Marked(Message):
        """Another line is marked. `clicked`: by a click on it."""

        def __init__(self, clicked: bool = False) -> None:
            super().__init__()
            self.clicked = clicked

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        self._count = 0
        self._make: Callable[[int], Line] = lambda _index: ()

    def show(self, count: int, make: Callable[[int], Line], marked: int | None) -> None:
        """Show that many lines, each made by its place when it is seen, and mark one; the place scrolled to stays."""
        self._count, self._make = count, make
        self.virtual_size = Size(0, count)  # as wide as there is room
        self.highlighted = marked
        self._follow()
        self.refresh()

    def validate_highlighted(self, index: int | None) -> int | None:
        """A place beyond the last line is the last line."""
        return max(0, min(index, self._count - 1)) if index is not None and self._count else None

    def watch_highlighted(self, before: int | None, index: int | None) -> None:
        """Draw the two lines anew, and keep the marked one on the screen."""
        for each in (before, index):
            if each is not None:
                self.refresh_line(each)
        if index is not None:
            self._follow()
            self.post_message(self.Marked())

    def on_resize(self) -> None:
        self._follow()

    def _follow(self) -> None:
        if self.highlighted is not None and self.size.height:
            self.scroll_to_region(Region(0, self.highlighted, 1, 1), force=True, animate=False, immediate=True)

    def render_line(self, y: int) -> Strip:
        """One row of the screen."""
        index, width = y + self.scroll_offset.y, self.scrollable_content_region.width
        marked = index == self.highlighted
        style = self.get_visual_style("lines--marked") if marked else self.visual_style
        if index >= self._count:
            return Strip.blank(width, style.rich_style)
        content = signed([self._make(index)], marked=marked)
        strip = content.to_strips(self, content, width, 1, style)[0]
        return strip.adjust_cell_length(width, style.rich_style)

    def on_click(self, event: Click) -> None:
        index = event.y + self.scroll_offset.y
        if index < self._count:
            self.highlighted = index
            self.post_message(self.Marked(clicked=True))

    # --- moving, for the keys of the screen ---

    def action_cursor_up(self) -> None:
        """Mark the line above; from the first one, the last."""
        self.highlighted = self._count - 1 if self.highlighted == 0 else (self.highlighted or 0) - 1

    def action_cursor_down(self) -> None:
        """Mark the line below; from the last one, the first."""
        self.highlighted = 0 if self.highlighted == self._count - 1 else (self.highlighted or 0) + 1

    def action_page_up(self) -> None:
        """Mark the line a screen above."""
        self.highlighted = (self.highlighted or 0) - self.size.height

    def action_page_down(self) -> None:
        """Mark the line a screen below."""
        self.highlighted = (self.highlighted or 0) + self.size.height

    def action_first(self) -> None:
        """Mark the first line."""
        self.highlighted = 0

    def action_last(self) -> None:
        """Mark the last line."""
        self.highlighted = self._count - 1
