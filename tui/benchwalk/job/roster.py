"""Who works in a shop, as `people.yaml` has it; readable by its owner only, for it holds the hashes of PINs."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from ..errors import Failure, Refused
from ..procedure.showing import shortened
from ..procedure.tree import Map, Seq
from . import words
from .shop import Shop
from .yamlfile import place, read_map, text_at

WHAT = "the people's file"


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
    """Read `people.yaml`, without changing it; nobody if it is not there yet. Raises Failure.

    That others can read it too is told; whatever writes it next closes it to them.
    """
    path = people_file(shop)
    if not os.path.lexists(path):
        return People({})
    notices = _open_to_others(path)
    root = read_map(path, WHAT)
    listed = root.get("people")
    if listed is None and "people" in root:
        return People({}, notices)
    if set(root) != {"people"} or not isinstance(listed, Map):
        raise Failure("'people' with a person's id below it for each is expected, and nothing else", path)
    return People({name: _person(name, listed, path) for name in listed}, notices)


def called(people: People, name: str) -> Person:
    """The person of that id or name; Refused where it is nobody, or more than one."""
    person = named(people, name)
    if person is not None:
        return person
    here = ", ".join(p.name for p in people.by_id.values()) or "nobody yet"
    raise Refused(f"'{shortened(name)}' is nobody in this shop; here work: {here}")


def named(people: People, name: str) -> Person | None:
    """The person meant by an id or a name, in any case of letters; None where it is nobody of this shop.

    The whole name or id counts first, then its beginning, then any one word of it. Refused where more than one fit.
    """
    low = " ".join(name.lower().split())
    everybody = list(people.by_id.values())
    exact = [p for p in everybody if low in (p.id, p.name.lower())]
    begun = [p for p in everybody if low and (p.name.lower().startswith(low) or p.id.startswith(low))]
    found = exact or begun or [p for p in everybody if low in p.name.lower().split()]
    if len(found) > 1:
        here = ", ".join(p.name for p in everybody)
        raise Refused(f"'{shortened(name)}' is more than one person in this shop; here work: {here}")
    return found[0] if found else None


def people_file(shop: Shop) -> str:
    """Where the people of a shop stand."""
    return os.fspath(shop.root / "people.yaml")


def roles_of(roles: Iterable[str], whose: str) -> tuple[str, ...]:
    """Roles, each checked and once; `whose` they are, for the refusal. Raises Refused."""
    checked = tuple(dict.fromkeys(words.role(role) for role in roles))
    if not checked:
        raise Refused(f"{whose} needs at least one role, such as technician")
    return checked


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
            roles_of((str(role) for role in roles), name),
            text_at(fields, "pin", path, "") or None,
        )
    except Refused as error:
        raise Failure(error.message, where) from None


def _open_to_others(path: str) -> tuple[str, ...]:
    """What must be told where others can read the file; whatever writes it next closes it to them."""
    try:
        mode = stat.S_IMODE(os.stat(path).st_mode)
    except OSError:
        return ()
    if not mode & 0o077:
        return ()
    return (
        "people.yaml can be read by others on this machine; `chmod 600` closes it, and so does the next change "
        "with `benchwalk people`",
    )
