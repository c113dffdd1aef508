"""Help and the command list, both made from the one list of actions."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import Any

from textual.command import DiscoveryHit, Hit, Hits, Provider
from textual.content import Content
from textual.screen import Screen

from ..daybook.ink import Line, Span, line
from .actions import EVERYWHERE, PLACES, Action, at
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


class Commands(Provider):
    """The command list: the actions of the screen below it, found by any part of their names."""

    def _found(self) -> Iterator[tuple[str, str, Any]]:
        for action, off in listed(self.screen):
            verb = f"action_{action.verb}"
            run = getattr(self.screen, verb, None) or getattr(self.app, verb, None)
            if run is not None and not off and action.verb != "commands":
                yield action.label, action.help, run

    async def discover(self) -> Hits:
        for label, text, run in self._found():
            yield DiscoveryHit(label, run, help=text)

    async def search(self, query: str) -> Hits:
        matcher = self.matcher(query)
        for label, text, run in self._found():
            score = max(matcher.match(label), matcher.match(text) * 0.5)
            if score > 0:
                yield Hit(score, matcher.highlight(label), run, help=text)
