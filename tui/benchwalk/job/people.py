"""The people of a shop: who they are, what they may do, and how they show that it is them.

`people.yaml` holds them and is readable by its owner only. Whatever happens to it (a person added, a PIN set, a PIN
refused) is also an event in the shop's own chained log, `people.jsonl`; how long somebody must wait after wrong PINs is
worked out from there and from nowhere else.
"""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from ..errors import Failure, Refused
from ..procedure.tree import Map, Seq
from . import pins, words
from .disk import DISK, Disk
from .line import Event, stamp
from .log import Holder, JobLog
from .shop import Shop
from .yamlfile import edit, in_quotes, place, quoted, read_map, text_at, write_text

WRONG_BEFORE_WAIT = 3
FIRST_WAIT = timedelta(seconds=30)
LONGEST_WAIT = timedelta(hours=1)
TOKEN_LASTS = timedelta(minutes=5)
PATIENCE = 3.0  # s to wait for another terminal that is just writing the people's log

_WHAT = "the people's file"
_SEAL = object()


class PinRefused(Refused):
    """A PIN that was not accepted; `wait` is how long no other will be looked at."""

    def __init__(self, message: str, wait: timedelta = timedelta()) -> None:
        super().__init__(message)
        self.wait = wait


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who works here. `pin` is the hash of the PIN as text, None before one is set."""

    id: str
    name: str
    roles: tuple[str, ...]
    pin: str | None = None

    def has(self, role: str) -> bool:
        """Whether this person holds a role."""
        return role in self.roles


class Signed:
    """Shows that a person gave the right PIN at a moment; only `check_pin` makes one. Good for five minutes."""

    __slots__ = ("at", "person")

    def __init__(self, person: Person, at: datetime, seal: object) -> None:
        if seal is not _SEAL:
            raise TypeError("only a right PIN makes a Signed")
        self.person = person
        self.at = at

    def holds(self, now: datetime) -> bool:
        """Whether it is still good at `now`; a clock that went back ends it too."""
        return timedelta() <= now - self.at <= TOKEN_LASTS


@dataclass(frozen=True, slots=True)
class People:
    """Everybody by id, in the order of the file, and what must be told about the file."""

    by_id: Mapping[str, Person]
    notices: tuple[str, ...] = ()

    def get(self, name: str) -> Person:
        """The person of that id. Raises Refused."""
        try:
            return self.by_id[name]
        except KeyError:
            raise Refused(f"there is nobody with the id {name!r} in this shop") from None

    def with_role(self, role: str) -> list[Person]:
        """Everybody who holds a role."""
        return [person for person in self.by_id.values() if person.has(role)]


def load_people(shop: Shop) -> People:
    """Read `people.yaml`; nobody if it is not there yet. Mends its mode if others could read it. Raises Failure."""
    path = _file(shop)
    if not os.path.lexists(path):
        return People({})
    notices = _close_to_others(path)
    root = read_map(path, _WHAT)
    listed = root.get("people")
    if listed is None and "people" in root:
        return People({}, notices)
    if set(root) != {"people"} or not isinstance(listed, Map):
        raise Failure("'people' with a person's id below it for each is expected, and nothing else", path)
    return People({name: _person(name, listed, path) for name in listed}, notices)


def add_person(shop: Shop, person: Person, now: datetime, by: Signed | None = None, *, disk: Disk = DISK) -> Person:
    """Add a person, without a PIN. Once a senior has a PIN, `by` must be one. Raises Refused, Failure."""
    new = Person(
        words.person_id(person.id), words.one_line(person.name, "the name"), _roles(person.roles, "a person")
    )
    with _book(shop, by.person.id if by else new.id, now, disk) as log:
        people = load_people(shop)
        if new.id in people.by_id:
            raise Refused(f"there is somebody with the id {new.id} already")
        _by_senior(shop, people, by, now, "add people")
        _note(log, now, "person_added", person=new.id, name=new.name, roles=list(new.roles))
        if people.by_id:
            edit(_file(shop), _WHAT, lambda tree: tree["people"].update({new.id: _plain(new)}), 0o600, disk)
        else:
            text = f"people:\n  {new.id}:\n    name: {quoted(new.name)}\n    roles: [{', '.join(map(quoted, new.roles))}]\n"
            write_text(_file(shop), text, _WHAT, 0o600, disk)
    return new


def edit_person(
    shop: Shop,
    name: str,
    now: datetime,
    by: Signed | None = None,
    *,
    called: str | None = None,
    roles: Iterable[str] | None = None,
    disk: Disk = DISK,
) -> Person:
    """Change a person's name or roles. Once a senior has a PIN, `by` must be one. Raises Refused, Failure."""
    with _book(shop, by.person.id if by else name, now, disk) as log:
        people = load_people(shop)
        person = people.get(name)
        _by_senior(shop, people, by, now, "change people")
        after = replace(
            person,
            name=person.name if called is None else words.one_line(called, "the name"),
            roles=person.roles if roles is None else _roles(roles, "a person"),
        )
        if person.pin and person.has(shop.override_role) and not after.has(shop.override_role):
            others = [p for p in people.with_role(shop.override_role) if p.pin and p.id != name]
            if not others:
                raise Refused(f"{person.name} is the only {shop.override_role} with a PIN; make somebody else one first")

        def change(tree: Any) -> None:
            tree["people"][name].update(_plain(after))

        _note(log, now, "person_changed", person=name, name=after.name, roles=list(after.roles))
        edit(_file(shop), _WHAT, change, 0o600, disk)
    return after


