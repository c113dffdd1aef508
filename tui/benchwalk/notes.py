"""Names of notes to frequencies and back, and the distance of two frequencies in cents.

Equal temperament with A4 = 440 Hz (ISO 16, from memory); C4 = 261.6256 Hz. One cent is 1/1200 of an octave in log2.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction

from .errors import Misread
from .numerals import MINUS, decimal_text, shown, split_number

A4_HZ = 440
_A4_NUMBER = 69
_STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
_SHIFTS = {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1}
_NOTE = re.compile(
    rf"(?P<letter>[A-Ga-g])(?P<shift>[#♯b♭]?)(?P<octave>[0-9])(?: ?(?P<sign>[+{MINUS}]) ?(?P<cents>[^ ].*))?"
)
_FARTHEST = 1200  # cents beside a name; more is another note and most likely a slip
_LIKE = "type a note such as 220 Hz, A3 or A3 -12c"


def note_hz(text: str) -> Fraction | None:
    """The frequency of a note's name (tidied text), in Hz: `A3`, `A#3 +5 cents`, `Bb2`, `a3 -12c`.

    Rounded to 0.001 Hz, since a tempered pitch is irrational; the octave is one digit, C4 is middle C. None where the
    text does not begin as a note's name does. Raises Misread where it does and cannot be read.
    """
    if not text[:1].isalpha():
        return None
    found = _NOTE.fullmatch(text)
    if found is None:
        raise Misread(_why_no_note(text))
    number = 12 * (int(found["octave"]) + 1) + _STEPS[found["letter"].upper()] + _SHIFTS[found["shift"]]
    cents = _cents(found["sign"], found["cents"], text) if found["cents"] else Fraction(0)
    hertz = A4_HZ * 2.0 ** (((number - _A4_NUMBER) * 100 + float(cents)) / 1200)
    return Fraction(round(hertz * 1000), 1000)


_HEARD = re.compile(
    rf"(?P<pitch>.*?)(?: ?(?:±|\+ ?/? ?[{MINUS}]) ?(?P<sure>[0-9.,].*?))?(?: second (?P<second>.+))?", re.IGNORECASE
)


def split_heard(text: str) -> tuple[str, str | None, str | None]:
    """The pitch, the doubt after `±` (or `+-`, `+/-`) and the note after `second` in a tidied text, unread; the last
    two are None where they are not there."""
    found = _HEARD.fullmatch(text)
    return (found["pitch"], found["sure"], found["second"]) if found else (text, None, None)


def _cents(sign: str, typed: str, text: str) -> Fraction:
    read = split_number(typed) if typed[0] not in f"+{MINUS}" else None
    if read is None or read[1].lower() not in ("c", "ct", "cent", "cents"):
        raise Misread(f"{shown(text)} needs its cents written such as {text[:2]} -12c")
    if read[0] > _FARTHEST:
        raise Misread(f"{shown(text)} is more than an octave beside its name; name the note nearest to it")
    return -read[0] if sign in MINUS else read[0]


def _why_no_note(text: str) -> str:
    if re.match(r"[Hh][0-9]", text):
        return f"{shown(text)} is a name used in some countries only; type B for it, and Bb for the note below"
    if re.fullmatch(r"[A-Ga-g][#♯b♭]?", text):
        return f"{shown(text)} does not say which octave; {_LIKE}"
    if re.match(r"[A-Ga-g][#♯b♭]?[0-9] [0-9]", text):
        return f"{shown(text)} does not say whether it is above or below the note; {_LIKE}"
    return f"{shown(text)} is not a note; {_LIKE}"


def cents_between(high: Fraction, low: Fraction) -> float:
    """How far `high` lies above `low` (both Hz, above zero) in cents: 1200 log2(high / low)."""
    ratio = high / low
    if 0.5 <= ratio <= 2:  # log1p keeps its digits near a unison, where the difference is what counts
        return 1200 * math.log1p(float(ratio - 1)) / math.log(2)
    return 1200 * (math.log2(ratio.numerator) - math.log2(ratio.denominator))


def cents_apart(high: Fraction, low: Fraction) -> Fraction:
    """The same as an exact figure, as the sums reckon with it."""
    return Fraction(cents_between(high, low))


def note_text(hertz: Fraction) -> str:
    """The nearest note's name with whole cents beside it: `A3`, `A3 -12c`; outside octaves 0 to 9 the Hz alone."""
    if hertz <= 0:
        return f"{decimal_text(hertz, Fraction(1, 10))} Hz"
    cents_from_a4 = round(cents_between(hertz, Fraction(A4_HZ)))
    steps = round(Fraction(cents_from_a4, 100))
    octave, step = divmod(_A4_NUMBER + steps, 12)
    if not 0 <= octave - 1 <= 9:
        return f"{decimal_text(hertz, Fraction(1, 10))} Hz"
    off = cents_from_a4 - 100 * steps
    return f"{_NAMES[step]}{octave - 1}" + (f" {off:+d}c" if off else "")
