"""A list that is moved in and found in by the keys of its screen: the jobs of the bench and the book, procedures."""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import ClassVar, cast

from textual.binding import BindingType
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from ..daybook.ink import Line
from ..procedure.showing import sentence
from .base import Page
from .lines import Lines, signed
from .looks import plain


class Rows(OptionList, inherit_bindings=False):
    """Rows of which one is marked, with a sign before it. It has no keys of its own; a click marks, and never acts."""

    BINDINGS: ClassVar[list[BindingType]] = []

    def action_select(self) -> None:
        """A click has marked the line, and that is all."""
        if isinstance(self.screen, ListPage):
            self.screen.touched = True

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id, markup=False)
        self._toned: list[list[Line]] = []
        self._plain: int | None = None

    def show(self, rows: list[list[Line]], marked: int | None, headings: Collection[int] = ()) -> None:
        """Show these rows, each of some lines, and mark one of them; the place in a long list is kept.

        What is a heading is never marked.
        """
        at = self.scroll_offset.y
        self._toned, self._plain = [], None
        self.clear_options()
        self._toned = rows
        self.add_options([Option(signed(each), disabled=i in headings) for i, each in enumerate(rows)])
        self.scroll_to(y=at, animate=False)
        self.highlighted = min(marked, len(rows) - 1) if marked is not None and rows else None

    def watch_highlighted(self, highlighted: int | None) -> None:
        """Draw the row that is marked, and the one that was, anew."""
        for index in {self._plain, highlighted} - {None}:
            assert index is not None
            if index < len(self._toned):
                self.replace_option_prompt_at_index(index, signed(self._toned[index], marked=index == highlighted))
        self._plain = highlighted
        super().watch_highlighted(highlighted)


class ListPage(Page):
    """A full screen with one list and one line at the foot for what is to be said.

    `touched`: somebody marked a line on purpose, which then stays marked; until then it is the first.
    """

    touched = False
    AUTO_FOCUS: ClassVar[str | None] = "#rows"

    @property
    def rows_list(self) -> Rows | Lines:
        """The list."""
        return cast("Rows | Lines", self.query_one("#rows"))

    @property
    def marked(self) -> int | None:
        """Which line is marked, from 0."""
        return self.rows_list.highlighted

    def say(self, message: str) -> None:
        """Say one sentence above the keys; it stays until another line is marked."""
        said = sentence(message)
        shown = self.query_one("#message", Static)
        shown.update(plain(said))
        shown.display = bool(said)

    def action_up(self) -> None:
        self._move(self.rows_list.action_cursor_up)

    def action_down(self) -> None:
        self._move(self.rows_list.action_cursor_down)

    def action_page_up(self) -> None:
        self._move(self.rows_list.action_page_up)

    def action_page_down(self) -> None:
        self._move(self.rows_list.action_page_down)

    def action_top(self) -> None:
        self._move(self.rows_list.action_first)

    def action_end(self) -> None:
        self._move(self.rows_list.action_last)

    def _move(self, by: Callable[[], object]) -> None:
        self.touched = True
        by()


class FindPage(ListPage):
    """A list in which words can be looked for as they are typed. Subclasses give `fill`."""

    def on_mount(self) -> None:
        self.query_one("#find-line").display = False

    @property
    def find(self) -> Input:
        """The line in which words are typed."""
        return self.query_one("#find", Input)

    @property
    def wanted(self) -> str:
        """The words that are looked for."""
        return self.find.value.strip()

    def fill(self) -> None:
        """Show the lines that have the words."""
        raise NotImplementedError

    @property
    def finding(self) -> bool:
        """Whether the line to type in is open."""
        return self.is_mounted and bool(self.query_one("#find-line").display)

    def action_find(self) -> None:
        """Open the line to type in."""
        self.query_one("#find-line").display = True
        self.find.focus()
        self.refresh_bindings()

    def close_find(self) -> bool:
        """Close the line, and show everything again; whether it was open."""
        line = self.query_one("#find-line")
        if not line.display:
            return False
        self.find.value = ""
        line.display = False
        self.rows_list.focus()
        self.refresh_bindings()
        return True

    def on_input_changed(self, event: Input.Changed) -> None:
        event.stop()
        if self.finding:  # else it was closed just now, and the marked line stays marked
            self.touched = False
        self.fill()
