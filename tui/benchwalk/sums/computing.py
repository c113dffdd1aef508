"""One sum worked out: inputs checked against its signature, outputs rounded and checked against their domains."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from importlib import import_module
from typing import Any, cast

from ..errors import Failure, UsageError
from ..quantities import Range, rounded, shown
from ..signatures import MODULES, SIGNATURES, Input, NoResult, Outcome, Output, Signature, Value


def signature_of(name: str) -> Signature:
    """The signature of a sum. Raises UsageError, naming a near one, where there is no such sum."""
    found = SIGNATURES.get(name)
    if found is None:
        from difflib import get_close_matches  # only where somebody mistyped a name

        near = get_close_matches(name[:64], SIGNATURES, n=1)
        meant = f"; '{near[0]}' is one" if near else f"; there are {', '.join(SIGNATURES)}"
        raise UsageError(f"there is no sum {shown(name)}{meant}")
    return found


def compute(name: str, inputs: Mapping[str, Value]) -> Outcome:
    """Work out the sum `name`: every declared output at its resolution, or NoResult with the reason.

    An input that is None is missing: no result if it is required, as if left out if it is optional. Raises UsageError
    for an unknown sum, an input that is unknown, left out or of the wrong kind.
    """
    signature = signature_of(name)
    given = _checked(signature, inputs)
    for wanted in signature.inputs:
        if not wanted.optional and given[wanted.name] is None:
            return NoResult(f"{wanted.name} ({wanted.about}) is missing")
    work_out = cast(
        Callable[..., Outcome],
        getattr(import_module(f".{MODULES[name]}", __package__), name.replace("-", "_")),
    )
    found = work_out(**given)
    if isinstance(found, NoResult):
        return found
    return {output.name: _settled(found.get(output.name), output, name) for output in signature.outputs}


def _checked(signature: Signature, inputs: Mapping[str, Value]) -> dict[str, Any]:
    wanted = {each.name: each for each in signature.inputs}
    for name in inputs:
        if name not in wanted:
            raise UsageError(f"{signature.name} takes no {shown(name)}; it takes {', '.join(wanted)}")
    for name, each in wanted.items():
        if name not in inputs and not each.optional:
            raise UsageError(f"{signature.name} needs {name}: {each.about}")
    return {
        name: _of_kind(signature.name, wanted[name], value)
        for name, value in inputs.items()
        if value is not None or not wanted[name].optional
    }


def _of_kind(sum_name: str, wanted: Input, value: Value) -> Value:
    """`value` if it is what `wanted` takes (whole numbers become fractions)."""
    if value is None:
        return None
    if not wanted.many:
        return _single(sum_name, wanted, value)
    if not isinstance(value, list):
        raise _wrong(sum_name, wanted, value)
    return [None if each is None else _single(sum_name, wanted, each) for each in value]


def _single(sum_name: str, wanted: Input, value: Value) -> Value:
    if not wanted.placed:
        return _plain(sum_name, wanted, value)
    if not isinstance(value, dict) or not all(isinstance(place, str) for place in value):
        raise _wrong(sum_name, wanted, value)
    return {
        place: None if each is None else cast(Fraction, _plain(sum_name, wanted, each)) for place, each in value.items()
    }


def _plain(sum_name: str, wanted: Input, value: Value) -> Value:
    if wanted.kind == "number" and isinstance(value, (int, Fraction)) and not isinstance(value, bool):
        return Fraction(value)
    if wanted.kind == "range" and isinstance(value, Range):
        return value
    if wanted.kind == "choice" and isinstance(value, str) and (not wanted.choices or value in wanted.choices):
        return value
    raise _wrong(sum_name, wanted, value)


def _wrong(sum_name: str, wanted: Input, value: object) -> UsageError:
    kind = f"one of {', '.join(wanted.choices)}" if wanted.choices else f"a {wanted.kind}"
    if wanted.placed:
        kind += " for each place"
    if wanted.many:
        kind += ", as a list of rounds"
    return UsageError(f"{sum_name}: {wanted.name} must be {kind}, and {_named(value)} was given")


def _named(value: object) -> str:
    if isinstance(value, str):
        return shown(value)
    names = {Fraction: "a number", int: "a number", float: "an inexact number", bool: "a yes or no", Range: "a range"}
    return names.get(type(value), "a list" if isinstance(value, list) else "something of another kind")


def _settled(value: Value, output: Output, name: str) -> Value:
    """An output at its resolution. Raises Failure where a sum breaks its own declaration: the program is wrong then."""
    numbers: list[Fraction] = []
    settled: Value = value
    if value is None:
        kept = output.may_be_missing
    elif isinstance(value, Fraction):
        kept = output.kind == "number"
        settled = rounded(value, output.resolution)
        numbers = [settled]
    elif isinstance(value, Range):
        kept = output.kind == "range"
        settled = _rounded_range(value, output.resolution)
        numbers = [end for end in (settled.low, settled.high) if end is not None]
    elif isinstance(value, dict):
        kept = output.kind == "placed"
        settled = {place: None if each is None else rounded(each, output.resolution) for place, each in value.items()}
        numbers = [each for each in settled.values() if each is not None]
    else:
        kept = output.kind == "choice" and value in output.choices
    if not kept or not all(Range(output.low, output.high).contains(each) for each in numbers):
        raise Failure(f"the sum {name} gave a value for {output.name} that it says it never gives; nothing was used")
    return settled


def _rounded_range(found: Range, resolution: Fraction | None) -> Range:
    low = None if found.low is None else rounded(found.low, resolution)
    high = None if found.high is None else rounded(found.high, resolution)
    return Range(low, high, found.low_open, found.high_open)
