"""Where a value outside what is wanted leads, compared with a value inside and everything else equal."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from ..procedure.variables import Variable
from .coverage import Lead, lead_table
from .judged import Judged
from .witness import Sampled, Witness

Target = tuple[str, tuple[str, ...]]
"""A step, and what is found on the way to it."""


@dataclass(frozen=True)
class Alike:
    """A case in which a value outside leads on like one inside, by branch `line`; or too many cases to tell."""

    line: int
    witness: Witness
    undecided: bool = False


def alike(step: Judged, variable: Variable) -> Alike | None:
    """The first case in which `variable`, outside what is wanted, leads on as if it were within; None where it never
    does. See the rule `wanted` for what is no fault."""
    lines = step.step.lines
    targets: list[Target] = [(line.go, tuple(sorted(line.find))) for line in lines]
    accepted = tuple(bool(line.accept) for line in lines)
    cases = (tuple(step.bounds), frozenset(step.missing.items()), step.mode)
    key = (alike, variable, cases, tuple(targets), accepted)
    return step.linked.worked.of(key, lambda: _alike(step, variable, targets))


def _alike(step: Judged, variable: Variable, targets: list[Target]) -> Alike | None:
    table = lead_table(step.bounds, variable, missing=step.missing, mode=step.mode)
    if table.undecided:
        return Alike(0, Witness({}, None, Sampled({}, {})), undecided=True)
    lines = step.step.lines
    inside: dict[int, set[Target]] = defaultdict(set)
    outside: list[Lead] = []
    for lead in table:
        if lead.branch is None:
            continue
        if lead.verdict == "within":
            inside[lead.others].add(targets[lead.branch])
        else:
            outside.append(lead)
    own: dict[str, set[Target]] = defaultdict(set)
    same: list[Lead] = []
    for lead in outside:
        assert lead.branch is not None
        line, target = lines[lead.branch], targets[lead.branch]
        if target not in inside[lead.others]:
            own[lead.verdict].add(target)
        elif not line.find and not line.accept:
            same.append(lead)
    for lead in same:
        assert lead.branch is not None
        if targets[lead.branch] in own[lead.verdict]:
            continue  # outside it leads there anyhow
        witness = table.witness(lead)
        if not _other_outside(step, variable, witness):
            return Alike(lead.branch, witness)
    return None


def _other_outside(step: Judged, variable: Variable, witness: Witness) -> bool:
    """Whether another value of the case is outside what is wanted of it."""
    others = {a.variable.name: a.variable for bound in step.bounds if bound for a in bound.atoms}
    return any(
        _outside(other, witness.view) for name, other in others.items() if name != variable.name and other.wanted
    )


def _outside(variable: Variable, view: Sampled) -> bool:
    value = view.value(variable.name)
    places = dict(value) if isinstance(value, dict) else {None: value}
    for place, known in places.items():
        if known is None:
            continue
        if isinstance(variable.wanted, tuple):
            if known not in variable.wanted:
                return True
        elif view.verdict(variable.name, place) in ("below", "above"):
            return True
    return False
