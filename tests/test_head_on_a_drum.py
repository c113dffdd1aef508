"""The procedure that brings a head up, walked on practice drums: it comes to its note, and says what was hidden."""

from __future__ import annotations

import math

import pytest

from benchwalk.practice.drum import Drum
from benchwalk.practice.hidden import Hidden
from drum_hand import Hand, wanted


def walked(rods: int, head: str, seed: int, **hidden: float) -> Hand:
    """A head brought up from finger-tight to the note that 1.7 turns make, by the procedure alone."""
    drum = Drum(rods=rods, seed=seed, hidden=Hidden(head=head, **hidden))
    hand = Hand(drum, head, wanted(drum, head, 1.7), seed=seed)
    hand.play()
    return hand


@pytest.mark.parametrize(("rods", "head"), [(6, "batter"), (10, "snare-side"), (7, "batter")])
def test_head_comes_even_to_its_note(rods: int, head: str) -> None:
    """From finger-tight to rested a head ends within 30 cents of its note and its rods within 10, odd counts too."""
    hand = walked(rods, head, 3)
    want = wanted(hand.drum, head, 1.7)
    assert hand.outcome == "done"
    assert abs(1200 * math.log2(sum(hand.notes) / rods / want)) < 30
    assert hand.spread < 10


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_rod_that_bottoms_is_not_tuned_away_in_silence(seed: int) -> None:
    """Where one rod of six is at its end long before the note, the walk finds that, or that the hoop stands high there.

    The others can be tuned round it until the notes agree; that is when nobody would look any more.
    """
    hand = walked(6, "snare-side", seed, bottom_rod=4, bottoms=0.9)
    assert hand.found & {"rod-bottoms", "hoop-uneven"}


@pytest.mark.parametrize("rods", [6, 8])
def test_burr_is_looked_for(rods: int) -> None:
    """A rod that reads 20 cents high beside a burr ends in the look at rod, lug and hoop, and the walk is referred."""
    hand = walked(rods, "batter", 1, burr_rod=2, burr=20.0)
    assert (hand.outcome, "rod-fault" in hand.found) == ("referred", True)


def test_one_side_high_is_found_by_the_gauge() -> None:
    """A hoop that stands a third of a turn higher on one side is levelled by its depth: the notes never told it."""
    hand = walked(8, "batter", 4, lopsided=0.33, lopsided_rod=3)
    depths = hand.drum.hoop_depths("batter")
    assert hand.outcome == "done"
    assert any(visit.endswith("/level") for visit in hand.visits()) or "one-side" in hand.found
    assert max(depths) - min(depths) < 0.6
