"""The rows of the shop's jobs, kept in the user's cache folder, so that only logs that changed are read again.

The file can be deleted at any time. One that is damaged, or was made by another version or for another shop, counts as
none and is made anew without a word; where it cannot be written there is none. It holds what the logs say; what the
owner's file says (a name) is never written into it, for that file can be removed and the removal must be whole. A job
that cannot be read is not kept either: it is tried again each time.
"""

from __future__ import annotations

import contextlib
import os
import threading
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import orjson

from .. import __version__
from ..errors import BenchwalkError, Failure, UsageError
from ..job.disk import write_whole
from ..job.folder import JobFolder
from ..job.shop import Shop, by_number
from ..paths import shop_cache
from .bench import owner_of

if TYPE_CHECKING:
    from ..procedure.linked import Linked
    from ..walk.state import State
    from .waiting import Books

FORMAT = 2
"""Raised with every change of what a row holds or how it is worded."""
FILE = "index.json"

Row = dict[str, Any]
MakeBooks = Callable[[JobFolder, Mapping[str, str]], "Books"]
Told = Callable[[Row], str]
_TEXTS = (
    *("job", "kind", "procedure", "opened", "person", "owner", "instrument", "complaint", "state", "title", "last"),
    *("ended", "waits", "because", "wanted"),
)
_TRUTHS = ("open", "released")
_KEYS = {*_TEXTS, *_TRUTHS, "first", "until"}


class Mark(NamedTuple):
    """By what a log is known to be the one that was read: its size, time of change (ns), inode."""

    size: int
    time: int
    inode: int


def mark_of(folder: JobFolder) -> Mark | None:
    """The mark of a job's log as it is now; None where there is none to be seen."""
    try:
        found = os.stat(folder.log)
    except OSError:
        return None
    return Mark(found.st_size, found.st_mtime_ns, found.st_ino)


class Index:
    """The rows of a shop's jobs. `books` gives the procedures a job is worked to. It may be asked from any thread.

    `file` is where it is kept, None where it cannot be.
    """

    def __init__(self, shop: Shop, books: BooksOf, file: Path | None = None) -> None:
        self.shop = shop
        self.books = books
        self.file = file
        self._rows: dict[str, tuple[Mark, Row]] = {}
        self._owners: dict[str, tuple[Mark, str]] = {}
        self._lock = threading.Lock()
        self._kept = True

    @classmethod
    def of(cls, shop: Shop, books: BooksOf) -> Index:
        """The index of a shop as it was kept last."""
        file = None
        with contextlib.suppress(UsageError):
            file = shop_cache(shop.root) / FILE
        index = cls(shop, books, file)
        index._load()
        return index

    # --- rows ---

    def known(self) -> tuple[list[Row], list[str]]:
        """(the rows that need no reading, the jobs whose logs must be read), each in the order of their numbers.

        Reads no log. Raises Failure where the jobs cannot be listed.
        """
        rows: list[Row] = []
        unknown: list[str] = []
        jobs = self.shop.jobs()
        with self._lock:
            for job in set(self._rows) - set(jobs):
                del self._rows[job]
                self._kept = False
            for job in jobs:
                kept = self._rows.get(job)
                if kept is not None and kept[0] == mark_of(self._folder(job)):
                    rows.append(dict(kept[1]))
                else:
                    unknown.append(job)
        return rows, unknown

    def read(self, job: str) -> Row:
        """The row of a job from its log, remembered unless it cannot be read or was written to meanwhile."""
        from .listing import row_of, unread  # only now: the walk comes with it

        folder = self._folder(job)
        before = mark_of(folder)
        try:
            row = row_of(folder, self.books)
        except BenchwalkError as error:
            return unread(job, error.message)
        if before is not None and before == mark_of(folder):
            with self._lock:
                self._rows[job] = (before, dict(row))
                self._kept = False
        return row

    def rows(self) -> list[Row]:
        """All rows, in the order of their numbers, reading what must be read."""
        known, unknown = self.known()
        return in_order([*known, *map(self.read, unknown)])

    def owner(self, job: str) -> str:
        """The owner's name as it stands beside the log now; remembered only while the program runs."""
        folder = self._folder(job)
        try:
            found = os.stat(folder.owner)
        except OSError:
            return ""
        mark = Mark(found.st_size, found.st_mtime_ns, found.st_ino)
        kept = self._owners.get(job)
        if kept is None or kept[0] != mark:
            kept = (mark, owner_of(folder))
            self._owners[job] = kept
        return kept[1]

    def _folder(self, job: str) -> JobFolder:
        return JobFolder(job, self.shop.jobs_folder / job)

    # --- the file ---

    def _load(self) -> None:
        if self.file is None:
            return
        try:
            data = orjson.loads(self.file.read_bytes())
            if (data["format"], data["program"], data["shop"]) != self._head():
                return
            rows = {job: (Mark(*kept[:3]), kept[3]) for job, kept in data["jobs"].items()}
        except (OSError, orjson.JSONDecodeError, LookupError, TypeError, ValueError, AttributeError):
            return
        if all(_sound(job, *kept) for job, kept in rows.items()):
            self._rows = rows

    def save(self) -> None:
        """Keep the index for the next time, if anything changed; where it cannot be kept, nothing happens."""
        with self._lock:
            if self._kept or self.file is None:
                return
            self._kept = True
            numbers, program, shop = self._head()
            jobs = {job: [*mark, row] for job, (mark, row) in self._rows.items()}
        with contextlib.suppress(OSError, orjson.JSONEncodeError):
            data = orjson.dumps({"format": numbers, "program": program, "shop": shop, "jobs": jobs})
            self.file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            write_whole(os.fspath(self.file), data, 0o600)

    def _head(self) -> tuple[int, str, str]:
        return FORMAT, __version__, os.path.realpath(self.shop.root)


