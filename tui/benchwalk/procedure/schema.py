"""The grammar as a JSON Schema (draft 2020-12), for editors: keys, choices, shapes, and what each key means.

It is made from the models and kept beside them in procedure.schema.json; a test holds the two alike. It is kinder than
the reader in one way: an editor reads `0.5` as a number and `true` as a truth value where the reader keeps what was
typed, so wherever a value may stand all of these may. What names mean and where steps lead is for the checker.

Made anew by `python -m benchwalk.procedure.schema > tui/benchwalk/procedure/procedure.schema.json`.
"""

from __future__ import annotations

import json
import sys
from typing import Any

from ..signatures import SIGNATURES
from . import model
from .advice import ADVICE
from .condition_cursor import RESERVED
from .drawings import DRAWINGS
from .facts import FACTS
from .fields import ID, NAME
from .meanings import MEANINGS
from .parts import reader

Json = dict[str, Any]

UNITS = ("mm", "in", "turns", "deg", "Hz", "cents", "percent", "deg C", "min", "h", "g", "kg", "N")
"""Units that an editor offers; any other word may stand."""

_TEXT: Json = {"type": "string", "minLength": 1}
_TEXTS: Json = {"anyOf": [_TEXT, {"type": "array", "items": _TEXT}]}
_VALUE: Json = {"$ref": "#/$defs/Value"}
_ONE_OR_MORE: Json = {"anyOf": [_VALUE, {"type": "array", "items": _VALUE}]}
_UNIT: Json = {"anyOf": [{"enum": list(UNITS)}, _TEXT]}
_WHOLE: Json = {"type": ["integer", "string"], "minimum": 0, "maximum": 999999999, "pattern": "^[0-9]{1,9}$"}
_OUTCOMES = ["done", "stopped", "referred"]


def _offered(word: str) -> Json:
    return {"anyOf": [{"const": word}, _TEXT]}


def _offered_list(word: str) -> Json:
    return {"anyOf": [{"const": word}, _TEXT, {"type": "array", "items": _offered(word)}]}


def _by_name(value: Json) -> Json:
    return {"type": "object", "additionalProperties": value}


def _facts() -> Json:
    properties = {name: {"description": fact.ask + ".", **_VALUE} for name, fact in FACTS.items()}
    return {"type": "object", "properties": properties, "additionalProperties": False}


_FACT = {"enum": list(FACTS)}
_ANSWERS: Json = {"given": _by_name({"$ref": "#/$defs/Answer"}), "acts": _by_name({"$ref": "#/$defs/Act"})}
_ASSUMED: Json = {
    "type": "object",
    "properties": {
        "count": {
            "description": "By step: it counts as entered, and its bounded branches as taken, so many times already.",
            **_by_name(_WHOLE),
        }
    },
    "additionalProperties": {"$ref": "#/$defs/Answer"},
}

_SHAPES: dict[str, Json] = {  # where the model's own type says less than what may stand there, or an editor sees more
    **{f"{part}.allow": {"$ref": "#/$defs/Allow"} for part in ("Procedure", "Step", "Reading", "FindingDef")},
    "Procedure.drum": {"anyOf": [_FACT, {"type": "array", "items": _FACT}]},
    "Limit.is": _VALUE,
    "Take.choices": _by_name(_VALUE),
    "Take.range": _UNIT,
    "Take.unit": _UNIT,
    "Reading.unit": _UNIT,
    "Reading.choices": _by_name(_VALUE),
    "Reading.possible": _VALUE,
    "Reading.wanted": _ONE_OR_MORE,
    "Reading.resolution": _VALUE,
    "Reading.per": {"anyOf": [{"const": "rod"}, *_ONE_OR_MORE["anyOf"]]},
    "Reading.elsewhere": _VALUE,
    "Sum.use": {"enum": list(SIGNATURES)},
    "Sum.with": _by_name(_VALUE),
    "Run.with": _by_name(_VALUE),
    "Wait.for": _VALUE,
    "Wait.at_latest": _VALUE,
    "Branch.when": _offered("otherwise"),
    "Whenever.during": _offered_list("everywhere"),
    "Step.each": {
        "anyOf": [
            {"const": "rod"},
            *_ONE_OR_MORE["anyOf"],
            {
                "type": "object",
                "properties": {"rod": {"const": "pairs", "description": "Rod by rod, opposite ones together."}},
                "required": ["rod"],
                "additionalProperties": False,
            },
        ]
    },
    "Step.show": {"anyOf": [{"enum": list(DRAWINGS)}, _TEXT]},
    "Step.end": {"anyOf": [{"enum": _OUTCOMES}, {"$ref": "#/$defs/End"}]},
    **{f"{part}.{key}": shape for part in ("Usual", "Example") for key, shape in _ANSWERS.items()},
    **{f"{part}.drum": _facts() for part in ("Usual", "Example")},
    **{f"{part}.assume": _ASSUMED for part in ("Usual", "Example")},
    "Example.ends": {"enum": _OUTCOMES},
}
_TOGETHER: dict[str, Json] = {  # keys that belong together
    "Branch": {"at_most": ["then"], "then": ["at_most"]},
    "Whenever": {"at_most": ["then"], "then": ["at_most"], "run": ["then_back"]},
    "Wait": {"at_latest": ["late"], "late": ["at_latest"]},
    "Reading": {"where": ["elsewhere", "per"], "elsewhere": ["where"]},
}
_GRAVE = ("danger", "warning", "caution")


