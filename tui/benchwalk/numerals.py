"""Typed numbers to exact ones and back: `6,35`, `1 1/2`, `1½`, `.5`, `−2`; never a float in between.

A number is understood or refused. What two people could read in two ways (`1,234`) is refused, and the
message says both ways to type it.
"""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction

from .errors import Misread

LONGEST = 64
"""Most characters of a typed value; longer text is a paste into the wrong place."""

QUOTED = 20
"""Most characters of somebody's text that a message repeats."""

MINUS = "−–-"
"""What is read as a minus: the sign proper, the dash editors put in its place, the key (last: it stands in classes)."""

_ONE_SIGN = {
    "½": (1, 2), "⅓": (1, 3), "⅔": (2, 3), "¼": (1, 4), "¾": (3, 4), "⅕": (1, 5), "⅖": (2, 5), "⅗": (3, 5),
    "⅘": (4, 5), "⅙": (1, 6), "⅚": (5, 6), "⅐": (1, 7), "⅛": (1, 8), "⅜": (3, 8), "⅝": (5, 8), "⅞": (7, 8),
    "⅑": (1, 9), "⅒": (1, 10),
}  # fmt: skip
_SPACES = re.compile("[ \u00a0\u2009\u202f]+")
_NUMBER = re.compile(
    rf"""(?P<sign>[+{MINUS}]?)
    (?: (?: (?P<whole>[0-9]+) [ ] )? (?P<top>[0-9]+) [/\u2044] (?P<under>[0-9]+)
      | (?P<ones>[0-9]+)? [ ]? (?P<one_sign>[{"".join(_ONE_SIGN)}])
      | (?P<decimal> [0-9]+ (?:[.,][0-9]+)* | [.,][0-9]+ ) )""",
    re.VERBOSE,
)
_TWO_WAYS = re.compile(r"([1-9][0-9]{0,2}),([0-9]{3})")
_GOES_ON = re.compile(rf"[0-9.,/\u2044_½¼¾]|[eE][+{MINUS}]?[0-9]|['’{MINUS}][0-9]")
_SAFE_SIGNS = frozenset("°′″’”“‘−–×±½¼¾⅓⅔⅛⅜⅝⅞♯♭…")


def shown(text: str) -> str:
    """At most QUOTED characters of `text`, in quotes, safe to print: whatever moves, hides or stacks is spelled out."""
    start = "".join(_safe(sign) for sign in text[:QUOTED])
    return f'"{start}{"..." if len(text) > QUOTED else ""}"'


def _safe(sign: str) -> str:
    if sign.isprintable() and (sign.isascii() or sign.isalnum() or sign in _SAFE_SIGNS):
        return sign
    code = ord(sign)
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"


def tidy(text: str) -> str:
    """`text` without spaces at its ends and with single plain spaces inside.

    Raises Misread for nothing typed, for text longer than LONGEST, and for control characters.
    """
    text = text.strip()
    if not text:
        raise Misread("nothing was typed; a value is wanted")
    if len(text) > LONGEST:
        raise Misread(f"{shown(text)} is {len(text)} characters long; a value has at most {LONGEST}")
    if not text.isprintable() and not _SPACES.sub("", text).isprintable():
        raise Misread(f"{shown(text)} holds control characters; type the value again")
    return _SPACES.sub(" ", text)


def split_number(text: str) -> tuple[Fraction, str, str | None] | None:
    """The number `text` (tidied) begins with, what follows it without spaces, and its digits as plain decimal text.

    The digits are None for a fraction; the answer is None where `text` begins with no number. Raises Misread where
    the number reads in two ways or does not end.
    """
    found = _NUMBER.match(text)
    if found is None:
        return None
    typed, rest = found[0], text[found.end() :].lstrip(" ")
    if _GOES_ON.match(rest):
        raise Misread(_why_it_goes_on(text, found.end()))
    minus = "-" if typed[0] in MINUS else ""
    if found["decimal"] is not None:
        digits = _decimal_digits(found["decimal"], minus, typed)
        return Fraction(Decimal(digits)), rest, digits  # Decimal reads digits exactly, and far sooner than Fraction
    if found["one_sign"] is not None:
        value = int(found["ones"] or 0) + Fraction(*_ONE_SIGN[found["one_sign"]])
    else:
        value = _fraction(found["whole"], int(found["top"]), int(found["under"]), typed)
    return -value if minus else value, rest, None


