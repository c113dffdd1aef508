"""A job in hand: its log open for writing, its state, and the bench it is walked at.

The one place where the pure walk meets the disk, the clock and the shop's people. An act is decided, its events are
written and synced, and only then is the new state the state.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from . import kept
from .errors import Failure, Refused
from .job.approvals import is_approved
from .job.arrivals import newest_file
from .job.disk import DISK, Disk
from .job.folder import MOST_BYTES, NOT_OPENED, JobFolder, keep_file, load_text, never_opened, pin_text
from .job.log import Holder, JobLog
from .job.media import require_media, size_words
from .job.owner import keep_owner, remove_owner
from .job.people import Signed, called, check_pin, load_people
from .job.shop import Shop
from .job.words import GUEST as GUEST
from .procedure.linked import Linked
from .procedure.showing import shortened
from .walk import acts
from .walk.decide import Decision, decide, proceed
from .walk.desk import Bench
from .walk.fold import fold, replay
from .walk.phase import Now, now
from .walk.second_look import measured_again
from .walk.state import State, Visit

Clock = Callable[[], datetime]
Compute = Callable[[str, dict[str, Any]], Any]


@dataclass
class Books:
    """The procedures a job is worked to, from the texts it keeps; never from the library."""

    folder: JobFolder
    texts: Mapping[str, str]
    known: Iterable[Linked] = ()
    """Procedures that are linked already, from texts that are the job's own to the byte."""

    def __post_init__(self) -> None:
        kept = set(self.texts.values())
        self._linked: dict[str, Linked] = {book.text: book for book in self.known if book.text in kept}

    def __call__(self, text: str) -> Linked:
        """The procedure with that text hash; Failure where the job's copy is gone or not as it was."""
        if text not in self._linked:
            linked = self._link(text)
            for book in linked.family():
                self._linked[book.text] = book
        return self._linked[text]

    def _link(self, text: str) -> Linked:
        found = self._text(text)
        linked = kept.load(found)
        if linked is None:
            from .procedure.linking import link  # only now: a procedure that was kept takes neither
            from .procedure.read import read

            linked = link(read(found.data, found.name), self._run)
            if linked is None or not linked.sound:
                what = f"the procedure kept with job {self.folder.id} cannot be read by this Benchwalk"
                raise Failure(what, text[:12])
            kept.keep(linked)
        return linked

    def _run(self, name: str) -> Linked | None:
        return self._link(self.texts[name]) if name in self.texts else None

    def _text(self, text: str) -> kept.Text:
        def find(name: str) -> kept.Text | None:
            return self._text(self.texts[name]) if name in self.texts else None

        return kept.Text(load_text(self.folder, text), f"{self.folder.id}, text {text[:12]}", find)

BROKEN_OFF = "The work was broken off without being put down. All that was noted is in the log."


