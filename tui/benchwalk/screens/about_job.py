"""What a job is: whose drum, which drum, what its owner complains of, as it was taken in. Read on request only: the
owner's facts lie beside the log, and looking at them leaves no trace in it."""

from __future__ import annotations

import asyncio
import textwrap
from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import TYPE_CHECKING, Any, NamedTuple

from textual.screen import Screen
from textual.widgets import Static

from ..daybook.ink import Line, Span, line
from ..errors import BenchwalkError, Failure
from ..job.folder import JobFolder
from ..job.log import read
from ..job.owner import owner, owner_matches
from ..procedure.facts import FACTS
from ..procedure.showing import safe_text
from ..walk.fold import replay
from ..walk.state import State
from ..walk.wording import as_typed
from .asking import Reading
from .looks import inked
from .rows import day

if TYPE_CHECKING:
    from .bench import BenchScreen
    from .walk import WalkScreen

Names = Mapping[str, str]
_LABEL, _MEASURE = 16, 52
"""Cells of the first column, and of the text beside it in the narrowest terminal that will do."""
_CALLED = {"instrument": "Drum", "complaint": "Complaint", "promised": "Promised for", "tag": "Tag and shelf"}
_KINDS = {"practice": "Practice", "customer": "Customer's job", "rehearsal": "Rehearsal"}


class Told(NamedTuple):
    """One thing that is known of a job: what it is called, and what is known."""

    label: str
    text: str


def about(folder: JobFolder, state: State, digest: str, names: Names, now: datetime) -> Iterator[Told]:
    """What is known of a job: its owner first. `digest` is the hash of the owner's facts in its log."""
    yield from _owner(folder, state, digest, names, now)
    for key in dict.fromkeys([*_CALLED, *state.note]):
        if state.note.get(key):
            yield Told(_CALLED.get(key, _words(key)), state.note[key])
    for name, typed in _facts(state).items():
        yield Told(_words(name), typed)
    yield Told(_KINDS.get(state.kind, _words(state.kind)), f"{state.title}, revision {state.revision}")
    opened = names.get(state.opened_by, state.opened_by)
    took = "Taken in" if state.kind == "customer" else "Begun"
    yield Told(took, f"{day(state.opened_at, now)}, {state.opened_at[11:16]}, by {opened}")


def _owner(folder: JobFolder, state: State, digest: str, names: Names, now: datetime) -> Iterator[Told]:
    if state.owner_removed is not None:
        gone, who = state.owner_removed["at"], state.owner_removed["who"]
        yield Told("Owner", f"removed on {day(gone, now)} by {names.get(who, who)}; nothing of them is kept")
        return
    try:
        facts = owner(folder)
        same = not digest or owner_matches(folder, digest)
    except BenchwalkError as error:
        yield Told("Owner", f"cannot be read: {error.message}")
        return
    if facts is None:
        nobody = "nobody's drum" if state.kind != "customer" and not digest else "nothing is kept of them"
        yield Told("Owner", nobody)
        return
    for key, value in facts.items():
        yield Told({"name": "Owner", "contact": "Reached by"}.get(key, _words(key)), value)
    if not same:
        yield Told("", "These are not the owner's facts that were given when the drum was taken in.")


def _facts(state: State) -> dict[str, str]:
    """The drum's facts as they were typed, those found since in place of those given."""
    known = {name: as_typed(str(data["typed"]), str(data.get("unit", ""))) for name, data in state.drum.items()}
    known |= {name: as_typed(entry.typed, entry.unit) for name, entry in state.facts.items()}
    return {name: known[name] for name in [*FACTS, *known] if name in known}


def _words(name: str) -> str:
    return name.replace("_", " ").replace("-", " ").capitalize()


def page(told: list[Told]) -> list[Line]:
    """The lines of it, one thing a line."""
    rows: list[Line] = []
    for each in told:
        texts = [part for row in each.text.splitlines() for part in textwrap.wrap(safe_text(row), _MEASURE)]
        for number, text in enumerate(texts):
            label = safe_text(each.label) if number == 0 else ""
            rows.append(line(Span(f"{label:<{_LABEL}}", "quiet"), Span(text)))
    return rows


async def _show(screen: Screen[Any], job: str, told: list[Told]) -> None:
    await screen.app.push_screen_wait(Reading(f"What {job} is", Static(inked(page(told)))))


async def about_this(screen: WalkScreen) -> None:
    """What the job in hand is."""
    session = screen.session
    digest = str(session.events[0].get("owner") or "") if session.events else ""

    def found() -> list[Told]:
        return list(about(session.folder, session.state, digest, session.names, session.clock()))

    await _show(screen, session.state.job, await asyncio.to_thread(found))


async def about_marked(screen: BenchScreen) -> None:
    """What the marked job of the bench is. Raises Failure where its log cannot be read."""
    row, shelf = screen.marked_row, screen.shelf
    if row is None or shelf is None:
        return

    def found() -> list[Told]:
        folder = shelf.shop.job(row["job"])
        events = read(folder.log).events
        state = replay(events)
        if not state.job:
            raise Failure("the log of this job is empty; nothing was ever opened in it")
        return list(about(folder, state, str(events[0].get("owner") or ""), shelf.names, shelf.now()))

    await _show(screen, row["job"], await asyncio.to_thread(found))
