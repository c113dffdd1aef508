"""Help and the command list, both made from the one list of actions."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from textual.content import Content
from textual.screen import Screen

from ..daybook.ink import Line, Span, line
from .actions import EVERYWHERE, PLACES, Action, at
from .among import Among, Entry
from .keymap import key_of
from .looks import inked

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


class Commands(Among):
    """Everything that can be done, found by any words of its name and of what it does; the answer is its place."""

    def __init__(self, rows: Sequence[Command]) -> None:
        entries = [Entry(each.label, each.key, each.help) for each in rows]
        super().__init__("Commands", "What can be done here. Type a part of its name.", entries)
