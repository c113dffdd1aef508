"""Which files are pictures and recordings, by their first bytes, and what is refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchwalk.errors import Refused
from benchwalk.job.media import require_media, size_words, sort_of

FIRST = {
    b"\x89PNG\r\n\x1a\n\0\0\0\r": "picture",
    b"\xff\xd8\xff\xe0\0\x10JFIF": "picture",
    b"GIF89a\x01\0": "picture",
    b"RIFF\x10\0\0\0WEBP": "picture",
    b"\0\0\0\x18ftypheic": "picture",
    b"II*\0\x08\0\0\0": "picture",
    b"MM\0*\0\0\0\x08": "picture",
    b"RIFF\x10\0\0\0WAVE": "sound",
    b"fLaC\0\0\0\x22": "sound",
    b"OggS\0\x02": "sound",
    b"ID3\x03\0": "sound",
    b"\xff\xfb\x90\x64": "sound",
    b"\0\0\0\x20ftypM4A ": "sound",
}


@pytest.mark.parametrize("first", FIRST)
def test_kinds_are_known_by_their_first_bytes(first: bytes) -> None:
    """Each kind of picture and recording is known, and one byte off at its beginning it is not."""
    assert sort_of(first) == FIRST[first]
    assert sort_of(b"\x01" + first[1:4] + b"\x01" + first[5:]) is None


@pytest.mark.parametrize("first", [b"", b"%PDF-1.7", b"hello, a note", b"\xff\xfe\x41\0", b"RIFF\x10\0\0\0AVI "])
def test_other_files_are_neither(first: bytes) -> None:
    """Documents, plain text (also with a mark before it) and moving pictures are no picture and no recording."""
    assert sort_of(first) is None


def test_what_cannot_be_kept_is_refused_with_its_reason(tmp_path: Path) -> None:
    """A folder, a file that is not there, an empty one, and one of the other kind each get their own sentence."""
    wav, empty = tmp_path / "tap.wav", tmp_path / "empty.png"
    wav.write_bytes(b"RIFF\x10\0\0\0WAVE")
    empty.write_bytes(b"")
    for path, sort, why in (
        (tmp_path, "picture", "is a folder; the path of one file is expected"),
        (tmp_path / "none.png", "picture", "there is no file"),
        (empty, "picture", "is empty"),
        (wav, "picture", r"is no picture \(png, jpeg, gif, webp, heic, tiff\)"),
    ):
        with pytest.raises(Refused, match=why):
            require_media(path, sort)
    require_media(wav, "sound")
    require_media(wav)


def test_sizes_are_said_as_people_read_them() -> None:
    """Bytes, thousands and millions."""
    assert [size_words(n) for n in (1, 999, 12_400, 3_400_000)] == ["1 byte", "999 bytes", "12 kB", "3.4 MB"]