def set_pin(
    shop: Shop,
    name: str,
    pin: str,
    salt: bytes,
    now: datetime,
    *,
    old: str | None = None,
    by: Signed | None = None,
    disk: Disk = DISK,
) -> None:
    """Set a person's PIN. A PIN that is there must be given (`old`), or a senior be `by`; a first PIN needs a senior
    too, once one has a PIN. `salt` is 16 bytes or more of chance, handed in. Raises PinRefused, Refused, Failure.
    """
    if why := pins.fault(pin):
        raise Refused(why)
    if old is not None and by is None:
        by = check_pin(shop, name, old, now, disk=disk)
    kept = pins.hashed(pin, salt)
    with _book(shop, by.person.id if by else name, now, disk) as log:
        people = load_people(shop)
        person = people.get(name)
        if by is None or by.person.id != name:
            _by_senior(shop, people, by, now, "set a PIN for somebody else, or a first one")
            if person.pin and by is None:
                raise Refused(f"{person.name} has a PIN already; give it, or let a {shop.override_role} set a new one")
        elif not by.holds(now):
            raise Refused("it is too long since the PIN was given; give it again")
        _note(log, now, "pin_set", person=name)
        edit(_file(shop), _WHAT, lambda tree: tree["people"][name].update(pin=in_quotes(kept)), 0o600, disk)


def check_pin(shop: Shop, name: str, pin: str, now: datetime, *, disk: Disk = DISK) -> Signed:
    """Look at a PIN: a Signed if it is right, else PinRefused, which is logged before it is told.

    After three wrong ones in a row nothing is looked at for 30 s, then for twice as long after each, up to an hour. A
    clock that went back frees nobody: the wait runs from the latest time in the log.
    """
    with _book(shop, name if re.fullmatch(r"[a-z0-9-]+", name) else "nobody", now, disk) as log:
        person = load_people(shop).get(name)
        if person.pin is None:
            raise PinRefused(f"{person.name} has no PIN yet; set one first")
        wrong, since = trouble(log.opened.events, name)
        wait = waiting(wrong, since, now)
        if wait > timedelta():
            raise PinRefused(f"{wrong} wrong PINs in a row for {person.name}; the next try is in {_lasting(wait)}", wait)
        if pins.fits(pin, person.pin):
            if wrong:
                _note(log, now, "pin_right", person=name)
            return Signed(person, now, _SEAL)
        _note(log, now, "pin_refused", person=name)
        wait = waiting(wrong + 1, max(since or now, now), now)
        more = f"; the next try is in {_lasting(wait)}" if wait else ""
        raise PinRefused(f"this is not the PIN of {person.name}{more}", wait)


def trouble(events: Iterable[Event], name: str) -> tuple[int, datetime | None]:
    """How many wrong PINs in a row stand in the people's log for a person, and the latest time among them."""
    wrong, since = 0, None
    for event in events:
        if event.get("person") != name:
            continue
        if event["what"] == "pin_refused":
            at = datetime.fromisoformat(event["at"])
            wrong, since = wrong + 1, at if since is None else max(since, at)
        elif event["what"] in ("pin_right", "pin_set"):
            wrong, since = 0, None
    return wrong, since


