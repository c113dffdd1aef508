"""`benchwalk people`: who works here, their roles and PINs."""

from __future__ import annotations

import json
import os
import re
from typing import TYPE_CHECKING

import click

from ..errors import Refused, UsageError

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
    from ..job.people import load_people
    from .common import open_shop

    people = load_people(open_shop(ctx.obj))
    for notice in people.notices:
        click.echo(notice, err=True)
    if as_json:
        rows = [{"id": p.id, "name": p.name, "roles": p.roles, "pin": p.pin is not None} for p in people.by_id.values()]
        click.echo(json.dumps({"people": rows}))
        return 0
    for person in people.by_id.values():
        pin = "has a PIN" if person.pin else "no PIN yet"
        click.echo(f"{person.name} ({person.id}): {', '.join(person.roles)}; {pin}")
    if not people.by_id:
        click.echo('Nobody yet. Begin with the senior: benchwalk people add "NAME" --role senior')
    return 0


@command.command("add")
@click.argument("name")
@click.option(
    "--role", "roles", multiple=True, required=True, help="senior, technician, apprentice, or the shop's own."
)
@click.option("--id", "person_id", help="A short id; made from the name where it is not given.")
@click.option("--by", metavar="NAME", help="The senior who adds them, once a senior has a PIN.")
@click.pass_obj
def add(shop: str | None, name: str, roles: tuple[str, ...], person_id: str | None, by: str | None) -> int:
    """Add a person; at a terminal, their PIN is asked."""
    from ..job.people import Person, add_person
    from .common import at_terminal, clock

    here = _shop_or_new(shop)
    made = person_id or re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")
    signed = _signed(here, by)
    person = add_person(here, Person(made, name, roles), clock(), signed)
    click.echo(f"{person.name} ({person.id}) works here now: {', '.join(person.roles)}.")
    if at_terminal():
        _ask_new_pin(here, person.id, signed)
    return 0


@command.command("change")
@click.argument("name")
@click.option("--name", "called", help="The name as it is now.")
@click.option("--role", "roles", multiple=True, help="The roles as they are now.")
@click.option("--by", metavar="NAME", help="The senior who changes it.")
@click.pass_obj
def change(shop: str | None, name: str, called: str | None, roles: tuple[str, ...], by: str | None) -> int:
    """Change a person's name or roles."""
    from ..job.people import edit_person, load_people
    from ..session import called as person_called
    from .common import clock, open_shop

    here = open_shop(shop)
    who = person_called(load_people(here), name).id
    person = edit_person(here, who, clock(), _signed(here, by), called=called, roles=roles or None)
    click.echo(f"{person.name} ({person.id}): {', '.join(person.roles)}.")
    return 0


@command.command("pin")
@click.argument("name")
@click.option("--by", metavar="NAME", help="A senior who sets it for them.")
@click.pass_obj
def pin(shop: str | None, name: str, by: str | None) -> int:
    """Set a person's PIN, at a terminal."""
    from ..job.people import load_people, read_pin
    from ..session import called as person_called
    from .common import open_shop

    here = open_shop(shop)
    person = person_called(load_people(here), name)
    old = read_pin(f"The PIN {person.name} has now (not shown): ") if person.pin and by is None else None
    _ask_new_pin(here, person.id, _signed(here, by), old)
    return 0


def _ask_new_pin(shop: Shop, who: str, by: Signed | None, old: str | None = None) -> None:
    from ..job.people import read_pin, set_pin
    from .common import clock

    first = read_pin("A PIN of six or more figures (not shown, Enter for none now): ")
    if not first:
        return
    if read_pin("The same once more: ") != first:
        raise Refused("the two were not the same; set it with `benchwalk people pin`")
    set_pin(shop, who, first, os.urandom(16), clock(), old=old, by=by)
    click.echo("The PIN is set.")


def _signed(shop: Shop, by: str | None) -> Signed | None:
    if by is None:
        return None
    from ..job.people import check_pin, load_people, read_pin
    from ..session import called
    from .common import clock

    person = called(load_people(shop), by)
    return check_pin(shop, person.id, read_pin(f"PIN of {person.name} (not shown): "), clock())


def _shop_or_new(asked: str | None) -> Shop:
    from ..job.shop import Shop
    from ..paths import shop_folder

    folder = shop_folder(asked)
    if (folder / "shop.yaml").exists():
        return Shop.open(folder)
    if folder.exists() and any(folder.iterdir()):
        raise UsageError("this folder holds other things and no shop; name another with --shop", str(folder))
    click.echo(f"A new shop begins in {folder}; its name stands in shop.yaml.")
    return Shop.create(folder, "Our shop")
