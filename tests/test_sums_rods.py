"""Sums about rods and one head, each against a source: evenness and verdict, hoop, bring-up, notes and pull.

Rod advice has a file of its own, test_sums_advice.py.
"""

from __future__ import annotations

import math
from fractions import Fraction as F
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import jn_zeros

from benchwalk.quantities import Range, convert, parse_quantity
from benchwalk.signatures import NoResult
from benchwalk.sums import compute, compute_json
from benchwalk.sums.guarded import verdict
from benchwalk.sums.rim import fitted, pattern, shapes
from benchwalk.sums.rods import MM_A_TURN
from benchwalk.sums.tuning import FIRST_NOTE, THREAD, film_pull


def outputs(name: str, **given_: Any) -> dict[str, Any]:
    """The outputs of a sum that has a result."""
    found = compute(name, given_)
    assert isinstance(found, dict), found
    return found


def why(name: str, **given_: Any) -> str:
    """The reason for no result."""
    found = compute(name, given_)
    assert isinstance(found, NoResult), found
    return found.why


def placed(values: list[Any]) -> dict[str, F]:
    """Values in rod order as a sum takes them."""
    return {str(rod): F(value).limit_denominator(10**9) for rod, value in enumerate(values, 1)}


def head(cents: list[float], base: float = 240.0) -> dict[str, F]:
    """Notes that lie so many cents over `base`."""
    return placed([base * 2 ** (c / 1200) for c in cents])


def oval(rods: int, size: float, turned: float = 0.0, waves: int = 2) -> list[float]:
    """A pattern of so many waves, `size` from lowest to highest all round."""
    return [size / 2 * math.cos(2 * math.pi * waves * rod / rods - turned) for rod in range(rods)]


# --- the verdict near a limit ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "said"),
    [("9.92", "within"), ("9.95", "too-close"), ("10", "too-close"), ("10.05", "too-close"), ("10.08", "outside")],
)
def test_a_guard_band_of_the_uncertainty(value: str, said: str) -> None:
    """With a limit of 10.00 and U of 0.07 only what clears the limit by U is called.

    The five values are our own fixtures for the guard band w = U of ILAC-G8:09/2019, 4.2.2.
    """
    assert verdict(F(value), F("0.07"), F(10)) == said


def test_exactly_on_a_limit_is_inside() -> None:
    """Value and uncertainty that just meet the limit are within; a value just U above it is not yet outside."""
    assert verdict(F("9.93"), F("0.07"), F(10)) == "within"
    assert verdict(F("10.07"), F("0.07"), F(10)) == "too-close"
    assert verdict(F(10), F(0), F(10)) == "within"
    assert verdict(F("10.001"), F(0), F(10)) == "outside"


# --- patterns round the rim --------------------------------------------------------------------------------------


@given(st.integers(2, 24), st.integers(1, 12))
def test_a_pattern_is_told_up_to_half_the_rods(rods: int, waves: int) -> None:
    """Of N rods, patterns of up to N/2 waves have two shapes, one at N/2, and what is built of them is found."""
    across = shapes(rods, waves)
    assert len(across) == (0 if 2 * waves > rods else 1 if 2 * waves == rods else 2)
    amounts = [3.0, -2.0][: len(across)]
    fit = fitted([7 + each for each in pattern(amounts, across, rods)], waves)
    assert fit.mean == pytest.approx(7)
    assert fit.amounts == pytest.approx(amounts)
    assert fit.squares == pytest.approx(0, abs=1e-9)


# --- rod-evenness ------------------------------------------------------------------------------------------------


@given(st.integers(2, 12), st.data())
def test_the_two_opposite_rods_that_disagree_most_are_named(half: int, data: st.DataObject) -> None:
    """One rod off all others is named with the rod across from it, the lower number first."""
    rod = data.draw(st.integers(1, 2 * half))
    cents = [0.0] * (2 * half)
    cents[rod - 1] = 20
    found = outputs("rod-evenness", notes=head(cents))
    assert {found["apart"], found["across"]} == {F(rod), F((rod - 1 + half) % (2 * half) + 1)}
    assert found["apart"] < found["across"]


