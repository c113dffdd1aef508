"""The ear's own process: holds the microphone, cuts out taps, has them analysed, tells facts. Run by `listening`.

    python -m benchwalk.taps.ear_process FD

FD is its end of a pair of sockets. It takes orders from there, and ends when the other end is gone, however that
came. It is apart from the walk for three reasons: the analysis and the loading of its libraries would hold up keys;
what the libraries of the sound system print would land on the screen; and where those hang or fall over, they take
nothing with them.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
import time
from multiprocessing.connection import Connection
from queue import Empty, SimpleQueue
from typing import TYPE_CHECKING

from ..errors import BenchwalkError, Failure
from ..plaindata import changed
from .facts import (
    OR_TYPE,
    SILENT_DB,
    Fact,
    LevelMeasured,
    Listen,
    ListeningEnded,
    ListeningFailed,
    MicrophoneOpened,
    Name,
    Order,
    Recording,
    TapHeard,
    TapRefused,
)
from .microphone import Microphone, names

if TYPE_CHECKING:
    from .catching import Catcher, Samples
    from .kinds import Tap

NICE = 5
"""How far it stands back where cores are short: a key comes before a note."""
_LEVEL_S = 0.1
_MUTE = 5  # levels in a row that are silence itself; no room is, only a microphone that is off
_LOST = "some of the sound was lost while the tap rang, since this computer was busy: tap again"


class _Orders:
    """Orders as they come, read by a thread of their own: the end of the line ends the process at once."""

    def __init__(self, line: Connection) -> None:
        self._line = line
        self._queue: SimpleQueue[Order] = SimpleQueue()
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self) -> None:
        while True:
            try:
                self._queue.put(self._line.recv())
            except (EOFError, OSError):
                os._exit(0)  # whatever else hangs; the microphone goes back with the process

    def next(self) -> Order:
        """The next order, as soon as there is one."""
        return self._queue.get()

    def stopped(self) -> bool:
        """Whether an order has come meanwhile; while somebody listens it can only be to stop."""
        try:
            self._queue.get_nowait()
        except Empty:
            return False
        return True


class _Listening:
    """One time of listening, from opening the microphone to letting it go."""

    def __init__(self, line: Connection, order: Listen) -> None:
        self._line, self._order = line, order
        self._levels = self._silences = 0

    def run(self, orders: _Orders) -> Fact:
        """Tell what is heard; the fact with which it ended. Failure where the microphone gives out."""
        microphone = Microphone(self._order.microphone)
        microphone.open()
        self._line.send(MicrophoneOpened(microphone.name, microphone.rate_hz))
        try:
            stopped = self._attend(microphone, orders)
        finally:
            microphone.close()
        if not stopped and self._silences == self._levels >= _MUTE:
            raise Failure(
                f"nothing at all comes from the microphone {microphone.name}: see whether it is switched off or muted,"
                f" or {OR_TYPE}"
            )
        return ListeningEnded()

    def _attend(self, microphone: Microphone, orders: _Orders) -> bool:
        """Tell what is heard until the time is over; True where it was stopped before."""
        from .catching import Catcher, one_channel, peak_db

        threading.Thread(target=_load, daemon=True).start()
        catcher = Catcher(microphone.rate_hz)
        loudest, told = SILENT_DB, time.monotonic()
        until = told + self._order.seconds
        while time.monotonic() < until:
            if orders.stopped():
                return True
            block = microphone.block(_LEVEL_S)
            if block is not None:
                samples = one_channel(block[0], microphone.channels)
                loudest = max(loudest, peak_db(samples))
                for fact in caught(catcher, samples, block[1], self._order):
                    self._line.send(fact)
            if time.monotonic() - told >= _LEVEL_S:
                self._levels += 1
                self._silences += loudest == SILENT_DB
                self._line.send(LevelMeasured(loudest))
                loudest, told = SILENT_DB, time.monotonic()
        return False


def _load() -> None:
    """Load what analyses while sound comes in already; the first tap waits for it, if it is sooner."""
    from . import hearing  # noqa: F401


def caught(catcher: Catcher, samples: Samples, lost: bool, order: Listen) -> list[TapHeard | TapRefused]:
    """What is to be told with these samples; `lost`: whether some before them are missing."""
    told: list[TapHeard | TapRefused] = [TapRefused(_LOST)] if lost and catcher.forget() else []
    for cut in catcher.take(samples):
        told += facts_of(cut, catcher.rate_hz, order)
    return told


def facts_of(cut: Samples, rate_hz: int, order: Listen) -> list[TapHeard | TapRefused]:
    """What the analysis says of one cut, with the recording of exactly what was analysed."""
    from . import Sound, hear
    from .catching import FULL_SCALE

    heard = hear(Sound(cut / FULL_SCALE, rate_hz), band=order.band, place=order.place, full=order.full)
    recording = recorded(cut, rate_hz)
    told: list[TapHeard | TapRefused] = [TapHeard(_light(tap), recording) for tap in heard.taps]
    told += [TapRefused(left.why) for left in heard.left_out]
    return told or [TapRefused(heard.refused or "no tap was heard: tap again")]


def _light(tap: Tap) -> Tap:
    """The tap with plain numbers: one of numpy's own would load numpy in the walk."""
    return changed(tap, **{name: float(value) for name, value in vars(tap).items() if isinstance(value, float)})


def recorded(cut: Samples, rate_hz: int) -> Recording:
    """The samples as they are kept: the upper 24 bits, and `cut` holds no more than these."""
    return Recording(cut.astype("<i4").view("u1").reshape(-1, 4)[:, 1:].tobytes(), rate_hz)


def _answer(line: Connection, orders: _Orders, order: Order) -> None:
    try:
        if isinstance(order, Name):
            line.send(names())
        elif isinstance(order, Listen):
            line.send(_Listening(line, order).run(orders))
    except BenchwalkError as error:
        line.send(ListeningFailed(error.message))
    except ConnectionError:
        raise  # nobody is there to be told
    except Exception as error:  # whatever it is, the walk goes on, and this process is made anew
        line.send(ListeningFailed(f"listening broke off ({type(error).__name__}: {error}); listen again, or {OR_TYPE}"))


def main(arguments: list[str]) -> int:
    """Follow orders until the other end is gone."""
    os.nice(NICE)
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # a key for the walk
    line = Connection(int(arguments[0]))
    orders = _Orders(line)
    while True:
        try:
            _answer(line, orders, orders.next())
        except ConnectionError:
            return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
