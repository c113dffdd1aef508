"""`benchwalk where`: every file and folder that is used."""

from __future__ import annotations

import json

import click


@click.command("where")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
@click.pass_obj
def command(shop: str | None, as_json: bool) -> int:
    """Say every file and folder that is used, whether it is there, and what a network folder means."""
    from ..data import shipped_folder
    from ..paths import where
    from ..procedure.yaml_reader import reader_note

    found = {key: str(value) for key, value in where(shop).items()}
    found["shipped procedures"] = str(shipped_folder())
    note = reader_note()
    if note:
        found["note"] = note
    if as_json:
        click.echo(json.dumps(found))
        return 0
    for key, value in found.items():
        click.echo(f"{key}: {value}")
    return 0
