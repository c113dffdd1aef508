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
_KEYS = re.compile("\x1b(?:\\[[0-?]*[ -/]*[@-~]|O.|.)?|[\x00-\x08\x0a-\x1f\x7f-\x9f]")
"""What keys send that write nothing: escape sequences and control characters, but for the tabulator."""


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
        self._edits = False

    @classmethod
    def here(cls, stopping: Stopping) -> Talk:
        """The conversation of this process. A closed input is one that has ended."""
        source: TextIO = sys.stdin if sys.stdin is not None else io.StringIO()
        buffer = getattr(source, "buffer", None)
        if source.isatty() and sys.stdout.isatty() and isinstance(source, io.TextIOWrapper) and _editing():
            source.reconfigure(encoding="utf-8", errors="surrogateescape")
            talk = cls(source, sys.stdout, True, stopping)
            talk._edits = True
            return talk
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
        *before, last = _lines(prompt)
        self._write("".join(f"{text}\n" for text in before) + ("" if self._edits else f"{last} "))
        self.sink.flush()
        with self.stopping.prompt():
            line = self._edited(f"{last} ") if self._edits else self._line()
        if not line:
            self._write("\n")
            raise Gone
        if len(line) > LONGEST or (not line.endswith("\n") and len(line) >= LONGEST):
            if not line.endswith("\n"):
                self._pass_rest()
            raise Refused(f"that line is longer than {LONGEST} characters; nothing of it was kept")
        typed = line.rstrip("\n").strip(" \t\r")
        bare = _KEYS.sub("", typed).strip(" \t") if self.tty else typed  # keys send these; a file means what it says
        text = _HALVES.sub("\ufffd", bare)
        if not self.tty:  # a terminal shows what is typed; what is written to a file should as well
            self._write(shortened(text, 200) + "\n")
        if bare != typed:
            self.say("Control characters in that line were left out.")
        if text != bare:
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

    def _edited(self, prompt: str) -> str:
        """A line that can be mended while it is typed; the same as `_line` gives."""
        try:
            return input(prompt) + "\n"
        except (EOFError, OSError, ValueError):
            return ""

    def _pass_rest(self) -> None:
        while (more := self._line()) and not more.endswith("\n"):
            pass

    def _write(self, text: str) -> None:
        self.sink.write(text)


def _editing() -> bool:
    """Whether lines can be mended while they are typed (arrows, earlier lines of this walk); no file keeps them."""
    try:
        import readline
    except ImportError:
        return False
    readline.parse_and_bind("set enable-bracketed-paste off")  # what is pasted is read line by line, as it is typed
    return True


def _lines(text: str) -> list[str]:
    lines: list[str] = []
    for line in safe_text(text, newlines=True).split("\n"):
        lines += textwrap.wrap(line, WIDTH, break_on_hyphens=False) or [""]
    return lines