def _why_it_goes_on(text: str, end: int) -> str:
    head, rest = text[:end], text[end:]
    if rest[:1] == " " and rest[1:2].isdigit() and "/" not in rest:
        return f"{shown(text)} has a space inside the number; type it without"
    if re.match(rf"[{MINUS}][0-9]+/", rest):
        return f"{shown(text)} has a dash before its fraction; type it with a space, such as 1 1/2"
    if rest[:1] in ("e", "E"):
        return f"{shown(text)} is written with a power of ten; type the number out in full"
    return f"{shown(text)} goes on after {shown(head)}; one number is wanted, such as 6.35 or 1 1/2"


def _decimal_digits(digits: str, minus: str, typed: str) -> str:
    if digits.count(".") + digits.count(",") > 1:
        raise Misread(f"{shown(typed)} has more than one point or comma; type one decimal point only, such as 1234.5")
    two_ways = _TWO_WAYS.fullmatch(digits)
    if two_ways:
        thousands, point = "".join(two_ways.groups()), ".".join(two_ways.groups())
        raise Misread(f"{shown(typed)} can be read in two ways; type {minus}{thousands} or {minus}{point}")
    plain = digits.replace(",", ".")
    return f"{minus}0{plain}" if plain.startswith(".") else minus + plain


def _fraction(whole: str | None, top: int, under: int, typed: str) -> Fraction:
    if under == 0:
        raise Misread(f"{shown(typed)} divides by zero; type a number such as 1/4")
    if whole is not None and top >= under:
        raise Misread(f"{shown(typed)} has a fraction of one or more after a whole number; type it such as 1 1/2")
    return int(whole or 0) + Fraction(top, under)


def decimals_of(resolution: Fraction) -> int:
    """How many decimals write `resolution` exactly: 0.5 has 1, 0.25 has 2, 5 has none; 6 where none do (1/3)."""
    exact = _exact_decimals(resolution)
    return 6 if exact is None else exact


def _exact_decimals(value: Fraction) -> int | None:
    under, twos, fives = value.denominator, 0, 0
    while under % 2 == 0:
        under, twos = under // 2, twos + 1
    while under % 5 == 0:
        under, fives = under // 5, fives + 1
    return max(twos, fives) if under == 1 else None


def decimal_text(value: Fraction, resolution: Fraction | None = None) -> str:
    """`value` as plain decimal text with a point, never an exponent and never a negative zero.

    With a `resolution`, rounded half away from zero to as many decimals as the resolution has (0.5: one; the value need
    not be a multiple). Without, exact where the decimals end, else rounded to six decimals, or more for small values so
    that six figures count.
    """
    if resolution is not None:
        places = decimals_of(resolution)
    else:
        exact = _exact_decimals(value)
        places = exact if exact is not None else 6 + _zeros_after_point(value)
    scaled = _nearest(value * 10**places)
    digits = str(abs(scaled)).rjust(places + 1, "0")
    sign = "-" if scaled < 0 else ""
    return f"{sign}{digits[:-places]}.{digits[-places:]}" if places else f"{sign}{digits}"


def _zeros_after_point(value: Fraction) -> int:
    zeros, size = 0, abs(value)
    while size * 10 < 1:
        size, zeros = size * 10, zeros + 1
    return zeros


def rounded(value: Fraction, resolution: Fraction | None) -> Fraction:
    """`value` at the nearest multiple of `resolution`; without one, as it is.

    Half goes away from zero, as it is done by hand: 7.45 is 7.5, and -7.45 is -7.5.
    """
    return value if resolution is None else _nearest(value / resolution) * resolution


def _nearest(value: Fraction) -> int:
    """The whole number nearest to `value`, half away from zero."""
    size = (2 * abs(value.numerator) + value.denominator) // (2 * value.denominator)
    return -size if value < 0 else size
