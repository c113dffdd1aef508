"""The shop's book: the jobs that are finished, the last first, and from each to its pages."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from functools import partial
from typing import ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Footer, Static

from ..daybook.ink import Line
from ..errors import BenchwalkError
from ..shop.index import Row
from .actions import BOOK
from .keymap import bindings
from .lines import SIGN
from .looks import inked
from .record import open_pages
from .reporting import make_report
from .rows import book_head, book_line, head_line
from .shelf import JobsPage, Shelf


class BookScreen(JobsPage):
    """The finished jobs of a shop; Enter opens the pages of the marked one."""

    CSS_PATH: ClassVar = ["bench.tcss", "book.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = bindings(BOOK)

    def __init__(self, shelf: Shelf) -> None:
        super().__init__(shelf)
        self.book = shelf

    def page(self) -> ComposeResult:
        for part in super().page():
            if part.id == "rows":
                yield Static(id="columns")
            yield part
        yield Footer(show_command_palette=False, compact=True)

    def chosen(self) -> list[Row]:
        done = [row for row in self.book.rows if row["released"] or row["ended"]]
        return sorted(done, key=lambda row: row["last"], reverse=True)

    def fill(self) -> None:
        super().fill()
        columns = self.query_one("#columns", Static)
        columns.update(inked([book_head(self.app.size.width - 3 - SIGN)]))
        columns.display = bool(self.shown)

    def drawn(self, row: Row, width: int) -> Line:
        return book_line(row, self.book.names, self.owner(row), self.book.now(), width)

    def lead(self, width: int) -> Line:
        count = len(self.chosen())
        told = f"The book of {self.book.shop.name}: {count or 'nothing'} finished"
        return head_line(told, f"{self.book.left} logs still to read" if self.book.left else "", width)

    def empty(self) -> str:
        if self.wanted:
            return "No finished job has all these words. Esc shows all again."
        if self.book.left:
            return "The jobs are being read."
        return "Nothing is finished yet. A job stands here once it has come to its end."

    def action_open(self) -> None:
        self._with_the_marked(partial(open_pages, self, self.book))

    def action_report(self) -> None:
        self._with_the_marked(partial(make_report, self, self.book.shop))

    def action_close(self) -> None:
        if not self.close_find():
            self.dismiss(None)

    @work(group="flow", exclusive=True)
    async def _with_the_marked(self, do: Callable[[str], Awaitable[None]]) -> None:
        row = self.marked_row
        if row is None:
            self.say("no job is marked")
            return
        try:
            await do(row["job"])
        except BenchwalkError as error:
            self.say(error.message)
