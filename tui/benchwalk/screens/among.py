"""One of many: a list that grows shorter as a part of a name is typed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from textual.app import ComposeResult
from textual.widgets import Static

from ..daybook.ink import Span, line
from .asking import Asking
from .listed import Rows
from .looks import plain
from .typed import Typed


class Entry(NamedTuple):
    """Something to choose: its name, what stands beside the name, and what is told of it where it is marked."""

    name: str
    beside: str
    told: str


class Among(Asking[int]):
    """One of many, found by any words of its name and of what is told of it; the answer is its place, from 0.

    `start` is marked at first; what is marked otherwise is the first that has the words. `wide` is the room of a name.
    """

    def __init__(
        self, title: str, sentence: str, entries: Sequence[Entry], *, start: int = 0, wide: int = 24
    ) -> None:
        super().__init__(title, sentence)
        self.entries = entries
        self.start = start
        self.wide = wide
        self.found: list[int] = []

    def answer(self) -> ComposeResult:
        yield Typed("", id="asking-line")
        yield Rows(id="asking-list")
        yield Static(id="asking-detail")

    def on_mount(self) -> None:
        self.query_one(Typed).focus()
        self.fill("")

    def on_input_changed(self, event: Typed.Changed) -> None:
        self.fill(event.value)

    def fill(self, typed: str) -> None:
        """Show what has all the words; first what has them in its name."""
        words = typed.lower().split()
        named = [all(word in each.name.lower() for word in words) for each in self.entries]
        told = [all(word in f"{each.name} {each.told}".lower() for word in words) for each in self.entries]
        self.found = [i for i, has in enumerate(named) if has]
        self.found += [i for i, has in enumerate(told) if has and not named[i]]
        shown = [self.entries[i] for i in self.found]
        rows = [[line(Span(f"{each.name:<{self.wide}}{each.beside}", "plain"))] for each in shown]
        self.query_one(Rows).show(rows, 0 if words else self.start)
        self.wrong("" if shown else "nothing here has those words; take some away")
        self._tell()

    def _tell(self) -> None:
        index = self.query_one(Rows).highlighted
        told = self.entries[self.found[index]].told if index is not None else ""
        self.query_one("#asking-detail", Static).update(plain(told))

    def on_option_list_option_highlighted(self) -> None:
        self._tell()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        return action not in ("keep", "so")

    def action_take(self) -> None:
        index = self.query_one(Rows).highlighted
        if index is not None:
            self.dismiss(self.found[index])

    def action_up(self) -> None:
        self.query_one(Rows).action_cursor_up()

    def action_down(self) -> None:
        self.query_one(Rows).action_cursor_down()
