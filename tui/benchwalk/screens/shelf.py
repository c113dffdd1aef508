"""What the bench and the book show: the rows of the shop's jobs, read beside the screen and shown as they come."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from textual import work
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.message import Message
from textual.widgets import Static
from textual.worker import get_current_worker

from ..daybook.ink import Line
from ..errors import BenchwalkError
from ..job.folder import JobFolder
from ..job.shop import Shop
from ..job.words import GUEST
from ..shop.index import BooksOf, Index, Row, in_order, matching
from .lines import SIGN, Lines
from .listed import FindPage
from .looks import inked, plain
from .rows import told
from .typed import Typed

if TYPE_CHECKING:
    from ..job.people import Person
    from ..shop.waiting import Books

_OFTEN = 0.15  # s between two showings of what was read


def clock() -> datetime:
    """The time now, with the offset of this place."""
    return datetime.now().astimezone()


def _books(folder: JobFolder, texts: Mapping[str, str]) -> Books:
    from ..session import Books as FromTheJob  # only now: no book is opened before the bench is on screen

    return FromTheJob(folder, texts)


class Shelf:
    """A shop, its index, and what was read of it while the program runs. Screens share one."""

    def __init__(self, shop: Shop, now: Callable[[], datetime] = clock) -> None:
        self.shop = shop
        self.now = now
        self.index = Index.of(shop, BooksOf(_books))
        self.rows: list[Row] = []
        self.owners: dict[str, str] = {}
        self.people: dict[str, Person] = {}
        self.left = 0
        try:
            self.rows, unknown = self.index.known()
            self.left = len(unknown)
        except BenchwalkError:
            pass  # said once the screen looks again

    @property
    def names(self) -> Mapping[str, str]:
        """Person's id to name."""
        return {GUEST: "a guest"} | {person.id: person.name for person in self.people.values()}


def begun(folder: Path, now: Callable[[], datetime] = clock) -> Shelf | None:
    """The shelf of the shop in a folder; None where there is no shop. Raises UsageError or Failure for one that cannot
    be read."""
    if not (folder / "shop.yaml").exists():
        return None
    from ..shop.settings import open_shop

    return Shelf(open_shop(folder), now)


class Seen(Message):
    """Something of the shop was read. `left` logs are still to be read; `why` says what could not be done at all."""

    def __init__(
        self,
        rows: list[Row] | None = None,
        left: int = 0,
        owners: dict[str, str] | None = None,
        people: dict[str, Person] | None = None,
        why: str = "",
    ) -> None:
        super().__init__()
        self.rows, self.left, self.owners, self.people, self.why = rows, left, owners, people, why


