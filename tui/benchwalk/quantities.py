"""Typed values to exact ones that keep what was typed: `6,35 mm`, `1/4 in`, `A3 -12c`, `220 Hz`, `2 .. 5`.

A value is understood or refused (Misread, one sentence), never guessed. Values are fractions: 1/4 in *is* 6.35 mm.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from .errors import Misread
from .notes import cents_between, note_hz, note_text
from .numerals import decimal_text, rounded, shown, split_number, tidy
from .units import canonical_unit, convert, dimension, example, spelled, with_unit

__all__ = [
    "Quantity",
    "Range",
    "canonical_unit",
    "cents_between",
    "convert",
    "decimal_text",
    "dimension",
    "note_text",
    "parse_note",
    "parse_quantity",
    "parse_range",
    "rounded",
    "shown",
    "with_unit",
]


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value as somebody typed it (without spaces at its ends) and what it means, exactly, in `unit`."""

    typed: str
    value: Fraction
    unit: str

    def understood(self) -> str:
        """What the value was taken for, to be shown back: `6.35 mm (typed 1/4 in)`; decimals keep their digits."""
        digits = _plain_digits(self.typed, self.unit)
        if digits is not None:
            return with_unit(digits, self.unit)
        return f"{with_unit(decimal_text(self.value), self.unit)} (typed {self.typed})"


def _plain_digits(typed: str, unit: str) -> str | None:
    """The digits of a decimal typed in `unit` itself, with a point; None where reading it took more than that."""
    try:
        read = split_number(tidy(typed))
    except Misread:
        return None
    if read is None or (read[1] and spelled(read[1], unit) != unit):
        return None
    return read[2]


def parse_quantity(text: str, unit: str, *, whole: bool = False) -> Quantity:
    """Read `text` as a value in `unit` (see units.py; "" is a pure number).

    A bare number takes `unit`; another unit of the same dimension is converted exactly. With `whole` the result must be
    a whole number. Raises Misread, with a sentence, for anything else.
    """
    return _measured(text, canonical_unit(unit), whole)[0]


def _measured(text: str, unit: str, whole: bool = False) -> tuple[Quantity, str]:
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
    value = convert(number, written, unit) if written else number
    if whole and value.denominator != 1:
        raise Misread(f"{shown(clean)} is not a whole number; type it such as 3")
    return Quantity(text.strip(), value, unit), written


def _wanted(unit: str) -> str:
    kind = dimension(unit)
    return kind if kind != unit else f"a number of {unit}"


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


@dataclass(frozen=True, slots=True)
class Range:
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
