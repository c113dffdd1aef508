"""Sums about what the weather does to a note."""

from __future__ import annotations

from .kinds import TENTH, ZERO, Input, Output, Signature

SUMS: tuple[Signature, ...] = (
    Signature(
        "weather-allowance",
        1,
        (
            Input("warmer", "number", "deg C", change=True, about="how much warmer it is now; below zero: colder"),
            Input("damper", "number", "percent", change=True, about="by how many percent the humidity is higher now; "
                  "below zero: drier"),
            Input("shell", "choice", choices=("wood", "metal"), about="what the shell is made of"),
            Input("head", "choice", optional=True, choices=("film", "skin"), about="what the head is made of; else "
                  "film"),
            Input("before", "number", "Hz", optional=True, about="the note then; else nothing is told of a move"),
            Input("now", "number", "Hz", optional=True, about="the same note now, read the same way; goes with the one "
                  "before"),
        ),
        (
            Output("allow", "number", "cents", TENTH, low=ZERO, said="the weather may have moved it by", about="how "
                   "far a note may have moved by weather alone, either way: the upper end of the estimate"),
            Output("least", "number", "cents", TENTH, low=ZERO, said="the weather moves it at least by", about="the "
                   "lower end of the estimate"),
            Output("no_figure", "choice", choices=("none", "damp", "warmth"), said="left out for want of a figure",
                   about="a change that took part and for which the trade has no figure: damp on wood, warmth on "
                   "metal; nothing is allowed for it"),
            Output("moved", "number", "cents", TENTH, may_be_missing=True, said="it moved by", about="how far the note "
                   "lies above the one before; below zero: below it; none without both notes"),
            Output("explained", "choice", choices=("weather", "too-close", "not-weather"), may_be_missing=True,
                   said="the move is", about="weather up to the lower end of the estimate, not weather beyond the "
                   "upper one, too close to call between; a change without a figure is not in it; none without both "
                   "notes"),
        ),
        "for a skin head, which is not compared across days, when only one of the two notes is given or one is not "
        "above zero, or when the humidity changes by more than 100 percent",
        "4 to 6 cents a degree on a wood shell, 2.5 to 4 cents a percent of humidity on a metal one: estimates; common "
        "practice, no published source",
        "How far weather alone may have moved a note, and whether it explains a move",
    ),
)  # fmt: skip
