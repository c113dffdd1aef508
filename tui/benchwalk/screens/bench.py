"""The bench, which is the home screen: the jobs in hand, the next look first, and what each waits for."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.message import Message
from textual.widgets import Footer

from ..daybook.ink import Line
from ..errors import BenchwalkError
from ..job.shop import Shop
from ..shop.bench import LOOK, bench, is_over
from ..shop.index import Row
from .actions import BENCH
from .keymap import bindings, key_of
from .rows import bench_head, bench_line, head_line
from .shelf import JobsPage, Seen, Shelf, begun, clock

LOOKS_AGAIN, LOOKS_FOR_A_SHOP = 20.0, 3.0
"""Seconds after which the bench looks by itself at what other terminals did, and at whether a shop has begun."""


class Begun(Message):
    """There is a shop now where there was none."""

    def __init__(self, shelf: Shelf) -> None:
        super().__init__()
        self.shelf = shelf


class BenchScreen(JobsPage):
    """The jobs in hand of a shop; Enter takes the marked one up.

    `shop` is None where there is none yet in `folder`; one that is begun there from elsewhere is seen. `who` is the id
    of who works here, None until somebody says. `told` is said first.
    """

    CSS_PATH: ClassVar = "bench.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings(BENCH)

    def __init__(
        self,
        shop: Shop | None,
        *,
        folder: Path | None = None,
        who: str | None = None,
        now: Callable[[], datetime] = clock,
        told: str = "",
    ) -> None:
        super().__init__(Shelf(shop, now) if shop is not None else None, told)
        self.folder = shop.root if shop is not None else folder or Path()
        self.now = now
        self.who = who

    def page(self) -> ComposeResult:
        yield from super().page()
        yield Footer(show_command_palette=False, compact=True)

    def on_mount(self) -> None:
        self.set_interval(LOOKS_AGAIN, self._time_goes_on)
        self.set_interval(LOOKS_FOR_A_SHOP, self._look_for_a_shop)

    def _time_goes_on(self) -> None:
        """Times run out, and others work, while nobody presses a key."""
        self.fill()
        if self.is_current and self.shelf is not None and not self.shelf.left:
            self.look()

    def _look_for_a_shop(self) -> None:
        """Whoever is told to begin on the command line finds it here afterwards."""
        shelf = self.shelf
        if self.is_current and (shelf is None or not (shelf.people or shelf.left)):
            self.look()

    def look(self) -> None:
        """Read what changed; where there is no shop yet, whether there is one now."""
        if self.shelf is not None:
            super().look()
        else:
            self._seek()

    @work(thread=True, exclusive=True, group="look")
    def _seek(self) -> None:
        try:
            shelf = begun(self.folder, self.now)
        except BenchwalkError as error:
            self.post_message(Seen(why=error.message))
            return
        if shelf is not None:
            self.post_message(Begun(shelf))

    def on_begun(self, event: Begun) -> None:
        event.stop()
        if self.shelf is None:
            self.shelf = event.shelf
            self.fill()
            self.look()

    # --- what is shown ---

    def chosen(self) -> list[Row]:
        return bench(self.shelf.rows, self.now()) if self.shelf is not None else []

    def drawn(self, row: Row, width: int) -> Line:
        assert self.shelf is not None
        return bench_line(row, self.shelf.names, self.owner(row), self.now(), width)

    def lead(self, width: int) -> Line:
        shelf = self.shelf
        if shelf is None:
            return head_line("Benchwalk", "no shop yet", width)
        rows = self.chosen()
        looks = sum(row["first"] == LOOK or is_over(row, self.now()) for row in rows)
        if shelf.left:
            told = f"{shelf.shop.name}: {len(rows)} in hand so far, {shelf.left} logs still to read"
            return head_line(told, "", width)
        who = shelf.names.get(self.who, self.who) if self.who else ""
        key = self._key("who") if len(shelf.people) > 1 else ""
        return bench_head(shelf.shop.name, len(rows), looks, who, key, width)

    def empty(self) -> str:
        if self.wanted:
            return "No job in hand has all these words. Esc shows all again."
        if self.shelf is not None and self.shelf.left:
            return "The jobs are being read."
        practise, take_in, book = self._key("practise"), self._key("intake"), self._key("book")
        add = '\n\n    benchwalk people add "NAME" --role senior\n\n'
        if self.shelf is None:
            return (
                "There is no shop here yet.\n\n"
                f"Press {practise} to practise: you walk a whole repair step by step, and nothing of it counts. "
                f"A shop begins with it, in {self.folder}.\n\n"
                f"For customers' drums the people come first. On the command line, the senior first:{add}"
                "Then the shop shows here by itself. F1 says what the keys do; Ctrl+Q leaves."
            )
        if not self.shelf.people:
            return (
                "Nothing is in hand, and nobody is known to work here yet.\n\n"
                f"Press {practise} to practise: you walk a whole repair step by step, and nothing of it counts.\n\n"
                f"For customers' drums the people come first. On the command line, the senior first:{add}"
                "Then they show here by themselves. F1 says what the keys do; Ctrl+Q leaves."
            )
        return (
            "Nothing is in hand.\n\n"
            f"Press {take_in} to take a drum in, {practise} to practise, {book} to read what was done before. "
            "F1 says what the keys do."
        )

    def _key(self, verb: str) -> str:
        return key_of(f"bench.{verb}", getattr(self.app, "keys", {}))

    # --- what keys do ---

    def off(self, verb: str) -> str:
        """Why an action cannot be done here; empty where it can."""
        if self.too_small:
            return "the terminal is too small"
        if verb in ("take", "pages", "about") and self.marked_row is None:
            return "no job is in hand"
        if self.shelf is None and verb in ("intake", "book", "people", "who", "find"):
            return "there is no shop yet"
        return ""

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        finding = self.finding
        return finding if action == "close" else not (finding and action == "find")

    def action_find(self) -> None:
        if self.off("find"):
            self.say(self.off("find"))
            return
        super().action_find()

    def action_close(self) -> None:
        self.close_find()

    def action_leave(self) -> None:
        self.leave()

    def action_again(self) -> None:
        self.look()

    def action_take(self) -> None:
        self.flow("take")

    def action_practise(self) -> None:
        self.flow("practise")

    def action_intake(self) -> None:
        self.flow("intake")

    def action_book(self) -> None:
        self.flow("book")

    def action_procedures(self) -> None:
        self.flow("procedures")

    def action_people(self) -> None:
        self.flow("people")

    def action_who(self) -> None:
        self.flow("who")

    def action_pages(self) -> None:
        self.flow("pages")

    def action_about(self) -> None:
        self.flow("about")

    def flow(self, verb: str) -> None:
        """Begin what a key asks for, or say why it cannot be done here."""
        off = self.off(verb)
        if off:
            self.say(off)
        else:
            self._flow(verb)

    @work(group="flow", exclusive=True)
    async def _flow(self, verb: str) -> None:
        from .bench_flows import FLOWS  # only now: the bench is on screen sooner without what they need

        try:
            await FLOWS[verb](self)
        except BenchwalkError as error:
            self.say(error.message)
