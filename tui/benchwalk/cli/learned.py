"""`benchwalk learned`: what the shop's logs say of one procedure, for whoever writes it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from ..errors import BenchwalkError
from .common import open_shop, say_json

if TYPE_CHECKING:
    from ..job.shop import Shop
    from ..procedure.linked import Linked

WIDTH = 80
"""Cells of the longest line."""


@click.command("learned")
@click.argument("procedure")
@click.option("--jobs", "with_jobs", is_flag=True, help="Under each line the jobs it comes from, and how often.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON: every number with the events it was counted from.")
@click.pass_obj
def command(shop: str | None, /, procedure: str, with_jobs: bool, as_json: bool) -> int:
    """Say what the shop's logs say of PROCEDURE (an id or a path): problems that were reported, how often each way was
    taken, how the readings came out, how long each step took. Reads only.

    A log that cannot be read is named and left out; the command then ends with 1.
    """
    from ..daybook.hanging import hung_text
    from ..job.people import load_people
    from ..job.words import GUEST
    from ..session import Books
    from ..shop.learned import learn
    from ..shop.learned_data import data_of
    from ..shop.learned_jobs import worked_to
    from ..shop.learned_words import INSET, from_words, items

    here = open_shop(shop)
    now, unknown = _now(here, procedure)
    name = now.id if now is not None else procedure
    learned = learn(name, worked_to(here, name, Books), now)
    if unknown is not None and not learned.jobs:
        raise unknown
    code = 1 if learned.left_out else 0
    if as_json:
        say_json(data_of(learned))
        return code
    names = {GUEST: "a guest"} | {person.id: person.name for person in load_people(here).by_id.values()}
    for item in items(learned, names):
        for row in hung_text(item.inset, WIDTH):
            click.echo(row)
        if with_jobs and item.events:
            inset = " " * (INSET * (item.depth + 2))
            for row in hung_text(f"{inset}from {from_words(item)}", WIDTH):
                click.echo(row)
    return code


def _now(shop: Shop, procedure: str) -> tuple[Linked | None, BenchwalkError | None]:
    """The procedure as the library has it; or why there is none that can be read, which is no matter where jobs were
    worked to it."""
    from ..library import Library

    try:
        return Library.of(shop.root).get(procedure), None
    except BenchwalkError as error:
        return None, error