def test_with_an_odd_count_no_opposite_rods_are_named() -> None:
    """Where no rod has an opposite, neither a disagreement nor two rods are given."""
    found = outputs("rod-evenness", notes=head([0, 20, 0, 0, 0]))
    assert (found["opposite"], found["apart"], found["across"]) == (None, None, None)


@given(st.sampled_from([5, 7, 9, 11]), st.floats(0, 6.3), st.data())
def test_with_an_odd_count_the_rod_that_strays_is_named_and_by_how_much(
    rods: int, turned: float, data: st.DataObject
) -> None:
    """One rod off what the others make is told as far off as it is, on whatever oval; the oval alone strays nowhere."""
    rod, cents = data.draw(st.integers(1, rods)), oval(rods, 15, turned)
    assert outputs("rod-evenness", notes=head(cents))["stray"] <= F("0.1")
    cents[rod - 1] -= 20
    found = outputs("rod-evenness", notes=head(cents))
    assert (found["strayed"], abs(found["stray"] - 20) <= F("0.1")) == (rod, True)


@pytest.mark.parametrize("rods", [3, 4, 6, 8, 10])
def test_where_rods_have_opposites_or_are_too_few_none_strays(rods: int) -> None:
    """With an even count the opposite rods tell it, and three notes hold nothing that could be off."""
    found = outputs("rod-evenness", notes=head([20.0] + [0.0] * (rods - 1)))
    assert (found["stray"], found["strayed"]) == (None, None)



@pytest.mark.parametrize("rods", range(5, 13))
def test_an_oval_is_found_whatever_its_direction(rods: int) -> None:
    """An oval of 12 cents is told as 12 cents for any count of five rods or more, odd ones too, wherever it points."""
    for turned in (0.0, 0.7, 2.0):
        found = outputs("rod-evenness", notes=head(oval(rods, 12, turned)))
        assert found["oval"] == 12
        assert found["sure"] == F(round(10 * 4 * math.sqrt(2 / rods)), 10)


def test_four_rods_hold_half_an_oval() -> None:
    """With four rods the oval along them is told, and the one between them is not in the notes at all."""
    assert outputs("rod-evenness", notes=head(oval(4, 12)))["oval"] == 12
    assert outputs("rod-evenness", notes=head(oval(4, 12, math.pi / 2)))["oval"] == 0


@pytest.mark.parametrize("rods", [2, 3])
def test_too_few_rods_are_never_called(rods: int) -> None:
    """Under four rods there is no pattern to fit, and so it is too close to call."""
    found = outputs("rod-evenness", notes=head([0.0] * rods))
    assert (found["oval"], found["sure"], found["verdict"]) == (None, None, "too-close")


@pytest.mark.parametrize("rods", [6, 8, 10, 12])
def test_a_lopsided_pattern_of_notes_is_an_error_of_taps(rods: int) -> None:
    """Notes cannot differ between opposite rods: where they do it is no oval, and it makes the verdict less sure."""
    found = outputs("rod-evenness", notes=head(oval(rods, 20, waves=1)))
    assert found["oval"] <= F(1, 10)
    assert found["opposite"] >= 19
    assert found["sure"] > outputs("rod-evenness", notes=head([0.0] * rods))["sure"]
    assert found["verdict"] == "too-close"


def test_the_verdict_follows_oval_and_doubt() -> None:
    """Ten rods, notes sure to 1 cent: U of the oval is 4 sqrt(2/10) = 1.8; the limit of 10 cents is judged with it."""
    said = {
        size: outputs("rod-evenness", notes=head(oval(10, size)), limit=F(10))["verdict"]
        for size in (8, 8.2, 8.3, 10, 11.8, 11.9)
    }
    assert list(said.values()) == ["within", "within", "too-close", "too-close", "too-close", "outside"]


