"""The shop's jobs in one line each: which, for whom, where it stands and what it waits for."""

from __future__ import annotations

from ..errors import BenchwalkError
from ..job.log import read
from ..job.shop import Shop
from ..walk.fold import replay
from ..walk.state import State


def listing(shop: Shop) -> list[dict[str, str]]:
    """One row a job, in the order of their numbers; a log that cannot be read is a row that says so."""
    rows = []
    for job in shop.jobs():
        try:
            rows.append(row_of(job, replay(read(shop.job(job).log).events)))
        except BenchwalkError as error:
            rows.append({"job": job, "kind": "?", "procedure": "?", "state": f"cannot be read: {error.message}"})
    return rows


def row_of(job: str, state: State) -> dict[str, str]:
    """One job's row."""
    return {
        "job": job,
        "kind": state.kind,
        "procedure": state.procedure,
        "opened": state.opened_at,
        "person": state.person,
        "instrument": state.note.get("instrument", ""),
        "complaint": state.note.get("complaint", ""),
        "state": standing(state),
    }


def standing(state: State) -> str:
    """Where a job stands, from its log alone."""
    if not state.job:
        return "not opened"
    if state.released:
        return f"released, {state.ended['outcome'] if state.ended else 'not ended'}"
    if state.stale():
        return "waits: " + state.stale()[0]
    if state.ended:
        return f"ended {state.ended['outcome']}, waits for its release"
    if state.handed_to:
        return f"handed to {state.handed_to}, not taken on yet"
    if state.problem is not None:
        return "waits: a problem with a step"
    here = state.here()
    at = "before its first step"
    if here is not None:
        at = f"at stop {here.number}, {here.path + '/' if here.path else ''}{here.step}"
    if state.paused is not None:
        return f"put down {at}"
    if here is not None and here.until and here.waited is None:
        return f"{at}, waits until {here.until[11:16]}"
    return at