def _sound(job: str, mark: Mark, row: Any) -> bool:
    """Whether a row is one that this version could have written."""
    return (
        all(type(part) is int for part in mark)
        and isinstance(row, dict)
        and set(row) == _KEYS
        and row["job"] == job
        and all(isinstance(row[key], str) for key in _TEXTS)
        and all(isinstance(row[key], bool) for key in _TRUTHS)
        and row["first"] in (0, 1, 2, 3)
        and isinstance(row["until"], str | None)
        and row["owner"] == ""
    )


class BooksOf:
    """The procedures that jobs are worked to, each linked once however many jobs keep it.

    A text is known by its hash, and what it runs by theirs: two jobs that keep the same have the same procedure. A job
    that has lost its copy takes nothing from the others.
    """

    def __init__(self, make: MakeBooks) -> None:
        self.make = make
        self._read: dict[tuple[tuple[str, str], ...], Books] = {}

    def __call__(self, folder: JobFolder, state: State) -> Books:
        """The procedures of that job."""
        key, own = tuple(sorted(state.texts.items())), self.make(folder, state.texts)

        def books(text: str) -> Linked:
            with contextlib.suppress(KeyError, Failure):
                return self._read[key](text)
            found = own(text)
            self._read[key] = own
            return found

        return books


def in_order(rows: Iterable[Row]) -> list[Row]:
    """Rows in the order of their jobs' numbers."""
    return sorted(rows, key=lambda row: by_number(row["job"]))


def matching(rows: Iterable[Row], typed: str, more: Told = lambda row: "") -> list[Row]:
    """The rows that have all the words typed, in any case of letters; `more` adds what else stands in a row."""
    words = typed.casefold().split()
    return [row for row in rows if all(word in _words(row, more) for word in words)]


def _words(row: Row, more: Told) -> str:
    return " ".join([*(row[key] for key in _TEXTS), more(row)]).casefold()
