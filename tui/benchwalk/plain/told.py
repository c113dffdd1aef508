"""What happened by itself after an act, in words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from ..session import Session
from ..walk.desk import view_of
from ..walk.wording import said


def told(session: Session, events: Iterable[dict[str, Any]]) -> Iterator[str]:
    """A paragraph for each event that a person must hear of; the state already has them."""
    for event in events:
        line = _line(session, event)
        if line:
            yield line


def _line(session: Session, event: dict[str, Any]) -> str:
    match event["what"]:
        case "worked":
            return _worked(session, event)
        case "found" if not event["again"]:
            return f"Found: {event['sentence']}"
        case "told":
            return f"A {event['role']} may look on here: {event['because']}."
        case "ran" if event["path"]:
            return f"Now: {event['title']}."
        case "returned" if event["why"]:
            return f"Back from {event['path'].replace('/', ', ')}, {event['outcome']}: {event['why']}"
        case "returned":
            return f"Back from {event['path'].replace('/', ', ')}: {event['outcome']}."
        case "rejudged":
            entry = session.state.entries[event["of"]]
            return f"Judged again: {entry.name.replace('_', ' ')} is {event['verdict'] or 'not judged'} now."
        case "voided":
            return f"A sign-off no longer stands: {event['because']}. It must be given again."
        case "diverged":
            return f"Stop: {event['because']}."
        case "ended":
            words = f"The walk ends here: {event['outcome']}." + (f" {event['say']}" if event["say"] else "")
            proposed = f" Next, as proposed: {', '.join(event['proposes'])}." if event["proposes"] else ""
            return words + proposed
    return ""


def _worked(session: Session, event: dict[str, Any]) -> str:
    again = " again" if event["again"] else ""
    name, shown = event["name"], event["name"].replace("_", " ")
    if event["no_result"]:
        return f"Worked out {shown}{again}: no result, {event['no_result']}."
    view = view_of(session.state, session.state.visits[event["visit"] - 1], session.bench)
    outputs = ", ".join(f"{key.replace('_', ' ')} {said(f'{name}.{key}', view)}" for key in event["outputs"])
    return f"Worked out {shown}{again}: {outputs}."
