"""Sums about the match of two drums, each quality against the scatter of its own repeated readings."""

from __future__ import annotations

from fractions import Fraction

from .kinds import TENTH, ZERO, Input, Output, Signature

THOUSANDTH = Fraction(1, 1000)

_SOURCE = (
    "uncertainties added by root sum of squares, k = 2: NIST TN 1297, 6.1-6.2; guarded three ways: ILAC-G8:09/2019, "
    "where exactly on the limit counts as within, which is our choice; what is alike enough: common practice, no "
    "published source"
)
_TWICE = "without two readings of each drum (one reading cannot say how far readings scatter)"
_BELOW = "when the limit or the finest step read is below zero"
_LIMIT = "the most that still is a match; else none is, and a difference is only told from the readings' own scatter"


def _readings(name: str, drum: str, what: str, unit: str | None, placed: bool = False) -> Input:
    return Input(name, "number", unit, many=True, placed=placed, apart=name != "a", about=f"{what} of the {drum} drum, "
                 "read again each time from the start: two or more, better five")  # fmt: skip


def _match(what: str) -> Output:
    return Output("match", "choice", choices=("alike", "too-close", "differs"), about=f"alike where {what} and what it "
                  "is sure to stay within the limit, differs where it passes the limit for sure, else too close to "
                  "call: read more often")  # fmt: skip


SUMS: tuple[Signature, ...] = (
    Signature(
        "pair-likeness",
        1,
        (
            _readings("a", "one", "a quality", None),
            _readings("b", "other", "the same quality", "same"),
            Input("limit", "number", "same", optional=True, about=_LIMIT),
            Input("step", "number", "same", optional=True, about="the finest step the readings were read to, so that "
                  "equal readings are not taken for certain; else none"),
        ),
        (
            Output("difference", "number", "same", THOUSANDTH, said="the one less the other", about="the mean of a "
                   "less the mean of b: below zero where a is the smaller"),
            Output("sure", "number", "same", THOUSANDTH, low=ZERO, said="sure to within", about="give or take, from "
                   "the scatter of both drums' readings, k = 2; it holds in 82 of 100 cases with two readings of "
                   "each, in 92 with five"),
            _match("the difference"),
        ),
        f"{_TWICE}, or {_BELOW}",
        _SOURCE,
        "Whether two drums match in one quality, against the scatter of the readings",
    ),
    Signature(
        "note-likeness",
        1,
        (
            _readings("a", "one", "a note", "Hz"),
            _readings("b", "other", "the same note", "Hz"),
            Input("limit", "number", "cents", optional=True, about=_LIMIT),
            Input("step", "number", "Hz", optional=True, about="the finest step the notes were read to, so that equal "
                  "readings are not taken for certain; else none"),
        ),
        (
            Output("difference", "number", "cents", TENTH, said="the one above the other", about="how far the note of "
                   "a lies above that of b; below zero where it lies below"),
            Output("sure", "number", "cents", TENTH, low=ZERO, said="sure to within", about="give or take, from the "
                   "scatter of both drums' readings, k = 2"),
            _match("the difference"),
        ),
        f"{_TWICE}, when a note is not above zero, or {_BELOW}",
        f"1200 cents to the octave, by definition; {_SOURCE}",
        "Whether two drums match in one note, against the scatter of the readings",
    ),
    Signature(
        "band-likeness",
        1,
        (
            _readings("a", "one", "a quality band by band", None, placed=True),
            _readings("b", "other", "the same quality band by band", "same", placed=True),
            Input("limit", "number", "same", optional=True, about=_LIMIT),
            Input("step", "number", "same", optional=True, about="the finest step the readings were read to; else "
                  "none"),
        ),
        (
            Output("band", "number", "Hz", low=Fraction(1), said="worst at the band", about="the band that "
                   "decides: the one that differs most surely, or else the one that is the least sure to be alike; the "
                   "lowest of them where several do"),
            Output("difference", "number", "same", THOUSANDTH, said="the one less the other there", about="there the "
                   "mean of a less the mean of b"),
            Output("sure", "number", "same", THOUSANDTH, low=ZERO, said="sure there to within", about="give or take; "
                   "k grows with the count of bands, since of many bands one scatters far by chance: 2 for one, 3.05 "
                   "for twenty"),
            Output("bands", "number", "", Fraction(1), low=Fraction(1), said="bands compared", about="how many bands "
                   "were read twice or more on both drums; the others are left out"),
            _match("the difference in every band"),
        ),
        "when no band was read twice or more on both drums, when a band is not called by its frequency (125 Hz, 1 kHz) "
        f"or two bands are one, or {_BELOW}",
        f"{_SOURCE}; several bands at once: Bonferroni's inequality, from memory",
        "Whether two drums match in every band, as in how long it rings or how its sound is made up",
    ),
)  # fmt: skip
