"""Times as people type them."""

from __future__ import annotations

from datetime import datetime, time

from ..errors import Refused
from ..procedure.showing import shortened


def moment_of(text: str, now: datetime) -> str:
    """A time as events carry it: a bare hour is today's, and one without offset is this place's. Raises Refused."""
    try:
        hour = time.fromisoformat(text.zfill(5) if len(text) == 4 else text)
        found = now.replace(hour=hour.hour, minute=hour.minute, second=hour.second, microsecond=0)
    except ValueError:
        try:
            found = datetime.fromisoformat(text)
        except ValueError:
            raise Refused(f"'{shortened(text)}' is not a time, such as 9:30 or 2026-11-25T09:30") from None
    if found.tzinfo is None:
        found = found.replace(tzinfo=now.tzinfo)
    return found.isoformat(timespec="seconds")
