"""Which ways the examples took, read from the events of their rehearsals, and which ways there are to take."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any, Protocol

from ..procedure.linked import Linked

Key = tuple[str, str, int]
"""A way: the step's (or event's) id, its kind, and its number there.

Kinds of a step: skip, late, way, branch, then (a spent branch's), go, next, end, and entered (where a step that was
entered often enough sends on). Kinds of an event: event and event-then.
"""


class Walk(Protocol):
    """How an example went: whether as it says, and the events of its walk."""

    @property
    def ok(self) -> bool: ...
    @property
    def events(self) -> Sequence[dict[str, Any]]: ...


def all_ways(linked: Linked) -> Iterator[Key]:
    """Every way that an example should walk, in the order of the file: branches, what bounds send on to, and events."""
    for name, step in linked.steps.items():
        if step.wait and step.wait.late and step.wait.at_latest:
            yield name, "late", 0
        for number, line in enumerate(step.lines):
            yield name, "branch", number
            if line.at_most is not None:
                yield name, "then", number
        for number, way in enumerate(step.choose.ways if step.choose else ()):
            if way.go:
                yield name, "way", number
        if step.end:
            yield name, "end", 0
        if step.entered:
            yield name, "entered", 0
        if step.may_skip:
            yield name, "skip", 0
    for event in linked.procedure.whenever:
        yield event.event, "event", 0
        if event.at_most is not None:
            yield event.event, "event-then", 0


def walked_ways(linked: Linked, rehearsals: Iterable[Walk]) -> dict[Key, int]:
    """Way to the number of examples that took it; an example that did not go as it says is left out.

    Wherever this very procedure was walked counts, also where another procedure ran it.
    """
    found: dict[Key, int] = {}
    for rehearsal in rehearsals:
        if rehearsal.ok:
            for key in set(_keys(linked, rehearsal.events)):
                found[key] = found.get(key, 0) + 1
    return found


def _keys(linked: Linked, events: Sequence[dict[str, Any]]) -> Iterator[Key]:
    books: dict[str, str] = {}  # path of a run to the procedure walked there
    visits: dict[int, tuple[str, str]] = {}  # visit to (procedure, step)
    chosen: dict[int, str] = {}
    callers: list[int] = []  # for each run begun and not back yet, the visit it was begun from
    here, going, away = 0, "", False  # the visit stood at; the step on the way to; whether an event leads there
    for event in events:
        what = event["what"]
        text, step = visits.get(event.get("visit", 0), ("", ""))
        mine = text == linked.text
        if what == "ran":
            books[event["path"]] = event["text"]
            callers.append(here)
            going = ""
        elif what == "entered":
            here = event["visit"]
            visits[here] = (event["text"], event["step"])
            if event["text"] == linked.text and going and not event["by_hand"]:
                yield from _sent_on(linked, going, event["step"])
            going, away = "", False
        elif what == "chose":
            chosen[event["visit"]] = event["way"]
        elif what == "skipped" and mine:
            yield step, "skip", 0
        elif what in ("took", "late"):
            going = event["go"]
            if mine and what == "late":
                yield step, "late", 0
            elif mine:
                yield _taken(linked, step, event, chosen.get(event["visit"], ""))
        elif what == "happened":
            going, away = event["go"] or "", bool(event["go"])
            if books.get(event["owner_path"]) == linked.text:
                yield event["event"], "event-then" if event["then"] else "event", 0
        elif what == "ended" and mine:
            yield step, "end", 0
        elif what == "returned":
            text, step = visits.get(here, ("", ""))
            if not away and text == linked.text:
                yield step, "end", 0
            here = callers.pop()


def _taken(linked: Linked, step: str, event: dict[str, Any], way: str) -> Key:
    if event["line"] is not None:
        return step, "then" if event["then"] else "branch", event["line"]
    known = linked.steps[step]
    if known.choose and any(w.go for w in known.choose.ways):
        return step, "way", [w.way for w in known.choose.ways].index(way)
    return step, "go" if known.go else "next", 0


def _sent_on(linked: Linked, going: str, entered: str) -> Iterator[Key]:
    """The steps that had been entered too often, each of which sent on to its `then`."""
    for _ in linked.steps:
        bound = linked.steps[going].entered if going in linked.steps else None
        if going == entered or bound is None:
            return
        yield going, "entered", 0
        going = bound.then