def test_the_house_limit_is_the_larger_of_ten_cents_and_one_hertz() -> None:
    """At 80 Hz one Hz is 21.5 cents, so an oval of 15 cents is within there, and outside at 400 Hz.

    1 Hz in cents: 1200 log2(81/80) = 21.51, by definition. The limit: common practice, no published source.
    """
    low, high = (outputs("rod-evenness", notes=head(oval(10, 15), base)) for base in (80.0, 400.0))
    assert (low["verdict"], high["verdict"]) == ("within", "outside")


def test_no_evenness_while_the_other_head_rings() -> None:
    """A ringing other head can pass for an oval: there is no result, with the cure; damped or off it goes on."""
    notes = head([0.0] * 8)
    assert "damp it" in why("rod-evenness", notes=notes, other="rings")
    assert outputs("rod-evenness", notes=notes, other="damped") == outputs("rod-evenness", notes=notes, other="off")


def test_the_larger_of_two_doubts_counts() -> None:
    """Doubts heard with the notes (about 95 %) widen what opposite rods say and never narrow it; one alone will do."""
    notes = head([0.0] * 8)
    bare = outputs("rod-evenness", notes=notes)["sure"]
    doubts = {told: {rod: F(told) for rod in notes} for told in ("0.2", "6")}
    heard = {told: outputs("rod-evenness", notes=notes, sure=sure)["sure"] for told, sure in doubts.items()}
    assert heard["0.2"] == bare == 2
    assert heard["6"] == 3 * bare
    assert outputs("rod-evenness", notes=notes, sure=dict.fromkeys(notes) | {"3": F(6)})["sure"] == 3 * bare
    assert outputs("rod-evenness", notes=notes, sure=dict.fromkeys(notes))["sure"] == bare


@pytest.mark.parametrize(("key", "value"), [("sure", {"1": F(-1)}), ("limit", F(-1))])
def test_evenness_needs_sensible_limits(key: str, value: object) -> None:
    """A doubt or a limit below zero gives no result."""
    assert "cents" in why("rod-evenness", notes=head([0.0] * 6), **{key: value})


def test_noise_alone_is_seldom_called_outside() -> None:
    """On an even head read to 2 cents the spread of single notes passes 5 cents, and the verdict never is outside.

    Noise alone makes a spread of 2.5 to 3.3 standard deviations for 6 to 12 readings (order statistics).
    """
    import random

    chance, spreads, said = random.Random(4), [], []
    for _ in range(60):
        found = outputs("rod-evenness", notes=head([chance.gauss(0, 2) for _ in range(10)]), limit=F(5))
        spreads.append(found["spread"])
        said.append(found["verdict"])
    assert 5 < sum(spreads) / 60 < 7.5
    assert "outside" not in said


# --- hoop-depth --------------------------------------------------------------------------------------------------


def test_the_thread_of_a_rod() -> None:
    """24 threads to the inch are 1.0583 mm a turn (No. 12-24 UNC, ASME B1.1, from memory); 0.1 mm is 0.094 turn."""
    assert float(MM_A_TURN) == pytest.approx(1.0583, abs=5e-5)
    assert float(F(1, 10) / MM_A_TURN) == pytest.approx(0.094, abs=5e-4)


@pytest.mark.parametrize("rods", [5, 6, 8, 9, 10, 12])
@pytest.mark.parametrize(("waves", "said"), [(1, "one-side"), (2, "oval")])
def test_a_hoop_is_called_what_it_is(rods: int, waves: int, said: str) -> None:
    """A tilt of 0.8 mm is one side high, an oval of 0.8 mm is oval, and the turns would level either by the thread."""
    depth = [20 + each for each in oval(rods, 0.8, waves=waves)]
    found = outputs("hoop-depth", depth=placed(depth))
    assert found["level"] == said
    assert found["deepest"] == 1
    assert (found["tilt"], found["oval"]) == ((F(8, 10), 0) if waves == 1 else (0, F(8, 10)))
    for rod, each in enumerate(depth, 1):
        assert abs(float(found["turns"][str(rod)]) * 25.4 / 24 - (each - 20)) <= 25.4 / 24 / 32 + 1e-9


