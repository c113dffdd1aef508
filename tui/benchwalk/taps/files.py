"""A recording out of a file: any rate, depth and number of channels, or one sentence why not."""

from __future__ import annotations

import struct
from collections.abc import Iterator
from pathlib import Path
from stat import S_ISDIR, S_ISREG
from typing import Any

import numpy as np
import soundfile
from numpy.typing import NDArray

from ..errors import Failure, Misread
from .kinds import Sound

LONGEST_S = 600
MOST_SAMPLES = 60_000_000  # of the channel that is kept, for the memory: ten minutes at 96 kHz
MOST_READ = 150_000_000  # of all channels, for the time
RATES = (8_000, 768_000)
KINDS = "WAV, FLAC, AIFF or OGG"
LOUDEST = 1e6  # of full scale 1; 120 dB above it no recorder writes, and squares of more come to no number
_AT_ONCE = 4_000_000  # samples of all channels: 32 MB
_CUT_OFF = "this recording is cut off: the file is shorter than it says; copy it again"
_ENDLESS = (0, 0xFFFFFFFF, 0x7FFFFFFF, 0x7FFFFFFE, 0xFFFFFFFE)  # lengths that a recorder writes when it streams


def read(path: Path) -> Sound:
    """The recording in a file; Failure where it cannot be opened, Misread where it holds none that can be used."""
    where = str(path)
    size = _size(path)
    if size == 0:
        raise Misread(f"this file is empty; a recording as {KINDS} is wanted", where)
    sound = _sound(path)
    if _cut_off(path, size):
        raise Misread(_CUT_OFF, where)
    return sound


def _size(path: Path) -> int:
    """The file's bytes; Failure for what is not there, Misread for what is no file."""
    where = str(path)
    try:
        found = path.stat()
    except (OSError, ValueError) as error:
        if isinstance(error, FileNotFoundError):
            raise Failure("there is no such file", where) from None
        raise Failure(f"this file cannot be opened: {getattr(error, 'strerror', None) or error}", where) from None
    if S_ISDIR(found.st_mode):
        raise Misread(f"this is a folder; a recording as {KINDS} is wanted", where)
    if not S_ISREG(found.st_mode):
        raise Misread(f"this is no file on a disk; a recording as {KINDS} is wanted", where)
    return found.st_size


def _sound(path: Path) -> Sound:
    """The loudest channel, read in blocks, so that many channels take no more room than one."""
    where = str(path)
    try:
        with path.open("rb") as opened, soundfile.SoundFile(opened) as file:
            _measured(file, where)
            loudest = _loudest(file, where)
            file.seek(0)
            blocks = [block[:, loudest].copy() for block in _blocks(file)]
            rate = int(file.samplerate)
    except (soundfile.LibsndfileError, TypeError):  # TypeError: by its name it has no header, and would need a rate
        raise Misread(f"this cannot be read as a recording; {KINDS}, whole and not compressed otherwise, is wanted",
                      where) from None
    except OSError as error:
        raise Failure(f"this file cannot be opened: {error.strerror or error}", where) from None
    return Sound(np.concatenate(blocks), rate)


def _loudest(file: Any, where: str) -> int:
    """The number of the loudest channel. Misread for no sound, for less than the file says, and for odd values."""
    power, frames = np.zeros(file.channels), 0
    for block in _blocks(file):
        if not np.isfinite(block).all():
            raise Misread("this recording holds values that are no numbers; record it again", where)
        if np.abs(block).max(initial=0.0) > LOUDEST:
            raise Misread("this recording holds values far louder than any sound; record it again", where)
        power += np.einsum("ij,ij->j", block, block)
        frames += len(block)
    if not frames:
        raise Misread("this recording holds no sound at all; record it again", where)
    if frames < file.frames:
        raise Misread(_CUT_OFF, where)
    return int(np.argmax(power))


def _blocks(file: Any) -> Iterator[NDArray[np.float64]]:
    """All samples from where the file stands, some at a time, a column for each channel."""
    while len(block := file.read(max(1, _AT_ONCE // file.channels), dtype="float64", always_2d=True)):
        yield block


def _measured(file: Any, where: str) -> None:
    """Misread where the recording is longer than a hand taps, or at a rate nobody hears taps at."""
    rate, frames, channels = int(file.samplerate), int(file.frames), int(file.channels)
    if not RATES[0] <= rate <= RATES[1]:
        raise Misread(f"this recording has {rate} samples a second; record at 44100 or 48000", where)
    most = min(LONGEST_S, MOST_SAMPLES // rate, MOST_READ // (rate * max(1, channels)))
    if frames > most * rate:
        longest = f"{most // 60} minutes" if most >= 120 else f"{most} seconds"
        raise Misread(f"this recording is longer than {longest}; cut out the taps", where)


def _cut_off(path: Path, size: int) -> bool:
    """Whether a file is shorter than its own head says."""
    with path.open("rb") as file:
        head = file.read(12)
        if head[:4] in (b"RIFF", b"RIFX") and head[8:] == b"WAVE":
            order = "<" if head[:4] == b"RIFF" else ">"
            return _shorter(struct.unpack(f"{order}I", head[4:8])[0], size)
        if head[:4] == b"FORM" and head[8:11] == b"AIF":
            return _shorter(struct.unpack(">I", head[4:8])[0], size)
        if head[:4] == b"OggS":
            file.seek(max(0, size - 70_000))  # a page has at most 65,307 bytes (RFC 3533)
            return _page_missing(file.read())
    return False


def _shorter(said: int, size: int) -> bool:
    return said not in _ENDLESS and said + 8 > size + 1


def _page_missing(tail: bytes) -> bool:
    """Whether the last page of an OGG file is not whole, or not marked as the last (RFC 3533, section 6)."""
    at = tail.rfind(b"OggS")
    page = tail[at:]
    if at < 0 or len(page) < 27 or not page[5] & 4:
        return True
    lacing = page[27 : 27 + page[26]]
    return len(lacing) < page[26] or len(page) < 27 + page[26] + sum(lacing)
