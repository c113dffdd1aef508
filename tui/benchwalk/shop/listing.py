"""The shop's jobs in one row each: which, for whom, where it stands and what it waits for."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from ..errors import BenchwalkError
from ..job.folder import JobFolder
from ..job.log import read
from ..job.owner import owner
from ..job.shop import Shop
from ..procedure.linked import Linked
from ..walk.fold import replay
from ..walk.state import State

Books = Callable[[str], Linked]
LOOK, TIME, WORK, REST = 0, 1, 2, 3
"""What comes first at the bench: a look by somebody, a time that runs, work in hand, what rests."""


def listing(shop: Shop, books: Callable[[JobFolder, State], Books] | None = None) -> list[dict[str, Any]]:
    """One row a job, in the order of their numbers; a log that cannot be read is a row that says so.

    With `books` (the procedures a job is worked to) the look a job waits for is named. `open` says that there is
    still work to be done at it, `first` how soon somebody is wanted.
    """
    rows = []
    for job in shop.jobs():
        try:
            rows.append(_row(shop.job(job), books))
        except BenchwalkError as error:
            rows.append(_unread(job, error.message))
    return rows


def bench(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The jobs in hand, what wants somebody soonest first."""
    return sorted((row for row in rows if not row["released"]), key=lambda row: (row["first"], row["until"] or ""))


def _row(folder: JobFolder, books: Callable[[JobFolder, State], Books] | None) -> dict[str, Any]:
    state = replay(read(folder.log).events)
    first, stands = standing(state, books(folder, state) if books is not None else None)
    here = state.here()
    return {
        "job": folder.id,
        "kind": state.kind,
        "procedure": state.procedure,
        "opened": state.opened_at,
        "person": state.person,
        "owner": _owner(folder),
        "instrument": state.note.get("instrument", ""),
        "complaint": state.note.get("complaint", ""),
        "state": stands,
        "open": bool(state.job) and not state.ended and not state.released,
        "released": bool(state.released),
        "first": first,
        "until": here.until if here is not None and here.waited is None else None,
    }


def _unread(job: str, why: str) -> dict[str, Any]:
    row = dict.fromkeys(("opened", "person", "owner", "instrument", "complaint"), "")
    unread: dict[str, Any] = {"state": f"cannot be read: {why}", "open": False, "released": False}
    return {"job": job, "kind": "?", "procedure": "?", **row, **unread, "first": LOOK, "until": None}


def _owner(folder: JobFolder) -> str:
    try:
        return (owner(folder) or {}).get("name", "")
    except BenchwalkError:
        return ""


def standing(state: State, books: Books | None = None) -> tuple[int, str]:
    """(what it is at the bench, where a job stands in words), from its log and, for looks, its procedure."""
    if not state.job:
        return REST, "not opened"
    if state.released:
        return REST, f"released, {state.ended['outcome'] if state.ended else 'not ended'}"
    if state.diverged is not None or state.open_signs():
        return LOOK, "waits: " + state.stale()[0]
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
        at = f"at stop {here.number}, {here.path + '/' if here.path else ''}{here.step}"
    down = "put down " if state.paused is not None else ""
    if here is not None and here.until and here.waited is None:
        return TIME, f"{down}{at}, waits until {here.until[11:16]}"
    if here is not None and books is not None:
        step = books(here.text).steps[here.step]
        if step.hold and (here.hold is None or here.hold.startswith("refused")):
            return LOOK, f"{down}{at}, waits for a {step.hold.by}'s look"
    return (REST if down else WORK), f"{down}{at}"
