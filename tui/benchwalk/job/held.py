"""A job that somebody else holds, in words: the names of people instead of their ids, times as people say them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime

from ..walk.wording import moment
from .lock import Holder
from .trouble import HeldElsewhere

_SAID = re.compile(r"(?P<who>[a-z0-9-]+) on (?P<host>.+) \(process [0-9]+\) since (?P<since>[0-9T:+.Z-]+)")
"""A holder as a log keeps it: see `Holder.said`."""


def held_words(held: HeldElsewhere, names: Mapping[str, str], now: datetime) -> str:
    """Why a job cannot be taken up: who holds it, where and since when."""
    holder = held.holder
    return held.message if holder is None else held.message.replace(holder.said(), _said(holder, names, now))


def _said(holder: Holder, names: Mapping[str, str], now: datetime) -> str:
    """Who, where and since when: only the hour where that is today."""
    since = holder.since
    try:
        at = datetime.fromisoformat(since).astimezone(now.tzinfo)
        since = f"{at:%H:%M}" if at.date() == now.date() else f"{at:%Y-%m-%d %H:%M}"
    except ValueError:
        pass
    return f"{names.get(holder.who, holder.who)} on {holder.host} (process {holder.pid}) since {since}"


def holder_words(said: str, names: Mapping[str, str]) -> str:
    """A holder that a log names, with the person's name and a plain time."""
    found = _SAID.fullmatch(said)
    if found is None:
        return said
    who = names.get(found["who"], found["who"])
    return f"{who} on {found['host']}, who had it since {moment(found['since'])}"
