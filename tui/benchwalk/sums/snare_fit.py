"""Whether a snare set fits a drum, and which of its cords to move. Lengths in mm; common practice, no published source.

Lever on and at working tension, the strainer pulls the butt cord taut: that cord alone says where the set lies, and
shortening it by x brings the set nearer the butt by x. The strainer cord then has to be x longer, which the knob lets
out if it has the turns.
"""

from __future__ import annotations

from fractions import Fraction

from ..quantities import Range, decimal_text, rounded
from ..signatures import TENTH, NoResult, Outcome

USUAL_LEAST, USUAL_BESIDE, USUAL_MOST_MISSING = Fraction(4), Fraction(1), Fraction(2)
_NONE = Fraction(0)


def snare_fit(
    clear: Fraction,
    set: Fraction,
    strands: Fraction,
    plate: Fraction,
    gate: Fraction,
    bed: Fraction | None = None,
    missing: Fraction = _NONE,
    least: Fraction = USUAL_LEAST,
    most: Fraction | None = None,
    beside: Fraction = USUAL_BESIDE,
    most_missing: Fraction = USUAL_MOST_MISSING,
) -> Outcome:
    """Length before width before wear: the first that does not fit is told, since it alone asks for another set.

    Judged is what is told: `room` and `side` at 0.1 mm.
    """
    if min(clear, set, plate, gate, 1 if bed is None else bed) <= 0:
        return NoResult("every length and width must be above zero")
    if strands < 1 or strands.denominator != 1:
        return NoResult("a set has one strand or more, in whole numbers")
    if missing.denominator != 1 or not 0 <= missing <= strands:
        return NoResult(
            f"{decimal_text(missing)} missing or bent cannot be of {decimal_text(strands)} strands; count again"
        )
    if min(least, beside, most_missing, least if most is None else most) < 0 or (most is not None and most < least):
        return NoResult("no limit may be below zero, nor the most room below the least")
    room, side = rounded(clear - set, TENTH), rounded((gate - plate) / 2, TENTH)
    narrow = _narrow(side < beside, bed is not None and bed < plate)
    return {
        "fits": _fits(room, least, most, narrow, missing > most_missing),
        "room": room,
        "spacer": rounded((clear - set) / 2, TENTH),
        "side": side,
        "narrow": narrow,
        "sound": max(strands - 2 * missing, _NONE),
    }


def _narrow(gate: bool, bed: bool) -> str:
    return "both" if gate and bed else "gate" if gate else "bed" if bed else "none"


def _fits(room: Fraction, least: Fraction, most: Fraction | None, narrow: str, worn: bool) -> str:
    if room < least:
        return "long"
    if most is not None and room > most:
        return "short"
    if narrow != "none":
        return "wide"
    return "worn" if worn else "fits"


def cord_move(
    butt: Fraction,
    strainer: Fraction,
    wanted: Range,
    knob: Fraction,
    knob_total: Fraction,
    a_turn: Fraction | None = None,
) -> Outcome:
    """The butt cord where a gap is not what is wanted, the strainer cord where the knob works outside its middle third.

    With `a_turn` the knob is judged as it would stand after the butt cord is moved, else as it stands.
    """
    if knob_total <= 0 or (a_turn is not None and a_turn <= 0):
        return NoResult("all turns of the knob, and the cord that one takes up, must be above zero")
    if not 0 <= knob <= knob_total:
        return NoResult(
            f"{decimal_text(knob)} turns are no part of the knob's {decimal_text(knob_total)}; one is miscounted"
        )
    middle = (butt + strainer) / 2
    if not wanted.contains(middle):
        return NoResult(
            f"both gaps alike would be {decimal_text(middle, TENTH)} mm, and {wanted.text('mm', TENTH)} is "
            "wanted; measure again, for no cord cures that"
        )
    moves = _NONE if wanted.contains(butt) and wanted.contains(strainer) else butt - middle
    after = knob if a_turn is None else knob - moves / a_turn
    ties_strainer = travel_of(after, knob_total) != "both-ways"
    slack = (after - knob_total / 2) * a_turn if ties_strainer and a_turn is not None else None
    return {
        "cord": "both" if moves and ties_strainer else "butt" if moves else "strainer" if ties_strainer else "none",
        "shorten": slack if ties_strainer and not moves else moves,
        "strainer_shorten": slack,
        "take_up": knob_total - knob,
        "let_out": knob,
        "travel": travel_of(knob, knob_total),
    }


def travel_of(knob: Fraction, total: Fraction) -> str:
    """Where a knob works: a third and two thirds of its turns still leave travel both ways."""
    return "near-loose" if 3 * knob < total else "near-tight" if 3 * knob > 2 * total else "both-ways"
