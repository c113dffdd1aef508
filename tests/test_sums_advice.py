"""Rod advice: what it moves, what it learns, when it stops, what it refuses, and its form in rounds of JSON numbers."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from fractions import Fraction as F
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchwalk.errors import BenchwalkError
from benchwalk.signatures import NoResult
from benchwalk.sums import compute, compute_json
from benchwalk.sums.advice_rounds import advise_in_rounds, asks_in_rounds
from benchwalk.sums.kalman import Belief

CIRCULANT = 0.25
"""Of the whole head's gain: what a pattern of two waves moves the first note by, and one of four the second."""


def placed(values: list[Any]) -> dict[str, F]:
    """Values in rod order as a sum takes them."""
    return {str(rod): F(value).limit_denominator(10**6) for rod, value in enumerate(values, 1)}


def cents(values: list[float], base: float = 240.0) -> dict[str, F]:
    """Notes so many cents over `base`."""
    return placed([base * 2 ** (each / 1200) for each in values])


def wave(rods: int, size: float, waves: int = 2, turned: float = 0.0) -> list[float]:
    """A pattern round the rim, `size` from the middle to the top."""
    return [size * math.cos(2 * math.pi * waves * rod / rods - turned) for rod in range(rods)]


def advice(**given_: Any) -> dict[str, Any]:
    """The outputs; 1.5 turns up from slack where nothing else is said."""
    found = compute("rod-advice", {"slack": F(3, 2)} | given_)
    assert isinstance(found, dict), found
    return found


def why(**given_: Any) -> str:
    """The reason for no result."""
    found = compute("rod-advice", {"slack": F(3, 2)} | given_)
    assert isinstance(found, NoResult), found
    return found.why


def moves(found: dict[str, Any]) -> list[float]:
    """The moves in rod order."""
    return [float(found["moves"][str(rod)]) for rod in range(1, len(found["moves"]) + 1)]


class Linear:
    """A head as a matrix: every rod moves every note, itself and its opposite most. No noise, an exact hand."""

    def __init__(self, rods: int, turns: list[float], slack: float = 1.5, gain: float = CIRCULANT) -> None:
        self.rods, self.turns, self.slack, self.gain = rods, list(turns), slack, gain

    def notes(self, waves: int) -> list[float]:
        """Cents beside each rod: the mean of all turns, and their pattern of so many waves."""
        whole = 600 / math.log(2) / self.slack
        mean = sum(self.turns) / self.rods
        found = [0.0] * self.rods
        angles = [2 * math.pi * waves * rod / self.rods for rod in range(self.rods)]
        for shape in ([math.cos(angle) for angle in angles], [math.sin(angle) for angle in angles]):
            size = sum(s * s for s in shape)
            if size > 1e-9 and 2 * waves <= self.rods:
                much = sum(t * s for t, s in zip(self.turns, shape, strict=True)) / size
                found = [f + whole * self.gain * much * s for f, s in zip(found, shape, strict=True)]
        return [f + whole * mean for f in found]

    def round(self) -> dict[str, F]:
        """The first notes as they are read."""
        return cents(self.notes(2))

    def spread(self) -> float:
        """Of the first notes, in cents."""
        return max(self.notes(2)) - min(self.notes(2))


# --- moves -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("rods", range(4, 13))
def test_an_even_head_is_left_alone(rods: int) -> None:
    """Equal notes lead to no move, for even and odd counts of rods."""
    found = advice(first=[cents([0.0] * rods)])
    assert (found["stop"], found["spread"], found["expected"]) == ("even", 0, 0)
    assert set(moves(found)) == {0.0}


@pytest.mark.parametrize("rods", range(5, 13))
def test_the_low_rods_are_tightened(rods: int) -> None:
    """On an oval of 40 cents the lowest rods are tightened, the highest loosened, and the head's note stays."""
    heard = wave(rods, 20)
    found = advice(first=[cents(heard)])
    given_ = moves(found)
    assert found["stop"] == "turn"
    assert found["expected"] < found["spread"] / 4
    assert given_[heard.index(max(heard))] < 0 < given_[heard.index(min(heard))]
    assert sum(m * h for m, h in zip(given_, heard, strict=True)) < 0
    assert abs(sum(given_)) / rods <= 1 / 16


