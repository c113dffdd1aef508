"""The parts of a read condition. `at` and `end` are code points from the start of the condition's text."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Subject:
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


@dataclass(frozen=True, slots=True)
class Constant:
    """A number with or without a unit, or a note, as typed."""

    text: str
    at: int
    end: int


Operand = Subject | Constant


@dataclass(frozen=True, slots=True)
class Compare:
    """Two or three operands with a sign between each two: `0.5 <= gap <= 3`. Signs are < <= > >= =."""

    operands: tuple[Operand, ...]
    signs: tuple[str, ...]
    at: int
    end: int


@dataclass(frozen=True, slots=True)
class Is:
    """`gap is below`, `lie is not all`, `x is missing`, `hold is refused for gap`. `word` is as typed."""

    subject: Subject
    negated: bool
    word: str
    word_at: int
    at: int
    end: int
    reason: str | None = None
    reason_at: int = -1


@dataclass(frozen=True, slots=True)
class HasResult:
    """`advice has a result`, or with `negated` `advice has no result`."""

    subject: Subject
    negated: bool
    at: int
    end: int


@dataclass(frozen=True, slots=True)
class Not:
    inner: Condition
    at: int
    end: int


@dataclass(frozen=True, slots=True)
class And:
    parts: tuple[Condition, ...]
    at: int
    end: int


@dataclass(frozen=True, slots=True)
class Or:
    parts: tuple[Condition, ...]
    at: int
    end: int


Condition = Compare | Is | HasResult | Not | And | Or
