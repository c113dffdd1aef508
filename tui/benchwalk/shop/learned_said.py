"""The numbers of the authors' page in words: each as a sentence that can be read aloud."""

from __future__ import annotations

from collections.abc import Callable

from ..procedure.showing import words_of
from .learned_counted import LED_AWAY, UNDER_WAY
from .learned_numbers import Number, Spent


def said_time(spent: Spent, visits: int) -> str:
    """`time: median 1 min 20 s, longest 7 min in J-0004`; `visits` is how many the step had."""
    what = "time let pass" if spent.what == "wait" else f"time{f' ({spent.note})' if spent.note else ''}"
    of = f" of {counted(spent.tally.count, 'visit')}" if spent.tally.count != visits else ""
    few = " (few)" if spent.few else ""
    return f"{what}: median {span(spent.median)}{of}, longest {span(spent.longest)} in {spent.job}{few}"


def said(number: Number) -> str:
    """A number in words."""
    return _SAID[number.what](number)


def _some(number: Number, noun: str) -> str:
    """`4 of 11 times`, `1 of 3 visits (few)`."""
    return f"{number.tally.count} of {counted(number.of, noun)}" + (" (few)" if number.few else "")


def _way(number: Number, lead: str, noun: str = "visit") -> str:
    """`to legs, 15 of 18 visits: The cord runs clear`."""
    many = "never in " + counted(number.of, noun) + (" (few)" if number.few else "")
    if number.tally.count:
        many = _some(number, noun)
    to = f"to {words_of(number.to)}" if number.to else ""
    led = ", ".join(word for word in (lead, to) if word)
    return f"{led}, {many}" + (f": {number.why}" if number.why else "")


def _outside(number: Number) -> str:
    parts = "".join(f", {word} {count}" for word, count in number.parts if word != "outside")
    few = " (few)" if number.few else ""
    return f"{_read(number)}: outside {number.tally.count} of {counted(number.of, 'time')}{parts}{few}"


def _read(number: Number) -> str:
    """`gap, at the strainer side`, `note, at rod 3`."""
    place = number.place
    if place is None:
        return words_of(number.name)
    if place.isdigit():
        return f"{words_of(number.name)}, at rod {place}"
    the = "" if len(place.split()[-1]) == 1 else "the "  # at the strainer side, but at edge A
    return f"{words_of(number.name)}, at {the}{place}"


def _outcome(number: Number) -> str:
    words = {UNDER_WAY: "still under way", LED_AWAY: "broken off by what ran it"}
    return f"{words.get(number.name, f'ended {number.name}')}: {_some(number, 'walk')}"


def _event(number: Number) -> str:
    where = ", ".join(f"{words_of(step)} {count}" for step, count in number.parts)
    at = f"; at {where}" if where else ""
    visits = f"{counted(number.of, 'visit')} of its steps" + (" (few)" if number.few else "")
    return f"{number.why}: {times(number.tally.count)} in {visits}{at}"


_SAID: dict[str, Callable[[Number], str]] = {
    "outcome": _outcome,
    "event": _event,
    "event-then": lambda number: _way(number._replace(why=""), f"{number.why}, too often ({number.bound})", "time"),
    "branch": lambda number: _way(number, ""),
    "then": lambda number: _way(number._replace(why=""), f"the same too often ({number.bound})"),
    "late": lambda number: _way(number._replace(why=""), number.why),
    "chosen": lambda number: _way(number, f"chosen {words_of(number.name)}"),
    "hand": lambda number: _way(number, "by hand"),
    "skip": lambda number: _way(number._replace(why=""), "skipped, as the procedure allows"),
    "entered": lambda number: _way(number, f"entered too often ({number.bound})", "time"),
    "end": lambda number: _way(number, f"ended {number.name} here"),
    "refused": lambda number: _way(number, "the look was refused"),
    "early": lambda number: _way(number, "the wait was cut short"),
    "not-yet": lambda number: (
        f"not yet, said {times(number.tally.count)} in {counted(number.of, 'visit')}" + (" (few)" if number.few else "")
    ),
    "outside": _outside,
    "corrected": lambda number: f"{_read(number)}: corrected afterwards {_some(number, 'time')}",
    "left-out": lambda number: f"{_read(number)}: left out {_some(number, 'time')}",
    "odd": lambda number: f"{_read(number)}: outside what is possible, and said again, {_some(number, 'time')}",
}
"""How each kind of number is said."""


def counted(count: int, noun: str) -> str:
    """`1 visit`, `3 visits`."""
    return f"{count} {noun}" + ("" if count == 1 else "s")


def times(count: int) -> str:
    """`never`, `1 time`, `3 times`."""
    return counted(count, "time") if count else "never"


def span(seconds: float) -> str:
    """A time as people say it: `45 s`, `1 min 20 s`, `25 min`, `2 h 5 min`, `3 days 4 h`."""
    some = round(seconds)
    if some < 60:
        return f"{some} s"
    if some < 600:
        return f"{some // 60} min" + (f" {some % 60} s" if some % 60 else "")
    minutes = round(seconds / 60)
    if minutes < 60:
        return f"{minutes} min"
    if minutes < 24 * 60:
        return f"{minutes // 60} h" + (f" {minutes % 60} min" if minutes % 60 else "")
    hours = round(seconds / 3600)
    return counted(hours // 24, "day") + (f" {hours % 24} h" if hours % 24 else "")
