"""The one-person shop's second look: the same hand again, later, measuring anew without seeing the first values."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from ..errors import Refused
from .acts import Sign
from .desk import Bench, Desk, view_of
from .phase import parse_time
from .record import understand
from .state import Entry, State, Visit
from .wording import asked_at

POLICY = "second look by the same hand"


def measured_again(state: State, covers: Sequence[int], visit: Visit | None, bench: Bench) -> dict[str, str]:
    """What a second look measures anew: name (and ` at PLACE`) -> the question. Every covered number, and only those.

    A reading of a run is named as the hold's procedure names it: `far.gap`.
    """
    asks: dict[str, str] = {}
    for key, entry in _numbers(state, covers, visit, bench).items():
        linked = bench.books(state.visits[entry.visit - 1].text)
        asks[key] = asked_at(linked.procedure.readings[entry.name].ask, entry.place or "")
    return asks


def _numbers(state: State, covers: Sequence[int], visit: Visit | None, bench: Bench) -> dict[str, Entry]:
    found: dict[str, Entry] = {}
    for n in covers:
        entry = state.entries.get(n)
        if entry is None or entry.visit == 0 or entry.value is None:
            continue
        stay = state.visits[entry.visit - 1]
        reading = bench.books(stay.text).procedure.readings.get(entry.name)
        if reading is None or reading.sort not in ("number", "whole", "note"):
            continue
        above = visit.path if visit is not None else ""
        path = stay.path.removeprefix(above).strip("/").replace("/", ".")
        name = f"{path}.{entry.name}" if path else entry.name
        found[f"{name} at {entry.place}" if entry.place else name] = entry
    return found


def second_look(desk: Desk, sign: Sign, covers: Sequence[int], visit: Visit | None) -> dict[str, object]:
    """What the sign-off of a second look carries; Refused where it comes too early or does not agree."""
    state, bench = desk.state, desk.bench
    entries = [state.entries[n] for n in covers if n in state.entries]
    if entries:
        first = max(parse_time(entry.corrected_at or entry.at) for entry in entries)
        left = bench.second_look - (bench.now - first)
        if left > timedelta():
            span = _minutes(bench.second_look)
            raise Refused(f"the second look comes {span} min after the first; {_minutes(left)} min left")
    again: dict[str, str] = {}
    asks = measured_again(state, covers, visit, bench)
    for key, entry in _numbers(state, covers, visit, bench).items():
        typed = sign.again.get(key, "")
        if not typed.strip():
            raise Refused(f"measure again without looking at the first value: {asks[key]}")
        view = view_of(state, state.visits[entry.visit - 1], bench, entry.n)
        meant = understand(view.linked.procedure.readings[entry.name], entry.name, typed, view)
        if meant.verdict != entry.verdict:
            raise Refused(f"the second look at '{asks[key]}' does not agree with the first; measure and correct it")
        again[key] = typed
    return {"again": again, "policy": POLICY}


def _minutes(span: timedelta) -> int:
    return max(1, -(-int(span.total_seconds()) // 60))
