"""Lines in and lines out: what is said is safe for any terminal, what is typed is read whole."""

from __future__ import annotations

import getpass
import io
import sys
import textwrap
from typing import TextIO

from ..procedure.showing import safe_text

WIDTH = 78
LONGEST = 200_000


class Gone(Exception):
    """Nobody answers any more: the input has ended."""


class Broken(Exception):
    """The person pressed ctrl+c at a prompt."""


class Talk:
    """One conversation. `tty` says whether a person sits at a terminal (then PINs can be asked)."""

    def __init__(self, source: TextIO, sink: TextIO, tty: bool) -> None:
        self.source = source
        self.sink = sink
        self.tty = tty

    @classmethod
    def here(cls) -> Talk:
        """The conversation of this process; undecodable bytes are read as replacement characters."""
        source: TextIO = sys.stdin
        buffer = getattr(sys.stdin, "buffer", None)
        if buffer is not None:
            source = io.TextIOWrapper(buffer, encoding="utf-8", errors="replace", line_buffering=True)
        tty = bool(sys.stdin and sys.stdin.isatty() and sys.stdout.isatty())
        return cls(source, sys.stdout, tty)

    def say(self, text: str = "", *, indent: str = "") -> None:
        """Say one paragraph, wrapped; an empty text is an empty line."""
        if not text:
            self._write("\n")
            return
        for line in safe_text(text, newlines=True).split("\n"):
            wrapped = textwrap.wrap(line, WIDTH, initial_indent=indent, subsequent_indent=indent) or [""]
            self._write("\n".join(wrapped) + "\n")

    def ask(self, prompt: str) -> str:
        """Say the prompt and read one line, without its end; Gone where the input has ended."""
        try:
            self._write(safe_text(prompt) + " ")
            self.sink.flush()
            line = self.source.readline(LONGEST)
        except KeyboardInterrupt:
            self._write("\n")
            raise Broken from None
        except ValueError:
            raise Gone from None
        if not line:
            self._write("\n")
            raise Gone
        if not line.endswith("\n") and len(line) >= LONGEST:
            while not line.endswith("\n") and (more := self.source.readline(LONGEST)):
                line = line[:LONGEST] + more[-1:]
        if not self.tty:
            self._write("\n")
        return line.rstrip("\r\n")

    def pin(self, prompt: str) -> str | None:
        """Ask for a PIN without echo; None where nobody sits at a terminal, for a PIN never comes from a pipe."""
        if not self.tty:
            return None
        try:
            return getpass.getpass(safe_text(prompt) + " ")
        except KeyboardInterrupt:
            raise Broken from None
        except EOFError:
            raise Gone from None

    def _write(self, text: str) -> None:
        self.sink.write(text)
