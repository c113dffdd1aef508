"""Facts, limits, what is taken, readings and what runs give back: every name becomes a variable."""

from __future__ import annotations

import re

from ..errors import Misread
from ..quantities import Range, canonical_unit, convert, dimension, parse_range
from . import model
from .facts import FACTS
from .linked import Linked, Path, quantity_or_none
from .scope import meant
from .variables import FROM_A_SUM, ROD, Variable


def link_data(linked: Linked) -> None:
    p = linked.procedure
    for index, name in enumerate(p.drum):
        if name not in FACTS:
            linked.say(
                "unknown-fact",
                f"'{name}' is not a fact of a drum{meant(name, FACTS)}; known are {', '.join(FACTS)}",
                "drum",
                index,
            )
            continue
        fact = FACTS[name]
        linked.variables[f"drum.{name}"] = Variable(
            f"drum.{name}",
            fact.kind,
            fact.unit,
            possible=parse_range(fact.possible, fact.unit) if fact.possible else None,
        )
    for name, limit in p.limits.items():
        found = quantity_or_none(limit.is_, _own_unit(limit.is_))
        if found is None:
            linked.say("quantity", f"'{limit.is_}' is not a value with a unit", "limits", name, "is")
        else:
            linked.limits[name] = found
    for name, take in p.takes.items():
        if take.choices:
            linked.variables[name] = Variable(name, "choice", choices=tuple(take.choices))
        elif take.range:
            linked.variables[name] = Variable(name, "range", take.range)
        else:
            linked.variables[name] = Variable(name, "number", take.unit or "")
    for name, reading in p.readings.items():
        _reading(linked, name, reading)
    for step in linked.steps.values():
        if step.choose:
            ways = tuple(way.way for way in step.choose.ways)
            _add(
                linked,
                Variable(step.choose.as_, "choice", choices=ways),
                ("steps", linked.at[step.step], "choose", "as"),
            )
    for name, run in linked.runs.items():
        ends = tuple(run.outcomes())
        linked.variables[f"{name}.outcome"] = Variable(f"{name}.outcome", "outcome", choices=ends)
        for given in run.procedure.gives:
            inner = run.variables.get(given)
            if inner is not None:
                linked.variables[f"{name}.{given}"] = _renamed(inner, f"{name}.{given}", (f"{name}.outcome", ("done",)))


def _renamed(v: Variable, name: str, sure: tuple[str, tuple[str, ...]]) -> Variable:
    return Variable(name, v.kind, v.unit, v.choices, v.possible, v.wanted, v.places, v.resolution, None, sure)


def _own_unit(text: str) -> str:
    unit = text.strip().lstrip("-+0123456789.,/½¼¾ ").strip()
    return canonical_unit(unit)


def _add(linked: Linked, variable: Variable, path: Path) -> None:
    if variable.name in linked.variables and linked.variables[variable.name] != variable:
        linked.say("duplicate-id", f"the name '{variable.name}' already stands for something else", *path)
        return
    linked.variables[variable.name] = linked.worked.same(variable)


def _reading(linked: Linked, name: str, reading: model.Reading) -> None:
    at: Path = ("readings", name)
    unit = "Hz" if reading.sort == "note" else (reading.unit or "")
    if name in linked.limits:
        linked.say("duplicate-id", f"'{name}' is a limit already; a reading needs a name of its own", *at)
    possible = _range(linked, reading.possible, unit, (*at, "possible"))
    if possible is not None:
        linked.possible[name] = possible
    wanted = _wanted(linked, name, reading, unit)
    resolution = quantity_or_none(reading.resolution, unit) if reading.resolution else None
    if reading.resolution and resolution is None:
        linked.say("quantity", f"'{reading.resolution}' is not a value in {unit or 'plain numbers'}", *at, "resolution")
    places: tuple[str, ...] | str | None = None
    if reading.per is not None:
        places = ROD if reading.by_rod else tuple(reading.per)
        if reading.by_rod and "rods" not in linked.procedure.drum:
            linked.say("unknown-fact", "asked at each rod, but 'drum:' does not ask for rods", *at, "per")
        if not reading.by_rod and len(set(reading.per)) != len(reading.per):
            linked.say("duplicate-id", "a place stands here twice", *at, "per")
    if reading.head is not None and not reading.by_rod:
        linked.say("shape", "head fixes how rods are numbered, so it needs per: rod", *at, "head")
    _add(
        linked,
        Variable(
            name,
            reading.sort,
            unit,
            tuple(reading.choices or ()),
            possible,
            wanted,
            places,
            resolution.value if resolution else None,
        ),
        at,
    )


def _range(linked: Linked, text: str | None, unit: str, path: Path) -> Range | None:
    if text is None:
        return None
    try:
        return parse_range(_LIMIT.sub(lambda word: _limit_text(linked, word[0], unit), text), unit)
    except Misread as error:
        linked.say("quantity", error.message, *path)
        return None


RANGE_WORDS = frozenset(("at", "least", "most", "below", "above", "and", "exactly", "to", "from"))
"""Words that ranges use themselves: inside one they are never the name of a limit."""

_LIMIT = re.compile(r"[a-z][a-z0-9]*(?:_[a-z0-9]+)*")


def _limit_text(linked: Linked, word: str, unit: str) -> str:
    """A limit's value, in the unit of the range, where its name stands in it; any other word as it is."""
    limit = linked.limits.get(word)
    if limit is None or word in RANGE_WORDS:
        return word
    same = dimension(limit.unit) == dimension(unit)
    value, shown = (convert(limit.value, limit.unit, unit), unit) if same else (limit.value, limit.unit)
    return f"{value} {shown}".rstrip()


def _wanted(linked: Linked, name: str, reading: model.Reading, unit: str) -> Range | tuple[str, ...] | str | None:
    if reading.wanted is None:
        return None
    at: Path = ("readings", name, "wanted")
    if reading.sort == "choice":
        for word in reading.wanted:
            if word not in (reading.choices or {}):
                linked.say(
                    "unknown-name", f"'{word}' is not one of the choices{meant(word, reading.choices or {})}", *at
                )
        return tuple(reading.wanted)
    if len(reading.wanted) != 1:
        linked.say("shape", "a number wants one range, such as 2 .. 5", *at)
        return None
    text = reading.wanted[0].strip()
    if text.startswith("from "):
        linked.wanted_from[name] = text[5:].strip()
        return FROM_A_SUM
    found = _range(linked, text, unit, at)
    if found is not None:
        linked.wanted[name] = found
    return found
