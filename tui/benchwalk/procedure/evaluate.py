"""Whether a condition holds: true, false, or neither because something it asks about was not recorded.

- A test of a missing value is neither, and so is its `not`. `is missing` and `has no result` are always true or false.
- `and`, `or` and `not` follow from that in the strong three-valued way (Kleene, from memory): what is known decides
  where it can, and otherwise the whole is neither.
- With several places, `any` is true as soon as one recorded place fits and false once every place is recorded and none
  does; `all` is the mirror of it. `min` and `max` speak of every place: they are neither while a place is missing.
  A reading with several places `is missing` when none of them is recorded.

A branch is taken only when its condition is true.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import Protocol

from .bound import AllOf, Atom, Bound, InRange, InVerdict, IsMissing, Node, NotOf, OneOf, Test
from .variables import Variable

Value = Fraction | str | None
Values = Value | Mapping[str, Value]


class View(Protocol):
    """What has been recorded so far, as a condition sees it."""

    def value(self, name: str) -> Values:
        """The value in the variable's unit, or place to value, or None when missing.

        A choice is its word; a hold "released", "refused" or "refused for REASON"; a picture, words or a sound any
        text; a sum any text once it has a result.
        """

    def verdict(self, name: str, place: str | None = None) -> str | None:
        """Against a range that a sum works out: "below", "within" or "above"; None when missing."""


def evaluate(bound: Bound, view: View, place: str | None = None) -> bool | None:
    """Whether the condition holds; None for neither. `place` is the one walked now, in a condition bound for `each`."""
    return _node(bound.root, view, place)


def _node(node: Node, view: View, place: str | None) -> bool | None:
    if isinstance(node, Atom):
        return _atom(node, view, place)
    if isinstance(node, NotOf):
        inner = _node(node.inner, view, place)
        return None if inner is None else not inner
    answers = (_node(part, view, place) for part in node.parts)
    return every(answers) if isinstance(node, AllOf) else some(answers)


def every(answers: Iterable[bool | None]) -> bool | None:
    """Three-valued `and`: false if one is, else neither if one is, else true."""
    result: bool | None = True
    for answer in answers:
        if answer is False:
            return False
        if answer is None:
            result = None
    return result


def some(answers: Iterable[bool | None]) -> bool | None:
    """Three-valued `or`: true if one is, else neither if one is, else false."""
    result: bool | None = False
    for answer in answers:
        if answer:
            return True
        if answer is None:
            result = None
    return result


def passes(test: Test, value: Value, verdict: str | None = None) -> bool | None:
    """One test of one value; None for neither. `verdict` is needed where a sum works out what is wanted."""
    if isinstance(test, IsMissing):
        return (value is None) != test.negated
    if value is None:
        return None
    if isinstance(test, InRange):
        if isinstance(value, str):
            raise TypeError(f"a number was expected, not {value!r}")
        return test.range.contains(value) != test.negated
    if isinstance(test, OneOf):
        return (value in test.words) != test.negated
    return None if verdict is None else (verdict == test.verdict) != test.negated


def _atom(atom: Atom, view: View, here: str | None) -> bool | None:
    variable, test = atom.variable, atom.test
    name = variable.name
    asks_sum = isinstance(test, InVerdict)
    if variable.places is None:
        value = view.value(name)
        if isinstance(value, Mapping):
            raise TypeError(f"{name} has one value, not one for each place")
        return passes(test, value, view.verdict(name) if asks_sum else None)
    values = _places(variable, view.value(name))
    how = atom.how
    if how in ("at", "here"):
        place = here if how == "here" else atom.place
        if place is None:
            raise TypeError(f"{name} is asked for one place, and none is given")
        return passes(test, values.get(place), view.verdict(name, place) if asks_sum else None)
    if how == "plain":  # is missing: of all places together
        return all(value is None for value in values.values()) != (isinstance(test, IsMissing) and test.negated)
    if how in ("min", "max"):
        numbers = [value for value in values.values() if value is not None and not isinstance(value, str)]
        if not numbers or len(numbers) < len(values):
            return None
        return passes(test, min(numbers) if how == "min" else max(numbers))
    if not values:  # nothing recorded at any rod, and nobody knows how many there are
        return _nowhere(test)
    answers = (passes(test, value, view.verdict(name, place) if asks_sum else None) for place, value in values.items())
    return some(answers) if how == "any" else every(answers)


def _places(variable: Variable, value: Values) -> Mapping[str, Value]:
    """Place to value, with every place the variable is known to have."""
    if value is None:
        value = {}
    if not isinstance(value, Mapping):
        raise TypeError(f"{variable.name} has a value for each place, not one")
    if isinstance(variable.places, tuple):
        return {place: value.get(place) for place in variable.places}
    return value


def _nowhere(test: Test) -> bool | None:
    return not test.negated if isinstance(test, IsMissing) else None
