"""The pages of a job on a screen: to read, scroll and copy; nothing is changed there."""

from __future__ import annotations

from typing import ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.selection import Selection
from textual.widgets import Footer, Static

from ..daybook.hanging import hung_text
from ..errors import BenchwalkError
from ..job.shop import Shop
from ..procedure.showing import safe_text, sentence
from ..session import Session
from ..shop.pages import pages
from .actions import PAGES
from .base import Page
from .keymap import bindings

MEASURE = 96
"""Most cells of a line of the pages."""


class PageText(Static):
    """Lines broken to a width; what is copied of them is in one piece again."""

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        self.joins: dict[int, str] = {}
        """Rows that go on with the line of the row before, and what stood between the two."""

    def break_lines(self, lines: list[str], width: int) -> list[str]:
        """The lines as rows of at most so many cells."""
        rows: list[str] = []
        self.joins = {}
        for line in map(safe_text, lines):
            at = 0
            for index, row in enumerate(hung_text(line, width)):
                said = row.lstrip(" ") if index else row
                begins = line.find(said, at)
                if index:
                    self.joins[len(rows)] = line[at:begins]
                at = begins + len(said)
                rows.append(row)
        return rows

    def get_selection(self, selection: Selection) -> tuple[str, str] | None:
        found = super().get_selection(selection)
        if found is None:
            return None
        first, *rows = found[0].split("\n")
        whole = [first]
        for number, row in enumerate(rows, (selection.start.y if selection.start is not None else 0) + 1):
            if number in self.joins:
                whole[-1] += self.joins[number] + row.lstrip(" ")
            else:
                whole.append(row)
        return "\n".join(whole), found[1]


class PagesScreen(Page):
    """The lines of a job's pages, as they would be printed. `job` is the one they are of, None for other pages."""

    CSS_PATH: ClassVar = "pages.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings(PAGES)

    def __init__(
        self, title: str, lines: list[str], *, at_end: bool = True, job: tuple[Shop, str] | None = None
    ) -> None:
        super().__init__()
        self.heading = title
        self.lines = lines
        self.at_end = at_end
        self.job = job
        self.rows = lines
        """The lines as they are broken to the width of the screen."""

    @classmethod
    def of(cls, session: Session) -> PagesScreen:
        """The pages of a job in hand."""
        state = session.state
        lines = pages(state, session.books, session.names, session.events)
        return cls(f"Job {state.job}, its pages so far", lines, job=(session.shop, state.job))

    def page(self) -> ComposeResult:
        yield Static(Content(f" {self.heading}"), id="pages-title")
        with VerticalScroll(id="pages"):
            yield PageText(id="pages-text")
        yield Footer(show_command_palette=False, compact=True)

    def on_mount(self) -> None:
        scroll = self.query_one("#pages", VerticalScroll)
        scroll.focus()
        if self.at_end:
            self.call_after_refresh(scroll.scroll_end, animate=False)

    def resized(self) -> None:
        self.lay()

    def lay(self) -> None:
        """Break the lines to the width there is, and show them."""
        width = max(40, min(MEASURE, self.app.size.width - 5))  # on less nobody sees it
        shown = self.query_one(PageText)
        self.rows = shown.break_lines(self.lines, width)
        self.broken()
        shown.update(self.text())

    def broken(self) -> None:
        """The rows are others now."""

    def text(self) -> Content:
        """The rows as they stand on the screen."""
        return Content("\n".join(self.rows))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        return action != "report" or self.job is not None

    @work(group="flow", exclusive=True)
    async def action_report(self) -> None:
        """Make a report of the job."""
        from .reporting import make_report  # only now: few pages are read for that

        assert self.job is not None
        try:
            await make_report(self, *self.job)
        except BenchwalkError as error:
            self.notify(sentence(error.message), markup=False)

    def action_close(self) -> None:
        self.dismiss(None)

    def action_top(self) -> None:
        self.query_one("#pages", VerticalScroll).scroll_home(animate=False)

    def action_end(self) -> None:
        self.query_one("#pages", VerticalScroll).scroll_end(animate=False)