def schema() -> Json:
    """The schema as data, made anew from the models."""
    made = reader(model.Procedure).json_schema(by_alias=True, mode="validation")
    parts: dict[str, Json] = {**made.pop("$defs"), "Procedure": made}
    found = {name: _part(name, part) for name, part in sorted(parts.items())}
    found["GraveHazard"] = {**found["HazardText"], "required": ["hazard", "consequence", "avoid"]}
    found["Sum"]["allOf"] = [_given(name) for name in SIGNATURES]
    root = found.pop("Procedure")
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A Benchwalk procedure",
        **root,
        "$defs": {**found, **_answers(), **_words()},
    }


def schema_text() -> str:
    """The schema as the text of its file."""
    return json.dumps(schema(), indent=1, ensure_ascii=False) + "\n"


def _part(name: str, made: Json) -> Json:
    """One part of the grammar: its keys, each with its meaning."""
    properties = {
        key: {"description": MEANINGS[name][key], **(_SHAPES.get(f"{name}.{key}") or _shape(key, value))}
        for key, value in made["properties"].items()
    }
    part: Json = {"description": made["description"], "type": "object", "properties": properties}
    if made.get("required"):
        part["required"] = made["required"]
    if name in _TOGETHER:
        part["dependentRequired"] = _TOGETHER[name]
    return {**part, "additionalProperties": False}


def _shape(key: str, made: Json) -> Json:
    """A value's shape without what only a program needs: titles, defaults, null for what is left out."""
    if "$ref" in made:
        grave = key in _GRAVE and made["$ref"].endswith("/HazardText")
        return {"$ref": "#/$defs/GraveHazard" if grave else made["$ref"]}
    if "anyOf" in made:
        kept = [_shape(key, one) for one in made["anyOf"] if one.get("type") != "null"]
        if {"anyOf": kept} == _TEXTS:
            return {"$ref": "#/$defs/Texts"}
        return kept[0] if len(kept) == 1 else {"anyOf": kept}
    if "enum" in made:
        return {"enum": made["enum"]}
    kind = made["type"]
    if kind == "integer":
        return _WHOLE
    if kind == "boolean":
        return {"enum": [True, False, "true", "false"]}
    if kind == "array":
        least = {"minItems": made["minItems"]} if "minItems" in made else {}
        return {"type": "array", "items": _shape(key, made["items"]), **least}
    if kind == "object":
        [(pattern, value)] = made.get("patternProperties", {None: made.get("additionalProperties")}).items()
        named = {"propertyNames": _word(pattern)} if pattern else {}
        return {"type": "object", **named, "additionalProperties": _shape(key, value)}
    return _word(made["pattern"]) if "pattern" in made else _TEXT


def _word(pattern: str) -> Json:
    """An id (with hyphens) or a name (with underscores)."""
    return {"$ref": "#/$defs/Name" if "_" in pattern else "#/$defs/Id"}


def _given(name: str) -> Json:
    """What one sum takes, once it is named."""
    inputs = SIGNATURES[name].inputs
    properties = {i.name: {"description": i.about[:1].upper() + i.about[1:] + ".", **_VALUE} for i in inputs}
    needed = [i.name for i in inputs if not i.optional]
    said = MEANINGS["Sum"]["with"]
    given = {"description": said, "properties": properties, "required": needed, "additionalProperties": False}
    return {
        "if": {"properties": {"use": {"const": name}}, "required": ["use"]},
        "then": {"properties": {"with": given}, "required": ["with"]},
    }


def _words() -> dict[str, Json]:
    """The small kinds of value."""
    ids, names = (f"^{pattern.pattern.removesuffix(chr(92) + 'Z')}$" for pattern in (ID, NAME))
    allowed = {rule: {"description": f"Why advice of '{rule}' may stand here.", **_TEXT} for rule in sorted(ADVICE)}
    return {
        "Allow": {"type": "object", "properties": allowed, "additionalProperties": False},
        "Id": {"type": "string", "pattern": ids},
        "Name": {"type": "string", "pattern": names, "not": {"enum": sorted(RESERVED)}},
        "Texts": _TEXTS,
        "Value": {"description": "A value as it is typed.", "type": ["string", "number", "boolean"]},
    }


def _answers() -> dict[str, Json]:
    """What examples answer with."""
    place = {"anyOf": [_VALUE, {"$ref": "#/$defs/Places"}]}
    act: Json = {
        "after": "A wait: so long after it began.",
        "skipped": "The step is skipped, and this is why.",
        "event": "This event happens as the step begins.",
        "problem": "A problem with the step is reported, in these words, and settled.",
        "refused": "The look is refused, for this reason.",
    }
    one = {
        "type": "object",
        "properties": {key: {"description": said, **_VALUE} for key, said in act.items()},
        "minProperties": 1,
        "maxProperties": 1,
        "additionalProperties": False,
    }
    acts: list[Json] = [{"enum": ["released", "refused"]}, {"type": "string", "pattern": "^refused for ."}, one]
    return {
        "Places": {
            "description": "A value for each place.",
            "type": "object",
            "properties": {"each": {"description": "What counts at every place that is not named.", **_VALUE}},
            "additionalProperties": _VALUE,
        },
        "Answer": {"description": "What is answered.", "anyOf": [*place["anyOf"], _visits(place)]},
        "Act": {"description": "What is done.", "anyOf": [*acts, _visits({"anyOf": [*acts, {"type": "null"}]})]},
    }


def _visits(one: Json) -> Json:
    """One after another, a visit each."""
    said = "One for each visit in turn; the last stands for all later visits."
    listed = {"description": said, "type": "array", "items": one, "minItems": 1}
    return {"type": "object", "properties": {"visits": listed}, "required": ["visits"], "additionalProperties": False}


if __name__ == "__main__":
    sys.stdout.write(schema_text())
