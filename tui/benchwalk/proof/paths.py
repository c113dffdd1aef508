"""What the ways to a step say about the values it reads: which of them can come there together.

A branch taken earlier has told something about what it read, and that still holds until the value is noted anew. Sets
of joint cells (`space`) are carried along the ways for the values that several steps read, until nothing changes: so
"can come there" is exact for values that are compared with constants. What a sum gives is taken as free of what it was
given, and how often a way was gone plays no part: either can leave a case standing that no walk comes to, and never
takes one away that a walk does come to.

Past CAP joint cells fewer values are followed, those that stand closest to the step first.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import reduce

from ..procedure.bound import AllOf, Atom, Bound, Node, NotOf
from ..procedure.linked import Edge
from ..procedure.model import Step
from ..procedure.variables import FROM_A_SUM, Variable
from .branch_reads import acts_of, atoms_of, readers_of
from .effects import BRANCHES
from .flow import Flow, leaves
from .moments import LEFT_OUT, NEVER, NO_RESULT, NOT_THERE, PARTLY, RECORDED, Ask, Put
from .refine import conditions
from .space import Dimension, Space

CAP = 20_000
"""Most joint cells that are carried along the ways."""
_WATCHED = "(watched)"

Told = tuple[int, int, int, int]
"""Where a condition may be true, may be false, must be true and must be false; what is not followed may be either."""


class Paths:
    """Which joint cells of some values can come to each step: `here`, by step, where it branches.

    `at` holds the same on entry. `watched` is a value of which only this is followed: whether one of the facts `bad` is
    true of it.
    """

    def __init__(self, flow: Flow, names: Sequence[str], watched: str = "", bad: int = 0) -> None:
        self.flow = flow
        self.watched, self.bad = watched, bad
        self.visits = 0
        atoms = atoms_of(flow)
        found = [Bound(atom) for name in names for atom in atoms[name]]
        lost = {name: True for name in names if flow.known(name) is not None}
        lost |= {owner: True for bound in found for atom in bound.atoms if (owner := atom.variable.sum)}
        lost |= {_WATCHED: True} if watched else {}
        self.space = Space(found, lost, CAP, Variable(_WATCHED, "words") if watched else None)
        self.names = frozenset(self.space.by_name)
        self.tests = {name: atoms.get(name, []) for name in self.names}
        self._options = {
            id(dimension): [self.space.picked(dimension, (index,)) for index in range(len(dimension.options))]
            for dimension in self.space.dimensions
        }
        self.outputs: dict[str, list[str]] = {}
        self.judged_by: dict[str, list[str]] = {}
        for name, dimensions in self.space.by_name.items():
            variable = dimensions[0].variable
            if variable.sum:
                self.outputs.setdefault(variable.sum, []).append(name)
            if variable.wanted == FROM_A_SUM and name in flow.linked.wanted_from:
                source = flow.linked.wanted_from[name].partition(".")[0]
                self.judged_by.setdefault(source, []).append(name)
        self.at: dict[str, int] = {}
        self.here: dict[str, int] = {}
        self._lines: dict[str, list[int]] = {}
        self._dead: set[str] = set()
        self._solve()

    def cells(self, step: str, space: Space) -> int:
        """The joint cells of another space that can come to a step; the values of both must be cut alike in both."""
        shared = [dimension for name in self.names & space.by_name.keys() for dimension in self.space.by_name[name]]
        there = {(d.variable.name, d.role, d.place): d for d in space.dimensions}
        pairs = [(d, there[key]) for d in shared if (key := (d.variable.name, d.role, d.place)) in there]
        apart = {id(mine) for mine, _ in pairs}
        come = self.here.get(step, 0)
        for dimension in self.space.dimensions:
            if id(dimension) not in apart:  # all its options are put together in the first
                come = self._free(come, (dimension,)) & self._options[id(dimension)][0]
        alike = [(mine, _alike(mine, theirs, space)) for mine, theirs in pairs]
        found = 0
        for cell in self.space.bits(come):
            case = space.full
            for mine, masks in alike:
                case &= masks[self.space.option(cell, mine)]
            found |= case
        return found

    # the analysis

    def _solve(self) -> None:
        graph = self.flow.graph
        at = self.at
        at[graph.start] = self._start()
        order = {step: number for number, step in enumerate(self.flow.at)}
        changed = {graph.start}
        while changed or (changed := self._dead_ends()):
            for step in sorted(changed, key=order.__getitem__):
                changed.discard(step)
                self.visits += 1
                leaving = self._through(step, at[step])
                self.here[step] = leaving[BRANCHES]
                for way in graph.out[step]:
                    cells = self._leaving(step, way, leaving)
                    if cells & ~at.get(way.target, 0):
                        at[way.target] = at.get(way.target, 0) | cells
                        changed.add(way.target)

    def _dead_ends(self) -> set[str]:
        """Steps that walks come to and no walk gets on from. That is told there; from now on it is taken as mended, so
        that what comes after is judged as well."""
        lines = self.flow.linked.steps
        found = {
            step
            for step, cells in self.here.items()
            if cells and lines[step].lines and step not in self._dead and not cells & _any(self.taken(step))
        }
        self._dead |= found
        return found

    def _start(self) -> int:
        cells = self.space.valid
        for name, dimensions in self.space.by_name.items():
            if name == _WATCHED or self.flow.known(name) is not None:
                cells &= self._missing(dimensions)
        return cells

    def _leaving(self, step: str, way: Edge, leaving: tuple[int, int, int]) -> int:
        how, line = leaves(way.first)
        cells = leaving[how]
        if line is None or not cells:
            return cells
        if step in self._dead:
            read = [name for name in self.names if step in readers_of(self.flow).get(name, ())]
            cells = self._anew(cells, read) & self.space.valid
        return cells & self.taken(step)[line]

    def _through(self, name: str, cells: int) -> tuple[int, int, int]:
        """What leaves a step at its branches, late, and on an event."""
        step, valid, facts = self.flow.linked.steps[name], self.space.valid, self.flow.at[name]
        late = event = skipped = 0
        left = [*step.record, *step.work_out]
        for moment in acts_of(self.flow, step):
            if isinstance(moment, Ask):
                cells &= valid
                here = self._anew(cells, [moment.partly]) & valid if moment.partly else cells
                event |= here
                late = cells if moment.late else late
                if step.may_skip is not None:
                    skipped |= self._skipped(here, left, moment.partly)
                continue
            if isinstance(moment, Put):
                put = self._seen(self._put(cells, [moment.name], moment.facts), moment.name, moment.facts)
                cells = put | (cells if moment.may else 0)
            else:
                lacks = any(self.flow.facts(facts, need) & ~RECORDED for need in moment.needs)
                gave = RECORDED | (NO_RESULT if moment.may_fail or lacks else 0)
                cells = self._put(cells, [moment.name, *self.outputs.get(moment.name, ())], gave)
                cells = self._seen(cells, moment.name, gave)
                cells = self._anew(cells, self.judged_by.get(moment.name, ()))
            facts = self.flow.after(facts, moment)
            left = [name for name in left if name != moment.name]
        if self.flow.effects[name].left and step.run:
            inside = [name for name in self.names if name.startswith(f"{step.run.as_}.")]
            event = self._anew(event, inside) & valid
            if self.watched.startswith(f"{step.run.as_}."):
                event = self._seen(event, self.watched, RECORDED | NOT_THERE)
        return (cells | skipped) & valid, late, event

    def _skipped(self, cells: int, left: Sequence[str], partly: str) -> int:
        """What a step leaves that is skipped while all these are not noted or worked out yet."""
        for name in left:
            facts = LEFT_OUT | (PARTLY if name == partly else 0)
            cells = self._put(cells, [name, *self.outputs.get(name, ())], facts)
            cells = self._seen(cells, name, facts)
        return cells

    def _seen(self, cells: int, name: str, facts: int) -> int:
        """What these facts say about the value that is watched."""
        if name != self.watched:
            return cells
        told = (RECORDED if facts & ~self.bad else 0) | (NEVER if facts & self.bad else 0)
        return self._put(cells, [_WATCHED], told)

    def lacks(self, step: str, line: int | None) -> bool:
        """Whether a walk can come to a step (and take that branch of it) with a bad fact true of what is watched."""
        cells = self.at.get(step, 0) if line is None else self.here.get(step, 0) & self.taken(step)[line]
        return bool(cells & self._missing(self.space.by_name[_WATCHED]))

    def _put(self, cells: int, names: Sequence[str], facts: int) -> int:
        """These values as they may be from here on, whatever they were."""
        dimensions = [dimension for name in names for dimension in self.space.by_name.get(name, ())]
        if not dimensions:
            return cells
        cells = self._free(cells, dimensions)
        if facts & PARTLY:
            return cells
        allowed = 0
        if facts & RECORDED:
            allowed |= self._there(dimensions)
        if facts & NOT_THERE:
            allowed |= self._missing(dimensions)
        return cells & allowed

    def _anew(self, cells: int, names: Iterable[str]) -> int:
        """Any values for these, there or not."""
        return self._free(cells, [d for name in names for d in self.space.by_name.get(name, ())])

    def _free(self, cells: int, dimensions: Iterable[Dimension]) -> int:
        """The same whatever the options in these dimensions."""
        for dimension in dimensions:
            stride, first = dimension.stride, 0
            for index, picked in enumerate(self._options[id(dimension)]):
                first |= (cells & picked) >> index * stride
            cells = _any(first << index * stride for index in range(len(dimension.options)))
        return cells

    def _there(self, dimensions: Iterable[Dimension]) -> int:
        cells = self.space.full
        for dimension in dimensions:
            cells &= self.space.mask(dimension, lambda option: not any(cell.missing for cell in option))
        return cells

    def _missing(self, dimensions: Iterable[Dimension]) -> int:
        cells = self.space.full
        for dimension in dimensions:
            cells &= self.space.mask(dimension, lambda option: all(cell.missing for cell in option))
        return cells

    # branches

    def taken(self, step: str) -> list[int]:
        """For each branch of a step, the joint cells in which it may be taken."""
        found = self._lines.get(step)
        if found is None:
            found = self._lines[step] = self._taken(self.flow.linked.steps[step])
        return found

    def _taken(self, step: Step) -> list[int]:
        bounds, full = conditions(self.flow, step), self.space.full
        if bounds is None:
            return [full] * len(step.lines)
        told = [self._told(bound.root) if bound is not None else (full, full, 0, 0) for bound in bounds]
        lines = []
        for index, (may, _, _, _) in enumerate(told):
            others = told if bounds[index] is None and not step.first_of else told[:index]
            lines.append(may & ~_any(must for _, _, must, _ in others))  # of two that fit, a walk takes the first
        return lines

    def _told(self, node: Node) -> Told:
        full = self.space.full
        if isinstance(node, Atom):
            if node.variable.name not in self.names:
                return full, full, 0, 0
            true, false = self.space.where(Bound(node))
            return true, false, true, false
        if isinstance(node, NotOf):
            may, may_not, must, must_not = self._told(node.inner)
            return may_not, may, must_not, must
        parts = [self._told(part) for part in node.parts]
        if isinstance(node, AllOf):
            return _all(parts, 0, full), _any(p[1] for p in parts), _all(parts, 2, full), _any(p[3] for p in parts)
        return _any(p[0] for p in parts), _all(parts, 1, full), _any(p[2] for p in parts), _all(parts, 3, full)


def _alike(mine: Dimension, theirs: Dimension, space: Space) -> list[int]:
    """For each option of one dimension, the joint cells of another space that have the same; none where it has not."""
    at = {option: index for index, option in enumerate(theirs.options)}
    return [space.picked(theirs, [at[option]]) if option in at else 0 for option in mine.options]


def _any(cells: Iterable[int]) -> int:
    return reduce(lambda one, other: one | other, cells, 0)


def _all(told: Sequence[Told], which: int, full: int) -> int:
    return reduce(lambda one, other: one & other, (t[which] for t in told), full)
