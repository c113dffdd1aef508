"""What happened by itself after an act, in words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from ..procedure.showing import in_words, words_of
from ..walk.desk import Bench, view_of
from ..walk.phase import held
from ..walk.state import State
from ..walk.wording import worked_words
from .entries import steps_named


def told(state: State, bench: Bench, events: Iterable[dict[str, Any]]) -> Iterator[str]:
    """A paragraph for each event that a person must hear of; the state already has them."""
    for event in events:
        line = _line(state, bench, event)
        if line:
            yield line


def _line(state: State, bench: Bench, event: dict[str, Any]) -> str:
    match event["what"]:
        case "readied" if event["waived"]:
            return f"Noted: going on without {event['waived'].rstrip('.')}."
        case "worked":
            return _worked(state, bench, event)
        case "found" if not event["again"]:
            return f"Found: {event['sentence']}"
        case "told":
            because = event["because"].rstrip(".")
            note = f"say who did in a note ({event['meaning']})" if event.get("meaning") else "say who did in a note"
            return f"A {event['role']} may look on here: {because}. No key waits for it; {note}."
        case "ran" if event["event"]:
            return f"Now: {event['title']}."
        case "ran" if event["path"]:  # the stop that runs it has its number, and may have no page of its own
            return f"Stop {state.begun[event['run']].caller} is a part of its own: {event['title']}."
        case "returned" if event["why"]:
            return f"Back from {words_of(event['path'])}, {event['outcome']}: {event['why']}"
        case "returned":
            return f"Back from {words_of(event['path'])}, {event['outcome']}."
        case "rejudged":
            entry = state.entries[event["of"]]
            return f"Judged again: {words_of(entry.name)} is {event['verdict'] or 'not judged'} now."
        case "voided":
            return f"A sign-off no longer stands: {event['because']}. It is asked for again at the end."
        case "refused":
            return _refused(state, bench, event)
        case "diverged":
            return f"Stop: {in_words(event['because'], steps_named(state, event['would'])).rstrip('.')}."
        case "ended":
            words = f"The walk ends here: {event['outcome']}." + (f" {event['say']}" if event["say"] else "")
            next_ = ", ".join(map(words_of, event["proposes"]))
            return words + (f" Next, as proposed: {next_}." if next_ else "")
    return ""


def _refused(state: State, bench: Bench, event: dict[str, Any]) -> str:
    """A refusal, and what is left to do where no branch says where it leads."""
    said = f"{event['meaning'][:1].upper()}{event['meaning'][1:]}."
    if event.get("again"):
        return f"{said} The sign-off stays void until that is put right: go back, or have it looked at anew."
    visit = state.visits[event["visit"] - 1]
    linked = bench.books(visit.text)
    if held(visit, linked, linked.steps[visit.step]):
        return f"{said} Work stays here until it is put right: go back to an earlier stop, or have it looked at anew."
    return said


def _worked(state: State, bench: Bench, event: dict[str, Any]) -> str:
    again = " again" if event["again"] else ""
    name, shown = event["name"], words_of(event["name"])
    if event["no_result"]:
        return f"Worked out{again}, {shown}: no result, {event['no_result']}."
    view = view_of(state, state.visits[event["visit"] - 1], bench)
    outputs = worked_words(event["use"], name, event["outputs"], view)
    return f"Worked out{again}, {shown}: {outputs}."
