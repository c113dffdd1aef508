"""The log of a job, open for writing: written and synced before anybody is told so.

`append` takes all events of one act, and answers once they stand on disk. What can go wrong is one of four things,
each said in its own words:

- NothingKept: the disk took none of it or only a part, which was cut off again; the log is as before and goes on.
- NotConfirmed: written, but the disk never confirmed it. It may or may not be there after a power cut; this writer
  stops for good, for a second sync would only seem to help: the system has already forgotten what it failed to write.
- LogChanged: the file is not as this writer left it; somebody else wrote to it, or put another in its place.
- HeldElsewhere: somebody else is the writer.

A JobLog belongs to one thread.
"""

from __future__ import annotations

import contextlib
import os
import time
from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import TracebackType
from typing import Any, Self

from ..errors import Failure
from . import lock
from .disk import DISK, Disk, said, sync_folder
from .line import FIRST, Event, seal
from .lock import Holder
from .mend import all_of, open_file, set_aside, write_again
from .reading import LIFTS, Reading, check, current_versions, read, verify
from .trouble import DamagedLog, HeadNotFound, HeldElsewhere, LogChanged, NewerLog, NotConfirmed, NothingKept

__all__ = [
    "LIFTS",
    "DamagedLog",
    "HeadNotFound",
    "HeldElsewhere",
    "Holder",
    "JobLog",
    "LogChanged",
    "NewerLog",
    "NotConfirmed",
    "NothingKept",
    "Reading",
    "read",
    "verify",
]

_PAUSE = 0.02  # s between two tries to become the writer


