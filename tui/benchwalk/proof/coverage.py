"""Whether the branches of one step cover every case exactly once, decided exactly.

What can come out at a step is cut into cells (cells.py, space.py) that the conditions cannot tell apart, so checking
one value of each decides it for all. Past the cap nothing is claimed: the report says that it is undecided.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

from ..procedure.binding import VERDICTS
from ..procedure.bound import Bound
from ..procedure.variables import Variable
from .cells import Cell, region_text
from .space import Dimension, Missing, Space, TooMany
from .witness import Witness, show, witness, witnesses

CAP = 200_000
"""Most joint cells that are looked at."""

Mode = Literal["once", "first"]


class Overlap(NamedTuple):
    """Two branches that are both taken in the case of `witness`; counted from 0."""

    first: int
    second: int
    witness: Witness


@dataclass(frozen=True, slots=True)
class Swallowed:
    """What an `otherwise` takes alone: cells that lead to it whatever the other variables are.

    All keyed by name, or by `name at place`. `choices`: words of a choice. `regions`: "below", "within" and "above" for
    numbers that want something, wherever some value there is taken alone. `ranges`: the numbers taken alone, as a
    condition. `missing`: what leads here when it is missing. For a reading with several places: the same cell at every
    place.
    """

    choices: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    regions: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    ranges: Mapping[str, str] = field(default_factory=dict)
    missing: tuple[str, ...] = ()

    @property
    def needs_reason(self) -> bool:
        """Whether it hides enough to need a `because`: two words of a choice, or numbers outside what is wanted."""
        return any(len(words) > 1 for words in self.choices.values()) or any(
            region != "within" for regions in self.regions.values() for region in regions
        )

    def text(self) -> str:
        """In words: "'lie' none or some; 'gap' above what is wanted"; "" when nothing is taken alone."""
        parts = [f"'{name}' {' or '.join(words)}" for name, words in self.choices.items()]
        parts += [f"'{name}' {' or '.join(regions)} what is wanted" for name, regions in self.regions.items()]
        parts += [f"'{text}'" for name, text in self.ranges.items() if name not in self.regions]
        parts += [f"'{name}' missing" for name in self.missing]
        return "; ".join(parts)


class Swallows(Mapping[int, "Swallowed"]):
    """What each `otherwise` takes alone, worked out when it is asked for: mostly there is a reason, and nobody asks."""

    def __init__(self, space: Space, taken: Mapping[int, int]) -> None:
        self._space, self._taken = space, taken
        self._told: dict[int, Swallowed] = {}

    def __getitem__(self, index: int) -> Swallowed:
        if index not in self._told:
            self._told[index] = _swallowed(self._space, self._taken[index])
        return self._told[index]

    def __iter__(self) -> Iterator[int]:
        return iter(self._taken)

    def __len__(self) -> int:
        return len(self._taken)


@dataclass(frozen=True, slots=True)
class CoverageReport:
    """The branches of one step, judged.

    - `gaps`: cases no branch takes (one for each region, the first eight).
    - `overlaps`: pairs of branches taken in one case; only in mode "once".
    - `idle`: branches that are never taken, in mode "first" also those the lines above leave nothing.
    - `swallowed`: for each `otherwise`, by its number, what it takes alone.
    - `undecided`: more than `cap` joint cells; then all else is empty and nothing is claimed.
    - `cells`: how many joint cells were looked at.
    """

    gaps: list[Witness] = field(default_factory=list)
    overlaps: list[Overlap] = field(default_factory=list)
    idle: list[int] = field(default_factory=list)
    swallowed: Mapping[int, Swallowed] = field(default_factory=dict)
    undecided: bool = False
    cells: int = 0

    @property
    def ok(self) -> bool:
        return not (self.gaps or self.overlaps or self.idle or self.undecided)


def coverage(
    branches: Sequence[Bound | None],
    *,
    missing: Mapping[str, Missing],
    mode: Mode = "once",
    cap: int = CAP,
    beside: Sequence[Bound] = (),
    only: Callable[[Space], int] | None = None,
) -> CoverageReport:
    """Judge `branches`; None is an `otherwise`, which takes what no other branch takes ("first": what is left).

    `missing` says by name which variables may be missing when this step branches, and which sums may have no result.
    `only` gives the joint cells that can come there at all, where that is known; `beside` are more tests of the same
    values, so that they are cut where those cells are.
    """
    try:
        space = Space([*(branch for branch in branches if branch is not None), *beside], missing, cap)
    except TooMany:
        return CoverageReport(undecided=True)
    if only is not None:
        space.valid &= only(space)
    taken = _taken(space, branches, mode)
    alone = [index for index, branch in enumerate(branches) if branch is None]
    report = CoverageReport(cells=space.size, swallowed=Swallows(space, {index: taken[index] for index in alone}))
    gap = space.valid
    for index, cells in enumerate(taken):
        gap &= ~cells
        if not cells:
            report.idle.append(index)
        for earlier in range(index):
            both = taken[earlier] & cells
            if both:
                report.overlaps.append(Overlap(earlier, index, witness(space, both)))
    report.gaps.extend(witnesses(space, gap))
    return report


def _taken(space: Space, branches: Sequence[Bound | None], mode: Mode) -> list[int]:
    """The joint cells in which each branch is taken."""
    true = [None if branch is None else space.where(branch)[0] for branch in branches]
    left = space.valid
    if mode == "first":
        taken = []
        for cells in true:
            mine = left if cells is None else cells & left
            taken.append(mine)
            left &= ~mine
        return taken
    for cells in true:
        left &= ~(cells or 0)
    return [left if cells is None else cells for cells in true]


def _swallowed(space: Space, taken: int) -> Swallowed:
    choices: dict[str, tuple[str, ...]] = {}
    regions: dict[str, tuple[str, ...]] = {}
    ranges: dict[str, str] = {}
    missing: list[str] = []
    for dimension in space.dimensions:
        if dimension.role == "sum":
            continue
        single = [(index, option[0]) for index, option in enumerate(dimension.options) if len(option) == 1]
        alone = [cell for index, cell in single if _alone(space, dimension, index, taken)]
        label = dimension.label
        if any(cell.missing for cell in alone):
            missing.append(label)
        cells = [member for cell in alone if not cell.missing for member in _members(dimension, cell)]
        if not cells:
            continue
        variable = dimension.variable
        if variable.is_choice:
            choices[label] = tuple(str(cell.value) for cell in cells)
        elif variable.is_number:
            verdicts = {cell.verdict for cell in cells}
            told = tuple(verdict for verdict in VERDICTS if verdict in verdicts)
            if told:
                regions[label] = told
            if dimension.role != "rest":
                text = region_text(label, variable, cells, [option[0] for option in dimension.options])
                if text:
                    ranges[label] = text
    return Swallowed(choices, regions, ranges, tuple(missing))


def _alone(space: Space, dimension: Dimension, index: int, taken: int) -> bool:
    """Whether every joint cell with this option is taken."""
    here = space.picked(dimension, (index,)) & space.valid
    return bool(here) and not here & ~taken


def _members(dimension: Dimension, cell: Cell) -> Sequence[Cell]:
    return next((group for group in dimension.classes if cell in group), (cell,))


class Lead(NamedTuple):
    """Where one case leads: row of `lead_table`.

    `others` tells apart everything but the variable in question: two rows with equal `others` differ in that variable
    only. `verdict` is where the variable lies against what is wanted: "below", "within", "above"; "outside" for a
    choice, or for places that are outside in different ways. `branch` is the number of the branch that is taken, None
    for a gap; in mode "once" the first of several. `cell` can be handed to `LeadTable.witness`.
    """

    others: int
    verdict: str
    branch: int | None
    cell: int


class LeadTable:
    """Which branch every case of `variable` leads to, with everything else equal.

    Iterate over its rows. `undecided` is True, and there are no rows, past the cap. Cases in which the variable is
    missing (or missing at a place) are left out.
    """

    def __init__(
        self,
        branches: Sequence[Bound | None],
        variable: Variable,
        *,
        missing: Mapping[str, Missing],
        mode: Mode = "once",
        cap: int = CAP,
    ) -> None:
        self.branches = branches
        self.name = variable.name
        self.mode: Mode = mode
        self.space: Space | None
        try:
            self.space = Space([branch for branch in branches if branch is not None], missing, cap, also=variable)
        except TooMany:
            self.space = None

    @property
    def undecided(self) -> bool:
        return self.space is None

    def __iter__(self) -> Iterator[Lead]:
        space = self.space
        if space is None:
            return
        leads: dict[int, int] = {}
        for index, cells in enumerate(_taken(space, self.branches, self.mode)):
            for number in space.bits(cells):
                leads.setdefault(number, index)
        mine = space.by_name[self.name]
        for number in space.bits(space.valid):
            verdict = _verdict([cell for part in mine for cell in part.options[space.option(number, part)]])
            if verdict is None:
                continue
            others = number
            for part in mine:
                others -= space.option(number, part) * part.stride
            yield Lead(others, verdict, leads.get(number), number)

    def witness(self, lead: Lead) -> Witness:
        """The case of one row, concretely."""
        assert self.space is not None
        return show(self.space, [self.space.option(lead.cell, dimension) for dimension in self.space.dimensions])


def lead_table(
    branches: Sequence[Bound | None],
    variable: Variable,
    *,
    missing: Mapping[str, Missing],
    mode: Mode = "once",
    cap: int = CAP,
) -> LeadTable:
    """See `LeadTable`."""
    return LeadTable(branches, variable, missing=missing, mode=mode, cap=cap)


def _verdict(cells: Sequence[Cell]) -> str | None:
    verdicts = {cell.verdict for cell in cells}
    if None in verdicts:
        return None
    outside = verdicts - {"within"}
    if not outside:
        return "within"
    return outside.pop() if len(outside) == 1 else "outside"
