"""Lines in and lines out: what is said is safe for any terminal, what is typed is read whole or not at all."""

from __future__ import annotations

import io
import re
import sys
import textwrap
from typing import TextIO

from ..errors import Refused, UsageError
from ..job.pins import read_pin
from ..procedure.showing import safe_text, shortened
from .stopping import Stopping

WIDTH = 78
LONGEST = 200_000
"""Most characters of one line that is typed."""
_HALVES = re.compile("[\ud800-\udfff]")


class Gone(Exception):
    """Nobody answers any more: the input has ended."""


class Talk:
    """One conversation. `tty` says whether a person sits at the keyboard (then PINs can be asked)."""

    def __init__(self, source: TextIO, sink: TextIO, tty: bool, stopping: Stopping | None = None) -> None:
        self.source = source
        self.sink = sink
        self.tty = tty
        self.stopping = stopping or Stopping()
        self.asked = 0

    @classmethod
    def here(cls, stopping: Stopping) -> Talk:
        """The conversation of this process. A closed input is one that has ended."""
        source: TextIO = sys.stdin if sys.stdin is not None else io.StringIO()
        buffer = getattr(source, "buffer", None)
        if buffer is not None:  # a line ends at a line feed alone, and bytes that are no text are seen as such
            source = io.TextIOWrapper(buffer, encoding="utf-8", errors="surrogateescape", newline="\n")
        return cls(source, sys.stdout, source.isatty(), stopping)

    def say(self, text: str = "") -> None:
        """Say one paragraph, wrapped; an empty text is an empty line."""
        self._write("\n".join(_lines(text)) + "\n")

    def say_line(self, text: str) -> None:
        """Say something that must stay on one line, such as a command to be typed."""
        self._write(f"  {safe_text(text)}\n")

    def ask(self, prompt: str) -> str:
        """Say the prompt and read one line, without its end and the blanks around it.

        Raises Gone where the input has ended, Refused for a line that is too long, Broken, Stopped.
        """
        self.asked += 1
        self._write("\n".join(_lines(prompt)) + " ")
        self.sink.flush()
        with self.stopping.prompt():
            line = self._line()
        if not line:
            self._write("\n")
            raise Gone
        if not line.endswith("\n") and len(line) >= LONGEST:
            self._pass_rest()
            raise Refused(f"that line is longer than {LONGEST} characters; nothing of it was kept")
        typed = line.rstrip("\n").strip(" \t\r")
        text = _HALVES.sub("\ufffd", typed)
        if not self.tty:  # a terminal shows what is typed; what is written to a file should as well
            self._write(shortened(text, 200) + "\n")
        if text != typed:
            self.say("A part of that line is not readable text; it is kept as \ufffd.")
        return text

    def pin(self, prompt: str) -> str | None:
        """Ask for a PIN without showing it; None where nobody sits at a terminal. Raises Refused, Broken, Stopped."""
        if not self.tty:
            return None
        self.asked += 1
        self.sink.flush()
        try:
            with self.stopping.prompt():
                return read_pin(safe_text(prompt) + " ")
        except UsageError as error:
            raise Refused(error.message) from None

    def _line(self) -> str:
        try:
            return self.source.readline(LONGEST)
        except (OSError, ValueError):  # the terminal is gone, or the input was closed
            return ""

    def _pass_rest(self) -> None:
        while (more := self._line()) and not more.endswith("\n"):
            pass

    def _write(self, text: str) -> None:
        self.sink.write(text)


def _lines(text: str) -> list[str]:
    lines: list[str] = []
    for line in safe_text(text, newlines=True).split("\n"):
        lines += textwrap.wrap(line, WIDTH, break_on_hyphens=False) or [""]
    return lines