@pytest.mark.parametrize("rods", [6, 8, 10, 12])
def test_opposite_rods_move_alike(rods: int) -> None:
    """While the spread is large, opposite rods get the same, since no note tells one from the other."""
    for turned in (0.0, 0.4, 1.1):
        given_ = moves(advice(first=[cents(wave(rods, 45, turned=turned))]))
        assert given_[: rods // 2] == given_[rods // 2 :]


heads = st.integers(4, 12).flatmap(
    lambda rods: st.lists(st.floats(-60, 60).map(lambda c: round(c, 2)), min_size=rods, max_size=rods)
)


@settings(max_examples=60)
@given(heads, st.floats(0.3, 4), st.none() | st.floats(100, 600))
def test_a_move_is_one_for_a_hand(heard: list[float], slack: float, want: float | None) -> None:
    """Every move is a sixteenth or some, at most half a turn; opposite rods never differ by more than a sixteenth; no
    rod is loosened past half of what holds it, and no move is promised to make the head less even."""
    wanted = {} if want is None else {"want": F(want)}
    found = advice(first=[cents(heard)], slack=F(slack), **wanted)
    given_ = moves(found)
    assert all((16 * each).is_integer() and abs(each) <= 0.5 for each in given_)
    if len(given_) % 2 == 0:
        half = len(given_) // 2
        assert all(abs(a - b) <= 1 / 16 for a, b in zip(given_[:half], given_[half:], strict=True))
    assert min(given_) >= -slack * 0.51
    assert found["stop"] == "turn" or set(given_) == {0.0}
    if want is None:
        assert found["expected"] <= found["spread"] + F(1, 10)


@pytest.mark.parametrize("rods", [5, 6, 7, 8, 9, 10, 12])
def test_counting_from_another_rod_moves_the_same_rods(rods: int) -> None:
    """Rods numbered from another rod, or the other way round, get the same moves under their new numbers.

    With eight and twelve rods two sets of moves can be exactly as good; there what they come to is the same.
    """
    heard = [a + b for a, b in zip(wave(rods, 23, turned=0.3), wave(rods, 1, 1, 0.2), strict=True)]
    straight = advice(first=[cents(heard)])
    numbered = [heard[shift:] + heard[:shift] for shift in range(1, rods)]
    for shift, notes in enumerate([*numbered, heard[::-1]], start=1):
        found = advice(first=[cents(notes)])
        assert abs(found["expected"] - straight["expected"]) <= F(1, 10)
        if rods % 4:
            was = moves(straight)
            assert moves(found) == (was[::-1] if notes == heard[::-1] else was[shift:] + was[:shift])


def test_a_lopsided_head_is_not_called_more_than_even_notes() -> None:
    """Tight on one side and slack on the other, a head's notes are even; the answer says that notes cannot tell."""
    for rods in (6, 8, 10, 12):
        lopsided = Linear(rods, [1.5 * 0.1 * each for each in wave(rods, 1, 1)])
        assert lopsided.spread() < 0.1
        found = advice(first=[lopsided.round()])
        assert (found["stop"], set(moves(found))) == ("even", {0.0})
        assert found["cannot_see"].startswith("one-side")


@pytest.mark.parametrize(
    ("rods", "second", "said"),
    [
        (6, False, "one-side"),
        (8, False, "one-side-and-neighbours"),
        (8, True, "one-side"),
        (10, True, "one-side"),
        (10, False, "one-side-and-neighbours"),
        (12, True, "one-side-and-neighbours"),
        (7, False, "one-side"),
    ],
)
def test_what_the_notes_cannot_tell(rods: int, second: bool, said: str) -> None:
    """One note holds the oval only and the second the pattern of four; what is left of the even patterns is named.

    Of N rods the even patterns are k = 2, 4 .. N/2; a mode pair of m diameters answers to k = 2 m alone.
    """
    flat = cents([0.0] * rods)
    assert advice(first=[flat], **({"second": [flat]} if second else {}))["cannot_see"] == said


def test_the_second_note_shows_pairs_against_their_neighbours() -> None:
    """With even first notes and second notes high at every other pair, those pairs are loosened."""
    found = advice(first=[cents([0.0] * 8)], second=[cents(wave(8, 20, 4), 360.0)])
    assert found["stop"] == "turn"
    assert [math.copysign(1, each) for each in moves(found)] == [-1, 1] * 4
    assert found["spread"] == 0


# --- over rounds -------------------------------------------------------------------------------------------------


def eased(head: Linear, rounds: int, **given_: Any) -> tuple[list[str], list[float]]:
    """Rounds of advice followed to the letter: what was said, and the spread after each."""
    first: list[Any] = []
    turned: list[Any] = []
    said, spreads = [], []
    for _ in range(rounds):
        first.append(head.round())
        found = advice(first=first, turned=turned, slack=F(head.slack), **given_)
        turned.append(found["moves"])
        head.turns = [t + m for t, m in zip(head.turns, moves(found), strict=True)]
        said.append(found["stop"])
        spreads.append(head.spread())
        if found["stop"] != "turn":
            break
    return said, spreads


@pytest.mark.parametrize("rods", range(5, 13))
@pytest.mark.parametrize("gain", [0.12, 0.25, 0.4])
def test_a_head_is_evened_whatever_its_gain(rods: int, gain: float) -> None:
    """The gain is learned from what the rounds did: half or nearly twice the usual one is even in four rounds, and then
    the advice stops by itself."""
    head = Linear(rods, [0.18 * each for each in wave(rods, 1, turned=0.5)], gain=gain)
    said, spreads = eased(head, 6)
    assert said[-1] in ("even", "pitch-done")
    assert len(said) <= 4
    assert spreads[-1] <= 5


def test_the_wanted_note_is_reached_in_passes() -> None:
    """A head a third too low is brought up by half a turn a round at most, and ends within half of the least step."""
    head = Linear(8, [0.0] * 8, slack=2.0)
    start = 240.0
    first, turned = [], []
    for _ in range(8):
        note = start * math.sqrt((head.slack + sum(head.turns) / 8) / head.slack)
        first.append(placed([note] * 8))
        found = advice(first=first, turned=turned, slack=F(2), want=F(300))
        if found["stop"] != "turn":
            break
        turned.append(found["moves"])
        head.turns = [t + m for t, m in zip(head.turns, moves(found), strict=True)]
    assert found["stop"] == "even"
    step = 600 / math.log(2) / (head.slack + sum(head.turns) / 8) / 16
    assert abs(1200 * math.log2(note / 300)) <= step / 2 + 5
    assert len(first) >= 3


def test_one_bad_tap_is_seen_through() -> None:
    """A tap 25 cents off in the second round does not lead to a move for it, and is not called a fault of the drum."""
    head = Linear(10, [0.0] * 10)
    good = head.round()
    bad = dict(good) | {"3": good["3"] * F(2 ** (25 / 1200))}
    found = advice(first=[good, bad])
    assert (found["stop"], found["spread"] < 5) == ("even", True)


def test_opposites_that_disagree_again_are_a_fault() -> None:
    """The same rod higher than its opposite in two rounds running goes to inspection; once, or the other way, not."""
    flat = [0.0] * 8
    high, other = [20.0, *flat[1:]], [*flat[:4], 20.0, *flat[5:]]
    assert advice(first=[cents(flat), cents(high)])["stop"] != "inspect"
    assert advice(first=[cents(other), cents(high)])["stop"] != "inspect"
    found = advice(first=[cents(high), cents(high)])
    assert (found["stop"], set(moves(found))) == ("inspect", {0.0})


def test_a_change_nobody_noted_is_believed() -> None:
    """Where the last notes are far from what was expected, those notes lead, not what was believed before."""
    found = advice(first=[cents([0.0] * 8), cents(wave(8, 40))], turned=[placed([0] * 8)])
    assert found["spread"] > 60
    assert found["stop"] == "turn"


def test_a_round_that_is_not_whole_is_passed_over() -> None:
    """An earlier round with a rod missing counts for nothing but its turns; a last one gives no result."""
    whole, broken = cents(wave(6, 20)), cents(wave(6, 20)) | {"4": None}
    assert advice(first=[broken, whole])["stop"] == "turn"
    assert why(first=[whole, broken]) == "rod 4 has no note"


@pytest.mark.parametrize(
    ("given_", "says"),
    [
        ({"first": []}, "no notes"),
        ({"first": [None]}, "no notes"),
        ({"first": [cents([0.0] * 3)]}, "4 to 24 rods, and the last round has 3"),
        ({"first": [cents([0.0] * 25)]}, "has 25"),
        ({"first": [cents([0.0] * 8), cents([0.0] * 6)]}, "round 1 has 8 rods"),
        ({"first": [placed([0] * 6)]}, "not above 0 Hz"),
        ({"first": [cents([0.0] * 6)], "slack": F(0)}, "up from slack"),
        ({"first": [cents([0.0] * 6)], "slack": F(21)}, "up from slack"),
        ({"first": [cents([0.0] * 6)], "want": F(0)}, "wanted note"),
        ({"first": [cents([0.0] * 6)], "limit": F(0)}, "limit"),
        ({"first": [cents([0.0] * 6)] * 2, "turned": [placed([21] * 6)]}, "more than 20 turns after round 1"),
        ({"first": [cents([0.0] * 6)], "turned": [placed([1] * 6)]}, "tap all of them again"),
    ],
)
def test_no_advice_without_a_whole_round(given_: dict[str, Any], says: str) -> None:
    """What the advice cannot rest on is refused with the reason."""
    assert says in why(**given_)


rounds_of_six = st.lists(
    st.tuples(
        st.lists(st.none() | st.floats(1e-3, 1e6), min_size=6, max_size=6),
        st.none() | st.lists(st.none() | st.floats(-20, 20), min_size=6, max_size=6),
    ),
    min_size=1,
    max_size=4,
)


@settings(max_examples=150)
@given(rounds_of_six, st.floats(1e-6, 20), st.none() | st.floats(1e-3, 1e6))
def test_whatever_was_noted_is_answered(rounds: list[Any], slack: float, want: float | None) -> None:
    """However wild the notes and turns, the answer keeps what it declares or says why there is none."""
    some = [[None if each is None else F(each) for each in row] if row else None for one in rounds for row in one]
    tables = [None if row is None else {str(n): each for n, each in enumerate(row, 1)} for row in some]
    given_: dict[str, Any] = {"first": tables[::2], "turned": [*tables[1:-1:2], None], "slack": F(slack)}
    found = compute("rod-advice", given_ | ({} if want is None else {"want": F(want)}))
    whole = all(each is not None for each in rounds[-1][0])
    assert isinstance(found, dict) == whole


# --- the filter --------------------------------------------------------------------------------------------------


def test_readings_are_weighed_by_how_sure_they_are() -> None:
    """Two readings of one quantity come to their weighted mean and its variance: 1 / (1/4 + 1/1) = 0.8."""
    belief = Belief([0.0], [[1e12]])
    belief.read([1.0], 10.0, 4.0)
    belief.read([1.0], 20.0, 1.0)
    assert belief.mean[0] == pytest.approx(18.0)
    assert belief.cov[0][0] == pytest.approx(0.8)


def test_a_gain_is_learned_from_what_a_turn_did() -> None:
    """A note known to be 0 that stands at 30 after a turn of 2 tells a gain near 15."""
    belief = Belief([0.0, 10.0], [[0.01, 0.0], [0.0, 25.0]])
    belief.carry([[1.0, 2.0], [0.0, 1.0]], [0.01, 0.0])
    belief.read([1.0, 0.0], 30.0, 0.01)
    assert belief.mean[1] == pytest.approx(15.0, abs=0.05)
    assert belief.cov[1][1] < 0.05


# --- rounds of JSON numbers --------------------------------------------------------------------------------------

ASKED: dict[str, Any] = {
    "rods": 6,
    "turns_past_slack": 1.5,
    "rounds": [{"first_hz": [242, 240, 238, 242, 240, 238], "second_hz": None, "turned": None}],
}


def test_the_form_in_rounds() -> None:
    """Numbers in rod order come back as JSON numbers and a sentence, and only rods that move are named."""
    found = advise_in_rounds(ASKED)
    assert set(found) == {"moves", "stop", "spread_cents", "expected_spread_cents", "cannot_see"}
    assert found["stop"] is False
    assert all(set(move) == {"rod", "turns"} and move["turns"] for move in found["moves"])
    assert found["spread_cents"] == pytest.approx(1200 * math.log2(242 / 238), abs=0.5)
    assert "one side" in found["cannot_see"]
    generic = compute_json("rod-advice", {"slack": 1.5, "first": [ASKED["rounds"][0]["first_hz"]]})
    assert {str(m["rod"]): m["turns"] for m in found["moves"]} == {
        rod: float(turns) for rod, turns in generic["outputs"]["moves"].items() if float(turns)
    }


def test_rounds_carry_their_turns_and_second_notes() -> None:
    """Turns between rounds, the second note, and the wanted note and limit beside are all taken in."""
    one = {"first_hz": [240.0] * 8, "second_hz": [360.0, 350.0] * 4, "turned": [0.0625, 0] * 4}
    two = {"first_hz": [240.0] * 8, "second_hz": [355.0] * 8, "turned": None}
    found = advise_in_rounds({"turns_past_slack": 2, "rounds": [one, two], "want_hz": 240, "limit_cents": 10})
    assert (found["stop"], found["moves"]) == (True, [])
    high = advise_in_rounds({"turns_past_slack": 2, "rounds": [one | {"turned": None}]})
    assert {move["rod"] % 2 for move in high["moves"] if move["turns"] < 0} == {1}


def test_a_fault_is_named_in_the_sentence() -> None:
    """Opposites that disagree again stop the advice, and the sentence says what to look for."""
    bad = {"first_hz": [244, 240, 240, 240, 240, 240]}
    found = advise_in_rounds({"rods": 6, "turns_past_slack": 1.5, "rounds": [bad, bad]})
    assert (found["stop"], found["moves"]) == (True, [])
    assert "burr" in found["cannot_see"]


@pytest.mark.parametrize(
    ("payload", "says"),
    [
        (ASKED | {"rods": 7}, 'round 1: first_hz has 6 values, and rods says "7"'),
        (ASKED | {"rods": True}, "rods says"),
        (ASKED | {"rounds": []}, "one round or more"),
        (ASKED | {"rounds": [5]}, "one round or more"),
        (ASKED | {"rounds": [{}] * 10_001}, "at most 10000"),
        (ASKED | {"rounds": [{"first_hz": 5}]}, "round 1: first_hz must be a list"),
        (ASKED | {"rounds": [{"third_hz": []}]}, 'takes no "third_hz"'),
        (ASKED | {"slack": 1}, 'takes no "slack"'),
        (ASKED | {"rounds": [{"first_hz": [240, 240, 240, 240, 240, "H3"]}]}, "first"),
        ({"rounds": ASKED["rounds"]}, "needs slack"),
    ],
)
def test_rounds_that_cannot_be_used_are_refused(payload: dict[str, Any], says: str) -> None:
    """A request that is none is refused in one sentence that names the round."""
    assert asks_in_rounds("rod-advice", payload)
    with pytest.raises(BenchwalkError) as refused:
        advise_in_rounds(payload)
    assert says in str(refused.value)


def test_rounds_without_a_result_say_why() -> None:
    """A round that is not whole gives no result, with the reason, as any sum does."""
    found = advise_in_rounds(ASKED | {"rounds": [{"first_hz": [240, None, 240, 240, 240, 240]}]})
    assert (found["outputs"], found["no_result"]) == ({}, "rod 2 has no note")


@pytest.mark.parametrize("flags", [[], ["--json"]])
def test_the_command_answers_in_json(flags: list[str]) -> None:
    """`benchwalk sum rod-advice` answers rounds with JSON, asked for or not."""
    code = "import sys; from benchwalk.__main__ import main; sys.exit(main())"
    ran = subprocess.run(
        [sys.executable, "-c", code, "sum", "rod-advice", *flags],
        input=json.dumps(ASKED),
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert ran.returncode == 0, ran.stderr
    assert json.loads(ran.stdout) == advise_in_rounds(ASKED)
