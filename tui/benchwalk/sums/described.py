"""Every sum as plain data, for listing and for documents."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from ..quantities import decimal_text
from ..signatures import SIGNATURES, Input, Output


def describe() -> list[dict[str, Any]]:
    """Every sum with its inputs, outputs, units, domains (numbers as text), when it has no result, and its source."""
    return [
        {
            "sum": each.name,
            "version": each.version,
            "about": each.about,
            "inputs": [_input(one) for one in each.inputs],
            "outputs": [_output(one) for one in each.outputs],
            "no_result": each.no_result,
            "source": each.source,
        }
        for each in SIGNATURES.values()
    ]


def _input(one: Input) -> dict[str, Any]:
    return {
        "name": one.name,
        "kind": one.kind,
        "unit": one.unit,
        "every_round": one.many,
        "each_place": one.placed,
        "apart": one.apart,
        "change": one.change,
        "optional": one.optional,
        "choices": list(one.choices),
        "about": one.about,
    }


def _output(one: Output) -> dict[str, Any]:
    return {
        "name": one.name,
        "said": one.spoken,
        "kind": one.kind,
        "unit": one.unit,
        "resolution": _text(one.resolution),
        "choices": list(one.choices),
        "low": _text(one.low),
        "high": _text(one.high),
        "may_be_missing": one.may_be_missing,
        "about": one.about,
    }


def _text(value: Fraction | None) -> str | None:
    return None if value is None else decimal_text(value)
