"""One event as one line of bytes, and back.

A line is a JSON object in our own canonical form: no spaces, keys in the order given, numbers as text (whole numbers
may stand as they are, fractions may not: two programs write the same fraction in different ways). It opens with `v`,
`n`, `at`, `who`, `what` and closes with `before`, the hash of the line before it, and `hash`, the SHA-256 of this
line's bytes up to `,"hash":`. So no byte of a log can change without some line no longer fitting.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime
from hashlib import sha256
from typing import Any

import orjson

from ..errors import Refused

Event = dict[str, Any]

OPENING = ("v", "n", "at", "who", "what")
FIRST = b"0" * 64  # what the first line has before it
LONGEST = 1_000_000  # bytes of one line
HASH_TAIL = len(b',"hash":"') + 64 + len(b'"}')

_PLAIN = frozenset((str, int, bool, type(None)))
_MOMENT = r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d+)?(?:Z|[+-]\d\d:\d\d)"
# How every line goes on after `{"v":1,"n":12`. One match says what checks of the parsed event would, much faster.
_GOES_ON = rb',"at":"' + _MOMENT.encode() + rb'","who":"[^"\\]+","what":"[^"\\]+"[,}]'
goes_on = re.compile(_GOES_ON).match
_opens = re.compile(rb'\{"v":\d+,"n":\d+' + _GOES_ON).match

# Looked up once: what follows is called for every event that is kept.
_dumps = orjson.dumps
_all_plain = _PLAIN.issuperset
_NONE: dict[str, int] = {}


def stamp(now: datetime, timespec: str = "seconds") -> str:
    """A moment as events carry it: RFC 3339 with offset. Raises ValueError for a time without one."""
    if now.utcoffset() is None:
        raise ValueError("a time without an offset cannot be written down; hand in one with its time zone")
    return now.isoformat(timespec=timespec)


def seal(body: Mapping[str, Any], n: int, before: bytes, versions: Mapping[str, int] = _NONE) -> tuple[bytes, bytes]:
    """The line of event `n` with its newline, and its hash; `before` is the hash of the line before it.

    `versions` holds the version now written of each kind of event that is not at 1. Raises Refused for a body that
    cannot be an event here: wrong number or version, a key or the time missing, a fraction.
    """
    if not _all_plain(map(type, body.values())) and (odd := strange(body)):
        raise Refused(f"event {n} cannot be written: {odd}")
    try:
        raw = _dumps(body)
    except (TypeError, orjson.JSONEncodeError) as error:
        raise Refused(f"event {n} cannot be written: {_unwritable(error)}") from None
    version = versions.get(str(body.get("what")), 1) if versions else 1
    numbered = body.get("n") == n and body.get("v") == version
    if not numbered or not _opens(raw) or "hash" in body or "before" in body:
        raise Refused(f"event {n} cannot be written: {_misshapen(body, n, versions)}")
    if len(raw) > LONGEST:
        raise Refused(f"event {n} cannot be written: it would take {len(raw)} bytes, and a line holds {LONGEST}")
    head = b"".join((raw[:-1], b',"before":"', before, b'"'))
    digest = sha256(head).hexdigest().encode()
    return b"".join((head, b',"hash":"', digest, b'"}\n')), digest


def lacking(event: Mapping[str, Any]) -> str | None:
    """What an event lacks of the five keys that every one opens with, in words; None if nothing."""
    for key in OPENING:
        if key not in event:
            return f"it has no '{key}'"
        value = event[key]
        if key in ("v", "n"):
            if type(value) is not int or value < 1:
                return f"its '{key}' is {value!r} where a whole number from 1 is expected"
        elif type(value) is not str or not value:
            return f"its '{key}' is {value!r} where words are expected"
        elif key == "at" and not re.fullmatch(_MOMENT, value):
            return f"its time is {value!r} where a date, a time and an offset are expected"
        elif '"' in value or "\\" in value or not value.isprintable():
            return f"its '{key}' is {value!r}, which holds a character that may not stand there"
    if tuple(event)[: len(OPENING)] != OPENING:
        return "its keys do not open with v, n, at, who, what in this order"
    return None


def strange(value: object, at: str = "") -> str | None:
    """What in an event is neither text, a whole number, yes, no, nothing, nor a list or mapping of these; else None."""
    if type(value) in _PLAIN:
        return None
    place = f"'{at}'" if at else "a value"
    if isinstance(value, float):
        return f"{place} is the fraction {value!r}; numbers are kept as text"
    if isinstance(value, Mapping):
        for key, inner in value.items():
            if type(key) is not str:
                return f"{place} has the key {key!r}, which is no text"
            if found := strange(inner, f"{at}.{key}" if at else key):
                return found
        return None
    if isinstance(value, list | tuple):
        return next((found for inner in value if (found := strange(inner, at))), None)
    return f"{place} is a {type(value).__name__}, which a log does not keep"


def _misshapen(body: Mapping[str, Any], n: int, versions: Mapping[str, int]) -> str:
    for key in ("before", "hash"):
        if key in body:
            return f"it brings its own '{key}', which the log sets"
    if lack := lacking(body):
        return lack
    if body["n"] != n:
        return f"it is numbered {body['n']}, and the next number here is {n}"
    return f"it is '{body['what']}' in version {body['v']}, and version {versions.get(body['what'], 1)} is written"


def _unwritable(error: Exception) -> str:
    words = str(error)
    if "surrogate" in words or "UTF-8" in words:
        return "a text in it holds half of a character"
    if "64-bit" in words:
        return "a whole number in it is too large; write it as text"
    return words
