"""Adding people to a shop, changing them, and setting PINs; each is also an event in the people's log.

Somebody must be the first: until a person with the shop's senior role has a PIN, anybody may do this. From then on it
takes a senior, except to change one's own PIN.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from typing import Any

from ..errors import Refused
from . import pins, words
from .disk import DISK, Disk
from .pins import read_pin
from .roster import WHAT, People, Person, called, load_people, named, people_file, roles_of
from .shop import Shop
from .signing import PinRefused, Signed, check_pin, note, open_book
from .yamlfile import edit, in_quotes, quoted, write_text

__all__ = [
    "People",
    "Person",
    "PinRefused",
    "Signed",
    "add_person",
    "called",
    "check_pin",
    "edit_person",
    "load_people",
    "named",
    "read_pin",
    "set_pin",
]


def add_person(shop: Shop, person: Person, now: datetime, by: Signed | None = None, *, disk: Disk = DISK) -> Person:
    """Add a person, without a PIN. Once a senior has a PIN, `by` must be one. Raises Refused, Failure."""
    new = Person(
        words.person_id(person.id), words.one_line(person.name, "the name"), roles_of(person.roles, "a person")
    )
    with open_book(shop, by.person.id if by else new.id, now, disk) as log:
        people = load_people(shop)
        if new.id in people.by_id:
            raise Refused(f"there is somebody with the id {new.id} already")
        _by_senior(shop, people, by, now, "add people")
        note(log, now, "person_added", person=new.id, name=new.name, roles=list(new.roles))
        if people.by_id:
            edit(people_file(shop), WHAT, lambda tree: tree["people"].update({new.id: _plain(new)}), 0o600, disk)
        else:
            roles = ", ".join(map(quoted, new.roles))
            text = f"people:\n  {new.id}:\n    name: {quoted(new.name)}\n    roles: [{roles}]\n"
            write_text(people_file(shop), text, WHAT, 0o600, disk)
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
    with open_book(shop, by.person.id if by else name, now, disk) as log:
        people = load_people(shop)
        person = people.get(name)
        _by_senior(shop, people, by, now, "change people")
        after = replace(
            person,
            name=person.name if called is None else words.one_line(called, "the name"),
            roles=person.roles if roles is None else roles_of(roles, "a person"),
        )
        if person.pin and person.has(shop.override_role) and not after.has(shop.override_role):
            others = [p for p in people.with_role(shop.override_role) if p.pin and p.id != name]
            if not others:
                role = shop.override_role
                raise Refused(f"{person.name} is the only {role} with a PIN; make somebody else one first")

        def change(tree: Any) -> None:
            tree["people"][name].update(_plain(after))

        note(log, now, "person_changed", person=name, name=after.name, roles=list(after.roles))
        edit(people_file(shop), WHAT, change, 0o600, disk)
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
    with open_book(shop, by.person.id if by else name, now, disk) as log:
        people = load_people(shop)
        person = people.get(name)
        if by is None or by.person.id != name:
            _by_senior(shop, people, by, now, "set a PIN for somebody else, or a first one")
            if person.pin and by is None:
                raise Refused(f"{person.name} has a PIN already; give it, or let a {shop.override_role} set a new one")
        elif not by.holds(now):
            raise Refused("it is too long since the PIN was given; give it again")
        note(log, now, "pin_set", person=name)
        edit(people_file(shop), WHAT, lambda tree: tree["people"][name].update(pin=in_quotes(kept)), 0o600, disk)


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


def _plain(person: Person) -> dict[str, Any]:
    from ruamel.yaml.comments import CommentedSeq

    roles = CommentedSeq([in_quotes(role) for role in person.roles])
    roles.fa.set_flow_style()
    return {"name": in_quotes(person.name), "roles": roles}
