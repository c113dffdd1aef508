"""What the branches of a procedure read, and what its steps do with values, each worked out once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ..procedure.bound import Atom, Bound
from ..procedure.linked import Linked
from ..procedure.model import Step
from .flow import Flow, flow_of
from .moments import Ask, Put, Work
from .refine import conditions


def atoms_of(flow: Flow) -> dict[str, list[Atom]]:
    """Every test that a branch makes, by the value it is made of; what a hold said is known at its own step only."""
    return flow.linked.once(_tests)[0]


def readers_of(flow: Flow) -> dict[str, set[str]]:
    """The steps whose branches read each value."""
    return flow.linked.once(_tests)[1]


def acts_of(flow: Flow, step: Step) -> list[Ask | Put | Work]:
    """What a step does with values, without what only reads them."""
    return flow.linked.once(_acts)[step.step]


def _tests(linked: Linked) -> tuple[dict[str, list[Atom]], dict[str, set[str]]]:
    atoms: dict[str, list[Atom]] = {}
    readers: dict[str, set[str]] = {}
    for name, step in linked.steps.items():
        for atom in _read(conditions(flow_of(linked), step) if step.lines else None):
            if atom.variable.name != "hold" and atom.how != "here":
                atoms.setdefault(atom.variable.name, []).append(atom)
                readers.setdefault(atom.variable.name, set()).add(name)
    return atoms, readers


def _acts(linked: Linked) -> dict[str, list[Ask | Put | Work]]:
    found = flow_of(linked).moments.items()
    return {name: [moment for moment in done if isinstance(moment, Ask | Put | Work)] for name, done in found}


def _read(bounds: Sequence[Bound | None] | None) -> Iterator[Atom]:
    for bound in bounds or ():
        yield from bound.atoms if bound is not None else ()
