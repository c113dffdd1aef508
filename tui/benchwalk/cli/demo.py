"""`benchwalk demo`: the snare re-tie as a practice job in a scratch shop of invented people."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import click

from .common import at_terminal, clock, program, say

if TYPE_CHECKING:
    from ..job.shop import Shop

SENIOR, APPRENTICE = "Mara Quill", "Tam Reyes"


@click.command("demo")
@click.option("--plain", is_flag=True, help="Line by line on stdin and stdout.")
@click.option("--terse", is_flag=True, help="Fewer words, the same record.")
def command(plain: bool, terse: bool) -> int:
    """Walk the snare re-tie in a scratch shop: nothing of it counts, and you may play the senior."""
    from ..library import Library
    from ..session import Session
    from ..sums import compute
    from .walk import practise, talk_through

    # `make run` names itself there, so that it is named again to whoever puts the walk down
    resume = f"{program()} demo --plain" if plain else os.environ.get("BENCHWALK_AGAIN") or f"{program()} demo"
    shop = _scratch_shop()
    say(f"This is practice in a scratch shop, {shop.root}. You are {APPRENTICE}, the apprentice.")
    job = _unfinished(shop) if at_terminal() else None
    if job is not None:
        question = f"Job {job} was put down. Enter goes on with it, new begins another"
        while (word := click.prompt(question, "", show_default=False).strip().lower()) not in ("", "new"):
            say("Enter alone, or the word new.")
        if word != "new":
            with Session.resume(shop, job, "tam-reyes", clock, compute) as session:
                return talk_through(session, terse, resume, plain)
    drum = {"diameter": "14 in"}
    linked = Library.of(shop.root).get("retie-snare-cords")
    return practise(shop, linked, APPRENTICE, drum, terse=terse, clock=clock, resume=resume, plain=plain)


def _scratch_shop() -> Shop:
    from ..job.people import Person, add_person
    from ..job.shop import Shop
    from ..paths import user_folder

    folder = user_folder("cache") / "scratch-shop"
    if (folder / "shop.yaml").exists():
        return Shop.open(folder)
    shop = Shop.create(folder, "The scratch shop")
    add_person(shop, Person("mara-quill", SENIOR, ("senior",)), clock())
    add_person(shop, Person("tam-reyes", APPRENTICE, ("apprentice",)), clock())
    return shop


def _unfinished(shop: Shop) -> str | None:
    """The latest job that waits to be gone on with."""
    from ..shop.listing import listing

    jobs = [row["job"] for row in listing(shop) if row["open"]]
    return jobs[-1] if jobs else None