def test_a_hoop_within_the_limit_is_left_alone() -> None:
    """Exactly 0.3 mm of tilt still is level and asks for no turn; a hundredth more is not."""
    level = outputs("hoop-depth", depth=placed([20 + each for each in oval(8, 0.3, waves=1)]))
    assert level["level"] == "level"
    assert set(level["turns"].values()) == {0}
    assert outputs("hoop-depth", depth=placed([20 + each for each in oval(8, 0.31, waves=1)]))["level"] == "one-side"


def test_one_deep_rod_is_uneven() -> None:
    """A single rod off by 1 mm of ten is neither a tilt nor an oval, and that rod gets nearly all of the turn."""
    found = outputs("hoop-depth", depth=placed([20] * 6 + [21] + [20] * 3))
    assert (found["level"], found["deepest"]) == ("uneven", 7)
    assert found["turns"]["7"] == F(1, 2)  # 0.9 mm is more than half a turn, and that is the most at once


def test_few_rods_have_no_oval_and_two_no_plane() -> None:
    """Three rods hold a plane and no oval; with two there is no plane."""
    assert outputs("hoop-depth", depth=placed([20, 20, 21]))["oval"] is None
    assert "there are 2" in why("hoop-depth", depth=placed([20, 21]))
    assert "rod 2 has no depth" in why("hoop-depth", depth={"1": F(20), "2": None, "3": F(20)})
    assert "below 0" in why("hoop-depth", depth=placed([20, 21, 20]), limit=F(-1))


# --- own-split ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("oval_", "depth", "slack", "said"),
    [
        (40, "0", "2", "head"),  # a level hoop and a split all the same
        (40, "0.3", "1.5", "rods"),
        (5, "0", "1.5", "cannot-tell"),  # less than a gauge tells
        (3, "0.6", "1.5", "cannot-tell"),  # an oval hoop and even notes: beds, or a bent hoop
        (100, "0.2", "1.5", "head"),
    ],
)
def test_whose_an_oval_is(oval_: int, depth: str, slack: str, said: str) -> None:
    """The hoop's oval explains so many cents, give or take what 0.1 mm would; what is over is the head's own."""
    assert outputs("own-split", oval=F(oval_), depth_oval=F(depth), slack=F(slack))["whose"] == said


def test_without_the_turns_up_from_slack_it_is_told_with_care() -> None:
    """Without them one turn is taken, where a gauge tells least: no head is blamed that one turn would not blame."""
    assert outputs("own-split", oval=F(30), depth_oval=F(0)) == outputs(
        "own-split", oval=F(30), depth_oval=F(0), slack=F(1)
    )
    assert "above zero" in why("own-split", oval=F(30), depth_oval=F(0), slack=F(0))
    assert "below zero" in why("own-split", oval=F(-1), depth_oval=F(0))


# --- tension-line and turns-to-note: the root law ----------------------------------------------------------------


def line(slack: float, slope: float, turns: list[float], gives: float = 1.0) -> dict[str, Any]:
    """Rounds of a bring-up on the line, the square of the last note off by a factor."""
    notes = [math.sqrt(slope * (t - slack)) for t in turns]
    notes[-1] *= math.sqrt(gives)
    return {"note": [F(n).limit_denominator(10**6) for n in notes], "turns": [F(t) for t in turns]}


@given(st.floats(-0.3, 0.4), st.floats(5000, 90000))
def test_the_line_finds_slack_and_stiffness(slack: float, slope: float) -> None:
    """Rounds whose squared notes lie on a line give back where it began and how steep it is."""
    found = outputs("tension-line", **line(slack, slope, [0.5, 1.0, 1.5, 1.75]))
    assert float(found["slack"]) == pytest.approx(slack, abs=0.006)
    assert float(found["past"]) == pytest.approx(1.75 - slack, abs=0.006)
    assert float(found["slope"]) == pytest.approx(slope, rel=2e-4)
    assert (found["bend"], found["off"]) == ("straight", 0)