class Session:
    """One person at one job. Use it in a `with`, so that the log is given up at the end."""

    def __init__(self, shop: Shop, folder: JobFolder, log: JobLog, who: str, clock: Clock, compute: Compute) -> None:
        self.shop = shop
        self.folder = folder
        self.log = log
        self.who = who
        self.clock = clock
        self.compute = compute
        self.resumed = False
        self.kept = ""
        self._signed: dict[str, Signed] = {}
        self.events: list[dict[str, Any]] = list(log.opened.events)
        self.state: State = replay(self.events)
        self.books: Callable[[str], Linked] = Books(folder, self.state.texts)
        self._know_people()

    @classmethod
    def begin(
        cls,
        shop: Shop,
        linked: Linked,
        who: str,
        clock: Clock,
        compute: Compute,
        *,
        kind: str,
        job: str | None = None,
        drum: Mapping[str, str] | None = None,
        given: Mapping[str, str] | None = None,
        note: Mapping[str, str] | None = None,
        owner: Mapping[str, str] | None = None,
        salt: bytes = b"",
        disk: Disk = DISK,
    ) -> Session:
        """Open a new job: its folder, the texts it is worked to, and the first event of its log.

        A customer's job needs an approved procedure. `owner` holds personal facts, kept beside the log under `salt`.
        """
        if kind == "customer":
            require_approval(shop, linked)
        folder = shop.new_job(job)
        log: JobLog | None = None
        try:
            log = JobLog.open(folder.log, Holder.here(who, clock()), disk=disk)  # first: see `never_opened`
            texts = {book.id: pin_text(folder, book.source.data) for book in linked.family()}
            session = cls(shop, folder, log, who, clock, compute)
            session.books = Books(folder, texts, linked.family())
            kept = keep_owner(folder, owner, salt) if owner else ""
            known = (dict(drum or {}), dict(given or {}), dict(note or {}))
            decision = session.do(acts.Open(folder.id, kind, linked.text, *known, kept))
            if decision.refusal:
                raise Refused(decision.refusal)
        except BaseException:
            if log is not None:
                log.close()
            _discard(folder)
            raise
        return session

    @classmethod
    def resume(
        cls,
        shop: Shop,
        job: str,
        who: str,
        clock: Clock,
        compute: Compute,
        *,
        take_over: str | None = None,
        disk: Disk = DISK,
    ) -> Session:
        """Take a job up again where its log stands; what a cut log left undone is done first."""
        folder = shop.job(job)
        if never_opened(folder):
            raise Failure(f"job {job} was {NOT_OPENED}", str(folder.path))
        log = JobLog.open(folder.log, Holder.here(who, clock()), take_over=take_over, disk=disk)
        try:
            session = cls(shop, folder, log, who, clock, compute)
            if not session.state.job:
                raise Failure("the log of this job is empty; nothing was ever opened in it", job)
            if log.taken_over is not None:
                event = session._event("lock_taken_over", reason=take_over or "", holder=log.taken_over.said())
                session._write([event])
            decision = proceed(session.state, session.state.person, session.bench)
            session._keep(decision)
        except BaseException:
            log.close()
            raise
        session.resumed = True
        return session

    def __enter__(self) -> Session:
        return self

    def __exit__(self, *error: object) -> None:
        self.close()

    def close(self) -> None:
        """Give up the log."""
        self.log.close()

    # --- the walk ---

    @property
    def bench(self) -> Bench:
        """What the walk is handed from outside, as of now."""
        return Bench(
            books=self.books,
            compute=self.compute,
            now=self.clock(),
            roles=self.roles,
            names=self.names,
            overrules=self.shop.override_role,
            releases=self.shop.override_role,
            one_person=self.shop.one_person,
        )

    @property
    def one_person(self) -> bool:
        """Whether the shop's policy lets the same hand look a second time."""
        return self.shop.one_person

    @property
    def head(self) -> str:
        """The hash of the log's last event."""
        return self.log.head

    def now(self) -> Now:
        """What the walk waits for."""
        return now(self.state, self.bench)

    def do(self, act: acts.Act) -> Decision:
        """Decide an act and write what comes of it; the state changes only once it is on disk."""
        decision = decide(self.state, act, self.who, self.bench)
        self._keep(decision)
        return decision

    def take_up_broken(self) -> bool:
        """Take up one's own work that was broken off without being put down, as after a crash: its place is looked at
        first. Whether there was such work; asked once, as the walk begins."""
        state = self.state
        at_rest = state.ended or state.paused is not None or state.handed_to or state.recheck
        begun, self.resumed = self.resumed and state.visit and not at_rest, False
        return bool(begun) and self.who == state.person and self.do(acts.Resume()).refusal is None

    def _keep(self, decision: Decision) -> None:
        if decision.events:
            self.events += self.log.append(decision.events)
            self.state = decision.state

    def _write(self, events: list[dict[str, Any]]) -> None:
        self.events += self.log.append(events)
        for event in events:
            self.state = fold(self.state, event)

    def _event(self, what: str, **fields: Any) -> dict[str, Any]:
        at = self.clock().isoformat(timespec="seconds")
        return {"v": 1, "n": self.state.n + 1, "at": at, "who": self.who, "what": what, **fields}

    def forget_owner(self) -> str:
        """Remove the owner's personal facts for good; when that was. Refused where none are kept.

        The facts go first: should the note of it in the log fail, they are gone all the same.
        """
        if not remove_owner(self.folder):
            raise Refused("nothing is kept of this job's owner: it was removed, or never given")
        event = self._event("owner_removed", job=self.state.job)
        self._write([event])
        return str(event["at"])

    # --- people ---

    def _know_people(self) -> None:
        self.people = load_people(self.shop)
        self.names = {person.id: person.name for person in self.people.by_id.values()}
        self.roles = {person.id: frozenset(person.roles) for person in self.people.by_id.values()}
        if GUEST in (self.who, self.state.person):
            self.names[GUEST], self.roles[GUEST] = "a guest", frozenset({"apprentice"})

    def person_called(self, name: str) -> str:
        """The id of the person of that name or id, as the shop knows them now; Refused where nobody is called so."""
        self._know_people()
        return called(self.people, name).id

    def take_on(self, who: str) -> None:
        """That person takes on work that was handed over, and sits at this terminal from then on; Refused if not.

        On a customer's job whoever has a PIN must just have proved who they are (`prove`); all others go by name, and
        the log says which it was.
        """
        how = "name"
        if self.asks_pin(who):
            signed = self._signed.pop(who, None)
            if signed is None or not signed.holds(self.clock()):
                raise Refused(f"{self.names[who]} has a PIN, and gives it to take this work on")
            how = "pin"
        decision = decide(self.state, acts.TakeOn(how=how), who, self.bench)
        self._keep(decision)
        if decision.refusal:
            raise Refused(decision.refusal)
        self.who = who

    def prove(self, who: str, pin: str) -> None:
        """Prove who somebody is by their PIN; Refused where it is wrong or has to wait."""
        self._signed[who] = check_pin(self.shop, who, pin, self.clock())

    def asks_pin(self, who: str) -> bool:
        """Whether that person gives a PIN to take on the work that was handed over; others go by name."""
        mine = who in (self.state.handed_to, self.state.person)
        return self.state.kind == "customer" and mine and self.has_pin(who)

    def has_pin(self, who: str) -> bool:
        """Whether that person has a PIN in this shop, as of now."""
        self._know_people()
        person = self.people.by_id.get(who)
        return person is not None and person.pin is not None

    def measured_again(self, covers: list[int], visit: Visit | None) -> dict[str, str]:
        """The covered numbers that a second look by the same hand measures anew: name -> question."""
        return measured_again(self.state, covers, visit, self.bench)

    # --- pictures and sounds ---

    def newest(self, sort: str) -> Path:
        """The newest file where the shop's pictures (`picture`) or recordings (`sound`) arrive; Refused without one."""
        return newest_file(self.shop, sort)

    def keep(self, typed: str, sort: str = "") -> str | None:
        """Keep a picture or sound with the job by its hash; None where it stays on paper. Refused where it is not.

        `sort` says which of them is wanted. `kept` then tells what was kept: its name and size.
        """
        self.kept = ""
        if typed.lower().startswith("on paper"):
            return None
        path = Path(os.path.expanduser(typed))
        require_media(path, sort)
        size = path.stat().st_size
        if size > MOST_BYTES:
            raise Refused(f"this file is larger than {MOST_BYTES} bytes, which is the most kept")
        name = keep_file(self.folder, path)
        self.kept = f"{shortened(path.name, 60)}, {size_words(size)}"
        return name


def require_approval(shop: Shop, linked: Linked) -> None:
    """Refused unless exactly this procedure, with exactly what it runs, is approved in this shop."""
    revision = str(linked.procedure.revision)
    approval = is_approved(shop, linked.id, revision, linked.content)
    runs = runs_of(linked)
    if approval is None or dict(approval.runs) != runs:
        why = "what it runs was changed since it was approved" if approval else "it is not approved in this shop"
        raise Refused(
            f"'{linked.id}' revision {revision} cannot be used on a customer's job: {why}; "
            "a second person approves it with `benchwalk approve`, and until then it can be practised"
        )


def runs_of(linked: Linked) -> dict[str, str]:
    """What a procedure runs, as an approval speaks of it: id -> revision and content hash."""
    return {b.id: f"{b.procedure.revision} {b.content}" for b in linked.family() if b is not linked}


def _discard(folder: JobFolder) -> None:
    """Take away the folder of a job whose first event was refused; there is nothing in it to lose."""
    if not folder.log.exists() or folder.log.stat().st_size == 0:
        shutil.rmtree(folder.path, ignore_errors=True)
