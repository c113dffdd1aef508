"""Sums any procedure can use, over values of one unit."""

from __future__ import annotations

from fractions import Fraction

from .kinds import BY_DEFINITION, ZERO, Input, Output, Signature

SUMS: tuple[Signature, ...] = (
    Signature(
        "share",
        1,
        (
            Input("part", "number", about="the part"),
            Input("whole", "number", "same", about="the whole"),
        ),
        (
            Output("share", "number", "", low=ZERO, high=Fraction(1), said="share of the whole", about="the part of "
                   "the whole, 0 to 1; exact, so that 4 turns of 12 are a third and not less"),
        ),
        "when the whole is not above zero, or the part is below zero or above the whole (then one of them is wrong)",
        BY_DEFINITION,
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
            Output("by", "number", "same", low=ZERO, said="they differ by", about="how much they differ"),
            Output("signed", "number", "same", said="the one less the other", about="a less b: below zero where a is "
                   "the smaller"),
        ),
        None,
        BY_DEFINITION,
        "How much two values differ",
    ),
    Signature(
        "spread",
        1,
        (Input("values", "number", placed=True, about="a value for each place; places not noted are left out"),),
        (Output("spread", "number", "same", low=ZERO, about="the largest less the smallest"),),
        "with fewer than two values",
        BY_DEFINITION,
        "How far a value differs from place to place",
        least_places=2,
    ),
    Signature(
        "mean",
        1,
        (Input("values", "number", placed=True, about="a value for each place; places not noted are left out"),),
        (Output("mean", "number", "same", about="the mean of the places that have a value"),),
        "without any value",
        BY_DEFINITION,
        "The mean of a value over its places",
        least_places=1,
    ),
)  # fmt: skip
