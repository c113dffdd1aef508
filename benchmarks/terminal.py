"""A program in a pseudo-terminal: when it has written something, and how long that took.

The terminal answers one question only, that it can take a frame as a whole, so that the end of a frame is marked.
"""

from __future__ import annotations

import fcntl
import os
import pty
import select
import signal
import struct
import sys
import termios
import time

COLUMNS, ROWS = 80, 24


class Terminal:
    """A Python program in a terminal of that size; times in seconds by a clock that never goes back."""

    def __init__(self, *arguments: str, size: tuple[int, int] = (COLUMNS, ROWS)) -> None:
        self.begun = time.perf_counter()
        self.out = b""
        self.pid, self.fd = pty.fork()
        if self.pid == 0:
            os.environ |= {"TERM": "xterm-256color", "COLORTERM": "truecolor", "BENCHWALK_QUIET": "0"}
            os.execv(sys.executable, [sys.executable, *arguments])
        fcntl.ioctl(self.fd, termios.TIOCSWINSZ, struct.pack("HHHH", size[1], size[0], 0, 0))

    def until(self, words: bytes, seconds: float = 20) -> float:
        """Read until these bytes were written; the seconds since the program (or the last key) was begun."""
        while words not in self.out:
            left = self.begun + seconds - time.perf_counter()
            if left <= 0 or not self._read(left):
                raise SystemExit(f"{words!r} was never shown; the last of it: {self.out[-600:]!r}")
        return time.perf_counter() - self.begun

    def key(self, keys: bytes, words: bytes) -> float:
        """Send keys and read until these bytes come; the seconds it took."""
        self.rest()
        self.out = b""
        self.begun = time.perf_counter()
        os.write(self.fd, keys)
        return self.until(words)

    def rest(self, quiet: float = 0.06) -> None:
        """Read until nothing more comes."""
        while self._read(quiet):
            pass

    def _read(self, seconds: float) -> bool:
        ready, _w, _x = select.select([self.fd], [], [], seconds)
        if not ready:
            return False
        try:
            data = os.read(self.fd, 1 << 16)
        except OSError:
            return False
        self.out += data
        if b"\x1b[?2026$p" in data:
            os.write(self.fd, b"\x1b[?2026;2$y")
        return bool(data)

    def close(self) -> None:
        """End the program without asking."""
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        os.close(self.fd)
