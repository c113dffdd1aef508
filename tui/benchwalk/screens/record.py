"""A job's pages out of the book, in which a number leads to the event of the log that it came from."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Mapping
from typing import Any, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Footer, Static

from ..errors import Failure, Refused
from ..job.shop import Shop
from ..job.so_far import DAMAGED, damage_words, read_so_far
from ..procedure.showing import safe_text
from ..session import Books
from ..shop.event_words import event_words
from ..shop.pages import pages
from ..walk.fold import replay
from .actions import RECORD
from .asking import AskLine, Reading
from .keymap import bindings
from .looks import plain
from .pages import PagesScreen, PageText
from .shelf import Shelf

_NUMBER = re.compile(r"\[([1-9][0-9]{0,8})\]")


class JobPages(PagesScreen, inherit_bindings=False):
    """The pages of a job. Its numbers in brackets can be gone through; Enter shows the event of the one marked."""

    BINDINGS: ClassVar[list[BindingType]] = bindings(RECORD)
    AUTO_FOCUS: ClassVar[str | None] = ""

    def __init__(
        self,
        title: str,
        lines: list[str],
        events: list[dict[str, Any]],
        names: Mapping[str, str],
        job: tuple[Shop, str] | None = None,
    ) -> None:
        super().__init__(title, lines, at_end=False, job=job)
        self.events = events
        self.names = names
        self.numbers = numbers_in(lines, len(events))
        self.at: int | None = None

    def page(self) -> ComposeResult:
        yield Static(plain(f" {self.heading}"), id="pages-title")
        with VerticalScroll(id="pages", can_focus=False):
            yield PageText(id="pages-text")
        yield Footer(show_command_palette=False, compact=True)

    def on_mount(self) -> None:
        """The pages begin at their top."""

    @property
    def scroll(self) -> VerticalScroll:
        """What holds the pages."""
        return self.query_one("#pages", VerticalScroll)

    def broken(self) -> None:
        self.numbers = numbers_in(self.rows, len(self.events))
        if self.at is not None and self.at >= len(self.numbers):
            self.at = None

    def text(self) -> Content:
        text = super().text()
        if self.lines[:1] and self.lines[0].startswith(DAMAGED):
            text = text.stylize("bold $outside", 0, text.plain.find("\n\n"))
        if self.at is not None:
            row, start, end, _n = self.numbers[self.at]
            before = sum(len(line) + 1 for line in self.rows[:row])
            text = text.stylize(
                "bold $block-cursor-foreground on $block-cursor-background", before + start, before + end
            )
        return text

    def action_next(self) -> None:
        self._mark(1)

    def action_before(self) -> None:
        self._mark(-1)

    def _mark(self, by: int) -> None:
        if not self.numbers:
            return
        start = self._first_seen(by) if self.at is None else self.at
        self.at = max(0, min(len(self.numbers) - 1, start + by))
        shown = self.query_one(PageText)
        shown.update(self.text())
        self.call_after_refresh(self._follow)

    def _first_seen(self, by: int) -> int:
        """The place in the list just before (or after) the part that is on the screen."""
        seen = self.scroll.scroll_offset.y
        before = sum(row < seen for row, _start, _end, _n in self.numbers)
        return before - 1 if by > 0 else before

    def _follow(self) -> None:
        """Keep the marked number on the screen."""
        if self.at is None:
            return
        y = self.numbers[self.at][0]
        top, height = self.scroll.scroll_offset.y, self.scroll.size.height - 2
        if not top + 1 <= y < top + height - 1:
            self.scroll.scroll_to(y=max(0, y - height // 2), animate=False)

    def action_event(self) -> None:
        if self.at is None:
            self._mark(1)
        if self.at is not None:
            self.show(self.numbers[self.at][3])

    @work(group="flow", exclusive=True)
    async def action_number(self) -> None:
        """Ask for a number and show its event."""

        def check(typed: str) -> None:
            if not (typed.isascii() and typed.isdigit() and 1 <= int(typed) <= len(self.events)):
                raise Refused(f"a number from 1 to {len(self.events)} is expected")

        typed = await self.app.push_screen_wait(
            AskLine("Which event?", f"Its number; this log has {len(self.events)}.", check=check)
        )
        if typed is not None:
            self.show(int(typed))

    def show(self, n: int) -> None:
        """Lay the event of that number over the pages."""
        told = "\n".join(safe_text(line) for line in event_words(self.events, n, self.names))
        self.app.push_screen(Reading(f"Event {n}", Static(Content(told))))

    def action_up(self) -> None:
        self.scroll.scroll_relative(y=-1, animate=False)

    def action_down(self) -> None:
        self.scroll.scroll_relative(y=1, animate=False)

    def action_page_up(self) -> None:
        self.scroll.scroll_page_up(animate=False)

    def action_page_down(self) -> None:
        self.scroll.scroll_page_down(animate=False)


def numbers_in(lines: list[str], last: int) -> list[tuple[int, int, int, int]]:
    """(line, first cell, cell after the last, number) of the event numbers in the pages, none above `last`."""
    found = []
    for row, text in enumerate(lines):
        for match in _NUMBER.finditer(text):
            if int(match[1]) <= last:
                found.append((row, match.start(), match.end(), int(match[1])))
    return found


async def open_pages(screen: Screen[Any], shelf: Shelf, job: str) -> None:
    """Read a job's log and show its pages, of a damaged one as far as it verifies; raises Failure where nothing can
    be read."""
    shown = await asyncio.to_thread(_read, shelf, job)
    await screen.app.push_screen_wait(shown)


def _read(shelf: Shelf, job: str) -> JobPages:
    folder = shelf.shop.job(job)
    reading, damage = read_so_far(folder.log)
    state = replay(reading.events)
    if not state.job:
        raise Failure("the log of this job is empty; nothing was ever opened in it")
    lines = pages(state, Books(folder, state.texts), shelf.names, reading.events)
    if reading.torn is not None:
        lines.append("The last line of the log was cut short and does not count.")
    if damage is not None:
        above, stops = damage_words(damage)
        lines = [above, "", *lines, "", stops]
    owner = shelf.index.owner(job)
    title = f"Job {job}, its pages" + (f"; {owner}" if owner else "")
    rows = [row for line in lines for row in line.split("\n")]
    return JobPages(title, rows, list(reading.events), shelf.names, (shelf.shop, job))
