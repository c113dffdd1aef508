"""`benchwalk` alone: the bench, which is the jobs in hand and what each waits for, the next look first."""

from __future__ import annotations

from pathlib import Path

from .common import say, say_command


def bench(folder: Path) -> None:
    """Say what waits in the shop in that folder."""
    from ..job.shop import Shop
    from ..shop.listing import bench as in_hand
    from .jobs import line_of, rows_of

    shop = Shop.open(folder)
    rows = in_hand(rows_of(shop))
    say(f"{shop.name}: {len(rows)} in hand." if rows else f"{shop.name}: nothing is in hand.")
    for row in rows:
        say(line_of(row))
    say("Go on with one, or list the commands:")
    say_command("benchwalk walk --job ID --who NAME --plain")
    say_command("benchwalk --help")
