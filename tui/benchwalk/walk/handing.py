"""What a run is given by its caller, as data: the values as the caller sees them, and the events they rest on."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from ..procedure.linked import Linked, quantity_or_none
from ..procedure.model import Run
from ..procedure.parts import Take
from ..quantities import Range, convert, decimal_text
from .desk import Desk
from .figures import exact, range_data
from .state import Frame
from .view import View


def run_path(owner: Frame, run: Run) -> str:
    """The path a run is walked under."""
    return f"{owner.path}/{run.as_}" if owner.path else run.as_


def given_data(run: Run, inner: Linked, view: View) -> dict[str, Any]:
    """Everything a run is given, by name."""
    return {key: _given(inner.procedure.takes[key], text, view) for key, text in run.with_.items()}


def give_again(desk: Desk, frame: Frame) -> None:
    """Hand in again what a run was given, as of when it began, for something it rests on was corrected."""
    visit = desk.state.visits[frame.caller - 1]
    above = frame.path.rpartition("/")[0]
    owner = next(f for f in visit.frames if f.path == above)
    linked = desk.book(owner.text)
    run = linked.steps[visit.step].run
    if frame.event:
        run = next(e.run for e in linked.procedure.whenever if e.event == frame.event)
    assert run is not None
    view = View(desk.state, linked, owner.run, visit=visit.number, upto=frame.n)
    given = given_data(run, linked.runs[run.as_], view)
    same = given == desk.state.given[frame.run]
    because = "it is the same" if same else "a value it comes from was corrected"
    desk.emit("given_again", run=frame.run, given=given, because=because)


def _given(take: Take, text: str, view: View) -> dict[str, Any]:
    """One thing handed in: a choice, a range or a number."""
    if take.choices:
        if text in take.choices:
            return {"choice": text, "sources": []}
        value = view.value(text)
        return {"choice": value if isinstance(value, str) else None, "sources": view.sources(text)}
    variable = view.linked.variables.get(text)
    if take.range:
        found = view.range(text)
        if found is None:
            return {"range": None, "sources": view.sources(text)}
        unit = variable.unit if variable else take.range
        resolution = variable.resolution if variable and variable.resolution else None
        return {
            "range": range_data(_range_in(found[0], unit, take.range)),
            "resolution": decimal_text(convert(resolution, unit, take.range)) if resolution else None,
            "sources": found[1],
        }
    unit = take.unit or ""
    limit = view.linked.limits.get(text)
    if limit is not None:
        value = exact(convert(limit.value, limit.unit, unit))
        return {"typed": limit.typed, "value": value, "unit": unit, "sources": []}
    number = view.value(text) if variable is not None else None
    if isinstance(number, Fraction) and variable is not None:
        number = convert(number, variable.unit, unit)
        return {"typed": decimal_text(number), "value": exact(number), "unit": unit, "sources": view.sources(text)}
    literal = quantity_or_none(text, unit)
    if literal is not None:
        return {"typed": literal.typed, "value": exact(literal.value), "unit": unit, "sources": []}
    return {"typed": "", "value": None, "unit": unit, "sources": view.sources(text)}


def _range_in(found: Range, unit: str, wanted: str) -> Range:
    low = convert(found.low, unit, wanted) if found.low is not None else None
    high = convert(found.high, unit, wanted) if found.high is not None else None
    return Range(low, high, found.low_open, found.high_open)
