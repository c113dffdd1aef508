"""What has to be told otherwise for one value to come out as a cell has it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from ...procedure.variables import Variable
from ...quantities import Range
from ..answers import MISSING, full
from ..cells import Cell, number_text
from ..space import Dimension
from .script import Script, Value, step_name
from .spot import Leaf, Spot
from .trail import Trail
from .values import near, of_output, spread

Part = tuple[Dimension, Sequence[Cell]]
"""A dimension, and the option it is to have."""


class Change(NamedTuple):
    """Other answers, and the stop from which on they hold (0: from the beginning). `aims`: how a run is to end is among
    them, which takes more changes inside it."""

    script: Script
    first: int
    aims: bool = False

    def and_(self, other: Change) -> Change:
        """Both changes."""
        return Change(other.script.over(self.script), min(self.first, other.first), self.aims or other.aims)


def can_tell(spot: Spot, dimension: Dimension, option: Sequence[Cell]) -> bool:
    """Whether telling something else can bring that option about."""
    variable, gone = dimension.variable, any(cell.missing for cell in option)
    if variable.kind in ("hold", "outcome"):
        return not gone and (variable.kind == "hold" or spot.run_of(variable.name) is not None)
    if _from_outside(spot, variable.name):
        return variable.kind != "range"
    leaf = spot.leaf(variable.name)
    return leaf is not None and (not gone or _left_out(spot, leaf) is not None)


def _from_outside(spot: Spot, name: str) -> bool:
    """Whether an example says it for the whole walk: a fact of the drum, or what the procedure takes."""
    return spot.visit.path == "" and (name.startswith("drum.") or name in spot.view.given)


def told(spot: Spot, name: str, parts: Sequence[Part]) -> Change | None:
    """What has to be told for a name to be as these options of its dimensions have it; None where nothing does."""
    variable, cell = parts[0][0].variable, parts[0][1][0]
    here, word = spot.visit.number, str(cell.value)
    if variable.kind == "hold":
        at = step_name(spot.visit.path, spot.step.step), act_round(spot.trail, here)
        return Change(Script(acts={at: word}), here)
    if variable.kind == "outcome":
        run = spot.run_of(name)
        return None if run is None else Change(Script(outcomes={run: word}), here, aims=True)
    if _from_outside(spot, name):
        text = word if cell.value is None or isinstance(cell.value, str) else number_text(cell.value, variable.unit)
        inner = name.removeprefix("drum.")
        return Change(Script(takes={name: text}) if inner == name else Script(drum={inner: text}), 0)
    leaf = spot.leaf(name)
    if leaf is None:
        return None
    if all(part.missing for _, option in parts for part in option):
        left_out = _left_out(spot, leaf)
        return None if left_out is None else Change(left_out, leaf.visit.number)
    value = _value(spot, leaf, parts)
    return None if value is None else Change(Script(given={leaf.at: value}), leaf.visit.number)


def _value(spot: Spot, leaf: Leaf, parts: Sequence[Part]) -> Value | None:
    wanted = _judged_by(spot, leaf.variable)
    if leaf.variable.places is None:
        return near(leaf.variable, parts[0][1][0], leaf.value(), wanted)
    named = {d.place: option[0] for d, option in parts if d.place is not None}
    return spread(leaf, named, next(((d, option) for d, option in parts if d.place is None), None), wanted)


def _judged_by(spot: Spot, variable: Variable) -> Range | None:
    source = spot.linked.wanted_from.get(variable.name)
    found = spot.view.range(source) if source else None
    return found[0] if found else None


def _left_out(spot: Spot, leaf: Leaf) -> Script | None:
    """What leaves a reading out: not noting it where it is optional, else skipping its step where that may be."""
    if leaf.optional:
        text = leaf.text
        return Script(given={leaf.at: MISSING if isinstance(text, str) else dict.fromkeys(text, MISSING)})
    step = spot.trail.book(leaf.visit).steps[leaf.visit.step]
    return skipping(spot.trail, leaf.visit.number) if step.may_skip else None


def skipping(trail: Trail, visit: int) -> Script:
    """What skips the step of a stop."""
    stay = trail.state.visits[visit - 1]
    may = trail.book(stay).steps[stay.step].may_skip
    why = may.because if may else ""
    at = step_name(stay.path, stay.step), act_round(trail, visit)
    return Script(acts={at: {"skipped": why[:1].lower() + why[1:]}})


def act_round(trail: Trail, visit: int) -> int:
    """The number of a stop among the visits to its step that ask somebody; 0 is the first."""
    stay = trail.state.visits[visit - 1]
    return trail.answers.asked_in(f"act {stay.path}/{stay.step}", visit) or 0


def assumed(spot: Spot, name: str, cells: Mapping[str, Cell]) -> Change | None:
    """What a sum has to be taken to say for its outputs (and itself) to be as these cells have them, the other outputs
    as they were worked out; None where it was not worked out."""
    worked = spot.view.worked(name)
    key = full(spot.visit.path, name)
    number = None if worked is None else spot.trail.answers.asked_in(f"sum {key}", worked.visit)
    if worked is None or number is None:
        return None
    if any(cell.missing for cell in cells.values()):
        return Change(Script(assume={(key, number): "no result"}), worked.visit)
    outputs: dict[str, Any] = {}
    for output, variable in spot.linked.variables.items():
        part = output.removeprefix(f"{name}.")
        if part == output:
            continue
        cell = cells.get(output)
        text: Any
        if cell is None or variable.kind == "range" or variable.places is not None:
            text = of_output(worked.outputs.get(part), variable)
        else:
            text = near(variable, cell, spot.view.value(output), None)
        if text is None:
            return None
        outputs[part] = text
    return Change(Script(assume={(key, number): outputs}), worked.visit)
