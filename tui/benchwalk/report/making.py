"""From a job to a written report: what it is made from, how it is called, and the file it lies in."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from pathlib import Path

from ..errors import BenchwalkError, Failure, Refused
from ..job.disk import said, write_new, write_whole
from ..job.folder import JobFolder
from ..job.log import read
from ..job.owner import owner, owner_matches
from ..job.people import load_people
from ..job.shop import Shop
from ..job.words import GUEST
from ..library import Library
from ..procedure.linked import Linked
from ..walk.fold import replay
from .for_owner import for_owner
from .for_shop import for_shop
from .record import Owner, Record
from .render import render

MakeBooks = Callable[[JobFolder, Mapping[str, str]], Callable[[str], Linked]]
ENDINGS = {"html": "html", "md": "md", "text": "txt"}
"""Format to the ending of a file's name."""


def record_of(shop: Shop, job: str, books: MakeBooks) -> Record:
    """All that a report is made from; `books` gives the procedures that a job's folder keeps.

    Raises Refused for an unknown job, Failure where its files cannot be read.
    """
    folder = shop.job(job)
    reading = read(folder.log)
    state = replay(reading.events)
    if not state.job:
        raise Failure("the log of this job is empty; nothing was ever opened in it", str(folder.path))
    names = {GUEST: "a guest"} | {person.id: person.name for person in load_people(shop).by_id.values()}
    proposed = {i for found in state.found for i in found.proposes}
    proposed |= set(state.ended["proposes"] if state.ended else ())
    return Record(
        state,
        books(folder, state.texts),
        names,
        reading.events,
        owner_of(folder, str(reading.events[0].get("owner") or "")),
        shop.name,
        reading.head,
        reading.torn is not None,
        _titles(shop, proposed),
    )


def owner_of(folder: JobFolder, digest: str) -> Owner:
    """The owner's facts beside a log that holds this hash of them. Raises Failure where they cannot be read."""
    facts = owner(folder)
    same = owner_matches(folder, digest) if facts is not None and digest else None
    return Owner(facts, bool(digest), same)


def _titles(shop: Shop, ids: set[str]) -> dict[str, str]:
    """The titles of procedures in the library; one that is not there, or has errors, keeps its id."""
    library, found = Library.of(shop.root), {}
    for name in ids:
        try:
            linked = library.find(name)
        except BenchwalkError:
            continue
        if linked is not None:
            found[name] = linked.procedure.title
    return found


def report_of(record: Record, audience: str, form: str) -> str:
    """The report as text, for the drum's `owner` or for the `shop`, in the format `html`, `md` or `text`."""
    return render(for_owner(record) if audience == "owner" else for_shop(record), form)


def file_name(job: str, audience: str, form: str) -> str:
    """What a report's file is called where nobody says otherwise."""
    return f"{job}-{audience}.{ENDINGS[form]}"


def write(out: str, text: str, *, over: bool = False) -> Path:
    """Write a report's file whole or not at all, readable by its writer only: it names the drum's owner. Its full path.

    Raises Exists where there is one of that name and `over` does not say to write over it, Failure otherwise.
    """
    path, data = os.path.abspath(out), text.encode("utf-8")
    try:
        if over:
            write_whole(path, data, 0o600)
        else:
            write_new(path, data, 0o600)
    except FileExistsError:
        raise Exists(out) from None
    except OSError as error:
        raise Failure(f"the report cannot be written: {said(error)}", out) from None
    return Path(path)


class Exists(Refused):
    """There is a file of the name that a report was to have."""

    def __init__(self, out: str) -> None:
        super().__init__("there is a file of that name already; --force writes over it", out)
