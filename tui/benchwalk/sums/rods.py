"""Sums about what is read beside the tension rods of one head. Notes in Hz, distances in cents, depths in mm."""

from __future__ import annotations

import math
from fractions import Fraction

from ..quantities import cents_apart, cents_between, rounded
from ..signatures import TENTH, NoResult, Outcome, Value
from .guarded import verdict
from .head_heard import CENTS_TIMES_TURNS, SHARE
from .rim import Fit, by_rod, fitted, notes_by_rod, over

OVAL = 2
"""Waves round the rim that the first note can tell: two opposite pairs high, the two between them low."""

HOUSE_LIMIT, HOUSE_HZ = Fraction(10), 1
SUREST = 1.0
"""Cents: no note tapped by hand is taken to be surer than this."""


def rod_evenness(
    notes: dict[str, Fraction | None],
    sure: dict[str, Fraction | None] | None = None,
    limit: Fraction | None = None,
    other: str | None = None,
) -> Outcome:
    """The pitch spread over the rods, how far opposite rods disagree, the oval part, and a verdict on it.

    A round head's notes are the same beside a rod and beside the one opposite it, whatever the two rods pull; so what
    opposite rods disagree by is the error of the taps (or a burr, a bent hoop, a cracked lug). The first note holds
    three numbers only, its mean and the two of the oval: the verdict rests on those, since the spread of single
    readings grows with their number and their noise.
    """
    doubts = [doubt for rod, doubt in (sure or {}).items() if doubt is not None and rod in notes]
    refused = _refused(doubts, limit, other)
    if refused:
        return NoResult(refused)
    count = len(notes)
    if count < 2:
        return NoResult(f"evenness needs two rods or more, and there {'is one' if count else 'is none'}")
    heard = notes_by_rod(notes)
    if isinstance(heard, NoResult):
        return heard
    highest, lowest = max(heard), min(heard)
    return {
        "spread": cents_apart(highest, lowest),
        **_opposite(heard),
        "highest": Fraction(heard.index(highest) + 1),
        "lowest": Fraction(heard.index(lowest) + 1),
        **_stray(heard),
        **_judged(heard, doubts, limit),
    }


def _refused(doubts: list[Fraction], limit: Fraction | None, other: str | None) -> str | None:
    if other == "rings":
        return "the other head rings with this one, and its note can pass for an oval; damp it and tap again"
    if any(doubt < 0 for doubt in doubts):
        return "how sure a note is must not be below 0 cents"
    return "the limit must not be below 0 cents" if limit is not None and limit < 0 else None


def _judged(heard: list[Fraction], doubts: list[Fraction], limit: Fraction | None) -> dict[str, Value]:
    """The oval part, its uncertainty and the verdict. Under four rods there is no pattern to fit, and no verdict."""
    if len(heard) < 2 * OVAL:
        return {"oval": None, "sure": None, "verdict": "too-close"}
    fit = fitted([cents_between(note, heard[0]) for note in heard], OVAL)
    single = max(scatter(fit), _single(doubts))
    oval = rounded(Fraction(fit.size), TENTH)
    expanded = rounded(Fraction(2 * 2 * single * math.sqrt(len(fit.amounts) / len(heard))), TENTH)
    if limit is None:
        middle = sum(heard, Fraction(0)) / len(heard)
        limit = max(HOUSE_LIMIT, cents_apart(middle + HOUSE_HZ, middle))
    return {"oval": oval, "sure": expanded, "verdict": verdict(oval, expanded, limit)}


def _single(doubts: list[Fraction]) -> float:
    """One standard deviation of a single note, in cents, from the doubts (k = 2) that were heard; 0 without any."""
    return math.sqrt(sum(float(doubt) ** 2 for doubt in doubts) / len(doubts)) / 2 if doubts else 0.0


def scatter(fit: Fit) -> float:
    """One standard deviation of a single note, in cents, from what the fit leaves; opposite rods' disagreement is the
    larger part of that. Never below what a hand can do."""
    return max(SUREST, math.sqrt(fit.squares / fit.left)) if fit.left else SUREST


def _opposite(heard: list[Fraction]) -> dict[str, Value]:
    """The largest disagreement of opposite rods, in cents, and which two they are; None for an odd count, where no rod
    has an opposite."""
    half, odd = divmod(len(heard), 2)
    if odd:
        return {"opposite": None, "apart": None, "across": None}
    apart = [cents_apart(max(pair), min(pair)) for pair in zip(heard[:half], heard[half:], strict=True)]
    most = max(apart)
    rod = apart.index(most) + 1
    return {"opposite": most, "apart": Fraction(rod), "across": Fraction(rod + half)}


