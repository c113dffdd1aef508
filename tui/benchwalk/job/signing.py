"""How a person shows that it is them: a PIN, looked at slowly, and more slowly after wrong ones.

Every wrong PIN is an event in the shop's own chained log, `people.jsonl`, before it is told; how long somebody must
wait is worked out from there and from nowhere else.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

from ..errors import Refused
from . import pins
from .disk import DISK, Disk
from .line import Event, stamp
from .log import Holder, JobLog
from .roster import Person, load_people
from .shop import Shop

WRONG_BEFORE_WAIT = 3
FIRST_WAIT = timedelta(seconds=30)
LONGEST_WAIT = timedelta(hours=1)
TOKEN_LASTS = timedelta(minutes=5)
PATIENCE = 3.0  # s to wait for another terminal that is just writing the people's log

_SEAL = object()


class PinRefused(Refused):
    """A PIN that was not accepted; `wait` is how long no other will be looked at."""

    def __init__(self, message: str, wait: timedelta = timedelta()) -> None:
        super().__init__(message)
        self.wait = wait


class Signed:
    """Shows that a person gave the right PIN at a moment; only `check_pin` makes one. Good for five minutes."""

    __slots__ = ("at", "person")

    def __init__(self, person: Person, at: datetime, seal: object) -> None:
        if seal is not _SEAL:
            raise TypeError("only a right PIN makes a Signed")
        self.person = person
        self.at = at

    def holds(self, now: datetime) -> bool:
        """Whether it is still good at `now`; a clock that went back ends it too."""
        return timedelta() <= now - self.at <= TOKEN_LASTS


def check_pin(shop: Shop, name: str, pin: str, now: datetime, *, disk: Disk = DISK) -> Signed:
    """Look at a PIN: a Signed if it is right, else PinRefused, which is logged before it is told.

    After three wrong ones in a row nothing is looked at for 30 s, then for twice as long after each, up to an hour. A
    clock that went back frees nobody: the wait runs from the latest time in the log.
    """
    with open_book(shop, name if re.fullmatch(r"[a-z0-9-]+", name) else "nobody", now, disk) as log:
        person = load_people(shop).get(name)
        if person.pin is None:
            raise PinRefused(f"{person.name} has no PIN yet; set one first")
        wrong, since = trouble(log.opened.events, name)
        wait = waiting(wrong, since, now)
        if wait > timedelta():
            raise PinRefused(f"{wrong} wrong PINs in a row for {person.name}; try again in {_lasting(wait)}", wait)
        if pins.fits(pin, person.pin):
            if wrong:
                note(log, now, "pin_right", person=name)
            return Signed(person, now, _SEAL)
        note(log, now, "pin_refused", person=name)
        wait = waiting(wrong + 1, max(since or now, now), now)
        more = f"; try again in {_lasting(wait)}" if wait else ""
        raise PinRefused(f"this is not the PIN of {person.name}{more}", wait)


def trouble(events: Iterable[Event], name: str) -> tuple[int, datetime | None]:
    """How many wrong PINs in a row stand in the people's log for a person, and the latest time among them."""
    wrong, since = 0, None
    for event in events:
        if event.get("person") != name:
            continue
        if event["what"] == "pin_refused":
            at = datetime.fromisoformat(event["at"])
            wrong, since = wrong + 1, at if since is None else max(since, at)
        elif event["what"] in ("pin_right", "pin_set"):
            wrong, since = 0, None
    return wrong, since


def waiting(wrong: int, since: datetime | None, now: datetime) -> timedelta:
    """How long it is until the next PIN is looked at; zero if it is at once."""
    if wrong < WRONG_BEFORE_WAIT or since is None:
        return timedelta()
    doubled = min(wrong - WRONG_BEFORE_WAIT, 20)
    until: datetime = since + min(FIRST_WAIT * (1 << doubled), LONGEST_WAIT)
    return max(until - now, timedelta())


def open_book(shop: Shop, who: str, now: datetime, disk: Disk) -> JobLog:
    """The people's log, open for writing; waits a moment for another terminal."""
    return JobLog.open(shop.root / "people.jsonl", Holder.here(who, now), patience=PATIENCE, disk=disk)


def note(log: JobLog, now: datetime, what: str, **fields: Any) -> None:
    """Keep one event in the people's log; a tenth of a second matters here, so times have milliseconds."""
    at = stamp(now, "milliseconds")
    log.append([{"v": 1, "n": log.next_n, "at": at, "who": log.holder.who, "what": what, **fields}])


def _lasting(wait: timedelta) -> str:
    seconds = -(-wait // timedelta(seconds=1))
    return f"{seconds} s" if seconds < 120 else f"{-(-seconds // 60)} min"
