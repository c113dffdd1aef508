"""A damaged log as far as it still verifies, for reading only: nobody works on in such a job."""

from __future__ import annotations

import os

from ..errors import Failure
from .disk import said
from .reading import Reading, check
from .trouble import DamagedLog

DAMAGED = "THIS LOG IS DAMAGED"
"""How what is said above a damaged log begins."""


def read_so_far(path: str | os.PathLike[str]) -> tuple[Reading, DamagedLog | None]:
    """What a log holds up to its first bad line, and what is wrong there; None where it is sound to its end.

    Raises DamagedLog where nothing before the damage is left to be read, Failure where the file cannot be read.
    """
    where = os.fspath(path)
    try:
        with open(path, "rb", buffering=0) as file:
            data = file.readall() or b""
    except OSError as error:
        raise Failure(f"the log cannot be read: {said(error)}", where) from None
    try:
        return check(data, where), None
    except DamagedLog as damage:
        if damage.line is None or damage.line < 2:
            raise
        sound = data.split(b"\n")[: damage.line - 1]
        return check(b"".join(line + b"\n" for line in sound), where), damage


def damage_words(damage: DamagedLog) -> tuple[str, str]:
    """What is said above what was read before the damage, and what is said where it stops."""
    n = damage.line or 1
    above = (
        f"{DAMAGED} at event {n}, line {n}: {damage.why}. Only what stands before it is shown: event 1 to"
        f" {n - 1}, which verify. Nobody can work on in this job."
    )
    return above, f"HERE THE LOG IS DAMAGED, at event {n}, line {n}: {damage.why}. From there on nothing is shown."
