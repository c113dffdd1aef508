"""Sums about a snare set and its cords."""

from __future__ import annotations

from .kinds import BY_DEFINITION, PRACTICE, TENTH, ZERO, Input, Output, Signature

SUMS: tuple[Signature, ...] = (
    Signature(
        "snare-room",
        2,
        (
            Input("clear", "number", "mm", about="clear length between the two gates"),
            Input("set", "number", "mm", about="length of the snare set over its end plates"),
            Input("least", "number", "mm", about="the least gap from plate to hoop that is accepted"),
            Input("tolerance", "number", "mm", optional=True, about="how far a gap may be off the middle; else 1.5 mm"),
        ),
        (
            Output("r", "number", "mm", TENTH, low=ZERO, said="room", about="R, the room left over: clear "
                   "length less the set"),
            Output("gap", "range", "mm", TENTH, low=ZERO, said="gap wanted on each side", about="the gap wanted on "
                   "each side: half of R give or take the tolerance, never below the least gap"),
            Output("spacer", "number", "mm", TENTH, low=ZERO, about="half of R: the spacer to tie with"),
        ),
        "when half of R is below the least gap (the two gaps make up R, so the set is too long for this drum), when "
        "the clear length or the set is not above zero, or when the least gap or the tolerance is below zero",
        PRACTICE,
        "The gap from end plate to hoop that centres a snare set between the gates",
    ),
    Signature(
        "snare-balance",
        2,
        (
            Input("butt", "number", "mm", about="gap from plate to hoop, butt side, lever on"),
            Input("strainer", "number", "mm", about="gap from plate to hoop, strainer side, lever on"),
            Input("tolerance", "number", "mm", optional=True, about="largest difference that still is even; else none"),
        ),
        (
            Output("side", "choice", choices=("butt", "strainer", "even"), said="lies too near to",
                   about="the side the set lies too near to"),
            Output("by", "number", "mm", TENTH, low=ZERO, said="off centre by", about="how far the set would have to "
                   "move to lie centred: half of the difference, also where that still is even"),
            Output("difference", "number", "mm", TENTH, low=ZERO, said="the two gaps differ by", about="how much the "
                   "two gaps differ"),
        ),
        "when the tolerance is below zero",
        PRACTICE,
        "Which side a snare set lies too near to, and by how much",
    ),
    Signature(
        "snare-gaps",
        1,
        (
            Input("butt", "number", "mm", about="gap from plate to hoop, butt side, lever on"),
            Input("strainer", "number", "mm", about="gap from plate to hoop, strainer side, lever on"),
            Input("room", "number", "mm", about="R, the room left over for both gaps"),
        ),
        (
            Output("together", "number", "mm", TENTH, said="both gaps together", about="the two gaps added; below zero "
                   "where the plates ride on the hoop by more than they clear it"),
            Output("off", "number", "mm", TENTH, low=ZERO, said="off the room by", about="how far both gaps together "
                   "are off the room, which they make up: what is more than reading is misread"),
        ),
        None,
        BY_DEFINITION,
        "Whether two gaps make up the room left over, so that all of them can be believed",
    ),
)  # fmt: skip
