"""Sums about what is read beside the tension rods of one head."""

from __future__ import annotations

from fractions import Fraction

from .kinds import TENTH, ZERO, Input, Output, Signature

SIXTEENTH, HALF, HUNDREDTH = Fraction(1, 16), Fraction(1, 2), Fraction(1, 100)

SUMS: tuple[Signature, ...] = (
    Signature(
        "rod-evenness",
        5,
        (
            Input("notes", "number", "Hz", placed=True, about="the note beside each rod, by rod number from 1"),
            Input("sure", "number", "cents", placed=True, optional=True, about="how sure each note is, as it was "
                  "heard (about 95 percent); what counts is the larger of that and how far the notes are off the "
                  "fitted oval, which is mostly opposite rods' disagreement, and never below 1 cent"),
            Input("limit", "number", "cents", optional=True, about="the largest oval part that is accepted; else the "
                  "larger of 10 cents and 1 Hz"),
            Input("other", "choice", optional=True, choices=("damped", "off", "rings"), about="the other head; while "
                  "it rings there is no result. Left out, it counts as damped"),
        ),
        (
            Output("spread", "number", "cents", TENTH, low=ZERO, about="pitch spread: the highest note over the "
                   "lowest; it does not say that the rods pull alike"),
            Output("opposite", "number", "cents", TENTH, low=ZERO, may_be_missing=True, said="opposite rods differ by",
                   about="the largest disagreement of two opposite rods, which pitch cannot tell apart: a check of the "
                   "taps; none with an odd count"),
            Output("apart", "number", "", Fraction(1), low=Fraction(1), may_be_missing=True, said="most apart are rod",
                   about="the lower rod number of the two opposite rods that disagree most, the first of them where "
                   "several do; none with an odd count"),
            Output("across", "number", "", Fraction(1), low=Fraction(1), may_be_missing=True, said="and across from it "
                   "rod", about="the rod opposite that one; none with an odd count"),
            Output("stray", "number", "cents", TENTH, low=ZERO, may_be_missing=True, said="one rod lies off the others "
                   "by", about="with an odd count of five or more, where no rod has an opposite: how far the note of "
                   "one rod lies off what the others make without it, their mean and their oval, which no pull of "
                   "rods can do; a check of the taps"),
            Output("strayed", "number", "", Fraction(1), low=Fraction(1), may_be_missing=True, said="off most is rod",
                   about="the rod whose note strays most, the first of them where several do; given with stray"),
            Output("highest", "number", "", Fraction(1), low=Fraction(1), said="highest at rod", about="the rod with "
                   "the highest note, the first of them where several share it"),
            Output("lowest", "number", "", Fraction(1), low=Fraction(1), said="lowest at rod", about="the rod with the "
                   "lowest note, the first of them where several share it"),
            Output("oval", "number", "cents", TENTH, low=ZERO, may_be_missing=True, said="two opposite pairs apart by",
                   about="the part of the spread that is one pair of sides high and the other low, lowest to highest, "
                   "from all notes together; none with fewer than four rods"),
            Output("sure", "number", "cents", TENTH, low=ZERO, may_be_missing=True, said="give or take", about="how "
                   "sure the oval part is: two standard deviations (k = 2); none with fewer than four rods"),
            Output("verdict", "choice", choices=("within", "too-close", "outside"), about="the oval part against the "
                   "limit: within where it is so even with the doubt added, outside where it is so even with the doubt "
                   "taken off, else too close to call, as always with fewer than four rods; exactly on the limit is "
                   "inside"),
        ),
        "with fewer than two rods, with a rod that has no note or is left out, with a note that is not above zero, "
        "while the other head rings, or with a limit below zero or a doubt below zero",
        "1200 cents to the octave, by definition; guard band after the idea of ILAC-G8:09/2019, 4.2.1 and 4.2.2, with "
        "k = 2 (NIST TN 1297, 6.2); the larger of 10 cents and 1 Hz, comparing opposite rods: common practice, no "
        "published source",
        "How even the notes beside the rods are",
    ),
    Signature(
        "hoop-depth",
        1,
        (
            Input("depth", "number", "mm", placed=True, about="from the hoop's lip down to the film beside each rod, "
                  "by rod number from 1"),
            Input("limit", "number", "mm", optional=True, about="what still counts as level; else 0.3 mm"),
        ),
        (
            Output("tilt", "number", "mm", HUNDREDTH, low=ZERO, about="how far the plane through all depths tilts, "
                   "deepest to shallowest"),
            Output("deepest", "number", "", Fraction(1), low=Fraction(1), said="deepest at rod", about="the rod with "
                   "the largest depth, where the hoop stands highest: the first of them where several share it"),
            Output("oval", "number", "mm", HUNDREDTH, low=ZERO, may_be_missing=True, said="two opposite pairs apart by",
                   about="the part that is one pair of sides deep and the other shallow, lowest to highest; none with "
                   "fewer than four rods"),
            Output("level", "choice", choices=("level", "one-side", "oval", "uneven"), said="the hoop is",
                   about="level within the limit; else what is the largest: one side high, oval, or neither"),
            Output("turns", "placed", "turns", SIXTEENTH, low=-HALF, high=HALF, said="turns that would level it",
                   about="by the thread, from the mean of all rods: + tightens, 0 is leave it, at most half a turn at "
                   "once"),
        ),
        "with fewer than three rods, with a rod that has no depth or is left out, or with a limit below zero",
        "plane by least squares; 24 threads to the inch, 1.0583 mm a turn (ASME B1.1, from memory); 0.3 mm: common "
        "practice, no published source",
        "Whether the hoop stands level, which shows a head that is tight on one side",
    ),
    Signature(
        "own-split",
        1,
        (
            Input("oval", "number", "cents", about="the oval part of the rod notes"),
            Input("depth_oval", "number", "mm", about="the oval part of the hoop's depth"),
            Input("slack", "number", "turns", optional=True, about="turns up from slack; else 1 turn, the careful "
                  "side"),
        ),
        (
            Output("whose", "choice", choices=("rods", "head", "cannot-tell"), said="whose it is", about="rods: the "
                   "hoop shows an oval that explains the notes'; head: the hoop shows too little, so it is this head's "
                   "own and no rod cures it; else it cannot be told"),
            Output("explained", "number", "cents", TENTH, low=ZERO, said="explained by the hoop", about="the oval part "
                   "of the notes that the hoop's depth would make"),
            Output("doubt", "number", "cents", TENTH, low=ZERO, said="a depth gauge cannot tell", about="what 0.1 mm "
                   "of depth is in cents: the gauge tells no less"),
        ),
        "with an oval part or turns up from slack that are below zero, or turns that are zero",
        "a film stiffer one way splits its note without any rod; 0.27 of the whole head's gain for an oval (our own "
        "membrane model, not measured); what a gauge tells: common practice, no published source",
        "Whether an oval note comes from the rods or is the head's own",
    ),
)  # fmt: skip

