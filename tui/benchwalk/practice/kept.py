"""The practice drum of a practice job, kept beside its log: what the log says rests on the log alone."""

from __future__ import annotations

import os
from hashlib import sha256
from itertools import count
from pathlib import Path
from stat import S_ISREG

import orjson

from ..errors import Failure, Refused
from ..job.disk import said, write_whole
from .drum import random_drum
from .lesson import Lesson

FILE = "practice-drum.json"
LEVEL = "plain"
MOST_BYTES = 10_000_000  # of thousands of rounds
_ANEW = f"delete {FILE} for a new one"


def lesson_of(folder: Path, job: str, rods: int, head: str | None = None) -> Lesson:
    """The lesson of a job: as it was left, or a new drum drawn from the job's id, which then is always the same.

    What is hidden in a new drum is in `head`, where one is named, and that head is before you.
    Raises UsageError for a number of rods that practice drums do not have, Refused for a file that holds no lesson.
    """
    path = folder / FILE
    try:
        data = orjson.loads(_read(path))
    except FileNotFoundError:
        seed = int.from_bytes(sha256(job.encode()).digest()[:4], "big")
        drawn = (random_drum(rods=rods, seed=seed + n, level=LEVEL) for n in count())
        drum = next(drum for drum in drawn if head in (None, drum.hidden.head))
        return Lesson.begin(drum, drum.hidden.head)
    except (OSError, orjson.JSONDecodeError) as error:
        why = said(error) if isinstance(error, OSError) else "it is not JSON"
        raise Refused(f"the practice drum of this job cannot be read ({why}); {_ANEW}") from None
    try:
        lesson = Lesson.from_state(data)
    except Refused as refused:
        raise Refused(f"the practice drum of this job cannot be read ({refused.message}); {_ANEW}") from None
    if lesson.drum.rods != rods:
        raise Refused(f"the practice drum of this job has {lesson.drum.rods} rods; {_ANEW}")
    if head not in (None, lesson.head):
        lesson.work_on(head or "")
    return lesson


def _read(path: Path) -> bytes:
    """The file's bytes. Raises OSError, Refused for what is no file or far too large for a drum."""
    found = path.stat()
    if not S_ISREG(found.st_mode) or found.st_size > MOST_BYTES:
        raise Refused(f"the practice drum of this job cannot be read (it is no file, or too large); {_ANEW}")
    return path.read_bytes()


def keep(folder: Path, lesson: Lesson) -> None:
    """Keep the lesson as it stands. Raises Failure."""
    try:
        write_whole(os.fspath(folder / FILE), orjson.dumps(lesson.state()), alone=True)
    except OSError as error:
        raise Failure(f"the practice drum could not be kept: {said(error)}") from None
