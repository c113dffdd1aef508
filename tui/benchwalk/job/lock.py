"""One writer at a time.

The lock is the kernel's, on the log file itself, and dies with its holder. A small note beside the log says who holds
it, where and since when. The note alone locks nothing, with one exception: in a folder that two machines share, the
kernel's lock of the other machine may not reach here, so a note from another machine is never presumed stale.
"""

from __future__ import annotations

import contextlib
import errno
import fcntl
import os
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from functools import cache
from hashlib import sha256
from pathlib import Path

import orjson

from ..errors import Failure
from .disk import DISK, Disk, said, write_whole
from .line import stamp
from .trouble import HeldElsewhere

_MACHINE_IDS = ("/etc/machine-id", "/var/lib/dbus/machine-id")


@dataclass(frozen=True, slots=True)
class Holder:
    """Who writes a log: the person, the machine (its name and a mark of its own), the process, and since when."""

    who: str
    host: str
    machine: str
    pid: int
    since: str
    unconfirmed: int | None = None  # how many bytes of the log are sure to stand on disk, if a sync failed after them

    @classmethod
    def here(cls, who: str, now: datetime) -> Holder:
        """This process on this machine, from `now` on."""
        return cls(who, os.uname().nodename, _machine(), os.getpid(), stamp(now))

    def said(self) -> str:
        """Who, where and since when, in words."""
        return f"{self.who} on {self.host} (process {self.pid}) since {self.since}"

    def same_machine(self, other: Holder) -> bool:
        """Whether both speak of one machine."""
        return (self.host, self.machine) == (other.host, other.machine)


@dataclass(frozen=True, slots=True)
class Taken:
    """What taking a lock found: the holder that was taken over, and how much was confirmed if not all was."""

    taken_over: Holder | None = None
    unconfirmed: int | None = None


def note_path(log: str) -> str:
    """Where the note of a log's writer lies: `writer.json` beside a job's log, else named after the log."""
    folder, name = os.path.split(log)
    return os.path.join(folder, "writer.json" if name == "log.jsonl" else f"{name.removesuffix('.jsonl')}.writer.json")


def take(fd: int, log: str, holder: Holder, *, reason: str | None = None, disk: Disk = DISK) -> Taken:
    """Take the lock of the open log `fd` and leave the note.

    `reason` takes over from a note of another machine (the caller logs it); it never takes a lock that is held.
    Raises HeldElsewhere, or Failure where the folder cannot lock or keep the note.
    """
    note = note_path(log)
    try:
        fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        if error.errno not in (errno.EWOULDBLOCK, errno.EACCES):
            raise Failure(f"the log cannot be locked: {said(error)}", log) from None
        held, _ = look(note)
        by = held.said() if held else "another program, which has not said who it is"
        raise HeldElsewhere(f"this is being written by {by}; wait, or close it there", held, log) from None
    held, there = look(note)
    foreign = there and (held is None or not held.same_machine(holder))
    if foreign and not (reason and reason.strip()):
        by = held.said() if held else "somebody whose note cannot be read"
        raise HeldElsewhere(
            f"this is held by {by}, and from here nobody can tell whether that still holds;"
            " make sure it does not, then take it over with a reason",
            held,
            log,
        )
    unconfirmed = held.unconfirmed if held else None
    leave(note, replace(holder, unconfirmed=unconfirmed), disk)
    return Taken(held if foreign else None, unconfirmed)


def leave(note: str, holder: Holder, disk: Disk = DISK) -> None:
    """Write the note. Raises Failure."""
    try:
        write_whole(note, orjson.dumps(asdict(holder)) + b"\n", 0o644, disk, alone=True)
    except OSError as error:
        raise Failure(f"the note of who is writing cannot be kept: {said(error)}", note) from None


def remove(note: str, holder: Holder) -> None:
    """Take the note away again, if it is still this holder's and says that all is sure; called under the lock."""
    held, _ = look(note)
    if held is not None and held == replace(holder, unconfirmed=None):
        with contextlib.suppress(OSError):
            os.unlink(note)


def look(note: str) -> tuple[Holder | None, bool]:
    """Who the note names (None if it cannot be read), and whether there is a note at all."""
    try:
        data = Path(note).read_bytes()
    except FileNotFoundError:
        return None, False
    except OSError:
        return None, True
    try:
        found = orjson.loads(data)
    except orjson.JSONDecodeError:
        return None, True
    if not isinstance(found, Mapping):
        return None, True
    who, host, machine, since = (found.get(key) for key in ("who", "host", "machine", "since"))
    pid, unconfirmed = found.get("pid"), found.get("unconfirmed")
    if not (isinstance(who, str) and isinstance(host, str) and isinstance(machine, str) and isinstance(since, str)):
        return None, True
    if not isinstance(pid, int) or not isinstance(unconfirmed, int | None):
        return None, True
    return Holder(who, host, machine, pid, since, unconfirmed), True


@cache
def _machine() -> str:
    """A short mark that tells this machine from another of the same name; empty where the system keeps none."""
    for path in _MACHINE_IDS:
        with contextlib.suppress(OSError):
            return sha256(b"benchwalk writer " + Path(path).read_bytes().strip()).hexdigest()[:12]
    return ""
