"""`benchwalk demo`: the snare re-tie as a practice job in a scratch shop of invented people."""

from __future__ import annotations

import click

SENIOR, APPRENTICE = "Mara Quill", "Tam Reyes"


@click.command("demo")
@click.option("--terse", is_flag=True, help="Fewer words, the same record.")
def command(terse: bool) -> int:
    """Walk the snare re-tie in a scratch shop: nothing of it counts, and you may play the senior."""
    from ..job.shop import Shop
    from ..paths import scratch_dir
    from .common import clock
    from .walk import practise

    folder = scratch_dir()
    if (folder / "shop.yaml").exists():
        shop = Shop.open(folder)
    else:
        shop = Shop.create(folder, "The scratch shop")
        shop.add_person(SENIOR, ["senior"])
        shop.add_person(APPRENTICE, ["apprentice"])
    drum = {"rods": "10", "diameter": "14 in"}
    click.echo(f"This is practice in a scratch shop ({folder}). You are {APPRENTICE}, the apprentice.")
    return practise(shop, "retie-snare-cords", APPRENTICE, drum, terse=terse, clock=clock)
