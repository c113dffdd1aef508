"""Values to type: the one of a cell that lies nearest to what was typed, and those worth trying where a sum decides."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from math import ceil, floor
from typing import Any

from ...procedure.variables import Variable
from ...quantities import Range
from ...walk.view import range_from
from ..answers import MISSING
from ..cells import RECORDED, Cell
from ..space import Dimension
from .script import Value, inside, step_of, typed, usual_value
from .spot import Leaf

DOUBLINGS = 6
"""How often the smallest change of a value is doubled to try it farther off."""


def near(variable: Variable, cell: Cell, now: object, wanted: Range | None) -> str | None:
    """The value of a cell nearest to the one that is noted, as typed; None where there is none. `wanted` is the range
    that a sum works out, where the cell says how it lies to that."""
    if cell.missing:
        return MISSING
    if isinstance(cell.value, str):
        return cell.value if variable.is_choice else usual_value(variable, None)
    point = cell.low is not None and cell.low == cell.high
    span: Range | None = Range(cell.low, cell.high, not (point or cell.closed[0]), not (point or cell.closed[1]))
    if wanted is not None and cell.verdict is not None and span is not None:
        span = span.intersect(_region(wanted, cell.verdict))
    if span is None:
        return None
    step = step_of(variable)
    if not isinstance(now, Fraction) or step is None:
        shown = cell.value if cell.value is not None and span.contains(cell.value) else inside(span, None, step)
        return typed(shown)
    return typed(now if span.contains(now) else _next_to(now, span, step))


def _region(wanted: Range, verdict: str) -> Range:
    """The numbers that are below, within or above what is wanted."""
    if verdict == "below":
        return Range(None, wanted.low, False, not wanted.low_open)
    if verdict == "above":
        return Range(wanted.high, None, not wanted.high_open, False)
    return wanted


def _next_to(now: Fraction, span: Range, step: Fraction) -> Fraction:
    """The multiple of `step` in `span` that lies nearest to a number outside it; where none does, any number in it."""
    if span.low is not None and now <= span.low:
        value = ceil(span.low / step) * step
        value = value if span.contains(value) else value + step
    else:
        value = floor((span.high if span.high is not None else now) / step) * step
        value = value if span.contains(value) else value - step
    return value if span.contains(value) else inside(span, None, None)


def spread(
    leaf: Leaf, named: Mapping[str, Cell], rest: tuple[Dimension, Sequence[Cell]] | None, wanted: Range | None
) -> Value | None:
    """A value for every place: at those that are named as their cells say, at the others so that just the cells of
    `rest` occur, with as few places changed as can be. None where there are too few places."""
    texts = leaf.text
    assert isinstance(texts, dict)
    cells = dict(named)
    if rest is not None:
        dimension, option = rest
        groups = {id(cell): next((g for g in dimension.classes if g[0] is cell), (cell,)) for cell in option}
        met: dict[int, list[str]] = {key: [] for key in groups}
        free: list[str] = []
        for place in texts:
            if place in named:
                continue
            value, verdict = leaf.value(place), leaf.entries[place].verdict
            key = next((k for k, group in groups.items() if any(holds(c, value, verdict) for c in group)), None)
            (free if key is None else met[key]).append(place)
        spare = [place for places in met.values() for place in places[1:]]
        for cell in option:
            if not met[id(cell)]:
                if not free and not spare:
                    return None
                cells[free.pop(0) if free else spare.pop(0)] = cell
        cells.update(dict.fromkeys(free, option[0]))
    found = {place: near(leaf.variable, cell, leaf.value(place), wanted) for place, cell in cells.items()}
    return None if None in found.values() else {**texts, **{p: text for p, text in found.items() if text is not None}}


def holds(cell: Cell, value: object, verdict: str | None) -> bool:
    """Whether a value lies in a cell; `verdict` is how it was judged."""
    if value is None or cell.missing:
        return value is None and cell.missing
    if isinstance(cell.value, str):
        return cell.value in (value, RECORDED)
    if not isinstance(value, Fraction) or (None not in (verdict, cell.verdict) and cell.verdict != verdict):
        return False
    low, high = cell.low, cell.high
    if low is not None and low == high:
        return value == low
    above = low is None or cell.edge[0] or value > low or (cell.closed[0] and value == low)
    below = high is None or cell.edge[1] or value < high or (cell.closed[1] and value == high)
    return above and below


def candidates(leaf: Leaf, leaves: Sequence[Leaf]) -> Iterator[Value]:
    """Other values worth trying for a reading that a sum takes; with places, at the first of them, then at all."""
    text = leaf.text
    if isinstance(text, str):
        yield from _candidates(leaf, None, leaves)
        return
    first = next(iter(text))
    values = [*_candidates(leaf, first, leaves)]
    yield from ({**text, first: value} for value in values)
    yield from (dict.fromkeys(text, value) for value in values)


def _candidates(leaf: Leaf, place: str | None, leaves: Sequence[Leaf]) -> Iterator[str]:
    variable, now = leaf.variable, leaf.value(place)
    if variable.is_choice:
        yield from (word for word in variable.words if word != now)
    elif variable.is_number:
        possible = variable.possible or Range(None, None)
        step = step_of(variable) or Fraction(1)
        start = now if isinstance(now, Fraction) else inside(variable.possible, None, step)
        values = {start + sign * step * 2**power for power in range(DOUBLINGS) for sign in (1, -1)}
        for other in leaves:
            value = other.value(next(iter(other.entries)))
            if isinstance(value, Fraction) and other.variable.unit == variable.unit:
                values |= {value, value + step, value - step}
        for span in (possible, variable.wanted):
            values |= {end for end in (span.low, span.high) if end is not None} if isinstance(span, Range) else set()
        for value in sorted(values, key=lambda value: (abs(value - start), value)):
            if value != now and possible.contains(value):
                yield typed(value)
    if now is not None and leaf.optional:
        yield MISSING


def of_output(value: Any, variable: Variable) -> str | dict[str, str] | None:
    """What a sum gave, as an example states it; something of its kind where it gave nothing.

    For places it is the commonest value of `each`, and those that differ; None where a place has none.
    """
    if variable.places is not None:
        return _of_places(value if isinstance(value, dict) else {})
    if variable.kind == "range":
        found = range_from(value) if value is not None else Range(Fraction(1), Fraction(2))
        low = None if found.low is None else typed(found.low)
        high = None if found.high is None else typed(found.high)
        if low is None or high is None:
            return f"at most {high}" if low is None else f"at least {low}"
        return f"{low} .. {high}"
    return usual_value(variable, None) if value is None else str(value)


def _of_places(values: dict[str, str | None]) -> dict[str, str] | None:
    if None in values.values():
        return None
    known = [value for value in values.values() if value is not None]
    each = max(dict.fromkeys(known), key=known.count, default="0")
    return {"each": each} | {place: value for place, value in values.items() if value is not None and value != each}
