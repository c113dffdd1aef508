"""What a job began with and did last, without reading all of its log."""

from __future__ import annotations

import os
from dataclasses import dataclass
from hashlib import sha256

import orjson

from ..errors import Failure
from .disk import said
from .folder import JobFolder
from .line import HASH_TAIL, LONGEST, Event

_TAIL = 1 << 14  # bytes read from the end at first


@dataclass(frozen=True, slots=True)
class Glance:
    """A job's first and last event (None where there is none), or why nothing can be said of it.

    Each line was checked against its own hash, the chain between them was not: that is for opening, and for audit.
    Events are as written, not lifted to a later version.
    """

    job: str
    first: Event | None
    last: Event | None
    why: str | None = None


def glance(job: JobFolder) -> Glance:
    """Look at the first and the last line of a job's log. Never raises: what is wrong stands in `why`."""
    try:
        with open(job.log, "rb", buffering=0) as file:
            size = os.fstat(file.fileno()).st_size
            head = _first_line(file.fileno(), size)
            tail = _last_line(file.fileno(), size)
    except FileNotFoundError:
        return Glance(job.id, None, None, "nothing was written yet")
    except OSError as error:
        return Glance(job.id, None, None, f"the log cannot be read: {said(error)}")
    if head is None or tail is None:
        return Glance(job.id, None, None, "nothing was written yet")
    try:
        return Glance(job.id, _event(head, "first"), _event(tail, "last"))
    except Failure as failure:
        return Glance(job.id, None, None, failure.message)


def _first_line(fd: int, size: int) -> bytes | None:
    data = b""
    while len(data) < min(size, 2 * LONGEST):
        part = os.pread(fd, _TAIL, len(data))
        data += part
        if (end := data.find(b"\n")) >= 0:
            return data[:end]
        if not part:
            break
    return None


def _last_line(fd: int, size: int) -> bytes | None:
    """The last line that has an end; what follows it was cut short and counts as not written."""
    data = b""
    at = size
    while at > 0 and len(data) < 3 * LONGEST:
        start = max(0, at - max(_TAIL, len(data)))
        data = os.pread(fd, at - start, start) + data
        at = start
        end = data.rfind(b"\n")
        if end < 0:
            continue
        before = data.rfind(b"\n", 0, end)
        if before >= 0 or at == 0:
            return data[before + 1 : end]
    return None


def _event(line: bytes, which: str) -> Event:
    wrong = Failure(f"the {which} line of the log is damaged")
    try:
        event = orjson.loads(line)
    except orjson.JSONDecodeError:
        raise wrong from None
    if not isinstance(event, dict) or event.get("hash") != sha256(line[:-HASH_TAIL]).hexdigest():
        raise wrong
    return event
