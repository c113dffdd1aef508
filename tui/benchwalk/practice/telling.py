"""What is said of a lesson: the advice of the sums on the way, and at the end how it went and what was hidden."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any

from ..errors import Refused
from ..procedure.showing import many
from ..quantities import cents_between, decimal_text
from ..signatures import NoResult
from ..walk.wording import listed, turns_text
from .lesson import Lesson

WANTED_CENTS = 5
"""The careful grade: rods as close as this are even to most ears."""

Compute = Callable[[str, dict[str, Any]], Any]

_STOPS = {
    "even": "The notes are even. That does not say that the rods pull alike.",
    "pitch-done": "What is left is less than a hand's move, or not in the notes: leave every rod.",
    "inspect": "Opposite rods disagree again: look there for a burr, a bent hoop or a cracked lug.",
}
_SLIPS = (
    ("not_pressed", "tap", "on a film that was not pressed home: what was turned had not arrived"),
    ("not_all", "time", "rods were turned after a round that left some out: every rod moves every note"),
    ("fixed", "tap", "with the microphone elsewhere than over the rod"),
    ("rang", "tap", "while the other head was free to ring"),
)


def advice(lesson: Lesson, compute: Compute) -> list[str]:
    """Which rods to turn by how much, as the sum of advice says from the rounds so far.

    Raises Refused where the last round is not whole: advice on half of it would be a guess.
    """
    missing = [str(rod) for rod in range(1, lesson.drum.rods + 1) if rod not in lesson.now]
    if missing:
        rods = f"rod{'s' if len(missing) > 1 else ''} {listed(missing)}"
        raise Refused(f"advice needs a whole round since the last turn; tap beside {rods} too")
    found = compute("rod-advice", lesson.given())
    free = not lesson.drum.damped(lesson.other)
    told = [f"The {lesson.other} head is free to ring, so these notes may lie."] if free else []
    if isinstance(found, NoResult):
        return [*told, f"No advice: {found.why}."]
    return [*told, *_advised(found, [Fraction(note.hz) for note in lesson.now.values()])]


def _advised(found: Mapping[str, Any], tapped: Sequence[Fraction]) -> Iterator[str]:
    """What the sum advises; and where the notes as tapped lie farther apart than it believes, that they do."""
    yield f"The notes are {_tenths(found['spread'])} cents apart."
    apart = Fraction(cents_between(max(tapped), min(tapped)))
    if apart > found["spread"] + WANTED_CENTS:
        yield (
            f"That is what rods can make; as tapped just now they lie {_tenths(apart)} cents apart. Tap what strays "
            "again: where a rod stays off by itself, no turn cures it."
        )
    if found["stop"] != "turn":
        yield _STOPS[found["stop"]]
        return
    yield turns_text(found["moves"]).capitalize() + "."
    yield from (f"Typed: {order}" for order in _orders(found["moves"]))
    yield (
        f"Then press home and tap all rods again: near {_tenths(found['expected_note'])} Hz, about "
        f"{_tenths(found['expected'])} cents apart."
    )


def _orders(moves: Mapping[str, Any]) -> list[str]:
    """The orders that turn rods so, as they are typed: `turn 2 6 1/8`."""
    rods: dict[Fraction, list[str]] = {}
    for rod in sorted(moves, key=int):  # rod 1 first: before a fraction it would be read as a part of the amount
        if moves[rod]:
            rods.setdefault(moves[rod], []).append(rod)
    return [f"turn {' '.join(of)} {turn if abs(turn) < 1 else decimal_text(turn)}" for turn, of in rods.items()]


def _tenths(value: Fraction) -> str:
    return decimal_text(value, Fraction(1, 10))


def finish(lesson: Lesson) -> list[str]:
    """How it went, and what was hidden."""
    return [*_went(lesson), *_skipped(lesson), *lesson.drum.told()]


def _went(lesson: Lesson) -> Iterator[str]:
    yield f"{many(lesson.taps, 'tap')}, {many(lesson.turns, 'turn')} of a rod."
    for head in (lesson.head, lesson.other):
        if head in lesson.began:
            yield _apart(lesson, head)
            yield _pulls(lesson, head)


def _pulls(lesson: Lesson, head: str) -> str:
    """How unevenly the rods of a head pull, which no note tells whole."""
    pulls = lesson.drum.tension(head)
    high, low = max(pulls), min(pulls)
    return (
        f"The rods pull from {round(100 * low)} percent of their mean at rod {pulls.index(low) + 1} to "
        f"{round(100 * high)} percent at rod {pulls.index(high) + 1}."
    )


def _apart(lesson: Lesson, head: str) -> str:
    """How far apart the notes of a head are now, and were; a head may be too loose for any."""
    spread = lesson.spread(head)
    began = "it had none when you began"
    first = lesson.began.get(head)
    if first is not None:
        began = f"they were {first:.1f} cents apart when you began"
    if math.isnan(spread):
        return f"The {head} head is too loose to have a note; {began}."
    even = " That is even." if spread <= WANTED_CENTS else ""
    found = f"{spread:.1f} cents apart, as a perfect hand would find them"
    return f"The notes of the {head} head are {found}; {began}.{even}"


def _skipped(lesson: Lesson) -> Iterator[str]:
    for name, what, words in _SLIPS:
        count = getattr(lesson.slips, name)
        if count:
            yield f"{count} {what}{'s' if count > 1 else ''} {words}."
