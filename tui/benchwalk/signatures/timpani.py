"""Sums about clearing a timpano."""

from __future__ import annotations

from fractions import Fraction

from .kinds import TENTH, ZERO, Input, Output, Signature

SUMS: tuple[Signature, ...] = (
    Signature(
        "timpano-clear",
        1,
        (
            Input("notes", "number", "Hz", placed=True, about="the note beside each lug, by lug number from 1, at one "
                  "pedal stop"),
            Input("fifth", "number", "Hz", optional=True, about="the second note of the whole head, which should lie a "
                  "fifth above; else nothing is told of it"),
            Input("limit", "number", "cents", optional=True, about="how far the pairs may differ on a clear head; else "
                  "the larger of 10 cents and what 1 Hz is at the lowest pair's note"),
        ),
        (
            Output("spread", "number", "cents", TENTH, low=ZERO, said="the pairs differ by", about="the highest pair "
                   "of opposite lugs over the lowest, each pair by the mean of its two notes"),
            Output("sure", "number", "cents", TENTH, low=ZERO, said="sure to within", about="give or take, from how "
                   "far opposite lugs disagree over the whole head, k = 2; their notes are one note, so what they "
                   "disagree by is the taps' own error"),
            Output("opposite", "number", "cents", TENTH, low=ZERO, said="opposite lugs disagree by", about="the "
                   "largest disagreement of two opposite lugs; more than once beside the same two: have the hoop, "
                   "the edge and the lug looked at"),
            Output("clear", "choice", choices=("clear", "too-close", "not-clear"), said="the head is", about="clear "
                   "where the spread and what it is sure to stay within the limit, not clear where it passes the limit "
                   "for sure, else too close to call: tap again. No note shows one side high and the other low"),
            Output("pair", "number", "", Fraction(1), low=Fraction(1), said="pair at lug",
                   about="the pair to turn, by the lower of its two lug numbers: the one farthest from the mean of "
                   "all, the lower in pitch where two are as far"),
            Output("across", "number", "", Fraction(1), low=Fraction(1), said="and at lug", about="the lug opposite"),
            Output("pair_off", "number", "cents", TENTH, said="that pair is off by", about="how "
                   "far that pair lies above the mean of all; below zero: below"),
            Output("turn", "choice", choices=("none", "tighten", "loosen"), about="what to do with both lugs of that "
                   "pair by the same small part of a turn; nothing unless the head surely is not clear"),
            Output("note", "number", "Hz", TENTH, low=ZERO, said="note of the whole head", about="mean of all lugs"),
            Output("fifth_off", "number", "cents", TENTH, may_be_missing=True, said="the fifth is off by", about="how "
                   "far the second note lies above 3/2 of the head's note; below zero: below; none where it was not "
                   "read"),
        ),
        "with fewer than four lugs or an odd count (no lug has an opposite), with a lug that has no note or is left "
        "out, with a note that is not above zero, or with a limit below zero",
        "notes of a kettle near 1, 1.5, 2 and 2.5: Rossing 1982; root sum of squares, k = 2: NIST TN 1297, 6.1-6.2; "
        "guarded three ways: ILAC-G8:09/2019; the limit and turning in opposite pairs: common practice, no published "
        "source",
        "Whether a timpano is clear, pair by pair, and which pair to turn which way",
    ),
)  # fmt: skip
