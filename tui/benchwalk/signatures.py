"""What each sum takes and gives: names, kinds, units, domains, resolution and source. Declarations only.

A sum is a function of keyword arguments named as its inputs. It answers a dict with every declared output, or NoResult.
Numbers arrive in the input's declared unit; a placed input is a dict from place (`"1"`, `"edge A"`) to a value or None.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, TypeAlias

from .quantities import Range

Value: TypeAlias = Fraction | Range | str | dict[str, Fraction | None] | list["Value"] | None
"""What goes into a sum and comes out of it; a list is every round of a `many` input; None is missing."""

Outcome: TypeAlias = "dict[str, Value] | NoResult"

ZERO, TENTH = Fraction(0), Fraction(1, 10)


@dataclass(frozen=True, slots=True)
class NoResult:
    """A sum that has nothing honest to say about these inputs, and why, in one sentence."""

    why: str


@dataclass(frozen=True, slots=True)
class Input:
    """One thing a sum takes.

    `unit` None takes any unit; "same" is the unit of the signature's first input. `many` takes every round as a list,
    `placed` a value for each rod or place. An `optional` one may be left out; `about` says what happens then.
    """

    name: str
    kind: Literal["number", "range", "choice"]
    unit: str | None = None
    many: bool = False
    placed: bool = False
    optional: bool = False
    about: str = ""
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Output:
    """One thing a sum gives, wherever it gives a result.

    Its value is a multiple of `resolution` (half to even), or exact without one. A number, and both ends of a range,
    lie from `low` to `high`, both included; None is no limit.
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


@dataclass(frozen=True, slots=True)
class Signature:
    """A sum as its users see it. `no_result` says when there is none beyond a required input that is missing.

    `version` changes whenever equal inputs could give another answer than before.
    """

    name: str
    version: int
    inputs: tuple[Input, ...]
    outputs: tuple[Output, ...]
    no_result: str | None
    source: str
    about: str


_PRACTICE = "common practice, no published source"
_BY_DEFINITION = "arithmetic, by definition"

_ALL = (
    Signature(
        "snare-room",
        1,
        (
            Input("clear", "number", "mm", about="clear length between the two gates"),
            Input("set", "number", "mm", about="length of the snare set over its end plates"),
            Input("least", "number", "mm", about="the least gap from plate to hoop that is accepted"),
            Input("tolerance", "number", "mm", optional=True, about="how far a gap may be off the middle; else 1.5 mm"),
        ),
        (
            Output("r", "number", "mm", TENTH, low=ZERO, about="R, the room left over: clear length less the set"),
            Output("gap", "range", "mm", TENTH, low=ZERO, about="the gap wanted on each side: half of R give or take "
                   "the tolerance, never below the least gap"),
            Output("spacer", "number", "mm", TENTH, low=ZERO, about="half of R: the spacer to tie with"),
        ),
        "when half of R is below the least gap (the two gaps make up R, so the set is too long for this drum), when "
        "the clear length or the set is not above zero, or when the least gap or the tolerance is below zero",
        _PRACTICE,
        "The gap from end plate to hoop that centres a snare set between the gates",
    ),
    Signature(
        "snare-balance",
        1,
        (
            Input("butt", "number", "mm", about="gap from plate to hoop, butt side, lever on"),
            Input("strainer", "number", "mm", about="gap from plate to hoop, strainer side, lever on"),
            Input("tolerance", "number", "mm", optional=True, about="largest difference that still is even; else none"),
        ),
        (
            Output("side", "choice", choices=("butt", "strainer", "even"), about="the side the set lies too near to"),
            Output("by", "number", "mm", TENTH, low=ZERO, about="how far the set would have to move to lie centred: "
                   "half of the difference, also where that still is even"),
            Output("difference", "number", "mm", TENTH, low=ZERO, about="how much the two gaps differ"),
        ),
        "when the tolerance is below zero",
        _PRACTICE,
        "Which side a snare set lies too near to, and by how much",
    ),
    Signature(
        "share",
        1,
        (
            Input("part", "number", about="the part"),
            Input("whole", "number", "same", about="the whole"),
        ),
        (
            Output("share", "number", "", low=ZERO, high=Fraction(1), about="the part of the whole, 0 to 1; exact, so "
                   "that 4 turns of 12 are a third and not less"),
        ),
        "when the whole is not above zero, or the part is below zero or above the whole (then one of them is wrong)",
        _BY_DEFINITION,
        "A part as a share of its whole, such as the knob's turns at work of all its turns",
    ),
    Signature(
        "difference",
        1,
        (
            Input("a", "number", about="the one value"),
            Input("b", "number", "same", about="the other"),
        ),
        (
            Output("by", "number", "same", low=ZERO, about="how much they differ"),
            Output("signed", "number", "same", about="a less b: below zero where a is the smaller"),
        ),
        None,
        _BY_DEFINITION,
        "How much two values differ",
    ),
    Signature(
        "spread",
        1,
        (Input("values", "number", placed=True, about="a value for each place; places not noted are left out"),),
        (Output("spread", "number", "same", low=ZERO, about="the largest less the smallest"),),
        "with fewer than two values",
        _BY_DEFINITION,
        "How far a value differs from place to place",
    ),
    Signature(
        "mean",
        1,
        (Input("values", "number", placed=True, about="a value for each place; places not noted are left out"),),
        (Output("mean", "number", "same", about="the mean of the places that have a value"),),
        "without any value",
        _BY_DEFINITION,
        "The mean of a value over its places",
    ),
    Signature(
        "rod-evenness",
        1,
        (Input("notes", "number", "Hz", placed=True, about="the note beside each rod, by rod number from 1"),),
        (
            Output("spread", "number", "cents", TENTH, low=ZERO, about="pitch spread: the highest note over the "
                   "lowest; it does not say that the rods pull alike"),
            Output("opposite", "number", "cents", TENTH, low=ZERO, may_be_missing=True, about="the largest "
                   "disagreement of two opposite rods, which pitch cannot tell apart: a check of the taps; none with "
                   "an odd count"),
            Output("highest", "number", "", Fraction(1), low=Fraction(1), about="the rod with the highest note, the "
                   "first of them where several share it"),
            Output("lowest", "number", "", Fraction(1), low=Fraction(1), about="the rod with the lowest note, the "
                   "first of them where several share it"),
        ),
        "with fewer than two rods, with a rod that has no note or is left out, or with a note that is not above zero",
        "1200 cents to the octave, by definition; comparing opposite rods: common practice, no published source",
        "How even the notes beside the rods are",
    ),
)  # fmt: skip

SIGNATURES: dict[str, Signature] = {signature.name: signature for signature in _ALL}
"""Every sum that a procedure or `benchwalk sum` can name."""
