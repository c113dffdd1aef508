"""Taking work into hand from a list: who works, a job taken up, a practice job begun, a drum taken in."""

from __future__ import annotations

import asyncio
import os
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from ..errors import BenchwalkError, Refused
from ..job.held import held_words
from ..job.lock import Holder
from ..job.people import load_people
from ..job.shop import Shop
from ..job.trouble import HeldElsewhere
from ..library import Library
from ..procedure.linked import Linked
from ..procedure.showing import sentence
from ..session import GUEST, Session, require_approval
from ..shop.intake import must_be_writable, questions, taken_in
from ..sums import compute
from .asking import AskLine, Pick
from .hand import Hand
from .intake import IntakeScreen
from .shelf import Shelf, begun
from .walk import WalkScreen

if TYPE_CHECKING:
    from .bench import BenchScreen

NEW_SHOP = "My shop"
"""What a shop is called that begins with practice; its name stands in shop.yaml."""


async def who_works(screen: BenchScreen, *, anew: bool = False) -> str | None:
    """The id of who works here: the only person there is, who said so before, or who says so now; None where that is
    left open. A shop of nobody has a guest."""
    shelf = screen.shelf
    assert shelf is not None
    people = list((await asyncio.to_thread(load_people, shelf.shop)).by_id.values())
    ids = [person.id for person in people]
    if screen.who not in ids:
        screen.who = None
    if len(ids) < 2:
        screen.who = ids[0] if ids else GUEST
    elif screen.who is None or anew:
        start = ids.index(screen.who) if screen.who is not None else None  # nobody becomes somebody by Enter alone
        told = [f"{person.name}, {', '.join(person.roles)}" for person in people]
        index = await screen.app.push_screen_wait(
            Pick("Who works?", "It holds until you say otherwise, or leave the program.", told, start=start)
        )
        screen.who = ids[index] if index is not None else screen.who
    screen.fill()
    return screen.who


async def take_up(screen: BenchScreen, job: str) -> None:
    """Take a job up where it stands, and walk it."""
    who = await who_works(screen)
    if who is None:
        return
    shelf = screen.shelf
    assert shelf is not None

    def opened(reason: str | None = None) -> Session:
        session = Session.resume(shelf.shop, job, who, shelf.now, compute, take_over=reason)
        session.take_up_broken()
        return session

    try:
        session = await asyncio.to_thread(opened)
    except HeldElsewhere as held:
        said = held_words(held, shelf.names, shelf.now())
        if held.holder is None or held.holder.same_machine(Holder.here(who, shelf.now())):
            raise Refused(said) from None
        reason = await screen.app.push_screen_wait(AskLine("Take it over?", sentence(said), hint="the reason"))
        if reason is None:
            return
        session = await asyncio.to_thread(opened, reason)
    await walk(screen, session)


async def practise(screen: BenchScreen) -> None:
    """Begin a practice job; where there is no shop yet, one begins with it."""
    if screen.shelf is None:
        screen.shelf = await asyncio.to_thread(_begun, screen.folder, screen.now)
    shelf = screen.shelf
    await asyncio.to_thread(must_be_writable, shelf.shop)
    linked = await _procedure(screen, "Practise", "Which procedure? Nothing of it counts.", _walkable)
    who = await who_works(screen) if linked is not None else None
    if linked is None or who is None:
        return
    book = linked
    await walk(
        screen,
        await asyncio.to_thread(
            lambda: Session.begin(shelf.shop, book, who, shelf.now, compute, kind="practice", drum={})
        ),
    )


async def take_in(screen: BenchScreen) -> None:
    """Take a drum in: which procedure, then one page that asks the rest; the job is walked at once."""
    shelf = screen.shelf
    if shelf is None:
        raise Refused("there is no shop yet; add the people first, with `benchwalk people add` on the command line")
    if not (await asyncio.to_thread(load_people, shelf.shop)).by_id:
        raise Refused("nobody works in this shop yet; `benchwalk people add` adds people")
    await asyncio.to_thread(must_be_writable, shelf.shop)

    def approved(linked: Linked) -> str:
        try:
            require_approval(shelf.shop, linked)
        except Refused:
            return "not approved in this shop"
        return ""

    linked = await _procedure(screen, "Take a drum in", "For which procedure?", approved)
    who = await who_works(screen) if linked is not None else None
    if linked is None or who is None:
        return
    asked, book = questions(linked), linked

    def begin(answers: dict[str, str]) -> Session:
        known = taken_in(asked, answers)
        return Session.begin(
            shelf.shop,
            book,
            who,
            shelf.now,
            compute,
            kind="customer",
            drum=known.drum,
            note=known.note,
            owner=known.owner,
            salt=os.urandom(16),
        )

    form = IntakeScreen(linked.procedure.title, asked, begin)
    await screen.app.push_screen_wait(form)
    if form.session is not None:
        await walk(screen, form.session)


async def walk(screen: BenchScreen, session: Session) -> None:
    """Walk a job that is in hand, and come back to the bench."""
    told = tuple(sentence(notice) for notice in session.log.notices)
    await screen.app.push_screen_wait(WalkScreen(Hand(session), told=told))


def _begun(folder: Path, now: Callable[[], datetime]) -> Shelf:
    """The shop in a folder; one begins there if there is none."""
    return begun(folder, now) or Shelf(Shop.create(folder, NEW_SHOP), now)


def _walkable(linked: Linked) -> str:
    """Why a procedure cannot be walked by itself; empty where it can."""
    return "run by others only" if linked.procedure.takes else ""


async def _procedure(screen: BenchScreen, title: str, asks: str, fits: Callable[[Linked], str]) -> Linked | None:
    """One of the procedures; those that do not fit are shown with why, after the others. None where it is left."""
    shelf = screen.shelf
    assert shelf is not None
    found, off = await asyncio.to_thread(_procedures, shelf.shop, fits)
    texts = [linked.procedure.title for linked in found] + [title for title, _why in off]
    reasons = {len(found) + i: why for i, (_title, why) in enumerate(off)}
    index = await screen.app.push_screen_wait(Pick(title, asks, texts, off=reasons))
    return found[index] if index is not None else None


def _procedures(shop: Shop, fits: Callable[[Linked], str]) -> tuple[list[Linked], list[tuple[str, str]]]:
    """(those that fit, the others' titles and why they do not)."""
    library = Library.of(shop.root)
    found: list[Linked] = []
    off: list[tuple[str, str]] = []
    for name in library.ids():
        try:
            linked = library.get(name)
        except BenchwalkError as error:
            off.append((name, error.message))
            continue
        why = fits(linked)
        if why:
            off.append((linked.procedure.title, why))
        else:
            found.append(linked)
    return found, off
