"""A log read back: every line checked against the one before it, and nothing guessed."""

from __future__ import annotations

import codecs
import os
import re
from collections.abc import Callable
from dataclasses import dataclass
from hashlib import sha256

import orjson

from ..errors import Failure
from .disk import said
from .line import FIRST, HASH_TAIL, Event, goes_on, lacking, strange
from .trouble import DamagedLog, HeadNotFound, NewerLog

# (what, version) -> the same event one version later. Stepwise, so that each step is written and tested once.
LIFTS: dict[tuple[str, int], Callable[[Event], Event]] = {}

_STRING = re.compile(rb'"(?:[^"\\]|\\.)*(?:"|\\?\Z)', re.DOTALL)
_SECTOR = 512  # bytes; disks with larger ones keep these whole too
_SHORTEST_HEAD = 16  # characters of a head, as printed on a sheet, that still tell one log from another


@dataclass(frozen=True, slots=True)
class Reading:
    """What a log holds.

    `events` are lifted to the current versions and carry `before` and `hash`; `head` is the last line's hash (64
    zeros for an empty log); `torn` is a last line cut short, which counts as not written; `size` is where the whole
    lines end, in bytes.
    """

    events: list[Event]
    head: str
    torn: bytes | None
    size: int


def current_versions() -> dict[str, int]:
    """The version now written of every kind of event that ever had another; all others are at 1."""
    current: dict[str, int] = {}
    for what, version in LIFTS:
        current[what] = max(current.get(what, 1), version + 1)
    return current


def read(path: str | os.PathLike[str], *, strict: bool = False) -> Reading:
    """Read a log and check every line; needs no lock and changes nothing.

    Raises DamagedLog naming the first bad line, Failure if there is no reading the file. `strict` also looks for
    what this program never writes, a fraction or a key twice: there somebody made the hashes anew.
    """
    try:
        with open(path, "rb", buffering=0) as file:
            data = file.readall() or b""
    except OSError as error:
        raise Failure(f"the log cannot be read: {said(error)}", os.fspath(path)) from None
    return check(data, os.fspath(path), strict=strict)


def verify(path: str | os.PathLike[str], head: str) -> tuple[Reading, int]:
    """Read a log and find a head that was kept outside it: the reading, and the number of the event it belongs to.

    A chain alone cannot show that whole lines are missing at its end, or that all of it was made anew; a head kept
    elsewhere can. `head` is the whole hash or its first 16 characters or more. Raises HeadNotFound, DamagedLog.
    """
    reading = read(path)
    wanted = head.strip().lower()
    if not re.fullmatch(rf"[0-9a-f]{{{_SHORTEST_HEAD},64}}", wanted):
        raise Failure(f"'{head}' is no head: {_SHORTEST_HEAD} to 64 characters out of 0-9 and a-f are expected")
    if FIRST.decode().startswith(wanted):
        return reading, 0
    for event in reversed(reading.events):
        if event["hash"].startswith(wanted):
            return reading, event["n"]
    last = len(reading.events)
    raise HeadNotFound(
        None,
        f"the head {wanted[:_SHORTEST_HEAD]} is not in this log, which ends at event {last} with"
        f" {reading.head[:_SHORTEST_HEAD]}: lines are missing at its end, or it was made anew",
        os.fspath(path),
    )


def check(data: bytes, where: str, *, strict: bool = False) -> Reading:
    """Check the bytes of a whole log; `where` names it in errors. Raises DamagedLog naming the first bad line."""
    lines = data.split(b"\n")
    rest = lines.pop()
    events: list[Event] = []
    add, loads = events.append, orjson.loads
    current = current_versions()
    before = FIRST.decode()
    closely = strict or bool(current)
    start = b'{"v":1,"n":'
    at, turn = len(start) + 1, 10  # where the time stands in a line, and from which number on a byte later
    for n, line in enumerate(lines, 1):
        if n == turn:
            at, turn = at + 1, turn * 10
        digest = sha256(line[:-HASH_TAIL]).hexdigest()
        try:
            event = loads(line)
            fits = event["hash"] == digest and event["before"] == before and event["n"] == n and event["v"] == 1
        except (ValueError, KeyError, TypeError):
            fits = False
        if not fits or closely or not line.startswith(start) or not goes_on(line, at):
            event = _looked_at(line, n, before, current, where, strict)
        add(event)
        before = digest
    if rest:
        _settle(rest, len(data) - len(rest), len(lines) + 1, before, where)
    return Reading(events, before, rest or None, len(data) - len(rest))


