"""Which ways the examples took, read from the events of their rehearsals."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from ..procedure.linked import Linked
from ..proof.rehearse import Rehearsal
from .ways import Key


def walked_ways(linked: Linked, rehearsals: Sequence[Rehearsal]) -> dict[Key, int]:
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
