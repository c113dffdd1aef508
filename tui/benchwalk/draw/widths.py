"""How wide letters are in the face that drawings are set in, so that text can be broken without a font at hand.

The widths are those of the common roman faces, which share one measure, in thousandths of the size. Lines carry their
width with them, so that another face is fitted to it and nothing runs over.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache
from typing import Literal

Face = Literal["plain", "bold", "italic"]

_FIRST = 32
"""The first character of the tables below, which go on in order to the last of ASCII."""
_TABLES: dict[Face, str] = {
    "plain": (
        "250 333 408 500 500 833 778 180 333 333 500 564 250 333 250 278 500 500 500 500 500 500 500 500 500 500 "
        "278 278 564 564 564 444 921 722 667 667 722 611 556 722 722 333 389 722 611 889 722 722 556 722 667 556 "
        "611 722 722 944 722 722 611 333 278 333 469 500 333 444 500 444 500 444 333 500 500 278 278 500 278 778 "
        "500 500 500 500 333 389 278 500 500 722 500 500 444 480 200 480 541"
    ),
    "bold": (
        "250 333 555 500 500 1000 833 278 333 333 500 570 250 333 250 278 500 500 500 500 500 500 500 500 500 500 "
        "333 333 570 570 570 500 930 722 667 722 722 667 611 778 778 389 500 778 667 944 722 778 611 778 722 556 "
        "667 722 722 1000 722 722 667 333 278 333 581 500 333 500 556 444 556 444 333 500 556 278 333 556 278 833 "
        "556 500 556 556 444 389 333 556 500 722 500 500 444 394 220 394 520"
    ),
    "italic": (
        "250 333 420 500 500 833 778 214 333 333 500 675 250 333 250 278 500 500 500 500 500 500 500 500 500 500 "
        "333 333 675 675 675 500 920 611 611 667 722 611 611 722 722 333 444 667 556 833 667 722 611 722 611 500 "
        "556 722 611 833 611 556 556 389 278 389 422 500 333 500 500 444 500 444 278 500 500 278 278 444 278 722 "
        "500 500 500 500 389 389 278 500 444 667 444 444 389 400 275 400 541"
    ),
}
_WIDTHS: dict[Face, tuple[int, ...]] = {face: tuple(map(int, table.split())) for face, table in _TABLES.items()}
_OTHERS = {
    char: cells
    for cells, chars in {
        250: "·",
        278: "ł",
        281: "′",
        300: "²",
        333: "‘’\u2039\u203a",
        350: "•",
        400: "°",
        500: "–ø€§ð",
        552: "″",
        556: "“”ßþ",
        675: "×−",
        722: "æœ",
        750: "½¼¾",
        1000: "…—",
    }.items()
    for char in chars
}
_WIDE, _ELSE = 1000, 780


def width(text: str, face: Face = "plain") -> float:
    """How wide a text is, in parts of its size (1.0 is an em). Marks that combine take no room."""
    return sum(_letter(char, face) for char in text) / 1000


@lru_cache(maxsize=4096)
def _letter(char: str, face: Face) -> int:
    code = ord(char) - _FIRST
    if 0 <= code < len(_WIDTHS[face]):
        return _WIDTHS[face][code]
    if char in _OTHERS:
        return _OTHERS[char]
    if unicodedata.combining(char):
        return 0
    base = unicodedata.normalize("NFD", char)[0]
    if base != char:
        return _letter(base, face)
    return _WIDE if unicodedata.east_asian_width(char) in "WFA" else _ELSE
