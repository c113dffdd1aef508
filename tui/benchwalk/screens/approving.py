"""Having a procedure approved at a screen: who wrote it, who looked through it, their PIN, the proof, then the word."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

from textual.app import App

from ..data import shipped_folder
from ..errors import Refused
from ..job.approvals import approve, may_approve
from ..job.people import Person, Signed, check_pin, load_people
from ..job.shop import Shop
from ..library import Library
from ..session import runs_of
from ..shop.approvable import must_be_clean
from .asking import AskLine, Pick

SHIPPED = "the Benchwalk authors"


async def have_approved(app: App[Any], shop: Shop, name: str, say: Callable[[str], None]) -> str | None:
    """Have the procedure of that id approved as the library has it; what to say of it, None where it was left.

    `say` tells what goes on meanwhile. Raises Refused where it may not be approved.
    """
    library = Library.of(shop.root)
    linked = await asyncio.to_thread(library.get, name)
    people = list((await asyncio.to_thread(load_people, shop)).by_id.values())
    shipped = library.path_of(name).resolve().parent == shipped_folder().resolve()
    author = SHIPPED if shipped else await _author(app, people)
    person = await _second(app, shop, people, author) if author else None
    if author is None or person is None:
        return None
    signed = await _proved(app, shop, person, f"{linked.id} revision {linked.procedure.revision} as approved")
    if signed is None:
        return None
    say("it is checked and its examples are walked; this takes some seconds")
    await asyncio.to_thread(must_be_clean, shop, linked, library)

    def keep() -> str:
        made = approve(
            shop, linked.id, str(linked.procedure.revision), linked.content, runs_of(linked), author, signed, _now()
        )
        return f"{linked.id} revision {made.revision} is approved by {made.name}"

    return await asyncio.to_thread(keep)


async def _author(app: App[Any], people: list[Person]) -> str | None:
    """Who wrote it, by id."""
    if not people:
        raise Refused("nobody works in this shop yet; `benchwalk people add` adds people")
    names = [person.name for person in people]
    index = await app.push_screen_wait(Pick("Who wrote it?", "A second person approves it.", names, start=None))
    return people[index].id if index is not None else None


async def _second(app: App[Any], shop: Shop, people: list[Person], author: str) -> Person | None:
    """Who approves: somebody of the role that approves here, and not the author."""
    fit: list[Person] = []
    for person in people:
        try:
            may_approve(shop, person, author)
        except Refused:
            continue
        fit.append(person)
    if not fit:
        raise Refused(f"nobody here could approve it: a {shop.approve_role} who did not write it must")
    names = [person.name for person in fit]
    index = await app.push_screen_wait(Pick("Who approves it?", "They have looked through it.", names, start=None))
    return fit[index] if index is not None else None


async def _proved(app: App[Any], shop: Shop, person: Person, signs: str) -> Signed | None:
    """That person's proof; a wrong PIN is said and asked again, until it is left."""
    proofs: list[Signed] = []

    def check(pin: str) -> None:
        proofs.append(check_pin(shop, person.id, pin, _now()))

    told = f"You sign: {signs}. The PIN is not shown."
    asked = AskLine(f"PIN of {person.name}", told, secret=True, check=check)
    return proofs[-1] if await app.push_screen_wait(asked) is not None else None


def _now() -> datetime:
    return datetime.now(UTC).astimezone()
