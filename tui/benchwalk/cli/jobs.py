"""`benchwalk jobs`: the shop's jobs, and what each waits for."""

from __future__ import annotations

import json

import click


@click.command("jobs")
@click.argument("words", nargs=-1)
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
@click.pass_obj
def command(shop: str | None, words: tuple[str, ...], as_json: bool) -> int:
    """List the shop's jobs; with WORDS, those that have all of them. Reads only, and changes nothing."""
    from ..shop.listing import listing
    from .common import open_shop

    rows = listing(open_shop(shop))
    wanted = [word.lower() for word in words]
    rows = [row for row in rows if all(word in " ".join(map(str, row.values())).lower() for word in wanted)]
    if as_json:
        click.echo(json.dumps({"jobs": rows}))
        return 0
    if not rows:
        click.echo("No job has all these words." if words else "No jobs yet; `benchwalk intake` opens one.")
        return 0
    for row in rows:
        about = ", ".join(str(row[key]) for key in ("instrument", "owner") if row.get(key))
        click.echo(
            f"{row['job']}  {row['kind']}  {row['procedure']}  {row['state']}" + (f"  ({about})" if about else "")
        )
    return 0
