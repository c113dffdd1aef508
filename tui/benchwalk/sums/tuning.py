"""Sums about a head's note as a whole. Notes in Hz, turns from where the rod pulls nothing, sizes in mm."""

from __future__ import annotations

import math
from fractions import Fraction

from ..quantities import Range, cents_between, rounded
from ..signatures import TENTH, NoResult, Outcome

STRAIGHT = Fraction(5, 100)
"""Share of the note's square by which the last round may be off the line of those before it."""

SIXTEENTH, AT_ONCE = Fraction(1, 16), Fraction(1, 2)
QUARTER_TONE, WHOLE_STEP, MINOR_THIRD = 50, 200, 300

FILM_DENSITY = 1390.0
"""kg/m3, polyester film, from memory."""

FIRST_NOTE = 3.831706
"""Where the Bessel function J1 is zero first: the note with the centre touched (A&S table 9.5)."""

THREAD = Fraction("25.4") * Fraction("0.216")
"""mm over the crests of No. 12-24 UNC, 0.216 in (ASME B1.1, from memory)."""

GRIP = (Fraction(15, 100), Fraction(25, 100))
"""K of torque = K F d, from oiled to dry steel."""


def tension_line(note: list[Fraction | None], turns: list[Fraction | None]) -> Outcome:
    """The line of note squared over turns, and whether the last round lies on that of the rounds before it.

    Where it does the line goes through all rounds, else through those before: what gives last does not move the slack.
    """
    rounds = [(t, n) for n, t in zip(note, turns, strict=False) if n is not None and t is not None]
    if len(rounds) < 3:
        return NoResult(f"a line needs three rounds with a note and counted turns, and there are {len(rounds)}")
    if any(n <= 0 for _, n in rounds):
        return NoResult("a round has a note that is not above 0 Hz")
    points = [(t, n * n) for t, n in rounds]
    before, whole = _line(points[:-1]), _line(points)
    if before is None or whole is None or before[1] <= 0 or whole[1] <= 0:
        return NoResult("the note does not rise with the turns: look for a rod that does not pull")
    last, square = points[-1]
    expected = (last - before[0]) * before[1]
    if expected <= 0 or last <= whole[0]:
        return NoResult("the last round lies below slack, as the rounds before it tell: a count or a note is wrong")
    off = rounded((square / expected - 1) * 100, TENTH)
    bend = "straight" if abs(off) <= STRAIGHT * 100 else "softer" if off < 0 else "stiffer"
    slack, slope = whole if bend == "straight" else before
    return {"slack": slack, "past": last - slack, "slope": slope, "bend": bend, "off": off}


def _line(points: list[tuple[Fraction, Fraction]]) -> tuple[Fraction, Fraction] | None:
    """(where it meets zero, slope) of the line by least squares; None where all turns are the same or it is flat."""
    middle = sum((t for t, _ in points), Fraction(0)) / len(points)
    height = sum((s for _, s in points), Fraction(0)) / len(points)
    spread = sum((t - middle) ** 2 for t, _ in points)
    slope = sum((t - middle) * (s - height) for t, s in points) / spread if spread else Fraction(0)
    return (middle - height / slope, slope) if slope else None


def turns_to_note(note: Fraction, want: Fraction, slack: Fraction) -> Outcome:
    """Turns for each rod from `note` to `want`, since a note goes as the root of the turns up from slack."""
    if note <= 0 or want <= 0 or slack <= 0:
        return NoResult("the note, the wanted note and the turns up from slack must be above zero")
    turns = rounded(slack * ((want / note) ** 2 - 1), SIXTEENTH)
    half = float(note) * math.sqrt(float((slack + turns / 2) / slack))
    if turns == 0:
        reach = "there"
    elif turns < 0:
        reach = "slacken"
    else:
        reach = "turn" if turns <= AT_ONCE else "far"
    return {"turns": turns, "half_note": Fraction(half), "reach": reach}


def shell_interval(head: Fraction, shell: Fraction) -> Outcome:
    """Cents from the shell's note to the head's, octaves kept, and in words how far that is."""
    if head <= 0 or shell <= 0:
        return NoResult("the notes of head and shell must be above 0 Hz")
    cents = rounded(Fraction(cents_between(head, shell)), TENTH)
    far = abs(cents)
    if far <= QUARTER_TONE:
        apart = "on-it"
    elif far <= WHOLE_STEP:
        apart = "near"
    else:
        apart = "third" if far <= MINOR_THIRD else "far"
    return {"cents": cents, "apart": apart}


def rod_pull(
    note: Fraction, diameter: Fraction, film: Fraction, rods: Fraction, thread: Fraction = THREAD
) -> Outcome:
    """An estimate of each rod's pull in N and torque in N m, from the ideal membrane without air."""
    if min(note, diameter, film, thread) <= 0:
        return NoResult("the note, the diameter, the film and the thread must be above zero")
    if rods.denominator != 1 or not 1 <= rods <= 100:
        return NoResult("the number of rods must be a whole number from 1 to 100")
    pull = film_pull(float(note), float(diameter), float(film)) * math.pi * float(diameter) / 1000 / int(rods)
    least, most = (share * Fraction(pull) * thread / 1000 for share in GRIP)
    return {"pull": Fraction(pull), "torque": Range(least, most)}


def film_pull(note: float, diameter: float, film: float) -> float:
    """Pull of the film in N for each m of rim: T in f = FIRST_NOTE / (2 pi a) sqrt(T / s)."""
    mass = FILM_DENSITY * film / 1000
    return mass * (math.pi * diameter / 1000 * note / FIRST_NOTE) ** 2
