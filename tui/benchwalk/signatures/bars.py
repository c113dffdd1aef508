"""Sums about the bars of mallet instruments."""

from __future__ import annotations

from .kinds import TENTH, ZERO, Input, Output, Signature

SUMS: tuple[Signature, ...] = (
    Signature(
        "bar-note",
        1,
        (
            Input("note", "number", "Hz", about="the bar's note, tapped at its middle, lying on its cords"),
            Input("want", "number", "Hz", about="the note wanted, by its name (A4 = 440 Hz)"),
            Input("a4", "number", "Hz", optional=True, about="the owner's A, to which the note wanted is moved; else "
                  "440 Hz"),
            Input("warmth", "number", "deg C", optional=True, about="how warm the bar is; else 20 deg C"),
            Input("a_degree", "number", "cents", optional=True, about="how far this kind of bar goes flat for each deg "
                  "C it is warmer; else nothing is corrected, and a bar outside 15 to 25 deg C is not judged"),
            Input("fine", "number", "cents", optional=True, about="how far off still is in tune; else 5 cents"),
            Input("most", "number", "cents", optional=True, about="how far off still is only watched; else 15 cents"),
        ),
        (
            Output("off", "number", "cents", TENTH, said="off its note by", about="how far the bar lies above its note "
                   "at 20 deg C; below zero: flat"),
            Output("by", "number", "cents", TENTH, low=ZERO, said="off either way by", about="the same without its "
                   "sign"),
            Output("side", "choice", choices=("sharp", "flat", "true"), said="the bar is", about="sharp, flat, or true "
                   "where it is off by nothing that is told"),
            Output("bar", "choice", choices=("in-tune", "watch", "out"), about="in tune up to the fine limit, out "
                   "beyond the other one, else to be watched; exactly on a limit is still the better"),
            Output("wanted", "number", "Hz", TENTH, low=ZERO, said="note wanted", about="the note wanted at the "
                   "owner's A"),
        ),
        "when a note is not above zero, when the owner's A is more than a whole step from 440 Hz, when the note is "
        "more than 100 cents off (then it is another bar, or a higher note of this one was read), when the bar is "
        "outside 15 to 25 deg C and nothing says what a degree does to it, or when a limit is below zero or the larger "
        "below the smaller",
        "1200 cents to the octave, by definition; A4 = 440 Hz: ISO 16, from memory; 5 and 15 cents at 20 deg C: common "
        "practice, no published source; that a bar moves by half a cent a degree at most: from memory",
        "How far a bar is off its note, at the owner's A and at 20 deg C",
    ),
    Signature(
        "bar-nodes",
        1,
        (
            Input("length", "number", "mm", about="length of the bar"),
            Input("cord", "number", "mm", optional=True, about="from the bar's end to where the cord runs; else only "
                  "the still place is told"),
            Input("tolerance", "number", "mm", optional=True, about="how far the cord may be off the still place; else "
                  "2 mm"),
        ),
        (
            Output("node", "number", "mm", TENTH, low=ZERO, said="still place from the end", about="from each end to "
                   "where the bar is still: 0.2242 of the length of a bar as thick everywhere; a bar cut hollow "
                   "beneath has it a little elsewhere"),
            Output("off", "number", "mm", TENTH, may_be_missing=True, said="cord off the still place by", about="how "
                   "much farther in the cord runs; below zero: nearer the end; none where the cord was not measured"),
            Output("runs", "choice", choices=("at-node", "off-node"), may_be_missing=True, said="the cord runs",
                   about="at the still place up to the tolerance, off it beyond; none where it was not measured"),
        ),
        "when the length is not above zero, the cord is not between the end and the middle, or the tolerance is below "
        "zero",
        "lowest note of a free bar, as thick everywhere: Euler-Bernoulli, still at 0.2242 of its length; 2 mm: common "
        "practice, no published source",
        "Where a bar is still when it sounds, and whether its cord runs there",
    ),
)  # fmt: skip
