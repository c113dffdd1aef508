"""The procedures of the shop: each with its revision, whether it is approved, and what `check` finds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.message import Message
from textual.widgets import Footer, Static
from textual.worker import get_current_worker

from ..daybook.ink import Line, Span, line
from ..draw import draw_text
from ..errors import BenchwalkError
from ..job.shop import Shop
from ..kept_walks import told
from ..library import Library
from ..procedure.showing import sentence
from ..proof.check import check_source
from ..session import require_approval
from .actions import PROCEDURES
from .keymap import bindings
from .lines import SIGN
from .listed import ListPage, Rows
from .looks import inked
from .pages import PagesScreen
from .rows import fitted, head_line

_CHECKING = "being checked"


@dataclass
class Entry:
    """One procedure of the library. `fault` says why it cannot be walked, `unapproved` why no customer's job can be
    worked to it; `found` is what `check` finds, empty until it is begun and said to be under way while it runs."""

    name: str
    title: str = ""
    revision: str = ""
    fault: str = ""
    unapproved: str = ""
    found: str = ""


class Listed(Message):
    """The procedures, as far as they are read."""

    def __init__(self, entries: list[Entry]) -> None:
        super().__init__()
        self.entries = entries


class ProceduresScreen(ListPage):
    """The library of a shop (or of the program alone); Enter shows the steps of the marked one. Nothing is changed."""

    CSS_PATH: ClassVar = "bench.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings(PROCEDURES)

    def __init__(self, shop: Shop | None) -> None:
        super().__init__()
        self.shop = shop
        self.library = Library.of(shop.root if shop is not None else None)
        self.entries: list[Entry] = []
        self._said_of: int | None = None

    def page(self) -> ComposeResult:
        yield Static(id="head")
        yield Rows(id="rows")
        yield Static(id="told")
        yield Static(id="message")
        yield Footer(show_command_palette=False, compact=True)

    def on_mount(self) -> None:
        self.say("")
        self.fill()
        self.read()

    def say(self, message: str) -> None:
        self._said_of = self.marked
        super().say(message)

    def resized(self) -> None:
        self.fill()

    def fill(self) -> None:
        """Show what is known of each."""
        width = self.app.size.width - 3 - SIGN
        head = head_line("The procedures", self._count(), self.app.size.width - 2)
        self.query_one("#head", Static).update(inked([head]))
        marked = self.marked
        self.query_one(Rows).show([[self._line(entry, width)] for entry in self.entries], marked or 0)
        self.tell()

    def _count(self) -> str:
        done = sum(entry.found not in ("", _CHECKING) for entry in self.entries)
        if done < len(self.entries):
            return f"{done} of {len(self.entries)} checked"
        return f"{len(self.entries)} in the library"

    def _line(self, entry: Entry, width: int) -> Line:
        name = 24 if width < 100 else 30
        stands = "cannot be walked" if entry.fault else ("approved" if not entry.unapproved else "not approved")
        return line(
            Span(fitted(entry.name, name), "plain"),
            Span(fitted(f"rev. {entry.revision}" if entry.revision else "", 9), "quiet"),
            Span(fitted(stands, 18), "outside" if entry.fault else ("plain" if not entry.unapproved else "close")),
            Span(fitted(entry.found, width - name - 27, end=True), "quiet"),
        )

    def tell(self) -> None:
        """Tell more of the marked procedure."""
        shown = self.query_one("#told", Static)
        at = self.marked
        shown.display = at is not None and at < len(self.entries)
        if at is None or not shown.display:
            return
        entry = self.entries[at]
        why = entry.fault or entry.unapproved
        shown.update(inked([line(Span(entry.title or entry.name, "brass")), line(Span(sentence(why), "plain")), ()]))

    def on_option_list_option_highlighted(self, event: Rows.OptionHighlighted) -> None:
        event.stop()
        if event.option_index != self._said_of:  # the list is filled anew now and then, with the same line marked
            self.say("")
        self.tell()

    def on_listed(self, event: Listed) -> None:
        event.stop()
        self.entries = event.entries
        self.fill()

    @work(thread=True, exclusive=True, group="look")
    def read(self) -> None:
        """Read the library, then check it, which takes longer; nothing of the screen is touched here."""
        worker = get_current_worker()
        entries = [self._entry(name) for name in self.library.ids()]
        self.post_message(Listed(list(entries)))
        for entry in entries:
            if worker.is_cancelled:
                return
            entry.found = _CHECKING
            self.post_message(Listed(list(entries)))
            entry.found = self._found(entry.name)
            self.post_message(Listed(list(entries)))

    def _entry(self, name: str) -> Entry:
        entry = Entry(name)
        try:
            linked = self.library.get(name)
            entry.title, entry.revision = linked.procedure.title, str(linked.procedure.revision)
            if self.shop is not None:
                require_approval(self.shop, linked)
            else:
                entry.unapproved = "there is no shop yet that could approve it; it can be practised"
        except BenchwalkError as error:
            if entry.title:
                entry.unapproved = error.message
            else:
                entry.fault = error.message
        return entry

    def _found(self, name: str) -> str:
        try:
            source, linked = self.library.open(self.library.path_of(name))
            found = check_source(source, linked, known=self.library.ids(), tell=told)
        except BenchwalkError:
            return "cannot be checked"
        errors = sum(each.severity == "error" for each in found)
        return ", ".join(_counted(count, word) for count, word in ((errors, "error"), (len(found) - errors, "advice")))

    def action_open(self) -> None:
        self._open()

    @work(group="flow", exclusive=True)
    async def _open(self) -> None:
        at = self.marked
        if at is None:
            return
        entry = self.entries[at]
        try:
            linked = self.library.get(entry.name)
        except BenchwalkError as error:
            self.say(error.message)
            return
        lines = draw_text(linked).split("\n")
        await self.app.push_screen_wait(PagesScreen(f"{linked.procedure.title}: its steps", lines, at_end=False))

    def action_learned(self) -> None:
        self._learned()

    @work(group="flow", exclusive=True)
    async def _learned(self) -> None:
        from .learned import LearnedScreen  # only now: few come to this list for that

        at = self.marked
        if at is None:
            return
        if self.shop is None:
            self.say("there is no shop yet whose logs could be read")
            return
        name = self.entries[at].name
        try:
            linked = self.library.get(name)
        except BenchwalkError:
            linked = None
        await self.app.push_screen_wait(LearnedScreen(self.shop, name, linked))

    def action_write(self) -> None:
        self._write()

    @work(group="flow", exclusive=True)
    async def _write(self) -> None:
        from ..authoring.draft import opened
        from .write import WriteScreen

        at = self.marked
        if at is None:
            return
        root = self.shop.root if self.shop is not None else None
        try:
            draft = opened(self.library, self.entries[at].name, root)
        except BenchwalkError as error:
            self.say(error.message)
            return
        await self.app.push_screen_wait(WriteScreen(draft, Library.of(root), root))
        self._look_again()

    def action_approve(self) -> None:
        self._approve()

    @work(group="flow", exclusive=True)
    async def _approve(self) -> None:
        from .approving import have_approved

        at = self.marked
        if at is None:
            return
        if self.shop is None:
            self.say("there is no shop yet that could approve it")
            return
        try:
            told = await have_approved(self.app, self.shop, self.entries[at].name, self.say)
        except BenchwalkError as error:
            self.say(error.message)
            return
        if told is not None:
            self._look_again()
            self.say(told)

    def _look_again(self) -> None:
        """Read the library anew."""
        self.library = Library.of(self.shop.root if self.shop is not None else None)
        self.read()

    def action_close(self) -> None:
        self.dismiss(None)


def _counted(count: int, word: str) -> str:
    return f"{count or 'no'} {word}{'s' if count != 1 and word == 'error' else ''}"
