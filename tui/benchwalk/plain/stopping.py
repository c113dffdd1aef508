"""Signals during a walk: they wait while something is being written, and strike at the prompt.

An act that is half written is the one moment at which a signal could do harm. So ctrl+c, a terminal that closes and a
polite kill are only remembered until somebody is asked something.
"""

from __future__ import annotations

import contextlib
import signal
import threading
from collections.abc import Iterator
from types import FrameType, TracebackType
from typing import Self

SIGNALS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)


class Broken(Exception):
    """The person pressed ctrl+c."""


class Stopped(Exception):
    """The walk was told to stop from outside; `number` is the signal's."""

    def __init__(self, number: int) -> None:
        super().__init__(f"signal {number}")
        self.number = number


class Stopping:
    """Takes the signals for the length of a `with`; `prompt` lets them through."""

    def __init__(self) -> None:
        self._waits = False
        self._came: int | None = None
        self._before: dict[int, object] = {}

    def __enter__(self) -> Self:
        if threading.current_thread() is threading.main_thread():
            self._before = {number: signal.signal(number, self._take) for number in SIGNALS}
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        for number, handler in self._before.items():
            signal.signal(number, handler)  # type: ignore[arg-type]
        self._before = {}

    @contextlib.contextmanager
    def prompt(self) -> Iterator[None]:
        """Where a signal may strike, and one that came before does; raises Broken, Stopped."""
        self._waits = True
        try:
            self._strike()
            yield
        except KeyboardInterrupt:
            raise Broken from None
        finally:
            self._waits = False

    def _take(self, number: int, frame: FrameType | None) -> None:
        if self._came in (None, signal.SIGINT):
            self._came = number
        if self._waits:
            self._waits = False
            self._strike()

    def _strike(self) -> None:
        number, self._came = self._came, None
        if number == signal.SIGINT:
            raise Broken
        if number is not None:
            raise Stopped(number)
