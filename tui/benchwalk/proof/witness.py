"""Concrete answers that show a fault: values a person can type, boundary values first.

A set of joint cells is shown as boxes. From each box one example is taken; and where the box can be said in the
language of conditions it is, so that an author can paste it into the branch that is missing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from ..procedure.bound import InVerdict
from ..procedure.evaluate import Values
from ..procedure.variables import FROM_A_SUM
from .cells import Cell, cell_text, region_text
from .space import Dimension, Space

Box = tuple[tuple[int, ...], ...]
"""Which options are allowed, for each dimension."""


@dataclass(frozen=True, slots=True)
class Sampled:
    """The example as `evaluate` sees it."""

    values: Mapping[str, Values]
    verdicts: Mapping[tuple[str, str | None], str]

    def value(self, name: str) -> Values:
        return self.values.get(name)

    def verdict(self, name: str, place: str | None = None) -> str | None:
        return self.verdicts.get((name, place))


@dataclass(frozen=True, slots=True)
class Witness:
    """One concrete case.

    `values` is name to value as typed: `3 mm`, `some`, `missing`, `no result`, `{each: 220 Hz, 1: missing}`; an
    addressed place has a line of its own (`strip at butt middle`). `region` says all cases like it as a condition (""
    for every case), or is None where the language cannot. `view` is the case for `evaluate`.
    """

    values: dict[str, str]
    region: str | None
    view: Sampled

    def __str__(self) -> str:
        return ", ".join(f"{name}: {value}" for name, value in self.values.items())


def witnesses(space: Space, cells: int, most: int = 8) -> Iterator[Witness]:
    """Examples for a set of joint cells, one for each box, until the set is used up or `most` are given."""
    for _ in range(most):
        if not cells:
            return
        box, inside = _grow(space, cells)
        yield show(space, _choose(space, box, inside & cells), box)
        cells &= ~inside


def witness(space: Space, cells: int) -> Witness:
    """One example for a set of joint cells that is not empty."""
    return next(witnesses(space, cells, 1))


def _grow(space: Space, cells: int) -> tuple[Box, int]:
    """The largest box found around the first cell, of joint cells that are in the set or cannot occur."""
    seed = (cells & -cells).bit_length() - 1
    allowed = cells | (space.full & ~space.valid)
    box = [[space.option(seed, dimension)] for dimension in space.dimensions]
    masks = [space.picked(dimension, box[at]) for at, dimension in enumerate(space.dimensions)]
    for at, dimension in enumerate(space.dimensions):
        others = space.full
        for index, mask in enumerate(masks):
            if index != at:
                others &= mask
        outside = others & ~allowed
        if not outside:
            box[at] = list(range(len(dimension.options)))
        else:
            missing = _lacking(dimension, box[at][0])
            shut = {space.option(number, dimension) for number in space.bits(outside)}
            for index in _neighbours(dimension, box[at][0]):
                if missing != _lacking(dimension, index):  # what is not recorded is shown apart
                    continue
                if index in shut:
                    if _in_runs(dimension):
                        break
                    continue
                box[at].append(index)
        masks[at] = space.picked(dimension, box[at])
    inside = space.full
    for mask in masks:
        inside &= mask
    return tuple(tuple(sorted(part)) for part in box), inside


def _neighbours(dimension: Dimension, seed: int) -> Iterator[int]:
    """The other options; the seed is the first cell of its set, so a run of numbers only grows upwards."""
    yield from range(seed + 1, len(dimension.options))
    if not _in_runs(dimension):
        yield from range(seed)


def _lacking(dimension: Dimension, index: int) -> bool:
    return any(cell.missing for cell in dimension.options[index])


def _in_runs(dimension: Dimension) -> bool:
    """Whether the options are numbers in order, of which a box takes neighbours only."""
    variable = dimension.variable
    return dimension.role in ("plain", "place") and variable.is_number and variable.wanted != FROM_A_SUM


def _choose(space: Space, box: Box, cells: int) -> list[int]:
    """The option of each dimension that makes the friendliest example in the box."""
    chosen: list[int] = []
    for at, dimension in enumerate(space.dimensions):
        for index in sorted(box[at], key=lambda index: _friendly(dimension, index)):
            here = cells & space.picked(dimension, (index,))
            if here:
                cells = here
                chosen.append(index)
                break
    return chosen


def _friendly(dimension: Dimension, index: int) -> tuple[int, int, int]:
    option = dimension.options[index]
    return len(option), max(cell.rank for cell in option), index


def show(space: Space, chosen: Sequence[int], box: Box | None = None) -> Witness:
    """The joint cell with these options as an example."""
    values: dict[str, str] = {}
    recorded: dict[str, Values] = {}
    verdicts: dict[tuple[str, str | None], str] = {}
    options = [dimension.options[index] for dimension, index in zip(space.dimensions, chosen, strict=True)]
    lost = {
        dimension.variable.name
        for dimension, option in zip(space.dimensions, options, strict=True)
        if dimension.role == "sum" and option[0].missing
    }
    by_name: dict[str, list[tuple[Dimension, tuple[Cell, ...]]]] = {}
    for dimension, option in zip(space.dimensions, options, strict=True):
        by_name.setdefault(dimension.variable.name, []).append((dimension, option))
    for name, parts in by_name.items():
        dimension, option = parts[0]
        variable = dimension.variable
        told = any(isinstance(atom.test, InVerdict) for atom in space.tests.get(name, []))
        if variable.places is not None:
            at_places, rest = _spread(parts)
            recorded[name] = {place: cell.value for place, cell in at_places.items()}
            verdicts.update(((name, place), cell.verdict) for place, cell in at_places.items() if cell.verdict)
            if variable.sum in lost:
                continue
            if rest is None:
                for part, (cell,) in parts:
                    values[part.label] = cell_text(variable, cell, told)
            else:
                odd = [
                    f"{place}: {cell_text(variable, cell, told)}" for place, cell in at_places.items() if cell != rest
                ]
                values[name] = "{" + ", ".join([f"each: {cell_text(variable, rest, told)}", *odd]) + "}"
            continue
        cell = option[0]
        recorded[name] = cell.value
        if cell.verdict is not None:
            verdicts[name, None] = cell.verdict
        if dimension.role == "sum":
            if cell.missing or name in space.tests:
                values[name] = "no result" if cell.missing else "a result"
        elif variable.sum not in lost:
            values[name] = cell_text(variable, cell, told)
    return Witness(values, None if box is None else region(space, box), Sampled(recorded, verdicts))


def _spread(parts: Sequence[tuple[Dimension, tuple[Cell, ...]]]) -> tuple[dict[str, Cell], Cell | None]:
    """A cell for every place, and the cell that stands for "each"; None where only named places are read."""
    variable = parts[0][0].variable
    named = {part.place: option[0] for part, option in parts if part.place is not None}
    rest = next((option for part, option in parts if part.place is None), None)
    if isinstance(variable.places, tuple):
        places = [place for place in variable.places if place not in named]
    else:
        places = [str(number) for number in range(1, max(2, len(rest or ())) + 1)]
    spread: dict[str, Cell] = {}
    if rest is not None:
        each, *others = sorted(rest, key=lambda cell: cell.missing)
        for index, place in enumerate(places):
            spread[place] = others[index] if index < len(others) else each
    else:  # nothing is asked about these; they look like a named one
        some = min(named.values(), key=lambda cell: cell.missing)
        spread = dict.fromkeys(places, some)
    order = variable.places if isinstance(variable.places, tuple) else places
    cells: dict[str, Cell] = {place: named[place] if place in named else spread[place] for place in order}
    return cells, None if rest is None else each


def region(space: Space, box: Box) -> str | None:
    """A box as a condition; "" for the whole space, None where the language cannot say it."""
    said: list[str] = []
    for dimension, indexes in zip(space.dimensions, box, strict=True):
        if len(indexes) == len(dimension.options):
            continue
        options = [dimension.options[index] for index in indexes]
        if dimension.role == "rest":
            if len(space.by_name[dimension.variable.name]) > 1:  # `all` would speak of the named places too
                return None
            text = _rest_text(dimension, options)
        else:
            chosen = [option[0] for option in options]
            every = [option[0] for option in dimension.options]
            text = region_text(dimension.label, dimension.variable, chosen, every)
        if text is None:
            return None
        if text:
            said.append(text)
    if len(said) > 1:
        said = [f"({text})" if " or " in text else text for text in said]
    return " and ".join(said)


def _rest_text(dimension: Dimension, options: Sequence[tuple[Cell, ...]]) -> str | None:
    """The same cell at every place can be said, a mixture of cells cannot."""
    if any(len(option) > 1 for option in options):
        return None
    variable, name = dimension.variable, f"all {dimension.variable.name}"
    every = sorted((cell for group in dimension.classes for cell in group), key=_ascending)
    parts: list[str] = []
    for (cell,) in options:
        if cell.missing:
            parts.append(f"{name} is missing")
            continue
        group = next(group for group in dimension.classes if cell in group)
        text = region_text(name, variable, sorted(group, key=every.index), every)
        if text is None:
            return None
        parts.append(text or f"{name} is not missing")
    return " or ".join(parts)


def _ascending(cell: Cell) -> tuple[bool, Fraction, bool, Fraction]:
    return cell.low is not None, cell.low or Fraction(0), cell.high is None, cell.high or Fraction(0)