def _looked_at(line: bytes, n: int, before: str, current: dict[str, int], where: str, strict: bool) -> Event:
    """The event of a line, everything about it looked at in turn, and lifted. Raises DamagedLog with what is wrong."""
    if unfit := _unfit(line, before):
        raise DamagedLog(n, unfit, where)
    try:
        event = orjson.loads(line)
    except orjson.JSONDecodeError:
        event = None
    if not isinstance(event, dict):
        raise DamagedLog(n, "it is not an event, though its hash fits", where)
    if lack := lacking(event):
        raise DamagedLog(n, f"{lack}, though its hash fits", where)
    if event["n"] != n:
        raise DamagedLog(n, f"it is numbered {event['n']}, though its hash fits", where)
    if strict and (odd := strange(event)):
        raise DamagedLog(n, f"{odd}, though its hash fits", where)
    if orjson.dumps(event) != line:
        raise DamagedLog(n, "it is not in the form that this program writes, though its hash fits", where)
    return event if event["v"] == current.get(event["what"], 1) else _lifted(event, current, where)


def _unfit(line: bytes, before: str) -> str | None:
    """Why a line does not close as it must, with its own hash and that of the line before it; None if it does."""
    if not line:
        return "it is empty"
    content, tail = line[:-HASH_TAIL], line[-HASH_TAIL:]
    if not re.fullmatch(rb',"hash":"[0-9a-f]{64}"\}', tail):
        return "it does not close as an event does"
    if tail[9:73] != sha256(content).hexdigest().encode():
        return "its bytes do not give its own hash; it was changed after it was written"
    link = re.search(rb',"before":"([0-9a-f]{64})"\Z', content)
    if link is None:
        return "it does not say what came before it"
    if link[1] != before.encode():
        return f"it follows a line with the hash {link[1][:16].decode()}, and the line before it has {before[:16]}"
    return None


def _lifted(event: Event, current: dict[str, int], where: str) -> Event:
    """The event at the version now written, one step at a time."""
    what, n = event["what"], event["n"]
    known = current.get(what, 1)
    if event["v"] > known:
        raise NewerLog(
            n,
            f"it is '{what}' in version {event['v']}, and this Benchwalk knows it up to version {known};"
            " open the job with the newer Benchwalk that wrote it",
            where,
        )
    while event["v"] < known:
        version = event["v"]
        step = LIFTS.get((what, version))
        if step is None:
            raise NewerLog(n, f"it is '{what}' in version {version}, which this Benchwalk no longer reads", where)
        kept = {key: event[key] for key in ("n", "before", "hash")}
        event = {**step(dict(event)), **kept, "v": version + 1}
    return event


def _settle(rest: bytes, at: int, n: int, before: str, where: str) -> None:
    """Pass what stands after the last newline if it is a line cut short; raise DamagedLog if it is anything else."""
    whole = _whole_at(rest)
    if whole is None:
        if not _begins_line(_without_zeros(rest, at), n):
            raise DamagedLog(n, "it has no end, and is not the beginning of an event either", where)
        return
    if whole < len(rest):
        raise DamagedLog(n, "a whole event stands there, followed by something else than a newline", where)
    if unfit := _unfit(rest, before):
        raise DamagedLog(n, unfit, where)


def _without_zeros(rest: bytes, at: int) -> bytes:
    """`rest`, which stands at byte `at`, without zeros at its end where a power cut leaves them.

    A disk keeps whole sectors: where it did not keep the rest of a line, zeros stand from the line's beginning or from
    the beginning of a sector on, and nowhere else.
    """
    bare = rest.rstrip(b"\0")
    return bare if not bare or (at + len(bare)) % _SECTOR == 0 else rest


def _whole_at(rest: bytes) -> int | None:
    """Where the first complete object in `rest` ends; None if it does not."""
    depth = 0
    for mark in re.finditer(rb"[{}]", _STRING.sub(lambda text: b" " * len(text[0]), rest)):
        depth += 1 if mark[0] == b"{" else -1
        if depth <= 0:
            return mark.end()
    return None


def _begins_line(rest: bytes, n: int) -> bool:
    """Whether `rest` can be the beginning of event `n`: as far as it goes, it opens as one and is text."""
    openings = (b'{"v":%d,"n":%d,"at":"' % (version, n) for version in range(1, 100))
    if not any(opening.startswith(rest) or rest.startswith(opening) for opening in openings):
        return False
    if any(byte < 0x20 for byte in rest):
        return False
    try:
        codecs.getincrementaldecoder("utf-8")().decode(rest, final=False)
    except UnicodeDecodeError:
        return False
    return True
