"""What the procedure that brings a head up is worth, walked on practice drums with one thing hidden in each.

For each hidden thing and each count of rods, so many drums from finger-tight to rested, the hand doing what it is told
and nothing else (1.5 cents of scatter a tap): how many walks ended done; how far the head ends off the note wanted and
how far its rods are apart, median and worst of those that ended done; passes, taps and rounds of taps, median; stops to
look at the rods; how many were levelled by the hoop's depth; what was found. The practice drum is a model.

    python benchmarks/head_on_a_drum.py [DRUMS]      5 of each by default
"""

from __future__ import annotations

import math
import statistics
import sys
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from benchwalk.practice.drum import Drum
from benchwalk.practice.hidden import Hidden
from drum_hand import Hand, wanted

FAULTS: dict[str, dict[str, float]] = {
    "nothing": {},
    "one side high": {"lopsided": 0.3, "lopsided_rod": 2},
    "oval": {"oval": 0.2, "oval_rod": 2},
    "split of its own": {"split": 20.0, "split_rod": 2},
    "burr": {"burr_rod": 2, "burr": 20.0},
    "rod bottoms": {"bottom_rod": 2, "bottoms": 1.0},
}
ROUTINE = ("moved-in-rest",)


def walked(rods: int, head: str, seed: int, hidden: dict[str, float]) -> Hand:
    """One drum brought up; a walk that gets stuck raises."""
    drum = Drum(rods=rods, seed=seed, hidden=Hidden(head=head, **hidden))
    hand = Hand(drum, head, wanted(drum, head, 1.7), seed=seed)
    hand.play()
    return hand


def both(values: list[float], digits: int = 0) -> str:
    """Median and worst of values, or a dash."""
    return f"{statistics.median(values):.{digits}f} / {max(values):.{digits}f}" if values else "-"


def count(hand: Hand, last: str) -> int:
    """How often steps of this name were walked, whatever run they stand in."""
    return sum(visit.rsplit("/", 1)[-1] == last for visit in hand.visits())


def row(rods: int, head: str, fault: str, drums: int) -> str:
    """One line of the table."""
    hands = [walked(rods, head, seed, FAULTS[fault]) for seed in range(drums)]
    done = [hand for hand in hands if hand.outcome == "done"]
    off = [abs(1200 * math.log2(statistics.fmean(hand.notes) / wanted(hand.drum, head, 1.7))) for hand in done]
    found = Counter(name for hand in hands for name in hand.found if name not in ROUTINE)
    told = ", ".join(f"{name} {times}" for name, times in sorted(found.items())) or "-"
    middle = [statistics.median(figures) for figures in zip(*(_figures(hand) for hand in hands), strict=True)]
    looks, levels = sum(count(h, "look") for h in hands), sum(count(h, "level") > 0 for h in hands)
    return (
        f"| {head} | {rods} | {fault} | {len(done)} of {drums} | {both(off)} | {both([h.spread for h in done], 1)} | "
        + " | ".join(f"{figure:.0f}" for figure in middle)
        + f" | {looks} | {levels} | {told} |"
    )


def _figures(hand: Hand) -> tuple[float, float, float]:
    return count(hand, "tap-pass"), hand.taps, count(hand, "tap-round")


def main() -> None:
    """The table."""
    drums = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    heads = ("head", "rods", "hidden", "done", "off its note, cents", "rods apart, cents", "passes", "taps", "rounds")
    heads = (*heads, "looks", "levelled", "found")
    print(f"| {' | '.join(heads)} |\n{'|---' * len(heads)}|")
    for head in ("batter", "snare-side"):
        for fault in FAULTS:
            for rods in (6, 7, 8, 10):
                print(row(rods, head, fault, drums), flush=True)


if __name__ == "__main__":
    main()
