"""The parts of a read condition. `at` and `end` are code points from the start of the condition's text."""

from __future__ import annotations

from ..plaindata import Frozen


class Subject(Frozen):
    """A name, and which of its places are meant.

    `how` is "plain", "any", "all", "min", "max" or "at"; `place` is the place's name after `at`, else None.
    A plain name may turn out to be a limit.
    """

    name: str
    at: int
    end: int
    how: str = "plain"
    place: str | None = None
    name_at: int = -1
    place_at: int = -1


class Constant(Frozen):
    """A number with or without a unit, or a note, as typed."""

    text: str
    at: int
    end: int


Operand = Subject | Constant


class Compare(Frozen):
    """Two or three operands with a sign between each two: `0.5 <= gap <= 3`. Signs are < <= > >= =."""

    operands: tuple[Operand, ...]
    signs: tuple[str, ...]
    at: int
    end: int


class Is(Frozen):
    """`gap is below`, `lie is not all`, `x is missing`, `hold is refused for gap`. `word` is as typed."""

    subject: Subject
    negated: bool
    word: str
    word_at: int
    at: int
    end: int
    reason: str | None = None
    reason_at: int = -1


class HasResult(Frozen):
    """`advice has a result`, or with `negated` `advice has no result`."""

    subject: Subject
    negated: bool
    at: int
    end: int


class Not(Frozen):
    inner: Condition
    at: int
    end: int


class And(Frozen):
    parts: tuple[Condition, ...]
    at: int
    end: int


class Or(Frozen):
    parts: tuple[Condition, ...]
    at: int
    end: int


Condition = Compare | Is | HasResult | Not | And | Or
