"""The bounce gate: a key or a foot switch that is held, or that chatters, goes on by one stop at most."""

from __future__ import annotations

from collections.abc import Callable

QUIET = 0.4
"""Seconds that a stop must have been on screen, and that the going-on keys must have been quiet, before one counts."""


class Gate:
    """Says whether a going-on key counts. `clock` gives seconds that never go backwards."""

    def __init__(self, clock: Callable[[], float], quiet: float = QUIET) -> None:
        self.clock = clock
        self.quiet = quiet
        self._shown = self._pressed = float("-inf")

    def shown(self) -> None:
        """A new stop, or a new question, is on screen."""
        self._shown = self.clock()

    def press(self) -> bool:
        """A going-on key came; whether it counts. One that does not count makes the next ones wait as well."""
        now = self.clock()
        since, self._pressed = max(self._shown, self._pressed), now
        return now - since >= self.quiet
