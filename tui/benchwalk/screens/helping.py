"""Help and the command list, both made from the one list of actions."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from textual.app import ComposeResult
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from ..daybook.ink import Line, Span, line
from .actions import EVERYWHERE, PLACES, Action, at
from .asking import Asking
from .keymap import key_of
from .listed import Rows
from .looks import inked, plain
from .typed import Typed

_MEASURE = 54


def place_of(screen: Screen[Any]) -> str:
    """Which place of the list a screen is."""
    ids = (binding.id for bound in screen._bindings.key_to_bindings.values() for binding in bound)
    return next((name.partition(".")[0] for name in ids if name), "")


def listed(screen: Screen[Any]) -> Iterator[tuple[Action, str]]:
    """(action, why it is off or "") of a screen, then those of every screen."""
    off = getattr(screen, "off", None)
    for action in at(place_of(screen)):
        yield action, off(action.verb) if off is not None else ""
    for action in at(EVERYWHERE):
        yield action, ""


def keys_of(screen: Screen[Any], keys: dict[str, str]) -> Content:
    """The help of a screen: every key, what it does, and where it is off, why."""
    rows: list[Line] = []
    title = ""
    for action, off in listed(screen):
        if action.place != title:
            title = action.place
            rows += [*([()] if rows else []), line(Span(PLACES[title], "loud"))]
        told = textwrap.wrap(f"{action.label}: {action.help}" + (f" Not now: {off}." if off else ""), _MEASURE)
        for number, text in enumerate(told):
            key = key_of(action.id, keys) if number == 0 else ""
            rows.append(line(Span(f"{key:<9}", "quiet" if off else "brass"), Span(text, "quiet" if off else "plain")))
    return inked(rows)


class Command(NamedTuple):
    """Something that can be done now: its label, its key, what it does, and its action as a binding names it."""

    label: str
    key: str
    help: str
    action: str


def commands(screen: Screen[Any], keys: dict[str, str]) -> list[Command]:
    """What can be done on a screen now, as its keys would do it."""
    found = []
    for action, off in listed(screen):
        if off or action.verb == "commands":
            continue
        for name, place in (("screen", screen), ("app", screen.app)):
            if hasattr(place, f"action_{action.verb}"):
                found.append(Command(action.label, key_of(action.id, keys), action.help, f"{name}.{action.verb}"))
                break
    return found


class Commands(Asking[int]):
    """Everything that can be done, found by any words of its name and of what it does; the answer is its place."""

    def __init__(self, rows: Sequence[Command]) -> None:
        super().__init__("Commands", "What can be done here. Type a part of its name.")
        self.commands = rows
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
        named = [all(word in each.label.lower() for word in words) for each in self.commands]
        told = [all(word in f"{each.label} {each.help}".lower() for word in words) for each in self.commands]
        self.found = [i for i, has in enumerate(named) if has]
        self.found += [i for i, has in enumerate(told) if has and not named[i]]
        shown = [self.commands[i] for i in self.found]
        self.query_one(Rows).show([[line(Span(f"{each.label:<24}{each.key}", "plain"))] for each in shown], 0)
        self.wrong("" if shown else "nothing here has those words; take some away")
        self._tell()

    def _tell(self) -> None:
        index = self.query_one(Rows).highlighted
        told = self.commands[self.found[index]].help if index is not None else ""
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