@pytest.mark.parametrize(
    ("gives", "said"), [(0.9, "softer"), (0.96, "straight"), (1.0, "straight"), (1.04, "straight"), (1.1, "stiffer")]
)
def test_a_bend_is_seen_at_the_last_round(gives: float, said: str) -> None:
    """A last note whose square is off the earlier line by a tenth is a bend, 4 percent is none; slack then rests on the
    rounds before it."""
    found = outputs("tension-line", **line(0.1, 40000, [0.5, 1.0, 1.5, 2.0], gives))
    assert found["bend"] == said
    assert float(found["off"]) == pytest.approx((gives - 1) * 100, abs=0.06)
    if said != "straight":
        assert float(found["slack"]) == pytest.approx(0.1, abs=0.006)


@pytest.mark.parametrize(
    ("note", "turns", "says"),
    [
        ([200, 210], [1, 2], "there are 2"),
        ([200, None, 220, 230], [1, 2, None, 3], "there are 2"),
        ([200, 190, 180], [1, 2, 3], "does not rise"),
        ([200, 200, 200], [1, 2, 3], "does not rise"),
        ([200, 210, 220], [1, 1, 1], "does not rise"),
        ([200, 0, 220], [1, 2, 3], "not above 0 Hz"),
    ],
)
def test_no_line_without_a_rise(note: list[Any], turns: list[Any], says: str) -> None:
    """Two rounds, or notes that do not rise with the turns, make no line."""
    assert says in why("tension-line", note=note, turns=turns)


def test_note_goes_as_the_root_of_the_turns() -> None:
    """Four times the turns from slack is an octave; near 1.5 turns a turn is 577 cents (600 / ln 2 / 1.5)."""
    assert outputs("turns-to-note", note=F(200), want=F(400), slack=F(1))["turns"] == 3
    cents = 1200 * math.log2(math.sqrt((1.5 + 1e-6) / 1.5)) / 1e-6
    assert cents == pytest.approx(600 / math.log(2) / 1.5, rel=1e-4)


@pytest.mark.parametrize(
    ("want", "turns", "reach"),
    [
        ("240", "0", "there"),
        ("241", "0", "there"),
        ("250", "1/8", "turn"),
        ("277", "1/2", "turn"),
        ("299", "13/16", "far"),
        ("230", "-1/8", "slacken"),
    ],
)
def test_turns_to_a_note(want: str, turns: str, reach: str) -> None:
    """From 240 Hz at 1.5 turns up from slack: 1.5 ((want / 240)^2 - 1) to the nearest sixteenth, in hand's terms."""
    found = outputs("turns-to-note", note=F(240), want=F(want), slack=F(3, 2))
    assert (found["turns"], found["reach"]) == (F(turns), reach)
    half = 240 * math.sqrt((1.5 + float(F(turns)) / 2) / 1.5)
    assert float(found["half_note"]) == pytest.approx(half, abs=0.051)


@given(st.fractions(1, 2000), st.fractions(1, 2000), st.fractions(F(1, 100), 10))
def test_turns_never_loosen_past_slack_by_half(note: F, want: F, slack: F) -> None:
    """Whatever is wanted, half of the way there still leaves the rod pulling, and its note lies on the way."""
    found = outputs("turns-to-note", note=note, want=want, slack=slack)
    assert found["half_note"] >= 0
    assert (found["turns"] > 0) == (found["reach"] in ("turn", "far"))
    assert found["turns"] >= -slack - F(1, 32)


@pytest.mark.parametrize("given_", [{"note": 0}, {"want": 0}, {"slack": 0}, {"slack": -1}])
def test_no_turns_from_nothing(given_: dict[str, int]) -> None:
    """A note or slack that is not above zero gives no turns."""
    assert "above zero" in why("turns-to-note", **({"note": F(240), "want": F(250), "slack": F(1)} | given_))


