"""The sum that says which rods to turn."""

from __future__ import annotations

from fractions import Fraction

from .kinds import TENTH, ZERO, Input, Output, Signature

SIXTEENTH, HALF = Fraction(1, 16), Fraction(1, 2)

SUMS: tuple[Signature, ...] = (
    Signature(
        "rod-advice",
        1,
        (
            Input("first", "number", "Hz", many=True, placed=True, about="the rod notes of every round, by rod number "
                  "from 1; the last round has to be whole, and earlier ones that are not are passed over"),
            Input("slack", "number", "turns", about="turns up from slack before the first of these rounds: the mean of "
                  "the counted turns"),
            Input("second", "number", "Hz", many=True, placed=True, optional=True, about="the second note beside each "
                  "rod; else pairs that are off against their neighbours stay unheard. Used with eight rods or more"),
            Input("turned", "number", "turns", many=True, placed=True, optional=True, about="what each rod was turned "
                  "by after each round, + tightens; a round without it counts as left alone"),
            Input("want", "number", "Hz", optional=True, about="the wanted rod note; else the head's note stays "
                  "about where it is"),
            Input("limit", "number", "cents", optional=True, about="the pitch spread that counts as even; else 5 "
                  "cents, the careful grade"),
        ),
        (
            Output("moves", "placed", "turns", SIXTEENTH, low=-HALF, high=HALF, about="what to turn each rod by: + "
                   "tightens, 0 is leave it. To loosen, go an eighth further and come back up, so that every rod ends "
                   "by tightening; then press the film home and tap all rods again"),
            Output("stop", "choice", choices=("turn", "even", "pitch-done", "inspect"), said="what to do",
                   about="turn: turn the rods; even: the notes are within the limit, which does not say that the "
                   "rods pull alike; pitch-done: what is left is smaller than a hand's move or not in the notes; "
                   "inspect: opposite rods disagree in two rounds running (burr, bent hoop, cracked lug)"),
            Output("spread", "number", "cents", TENTH, low=ZERO, said="pitch spread", about="from the highest rod to "
                   "the lowest as all rounds together tell it, with the noise of single taps taken out"),
            Output("expected", "number", "cents", TENTH, low=ZERO, said="pitch spread after the moves",
                   about="the pitch spread to be expected after the moves"),
            Output("expected_note", "number", "Hz", TENTH, low=ZERO, said="note after the moves", about="the mean rod "
                   "note to be expected after the moves"),
            Output("cannot_see", "choice", choices=("one-side", "one-side-and-neighbours"),
                   said="what the notes cannot tell", about="one-side: whether the head is tight on one side and slack "
                   "on the other; and-neighbours: nor whether pairs are off against their neighbours. Counted turns "
                   "and the hoop's depth can"),
        ),
        "with fewer than 4 rods or more than 24, where the last round is not whole or rods were turned after it, where "
        "rounds differ in their rods, with a note, limit or slack that is not above zero, or with more turns than a "
        "rod has",
        "an even rod pattern of two waves moves the first note and one of four the second (first-order perturbation of "
        "a round membrane); note as the root of the turns up from slack; Kalman filter; sixteenths of a turn: common "
        "practice, no published source",
        "Which rods to turn by how much after a round of rod notes, and when to stop",
    ),
)  # fmt: skip
