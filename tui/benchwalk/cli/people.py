"""`benchwalk people`: who works here, their roles and PINs."""

from __future__ import annotations

import os
import re
import unicodedata
from typing import TYPE_CHECKING

import click

from ..errors import Refused, UsageError
from ..procedure.showing import sentence
from .common import TRIES, at_terminal, clock, open_shop, people_of, program, say, say_command, say_json, signed

if TYPE_CHECKING:
    from ..job.shop import Shop
    from ..job.signing import Signed


@click.group("people", invoke_without_command=True)
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
@click.pass_context
def command(ctx: click.Context, as_json: bool) -> int:
    """Who works in the shop: alone, the list."""
    if ctx.invoked_subcommand is not None:
        return 0
    people = people_of(open_shop(ctx.obj))
    if as_json:
        rows = [{"id": p.id, "name": p.name, "roles": p.roles, "pin": p.pin is not None} for p in people.by_id.values()]
        say_json({"people": rows})
        return 0
    for person in people.by_id.values():
        pin = "has a PIN" if person.pin else "no PIN yet"
        say(f"{person.name} ({person.id}): {', '.join(person.roles)}; {pin}")
    if not people.by_id:
        say("Nobody yet. Begin with the senior:")
        say_command(f'{program()} people add "NAME" --role senior')
    return 0


@command.command("add")
@click.argument("name")
@click.option(
    "--role", "roles", multiple=True, required=True, help="senior, technician, apprentice, or the shop's own."
)
@click.option("--id", "person_id", help="A short id; made from the name where it is not given.")
@click.option("--by", metavar="NAME", help="The senior who adds them, once a senior has a PIN.")
@click.pass_obj
def add(shop: str | None, /, name: str, roles: tuple[str, ...], person_id: str | None, by: str | None) -> int:
    """Add a person; at a terminal, their PIN is asked."""
    from ..job.people import Person, add_person

    here = _shop_or_new(shop)
    allowed = _signed(here, by)
    person = add_person(here, Person(person_id or _id_of(name), name, roles), clock(), allowed)
    say(f"{person.name} ({person.id}) works here now: {', '.join(person.roles)}.")
    if at_terminal():
        _ask_new_pin(here, person.id, allowed)
    else:
        say("A PIN is set at a terminal, with:")
        say_command(f"{program()} people pin {person.id}")
    return 0


@command.command("change")
@click.argument("name")
@click.option("--name", "called", help="The name as it is now.")
@click.option("--role", "roles", multiple=True, help="The roles as they are now.")
@click.option("--by", metavar="NAME", help="The senior who changes it.")
@click.pass_obj
def change(shop: str | None, /, name: str, called: str | None, roles: tuple[str, ...], by: str | None) -> int:
    """Change a person's name or roles."""
    from ..job.people import called as person_called
    from ..job.people import edit_person, load_people

    if called is None and not roles:
        raise UsageError("say what changes, with --name or --role")
    here = open_shop(shop)
    who = person_called(load_people(here), name).id
    person = edit_person(here, who, clock(), _signed(here, by), called=called, roles=roles or None)
    say(f"{person.name} ({person.id}): {', '.join(person.roles)}.")
    return 0


@command.command("pin")
@click.argument("name")
@click.option("--by", metavar="NAME", help="A senior who sets it for them.")
@click.pass_obj
def pin(shop: str | None, /, name: str, by: str | None) -> int:
    """Set a person's PIN, at a terminal."""
    from ..job.people import called as person_called
    from ..job.people import load_people

    here = open_shop(shop)
    person = person_called(load_people(here), name)
    if person.pin and by is None:
        proved: Signed | None = signed(here, person, f"The PIN {person.name} has now (not shown): ")
    else:
        proved = _signed(here, by)
    _ask_new_pin(here, person.id, proved)
    return 0


def _id_of(name: str) -> str:
    """An id out of a name: its letters without their marks, in small letters."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    made = re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")[:32].strip("-")
    if not made or not made[0].isalpha():
        raise UsageError(f"no id can be made from '{name[:40]}'; give one with --id")
    return made


def _ask_new_pin(shop: Shop, who: str, by: Signed | None) -> None:
    """Ask for a new PIN twice; what cannot be one is said and asked again."""
    from ..job.people import read_pin, set_pin
    from ..job.pins import RULES, fault

    if at_terminal():
        say(f"{RULES}.")
    for _ in range(TRIES):
        first = read_pin("The new PIN (not shown, Enter for none now): ")
        if not first:
            say("No PIN is set.")
            return
        why = fault(first)
        if why is None and read_pin("The same once more: ") != first:
            why = "the two were not the same"
        if why is None:
            set_pin(shop, who, first, os.urandom(16), clock(), by=by)
            say("The PIN is set.")
            return
        say(sentence(why), complaint=True)
    raise Refused(f"no PIN is set; try again with `benchwalk people pin {who}`")


def _signed(shop: Shop, by: str | None) -> Signed | None:
    """The senior who allows it, proved by PIN; None where nobody has to.

    Where a senior has a PIN and nobody was named, the senior is asked for at a terminal.
    """
    from ..job.people import called

    people = people_of(shop)
    seniors = [person for person in people.with_role(shop.override_role) if person.pin]
    if by is None and (not seniors or not at_terminal()):
        return None
    if by is not None:
        person = called(people, by)
    elif len(seniors) == 1:
        person = seniors[0]
    else:
        names = ", ".join(p.name for p in seniors)
        person = called(people, click.prompt(f"Which {shop.override_role} allows it ({names})"))
    if seniors and not person.has(shop.override_role):
        raise Refused(f"{person.name} is no {shop.override_role}; a {shop.override_role} allows this")
    return signed(shop, person, f"PIN of {person.name}, who allows it (not shown): ")


def _shop_or_new(asked: str | None) -> Shop:
    from ..job.shop import Shop
    from ..paths import shop_folder

    folder = shop_folder(asked)
    if (folder / "shop.yaml").exists():
        return Shop.open(folder)
    if folder.is_dir() and any(folder.iterdir()):
        raise UsageError("this folder holds other things and no shop; name another with --shop", str(folder))
    shop = Shop.create(folder, "Our shop")
    say(f"A new shop begins in {folder}; its name stands in shop.yaml.")
    return shop
