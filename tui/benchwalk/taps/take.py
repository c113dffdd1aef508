"""What is taken over of a tap: its note as somebody would type it, and its recording as a file to keep."""

from __future__ import annotations

import math
import os
import tempfile
import wave
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path

from ..errors import Failure, UsageError
from .facts import Recording
from .kinds import Tap, Together


def as_typed(heard: Tap | Together) -> str:
    """The note as it goes into the log, as if it was typed: `219.84 Hz ±0.6c second 301.20 Hz`.

    Hz to hundredths; the uncertainty (about 95 %) in tenths of a cent, never said smaller than it is; the second note
    where one was heard.
    """
    text = f"{heard.pitch_hz:.2f} Hz"
    sure = heard.uncertainty_cents
    if math.isfinite(sure) and sure > 0:
        text += f" ±{max(1, math.ceil(sure * 10 - 1e-6)) / 10:.1f}c"
    second = heard.second_hz if isinstance(heard, Tap) else None
    return text if second is None else f"{text} second {second:.2f} Hz"


@contextmanager
def take_file(recordings: Sequence[Recording]) -> Iterator[Path]:
    """A WAV file (one channel, 24 bits) of these recordings one after the other, for a job to keep by its hash.

    It is there as long as the `with` goes on, and is made without numerics. UsageError for none, or for recordings of
    several rates; Failure where the file cannot be written.
    """
    rates = {recording.rate_hz for recording in recordings}
    if len(rates) != 1:
        raise UsageError("one or more recordings of one rate are needed to keep them")
    with ExitStack() as stack:
        try:
            path = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="benchwalk-")), "taps.wav")
            with wave.open(os.fspath(path), "wb") as file:
                file.setparams((1, 3, rates.pop(), 0, "NONE", "not compressed"))
                file.writeframes(b"".join(recording.frames for recording in recordings))
        except OSError as error:
            raise Failure(f"the recording cannot be written down ({error.strerror}); note the value alone") from None
        yield path
