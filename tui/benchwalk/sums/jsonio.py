"""A sum on JSON data: numbers as JSON numbers or typed text, ranges as text or [low, high], places as list or object.

A JSON number is taken for the decimal it is written as, so 0.1 is one tenth and 0.1 + 0.2 is not in question.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Any

from ..errors import BenchwalkError, Misread, UsageError
from ..quantities import Range, canonical_unit, decimal_text, parse_note, parse_quantity, parse_range, shown
from ..signatures import Input, NoResult, Output, Signature, Value
from .computing import compute, signature_of

UNIT_KEY = "unit"
"""Beside the inputs of a sum that takes any unit: the unit of its numbers. Without it they are pure numbers."""

MOST = 10_000
"""Most items in one list of a payload: far more than there are rods, few enough to answer at once."""

_LARGEST, _SMALLEST = Fraction(10**40), Fraction(1, 10**40)


def compute_json(name: str, payload: object) -> dict[str, Any]:
    """Work out `name` on a JSON object of its inputs: {"sum", "version", "outputs", "no_result"}.

    Numbers in "outputs" are text at their resolution; a range is [low, high], placed values an object; "outputs" is
    empty where "no_result" says why. Raises UsageError or Misread, one sentence that names the input.
    """
    signature = signature_of(name)
    if not isinstance(payload, dict):
        raise UsageError(f"{name} takes a JSON object of its inputs: {', '.join(one.name for one in signature.inputs)}")
    unit = _unit_asked(signature, payload)
    known = {one.name: one for one in signature.inputs}
    given: dict[str, Value] = {}
    for key, data in payload.items():
        if key in known:
            given[key] = _given(f"{name}: {key}", known[key], data, unit)
        elif not (key == UNIT_KEY and unit is not None):
            raise UsageError(f"{name} takes no {shown(str(key))}; it takes {', '.join(known)}")
    found = compute(name, given)
    head: dict[str, Any] = {"sum": name, "version": signature.version}
    if isinstance(found, NoResult):
        return head | {"outputs": {}, "no_result": found.why}
    return head | {
        "outputs": {one.name: _data(found[one.name], one, unit) for one in signature.outputs},
        "no_result": None,
    }


def _unit_asked(signature: Signature, payload: dict[str, Any]) -> str | None:
    """The unit that stands for "any" and "same"; None where the sum's units are all fixed."""
    if all(one.kind == "choice" or one.unit not in (None, "same") for one in signature.inputs):
        return None
    unit = payload.get(UNIT_KEY, "")
    if not isinstance(unit, str) or len(unit) > 30 or not unit.isprintable():
        raise UsageError(f"{signature.name}: the unit must be a word, such as mm or turns")
    return canonical_unit(unit)


def _given(where: str, one: Input, data: object, unit: str | None) -> Value:
    try:
        if one.many and data is not None:
            rounds = _list(data)
            if (values := sum(len(each) for each in rounds if isinstance(each, list | dict))) > MOST:
                raise UsageError(f"all rounds together have {values} values; at most {MOST} are taken")
            return [_round(one, item, unit) for item in rounds]
        return _round(one, data, unit)
    except BenchwalkError as error:
        raise type(error)(f"{error.message}{_hint(error, unit)}", where) from None


def _hint(error: BenchwalkError, unit: str | None) -> str:
    return f'; say the unit of all numbers as "{UNIT_KEY}"' if unit == "" and isinstance(error, Misread) else ""


def _round(one: Input, data: object, unit: str | None) -> Value:
    if data is None:
        return None
    asked = (unit or "") if one.unit in (None, "same") else (one.unit or "")
    if not one.placed:
        return _range(data, asked) if one.kind == "range" else _plain(one, data, asked)
    if isinstance(data, dict):
        placed = {str(place): item for place, item in data.items()}
    else:
        placed = {str(number): item for number, item in enumerate(_list(data), start=1)}
    if len(placed) > MOST:
        raise UsageError(f"there are {len(placed)} places; at most {MOST} are taken")
    return {place: None if item is None else _number(item, asked, one.change) for place, item in placed.items()}


def _list(data: object) -> list[Any]:
    if not isinstance(data, list):
        raise UsageError("a list is wanted, in the order of the rods or rounds")
    if len(data) > MOST:
        raise UsageError(f"the list has {len(data)} items; at most {MOST} are taken")
    return data


def _plain(one: Input, data: object, asked: str) -> Value:
    if one.kind == "number":
        return _number(data, asked, one.change)
    if not isinstance(data, str):
        raise UsageError("a word is wanted")
    return data


def _number(data: object, asked: str, change: bool = False) -> Fraction:
    if isinstance(data, str):
        return (parse_note(data) if asked == "Hz" else parse_quantity(data, asked, change=change)).value
    if isinstance(data, bool) or not isinstance(data, (int, float)):
        raise UsageError("a number is wanted, or text such as 6.35 mm")
    if isinstance(data, float) and not math.isfinite(data):
        raise UsageError("a number is wanted, and this is none that can be counted with")
    value = Fraction(repr(data)) if isinstance(data, float) else Fraction(data)
    if abs(value) > _LARGEST or (value and abs(value) < _SMALLEST):
        raise UsageError("the number is too large or too small to be a reading")
    return value


def _range(data: object, asked: str) -> Range:
    if isinstance(data, str):
        return parse_range(data, asked)
    if not isinstance(data, list) or len(data) != 2:
        raise UsageError("a range is wanted: [low, high], or text such as 2 .. 5")
    low, high = (None if end is None else _number(end, asked) for end in data)
    found = Range(low, high)
    if found.empty:
        raise UsageError("the range holds no value: its lower end is above its upper end")
    return found


def _data(value: Value, one: Output, unit: str | None) -> Any:
    if isinstance(value, Fraction):
        return decimal_text(value, one.resolution)
    if isinstance(value, Range):
        if value.low_open or value.high_open:
            return value.text((unit or "") if one.unit == "same" else one.unit, one.resolution)
        return [None if end is None else decimal_text(end, one.resolution) for end in (value.low, value.high)]
    if isinstance(value, dict):
        return {place: None if item is None else decimal_text(item, one.resolution) for place, item in value.items()}
    return value
