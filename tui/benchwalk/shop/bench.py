"""The jobs in hand, in the order in which somebody is wanted at them. Light: the bench needs no more to be drawn."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from ..errors import BenchwalkError
from ..job.folder import JobFolder

LOOK, TIME, WORK, REST = 0, 1, 2, 3
"""What comes first at the bench: a look by somebody, a time that runs, work in hand, what rests."""


def bench(rows: list[dict[str, Any]], time: datetime | None = None) -> list[dict[str, Any]]:
    """The jobs in hand, what wants somebody soonest first; with `time`, a wait that is over by then is wanted now."""

    def key(row: dict[str, Any]) -> tuple[int, str]:
        over = time is not None and is_over(row, time)
        return (LOOK if over else row["first"], row["until"] or "")

    return sorted((row for row in rows if not row["released"]), key=key)


def is_over(row: Mapping[str, Any], time: datetime) -> bool:
    """Whether the time that a job waits for has passed."""
    return row["first"] == TIME and bool(row["until"]) and datetime.fromisoformat(row["until"]) <= time


def owner_of(folder: JobFolder) -> str:
    """The owner's name, as it stands beside the log now; empty where it is not known, was removed or is not read."""
    from ..job.owner import owner  # only now: most of what is drawn first has no need of it

    try:
        return (owner(folder) or {}).get("name", "")
    except BenchwalkError:
        return ""
