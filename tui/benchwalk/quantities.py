"""Typed values to exact ones that keep what was typed: `6,35 mm`, `1/4 in`, `A3 -12c`, `220 Hz`, `2 .. 5`.

A value is understood or refused (Misread, one sentence), never guessed. Values are fractions: 1/4 in *is* 6.35 mm.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import lru_cache

from .errors import Misread
from .notes import cents_apart, cents_between, note_hz, note_text, split_heard
from .numerals import decimal_text, rounded, shown, split_number, tidy
from .plaindata import Frozen
from .units import canonical_unit, convert, dimension, example, others, spelled, with_unit

__all__ = [
    "HeardNote",
    "Quantity",
    "Range",
    "canonical_unit",
    "cents_apart",
    "cents_between",
    "convert",
    "decimal_text",
    "dimension",
    "likelier",
    "note_text",
    "parse_heard",
    "parse_note",
    "parse_quantity",
    "parse_range",
    "plain_digits",
    "rounded",
    "shown",
    "with_unit",
]


class Quantity(Frozen):
    """A value as somebody typed it (without spaces at its ends) and what it means, exactly, in `unit`."""

    typed: str
    value: Fraction
    unit: str

    def understood(self) -> str:
        """What the value was taken for, to be shown back: `6.35 mm (typed 1/4 in)`; decimals keep their digits."""
        digits = plain_digits(self.typed, self.unit)
        if digits is not None:
            return with_unit(digits, self.unit)
        return f"{with_unit(decimal_text(self.value), self.unit)} (typed {self.typed})"


def plain_digits(typed: str, unit: str) -> str | None:
    """The digits of a decimal typed in `unit` itself, with a point; None where reading it took more than that."""
    try:
        read = split_number(tidy(typed))
    except Misread:
        return None
    if read is None or (read[1] and spelled(read[1], unit) != unit):
        return None
    return read[2]


def parse_quantity(text: str, unit: str, *, whole: bool = False, change: bool = False) -> Quantity:
    """Read `text` as a value in `unit` (see units.py; "" is a pure number).

    A bare number takes `unit`; another unit of the same dimension is converted exactly. With `whole` the result must be
    a whole number; with `change` it is a difference of two values (9 deg F are 5 deg C). Raises Misread, with a
    sentence, for anything else.
    """
    return _measured(text, canonical_unit(unit), whole, change)[0]


@lru_cache(maxsize=4096)
def _measured(text: str, unit: str, whole: bool = False, change: bool = False) -> tuple[Quantity, str]:
    """The quantity, and the unit written beside it ("" where none was)."""
    clean = tidy(text)
    read = split_number(clean)
    if read is None:
        raise Misread(f"{shown(clean)} is not {_wanted(unit)}; type it such as {example(unit)}")
    number, word, _ = read
    written = spelled(word, unit) if word else ""
    if written is None:
        raise Misread(f"{shown(word)} after the number is no unit that fits here; type it such as {example(unit)}")
    if written and dimension(written) != dimension(unit):
        raise Misread(f"{shown(clean)} is {dimension(written)}; {_wanted(unit)} is asked for, such as {example(unit)}")
    value = convert(number, written, unit, change=change) if written else number
    if whole and value.denominator != 1:
        raise Misread(f"{shown(clean)} is not a whole number; type it such as 3")
    return Quantity(text.strip(), value, unit), written


def _wanted(unit: str) -> str:
    kind = dimension(unit)
    return kind if kind != unit and unit != "turns" else f"a number of {unit}"


def likelier(quantity: Quantity, possible: Range) -> str | None:
    """What a value outside `possible` was likely meant as, to be asked back: `14 in` for 14 mm where 14 in is possible.

    Only a number that was typed without a unit is taken for one in another; None where none of them is possible.
    """
    read = split_number(tidy(quantity.typed)) if not possible.contains(quantity.value) else None
    if read is None or read[1]:
        return None
    fits = (unit for unit in others(quantity.unit) if possible.contains(convert(read[0], unit, quantity.unit)))
    unit = next(fits, None)
    return None if unit is None else with_unit(quantity.typed.strip(), unit)


def parse_note(text: str) -> Quantity:
    """Read a pitch in Hz: `220`, `220 Hz`, `A3`, `A3 -12c`, `A#3 +5 cents`, `Bb2` (A4 = 440 Hz).

    A note's name is irrational in Hz and is rounded to 0.001 Hz. Raises Misread for anything else and for 0 or less.
    """
    clean = tidy(text)
    hertz = note_hz(clean)
    pitch = parse_quantity(text, "Hz") if hertz is None else Quantity(text.strip(), hertz, "Hz")
    if pitch.value <= 0:
        raise Misread(f"{shown(clean)} is no pitch; a pitch is above 0 Hz")
    return pitch


class HeardNote(Quantity):
    """A note with what else was heard beside it: how sure it is (cents either way, about 95 %) and a second note (Hz).

    Either is None where it was not said.
    """

    sure: Fraction | None = None
    second: Fraction | None = None

    @property
    def more(self) -> bool:
        """Whether more than the note itself was said."""
        return self.sure is not None or self.second is not None

    def understood(self) -> str:
        """The note, then what else was said of it: `219.84 Hz, give or take 0.6 cents, second note 301.2 Hz`."""
        if not self.more:
            return super().understood()
        words = [with_unit(decimal_text(self.value), self.unit)]
        if self.sure is not None:
            words.append(f"give or take {with_unit(decimal_text(self.sure), 'cents')}")
        if self.second is not None:
            words.append(f"second note {with_unit(decimal_text(self.second), self.unit)}")
        return ", ".join(words)


def parse_heard(text: str) -> HeardNote:
    """Read a note as it is heard: a pitch, how sure it is, and a second note, the last two where they are known.

    `219.84 Hz`, `A3 -12c ±1c`, `220 +-0.6c second 301.2 Hz`. Raises Misread for anything else, for a second note that
    is not above the first, and for a doubt of a semitone or more, which is no note.
    """
    clean = tidy(text)
    pitch, doubt, above = split_heard(clean)
    if not pitch:
        raise Misread(f"{shown(clean)} says how sure a note is and no note; {_HEARD_LIKE}")
    if above is None and clean.lower().endswith(" second"):
        raise Misread(f"{shown(clean)} ends where its second note should stand; {_HEARD_LIKE}")
    first = parse_note(pitch)
    sure = parse_quantity(doubt, "cents").value if doubt is not None else None
    if sure is not None and not 0 <= sure < _SEMITONE:
        raise Misread(f"{shown(text)} is unsure by {decimal_text(sure)} cents; a note is sure to within 100 cents")
    second = parse_note(above).value if above is not None else None
    if second is not None and not first.value < second <= _HIGHEST_SECOND * first.value:
        raise Misread(f"{shown(text)} names a second note that is not above the first, within two octaves")
    return HeardNote(text.strip(), first.value, "Hz", sure, second)


_HEARD_LIKE = "type it such as 220 Hz ±0.6c second 301 Hz"
_SEMITONE = 100
_HIGHEST_SECOND = 4  # times the first: on a drum it lies a third to a fifth above


class Range(Frozen):
    """All values from `low` to `high`; None is no end on that side; an open end does not belong to it."""

    low: Fraction | None
    high: Fraction | None
    low_open: bool = False
    high_open: bool = False

    def contains(self, value: Fraction) -> bool:
        """Whether `value` lies inside; a value exactly on a closed end does."""
        return self.verdict(value) == "within"

    def verdict(self, value: Fraction) -> str:
        """`below`, `within` or `above`; simple acceptance: exactly on a closed end is within."""
        if self.low is not None and (value < self.low or (self.low_open and value == self.low)):
            return "below"
        if self.high is not None and (value > self.high or (self.high_open and value == self.high)):
            return "above"
        return "within"

    @property
    def empty(self) -> bool:
        """Whether no value lies inside."""
        if self.low is None or self.high is None:
            return False
        return self.low > self.high or (self.low == self.high and (self.low_open or self.high_open))

    def intersect(self, other: Range) -> Range | None:
        """The values inside both; None where there are none."""
        low, low_open = self.low, self.low_open
        if other.low is not None and (low is None or other.low >= low):
            low, low_open = other.low, other.low_open or (low == other.low and low_open)
        high, high_open = self.high, self.high_open
        if other.high is not None and (high is None or other.high <= high):
            high, high_open = other.high, other.high_open or (high == other.high and high_open)
        both = Range(low, high, low_open, high_open)
        return None if both.empty else both

    def text(self, unit: str, resolution: Fraction | None = None) -> str:
        """In words, the ends in `unit`: `3.0 to 6.0 mm`, `at least 2 mm`, `above 1 and at most 3 turns`."""
        low = None if self.low is None else decimal_text(self.low, resolution)
        high = None if self.high is None else decimal_text(self.high, resolution)
        above = f"{'above' if self.low_open else 'at least'} {low}"
        below = f"{'below' if self.high_open else 'at most'} {high}"
        if low is None and high is None:
            return "any value"
        if low is None or high is None:
            return with_unit(below if low is None else above, unit)
        if self.low_open or self.high_open:
            return with_unit(f"{above} and {below}", unit)
        return with_unit(f"exactly {low}" if self.low == self.high else f"{low} to {high}", unit)


_TWO_ENDS = re.compile(r"(?P<low>.*[^. ]) ?(?:(?<!\.)\.\.(?!\.)|(?<= )to(?= )) ?(?P<high>.+)")
_ONE_END = re.compile(r"(?P<how>at least|above|at most|below|exactly) (?P<end>.+)", re.IGNORECASE)
_RANGE_LIKE = "write a range as 2 .. 5, at least 2, at most 5, above 2 or below 5"


def parse_range(text: str, unit: str) -> Range:
    """Read `2 .. 5`, `2 mm to 5 mm`, `at least 2`, `at most 0.1`, `below 1`, `above 2 and below 3`, `exactly 3`.

    Bare numbers are in `unit`. In Hz an end may be a note's name. Raises Misread for anything else, for ends in the
    wrong order, and for one bare end beside an end in another unit, since nobody knows which unit it has.
    """
    clean, unit = tidy(text), canonical_unit(unit)
    both = _TWO_ENDS.fullmatch(clean)
    if both:
        found = _between(both["low"], both["high"], unit, clean)
    else:
        parts = [_one_sided(part, unit, clean) for part in clean.split(" and ")]
        if len(parts) > 2 or (len(parts) == 2 and (parts[0].low is None) == (parts[1].low is None)):
            raise Misread(f"{shown(clean)} is not a range; {_RANGE_LIKE}")
        met = parts[0] if len(parts) == 1 else parts[0].intersect(parts[1])
        found = Range(Fraction(1), Fraction(0)) if met is None else met
    if found.empty:
        raise Misread(f"{shown(clean)} holds no value: its lower end is not below its upper end")
    return found


def _between(low: str, high: str, unit: str, clean: str) -> Range:
    (first, first_unit), (last, last_unit) = _end(low, unit), _end(high, unit)
    if (first_unit or unit) != (last_unit or unit) and not (first_unit and last_unit):
        raise Misread(f"{shown(clean)} gives a unit to one end only; write the unit at both ends")
    return Range(first, last)


def _one_sided(part: str, unit: str, clean: str) -> Range:
    found = _ONE_END.fullmatch(part)
    if found is None:
        raise Misread(f"{shown(clean)} is not a range; {_RANGE_LIKE}")
    end, how = _end(found["end"], unit)[0], found["how"].lower()
    if how == "exactly":
        return Range(end, end)
    if how in ("at least", "above"):
        return Range(end, None, low_open=how == "above")
    return Range(None, end, high_open=how == "below")


def _end(text: str, unit: str) -> tuple[Fraction, str]:
    if unit == "Hz" and text[:1].isalpha():
        return parse_note(text).value, unit
    quantity, written = _measured(text, unit)
    return quantity.value, written