class JobsPage(FindPage):
    """A list of jobs, read in a thread of its own each time the screen is come back to. `told` is said first."""

    def __init__(self, shelf: Shelf | None, told: str = "") -> None:
        super().__init__()
        self.shelf = shelf
        self.told = told
        self.shown: list[Row] = []

    def lead(self, width: int) -> Line:
        """The line at the head of the page, that many cells wide."""
        raise NotImplementedError

    def chosen(self) -> list[Row]:
        """The rows of this list, in order."""
        raise NotImplementedError

    def drawn(self, row: Row, width: int) -> Line:
        """The line of a row."""
        raise NotImplementedError

    def empty(self) -> str:
        """What is said where there is nothing to list."""
        raise NotImplementedError

    # --- layout ---

    def page(self) -> ComposeResult:
        yield Static(id="head")
        with Horizontal(id="find-line"):
            yield Static("/", id="find-sign")
            yield Typed(id="find", placeholder="words of a job: drum, owner, complaint, number")
        yield Static(id="empty")
        yield Lines(id="rows")
        yield Static(id="told")
        yield Static(id="message")

    def on_mount(self) -> None:
        self.say(self.told)
        self.fill()

    def resized(self) -> None:
        self.fill()

    def on_screen_resume(self) -> None:
        self.when_drawn(self.look)  # the thread would take turns with the first frame

    @property
    def marked_row(self) -> Row | None:
        """The row that is marked."""
        at = self.marked
        return self.shown[at] if at is not None and at < len(self.shown) else None

    def owner(self, row: Row) -> str:
        """The name of a job's owner, as far as it was read."""
        return self.shelf.owners.get(row["job"], "") if self.shelf is not None else ""

    def fill(self) -> None:
        """Show what is known; the marked job stays marked, wherever it stands now."""
        before = self.marked_row if self.touched else None
        at = (self.marked or 0) if self.touched else 0
        rows = matching(self.chosen(), self.wanted, self._more)
        width = self.app.size.width - 3 - SIGN
        self.query_one("#head", Static).update(inked([self.lead(self.app.size.width - 2)]))
        said = self.empty() if not rows else ""
        nothing = self.query_one("#empty", Static)
        nothing.update(plain(said))
        nothing.display = bool(said)
        self.rows_list.display = bool(rows)
        self.shown = rows
        jobs = [row["job"] for row in rows] if before is not None else []
        marked = jobs.index(before["job"]) if before is not None and before["job"] in jobs else at
        self.query_one(Lines).show(len(rows), lambda index: self.drawn(rows[index], width), marked)
        self.tell()

    def tell(self) -> None:
        """Tell more of the marked job."""
        shown = self.query_one("#told", Static)
        row = self.marked_row
        shown.display = row is not None
        if row is not None and self.shelf is not None:
            width = self.app.size.width - 3
            shown.update(inked(told(row, self.shelf.names, self.owner(row), self.shelf.now(), width)))

    def on_lines_marked(self, event: Lines.Marked) -> None:
        event.stop()
        self.touched = self.touched or event.clicked
        if self.touched:  # what was said before anybody moved is to be read first
            self.say("")
        self.tell()

    # --- reading ---

    def look(self) -> None:
        """Read what changed."""
        self._look()

    @work(thread=True, exclusive=True, group="look")
    def _look(self) -> None:
        """The same, in a thread; nothing of the screen is touched here."""
        shelf = self.shelf
        if shelf is None:
            return
        from ..job.roster import load_people

        worker = get_current_worker()
        try:
            self.post_message(Seen(people=dict(load_people(shelf.shop).by_id)))
        except BenchwalkError as error:
            self.post_message(Seen(why=error.message))
        try:
            rows, unknown = shelf.index.known()
        except BenchwalkError as error:
            self.post_message(Seen(why=error.message))
            return
        found = {row["job"]: row for row in shelf.rows if row["job"] in set(unknown)}
        found |= {row["job"]: row for row in rows}
        self.post_message(Seen(in_order(found.values()), len(unknown)))
        shown_at = time.monotonic()
        for done, job in enumerate(reversed(unknown), 1):  # the newest first: they are the likeliest to be in hand
            if worker.is_cancelled:
                return
            found[job] = shelf.index.read(job)
            if done == len(unknown) or time.monotonic() - shown_at > _OFTEN:
                self.post_message(Seen(in_order(found.values()), len(unknown) - done))
                shown_at = time.monotonic()
        owners: dict[str, str] = {}
        for job in found:
            if worker.is_cancelled:
                return
            owners[job] = shelf.index.owner(job)
        self.post_message(Seen(owners=owners))
        shelf.index.save()
        from . import bench_flows  # noqa: F401  loaded while nobody waits for it: the first key needs it

    def on_seen(self, event: Seen) -> None:
        """Show what was read meanwhile."""
        event.stop()
        if event.why:
            self.say(event.why)
        shelf = self.shelf
        if shelf is None:
            return
        if event.rows is not None:
            shelf.rows, shelf.left = event.rows, event.left
        if event.owners is not None:
            shelf.owners = event.owners
        if event.people is not None:
            shelf.people = event.people
        self.fill()

    def _more(self, row: Row) -> str:
        shelf = self.shelf
        if shelf is None:
            return ""
        return f"{self.owner(row)} {shelf.names.get(row['person'], '')}"
