"""`benchwalk` alone: the bench, which is the jobs in hand and what each waits for, the next look first."""

from __future__ import annotations

from pathlib import Path

from ..procedure.collector import collector_rests
from .common import clock, say, say_command


def bench_on_screen(folder: Path, *, begin: bool, mouse: bool) -> int:
    """Open the bench on the full screen. An empty folder is one to begin a shop in, and with `begin` so is one that is
    not there yet."""
    with collector_rests():
        from ..screens.bench import BenchScreen
        from ..screens.start import on_screen
        from ..shop.settings import open_shop

        shop = None if (begin and not folder.exists()) or _is_empty(folder) else open_shop(folder)
        return on_screen(lambda told: BenchScreen(shop, folder=folder, told=told), mouse=mouse)


def _is_empty(folder: Path) -> bool:
    """Whether it is a folder with nothing in it."""
    try:
        return folder.is_dir() and not any(folder.iterdir())
    except OSError:
        return False


def bench(folder: Path) -> None:
    """Say what waits in the shop in that folder."""
    from ..job.shop import Shop
    from ..shop.bench import bench as in_hand
    from .jobs import line_of, rows_of

    shop = Shop.open(folder)
    rows = in_hand(rows_of(shop), clock())
    say(f"{shop.name}: {len(rows)} in hand." if rows else f"{shop.name}: nothing is in hand.")
    for row in rows:
        say(line_of(row))
    say("Go on with one, or list the commands:")
    say_command("benchwalk walk --job ID --who NAME --plain")
    say_command("benchwalk --help")