class JobLog:
    """One log and the right to write it, from `open` to `close` (or use it in a `with`).

    `opened` is what the log held when it was opened, `notices` what a person must be told about that, `taken_over`
    the writer on another machine whose note was taken over (the caller logs it). `head` is the last line's hash,
    `next_n` the number the next event must have.
    """

    def __init__(self, path: str, fd: int, holder: Holder, disk: Disk) -> None:
        """Not called directly: see `open`."""
        self.path = path
        self.holder = holder
        self.notices: list[str] = []
        self.taken_over: Holder | None = None
        self.opened = Reading([], FIRST.decode(), None, 0)
        self._disk, self._fd = disk, fd
        self._write, self._fsync, self._fstat, self._stat = disk.write, disk.fsync, disk.fstat, disk.stat
        self._versions = current_versions()
        self._n, self._head = 1, FIRST
        self._size = self._mtime = self._inode = 0
        self._over: Failure | None = None
        self._interrupted = Failure("an act was interrupted while it was being written; open the log again", path)

    @classmethod
    def open(
        cls,
        path: str | os.PathLike[str],
        holder: Holder,
        *,
        take_over: str | None = None,
        patience: float = 0.0,
        disk: Disk = DISK,
    ) -> Self:
        """Become the writer of the log at `path`, which is begun if it is not there; its folder must be.

        Everything in it is checked and synced before it is built upon. A last line cut short is set aside and told
        in `notices`. `patience` (s) waits for another writer to finish. Raises HeldElsewhere, DamagedLog,
        NotConfirmed, Failure; then nothing is held.
        """
        where = os.path.abspath(os.fspath(path))
        tries = int(patience / _PAUSE)
        while True:
            fd = open_file(where, disk)
            log = cls(where, fd, holder, disk)
            try:
                if log._settle_in(take_over):
                    return log
            except HeldElsewhere:
                os.close(fd)
                if tries <= 0:
                    raise
                tries -= 1
                time.sleep(_PAUSE)
            except BaseException:
                log.close()
                raise
            else:
                os.close(fd)

    @property
    def head(self) -> str:
        """The hash of the last event, 64 zeros before the first."""
        return self._head.decode()

    @property
    def next_n(self) -> int:
        """The number the next event must have."""
        return self._n

    @property
    def over(self) -> Failure | None:
        """Why nothing more can be appended here, if so."""
        return self._over

    def append(self, bodies: Sequence[Mapping[str, Any]]) -> list[Event]:
        """Write the events of one act, all or none, and answer with them as they stand in the log, synced.

        Raises Refused for a body that is no event or has the wrong number, NothingKept, NotConfirmed, LogChanged.
        """
        if self._over is not None:
            raise self._over
        n, head, versions = self._n, self._head, self._versions
        data = b""
        events: list[Event] = []
        for body in bodies:
            line, digest = seal(body, n, head, versions)
            event = dict(body)
            event["before"], event["hash"] = head.decode(), digest.decode()
            events.append(event)
            data = data + line if data else line
            n, head = n + 1, digest
        if not events:
            return events
        now = self._fstat(self._fd)
        if now.st_size != self._size or now.st_mtime_ns != self._mtime or not now.st_nlink:
            raise self._changed("before this act; nothing of it was written")
        self._over = self._interrupted
        try:
            written = self._write(self._fd, data)
        except OSError as error:
            raise self._cut_back(said(error)) from None
        if written != len(data):
            raise self._cut_back(f"the disk took only {written} of {len(data)} bytes")
        try:
            self._fsync(self._fd)
        except OSError as error:
            raise self._unconfirmed(
                f"this act is written but was never confirmed: {said(error)}. Work stops here; all before it is safe."
                " Note it on paper, and open the job again when the disk is well",
                self._size,
            ) from None
        try:
            now = self._stat(self.path)  # by its path, where another file may stand; its time is for the next act
        except OSError:
            raise self._changed("while this act was being written; it is not in the log") from None
        self._size += written
        if now.st_ino != self._inode:
            raise self._changed("while this act was being written; it is not in the log")
        if now.st_size != self._size:
            raise self._changed("while this act was being written; whether it counts is not known")
        self._mtime, self._n, self._head, self._over = now.st_mtime_ns, n, head, None
        return events

    def close(self) -> None:
        """Give up the right to write; may be called twice."""
        if self._fd >= 0:
            lock.remove(lock.note_path(self.path), self.holder)
            os.close(self._fd)
            self._fd = -1
        if self._over is None:
            self._over = Failure("this log was closed; open it again to go on", self.path)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self.close()

    def _settle_in(self, reason: str | None) -> bool:
        """Take the lock, read, mend what may be mended; False if the file was replaced before the lock was had."""
        disk, fd, path = self._disk, self._fd, self.path
        taken = lock.take(fd, path, self.holder, reason=reason, disk=disk)
        self.taken_over = taken.taken_over
        self.holder = replace(self.holder, unconfirmed=taken.unconfirmed)
        mine = disk.fstat(fd)
        try:
            there = disk.stat(path)
        except FileNotFoundError:
            there = None
        if there is None or (mine.st_ino, mine.st_dev) != (there.st_ino, there.st_dev):
            lock.remove(lock.note_path(path), self.holder)
            return False
        try:
            data = all_of(fd)
            found = check(data, path)
            if found.torn is not None:
                self.notices.append(set_aside(path, fd, found, data, disk))
            if taken.unconfirmed is not None:
                self.notices.append(write_again(path, data[taken.unconfirmed : found.size], taken.unconfirmed, disk))
            disk.fsync(fd)
            sync_folder(os.path.dirname(path), disk)
            now = disk.fstat(fd)
        except OSError as error:
            why = f"what the log holds could not be made to stand on disk: {said(error)}"
            raise self._unconfirmed(why, 0) from None
        if taken.unconfirmed is not None:
            self.holder = replace(self.holder, unconfirmed=None)
            lock.leave(lock.note_path(path), self.holder, disk)
        self.opened = found
        self._n, self._head, self._size = len(found.events) + 1, found.head.encode(), found.size
        self._mtime, self._inode = now.st_mtime_ns, now.st_ino
        if now.st_size != self._size:
            raise self._changed("while it was being opened")
        return True

    def _cut_back(self, why: str) -> Failure:
        """Bring the file back to its last whole end after a write that failed; the error to raise."""
        try:
            self._disk.ftruncate(self._fd, self._size)
            self._disk.fsync(self._fd)
            self._mtime = self._disk.fstat(self._fd).st_mtime_ns
        except OSError as error:
            self._over = NothingKept(
                f"this act was not kept: {why}. A part of it may stand at the end of the log and could not be cut off"
                f" ({said(error)}); it does not count. Close the job and open it again when the disk is well",
                self.path,
            )
            return self._over
        self._over = None
        return NothingKept(f"nothing of this act was kept: {why}. All before it is safe", self.path)

    def _unconfirmed(self, why: str, sure: int) -> Failure:
        """Stop for good after a sync that failed, and leave word for the next writer of what is sure; the error."""
        self._over = NotConfirmed(why, self.path)
        if self.holder.unconfirmed is None:
            self.holder = replace(self.holder, unconfirmed=sure)
        with contextlib.suppress(Failure):
            lock.leave(lock.note_path(self.path), self.holder, self._disk)
        return self._over

    def _changed(self, when: str) -> Failure:
        """Stop for good because the file is not this writer's any more; the error to raise."""
        self._over = LogChanged(
            f"somebody else changed the log or put another in its place {when}."
            " Close the job and open it again to see what it holds",
            self.path,
        )
        return self._over
