"""How long the practice drum takes, and how its notes behave, as tables.

- `tap`: one tap on a head as it was (goal 5 ms); `its sound`: 1.2 s at 48 kHz;
- `a turn heard`: the new notes of a head after a turn, the other head damped, or both ringing (goal 20 ms each);
- the floor: one eigenproblem of the size of the basis, by numpy, in the same run.

Times are of one core (process time). Below them: how far rod notes spread for 10 % one side high and for an 8 % oval,
how many cents rod notes move for one percent more pull of one rod (its own, and the least moved) and of all; how far
a hand's taps read off the truth, with the microphone over the rod and with one that stays put.

    python benchmarks/practice_drum.py [TIMES]      40 times by default
"""

from __future__ import annotations

import math
import statistics
import sys
import time
from collections.abc import Callable

import numpy as np

from benchwalk.practice.drum import Drum, random_drum
from benchwalk.practice.membrane import heights, matrices, stiffness
from benchwalk.practice.rim import angles, parts

TAP, TURN = 5.0, 20.0


def spent(call: Callable[[], object], times: int) -> float:
    """The median time of one core in ms."""
    call()
    found = []
    for _ in range(times):
        start = time.process_time()
        call()
        found.append(time.process_time() - start)
    return statistics.median(found) * 1000


def times(count: int) -> bool:
    """The table of times; whether all goals were met."""
    drum = random_drum(rods=10, seed=1)
    for head in drum.heads:
        drum.bring_up(head, 2)
    drum.damp("snare-side")
    hit = drum.tap("batter", 1)

    def turned() -> None:
        drum.turn("batter", 1, 0.01)
        drum.tap("batter", 1)

    even = matrices().even
    floor = spent(lambda: np.linalg.eigh(even), count)
    rows = [("tap", spent(lambda: drum.tap("batter", 2), count), TAP), ("its sound", spent(hit.sound, count), math.inf)]
    rows.append(("a turn heard, other head damped", spent(turned, count), TURN))
    drum.damp("snare-side", False)
    rows.append(("a turn heard, both heads ringing", spent(turned, count), TURN))
    for name, taken, goal in rows:
        said = "" if goal == math.inf else f"   (goal {goal:g} ms)"
        print(f"{name:<34}{taken:6.2f} ms   {taken / floor:5.1f} x the floor{said}")
    print(f"{'floor: one eigenproblem':<34}{floor:6.2f} ms")
    return all(taken <= goal for _, taken, goal in rows)


def cents_of(pulls: np.ndarray) -> np.ndarray:
    """The rod notes of these pulls in cents, for a mean pull that is theirs, without air."""
    squares, ways = np.linalg.eigh(stiffness(parts(pulls)))
    at = angles(len(pulls))
    loud = (ways.T @ heights(np.full(len(at), 0.843), at))[1:3] ** 2
    return np.asarray(1200 * np.log2(np.sqrt(squares[1:3]) @ loud / loud.sum(axis=0)) + 600 * math.log2(pulls.mean()))


def behaviour() -> None:
    """The table of notes."""
    print("\nrods   10 % one side high   8 % oval   own rod 1 %   least of all rod notes   all rods    (cents)")
    for rods in range(5, 13):
        at = angles(rods)
        one = np.ones(rods)
        one[0] += 0.01
        moved = cents_of(one) - cents_of(np.ones(rods))
        high, oval = (np.ptp(cents_of(1 + size * np.cos(waves * at))) for waves, size in ((1, 0.1), (2, 0.08)))
        print(f"{rods:>4}{high:>21.2f}{oval:>11.1f}{moved[0]:>14.2f}{moved.min():>25.2f}{600 * math.log2(1.01):>11.2f}")


def readings() -> None:
    """The table of what a hand reads."""
    errors: dict[str, list[float]] = {"over": [], "fixed": []}
    for seed in range(30):
        drum = Drum(rods=(6, 8, 10, 12)[seed % 4], seed=seed)
        drum.bring_up("batter", 2)
        for mic, off in errors.items():
            for rod in range(1, drum.rods + 1):
                pair = [part for part in drum.tap("batter", rod, mic=mic).parts if part.name.startswith("(1,1)")]
                read = sum(part.hz * part.amplitude for part in pair) / sum(part.amplitude for part in pair)
                off.append(abs(1200 * math.log2(read / drum.true_note("batter", rod))))
    print("\nmicrophone   median   95 %   worst   (cents off the true rod note, heads brought up by equal turns)")
    for mic, off in errors.items():
        print(f"{mic:<10}{np.median(off):>9.2f}{np.percentile(off, 95):>7.2f}{max(off):>8.2f}")


def main(arguments: list[str]) -> int:
    """Print the tables; exit 1 if a goal is missed."""
    met = times(int(arguments[0]) if arguments else 40)
    behaviour()
    readings()
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