def waiting(wrong: int, since: datetime | None, now: datetime) -> timedelta:
    """How long it is until the next PIN is looked at; zero if it is at once."""
    if wrong < WRONG_BEFORE_WAIT or since is None:
        return timedelta()
    doubled = min(wrong - WRONG_BEFORE_WAIT, 20)
    return max(since + min(FIRST_WAIT * 2**doubled, LONGEST_WAIT) - now, timedelta())


def _by_senior(shop: Shop, people: People, by: Signed | None, now: datetime, act: str) -> None:
    """Refuse unless a senior signs, or no senior has a PIN yet (somebody must be the first)."""
    if not any(person.pin for person in people.with_role(shop.override_role)):
        return
    if by is None:
        raise Refused(f"only a {shop.override_role} may {act}; a {shop.override_role} must give their PIN")
    if not by.holds(now):
        raise Refused("it is too long since the PIN was given; give it again")
    if not people.get(by.person.id).has(shop.override_role):
        raise Refused(f"{by.person.name} is no {shop.override_role}; only a {shop.override_role} may {act}")


def _book(shop: Shop, who: str, now: datetime, disk: Disk) -> JobLog:
    """The people's log, open for writing; waits a moment for another terminal."""
    return JobLog.open(shop.root / "people.jsonl", Holder.here(who, now), patience=PATIENCE, disk=disk)


def _note(log: JobLog, now: datetime, what: str, **fields: Any) -> None:
    """Keep one event in the people's log; a tenth of a second matters here, so times have milliseconds."""
    at = stamp(now, "milliseconds")
    log.append([{"v": 1, "n": log.next_n, "at": at, "who": log.holder.who, "what": what, **fields}])


def _person(name: str, listed: Map, path: str) -> Person:
    fields = listed[name]
    pos = listed.key_at(name)
    where = f"{path}:{pos.line}:{pos.column}"
    try:
        words.person_id(name)
    except Refused as error:
        raise Failure(error.message, where) from None
    if not isinstance(fields, Map):
        raise Failure(f"{name} needs a 'name' and 'roles'", where)
    for key in fields:
        if key not in ("name", "roles", "pin"):
            raise Failure(f"'{key}' says nothing of a person; name, roles and pin do", place(fields, key, path))
    roles = fields.get("roles")
    if not isinstance(roles, Seq) or not all(isinstance(role, str) for role in roles):
        raise Failure(f"the roles of {name} are a list, such as [senior]", where)
    try:
        return Person(
            name,
            words.one_line(text_at(fields, "name", path), "the name"),
            _roles((str(role) for role in roles), name),
            text_at(fields, "pin", path, "") or None,
        )
    except Refused as error:
        raise Failure(error.message, where) from None


def _roles(roles: Iterable[str], whose: str) -> tuple[str, ...]:
    checked = tuple(dict.fromkeys(words.role(role) for role in roles))
    if not checked:
        raise Refused(f"{whose} needs at least one role, such as technician")
    return checked


def _plain(person: Person) -> dict[str, Any]:
    from ruamel.yaml.comments import CommentedSeq

    roles = CommentedSeq([in_quotes(role) for role in person.roles])
    roles.fa.set_flow_style()
    return {"name": in_quotes(person.name), "roles": roles}


def _close_to_others(path: str) -> tuple[str, ...]:
    """Take the file out of others' reach; what must be told about it."""
    try:
        mode = stat.S_IMODE(os.stat(path).st_mode)
        if not mode & 0o077:
            return ()
        os.chmod(path, 0o600)
    except OSError:
        return ("people.yaml can be read by others on this machine, and could not be closed to them",)
    return ("people.yaml could be read by others on this machine; it is closed to them now",)


def _lasting(wait: timedelta) -> str:
    seconds = -(-wait // timedelta(seconds=1))
    return f"{seconds} s" if seconds < 120 else f"{-(-seconds // 60)} min"


def _file(shop: Shop) -> str:
    return os.fspath(shop.root / "people.yaml")
