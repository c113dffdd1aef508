"""What several commands need: which shop is meant, who people are, and saying things safely."""

from __future__ import annotations

import json
import os
import shlex
import shutil
import sys
import textwrap
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from .. import paths
from ..errors import Refused, UsageError
from ..procedure.showing import safe_text, sentence, shortened

if TYPE_CHECKING:
    from ..job.people import People, Person, Signed
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


def program() -> str:
    """How this program is called from here: by its name where that is found, else the way it was started."""
    if shutil.which("benchwalk"):
        return "benchwalk"
    started = sys.argv[0] if sys.argv else ""
    if Path(started).stem == "benchwalk":
        return shlex.quote(_from_here(started))
    return f"{shlex.quote(_from_here(sys.executable))} -m benchwalk"


def _from_here(path: str) -> str:
    """A path as it is typed here: from this folder on where it lies below it."""
    here = os.getcwd() + os.sep
    return path[len(here) :] if path.startswith(here) else path


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


def full_screen() -> bool:
    """Whether there is a screen that can be written all over: a terminal, or a tab of `benchwalk serve`."""
    return "TEXTUAL_DRIVER" in os.environ or (at_terminal() and os.environ.get("TERM", "dumb") != "dumb")


def mouse() -> bool:
    """Whether the full screen takes the mouse: unless the command line said --no-mouse."""
    from . import MOUSE

    return bool(click.get_current_context().meta.get(MOUSE, True))


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


def people_of(shop: Shop) -> People:
    """Who works in the shop; what must be told of the file goes to stderr. Only read, nothing is changed."""
    from ..job.people import load_people

    people = load_people(shop)
    for notice in people.notices:
        say(notice + ".", complaint=True)
    return people


def person_id(shop: Shop, who: str | None) -> str:
    """Who works: by name, or the only person there is; the guest where the shop has nobody yet.

    Raises UsageError where it has to be said, Refused where nobody is called so.
    """
    from ..job.people import called
    from ..session import GUEST

    people = people_of(shop)
    if who is not None:
        return called(people, who).id
    if not people.by_id:
        return GUEST
    if len(people.by_id) == 1:
        return next(iter(people.by_id))
    names = ", ".join(p.name for p in people.by_id.values())
    raise UsageError(f"say who works with --who; here work: {names}")


TRIES = 3


def signed(shop: Shop, person: Person, prompt: str) -> Signed:
    """That person's PIN, typed at a terminal: a wrong one is said and asked again, three times at most.

    Raises PinRefused after the last, or where the next would have to wait; UsageError where nobody sits at a terminal.
    """
    from ..job.people import PinRefused, check_pin, read_pin

    for left in range(TRIES - 1, -1, -1):
        try:
            return check_pin(shop, person.id, read_pin(prompt), clock())
        except PinRefused as refused:
            if not left or refused.wait or person.pin is None:
                raise
            say(sentence(refused.message), complaint=True)
    raise AssertionError


def answer(stated: str | None, question: str, understand: Callable[[str], object], may_be_empty: bool = False) -> str:
    """What was stated, or one answer from stdin; at a terminal one that is not understood is asked again.

    Raises UsageError where nobody answers, Refused where it cannot be understood.
    """
    if stated is not None and stated.strip():
        understand(stated)
        return stated.strip()
    while True:
        click.echo(f"{question} ", nl=False, err=True)
        line = sys.stdin.readline(100_000)
        if not line and not may_be_empty:
            raise UsageError(f"nothing answers '{question}'; give it as an option, or type it")
        text = line.strip()
        if text == "?":
            empty = "Enter alone says nothing. " if may_be_empty else ""
            say(f"{empty}One line is the answer; ctrl+c leaves all of it, and nothing is kept.", complaint=True)
            continue
        if not text and may_be_empty:
            return ""
        if not text:
            say("Nothing was typed, and this has to be known; ctrl+c leaves all of it.", complaint=True)
            continue
        try:
            understand(text)
            return text
        except Refused as refused:
            if not at_terminal():
                raise
            say(sentence(refused.message), complaint=True)
