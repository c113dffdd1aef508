"""`benchwalk jobs`: the shop's jobs, and what each waits for."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from .common import open_shop, say, say_json

if TYPE_CHECKING:
    from ..job.shop import Shop

_SHOWN = ("job", "kind", "procedure", "opened", "person", "owner", "instrument", "complaint", "state")


@click.command("jobs")
@click.argument("words", nargs=-1)
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
@click.pass_obj
def command(shop: str | None, /, words: tuple[str, ...], as_json: bool) -> int:
    """List the shop's jobs; with WORDS, those that have all of them. Reads only, and changes nothing."""
    rows = rows_of(open_shop(shop))
    wanted = [word.lower() for word in words]
    rows = [row for row in rows if all(word in _words(row) for word in wanted)]
    if as_json:
        say_json({"jobs": [{key: row[key] for key in _SHOWN} for row in rows]})
        return 0
    if not rows:
        say("No job has all these words." if words else "No jobs yet; `benchwalk intake` opens one.")
    for row in rows:
        say(line_of(row))
    return 0


def rows_of(shop: Shop) -> list[dict[str, Any]]:
    """The rows of a shop, with the looks its jobs wait for."""
    from ..session import Books
    from ..shop.listing import listing

    return listing(shop, lambda folder, state: Books(folder, state.texts))


def line_of(row: dict[str, Any]) -> str:
    """A job in one line."""
    about = ", ".join(row[key] for key in ("instrument", "owner") if row[key])
    return f"{row['job']}  {row['kind']}  {row['procedure']}  {row['state']}" + (f"  ({about})" if about else "")


def _words(row: dict[str, Any]) -> str:
    return " ".join(str(row[key]) for key in _SHOWN).lower()
