"""`benchwalk where`: every file and folder that is used."""

from __future__ import annotations

import os
from pathlib import Path

import click

from .common import say, say_json


def _arrivals(shop: Path) -> dict[str, str]:
    """Where new pictures and recordings arrive, as far as the shop's settings can be read and name it."""
    from ..errors import BenchwalkError
    from ..job.arrivals import KEY, arrivals_folder
    from ..job.shop import Shop

    try:
        here = Shop.open(shop)
    except BenchwalkError:
        return {}
    folders = ((key, arrivals_folder(here, sort)) for sort, key in KEY.items())
    return {f"new {key}": str(folder) for key, folder in folders if folder is not None}


@click.command("where")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
@click.pass_obj
def command(shop: str | None, /, as_json: bool) -> int:
    """Say every file and folder that is used, and whether it is there yet."""
    from ..data import shipped_folder
    from ..paths import network_warning, where
    from ..procedure.yaml_reader import reader_note

    found = {key: str(value) for key, value in where(shop).items()}
    found["shipped procedures"] = str(shipped_folder())
    found |= _arrivals(Path(found["shop"]))
    notes = [note for note in (network_warning(Path(found["shop"])), reader_note()) if note]
    if notes:
        found["note"] = "; ".join(notes)
    if as_json:
        say_json(found)
        return 0
    for key, value in found.items():
        there = "" if not os.path.isabs(value) or os.path.lexists(value) else " (not there yet)"
        say(f"{key}: {value}{there}")
    return 0
