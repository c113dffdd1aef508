"""What several commands need: which shop is meant, who people are, and saying things safely."""

from __future__ import annotations

import json
import shutil
import sys
import textwrap
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from .. import paths
from ..errors import UsageError
from ..procedure.showing import safe_text, shortened

if TYPE_CHECKING:
    from ..job.shop import Shop

WIDEST = 100
"""Cells of the widest line that still reads well."""


def say(text: str = "", *, complaint: bool = False) -> None:
    """Say one line, with nothing in it that could act on a terminal; complaints go to stderr.

    A terminal gets it wrapped between words; a pipe gets one line, so that a line is one thing there.
    """
    safe = safe_text(text)
    if (sys.stderr if complaint else sys.stdout).isatty():
        width = max(40, min(shutil.get_terminal_size().columns, WIDEST)) - 1
        inset = " " * (len(safe) - len(safe.lstrip(" ")))
        safe = textwrap.fill(
            safe, width, subsequent_indent=f"{inset}  ", break_long_words=False, break_on_hyphens=False
        )
    click.echo(safe, err=complaint)


def say_command(text: str) -> None:
    """Say a command to be typed, on one line of its own."""
    click.echo(f"  {safe_text(text)}")


def say_json(data: Any) -> None:
    """The one JSON document a command prints."""
    click.echo(json.dumps(data))


def shop_folder(asked: str | None) -> Path | None:
    """The shop's folder where there is one on disk, else None."""
    folder = paths.shop_folder(asked)
    return folder if folder.is_dir() else None


def open_shop(asked: str | None) -> Shop:
    """The shop that is meant; UsageError where there is none."""
    from ..job.shop import Shop

    folder = paths.shop_folder(asked)
    if not folder.is_dir():
        raise UsageError("there is no shop here yet; `benchwalk people add` makes one", str(folder))
    return Shop.open(folder)


def clock() -> datetime:
    """The time now, with the offset of this place."""
    return datetime.now().astimezone()


def at_terminal() -> bool:
    """Whether a person sits here."""
    return bool(sys.stdin and sys.stdin.isatty() and sys.stdout and sys.stdout.isatty())


def pairs(items: tuple[str, ...]) -> dict[str, str]:
    """NAME=VALUE options as a mapping; UsageError where one is not of that form."""
    found: dict[str, str] = {}
    for item in items:
        name, equals, value = item.partition("=")
        if not equals or not name.strip() or not value.strip():
            raise UsageError(f"'{shortened(item)}' is not of the form NAME=VALUE, as in rods=10")
        found[name.strip()] = value.strip()
    return found


def drum_facts(items: tuple[str, ...]) -> dict[str, str]:
    """The facts of a drum as --drum gives them; UsageError for one that nobody could know."""
    from ..procedure.facts import FACTS

    found = pairs(items)
    for name in found:
        if name not in FACTS:
            raise UsageError(f"'{shortened(name)}' is no fact of a drum; known are {', '.join(FACTS)}")
    return found


def person_id(shop: Shop, who: str | None) -> str:
    """Who works: by name, or the only person there is; the guest where the shop has nobody yet.

    Raises UsageError where it has to be said, Refused where nobody is called so.
    """
    from ..job.people import load_people
    from ..session import GUEST, called

    people = load_people(shop)
    for notice in people.notices:
        say(notice, complaint=True)
    if who is not None:
        return called(people, who).id
    if not people.by_id:
        return GUEST
    if len(people.by_id) == 1:
        return next(iter(people.by_id))
    names = ", ".join(p.name for p in people.by_id.values())
    raise UsageError(f"say who works with --who; here work: {names}")
