"""What the keys of the bench begin. Loaded with the first of them, so that the bench itself is on screen sooner."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import TYPE_CHECKING

from ..errors import Refused
from . import about_job, working
from .book import BookScreen
from .people import PeopleScreen
from .procedures import ProceduresScreen
from .record import open_pages

if TYPE_CHECKING:
    from .bench import BenchScreen


async def _take(screen: BenchScreen) -> None:
    row = screen.marked_row
    if row is None:
        raise Refused("no job is in hand")
    screen.close_find()
    screen.touched = True
    await working.take_up(screen, row["job"])


async def _who(screen: BenchScreen) -> None:
    who = await working.who_works(screen, anew=True)
    if screen.shelf is not None and len(screen.shelf.people) < 2:
        name = screen.shelf.names.get(who or "", who or "")
        screen.say(f"{name} works here; there is nobody else to choose")


async def _pages(screen: BenchScreen) -> None:
    if screen.marked_row is not None and screen.shelf is not None:
        await open_pages(screen, screen.shelf, screen.marked_row["job"])


async def _book(screen: BenchScreen) -> None:
    assert screen.shelf is not None
    await screen.app.push_screen_wait(BookScreen(screen.shelf))


async def _procedures(screen: BenchScreen) -> None:
    await screen.app.push_screen_wait(ProceduresScreen(screen.shelf.shop if screen.shelf is not None else None))


async def _people(screen: BenchScreen) -> None:
    assert screen.shelf is not None
    await screen.app.push_screen_wait(PeopleScreen(screen.shelf.shop))


FLOWS: dict[str, Callable[[BenchScreen], Awaitable[None]]] = {
    "take": _take,
    "practise": working.practise,
    "intake": working.take_in,
    "who": _who,
    "pages": _pages,
    "about": about_job.about_marked,
    "book": _book,
    "procedures": _procedures,
    "people": _people,
}
"""Action of the bench to its flow."""
