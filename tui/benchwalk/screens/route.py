"""Looking along the route, ahead and back: every step, how it stands, and where it leads. It changes nothing."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.widgets import Footer, Static

from ..daybook.along import FORK, row_line, rows
from ..daybook.ink import Span, line
from ..daybook.one_step import told
from ..session import Session
from ..walk.places import CURRENT, HELD
from .actions import ROUTE
from .base import Page
from .keymap import bindings, key_of
from .lines import SIGN
from .listed import Rows
from .looks import inked, plain

MEASURE = 72
"""Most cells of a line of what a step says."""


class RouteScreen(Page):
    """All steps in the order of the procedure; the one marked is told beside. One key goes back to the walk."""

    CSS_PATH: ClassVar = "route.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings(ROUTE)

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self.rows = rows(session.state, session.bench)
        self.width = self.height = 0

    def page(self) -> ComposeResult:
        yield Static(id="route-title")
        with Horizontal(id="route"):
            yield Rows(id="route-steps")
            with Vertical(id="route-side"):
                with VerticalScroll(id="route-page", can_focus=False):
                    yield Static(id="route-step")
                yield Static(id="route-below")
        yield Footer(show_command_palette=False, compact=True)

    @property
    def steps(self) -> Rows:
        """The list of steps."""
        return self.query_one(Rows)

    @property
    def beside(self) -> VerticalScroll:
        """What holds what the marked step says."""
        return self.query_one("#route-page", VerticalScroll)

    def on_mount(self) -> None:
        self.steps.focus()

    def resized(self) -> None:
        self.call_after_refresh(self._lay)  # widths are known only then

    def _lay(self) -> None:
        """Show the list as wide as it is now; what is marked stays marked, at first the step in hand."""
        if not self.query(Rows):
            return  # the page was left meanwhile
        width = self.steps.scrollable_content_region.width - SIGN
        if width == self.width:
            return
        here = [i for i, row in enumerate(self.rows) if row.stands in (CURRENT, HELD)]
        marked = self.steps.highlighted if self.width else None
        marked = (here or [self._first()])[-1] if marked is None else marked
        room = self.app.size.width
        said = f" Looking along the route: nothing is changed here.   {FORK} where it may fork"
        title = self.session.state.title
        fits = len(said) + len(title) + 4 <= room
        self.query_one("#route-title", Static).update(plain(said + (f"   {title}" if fits else "")))
        headings = {i for i, row in enumerate(self.rows) if not row.name}
        self.steps.show([[row_line(row, width)] for row in self.rows], marked, headings)
        if not self.width:  # what comes before and after the step in hand is seen with it
            self.steps.scroll_to(y=max(0, marked - self.steps.size.height // 2), animate=False)
        self.width = width
        self._tell()

    def _first(self) -> int:
        return next((i for i, row in enumerate(self.rows) if row.name), 0)

    def on_option_list_option_highlighted(self, event: Rows.OptionHighlighted) -> None:
        self._tell()

    def _tell(self) -> None:
        """Say all that is known of the marked step."""
        at = self.steps.highlighted
        if at is None or not self.width:
            return
        width = min(MEASURE, max(20, self.beside.scrollable_content_region.width))
        state, bench = self.session.state, self.session.bench
        lines = told(state, bench, self.rows[at], width)
        self.query_one("#route-step", Static).update(inked(lines))
        self.height = len(lines)
        self._read_from(0)

    @property
    def _unread(self) -> int:
        """How many lines of what the step says stand below what is seen of it."""
        return self.height - self.beside.scroll_offset.y - self.beside.size.height

    def _read_from(self, y: int) -> None:
        """Show what the step says from that line on, and say that there is more where it does not all fit."""
        self.beside.scroll_to(y=y, animate=False, force=True, immediate=True)
        more = self._unread > 0
        words = f"more of it below; {key_of('route.more', dict(self.app._keymap))} reads on" if more else ""
        self.query_one("#route-below", Static).update(inked([line(Span(words, "brass"))]))

    def action_more(self) -> None:
        """Read on in what the step says; from its end back to its beginning."""
        self._read_from(self.beside.scroll_offset.y + max(1, self.beside.size.height - 2) if self._unread > 0 else 0)

    def action_up(self) -> None:
        self._move(self.steps.action_cursor_up)

    def action_down(self) -> None:
        self._move(self.steps.action_cursor_down)

    def action_page_up(self) -> None:
        self._move(self.steps.action_page_up)

    def action_page_down(self) -> None:
        self._move(self.steps.action_page_down)

    def action_top(self) -> None:
        self._move(self.steps.action_first)

    def action_end(self) -> None:
        self._move(self.steps.action_last)

    def _move(self, by: Callable[[], object]) -> None:
        by()
        self.call_after_refresh(self._with_heading)

    def _with_heading(self) -> None:
        """Where the step at the top of the list is marked, show what it stands under as well."""
        if not self.query(Rows):
            return  # the page was left meanwhile
        above = (self.steps.highlighted or 0) - 1
        if above >= 0 and not self.rows[above].name and above < self.steps.scroll_offset.y:
            self.steps.scroll_to(y=above, animate=False)

    def action_close(self) -> None:
        self.dismiss(None)
