"""The authors' page as plain data, for JSON: ids as the procedure has them, and every number with its events."""

from __future__ import annotations

from typing import Any

from .learned import Learned
from .learned_numbers import Number, Part, Spent, StepNumbers, Tally


def data_of(learned: Learned) -> dict[str, Any]:
    """The whole page. Times are seconds; `events` gives the numbers of a log's events by job."""
    return {
        "procedure": learned.procedure,
        "title": learned.title,
        "now": str(learned.now.procedure.revision) if learned.now is not None else None,
        "jobs": dict(learned.jobs),
        "left_out": [each._asdict() for each in learned.left_out],
        "problems": [each.told._asdict() | _rest(each) for each in learned.problems],
        "by_hand": [each.told._asdict() | _rest(each) for each in learned.by_hand],
        "went_back": [each.told._asdict() | _rest(each) for each in learned.went_back],
        "parts": [_part(part) for part in learned.parts],
    }


def _rest(each: Any) -> dict[str, Any]:
    return {key: value for key, value in each._asdict().items() if key != "told"}


def _part(part: Part) -> dict[str, Any]:
    return {
        "revision": part.revision,
        "content": part.content,
        "kind": part.kind,
        "walks": _tally(part.walks),
        "outcomes": [_number(number) for number in part.outcomes],
        "events": [_number(number) for number in part.events],
        "steps": [_step(step) for step in part.steps],
        "never_come_to": list(part.never),
    }


def _step(step: StepNumbers) -> dict[str, Any]:
    return {
        "step": step.step,
        "visits": _tally(step.visits),
        "gone_back_over": _tally(step.gone),
        "spent": [_spent(each) for each in step.spent],
        "numbers": [_number(number) for number in step.numbers],
    }


def _tally(tally: Tally) -> dict[str, Any]:
    return {"count": tally.count, "events": {job: list(events) for job, events in tally.events.items()}}


def _spent(spent: Spent) -> dict[str, Any]:
    told = {"what": spent.what, "note": spent.note, "median": spent.median, "longest": spent.longest, "job": spent.job}
    return told | _tally(spent.tally) | {"few": spent.few}


def _number(number: Number) -> dict[str, Any]:
    told = {key: getattr(number, key) for key in ("what", "name", "place", "to", "why", "bound", "line")}
    more = {"parts": dict(number.parts), "reasons": [reason._asdict() for reason in number.reasons]}
    return told | _tally(number.tally) | {"of": number.of, "few": number.few} | more
