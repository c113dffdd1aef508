"""Working a log out once more: every sum, judgement and branch, compared with what the log says. Rewrites nothing."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from .desk import Bench, view_of
from .events import Event
from .fold import put
from .phase import fitting
from .record import judge_number
from .state import State
from .working import result_of


def differences(events: Iterable[Event], bench: Bench) -> list[tuple[int, str]]:
    """(number of the event, what differs in words) for each result that does not come out again as it was logged."""
    state = State()
    found: list[tuple[int, str]] = []
    for event in events:
        why = _differs(state, event, bench)
        if why:
            found.append((event["n"], why))
        put(state, event)
    return found


def _differs(state: State, event: Event, bench: Bench) -> str | None:
    what = event["what"]
    if what == "worked":
        visit = state.visits[event["visit"] - 1]
        if visit.skipped is not None and event["no_result"] == f"skipped: {visit.skipped}":
            return None
        view = view_of(state, visit, bench, event["again"] or None)
        outputs, no_result, _sources = result_of(bench, event["name"], view, visit.path)
        if (outputs, no_result) != (event["outputs"], event["no_result"]):
            return f"the sum {event['name']} gives {outputs or no_result} now, and {_said(event)} in the log"
    elif what == "took" and event["line"] is not None:
        visit = state.visits[event["visit"] - 1]
        view = view_of(state, visit, bench)
        line = fitting(view.linked, view.linked.steps[visit.step], view)
        if line != event["line"]:
            return f"at {visit.step} branch {_nth(line)} fits now, and the log took {_nth(event['line'])}"
    elif what == "read" and event["verdict"] in ("below", "within", "above") and event["value"] is not None:
        view = view_of(state, state.visits[event["visit"] - 1], bench)
        if view.linked.procedure.readings[event["name"]].sort == "choice":
            return None
        verdict, by, _against = judge_number(event["name"], Fraction(event["value"]), view)
        if (verdict, by) != (event["verdict"], event["by"]):
            return f"{event['name']} is {verdict} now, and {event['verdict']} in the log"
    return None


def _said(event: Event) -> object:
    return event["outputs"] or event["no_result"]


def _nth(line: int | None) -> str:
    return "none" if line is None else str(line + 1)
