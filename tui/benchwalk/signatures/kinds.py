"""What a declaration of a sum is made of: its inputs, its outputs, and what it answers.

A sum is a function of keyword arguments named as its inputs. It answers a dict with every declared output, or NoResult.
Numbers arrive in the input's declared unit; a placed input is a dict from place (`"1"`, `"edge A"`) to a value or None.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Literal, TypeAlias

from ..plaindata import Frozen
from ..quantities import Range

Value: TypeAlias = Fraction | Range | str | dict[str, Fraction | None] | list["Value"] | None
"""What goes into a sum and comes out of it; a list is every round of a `many` input; None is missing."""

Outcome: TypeAlias = "dict[str, Value] | NoResult"

ZERO, TENTH = Fraction(0), Fraction(1, 10)


class NoResult(Frozen):
    """A sum that has nothing honest to say about these inputs, and why, in one sentence."""

    why: str


class Input(Frozen):
    """One thing a sum takes.

    `unit` None takes any unit; "same" is the unit of the signature's first input. `many` takes every round as a list,
    `placed` a value for each rod or place. An `optional` one may be left out; `about` says what happens then. Rounds of
    a `many` input belong to those of the first one, or stand `apart`: readings of another thing. A `change` is a
    difference of two values and no value itself: 9 deg F more are 5 deg C more, and not -12.8 deg C.
    """

    name: str
    kind: Literal["number", "range", "choice"]
    unit: str | None = None
    many: bool = False
    placed: bool = False
    optional: bool = False
    about: str = ""
    choices: tuple[str, ...] = ()
    apart: bool = False
    change: bool = False


class Output(Frozen):
    """One thing a sum gives, wherever it gives a result.

    Its value is a multiple of `resolution`, rounded half away from zero as it is done by hand (7.45 is 7.5), or exact
    without one. A number, and both ends of a range, lie from `low` to `high`, both included; None is no limit. `said`
    is what people call it where its name is short or a letter: `room` for `r`.
    """

    name: str
    kind: Literal["number", "range", "choice", "placed"]
    unit: str = ""
    resolution: Fraction | None = None
    choices: tuple[str, ...] = ()
    low: Fraction | None = None
    high: Fraction | None = None
    may_be_missing: bool = False
    about: str = ""
    said: str = ""

    @property
    def spoken(self) -> str:
        """What it is called where its value is said."""
        return self.said or self.name


class Signature(Frozen):
    """A sum as its users see it. `no_result` says when there is none beyond a required input that is missing.

    `version` changes whenever equal inputs could give another answer than before. With `least_places`, having fewer
    values than that is the only case without a result, so that places which are all noted always give one.
    """

    name: str
    version: int
    inputs: tuple[Input, ...]
    outputs: tuple[Output, ...]
    no_result: str | None
    source: str
    about: str
    least_places: int | None = None


PRACTICE = "common practice, no published source"
BY_DEFINITION = "arithmetic, by definition"
