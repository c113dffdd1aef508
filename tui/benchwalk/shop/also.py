"""What else happened at each stop, from the events: put down, handed over, gone back, corrected, decided by hand."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from ..job.held import holder_words
from ..procedure.showing import words_of
from ..walk.wording import as_noted, moment

Names = Mapping[str, str]
Event = Mapping[str, Any]


def also(events: Iterable[Event], names: Names) -> dict[int, list[str]]:
    """Stop (0: before the first) to lines of what happened there beside its readings, notes and sign-offs."""
    found: dict[int, list[str]] = {}
    findings: dict[int, str] = {}
    stop = 0
    for event in events:
        if event["what"] == "entered":
            stop = event["visit"]
        say = _SAID.get(event["what"])
        told = [say(event, names)] if say else []
        told += [f"Withdrawn: {findings[n]}" for n in event.get("withdraws", ()) if n in findings]
        if event["what"] == "found":
            first = event["again"] or event["n"]
            told += [f"Found before the correction: {findings[first]}"] if first in findings else []
            findings[first] = event["sentence"]
        if any(told):
            found.setdefault(stop, []).extend(line for line in told if line)
    return found


def _who(event: Event, names: Names) -> str:
    return f"{names.get(event['who'], event['who'])}, {moment(event['at'])}"


def _with(text: str) -> str:
    return f": {text}" if text else ""


def _signed(event: Event) -> str:
    sign = event.get("sign")
    return f"; {sign['name']}" if sign else ""


def _readied(event: Event, names: Names) -> str:
    return f"Went on without: {event['waived']} ({_who(event, names)})" if event["waived"] else ""


def _accounted(event: Event, names: Names) -> str:
    if not event.get("missing"):
        return ""
    closes = f"; the job may close with it{_signed(event)}" if event["sign"] else ""
    return f"Missing at the count, {_who(event, names)}: {event['missing']}{closes}"


def _paused(event: Event, names: Names) -> str:
    return f"Put down by {_who(event, names)}{_with(event['note'])}"


def _resumed(event: Event, names: Names) -> str:
    return f"Taken up again by {_who(event, names)}"


def _taken_on(event: Event, names: Names) -> str:
    how = {"name": ", by name", "pin": ", by PIN"}.get(event.get("how", ""), "")
    return f"Taken on by {_who(event, names)}{how}{_with(event['note'])}"


def _handed(event: Event, names: Names) -> str:
    return f"Handed to {names.get(event['to'], event['to'])} by {_who(event, names)}{_with(event['note'])}"


def _checked(event: Event, names: Names) -> str:
    return f"Looked at the drum again, {_who(event, names)}: {event['said'] or 'as the log says'}"


def _overruled(event: Event, names: Names) -> str:
    return f"Went on to {words_of(event['go'])} {event['because']}{_signed(event)}"


def _accepted(event: Event, names: Names) -> str:
    return f"The way as it went was accepted: {event['reason']}{_signed(event)}"


def _skipped(event: Event, names: Names) -> str:
    return f"Skipped: {event['reason']}{_signed(event)}"


def _corrected(event: Event, names: Names) -> str:
    noted = as_noted(event["typed"], event["value"], event["unit"])
    return f"Corrected [{event['of']}] to {noted} by {_who(event, names)}: {event['reason']}"


def _went_back(event: Event, names: Names) -> str:
    return f"Went back to stop {event['visit']}, {_who(event, names)}: {event['reason']}"


_SAID: dict[str, Callable[[Event, Names], str]] = {
    "readied": _readied,
    "accounted": _accounted,
    "paused": _paused,
    "resumed": _resumed,
    "taken_on": _taken_on,
    "handed_over": _handed,
    "place_checked": _checked,
    "overruled": _overruled,
    "accepted": _accepted,
    "skipped": _skipped,
    "corrected": _corrected,
    "went_back": _went_back,
    "happened": lambda event, names: f"Happened: {event['say']}",
    "waited": lambda event, names: f"Went on early: {event['early']}" if event["early"] else "",
    "late": lambda event, names: "The latest time had passed",
    "turned_away": lambda event, names: f"A sign-off was turned away: {event['why']}",
    "lock_taken_over": lambda event, names: (
        f"Taken over from {holder_words(event['holder'], names)}: {event['reason']}"
    ),
}
