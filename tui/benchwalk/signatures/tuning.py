"""Sums about a head's note as a whole: bringing it up, bringing it to a note, and what that pulls."""

from __future__ import annotations

from fractions import Fraction

from .kinds import TENTH, ZERO, Input, Output, Signature

SIXTEENTH, HUNDREDTH = Fraction(1, 16), Fraction(1, 100)

SUMS: tuple[Signature, ...] = (
    Signature(
        "tension-line",
        1,
        (
            Input("note", "number", "Hz", many=True, about="the note at every round of the bring-up"),
            Input("turns", "number", "turns", many=True, about="turns counted up to that round, on each rod"),
        ),
        (
            Output("slack", "number", "turns", HUNDREDTH, said="true slack at", about="the count at which the line "
                   "meets no pull at all: where slack really is"),
            Output("past", "number", "turns", HUNDREDTH, low=ZERO, said="turns up from slack", about="the turns of the "
                   "last round, counted from there"),
            Output("slope", "number", "", Fraction(1), low=ZERO, said="stiffness, in Hz squared a turn", about="how "
                   "much a turn adds to the square of the note, in Hz squared: how stiff this head is"),
            Output("bend", "choice", choices=("straight", "softer", "stiffer"), said="the line is", about="straight "
                   "where the last round lies within 5 percent of the line through the rounds before it; softer where "
                   "it lies below (a rod bottoming, film yielding, a hoop bending); stiffer where above (the film was "
                   "still seating)"),
            Output("off", "number", "percent", TENTH, said="off the line by", about="how far the square of the last "
                   "note lies off that line, + above"),
        ),
        "with fewer than three rounds that have both, where the note does not rise with the turns, or with a note that "
        "is not above zero",
        "the square of a membrane's note goes as its pull, and its pull as the turns up from slack; 5 percent is a "
        "choice of ours",
        "The line of a bring-up: where slack is, how stiff the head is, and whether something gives",
    ),
    Signature(
        "turns-to-note",
        1,
        (
            Input("note", "number", "Hz", about="the note now"),
            Input("want", "number", "Hz", about="the wanted note"),
            Input("slack", "number", "turns", about="turns up from slack now, as counted or from the bring-up's line"),
        ),
        (
            Output("turns", "number", "turns", SIXTEENTH, about="what to turn each rod by, all alike: + tightens"),
            Output("half_note", "number", "Hz", TENTH, low=ZERO, said="note after half of it", about="the note to be "
                   "expected after half of those turns, to check the way there"),
            Output("reach", "choice", choices=("there", "turn", "far", "slacken"), about="there: less than a hand's "
                   "move is left; turn: at most half a turn; far: more, so go in passes of at most half a turn; "
                   "slacken: loosen in passes, past the note, and come up to it"),
        ),
        "with a note, a wanted note or turns up from slack that are not above zero",
        "note as the root of the turns up from slack; half a turn at a time: common practice, no published source",
        "How far to turn all rods for a wanted note",
    ),
    Signature(
        "shell-interval",
        1,
        (
            Input("head", "number", "Hz", about="the head's note"),
            Input("shell", "number", "Hz", about="the shell's own note, heads loose and muffled"),
        ),
        (
            Output("cents", "number", "cents", TENTH, said="head over shell by", about="how far the head lies above "
                   "the shell's note, - below; octaves are kept"),
            Output("apart", "choice", choices=("on-it", "near", "third", "far"), said="which is", about="on-it: within "
                   "a quarter tone, too near; near: within a whole step; third: within a minor third; else far. "
                   "Advice, not pass or fail"),
        ),
        "with a note that is not above zero",
        "100 cents to the half step, by definition; within a whole step, at most a minor third, of the shell and not "
        "onto it: common practice, no published source; a quarter tone for onto it is a choice of ours",
        "How far a head lies from its shell's own note",
    ),
    Signature(
        "rod-pull",
        1,
        (
            Input("note", "number", "Hz", about="the rod note: the centre touched, the other head damped or off"),
            Input("diameter", "number", "mm", about="the head across its bearing edge"),
            Input("film", "number", "mm", about="thickness of the film, all plies"),
            Input("rods", "number", "", about="how many rods"),
            Input("thread", "number", "mm", optional=True, about="thread of the rods over its crests; else 5.49 mm, "
                  "as No. 12-24 has"),
        ),
        (
            Output("pull", "number", "N", Fraction(1), low=ZERO, said="pull of each rod", about="an estimate, never "
                   "measured: the film without the air, which makes real heads sound lower and pull more than this"),
            Output("torque", "range", "N m", HUNDREDTH, low=ZERO, about="the torque at a rod for that pull, from oiled "
                   "to dry (K 0.15 to 0.25): a coarse gauge, an estimate"),
        ),
        "with a note, a size or a thickness that is not above zero, or with rods that are no whole number from 1 to "
        "100",
        "f = 3.831706 / (pi D) sqrt(T / s), zero of the Bessel function from A&S table 9.5; film of 1390 kg/m3, from "
        "memory; torque K F d (Shigley, as cited elsewhere); thread 0.216 in (ASME B1.1, from memory)",
        "An estimate of what each rod pulls, and of the torque it takes",
    ),
)  # fmt: skip
