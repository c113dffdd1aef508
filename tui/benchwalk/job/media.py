"""Whether a file is a picture or a recording, by the first bytes that every file of its kind begins with.

The marks are from memory; what they do not know is refused rather than kept as something nobody can open.
"""

from __future__ import annotations

import os
from pathlib import Path

from ..errors import Refused
from ..procedure.showing import shortened
from .disk import said

_BEGINS: tuple[tuple[bytes, str], ...] = (
    (b"\x89PNG", "picture"),
    (b"\xff\xd8\xff", "picture"),  # jpeg
    (b"GIF8", "picture"),
    (b"II*\0", "picture"),  # tiff, both ways round
    (b"MM\0*", "picture"),
    (b"fLaC", "sound"),
    (b"OggS", "sound"),
    (b"ID3", "sound"),  # mp3 with a tag before it
)
_RIFF = {b"WEBP": "picture", b"WAVE": "sound"}  # bytes 8 to 12 of a RIFF (or RF64) file
_PICTURES = (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1", b"avif")  # brands of an `ftyp` box
_SOUNDS = (b"M4A ", b"M4B ", b"mp42", b"mp41", b"isom", b"iso2", b"dash")
KINDS = {
    "picture": "a picture (png, jpeg, gif, webp, heic, tiff)",
    "sound": "a recording (wav, flac, aiff, ogg, mp3, m4a)",
}


def sort_of(first: bytes) -> str | None:
    """`picture` or `sound` by a file's first bytes (12 are enough); None where they are neither."""
    for mark, sort in _BEGINS:
        if first.startswith(mark):
            return sort
    if first[:4] in (b"RIFF", b"RF64"):
        return _RIFF.get(first[8:12])
    if first[4:8] == b"ftyp":
        return "picture" if first[8:12] in _PICTURES else "sound" if first[8:12] in _SOUNDS else None
    if len(first) > 1 and first[0] == 0xFF and first[1] & 0xE6 == 0xE2:
        return "sound"  # an mp3 that begins with its first frame
    if first[:4] == b"FORM" and first[8:12] in (b"AIFF", b"AIFC"):
        return "sound"
    return None


def require_media(path: Path, sort: str = "") -> None:
    """Refused where the file is a folder, empty, or no picture or recording (`sort` says which of them is wanted)."""
    name = shortened(str(path), 80)
    if os.path.isdir(path):
        raise Refused(f"{name} is a folder; the path of one file is expected, or: on paper, no. 12")
    if not os.path.isfile(path) or not os.access(path, os.R_OK):
        raise Refused(f"there is no file {name} to be read; or write: on paper, no. 12")
    try:
        with open(path, "rb") as file:
            first = file.read(12)
    except OSError as error:
        raise Refused(f"the file {name} cannot be read: {said(error)}") from None
    if not first:
        raise Refused(f"the file {name} is empty")
    found = sort_of(first)
    if found is None or (sort and found != sort):
        wish = KINDS[sort] if sort else " or ".join(KINDS.values())
        raise Refused(f"the file {name} is no{wish[1:]}, as far as its first bytes tell; or write: on paper, no. 12")


def size_words(size: int) -> str:
    """A size in bytes as people read it: `812 bytes`, `12 kB`, `3.4 MB`."""
    if size < 1000:
        return f"{size} byte{'' if size == 1 else 's'}"
    return f"{size / 1000:.0f} kB" if size < 1_000_000 else f"{size / 1_000_000:.1f} MB"
