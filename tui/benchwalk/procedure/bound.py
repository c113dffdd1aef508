"""A condition whose names are known: what `bind` makes, and what `evaluate` and the proof work on.

Every question has become one of four tests on the value of ONE variable; constants are exact, in its unit.
"""

from __future__ import annotations

from dataclasses import field

from ..plaindata import Frozen
from ..quantities import Range
from .variables import Variable


class InRange(Frozen):
    """The number lies in `range` (with `negated`: outside it)."""

    range: Range
    negated: bool = False


class InVerdict(Frozen):
    """Against a range that a sum works out, the number is "below", "within" or "above" (`negated`: is not)."""

    verdict: str
    negated: bool = False


class OneOf(Frozen):
    """The choice is one of `words` (`negated`: none of them)."""

    words: frozenset[str]
    negated: bool = False


class IsMissing(Frozen):
    """There is no value (`negated`: there is one). Of a sum: it has no result. Always true or false."""

    negated: bool = False


Test = InRange | InVerdict | OneOf | IsMissing


class Atom(Frozen):
    """One test of one variable. `how`: plain, any, all, min, max, at (with `place`), or here (the place walked now)."""

    variable: Variable
    how: str
    place: str | None
    test: Test


class NotOf(Frozen):
    inner: Node


class AllOf(Frozen):
    parts: tuple[Node, ...]


class AnyOf(Frozen):
    parts: tuple[Node, ...]


Node = Atom | NotOf | AllOf | AnyOf


class Bound(Frozen):
    """A condition ready to be evaluated. `variables` are the names it reads, `atoms` its tests, in order."""

    root: Node
    variables: tuple[str, ...] = field(init=False)
    atoms: tuple[Atom, ...] = field(init=False)

    def __post_init__(self) -> None:
        found: list[Atom] = []
        stack: list[Node] = [self.root]
        while stack:
            node = stack.pop()
            if isinstance(node, Atom):
                found.append(node)
            elif isinstance(node, NotOf):
                stack.append(node.inner)
            else:
                stack.extend(reversed(node.parts))
        object.__setattr__(self, "atoms", tuple(found))
        object.__setattr__(self, "variables", tuple(dict.fromkeys([atom.variable.name for atom in found])))
