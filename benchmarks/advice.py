"""How well rod advice evens a head, on a drum of this benchmark's own (`advice_drum.py`).

For each count of rods 50 random starts: 1.1 to 2.2 turns up from slack with every rod off by some 8 percent (what
finger-tight is known to), an oval of up to 8 percent on top, slack known to a tenth; one tap a rod and round, read to 1
cent (what a tap in a quiet room has to be good for); a hand that is off by three degrees and 5 percent of the turn;
friction that keeps back up to 3 percent of a turn until the next press.

- `evened`: in how many starts the true pitch spread is at most 5 cents after two rounds of taps and the moves they lead
  to (2N taps); goal 95 %. `5 c held`: at the advice's own stop.
- `stopped`: in how many starts the advice stops by itself within four rounds (4N taps); goal 95 %.
- `lopsided`: a head 10 percent tight on one side and slack on the other. Goal: every answer on it says that notes
  cannot tell that. Beside it, what a depth gauge good to 0.03 mm would show.
- The same without the second note; and, not judged: notes read to 1.5 and to 2 cents (a noisy room), ovals of up to 20
  percent, a rough hand (5 degrees and 10 percent), one tap of every round wrong by 25 cents.

    python benchmarks/advice.py [STARTS]       50 by default; exits 1 where a goal is missed
"""

from __future__ import annotations

import sys
import time
from fractions import Fraction

import numpy as np
from advice_drum import Bench, Membrane, spread

from benchwalk.sums import compute
from benchwalk.sums.advice_rounds import advise_in_rounds

GOAL, LIMIT = 0.95, 5.0
COUNTS = (6, 8, 10, 12)
STEADY, ROUGH = (3 / 360, 0.05), (5 / 360, 0.1)
"""What a hand is off by: turns, and share of the turn."""
MEMBRANE = Membrane()


class Ease:
    """One head evened by the advice until it stops: spreads after each round's moves, and what was said."""

    def __init__(
        self,
        rods: int,
        seed: int,
        *,
        noise: float = 1.0,
        oval: float = 0.08,
        hand: tuple[float, float] = STEADY,
        seconds: bool = True,
        bad: bool = False,
    ) -> None:
        chance = np.random.default_rng(seed)
        slack = chance.uniform(1.1, 2.2)
        angles = 2 * np.pi * np.arange(rods) / rods
        off = chance.normal(0, 0.08, rods)
        off += chance.uniform(0, oval) * np.cos(2 * angles - chance.uniform(0, 2 * np.pi))
        self.bench = Bench(MEMBRANE, slack * (1 + off), seed, noise, hand)
        self.start = spread(self.bench.true()[0])
        self.spreads: list[float] = []
        self.stop = self.cannot_see = ""
        self._go(chance, slack * (1 + chance.normal(0, 0.1)), seconds, bad)

    def _go(self, chance: np.random.Generator, told: float, seconds: bool, bad: bool) -> None:
        first, second, turned = [], [], []
        for _ in range(8):
            one, two = self.bench.tap()
            if bad:
                one[int(chance.integers(len(one)))] *= 2 ** (chance.choice([-25, 25]) / 1200)
            first.append(_placed(one))
            second.append(_placed(two))
            given = {"first": first, "slack": Fraction(told), "turned": turned}
            said = compute("rod-advice", given | ({"second": second} if seconds else {}))
            assert isinstance(said, dict), said
            self.stop, self.cannot_see = str(said["stop"]), str(said["cannot_see"])
            moves = said["moves"]
            assert isinstance(moves, dict)
            self.bench.turn(np.array([float(each or 0) for each in moves.values()]))
            turned.append(moves)
            self.spreads.append(spread(self.bench.true()[0]))
            if self.stop != "turn":
                return


def _placed(notes: list[float]) -> dict[str, Fraction]:
    return {str(rod): Fraction(round(note, 2)).limit_denominator(100) for rod, note in enumerate(notes, start=1)}


def table(name: str, starts: int, *, judged: bool, **how: object) -> bool:
    """One line for each count of rods; whether the goals are met."""
    met = True
    for rods in COUNTS:
        eased = [Ease(rods, 1000 * rods + n, **how) for n in range(starts)]  # type: ignore[arg-type]
        evened = np.mean([one.spreads[min(1, len(one.spreads) - 1)] <= LIMIT for one in eased])
        held = np.mean([one.spreads[-1] <= LIMIT for one in eased])
        stopped = np.mean([len(one.spreads) <= 4 for one in eased])
        rounds = np.mean([len(one.spreads) for one in eased])
        even = np.mean([one.stop == "even" for one in eased])
        start = np.median([one.start for one in eased])
        last = np.percentile([one.spreads[-1] for one in eased], [50, 95])
        good = evened >= GOAL and stopped >= GOAL
        met = met and (good or not judged)
        print(
            f"{name:22} {rods:3d} rods  start {start:5.1f} c   evened in 2N {evened:5.0%}   at the stop {held:5.0%} "
            f"(median {last[0]:.1f}, 95 % {last[1]:.1f} c)   stopped in 4N {stopped:5.0%}, mean {rounds:.1f} rounds, "
            f"'even' {even:4.0%}{'' if good or not judged else '   MISSED'}"
        )
    return met


def lopsided(starts: int) -> bool:
    """Heads that are lopsided by 10 percent and even else: what is heard, what is said of them, what a gauge shows."""
    met = True
    for rods in COUNTS:
        angles = 2 * np.pi * np.arange(rods) / rods
        heard, tilts, told = [], [], 0
        for n in range(starts):
            turns = 1.5 * (1 + 0.1 * np.cos(angles - n))
            bench = Bench(MEMBRANE, turns, n, 1.0, STEADY)
            heard.append(spread(bench.true()[0]))
            one, two = bench.tap()
            asked = {"rods": rods, "turns_past_slack": 1.5, "rounds": [{"first_hz": one, "second_hz": two}]}
            said = advise_in_rounds(asked)["cannot_see"]
            told += "cannot tell a rod from the one opposite" in said and "tight on one side" in said
            depth = 12 - 25.4 / 24 * turns + bench.chance.normal(0, 0.03, rods)
            found = compute("hoop-depth", {"depth": _placed(list(depth))})
            assert isinstance(found, dict)
            tilts.append(float(found["tilt"]))  # type: ignore[arg-type]
        met = met and told == starts
        print(
            f"lopsided by 10 percent {rods:3d} rods  true pitch spread at most {max(heard):.2f} c   said that notes "
            f"cannot tell: {told} of {starts}   tilt of the hoop {min(tilts):.2f} to {max(tilts):.2f} mm"
        )
    return met


def main(starts: int) -> int:
    """Print every table; 1 where a goal is missed."""
    begun = time.perf_counter()
    met = table("both notes", starts, judged=True)
    met = table("first note only", starts, judged=True, seconds=False) and met
    print("not judged:")
    table("  read to 1.5 cents", starts, judged=False, noise=1.5)
    table("  read to 2 cents", starts, judged=False, noise=2.0)
    table("  far off", starts, judged=False, oval=0.2)
    table("  a rough hand", starts, judged=False, hand=ROUGH)
    table("  a bad tap a round", starts, judged=False, bad=True)
    met = lopsided(min(starts, 20)) and met
    print(f"{time.perf_counter() - begun:.0f} s; goals {'met' if met else 'MISSED'}")
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 50))