# --- shell-interval ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("steps", "apart"),
    [
        *((0, "on-it"), (0.5, "on-it"), (0.51, "near"), (-1, "near"), (2, "near")),
        *((2.01, "third"), (-3, "third"), (3.01, "far"), (12, "far")),
    ],
)
def test_how_far_a_head_lies_from_its_shell(steps: float, apart: str) -> None:
    """Half steps are 100 cents by definition; exactly on a bound the nearer word holds; octaves are kept."""
    found = outputs("shell-interval", head=F(200 * 2 ** (steps / 12)), shell=F(200))
    assert (found["cents"], found["apart"]) == (F(round(steps * 1000), 10), apart)


def test_an_interval_needs_two_notes() -> None:
    """A note that is not above zero has no interval."""
    assert "above 0 Hz" in why("shell-interval", head=F(0), shell=F(200))


# --- rod-pull ----------------------------------------------------------------------------------------------------


def test_the_first_note_is_the_zero_of_its_bessel_function() -> None:
    """3.831706 is the first zero of J1: scipy.special agrees, and A&S table 9.5 prints 3.83171."""
    assert pytest.approx(float(jn_zeros(1, 1)[0]), abs=5e-7) == FIRST_NOTE
    assert round(FIRST_NOTE, 5) == 3.83171


@pytest.mark.parametrize(("mil", "pull"), [("3", 914), ("5", 1524), ("7", 2133), ("7.5", 2286), ("10", 3048)])
def test_the_pull_of_a_film(mil: str, pull: int) -> None:
    """An open note of 200 Hz on a 0.1778 m radius, no air: 914 to 3048 N/m for 3 to 10 mil at 1390 kg/m3.

    From f = 2.404826 / (2 pi a) sqrt(T / s), worked out beforehand; the first note is 1.5933 of the open note.
    """
    film = float(convert(F(mil), "mil", "mm"))
    assert film_pull(200 * 3.831706 / 2.404826, 355.6, film) == pytest.approx(pull, abs=0.6)


def test_the_pull_and_torque_of_a_rod() -> None:
    """4 kN/m round 0.1778 m on ten rods is 447 N a rod, and 0.49 N m at K = 0.2: T = K F d, d = 0.216 in.

    Torque formula: Shigley, as cited elsewhere; 0.216 in: No. 12, ASME B1.1, from memory.
    """
    film = 0.254
    note = 3.831706 / (2 * math.pi * 0.1778) * math.sqrt(4000 / (1390 * film / 1000))
    found = outputs("rod-pull", note=F(note), diameter=F("355.6"), film=F("0.254"), rods=F(10))
    assert found["pull"] == 447
    assert found["torque"] == Range(F("0.37"), F("0.61"))
    assert pytest.approx(0.2 * 447 * float(THREAD) / 1000, abs=0.005) == (0.37 + 0.61) / 2


@pytest.mark.parametrize(
    "given_", [{"note": 0}, {"film": 0}, {"diameter": -1}, {"thread": 0}, {"rods": 0}, {"rods": F(5, 2)}]
)
def test_no_pull_of_nothing(given_: dict[str, Any]) -> None:
    """Sizes that are not above zero, and rods that are no whole number, give no pull."""
    usual = {"note": F(240), "diameter": F(356), "film": F(1, 4), "rods": F(10)}
    assert why("rod-pull", **(usual | {key: F(value) for key, value in given_.items()}))


def test_torque_has_its_unit() -> None:
    """A torque is typed in N m, and is no force."""
    assert parse_quantity("0.5 N m", "N m").value == parse_quantity("0.5 Nm", "N m").value == F(1, 2)
    found = compute_json("rod-pull", {"note": 240, "diameter": "14 in", "film": "10 mil", "rods": 10})
    assert found["outputs"]["pull"] == "193"
