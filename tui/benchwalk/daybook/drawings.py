r"""Drawings of the wrong one beside the right one, in characters any terminal has.

Each shows one thing cut through and seen from the side, the head below and the snares on it, as the drum lies when its
cords are tied. `pairs` and `rod order`, the other words of a step's `show`, are drawn from the drum (`pairs`, `ring`).
"""

from __future__ import annotations

import re
from typing import NamedTuple

from .ink import Line, Span, Tone

SIDE, GAP = 30, 4
BESIDE = 2 * SIDE + GAP
"""Cells of the two beside each other; in fewer they stand one below the other."""


class Pair(NamedTuple):
    """What is wrong and what is right, each with its title of one line and its drawing."""

    wrong: str
    wrong_art: str
    right: str
    right_art: str


_DRAWN = {
    "snares from the side": Pair(
        "plate on the hoop",
        r"""
 cord   plate   strands lift
  .---[#####]-._     |
  |   |    |   '-._  v
  |   |    |       '-._
  |   |hoop|           '-.====
  |   |    |__________________
 [o]  |____||    head
 clamp      || shell
""",
        "plate clear of the hoop",
        r"""
            gap   plate
       ____ <-->    |  strands
      |    |        | lie flat
 cord |    |        v     v
  .---::::::----[#####]=======
  |   |hoop|__________________
 [o]  |____||    head
 clamp      || shell
""",
    ),
    "knot": Pair(
        "one knot, too thin",
        r"""
           clamp
           |###|
           |###|
           |###|  hole
 tail -----(@)========== cord
           |###|
           |###|
           |###|
 it pulls through the hole
""",
        "one knot on another",
        r"""
           clamp
           |###|
     .---. |###|
tail( @@@ )|###|  hole
 ---( @@@ )============== cord
    ( @@@ )|###|
     '---' |###|
           |###|
 thicker than twice the hole
""",
    ),
    "groove": Pair(
        "cord on the head side",
        r"""
  plate tilts
      |       strands lift
  [#######]-._      |
  [#######]   '-._  v
 ----(@@@)        '-.=========
 _____________________________
   cord          head
""",
        "cord through the groove",
        r"""
      groove
 cord   |        strands lie
 ----.  v             |
  [##'----]           v
  [#######]===================
 _____________________________
                 head
""",
    ),
}

DRAWN = tuple(_DRAWN)
"""The words of a step's `show` that have a drawing here."""

_LABEL = re.compile(r"[a-z]{3,}(?: [a-z]+)*")


def drawing(name: str, width: int = BESIDE) -> list[Line] | None:
    """The drawing for a step's `show`, in at most `width` cells; None where there is none of that name.

    Narrower than 64 cells the right one stands below the wrong one; it takes 30 cells at least.
    """
    found = _DRAWN.get(name)
    if found is None:
        return None
    wrong = _side("Wrong", found.wrong, "outside", found.wrong_art)
    right = _side("Right", found.right, "within", found.right_art)
    if width < BESIDE:
        return [*wrong, (), *right]
    blank = [()] * abs(len(wrong) - len(right))
    (wrong if len(wrong) < len(right) else right).extend(blank)
    return [_beside(left, other) for left, other in zip(wrong, right, strict=True)]


def _side(word: str, title: str, tone: Tone, art: str) -> list[Line]:
    lines: list[Line] = [(Span(f"{word}: {title}", tone),), ()]
    return lines + [_toned(row) for row in art.strip("\n").split("\n")]


def _toned(row: str) -> Line:
    """A row with its labels quiet."""
    spans: list[Span] = []
    start = 0
    for label in _LABEL.finditer(row):
        if label.start() > start:
            spans.append(Span(row[start : label.start()]))
        spans.append(Span(label.group(), "quiet"))
        start = label.end()
    return (*spans, Span(row[start:])) if start < len(row) else tuple(spans)


def _beside(left: Line, right: Line) -> Line:
    if not right:
        return left
    used = sum(len(span.text) for span in left)
    return (*left, Span(" " * (SIDE + GAP - used)), *right)
