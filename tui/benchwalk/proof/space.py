"""Every way the answers of one step can come out together, and which of them make a condition true.

A `Space` has one dimension for each variable its conditions read (cells.py); for a reading with several places one for
each place that is named, and one for the set of cells that occur at the others; for a sum that may come to nothing one
for whether it did. A joint cell is one option in each dimension. Sets of joint cells are whole numbers read as bits, so
"where is this true" is a handful of `&` and `|` however many cells there are.

Not every joint cell can occur: where a sum has no result its outputs are missing, what a run gives is there whenever
the run is done. `valid` holds those that can.

Sets over places are exact: any set of cells can occur that is no larger than the number of places. The number of rods
is taken as not limited; where conditions also read it, this may report a case that cannot occur, never miss one.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from typing import Literal

from ..procedure.bound import AllOf, Atom, Bound, InRange, InVerdict, IsMissing, Node, NotOf, Test
from ..procedure.evaluate import passes
from ..procedure.variables import FROM_A_SUM, Variable
from ..quantities import Range
from .cells import MISSING, RECORDED, Cell, cells

Missing = bool | Literal["whole"]
"""Whether a value may be missing here. For a reading with several places True lets each be missing by itself, "whole"
only all of them together."""

Option = tuple[Cell, ...]
"""One way a dimension can come out: a cell, or the set of cells that occur at the places."""

Masks = tuple[int, int]
"""Where something is true, and where it is false; where it is neither, it is in none of the two."""


@dataclass(slots=True)
class Dimension:
    """One direction of the space. `role`: plain, place (one named place), rest (all other places) or sum.

    `classes` are, for "rest", the cells that no condition tells apart, one group for each cell used in the options.
    """

    variable: Variable
    role: str
    place: str | None
    options: tuple[Option, ...]
    classes: tuple[tuple[Cell, ...], ...] = ()
    stride: int = 1
    sets: list[frozenset[int]] = field(init=False)  # the options again, by the identity of their cells

    def __post_init__(self) -> None:
        self.sets = [frozenset(map(id, option)) for option in self.options]

    @property
    def label(self) -> str:
        return f"{self.variable.name} at {self.place}" if self.place else self.variable.name


class TooMany(Exception):
    """There are more joint cells than the cap allows."""


class Space:
    """The joint cells of `conditions`; raises TooMany when there are more than `cap`.

    `missing` tells by name what may be missing when the step branches; a sum is "missing" when it has no result. With
    `also`, that variable is a dimension too, whether or not a condition reads it.
    """

    def __init__(
        self,
        conditions: Iterable[Bound],
        missing: Mapping[str, Missing],
        cap: int,
        also: Variable | None = None,
    ) -> None:
        self.missing = missing
        self.cap = cap
        self.tests: dict[str, list[Atom]] = {}
        self.variables: dict[str, Variable] = {}
        for condition in conditions:
            for atom in condition.atoms:
                self.variables.setdefault(atom.variable.name, atom.variable)
                self.tests.setdefault(atom.variable.name, []).append(atom)
        self.also = None if also is None else self.variables.get(also.name, also)
        if also is not None and also.name not in self.variables:
            self.variables[also.name] = also
            self.tests[also.name] = []
        self.dimensions: list[Dimension] = []
        self.by_name: dict[str, list[Dimension]] = {}
        for variable in list(self.variables.values()):
            self._add(variable)
        size = 1
        for dimension in reversed(self.dimensions):
            dimension.stride = size
            size *= len(dimension.options)
        if size > cap:
            raise TooMany
        self.size = size
        self.full = (1 << size) - 1
        self._atoms: dict[Atom, Masks] = {}
        self.valid = self._valid()

    # building

    def _add(self, variable: Variable) -> None:
        owner = variable.sum
        if owner is not None and self.missing.get(owner) and owner not in self.by_name:
            known = self.variables.get(owner, Variable(owner, "sum"))
            self._dimension(Dimension(known, "sum", None, ((Cell(RECORDED),), (MISSING,))))
        if variable.name in self.by_name:
            return
        atoms = self.tests[variable.name]
        tests = [atom.test for atom in atoms]
        if variable is self.also and variable.wanted == FROM_A_SUM:
            tests.append(InVerdict("within"))
        found = cells(variable, tests)
        may_miss = bool(self.missing.get(variable.name)) or bool(owner and self.missing.get(owner))
        if variable.places is None:
            role = "sum" if variable.kind == "sum" else "plain"
            options = [(cell,) for cell in found] + ([(MISSING,)] if may_miss else [])
            self._dimension(Dimension(variable, role, None, tuple(options)))
            return
        named = list(dict.fromkeys(atom.place for atom in atoms if atom.how == "at"))
        for place in named:
            options = [(cell,) for cell in found] + ([(MISSING,)] if may_miss else [])
            self._dimension(Dimension(variable, "place", place, tuple(options)))
        others = math.inf if isinstance(variable.places, str) else len(variable.places) - len(named)
        if others and (not atoms or any(atom.how != "at" for atom in atoms)):
            self._dimension(self._rest(variable, atoms, found, others, may_miss))

    def _rest(
        self, variable: Variable, atoms: list[Atom], found: Sequence[Cell], places: float, may_miss: bool
    ) -> Dimension:
        """The dimension of the places that are not named: which cells occur there."""
        tests = [test for atom in atoms for test in _parts(atom)]
        groups: dict[object, list[Cell]] = {}
        for cell in found:
            same = (cell.verdict, *(passes(test, cell.value, cell.verdict) for test in tests))
            groups.setdefault(same, []).append(cell)
        classes = [tuple(sorted(group, key=lambda cell: cell.rank)) for group in groups.values()]
        partly = may_miss and self.missing.get(variable.name) is True
        count = len(classes) + partly
        if count > 60 or sum(math.comb(count, size) for size in range(1, int(min(count, places)) + 1)) > self.cap:
            raise TooMany
        singles: list[Cell] = [group[0] for group in classes] + ([MISSING] if partly else [])
        options = [option for size in range(1, int(min(count, places)) + 1) for option in combinations(singles, size)]
        if may_miss and not partly:
            options.append((MISSING,))
        return Dimension(variable, "rest", None, tuple(options), tuple(classes))

    def _dimension(self, dimension: Dimension) -> None:
        self.dimensions.append(dimension)
        self.by_name.setdefault(dimension.variable.name, []).append(dimension)

    def _valid(self) -> int:
        valid = self.full
        for name, dimensions in self.by_name.items():
            variable = dimensions[0].variable
            if dimensions[0].role == "sum":
                continue
            none = all_ = self.full
            for dimension in dimensions:
                all_ &= self.mask(dimension, lambda option: all(cell.missing for cell in option))
                none &= self.mask(dimension, lambda option: not any(cell.missing for cell in option))
            own = self.missing.get(name, False)
            allowed = self.full if own is True else none | all_ if own == "whole" else none
            if variable.sure_when is not None and variable.sure_when[0] in self.by_name:
                allowed = (allowed & ~self._words(*variable.sure_when)) | none
            if variable.sum is not None and self.missing.get(variable.sum):
                no_result = self.mask(self.by_name[variable.sum][0], lambda option: option[0].missing)
                allowed = (no_result & all_) | (allowed & ~no_result)
            valid &= allowed
        return valid

    def _words(self, name: str, words: Sequence[str]) -> int:
        return self.mask(self.by_name[name][0], lambda option: option[0].value in words)

    # sets of joint cells

    def mask(self, dimension: Dimension, keep: Callable[[Option], bool]) -> int:
        """The joint cells whose option in `dimension` is kept."""
        return self.picked(dimension, (index for index, option in enumerate(dimension.options) if keep(option)))

    def picked(self, dimension: Dimension, indexes: Iterable[int]) -> int:
        """The joint cells whose option in `dimension` has one of these numbers."""
        bits = ["0" * dimension.stride] * len(dimension.options)
        for index in indexes:
            bits[-1 - index] = "1" * dimension.stride
        block = int("".join(bits), 2)  # written out once: shifting it together takes quadratic time
        length = dimension.stride * len(dimension.options)
        while length < self.size:
            block |= block << length
            length *= 2
        return block & self.full

    def bits(self, cells: int) -> Iterator[int]:
        """The numbers of the joint cells in a set, in order."""
        data = cells.to_bytes(self.size // 8 + 1, "little")
        for index, byte in enumerate(data):
            while byte:
                low = byte & -byte
                yield index * 8 + low.bit_length() - 1
                byte ^= low

    def option(self, number: int, dimension: Dimension) -> int:
        """Which option of `dimension` the joint cell `number` has."""
        return number // dimension.stride % len(dimension.options)

    def where(self, condition: Bound) -> Masks:
        """Where the condition is true and where it is false, among the joint cells that can occur."""
        true, false = self._node(condition.root)
        return true & self.valid, false & self.valid

    def _node(self, node: Node) -> Masks:
        if isinstance(node, Atom):
            if node not in self._atoms:
                self._atoms[node] = self._atom(node)
            return self._atoms[node]
        if isinstance(node, NotOf):
            true, false = self._node(node.inner)
            return false, true
        parts = [self._node(part) for part in node.parts]
        return _both(parts, self.full) if isinstance(node, AllOf) else _either(parts, self.full)

    def _atom(self, atom: Atom) -> Masks:
        dimensions, how, test = self.by_name[atom.variable.name], atom.how, atom.test
        if how == "here":
            raise ValueError("a condition on the place walked now has no cells of its own")
        if how == "at":
            dimensions = [dimension for dimension in dimensions if dimension.place == atom.place]
            return self._over(dimensions, "any", test)
        if how == "plain" and atom.variable.places is not None:
            assert isinstance(test, IsMissing)
            true, false = self._over(dimensions, "all", IsMissing())
            return (false, true) if test.negated else (true, false)
        if how not in ("min", "max"):
            return self._over(dimensions, "all" if how == "all" else "any", test)
        # the least is at least c when all are, and at most c when any is; the greatest the other way round
        lower, upper = _parts(atom)
        ways = ("all", "any") if how == "min" else ("any", "all")
        true, false = _both([self._over(dimensions, ways[0], lower), self._over(dimensions, ways[1], upper)], self.full)
        gap, _ = self._over(dimensions, "any", IsMissing())
        return true & ~gap, false & ~gap

    def _over(self, dimensions: Sequence[Dimension], way: str, test: Test) -> Masks:
        """Where `test` holds at any (or all) of the places in these dimensions."""
        found: list[Masks] = []
        for dimension in dimensions:
            every = {id(cell): cell for option in dimension.options for cell in option}
            answers = {key: passes(test, cell.value, cell.verdict) for key, cell in every.items()}
            yes = {key for key, answer in answers.items() if answer is True}
            no = {key for key, answer in answers.items() if answer is False}
            sets = dimension.sets
            if way == "all":
                true = (index for index, option in enumerate(sets) if option <= yes)
                false = (index for index, option in enumerate(sets) if not option.isdisjoint(no))
            else:
                true = (index for index, option in enumerate(sets) if not option.isdisjoint(yes))
                false = (index for index, option in enumerate(sets) if option <= no)
            found.append((self.picked(dimension, true), self.picked(dimension, false)))
        return _both(found, self.full) if way == "all" else _either(found, self.full)


def _parts(atom: Atom) -> tuple[Test, ...]:
    """The tests that tell cells apart: of a least or a greatest value, the two halves of its range."""
    if atom.how not in ("min", "max"):
        return (atom.test,)
    assert isinstance(atom.test, InRange) and not atom.test.negated
    of = atom.test.range
    return InRange(Range(of.low, None, low_open=of.low_open)), InRange(Range(None, of.high, high_open=of.high_open))


def _both(parts: Iterable[Masks], full: int) -> Masks:
    true, false = full, 0
    for part_true, part_false in parts:
        true &= part_true
        false |= part_false
    return true, false


def _either(parts: Iterable[Masks], full: int) -> Masks:
    true, false = 0, full
    for part_true, part_false in parts:
        true |= part_true
        false &= part_false
    return true, false
