"""The few calls by which a log reaches the disk, in one place, so that a test can make any of them fail."""

from __future__ import annotations

import contextlib
import errno
import fcntl
import os
import sys
from typing import Protocol

_WORDS = {
    errno.ENOSPC: "no space is left on the disk",
    errno.EDQUOT: "the disk quota is used up",
    errno.EFBIG: "the file may not grow any further",
    errno.EIO: "the disk reports a fault",
    errno.EROFS: "the disk is read-only",
    errno.EACCES: "this account may not do that here",
    errno.EPERM: "this account may not do that here",
    errno.ENOENT: "it is not there",
    errno.ENOTDIR: "a part of its path is not a folder",
    errno.EISDIR: "it is a folder",
    errno.ENAMETOOLONG: "the name is too long",
}


def said(error: OSError) -> str:
    """Why the system refused, in a few words; its own words for what is rare."""
    return _WORDS.get(error.errno or 0) or (error.strerror or type(error).__name__).lower()


class Disk(Protocol):
    """What a log asks of the operating system; each raises OSError as the calls of `os` do."""

    def open(self, path: str, flags: int, mode: int = 0o666, /) -> int: ...
    def write(self, fd: int, data: bytes, /) -> int: ...
    def fsync(self, fd: int, /) -> None: ...
    def ftruncate(self, fd: int, length: int, /) -> None: ...
    def fstat(self, fd: int, /) -> os.stat_result: ...
    def stat(self, path: str, /) -> os.stat_result: ...
    def replace(self, old: str, new: str, /) -> None: ...


def _full_sync(fd: int) -> None:
    """Sync through the drive's own cache; macOS keeps that apart from fsync, and not every folder offers it."""
    try:
        fcntl.fcntl(fd, fcntl.F_FULLFSYNC)  # type: ignore[attr-defined,unused-ignore]
    except OSError:
        os.fsync(fd)


class OsDisk:
    """The real disk."""

    open = staticmethod(os.open)
    write = staticmethod(os.write)
    fsync = staticmethod(_full_sync if sys.platform == "darwin" else os.fsync)
    ftruncate = staticmethod(os.ftruncate)
    fstat = staticmethod(os.fstat)
    stat = staticmethod(os.stat)
    replace = staticmethod(os.replace)


DISK: Disk = OsDisk()


def sync_folder(folder: str, disk: Disk = DISK) -> None:
    """Make the names in a folder stand on disk (a new file is not there for good before); raises OSError."""
    fd = disk.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    try:
        disk.fsync(fd)
    finally:
        os.close(fd)


def write_new(path: str, data: bytes, mode: int = 0o666, disk: Disk = DISK) -> None:
    """Write a file that must not be there yet, and sync it and its folder.

    Raises FileExistsError if it is there, OSError if it could not be written whole; then nothing is left of it.
    """
    fd = disk.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, mode)
    try:
        _fill(fd, data, disk)
    except BaseException:
        os.close(fd)
        with contextlib.suppress(OSError):
            os.unlink(path)
        raise
    os.close(fd)
    sync_folder(os.path.dirname(path) or ".", disk)


def write_whole(path: str, data: bytes, mode: int = 0o666, disk: Disk = DISK, *, alone: bool = False) -> None:
    """Put `data` in place of the file at once: a reader sees the old or the new, after a crash too. Raises OSError.

    `mode` holds for the new file whatever the old one had, within the account's mask. `alone` says that nobody else
    can be writing it, so that what a crash left beside it is used again, and that it need not outlive a power cut.
    """
    folder = os.path.dirname(path) or "."
    beside = os.path.join(folder, f".{os.path.basename(path)}.{'' if alone else f'{os.getpid()}.'}new")
    with contextlib.suppress(FileNotFoundError):
        os.unlink(beside)  # of a run that died, with the same process number if others may be writing
    fd = disk.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, mode)
    try:
        try:
            _fill(fd, data, disk)
        finally:
            os.close(fd)
        disk.replace(beside, path)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(beside)
        raise
    if not alone:
        sync_folder(folder, disk)


def _fill(fd: int, data: bytes, disk: Disk) -> None:
    done = 0
    while done < len(data):
        taken = disk.write(fd, data[done:])
        if not taken:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        done += taken
    disk.fsync(fd)
