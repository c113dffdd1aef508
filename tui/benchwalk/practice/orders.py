"""What is typed to a practice drum, as acts: `tap 3`, `turn 2 5 1/8`, `press`, `depth`.

A hand's move is typed in turns, + tightens: `turn 3 1/8`, `turn all -1/4`. Anything that is no order is refused with
what would be one.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from ..errors import Misread, Refused
from ..quantities import parse_quantity, shown
from .lesson import Lesson
from .telling import Compute, advice

HELP = (
    "tap 3: tap beside rod 3 and hear its note; tap alone: beside every rod, in pairs",
    "turn 3 1/8: tighten rod 3 by an eighth; turn 2 5 -1/16: loosen rods 2 and 5; turn all 1/4: every rod",
    "press: press the film home, so that what was turned arrives",
    "loosen: back every rod off to finger-tight",
    "damp, free: lay the other head on its pad, or take it off",
    "over, fixed: the microphone over the rod that is tapped, or over rod 1",
    "soft, hard: how you strike",
    "depth: read the depth gauge beside every rod",
    "batter, snare-side: work on that head",
    "snares on, snares off: lay the snares against their head, or take them off",
    "rest 30: leave the drum alone for 30 minutes",
    "advice: which rods the sums would turn",
    "notes: the notes since the last turn",
    "done: hear how it went, and what was hidden",
)
_LEAST, _FARTHEST = Fraction(1, 100), 2
"""Turns that a hand makes at once. A choice of ours."""
_UNITS = frozenset(("turn", "turns", "deg", "°"))


def obey(lesson: Lesson, typed: str, compute: Compute) -> list[str]:
    """Do what is typed; the lines to be said. Raises Refused or Misread, with a sentence, for what is no order."""
    word, *rest = typed.lower().split() or [""]
    act = _ACTS.get(word)
    if word == "advice":
        return advice(lesson, compute)
    if act is None:
        raise Refused(f"{shown(typed)} is nothing to do with a drum; help lists what is")
    return act(lesson, rest)


def _tap(lesson: Lesson, rest: list[str]) -> list[str]:
    return [line for rod in _rods(lesson, rest) for line in lesson.tap(rod)] if rest else lesson.tap_all()


def _turn(lesson: Lesson, rest: list[str]) -> list[str]:
    rods, amount = _parted(rest) if len(rest) > 1 else ([], "")
    if not rods:
        raise Misread("which rods, and how far? As in: turn 3 1/8, or: turn all 1/4")
    turn = parse_quantity(amount, "turns").value
    if abs(turn) < _LEAST:
        raise Misread("less than a hundredth of a turn is none that a hand makes; say how far, as in 1/8 or -1/8")
    if abs(turn) > _FARTHEST:
        raise Misread(f"{shown(amount)} is more than a hand turns a rod at once; at most {_FARTHEST} turns")
    return lesson.turn(dict.fromkeys(_rods(lesson, rods), float(turn)))


def _parted(words: list[str]) -> tuple[list[str], str]:
    """The words for rods, and those of the amount: `3 1/8`, `2 5 1/8`, `3 90 deg`, `3 -1 1/2`. Raises Misread where `1
    1/2` could be an amount, or a rod and an amount."""
    *rods, amount = words
    if amount in _UNITS and rods:
        *rods, number = rods
        amount = f"{number} {amount}"
    first = amount.partition(" ")[0]
    if "/" in first and first[0].isdigit() and rods:
        *others, last = rods
        if last[0] in "+-" or last in others or others == ["all"]:
            return others, f"{last} {amount}"
        if others and last == "1":
            said = shown(" ".join(words))
            raise Misread(f"{said} may be 1 {amount} turns, or rod 1 too by {amount}; type 1.5, or put rod 1 first")
    return rods, amount


def _rods(lesson: Lesson, words: list[str]) -> list[int]:
    """The rods named: numbers, or `all`."""
    count = lesson.drum.rods
    if words == ["all"]:
        return list(range(1, count + 1))
    rods = []
    for word in words:
        if not word.isdecimal() or len(word) > 4 or not 1 <= int(word) <= count:  # int takes no 4301 digits
            raise Misread(f"{shown(word)} is no rod of this drum; it has rods 1 to {count}")
        rods.append(int(word))
    if len(set(rods)) != len(rods):
        raise Misread("a rod stands there twice")
    return rods


def _alone(do: Callable[[Lesson], list[str]]) -> Callable[[Lesson, list[str]], list[str]]:
    """An order of one word."""

    def act(lesson: Lesson, rest: list[str]) -> list[str]:
        if rest:
            raise Misread(f"{shown(' '.join(rest))} says nothing more there; the word alone will do")
        return do(lesson)

    return act


def _mic(word: str) -> Callable[[Lesson], list[str]]:
    def act(lesson: Lesson) -> list[str]:
        lesson.mic = word
        return ["The microphone hangs over the rod that is tapped." if word == "over" else "It hangs over rod 1."]

    return act


def _force(word: str) -> Callable[[Lesson], list[str]]:
    def act(lesson: Lesson) -> list[str]:
        lesson.force = word
        return [f"You strike {word}{'' if word == 'soft' else ', and the note sinks after the stroke'}."]

    return act


def _snares(lesson: Lesson, rest: list[str]) -> list[str]:
    if rest not in (["on"], ["off"]):
        raise Misread("snares on, or snares off?")
    lesson.drum.snares(rest == ["on"])
    return [f"The snares are {rest[0]}."]


def _rest(lesson: Lesson, rest: list[str]) -> list[str]:
    minutes = parse_quantity(" ".join(rest) or "30", "min").value
    if not 0 < minutes <= 24 * 60:
        raise Misread("a drum rests here for up to 24 hours")
    lesson.drum.rest(float(minutes))
    return ["It has rested. Both heads dropped a little."]


def _notes(lesson: Lesson) -> list[str]:
    return [f"Rod {rod}: {note.typed}" for rod, note in sorted(lesson.now.items())] or ["No note since the last turn."]


_ACTS: dict[str, Callable[[Lesson, list[str]], list[str]]] = {
    "tap": _tap,
    "turn": _turn,
    "press": _alone(Lesson.press),
    "loosen": _alone(Lesson.loosen),
    "damp": _alone(lambda lesson: lesson.damp(True)),
    "free": _alone(lambda lesson: lesson.damp(False)),
    "over": _alone(_mic("over")),
    "fixed": _alone(_mic("fixed")),
    "soft": _alone(_force("soft")),
    "hard": _alone(_force("hard")),
    "depth": _alone(Lesson.depth),
    "batter": _alone(lambda lesson: lesson.work_on("batter")),
    "snare-side": _alone(lambda lesson: lesson.work_on("snare-side")),
    "snares": _snares,
    "rest": _rest,
    "notes": _alone(_notes),
}
