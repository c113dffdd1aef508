"""What taking a branch says about its values: where its condition can only be true with a value there, it is there.

Exact over the cells of the step (`space`), so `otherwise`, `or` and `has a result` need no rules of their own. Past the
cap nothing is concluded.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..procedure.bound import Bound
from ..procedure.model import Step
from ..procedure.variables import Variable
from .coverage import CAP
from .moments import FACTS, LEFT_OUT, NEVER, NO_RESULT, NOT_THERE, PARTLY, RECORDED
from .space import Dimension, Missing, Space, TooMany

if TYPE_CHECKING:
    from .effects import State
    from .flow import Flow

ALL = RECORDED | NOT_THERE


@dataclass(frozen=True, slots=True)
class Refined:
    """What one branch keeps: for each fact the bits that stay; None where it says nothing. `there` are the names it
    can only be taken with, `gone` those it can only be taken without."""

    keep: tuple[int, ...] | None = None
    there: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()


SAYS_NOTHING = Refined()


def conditions(flow: Flow, step: Step) -> list[Bound | None] | None:
    """The conditions of a step's branches, None for `otherwise`; None for all where one of them could not be read."""
    key = "branches" if step.branches else "first_of"
    found: list[Bound | None] = []
    for index, line in enumerate(step.lines):
        bound = flow.linked.conditions.get(("steps", flow.linked.at[step.step], key, index, "when"))
        if bound is None and line.when.strip() != "otherwise":
            return None
        found.append(bound)
    return found


def missing_here(flow: Flow, state: State | None, step: Step, bounds: Sequence[Bound | None]) -> dict[str, Missing]:
    """What may be missing of the values these conditions read; of a sum, whether it may have no result."""
    found: dict[str, Missing] = {}
    if state is None:
        return found
    for bound in bounds:
        for atom in bound.atoms if bound else ():
            variable = atom.variable
            if variable.name == "hold":
                if step.may_skip:
                    found["hold"] = True
                continue
            for name in dict.fromkeys((variable.name, variable.sum or variable.name)):
                facts = flow.facts(state, name) if name == variable.name or name in flow.bit else RECORDED
                if name != flow.known(name):  # an output that is there whenever its sum has a result
                    continue
                if facts & NOT_THERE:
                    found[name] = "whole" if variable.places and not facts & (PARTLY | LEFT_OUT) else True
    return found


def refine(flow: Flow, step: Step, state: State) -> list[Refined]:
    """What each branch of a step establishes, given what may be missing there."""
    lines = [SAYS_NOTHING] * len(step.lines)
    bounds = conditions(flow, step)
    if bounds is None:
        return lines
    missing = missing_here(flow, state, step, bounds)
    if not missing and not any(v.endswith(".outcome") for bound in bounds if bound for v in bound.variables):
        return lines
    first = bool(step.first_of)
    worked = flow.linked.worked

    def tell() -> dict[int, list[Says]]:  # once for all steps that ask the same
        key = (refine, tuple(bounds), frozenset(missing.items()), first)
        return worked.of(key, lambda: _told(bounds, missing, first=first))

    told = worked.again((refine, step.step), (bounds, missing, first), tell)
    for index, says in told.items():
        lines[index] = _line(flow, says)
    return lines


@dataclass(frozen=True, slots=True)
class Says:
    """What taking a branch says of a variable: the facts its value can have then, of an outcome also its words."""

    variable: Variable
    can: int
    words: frozenset[str] = frozenset()


def _told(bounds: Sequence[Bound | None], missing: Mapping[str, Missing], *, first: bool) -> dict[int, list[Says]]:
    """By branch, what taking it says of each variable; of one that is never taken nothing, and none past the cap."""
    try:
        space = Space([bound for bound in bounds if bound is not None], missing, CAP)
    except TooMany:
        return {}
    left = space.valid
    true = [None if bound is None else space.where(bound)[0] for bound in bounds]
    otherwise = left
    for cells in true:
        otherwise &= ~(cells or 0)
    told: dict[int, list[Says]] = {}
    for index, cells in enumerate(true):
        taken = otherwise if cells is None else cells
        if first:
            taken &= left
            left &= ~taken
        if taken:
            told[index] = [_says(space, dimensions, taken) for dimensions in space.by_name.values()]
    return told


def _says(space: Space, dimensions: list[Dimension], taken: int) -> Says:
    variable = dimensions[0].variable
    words = _words(space, dimensions[0], taken) if variable.kind == "outcome" else frozenset()
    return Says(variable, _can(space, dimensions, taken), words)


def _line(flow: Flow, says: list[Says]) -> Refined:
    allowed: dict[str, int] = {}
    there: list[str] = []
    gone: list[str] = []
    for said in says:
        variable, can, name = said.variable, said.can, said.variable.name
        if variable.kind == "outcome":
            _outcome(flow, said, allowed)
        for known in dict.fromkeys((name, variable.sum or name)) if can & NOT_THERE == 0 else (name,):
            if known in flow.bit and can != ALL:
                allowed[known] = allowed.get(known, ALL) & can
        if name in flow.bit or (variable.sum or name) in flow.bit:
            if not can & NOT_THERE:
                there.append(name)
            if not can & RECORDED:
                gone.append(name)
    masks = [-1] * FACTS
    for name, facts in allowed.items():
        for fact in range(FACTS):
            if not facts >> fact & 1:
                masks[fact] &= ~(1 << flow.bit[name])
    return Refined(tuple(masks) if allowed else None, tuple(there), tuple(gone))


def _can(space: Space, dimensions: list[Dimension], taken: int) -> int:
    """The facts a value can have in these joint cells."""
    whole, partly = space.full, 0
    for dimension in dimensions:
        whole &= space.mask(dimension, lambda option: all(cell.missing for cell in option))
        partly |= space.mask(dimension, lambda option: any(cell.missing for cell in option))
    if not taken & partly:
        return RECORDED
    if not taken & ~whole:
        return NEVER | LEFT_OUT | NO_RESULT
    return ALL if taken & whole else RECORDED | PARTLY


def _words(space: Space, dimension: Dimension, taken: int) -> frozenset[str]:
    """How the run can have ended in these joint cells."""
    options = enumerate(dimension.options)
    return frozenset(str(option[0].value) for index, option in options if taken & space.picked(dimension, (index,)))


def _outcome(flow: Flow, said: Says, allowed: dict[str, int]) -> None:
    """How the run ended says what it gave."""
    run = said.variable.name.partition(".")[0]
    by_outcome = flow.runs.get(run, {})
    if not said.words <= set(by_outcome) or ("stopped" in said.words and run in flow.left):
        return
    for name in next(iter(by_outcome.values())):
        facts = 0
        for word in said.words:
            facts |= by_outcome[word][name]
        allowed[name] = allowed.get(name, ALL) & facts
