"""Which procedures a shop has approved for use on customers' jobs: a chained log, by a second person each.

An approval speaks of one revision, of the hash of its parsed content, and of the revisions it runs. Without one a
procedure can be practised, not used.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from ..errors import Failure, Refused
from . import words
from .disk import DISK, Disk, said
from .line import Event, stamp
from .log import Holder, JobLog, read
from .roster import Person, load_people, named
from .shop import Shop
from .signing import PATIENCE, Signed


@dataclass(frozen=True, slots=True)
class Approval:
    """One approval: of what, by whom, when. `same_hand` says that author and approver are one, in a shop of one.

    `author_id` is the id of an author who works in this shop, "" for one who does not; None where an approval of before
    says nothing of it.
    """

    procedure: str
    revision: str
    content: str
    runs: Mapping[str, str]
    author: str
    who: str
    name: str
    at: str
    meaning: str
    same_hand: bool
    n: int
    author_id: str | None = None

    @property
    def written_by(self) -> str:
        """The author in words, and whether they are not of this shop."""
        return f"{self.author} (not of this shop)" if self.author_id == "" else self.author


def approvals_file(shop: Shop) -> str:
    """Where the approvals lie."""
    return os.fspath(shop.procedures / "approvals.jsonl")


def approve(
    shop: Shop,
    procedure: str,
    revision: str,
    content: str,
    runs: Mapping[str, str],
    author: str,
    by: Signed,
    now: datetime,
    *,
    disk: Disk = DISK,
) -> Approval:
    """Approve a procedure's revision for use on customers' jobs.

    `content` is the hash of its parsed content, `runs` each procedure it runs with its revision and hash. `author` is
    who wrote it: a person of the shop by id or name (however short, as `called` takes it), or somebody who is not of
    this shop, and is kept as such. An author does not approve their own, except in a shop of one, where it is said.
    Raises Refused, Failure.
    """
    words.one_line(procedure, "the procedure's id")
    words.one_line(revision, "the revision")
    written_by = words.one_line(author, "the author")
    writer = named(load_people(shop), written_by)
    person = _approver(shop, by, now)
    same = writer is not None and writer.id == person.id
    may_approve(shop, person, written_by)
    fields: dict[str, Any] = {
        "procedure": procedure,
        "revision": revision,
        "content": words.digest(content),
        "runs": dict(runs),
        "author": writer.name if writer is not None else written_by,
        "author_id": writer.id if writer is not None else "",
        "name": person.name,
        "meaning": "approved",
        "same_hand": same,
    }
    return _approval(_keep(shop, person.id, "approved", fields, now, disk))


def withdraw(
    shop: Shop, procedure: str, revision: str, reason: str, by: Signed, now: datetime, *, disk: Disk = DISK
) -> None:
    """Take back every approval of a procedure's revision, with the reason. Raises Refused, Failure."""
    person = _approver(shop, by, now)
    because = words.one_line(reason, "the reason")
    if not any(a.procedure == procedure and a.revision == revision for a in approvals(shop)):
        raise Refused(f"revision {revision} of {procedure} is not approved, so there is nothing to take back")
    fields = {"procedure": procedure, "revision": revision, "reason": because, "name": person.name}
    _keep(shop, person.id, "withdrawn", fields, now, disk)


def approvals(shop: Shop) -> list[Approval]:
    """Every approval that stands, in the order they were given. Raises DamagedLog, Failure."""
    path = approvals_file(shop)
    if not os.path.lexists(path):
        return []
    standing: list[Approval] = []
    for event in read(path).events:
        if event["what"] == "approved":
            standing.append(_approval(event, path))
        elif event["what"] == "withdrawn":
            gone = (event.get("procedure"), event.get("revision"))
            standing = [a for a in standing if (a.procedure, a.revision) != gone]
    return standing


def is_approved(shop: Shop, procedure: str, revision: str, content: str) -> Approval | None:
    """The latest approval of exactly this revision and content, None if there is none. Raises DamagedLog, Failure."""
    wanted = (procedure, revision, content)
    standing = approvals(shop)
    return next((a for a in reversed(standing) if (a.procedure, a.revision, a.content) == wanted), None)


def _approver(shop: Shop, by: Signed, now: datetime) -> Person:
    person = load_people(shop).get(by.person.id)
    if not by.holds(now):
        raise Refused("it is too long since the PIN was given; give it again")
    may_approve(shop, person)
    return person


def may_approve(shop: Shop, person: Person, author: str = "") -> None:
    """Refused where that person may not approve (nor take back) here, or not what `author` wrote."""
    if not person.has(shop.approve_role):
        raise Refused(f"{person.name} is no {shop.approve_role}; only a {shop.approve_role} approves procedures here")
    writer = named(load_people(shop), author) if author else None
    if writer is not None and writer.id == person.id and not shop.one_person:
        raise Refused(f"{person.name} wrote this procedure; a second person must approve it")


def _keep(shop: Shop, who: str, what: str, fields: Mapping[str, Any], now: datetime, disk: Disk) -> Event:
    try:
        shop.procedures.mkdir(exist_ok=True)
    except OSError as error:
        raise Failure(f"the approval cannot be kept: {said(error)}", os.fspath(shop.procedures)) from None
    with JobLog.open(approvals_file(shop), Holder.here(who, now), patience=PATIENCE, disk=disk) as log:
        body = {"v": 1, "n": log.next_n, "at": stamp(now), "who": who, "what": what, **fields}
        return log.append([body])[0]


def _approval(event: Event, path: str = "") -> Approval:
    try:
        return Approval(
            **{key: event[key] for key in ("procedure", "revision", "content", "runs", "author", "name", "meaning")},
            who=event["who"],
            at=event["at"],
            same_hand=event["same_hand"],
            n=event["n"],
            author_id=event.get("author_id"),
        )
    except KeyError as error:
        raise Failure(f"approval {event['n']} says nothing of {error.args[0]!r}", path) from None
