"""What a sum is given, taken from the log; and what it gives, as events carry it."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

from ..procedure.linked import Argument
from ..quantities import Range, convert, decimal_text
from ..signatures import SIGNATURES, Input
from .figures import exact, range_data
from .phase import reading_places
from .state import Entry
from .view import View, entry_value
from .wording import output_of


def inputs_of(name: str, view: View) -> tuple[dict[str, Any], str | None, list[int]]:
    """(values by input name, what is lacking in words or None, the events they come from) of a sum."""
    use = view.linked.procedure.sums[name].use
    given: dict[str, Any] = {}
    sources: list[int] = []
    lacking: str | None = None
    leading: list[int] | None = None
    for declared in SIGNATURES[use].inputs:
        wish = view.linked.arguments[name].get(declared.name)
        if declared.unit == "same":
            declared = replace(declared, unit=_first_unit(name, use, view))
        if wish is None:
            continue
        if wish.how == "every":
            value, rests_on, visits = _every(wish.name, declared, view)
            if leading is None:
                leading = visits
            elif not declared.apart:
                value = _belonging(value, visits, leading)
        else:
            value, rests_on = _value(wish, declared, view)
        sources += rests_on
        if value is None or value == []:
            if not declared.optional and lacking is None:
                lacking = f"{wish.name.replace('_', ' ').replace('.', ' ')} is not noted"
            continue
        given[declared.name] = value
    return given, lacking, sorted(set(sources))


def _first_unit(name: str, use: str, view: View) -> str | None:
    """The unit of a sum's first input, which those declared `same` are brought to."""
    first = view.linked.arguments[name].get(SIGNATURES[use].inputs[0].name)
    if first is None:
        return None
    variable = view.linked.variables.get(first.name)
    limit = view.linked.limits.get(first.name)
    return variable.unit if variable is not None else (limit.unit if limit is not None else None)


def _value(wish: Argument, declared: Input, view: View) -> tuple[Any, list[int]]:
    if wish.how == "literal":
        return wish.name, []
    is_dotted = "." in wish.name and wish.name in view.linked.variables  # of a run or a sum there is only the last
    if wish.how == "last" or is_dotted or wish.name in view.given:
        return _last(wish.name, declared, view)
    rounds = view.rounds(wish.name)
    if len(rounds) < 2:
        return None, []
    return _round(rounds[-2], wish.name, declared, view), [e.n for e in rounds[-2].values()]


def _every(name: str, declared: Input, view: View) -> tuple[list[Any], list[int], list[int]]:
    """(the value of each round, the events they come from, the visit each round was noted in)."""
    rounds = view.rounds(name)
    values = [_round(entries, name, declared, view) for entries in rounds]
    visits = [next(iter(entries.values())).visit for entries in rounds]
    return values, [e.n for entries in rounds for e in entries.values()], visits


def _belonging(values: list[Any], visits: list[int], leading: list[int]) -> list[Any]:
    """For each round of the leading reading what was noted in the same visit, in whatever order, or after it and before
    the next round: added where there are several, None where there is none."""
    found: list[Any] = [None] * len(leading)
    for value, visit in zip(values, visits, strict=True):
        index = sum(1 for first in leading if first <= visit) - 1
        if index >= 0:
            found[index] = value if found[index] is None else _added(found[index], value)
    return found


def _added(first: Any, second: Any) -> Any:
    """Two numbers, or two values for each place, added; what is missing in one adds nothing. Of words the later."""
    if isinstance(first, dict) and isinstance(second, dict):
        return {place: _added(value, second.get(place)) for place, value in first.items()}
    if first is None or second is None:
        return second if first is None else first
    return first + second if isinstance(first, Fraction) and isinstance(second, Fraction) else second


def _last(name: str, declared: Input, view: View) -> tuple[Any, list[int]]:
    limit = view.linked.limits.get(name)
    if limit is not None:
        return _converted(limit.value, limit.unit, declared), []
    variable = view.linked.variable(name)
    if variable is not None and variable.kind == "range":
        found = view.range(name)
        return (found[0], found[1]) if found else (None, view.sources(name))
    entries = view.entries(name)
    if entries:
        return _round(entries, name, declared, view), [e.n for e in entries.values()]
    value = view.value(name)
    unit = variable.unit if variable else ""
    if isinstance(value, Fraction):
        return _converted(value, unit, declared), view.sources(name)
    return value, view.sources(name)


def _round(entries: dict[str | None, Entry], name: str, declared: Input, view: View) -> Any:
    variable = view.linked.variable(name)
    assert variable is not None
    if variable.places is None:
        value = entry_value(next(iter(entries.values())), variable.kind)
        return _converted(value, variable.unit, declared) if isinstance(value, Fraction) else value
    reading = view.linked.reading(name) or view.linked.reading(name.rpartition(".")[0])
    places = reading_places(reading, view) if reading is not None else list(entries)
    found: dict[str, Fraction | None] = {}
    for place in places:
        entry = entries.get(place)
        value = entry_value(entry, variable.kind) if entry is not None else None
        found[str(place)] = _converted(value, variable.unit, declared) if isinstance(value, Fraction) else None
    return found


def _converted(value: Fraction, unit: str, declared: Input) -> Fraction:
    if declared.unit in (None, unit) or not unit:
        return value
    return convert(value, unit, declared.unit or unit, change=declared.change)


def output_data(use: str, name: str, value: Any) -> Any:
    """An output as data: decimal text at the declared resolution, {low, high}, place -> text, a word, or None."""
    declared = output_of(use, name)
    resolution = declared.resolution if declared else None
    if isinstance(value, Range):
        return range_data(value)
    if isinstance(value, Fraction):
        return decimal_text(value, resolution) if resolution else exact(value)
    if isinstance(value, dict):
        return {k: (decimal_text(v, resolution) if v is not None else None) for k, v in value.items()}
    return value
