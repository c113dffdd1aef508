"""Which rods to turn after a round of notes, and when to stop. See docs/sums-rods.md for the whole reasoning."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

from ..quantities import cents_between
from ..signatures import NoResult, Outcome
from .hand import STEPS, Search, to_rods
from .head_heard import CENTS_TIMES_TURNS, Heard
from .rim import notes_by_rod
from .round_heard import Round

USUAL_LIMIT = Fraction(5)
FEWEST, MOST, MOST_ROUNDS, MOST_TURNS = 4, 24, 30, 20
"""Rods; rounds that are followed, the last of them; turns of one rod, more than any rod has."""

WORTH = 0.75
"""A move is worth the hand where it leaves at most this much of what is squared and added now."""

COARSE, FINE_BELOW = 0.25, 12.0
"""Opposite rods move alike unless that would leave more than this share of the limit, and the spread is already below
so many limits."""

SECOND_EASE, COMFORT = 2.0, 1.5
"""The second note may spread so many times as far; and it is even with so many standard deviations to spare."""

ASTRAY, ASTRAY_TIMES = 10.0, 3.0
"""Opposite rods that differ by more cents than this, and than so many times what the pairs usually do, are suspicious;
in two rounds running, the same rod higher, it is no bad tap."""

Rounds = list[dict[str, Fraction | None] | None]


def rod_advice(
    first: Rounds,
    slack: Fraction,
    second: Rounds | None = None,
    turned: Rounds | None = None,
    want: Fraction | None = None,
    limit: Fraction = USUAL_LIMIT,
) -> Outcome:
    """Moves for every rod after the last round, what they should come to, and whether to go on."""
    refused = _refused(slack, want, limit) or _counts(first)
    if refused:
        return NoResult(refused)
    last = first[-1] or {}
    notes = notes_by_rod(last)
    if isinstance(notes, NoResult):
        return notes
    rods = len(notes)
    turns = _all_turns(turned, len(first), rods)
    if isinstance(turns, NoResult):
        return turns
    if any(turns[-1] or []):
        return NoResult("rods were turned after the last round, and every rod moves every note: tap all of them again")
    middle = want if want is not None else sum(notes, Fraction(0)) / rods
    rounds = [
        Round(_cents(one, rods, middle), _cents(other, rods, middle), given)
        for one, other, given in zip(first, _padded(second, len(first)), turns, strict=True)
    ][-MOST_ROUNDS:]
    return _advised(rounds, rods, float(slack), middle, want is not None, float(limit))


def _advised(rounds: list[Round], rods: int, slack: float, middle: Fraction, wanted: bool, limit: float) -> Outcome:
    heard = followed(rounds, rods, slack)
    slack_now = CENTS_TIMES_TURNS / heard.gain()
    lift = slack_now * (2 ** (max(-2400.0, min(2400.0, -heard.level)) / 600) - 1) if wanted else None
    search = Search(heard, slack_now, lift)
    counted = [sum(one.turned[rod] for one in rounds if one.turned) for rod in range(rods)]
    step = 2 if search.pairs else 1
    steps = search.best(step)
    now, after = heard.spreads(heard.amounts), heard.spreads(search.amounts_after(search.turns(steps)))
    if search.pairs and worst(after) > COARSE * limit and now[0] < FINE_BELOW * limit:
        steps = search.best(1)
    on_pitch = not wanted or abs(heard.level) <= max(limit, heard.gain() / (2 * STEPS))
    stop = _stop(heard, search, steps, limit, on_pitch)
    if strays(rounds, rods):
        stop = "inspect"
    if stop != "turn":
        steps = [0] * search.slots
    moves = to_rods(steps, rods, counted, rounds[-1].first or [])
    turns = [move / STEPS for move in moves]
    level = heard.level + slack_now * heard.gain() * math.log1p(sum(turns) / rods / slack_now)
    return {
        "moves": {str(rod): Fraction(move, STEPS) for rod, move in enumerate(moves, start=1)},
        "stop": stop,
        "spread": Fraction(now[0]),
        "expected": Fraction(heard.spreads(search.amounts_after(turns))[0]),
        "expected_note": Fraction(float(middle) * 2 ** (level / 1200)),
        "cannot_see": _cannot_see(heard),
    }


def _cannot_see(heard: Heard) -> str:
    """Odd patterns are in no note; an even one only where its band is heard, and the next lies beyond half the rods."""
    beyond = 2 * (heard.bands[-1].waves + 2) > heard.rods
    return "one-side" if beyond else "one-side-and-neighbours"


def followed(rounds: Sequence[Round], rods: int, slack: float) -> Heard:
    """What is believed of the head after the notes of the last round."""
    heard = Heard(rods, slack, seconds=any(one.second for one in rounds))
    for number, one in enumerate(rounds):
        heard.hear(one)
        if number < len(rounds) - 1:
            heard.turn(one.turned)
    return heard


def _stop(heard: Heard, search: Search, steps: list[int], limit: float, on_pitch: bool) -> str:
    now = worst(heard.spreads(heard.amounts))
    if on_pitch and now + COMFORT * heard.unsure() <= limit:
        return "even"
    still, vague = search.cost([0] * search.slots), heard.vague()
    if any(steps) and search.cost(steps) + vague < WORTH * (still + vague):
        return "turn"
    return "even" if on_pitch and now <= limit else "pitch-done"


def worst(spreads: Sequence[float]) -> float:
    """The spread that counts: of the first note, or of the second by half, by which no head is judged."""
    return max(spread / (1 if number == 0 else SECOND_EASE) for number, spread in enumerate(spreads))


def strays(rounds: Sequence[Round], rods: int) -> list[int]:
    """Rods that are higher than the one opposite them in each of the last two rounds, by more than taps explain."""
    whole = [one.first for one in rounds if one.first is not None]
    if rods % 2 or len(whole) < 2:
        return []
    half = rods // 2
    apart = [[notes[rod] - notes[rod + half] for rod in range(half)] for notes in whole]
    usual = sorted(abs(each) for one in apart for each in one)[(len(whole) * half - 1) // 2]
    most = max(ASTRAY, ASTRAY_TIMES * usual)
    found = []
    for rod, (before, now) in enumerate(zip(*apart[-2:], strict=True), start=1):
        if min(abs(before), abs(now)) > most and before * now > 0:
            found.append(rod if now > 0 else rod + half)
    return found


def _refused(slack: Fraction, want: Fraction | None, limit: Fraction) -> str | None:
    if not 0 < slack <= MOST_TURNS:
        return f"the turns up from slack must be above 0 and at most {MOST_TURNS}"
    if want is not None and want <= 0:
        return "the wanted note must be above 0 Hz"
    return None if limit > 0 else "the limit must be above 0 cents"


def _counts(first: Rounds) -> str | None:
    if not first or not first[-1]:
        return "the last round has no notes"
    rods = len(first[-1])
    if not FEWEST <= rods <= MOST:
        return f"advice needs {FEWEST} to {MOST} rods, and the last round has {rods}"
    for number, one in enumerate(first, start=1):
        if one is not None and len(one) != rods:
            return f"round {number} has {len(one)} rods and the last round {rods}"
    return None


def _padded(values: Rounds | None, rounds: int) -> Rounds:
    given = list(values or [])[:rounds]
    return given + [None] * (rounds - len(given))


def _all_turns(turned: Rounds | None, rounds: int, rods: int) -> list[list[float] | None] | NoResult:
    """The turns given after each round; a rod that is not noted in a noted round was left alone."""
    found: list[list[float] | None] = []
    for number, one in enumerate(_padded(turned, rounds), start=1):
        given = None if one is None else [one.get(str(rod)) or Fraction(0) for rod in range(1, rods + 1)]
        if given and max(abs(each) for each in given) > MOST_TURNS:
            return NoResult(f"a rod was turned by more than {MOST_TURNS} turns after round {number}")
        found.append(None if given is None else [float(each) for each in given])
    return found


def _cents(one: dict[str, Fraction | None] | None, rods: int, middle: Fraction) -> list[float] | None:
    """The notes of a round in cents; None where the round is not whole."""
    notes = notes_by_rod(one or {}) if one and len(one) == rods else None
    return None if not isinstance(notes, list) else [cents_between(note, middle) for note in notes]
