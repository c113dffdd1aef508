"""The shop's jobs in one row each: which, for whom, where it stands and what it waits for."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from ..daybook.entries import stale_words
from ..errors import BenchwalkError
from ..job.folder import NOT_OPENED, JobFolder, never_opened
from ..job.log import read
from ..job.shop import Shop
from ..procedure.showing import words_of
from ..walk.fold import replay
from ..walk.places import step_name
from ..walk.state import State
from .bench import LOOK, REST, TIME, WORK, owner_of
from .waiting import Books, Waiting, waiting, waits_for_a_look


def listing(shop: Shop, books: Callable[[JobFolder, State], Books] | None = None) -> list[dict[str, Any]]:
    """One row a job, in the order of their numbers; a log that cannot be read is a row that says so.

    With `books` (the procedures a job is worked to) the look a job waits for is named. `open` says that there is
    still work to be done at it, `first` how soon somebody is wanted.
    """
    rows = []
    for job in shop.jobs():
        try:
            folder = shop.job(job)
            rows.append({**row_of(folder, books), "owner": owner_of(folder)})
        except BenchwalkError as error:
            rows.append(unread(job, error.message))
    return rows


def row_of(folder: JobFolder, books: Callable[[JobFolder, State], Books] | None) -> dict[str, Any]:
    """The row of a job from its log alone, without its owner; `waits` says nothing without `books`.

    Raises Failure where the log, or with `books` a procedure kept with the job, cannot be read.
    """
    state = State() if never_opened(folder) else replay(read(folder.log).events)
    known = books(folder, state) if books is not None else None
    first, stands = standing(state, known)
    waits = waiting(state, known) if known is not None else Waiting("")
    here = state.here()
    return {
        "job": folder.id,
        "kind": state.kind or "?",
        "procedure": state.procedure or "?",
        "opened": state.opened_at,
        "person": state.person,
        "owner": "",
        "instrument": state.note.get("instrument", ""),
        "complaint": state.note.get("complaint", ""),
        "state": stands,
        "open": bool(state.job) and not state.ended and not state.released,
        "released": bool(state.released),
        "first": first,
        "until": here.until if here is not None and here.waited is None else None,
        "title": state.title,
        "last": state.at,
        "ended": state.ended["outcome"] if state.ended else "",
        "waits": waits.what,
        "because": waits.because,
        "wanted": waits.person,
    }


def unread(job: str, why: str) -> dict[str, Any]:
    """The row of a job that cannot be read, and why."""
    texts = ("opened", "person", "owner", "instrument", "complaint", "title", "last", "ended", "wanted")
    known: dict[str, Any] = {"state": f"cannot be read: {why}", "open": False, "released": False}
    waits = {"waits": "somebody to look at its log", "because": f"It cannot be read: {why}"}
    empty = dict.fromkeys(texts, "")
    return {"job": job, "kind": "?", "procedure": "?", **empty, **known, "first": LOOK, "until": None, **waits}


def standing(state: State, books: Books | None = None) -> tuple[int, str]:
    """(what it is at the bench, where a job stands in words), from its log and, for looks, its procedure."""
    if not state.job:
        return REST, NOT_OPENED
    if state.released:
        return REST, f"released, {state.ended['outcome'] if state.ended else 'not ended'}"
    if state.diverged is not None or state.open_signs():
        return LOOK, "waits: " + stale_words(state)[0]
    if state.ended:
        return LOOK, f"ended {state.ended['outcome']}, waits for its release"
    if state.handed_to:
        return LOOK, f"handed to {state.handed_to}, not taken on yet"
    if state.problem is not None:
        return LOOK, "waits: a problem with a step"
    return _at_a_step(state, books)


def _at_a_step(state: State, books: Books | None) -> tuple[int, str]:
    here = state.here()
    at = "before its first step"
    if here is not None:
        at = f"at stop {here.number}, {words_of(step_name(here.path, here.step))}"
    down = "put down " if state.paused is not None else ""
    if here is not None and here.until and here.waited is None:
        return TIME, f"{down}{at}, waits until {here.until[11:16]}"
    if here is not None and books is not None:
        step = books(here.text).steps[here.step]
        if step.hold and waits_for_a_look(here, step):
            return LOOK, f"{down}{at}, waits for a {step.hold.by}'s look"
    return (REST if down else WORK), f"{down}{at}"
