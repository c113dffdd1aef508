"""What goes between the walk and the ear's own process: orders there, facts in the past tense back.

Plain data that loads no numerics, so that a screen can tell the facts apart without them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..plaindata import Frozen

if TYPE_CHECKING:
    from .kinds import Tap

OR_TYPE = "type the note, or say it by ear"
"""What always goes on; every sentence about a microphone that fails ends with it."""
SILENT_DB = -200.0
"""The level said for a microphone that sends nothing but zeros, in dB; the smallest 24-bit sample has -138."""


class Recording(Frozen):
    """One tap as it was recorded: what was analysed, bit for bit."""

    frames: bytes
    """One channel, 24 bits a sample, the lowest byte first: as a WAV file has them."""
    rate_hz: int

    @property
    def seconds(self) -> float:
        """How long it is."""
        return len(self.frames) / 3 / self.rate_hz


class MicrophoneOpened(Frozen):
    """Sound comes in from here on: a person may tap."""

    name: str
    rate_hz: int


class LevelMeasured(Frozen):
    """How loud it was at the loudest in the last tenth of a second, in dB below full scale (0 is full scale)."""

    peak_db: float


class TapHeard(Frozen):
    """A tap that gave a note."""

    tap: Tap
    recording: Recording


class TapRefused(Frozen):
    """Something was heard that gives no note: why, and what to do."""

    why: str


class ListeningEnded(Frozen):
    """The time was over, or somebody had it stopped; the microphone is closed."""


class ListeningFailed(Frozen):
    """Nothing can be heard here, or nothing more: why and what to do, in one sentence. The microphone is closed."""

    sentence: str


Fact = MicrophoneOpened | TapHeard | TapRefused | ListeningEnded | ListeningFailed


class Listen(Frozen):
    """The order to listen: with which microphone (empty: the usual one), how long, and what `hear` is told."""

    microphone: str
    seconds: float
    band: tuple[float, float] | None
    place: str
    full: bool = False


class Stop(Frozen):
    """The order to stop listening."""


class Name(Frozen):
    """The order to name the microphones: a list of names comes back, or ListeningFailed."""


Order = Listen | Stop | Name
