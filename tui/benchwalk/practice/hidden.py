"""What a practice drum hides, how it is drawn from a seed, and how it is told in the end."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from random import Random

from ..errors import UsageError
from ..plaindata import Frozen
from ..quantities import shown
from .values import count, number, word, yes

HEADS = ("batter", "snare-side")
LEVELS = {"even": 0, "plain": 1, "hard": 3}  # how many faults a drum of each level hides
BEDS = 0.15  # turns: what ordinary beds take off the pull beside them
TOP = 15.0  # turns: a rod that bottoms nowhere


class Hidden(Frozen):
    """What is hidden in a drum; nought or None where a thing is not.

    `head` carries the faults. Sizes in turns: `lopsided` and `oval` (how much a side, or a pair, is up), `beds` (the
    snare-side head's, always there), `bottoms` (how far past finger-tight `bottom_rod` still goes). `lopsided_rod` and
    `oval_rod` stand where it is highest. `burr_rod` reads high by `burr` cents. `split` is how far apart, in cents, the
    film itself holds its two notes, lowest beside `split_rod`. `other_free`: the drum does not lie on its pad.
    """

    head: str = "batter"
    lopsided: float = 0.0
    lopsided_rod: int = 1
    oval: float = 0.0
    oval_rod: int = 1
    burr_rod: int | None = None
    burr: float = 18.0
    split: float = 0.0
    split_rod: int = 1
    bottom_rod: int | None = None
    bottoms: float = 1.0
    beds: float = BEDS
    other_free: bool = False


def hidden_of(state: Mapping[str, object]) -> Hidden:
    """What a drum hides, as it was kept; its rods are not looked at. Raises TypeError or ValueError."""
    hidden = Hidden(**state)  # type: ignore[arg-type] # each is looked at here
    word(hidden.head, HEADS)
    for size in (hidden.lopsided, hidden.oval, hidden.burr, hidden.split, hidden.bottoms, hidden.beds):
        number(size)
    for rod in (hidden.lopsided_rod, hidden.oval_rod, hidden.split_rod):
        count(rod)
    yes(hidden.other_free)
    return hidden


def _drawn(name: str, rods: int, chance: Random) -> dict[str, object]:
    """The fields that make one fault, its size and place drawn."""
    rod = chance.randint(1, rods)
    making: dict[str, Callable[[], dict[str, object]]] = {
        "lopsided": lambda: {"lopsided": chance.uniform(0.2, 0.35), "lopsided_rod": rod},
        "oval": lambda: {"oval": chance.uniform(0.12, 0.25), "oval_rod": rod},
        "burr": lambda: {"burr_rod": rod, "burr": chance.uniform(14, 26)},
        "free": lambda: {"other_free": True},
        "beds": lambda: {"beds": chance.uniform(0.28, 0.4)},
        "split": lambda: {"split": chance.uniform(12, 25), "split_rod": rod},
        "bottoms": lambda: {"bottom_rod": rod, "bottoms": chance.uniform(0.8, 1.4)},
    }
    return making[name]()


FAULTS = ("lopsided", "oval", "burr", "free", "beds", "split", "bottoms")


def hide(rods: int, level: str, chance: Random) -> Hidden:
    """Draw what a drum hides. Raises UsageError for an unknown level."""
    if level not in LEVELS:
        raise UsageError(f"there is no level {shown(level)} of the practice drum; there are {', '.join(LEVELS)}")
    fields: dict[str, object] = {"head": chance.choice(HEADS)}
    for name in chance.sample(FAULTS, LEVELS[level]):
        fields |= _drawn(name, rods, chance)
    return Hidden(**fields)  # type: ignore[arg-type] # each of its own kind, by _drawn


def told(hidden: Hidden, spread: dict[str, float], rods: int) -> list[str]:
    """What was hidden, in plain sentences; `spread` is how far finger-tight lay apart on each head, in turns."""
    said = [
        f"On the {head} head finger-tight was not the same at all rods: true slack lay up to {apart:.2f} turns apart."
        for head, apart in spread.items()
    ]
    said.append(
        f"The snare beds took the pull of {hidden.beds:.2f} turns off the snare-side head beside them"
        + (": deeper than most." if hidden.beds > 1.5 * BEDS else ".")
        + " An even note there needs uneven turns, and counted turns prove nothing."
        if hidden.beds
        else "This drum has no snare beds."
    )
    return [*said, *_faults(hidden, rods)]


def _faults(hidden: Hidden, rods: int) -> Iterator[str]:
    head = f"On the {hidden.head} head"
    if hidden.lopsided:
        yield (
            f"{head} one side was high and one low: rod {hidden.lopsided_rod} was {hidden.lopsided:.2f} turns up, "
            f"{_opposite(hidden.lopsided_rod, rods)} as much down. No note shows it; turns counted from true slack do, "
            "and so does a depth gauge."
        )
    if hidden.oval:
        yield (
            f"{head} two opposite pairs lay apart: at rod {hidden.oval_rod} and across from it the hoop was "
            f"{hidden.oval:.2f} turns up, at a right angle to them as much down."
        )
    if hidden.burr_rod:
        shows = "opposites disagree there" if rods % 2 == 0 else "it stays off by itself"
        yield (
            f"{head} a burr or bent hoop beside rod {hidden.burr_rod} made that rod read {hidden.burr:.0f} cents high: "
            f"{shows} again and again, and no turn cures it."
        )
    if hidden.split:
        yield (
            f"{head} the film itself held two notes {hidden.split:.0f} cents apart, the lower beside rod "
            f"{hidden.split_rod}: no rod made that split."
        )
    if hidden.bottom_rod:
        yield (
            f"{head} rod {hidden.bottom_rod} bottomed {hidden.bottoms:.2f} turns past finger-tight: turning it further "
            "pulled nothing."
        )
    if hidden.other_free:
        yield "The drum did not lie on its pad at first: the other head rang along until it was damped."


def _opposite(rod: int, rods: int) -> str:
    """What lies across from a rod, in words: a rod, or the two it lies between."""
    across = (rod - 1 + rods // 2) % rods + 1
    return f"rod {across}" if rods % 2 == 0 else f"rods {across} and {across % rods + 1}"
