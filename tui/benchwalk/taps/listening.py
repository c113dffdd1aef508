"""Listening for taps at the bench: the walk's side of it. Loads no numerics and no sound library.

    with Ear() as ear:
        ear.listen(30, on_level, on_fact)

What hears is a process of its own (`ear_process`), begun when somebody first listens and kept until `close`. The
microphone is open only while somebody listens.
"""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from collections.abc import Callable
from multiprocessing import Pipe

from .facts import (
    OR_TYPE,
    Fact,
    LevelMeasured,
    Listen,
    ListeningEnded,
    ListeningFailed,
    Name,
    Order,
    Stop,
)

LONGEST_S = 60.0
"""Seconds after which listening ends by itself, unless told otherwise."""
_PATIENCE_S = 20.0  # within which the process says something, or hangs; it says how loud it is ten times a second
_HANGS = f"the sound system of this computer does not answer: listen again, or {OR_TYPE}"
_BROKE_OFF = f"what listens has broken down: listen again, or {OR_TYPE}"


class Ear:
    """Hears taps. One at a time may `listen`; `stop` and `close` may be called meanwhile, from any thread."""

    def __init__(self, microphone: str = "") -> None:
        """`microphone` is a name out of `microphones()` or a part of one; empty for the usual one."""
        self.microphone = microphone
        self._process: _Process | None = None
        self._closed = self._stopped = False
        self._lock = threading.Lock()  # for the process; held for moments only

    def listen(
        self,
        seconds: float = LONGEST_S,
        on_level: Callable[[float], None] = lambda _peak_db: None,
        on_fact: Callable[[Fact], None] = lambda _fact: None,
        *,
        band: tuple[float, float] | None = None,
        place: str = "rod",
        full: bool = False,
    ) -> None:
        """Listen until `stop`, `close` or the time is over, and tell what comes in this same thread.

        `on_fact` is told that the microphone is open, each tap with its note or why it gives none, and last of all
        that it ended or failed; nothing more once `close` was called. `on_level` is told ten times a second how loud
        it was (dB below full scale). `band` (Hz), `place` and `full` are those of `hear`. Raises nothing of its own.
        Run it in a thread of its own.
        """
        self._stopped = False
        process = self._ready()
        if isinstance(process, ListeningFailed):
            on_fact(process)
            return
        said: object = None
        if not process.send(Listen(self.microphone, seconds, band, place, full)):
            said = ListeningFailed(_BROKE_OFF)
        if self._stopped:  # before the order to listen had gone, and so to no effect
            process.send(Stop())
        while not isinstance(said, ListeningEnded | ListeningFailed):
            said = process.next()
            if self._closed:
                return
            if isinstance(said, LevelMeasured):
                on_level(said.peak_db)
            elif not isinstance(said, ListeningEnded | ListeningFailed):
                on_fact(said)  # type: ignore[arg-type]  # whatever else comes while somebody listens
        if isinstance(said, ListeningFailed):
            self._end()  # a new process looks anew which microphones there are
        if not self._closed:
            on_fact(said)

    def stop(self) -> None:
        """End the listening that goes on, if any; `listen` then tells that it ended."""
        self._stopped = True
        with self._lock:
            process = self._process
        if process is not None:
            process.send(Stop())

    def close(self) -> None:
        """End it for good, at once; again is no harm."""
        self._closed = True
        self._end()

    def __enter__(self) -> Ear:
        return self

    def __exit__(self, *_failure: object) -> None:
        self.close()

    def _ready(self) -> _Process | ListeningFailed:
        with self._lock:
            if self._closed:
                return ListeningFailed(_BROKE_OFF)
            if self._process is None:
                try:
                    self._process = _Process()
                except OSError as error:
                    return ListeningFailed(f"no microphone can be used now ({error.strerror}): {OR_TYPE}")
            return self._process

    def _end(self) -> None:
        with self._lock:
            process, self._process = self._process, None
        if process is not None:
            process.end()


def microphones() -> list[str] | str:
    """The names of the microphones here, the one used without a choice first; or a sentence why there is none.

    Takes a few tenths of a second, so ask in a thread.
    """
    try:
        process = _Process()
    except OSError as error:
        return f"no microphone can be used now ({error.strerror}): {OR_TYPE}"
    try:
        said = process.next() if process.send(Name()) else ListeningFailed(_BROKE_OFF)
        return said.sentence if isinstance(said, ListeningFailed) else [str(name) for name in said]  # type: ignore
    finally:
        process.end()


class _Process:
    """The ear's own process and our end of the line to it. It ends by itself when ours ends, however that comes."""

    def __init__(self) -> None:
        """Begin it; OSError where the system does not let us."""
        self._line, theirs = Pipe()
        self._sending = threading.Lock()  # one may stop while another begins
        try:
            self._process = subprocess.Popen(
                [sys.executable, "-P", "-m", "benchwalk.taps.ear_process", str(theirs.fileno())],
                pass_fds=[theirs.fileno()],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,  # the system's sound libraries print there what is none of the screen's
                start_new_session=True,  # Ctrl+C at the terminal is for the walk
                env={**os.environ, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"},  # leave a core to the screen
            )
        except OSError:
            self._line.close()
            raise
        finally:
            theirs.close()

    def send(self, order: Order) -> bool:
        """Send an order; whether it went."""
        try:
            with self._sending:
                self._line.send(order)
        except (OSError, ValueError):
            return False
        return True

    def next(self) -> object:
        """What it says next; ListeningFailed where it ended or hangs."""
        try:
            return self._line.recv() if self._line.poll(_PATIENCE_S) else ListeningFailed(_HANGS)
        except (EOFError, OSError):
            return ListeningFailed(_BROKE_OFF)

    def end(self) -> None:
        """End it at once. The line is left to whoever reads it; it goes with the last of them."""
        self._process.kill()
        self._process.wait()


