"""An owner's personal facts: apart from the log, and removable.

The log holds only a salted hash of them, so it can show that the facts are those given at intake, and cannot give them
away: the salt lies with the facts and goes with them.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Mapping
from hashlib import sha256

import orjson

from ..errors import Failure, Refused
from . import words
from .disk import DISK, Disk, said, sync_folder
from .folder import JobFolder
from .yamlfile import place, quoted, read_map, text_at, write_text

LEAST_SALT = 16  # bytes
_WHAT = "the owner's file"


def keep_owner(job: JobFolder, facts: Mapping[str, str], salt: bytes, disk: Disk = DISK) -> str:
    """Write the owner's facts (`name`, `contact` and the like) beside the log; the hash of them for the log.

    `salt` is at least 16 bytes of chance, handed in. Raises Refused, Failure.
    """
    if len(salt) < LEAST_SALT:
        raise ValueError(f"a salt of {len(salt)} bytes is too short; {LEAST_SALT} are the least")
    kept = {words.role(key): words.some_lines(value, f"the owner's {key}") for key, value in facts.items()}
    if "salt" in kept:
        raise Refused("an owner's fact cannot be called 'salt'")
    lines = ["# Personal facts. This file can be removed; the job's log stays whole without it."]
    lines += [f"{key}: {quoted(value)}" for key, value in kept.items()]
    lines.append(f"salt: {quoted(salt.hex())}")
    write_text(os.fspath(job.owner), "\n".join(lines) + "\n", _WHAT, 0o600, disk)
    return _digest(kept, salt)


def owner(job: JobFolder) -> dict[str, str] | None:
    """The owner's facts, None if they were removed or never given. Raises Failure if they cannot be read."""
    found = _read(job)
    return None if found is None else found[0]


def owner_matches(job: JobFolder, digest: str) -> bool | None:
    """Whether the facts are those whose hash the log holds; None if they were removed. Raises Failure."""
    found = _read(job)
    return None if found is None else _digest(*found) == digest


def remove_owner(job: JobFolder, disk: Disk = DISK) -> bool:
    """Remove the owner's facts for good; whether there were any. Raises Failure."""
    try:
        os.unlink(job.owner)
    except FileNotFoundError:
        return False
    except OSError as error:
        raise Failure(f"{_WHAT} cannot be removed: {said(error)}", os.fspath(job.owner)) from None
    with contextlib.suppress(OSError):  # the name is gone; only a power cut this moment could bring it back
        sync_folder(os.fspath(job.path), disk)
    return True


def _read(job: JobFolder) -> tuple[dict[str, str], bytes] | None:
    path = os.fspath(job.owner)
    if not os.path.lexists(path):
        return None
    fields = read_map(path, _WHAT)
    facts = {key: text_at(fields, key, path, "") for key in fields if key != "salt"}
    try:
        salt = bytes.fromhex(text_at(fields, "salt", path))
    except ValueError:
        raise Failure("the salt is not written in hex", place(fields, "salt", path)) from None
    return facts, salt


def _digest(facts: Mapping[str, str], salt: bytes) -> str:
    return sha256(b"benchwalk owner\0" + salt + orjson.dumps(dict(facts), option=orjson.OPT_SORT_KEYS)).hexdigest()
