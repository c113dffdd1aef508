"""What the shop's logs say of one procedure, as a page to read; from each line to the jobs it comes from."""

from __future__ import annotations

from typing import ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.message import Message
from textual.widgets import Footer, Static

from ..daybook.hanging import hung
from ..daybook.ink import Line, Span, line
from ..errors import BenchwalkError
from ..job.people import load_people
from ..job.shop import Shop
from ..procedure.linked import Linked
from ..session import Books
from ..shop.learned import learn
from ..shop.learned_jobs import worked_to
from ..shop.learned_words import Item, from_words, items
from .actions import LEARNED
from .asking import Pick
from .keymap import bindings
from .lines import SIGN, Lines
from .listed import ListPage
from .looks import inked
from .pages import MEASURE
from .record import open_pages
from .rows import fitted, head_line
from .shelf import Shelf

_READING = Item(0, "The logs are being read.", tone="quiet")
_HEADS = ("brass", "loud")


class Read(Message):
    """The page, once the logs are read, and the shelf its jobs are opened from; or why they cannot be."""

    def __init__(self, found: list[Item], shelf: Shelf | None = None, jobs: int = 0, why: str = "") -> None:
        super().__init__()
        self.found, self.shelf, self.jobs, self.why = found, shelf, jobs, why


class LearnedScreen(ListPage):
    """The page of one procedure; Enter opens the job behind the marked line. Nothing is changed.

    `now` is the procedure as its author has it, against which reported problems are held; None where there is none.
    """

    CSS_PATH: ClassVar = ["bench.tcss", "learned.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = bindings(LEARNED)

    def __init__(self, shop: Shop, procedure: str, now: Linked | None) -> None:
        super().__init__()
        self.shop = shop
        self.procedure = procedure
        self.now = now
        self.found: list[Item] = [_READING]
        self.rows: list[tuple[Line, Item]] = []
        self.shelf: Shelf | None = None
        self.jobs = ""

    def page(self) -> ComposeResult:
        yield Static(id="head")
        yield Lines(id="rows")
        yield Static(id="told")
        yield Static(id="message")
        yield Footer(show_command_palette=False, compact=True)

    def on_mount(self) -> None:
        self.say("")
        self.fill()
        self.read()

    def resized(self) -> None:
        self.fill()

    def fill(self) -> None:
        """Show what is known, broken to the width there is; the marked line stays marked."""
        at = self.marked
        before = self.rows[at][1] if at is not None and at < len(self.rows) else None
        width = min(MEASURE, self.app.size.width - 3 - SIGN)
        self.rows = [(row, item) for item in self.found for row in hung((Span(item.inset, item.tone),), width)]
        marked = next((n for n, (_row, item) in enumerate(self.rows) if item is before), 0)
        head = head_line(f"{self.procedure}: what the logs say", self.jobs, self.app.size.width - 2)
        self.query_one("#head", Static).update(inked([head]))
        self.query_one(Lines).show(len(self.rows), lambda index: self.rows[index][0], marked)
        self.tell()

    @property
    def marked_item(self) -> Item | None:
        """The line of the page that is marked."""
        at = self.marked
        return self.rows[at][1] if at is not None and at < len(self.rows) else None

    def tell(self) -> None:
        """Tell which jobs the marked line comes from."""
        item = self.marked_item
        said = f"From {from_words(item)}" if item is not None and item.events else ""
        shown = line(Span(fitted(said, self.app.size.width - 3, end=True), "quiet"))
        self.query_one("#told", Static).update(inked([shown]))

    def on_lines_marked(self, event: Lines.Marked) -> None:
        event.stop()
        self.say("")
        self.tell()

    @work(thread=True, exclusive=True, group="look")
    def read(self) -> None:
        """Read the logs, in a thread; nothing of the screen is touched here."""
        shelf = Shelf(self.shop)
        why = ""
        try:
            shelf.people = dict(load_people(self.shop).by_id)
        except BenchwalkError as error:
            why = error.message  # people are called by their ids then
        try:
            learned = learn(self.procedure, worked_to(self.shop, self.procedure, Books), self.now)
        except BenchwalkError as error:
            self.post_message(Read([], why=error.message))
            return
        self.post_message(Read(items(learned, shelf.names), shelf, len(learned.jobs), why))

    def on_read(self, event: Read) -> None:
        event.stop()
        self.found, self.shelf = event.found, event.shelf
        self.jobs = f"{event.jobs} jobs" if event.jobs != 1 else "1 job"
        self.fill()
        self.say(event.why)

    # --- keys ---

    def action_open(self) -> None:
        self._open()

    @work(group="flow", exclusive=True)
    async def _open(self) -> None:
        item, shelf = self.marked_item, self.shelf
        if item is None or shelf is None or not item.events:
            self.say("no job stands behind this line")
            return
        jobs = list(item.events)
        which: int | None = 0
        if len(jobs) > 1:
            told = [f"{job}, {len(item.events[job])} times" if len(item.events[job]) > 1 else job for job in jobs]
            which = await self.app.push_screen_wait(Pick("Which job?", item.text, told))
        if which is None:
            return
        try:
            await open_pages(self, shelf, jobs[which])
        except BenchwalkError as error:
            self.say(error.message)

    def action_next(self) -> None:
        self._head(1)

    def action_before(self) -> None:
        self._head(-1)

    def _head(self, by: int) -> None:
        """Mark the next heading that way, where there is one."""
        heads = [n for n, (_row, item) in enumerate(self.rows) if item.tone in _HEADS and item is not self.marked_item]
        at = self.marked or 0
        some = [n for n in heads if (n > at if by > 0 else n < at)]
        if some:
            self._move(lambda: setattr(self.query_one(Lines), "highlighted", some[0] if by > 0 else some[-1]))

    def action_close(self) -> None:
        self.dismiss(None)
