"""Taps: from a recording of taps on a drum to notes with how sure they are, or one sentence why there is none.

Light to import: numpy and soundfile are loaded when a recording is read or listened to.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from .kinds import PLACES, Heard, LeftOut, Sound, Tap, Together

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["PLACES", "Heard", "LeftOut", "Sound", "Tap", "Together", "hear", "read_sound", "together", "usable"]


def read_sound(path: str | Path) -> Sound:
    """A recording out of a WAV, FLAC, AIFF or OGG file of any rate, depth and number of channels.

    Of several channels the loudest is kept: a mean of two microphones can cancel a note. Raises Failure for a file
    that is not there or cannot be opened, and Misread for one that is empty, cut off, too long or no recording.
    """
    _one_core()
    from .files import read

    return read(Path(path))


def usable(band: tuple[float, float] | None, place: str) -> None:
    """Raise UsageError for a band or a place that is none, before any recording is read for it."""
    _one_core()
    from .hearing import usable as check

    check(band, place)


def hear(
    sound: Sound, *, band: tuple[float, float] | None = None, place: str = "rod", full: bool = False
) -> Heard:
    """Every tap of a recording with its note, or why there is none.

    `place` says where the drum was tapped: `rod` (beside a rod, centre touched by a finger), `centre` (the open note)
    or `shell`. `band` (Hz) says where the note lies, as from the drum's earlier taps. `full` adds how long each third
    octave rings and how loud it is. Raises UsageError for another place, or a band that is none.
    """
    _one_core()
    from .hearing import hear as listen

    return listen(sound, band, place, full)


def _one_core() -> None:
    """Before numpy is loaded: its matrices here are small, and more threads for them only cost (six times the work)."""
    if "numpy" not in sys.modules:
        os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def together(taps: Sequence[Tap]) -> Together | None:
    """Several taps at one place as one note: from two on their scatter says how sure it is. None for no taps."""
    from .repeated import together as combine

    return combine(taps)