def _stray(heard: list[Fraction]) -> dict[str, Value]:
    """How far the note of one rod lies off what the others make without it (their mean and oval), in cents, and which
    rod strays most. It stands in for opposite rods where their count is odd; None for an even one, and for three."""
    count = len(heard)
    if count % 2 == 0 or count < 2 * OVAL:
        return {"stray": None, "strayed": None}
    fit = fitted([cents_between(note, heard[0]) for note in heard], OVAL)
    alone = fit.left / count  # how much of its own straying the fit leaves at a rod, the same at each
    off = [abs(rest) / alone for rest in fit.rest]
    most = max(range(count), key=lambda rod: rounded(Fraction(off[rod]), TENTH))
    return {"stray": rounded(Fraction(off[most]), TENTH), "strayed": Fraction(most + 1)}


# --- the hoop ----------------------------------------------------------------------------------------------------

MM_A_TURN = Fraction("25.4") / 24
"""A rod's travel: 24 threads to the inch (No. 12-24 UNC, ASME B1.1, from memory)."""

USUAL_LEVEL, HUNDREDTH = Fraction(3, 10), Fraction(1, 100)
STEPS, AT_ONCE = 16, 8
"""Steps to the turn, and the most of them at once."""


def hoop_depth(depth: dict[str, Fraction | None], limit: Fraction = USUAL_LEVEL) -> Outcome:
    """The plane and the oval of the hoop's depths, what is the largest of them, and turns that would level it.

    Depth goes from the hoop's lip down to the film: where it is large the hoop stands high, and tightening lowers it.
    """
    if limit < 0:
        return NoResult("the limit must not be below 0 mm")
    if len(depth) < 3:
        there = "is one" if len(depth) == 1 else f"are {len(depth)}" if depth else "is none"
        return NoResult(f"a hoop's plane needs three rods or more, and there {there}")
    read = by_rod(depth, "depth")
    if isinstance(read, NoResult):
        return read
    values = [float(each) for each in read]
    plane, oval = fitted(values, 1), fitted(values, OVAL)
    slope = [value - plane.mean - rest for value, rest in zip(values, plane.rest, strict=True)]
    waves = [value - oval.mean - rest for value, rest in zip(values, oval.rest, strict=True)]
    uneven = [value - plane.mean for value in values]
    left = [each - a - b for each, a, b in zip(uneven, slope, waves, strict=True)]
    parts = {
        "one-side": rounded(Fraction(plane.size), HUNDREDTH),
        "oval": rounded(Fraction(oval.size), HUNDREDTH),
        "uneven": rounded(Fraction(over(left)), HUNDREDTH),
    }
    largest = max(parts, key=lambda part: parts[part])
    level = "level" if parts[largest] <= limit else largest
    lower = {"level": [0.0] * len(values), "one-side": slope, "uneven": uneven}
    lower["oval"] = [a + b for a, b in zip(slope, waves, strict=True)]
    return {
        "tilt": parts["one-side"],
        "deepest": Fraction(read.index(max(read)) + 1),
        "oval": parts["oval"] if oval.amounts else None,
        "level": level,
        "turns": {str(rod): _by_thread(each) for rod, each in enumerate(lower[level], start=1)},
    }


def _by_thread(deeper: float) -> Fraction:
    """Sixteenths of a turn that lower the hoop by so many mm, half a turn at most."""
    steps = rounded(Fraction(deeper) / MM_A_TURN * STEPS, Fraction(1))
    return max(Fraction(-AT_ONCE), min(Fraction(AT_ONCE), steps)) / STEPS


# --- the head's own split ----------------------------------------------------------------------------------------

GAUGE = Fraction(1, 10)
"""mm: what a depth gauge tells at the rods, common practice, no published source."""

CAREFUL_SLACK = Fraction(1)


def own_split(oval: Fraction, depth_oval: Fraction, slack: Fraction = CAREFUL_SLACK) -> Outcome:
    """Whether the hoop's oval, brought to cents by the thread and the gain of an oval, explains that of the notes."""
    if oval < 0 or depth_oval < 0:
        return NoResult("the oval parts must not be below zero")
    if slack <= 0:
        return NoResult("the turns up from slack must be above zero")
    cents_a_mm = Fraction(SHARE * CENTS_TIMES_TURNS) / slack / MM_A_TURN
    explained, doubt = rounded(depth_oval * cents_a_mm, TENTH), rounded(GAUGE * cents_a_mm, TENTH)
    if oval > explained + doubt:
        whose = "head"
    else:
        whose = "rods" if depth_oval > GAUGE and explained <= oval + doubt else "cannot-tell"
    return {"whose": whose, "explained": explained, "doubt": doubt}
