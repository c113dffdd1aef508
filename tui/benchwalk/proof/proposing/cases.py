"""The joint cells in which a walk leaves a stop by a certain branch, and what has to be told to come to one of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import combinations, islice, product

from ...procedure.bound import Bound
from ..branch_reads import atoms_of
from ..cells import Cell
from ..coverage import CAP
from ..flow import flow_of
from ..refine import missing_here
from ..space import Dimension, Space
from .script import Script
from .spot import Spot
from .telling import Change, assumed, can_tell, told
from .values import holds

MOST_SETS = 1500
"""Most sets of names that are told otherwise together."""
MOST_CELLS = 12
"""Most cases of one such set that are tried."""
MOST_SORTED = 4096
"""Most cases of one set that are compared to find the nearest."""
ALL_PLACES = 4
"""What it counts to tell something else at all places, against one for one of them."""


class Cases:
    """The cases of a stop in which the branch `line` is taken. TooMany where there are more than can be looked at.

    `direct` are the names that can be told otherwise, `sums` those that sums give.
    """

    def __init__(self, spot: Spot, line: int) -> None:
        self.spot = spot
        flow = flow_of(spot.linked)
        beside: list[Bound] = []
        for name in spot.variables:
            leaf = spot.leaf(name)
            if leaf is not None and leaf.visit.number < spot.visit.number:  # a branch before may rest on it as well
                beside += [Bound(atom) for atom in atoms_of(flow).get(name, ()) if atom.how != "here"]
        missing = missing_here(flow, flow.branch.get(spot.step.step), spot.step, spot.bounds)
        self.space = Space([*(b for b in spot.bounds if b is not None), *beside], missing, CAP)
        self.now = {id(dimension): self._now(dimension) for dimension in self.space.dimensions}
        self.sums = [name for name in self.space.by_name if spot.sum_of(name)]
        self.direct: list[str] = []
        self.taken = self._taken(line)
        for name, dimensions in self.space.by_name.items():
            if name not in self.sums:
                self._tell_apart(name, dimensions)

    def _taken(self, line: int) -> int:
        """Where the branch is the first that fits."""
        true = [self.space.valid if b is None else self.space.where(b)[0] for b in self.spot.bounds]
        taken = true[line]
        for before in true[:line]:
            taken &= ~before
        return taken

    def _tell_apart(self, name: str, dimensions: Sequence[Dimension]) -> None:
        """Whether a name can be told otherwise; and no case in which it is what it cannot be told to be."""
        for dimension in dimensions:
            now = self.now[id(dimension)]
            can = [
                i for i, option in enumerate(dimension.options) if i == now or can_tell(self.spot, dimension, option)
            ]
            if set(can) - {now} and name not in self.direct:
                self.direct.append(name)
            if now is not None or can:
                self.taken &= self.space.picked(dimension, can)

    def _now(self, dimension: Dimension) -> int | None:
        """The option that the walk has come with; None where it is none of them."""
        view, name = self.spot.view, dimension.variable.name
        value = view.value(name)
        if dimension.role == "rest":
            named = {other.place for other in self.space.by_name[name]}
            here = {p: v for p, v in value.items() if p not in named} if isinstance(value, Mapping) else {}
            met = {self._group(dimension, v, view.verdict(name, p)) for p, v in here.items()} or {None}
            options = [{None if cell.missing else id(cell) for cell in option} for option in dimension.options]
            return options.index(met) if met in options else None
        if isinstance(value, Mapping):
            value = value.get(dimension.place or "")
        verdict = None if dimension.role == "sum" else view.verdict(name, dimension.place)
        return next((i for i, option in enumerate(dimension.options) if holds(option[0], value, verdict)), None)

    def _group(self, dimension: Dimension, value: object, verdict: str | None) -> int | None:
        """The cell that stands for all that conditions cannot tell from this value, by its identity."""
        groups = dimension.classes
        return next((id(group[0]) for group in groups if any(holds(cell, value, verdict) for cell in group)), None)

    # changes

    def told(self, number: int) -> Iterator[Change]:
        """Changes of this many names, with sums as they are."""
        fixed = self.taken & self._fixed(self.sums)
        for names in islice(combinations(self.direct, number), MOST_SETS):
            yield from self._changes(fixed & self._fixed(n for n in self.direct if n not in names), names, ())

    def assumed(self) -> Iterator[Change]:
        """Changes of what sums are taken to say, and of as few names as can be."""
        owners = list(dict.fromkeys(name.partition(".")[0] for name in self.sums))
        for number, more in product(range(1, len(owners) + 1), range(min(2, len(self.direct)) + 1)):
            for sums, names in product(combinations(owners, number), combinations(self.direct, more)):
                others = [name for name in self.sums if name.partition(".")[0] not in sums]
                others += [name for name in self.direct if name not in names]
                yield from self._changes(self.taken & self._fixed(others), names, sums)

    def _fixed(self, names: Iterable[str]) -> int:
        """The cases in which these names are as they are now."""
        cases = self.space.full
        for dimension in (dimension for name in names for dimension in self.space.by_name[name]):
            now = self.now[id(dimension)]
            cases &= self.space.full if now is None else self.space.picked(dimension, (now,))
        return cases

    def _changes(self, cases: int, names: Sequence[str], sums: Sequence[str]) -> Iterator[Change]:
        moved = [
            dimension
            for name, dimensions in self.space.by_name.items()
            if name in names or self.spot.sum_of(name) in sums
            for dimension in dimensions
        ]
        for case in sorted(islice(self.space.bits(cases), MOST_SORTED), key=lambda c: self._moves(c, moved))[
            :MOST_CELLS
        ]:
            made: Change | None = Change(Script(), self.spot.visit.number)
            for name in names:
                parts = [(d, d.options[self.space.option(case, d)]) for d in self.space.by_name[name]]
                made = _both(made, told(self.spot, name, parts))
            for name in sums:
                made = _both(made, assumed(self.spot, name, self._cells(case, name)))
            if made is not None:
                yield made

    def _moves(self, case: int, moved: Sequence[Dimension]) -> tuple[int, int, int]:
        """How much a case changes: what is left out, at how many places, and how far it lies from what is now."""
        lacks = places = far = 0
        for dimension in moved:
            index, now = self.space.option(case, dimension), self.now[id(dimension)]
            if index == now:
                continue
            option, before = dimension.options[index], () if now is None else dimension.options[now]
            lacks += any(cell.missing for cell in option)
            more = set(option) - set(before)
            places += len(more) if set(option) >= set(before) else ALL_PLACES * len(option)
            far += abs(index - (now or 0))
        return lacks, places, far

    def _cells(self, case: int, name: str) -> dict[str, Cell]:
        """The cells of a sum and its outputs."""
        space = self.space
        mine = [d for n in self.sums if self.spot.sum_of(n) == name for d in space.by_name[n]]
        return {d.variable.name: d.options[space.option(case, d)][0] for d in mine}


def _both(one: Change | None, other: Change | None) -> Change | None:
    return None if one is None or other is None else one.and_(other)
