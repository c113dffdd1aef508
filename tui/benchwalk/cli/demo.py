"""`benchwalk demo`: the snare re-tie as a practice job in a scratch shop of invented people."""

from __future__ import annotations

import click

SENIOR, APPRENTICE = "Mara Quill", "Tam Reyes"


@click.command("demo")
@click.option("--terse", is_flag=True, help="Fewer words, the same record.")
def command(terse: bool) -> int:
    """Walk the snare re-tie in a scratch shop: nothing of it counts, and you may play the senior."""
    from ..job.people import Person, add_person
    from ..job.shop import Shop
    from ..paths import user_folder
    from ..session import Session
    from ..shop.listing import listing
    from ..sums import compute
    from .common import at_terminal, clock
    from .walk import practise, talk_through

    folder = user_folder("cache") / "scratch-shop"
    if (folder / "shop.yaml").exists():
        shop = Shop.open(folder)
    else:
        shop = Shop.create(folder, "The scratch shop")
        add_person(shop, Person("mara-quill", SENIOR, ("senior",)), clock())
        add_person(shop, Person("tam-reyes", APPRENTICE, ("apprentice",)), clock())
    unfinished = [row["job"] for row in listing(shop) if not row["state"].startswith(("released", "ended"))]
    if unfinished and at_terminal():
        answer = click.prompt(
            f"{unfinished[-1]} was put down. Enter goes on with it, new begins anew", "", show_default=False
        )
        if answer.strip().lower() != "new":
            with Session.resume(shop, unfinished[-1], "tam-reyes", clock, compute) as session:
                return talk_through(session, terse)
    drum = {"diameter": "14 in"}
    click.echo(f"This is practice in a scratch shop ({folder}). You are {APPRENTICE}, the apprentice.")
    return practise(shop, "retie-snare-cords", APPRENTICE, drum, terse=terse, clock=clock)
