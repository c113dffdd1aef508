"""Sums about what loud work does to hearing."""

from __future__ import annotations

from fractions import Fraction

from .kinds import TENTH, ZERO, Input, Output, Signature

HUNDREDTH = Fraction(1, 100)

SUMS: tuple[Signature, ...] = (
    Signature(
        "hearing-dose",
        1,
        (
            Input("level", "number", "dBA", about="the sound level at the ear while it lasts, its mean and not its "
                  "peaks, ears open"),
            Input("minutes", "number", "min", about="how long it lasts"),
            Input("earlier", "number", "percent", optional=True, about="what was used of today's dose before; else "
                  "none"),
        ),
        (
            Output("dose", "number", "percent", TENTH, low=ZERO, said="of today's dose", about="an estimate of what is "
                   "used of today's dose after it, what was used before counted in; 100 percent is a day's"),
            Output("adds", "number", "percent", TENTH, low=ZERO, said="this adds", about="what this alone adds"),
            Output("left", "number", "min", HUNDREDTH, low=ZERO, may_be_missing=True, said="time left at this level",
                   about="how long this level may still last today; none below 80 dBA, which counts nothing"),
            Output("day", "choice", choices=("well-within", "near", "used-up"), about="well within below half a day's "
                   "dose, near from half of it on, used up from all of it on; half is our choice"),
        ),
        "at 140 dBA or above, where no time is short enough and ears must be protected; when the time is below zero or "
        "more than a day, or what was used before is below zero",
        "NIOSH publication 98-126, 1.1: 85 dBA for 8 hours, halved for every 3 dB more, counted from 80 dBA; its end "
        "at 140 dBA from memory",
        "What loud work uses of a day's dose for hearing: an estimate, and no measurement of yours",
    ),
)  # fmt: skip
