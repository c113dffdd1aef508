"""What is done to a log's file when it is opened for writing, before anything is built upon it."""

from __future__ import annotations

import os

from ..errors import Failure
from .disk import Disk, said, write_new
from .reading import Reading


def open_file(path: str, disk: Disk) -> int:
    """Open the log for appending, and begin it if it is not there. Raises Failure."""
    flags = os.O_RDWR | os.O_APPEND | os.O_CREAT | os.O_CLOEXEC
    try:
        return disk.open(path, flags, 0o644)
    except FileNotFoundError:
        raise Failure(f"there is no folder {os.path.dirname(path)} to keep a log in", path) from None
    except OSError as error:
        raise Failure(f"the log cannot be opened for writing: {said(error)}", path) from None


def all_of(fd: int) -> bytes:
    """Every byte of an open file. Raises OSError."""
    parts: list[bytes] = []
    at = 0
    while part := os.pread(fd, 1 << 20, at):
        parts.append(part)
        at += len(part)
    return b"".join(parts)


def set_aside(path: str, fd: int, found: Reading, data: bytes, disk: Disk) -> str:
    """Move a last line that was cut short to a file of its own, then cut it off; the sentence for people.

    Raises OSError.
    """
    torn = data[found.size :]
    number = 1
    while True:
        beside = f"{path.removesuffix('.jsonl')}.torn-{number}"
        try:
            write_new(beside, torn, 0o644, disk)
            break
        except FileExistsError:
            number += 1
    disk.ftruncate(fd, found.size)
    goes_on = f"the log goes on after event {len(found.events)}" if found.events else "the log begins anew"
    return (
        f"the last line was cut short ({len(torn)} bytes) and had never been confirmed as kept;"
        f" it is set aside in {os.path.basename(beside)}, and {goes_on}"
    )


def write_again(path: str, rest: bytes, at: int, disk: Disk) -> str:
    """Write in place what a former writer could not confirm: the system may hold it without the disk having it.

    The bytes are the same, so a power cut in the midst of it takes nothing away. The caller syncs. Answers with the
    sentence for people; raises OSError.
    """
    fd = disk.open(path, os.O_WRONLY | os.O_CLOEXEC)
    try:
        os.lseek(fd, at, os.SEEK_SET)
        if rest and disk.write(fd, rest) != len(rest):
            raise OSError(None, "not all of it could be written again")
    finally:
        os.close(fd)
    return "the last writer could not confirm what it wrote; it was written again and is confirmed now"
