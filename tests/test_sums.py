"""The sums: their declarations, what they answer, when they have no result, and their way in and out as JSON."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from fractions import Fraction as F
from importlib import import_module
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchwalk.errors import BenchwalkError, Failure, Misread, UsageError
from benchwalk.quantities import Range, canonical_unit
from benchwalk.signatures import MODULES, SIGNATURES, NoResult, Output
from benchwalk.sums import compute, compute_json, describe
from benchwalk.sums.computing import _settled
from house import PATIENCE

NOTES = {str(rod): F(220) for rod in range(1, 11)}


def why(name: str, **given: Any) -> str:
    """The reason for no result."""
    found = compute(name, given)
    assert isinstance(found, NoResult)
    return found.why


def outputs(name: str, **given: Any) -> dict[str, Any]:
    """The outputs of a sum that has a result."""
    found = compute(name, given)
    assert isinstance(found, dict), found
    return found


# --- declarations ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SIGNATURES)
def test_every_sum_is_declared_whole(name: str) -> None:
    """A signature names its inputs and outputs once, in known units, and says what they are and where it comes from."""
    signature = SIGNATURES[name]
    assert signature.name == name
    assert signature.version >= 1
    assert signature.source
    assert signature.about
    names = [one.name for one in signature.inputs]
    assert len(set(names)) == len(names) > 0
    assert len({one.name for one in signature.outputs}) == len(signature.outputs) > 0
    assert signature.inputs[0].unit != "same"
    for one in (*signature.inputs, *signature.outputs):
        assert one.about, one.name
        assert one.unit is None or canonical_unit(one.unit) == one.unit
        assert (one.kind == "choice") or not one.choices
    assert signature.least_places is None or [one.placed for one in signature.inputs] == [True]
    assert len({one.spoken for one in signature.outputs}) == len(signature.outputs)
    for output in signature.outputs:
        assert output.kind != "choice" or output.choices
        assert len(output.spoken) > 2, "a letter or two is no name to say"
        assert output.resolution is None or output.resolution > 0


@pytest.mark.parametrize("name", MODULES)
def test_every_sum_has_its_function(name: str) -> None:
    """Each sum that can be computed is declared, and its function takes exactly the declared inputs."""
    function = getattr(import_module(f"benchwalk.sums.{MODULES[name]}"), name.replace("-", "_"))
    code = function.__code__
    declared = SIGNATURES[name].inputs
    assert code.co_varnames[: code.co_argcount] == tuple(one.name for one in declared)
    assert len(function.__defaults__ or ()) == sum(one.optional for one in declared)


def test_every_declared_sum_can_be_computed() -> None:
    """No sum is listed that cannot be worked out."""
    assert set(SIGNATURES) == set(MODULES)


def test_the_list_of_sums_is_plain_data() -> None:
    """Every sum is listed as JSON with its inputs, outputs, units and source."""
    listed = json.loads(json.dumps(describe()))
    assert [one["sum"] for one in listed] == list(SIGNATURES)
    room = listed[0]
    assert [one["name"] for one in room["inputs"]] == ["clear", "set", "least", "tolerance"]
    assert room["inputs"][3]["optional"] is True
    assert room["outputs"][0]["resolution"] == "0.1"
    assert [one["said"] for one in room["outputs"]] == ["room", "gap wanted on each side", "spacer"]
    assert all(one["source"] for one in listed)


def test_sums_are_imported_when_asked_for() -> None:
    """Listing sums loads none of them; working one out loads its module and no numerics library."""
    code = (
        "import sys; from benchwalk.sums import compute, describe; describe();"
        "before = [m for m in sys.modules if m.startswith('benchwalk.sums.')];"
        "assert 'benchwalk.sums.arithmetic' not in before, before;"
        "from fractions import Fraction as F; compute('difference', {'a': F(1), 'b': F(2)});"
        "assert 'benchwalk.sums.arithmetic' in sys.modules; assert 'benchwalk.sums.rods' not in sys.modules;"
        "assert not {'numpy', 'scipy', 'textual', 'pydantic'} & set(sys.modules)"
    )
    subprocess.run([sys.executable, "-c", code], check=True, timeout=PATIENCE)


# --- asking for a sum --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "given", "says"),
    [
        ("snare-rom", {}, "'snare-room' is one"),
        ("zzz", {}, "there are snare-room"),
        ("share", {"part": F(1)}, "share needs whole"),
        ("share", {"part": F(1), "whole": F(2), "rest": F(1)}, 'takes no "rest"'),
        ("share", {"part": "1", "whole": F(2)}, 'part must be a number, and "1" was given'),
        ("share", {"part": 0.5, "whole": F(2)}, "an inexact number was given"),
        ("share", {"part": True, "whole": F(2)}, "a yes or no was given"),
        ("share", {"part": Range(F(1), F(2)), "whole": F(2)}, "a range was given"),
        ("share", {"part": {"1": F(1)}, "whole": F(2)}, "something of another kind was given"),
        ("mean", {"values": F(1)}, "a number for each place"),
        ("mean", {"values": [F(1)]}, "a list was given"),
        ("mean", {"values": {1: F(1)}}, "a number for each place"),
        ("mean", {"values": {"1": 0.5}}, "an inexact number was given"),
    ],
)
def test_a_wrong_request_says_what_is_wrong(name: str, given: dict[str, Any], says: str) -> None:
    """An unknown sum, and an input that is unknown, left out or of the wrong kind, is refused with a sentence."""
    with pytest.raises(UsageError) as refused:
        compute(name, given)
    assert says in refused.value.message


@pytest.mark.parametrize(
    ("name", "given"),
    [
        ("snare-room", {"clear": None, "set": F(341), "least": F(1)}),
        ("snare-balance", {"butt": F(4), "strainer": None}),
        ("share", {"part": F(1), "whole": None}),
        ("difference", {"a": None, "b": F(1)}),
        ("spread", {"values": None}),
        ("mean", {"values": None}),
        ("rod-evenness", {"notes": None}),
    ],
)
def test_a_missing_reading_gives_no_result(name: str, given: dict[str, Any]) -> None:
    """Where a required reading is missing there is no result, and the reason names it."""
    missing = next(key for key, value in given.items() if value is None)
    assert why(name, **given).startswith(missing)
    assert "is missing" in why(name, **given)


def test_a_missing_optional_reading_is_as_if_left_out() -> None:
    """An optional input that is missing takes its usual value."""
    given = {"clear": F(350), "set": F(341), "least": F(1)}
    assert outputs("snare-room", **given, tolerance=None) == outputs("snare-room", **given)
    assert outputs("snare-room", **given, tolerance=F(3, 2)) == outputs("snare-room", **given)


@pytest.mark.parametrize(
    ("value", "output"),
    [
        (F(-1), Output("x", "number", low=F(0))),
        (F(2), Output("x", "number", high=F(1))),
        (None, Output("x", "number")),
        ("left", Output("x", "choice", choices=("butt", "strainer"))),
        (F(1), Output("x", "range")),
        (Range(F(1), F(2)), Output("x", "number")),
        (Range(F(-1), F(2)), Output("x", "range", low=F(0))),
        ({"1": F(-1)}, Output("x", "placed", low=F(0))),
    ],
)
def test_a_sum_that_breaks_its_declaration_is_stopped(value: Any, output: Output) -> None:
    """An answer outside what a sum declares is never used: the proof of a procedure rests on the declaration."""
    with pytest.raises(Failure, match="never gives"):
        _settled(value, output, "some-sum")


# --- snare-room and snare-balance (common practice, no published source) -----------------------------------------


def test_the_room_of_a_snare_set() -> None:
    """R is the clear length less the set; each gap wants half of R give or take 1.5 mm; the spacer is half of R."""
    assert outputs("snare-room", clear=F(350), set=F(341), least=F(1)) == {
        "r": F(9),
        "gap": Range(F(3), F(6)),
        "spacer": F(9, 2),
    }


def test_the_wanted_gap_is_never_below_the_least() -> None:
    """The range wanted is cut at the least gap."""
    assert outputs("snare-room", clear=F(345), set=F(341), least=F(1))["gap"] == Range(F(1), F(7, 2))


def test_the_room_is_told_in_tenths() -> None:
    """Outputs are rounded to 0.1 mm, half away from zero as by hand, and so what is shown is what is judged."""
    found = outputs("snare-room", clear=F("350.5"), set=F(342), least=F(1))
    assert found == {"r": F("8.5"), "gap": Range(F("2.8"), F("5.8")), "spacer": F("4.3")}
    assert outputs("snare-room", clear=F(344), set=F("336.55"), least=F(1))["r"] == F("7.5")


@given(st.fractions(-15, 30), st.fractions(-15, 30), st.fractions(0, 40))
def test_two_gaps_against_the_room(butt: F, strainer: F, room: F) -> None:
    """Both gaps are added, and how far off the room that is does not depend on which side is which."""
    found = outputs("snare-gaps", butt=butt, strainer=strainer, room=room)
    assert abs(found["together"] - (butt + strainer)) <= F(1, 20)
    assert abs(found["off"] - abs(butt + strainer - room)) <= F(1, 20)
    assert found == outputs("snare-gaps", butt=strainer, strainer=butt, room=room)


def test_gaps_that_cannot_be_are_off_the_room() -> None:
    """-4 and 6 mm beside a room of 7.5 mm are off by 5.5 mm; 3 and 4.5 mm are not off at all."""
    assert outputs("snare-gaps", butt=F(-4), strainer=F(6), room=F("7.5")) == {"together": F(2), "off": F("5.5")}
    assert outputs("snare-gaps", butt=F(3), strainer=F("4.5"), room=F("7.5"))["off"] == 0


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"clear": F(342), "set": F(341), "least": F(1)}, "two gaps of at least 1 mm need 2 mm"),
        ({"clear": F(340), "set": F(341), "least": F(0)}, "R is -1 mm"),
        ({"clear": F(350), "set": F(0), "least": F(1)}, "above zero"),
        ({"clear": F(350), "set": F(341), "least": F(-1)}, "must not be below zero"),
        ({"clear": F(350), "set": F(341), "least": F(1), "tolerance": F(-1)}, "must not be below zero"),
    ],
)
def test_no_room_no_result(given: dict[str, F], says: str) -> None:
    """Where the set is too long for two gaps, or a length makes no sense, there is no result, with the reason."""
    assert says in why("snare-room", **given)


def test_just_room_enough() -> None:
    """A room of exactly two least gaps still has a result: each gap exactly the least, or up to the tolerance more."""
    found = outputs("snare-room", clear=F(343), set=F(341), least=F(1), tolerance=F(0))
    assert found["gap"] == Range(F(1), F(1))


lengths = st.decimals(0, 500, places=1).map(F)


@given(lengths, lengths, st.decimals(0, 20, places=1).map(F), st.decimals(0, 20, places=1).map(F))
def test_two_gaps_that_make_up_the_room_can_be_right(clear: F, set_: F, least: F, tolerance: F) -> None:
    """Whenever there is a result, halving the room between both sides meets the range; else it never could."""
    found = compute("snare-room", {"clear": clear, "set": set_, "least": least, "tolerance": tolerance})
    half = (clear - set_) / 2
    if isinstance(found, NoResult):
        assert half < least or set_ <= 0 or clear <= 0
    else:
        assert half >= least
        gap = found["gap"]
        assert isinstance(gap, Range)
        assert not gap.empty
        assert gap.contains(found["spacer"])  # type: ignore[arg-type]
        assert gap.low is not None
        assert gap.low >= least


@pytest.mark.parametrize(
    ("butt", "strainer", "tolerance", "side", "by"),
    [
        ("6", "3", None, "strainer", "1.5"),
        ("2", "7", None, "butt", "2.5"),
        ("4.5", "4.5", None, "even", "0"),
        ("-2", "9", None, "butt", "5.5"),
        ("6", "3", "3", "even", "1.5"),
        ("6.1", "3", "3", "strainer", "1.6"),
    ],
)
def test_the_set_lies_too_near_the_smaller_gap(
    butt: str, strainer: str, tolerance: str | None, side: str, by: str
) -> None:
    """The side with the smaller gap is named, with half the difference; a difference of the tolerance still is even."""
    found = outputs("snare-balance", butt=F(butt), strainer=F(strainer), tolerance=F(tolerance) if tolerance else None)
    assert (found["side"], found["by"]) == (side, F(by))
    assert found["difference"] == abs(F(butt) - F(strainer))


def test_a_balance_needs_a_sensible_tolerance() -> None:
    """A tolerance below zero has no meaning and gives no result."""
    assert "below zero" in why("snare-balance", butt=F(1), strainer=F(2), tolerance=F(-1))


# --- arithmetic --------------------------------------------------------------------------------------------------


def test_a_third_is_a_third() -> None:
    """4 turns of 12 are exactly a third: a share is not rounded below a limit of 1/3 it meets."""
    assert outputs("share", part=F(4), whole=F(12))["share"] == F(1, 3)
    assert outputs("share", part=F(8), whole=F(12))["share"] <= F(2, 3)


@pytest.mark.parametrize(
    ("part", "whole", "says"),
    [(0, 0, "above zero"), (1, -2, "above zero"), (13, 12, "13 is no part of 12"), (-1, 12, "-1 is no part of 12")],
)
def test_no_share_of_nothing(part: int, whole: int, says: str) -> None:
    """There is no share of a whole that is not above zero, nor of a part that is none."""
    assert says in why("share", part=F(part), whole=F(whole))


numbers = st.fractions(-1000, 1000, max_denominator=64)
placed = st.dictionaries(st.text(min_size=1, max_size=6), st.none() | numbers, max_size=8)


@given(numbers, numbers)
def test_difference_and_share_by_their_definitions(a: F, b: F) -> None:
    """A difference is what is added to come from one value to the other; a share times its whole is the part."""
    found = outputs("difference", a=a, b=b)
    assert b + found["signed"] == a
    assert found["by"] == max(a, b) - min(a, b)
    ratio = compute("share", {"part": a, "whole": b})
    if isinstance(ratio, dict):
        assert ratio["share"] * b == a  # type: ignore[operator]
    else:
        assert not 0 <= a <= b or b == 0


@given(placed)
def test_spread_and_mean_leave_out_what_is_not_noted(given_: dict[str, F | None]) -> None:
    """Spread and mean are those of the noted places alone, and say so where there are too few."""
    noted = sorted(value for value in given_.values() if value is not None)
    if len(noted) < 2:
        assert "needs two values" in why("spread", values=given_)
    else:
        assert outputs("spread", values=given_)["spread"] == noted[-1] - noted[0]
    if not noted:
        assert "needs a value" in why("mean", values=given_)
    else:
        assert outputs("mean", values=given_)["mean"] * len(noted) == sum(noted)


# --- rod-evenness ------------------------------------------------------------------------------------------------


def test_alike_notes_are_even() -> None:
    """Ten equal notes have no spread; the first rod stands for highest and lowest."""
    found = outputs("rod-evenness", notes=NOTES)
    assert found.items() >= {"spread": 0, "opposite": 0, "highest": 1, "lowest": 1}.items()


def test_spread_in_cents() -> None:
    """One rod a tempered semitone up is 100 cents of spread, and disagrees with its opposite by as much.

    Cents: 1200 log2 of the ratio, by definition. 233.0819 Hz is A#3 (A4 = 440 Hz, ISO 16, from memory).
    """
    found = outputs("rod-evenness", notes=NOTES | {"3": F("233.0819")})
    assert found.items() >= {"spread": 100, "opposite": 100, "highest": 3, "lowest": 1}.items()


def test_opposite_rods_alike_do_not_disagree() -> None:
    """Two opposite rods off by the same do not disagree: that is what pitch can and cannot tell."""
    found = outputs("rod-evenness", notes=NOTES | {"3": F(230), "8": F(230)})
    assert (found["opposite"], found["highest"]) == (0, 3)
    assert found["spread"] == F(round(12000 * math.log2(230 / 220)), 10)


def test_an_odd_count_has_no_opposite_rods() -> None:
    """With five rods no rod has an opposite, and that output is missing; the others are there."""
    found = outputs("rod-evenness", notes={"1": F(220), "2": F(221), "3": F(219), "4": F(220), "5": F(220)})
    assert found["opposite"] is None
    assert (found["highest"], found["lowest"]) == (2, 3)


@pytest.mark.parametrize(
    ("notes", "says"),
    [
        ({}, "there is none"),
        ({"1": F(220)}, "there is one"),
        ({"1": F(220), "2": None}, "rod 2 has no note"),
        ({"1": F(220), "3": F(220)}, "rod 2 has no note"),
        ({"edge A": F(220), "middle": F(220)}, "rod 1 has no note"),
        ({"1": F(220), "2": F(0)}, "not above 0 Hz"),
    ],
)
def test_no_evenness_of_a_half_read_head(notes: dict[str, F | None], says: str) -> None:
    """Evenness is told only of a whole head: every rod, two or more, each with a note."""
    assert says in why("rod-evenness", notes=notes)


@given(st.lists(st.decimals(40, 1200, places=1).map(F), min_size=2, max_size=12), st.integers(0, 11))
def test_evenness_does_not_depend_on_where_counting_starts(notes: list[F], turn: int) -> None:
    """Numbering the rods from another rod changes their numbers, not the spread nor what opposite rods disagree by."""
    turn %= len(notes)
    moved = notes[turn:] + notes[:turn]
    one, other = (
        outputs("rod-evenness", notes={str(n): note for n, note in enumerate(order, 1)}) for order in (notes, moved)
    )
    assert (one["spread"], one["opposite"]) == (other["spread"], other["opposite"])
    assert one["opposite"] is None or one["opposite"] <= one["spread"]
    assert moved[int(other["highest"]) - 1] == notes[int(one["highest"]) - 1] == max(notes)


# --- JSON --------------------------------------------------------------------------------------------------------


def test_a_sum_on_json() -> None:
    """Numbers go in as JSON numbers or typed text and come out as text at their resolution, a range as two ends."""
    found = compute_json("snare-room", {"clear": 350, "set": "341,0 mm", "least": "1 mm", "tolerance": 1.5})
    assert found == {
        "sum": "snare-room",
        "version": 2,
        "outputs": {"r": "9.0", "gap": ["3.0", "6.0"], "spacer": "4.5"},
        "no_result": None,
    }
    assert json.loads(json.dumps(found)) == found


def test_json_without_a_result_says_why() -> None:
    """Where there is no result the outputs are empty and the reason stands beside them."""
    found = compute_json("share", {"part": 1, "whole": 0})
    assert found["outputs"] == {}
    assert "above zero" in found["no_result"]


def test_json_numbers_are_the_decimals_they_are_written_as() -> None:
    """0.1 in JSON is a tenth, in whatever notation the number arrives."""
    assert compute_json("difference", {"a": 0.3, "b": 0.1})["outputs"] == {"by": "0.2", "signed": "0.2"}
    assert compute_json("difference", {"a": 1e-05, "b": 0})["outputs"]["by"] == "0.00001"
    assert compute_json("difference", {"a": json.loads("1E3"), "b": 1})["outputs"]["by"] == "999"


def test_json_places_as_list_or_object() -> None:
    """Values round the head come as a list in rod order, null for one not noted, or as an object by place."""
    listed = compute_json("rod-evenness", {"notes": [220, "A3", "220 Hz", "A#3"]})
    keyed = compute_json("rod-evenness", {"notes": {"1": 220, "2": 220, "3": 220, "4": "A3 +100c"}})
    assert listed == keyed
    wanted = {"spread": "100.0", "opposite": "100.0", "highest": "4", "lowest": "1"}
    assert listed["outputs"].items() >= wanted.items()
    assert compute_json("rod-evenness", {"notes": [220, None]})["no_result"] == "rod 2 has no note"
    assert compute_json("mean", {"values": {"edge A": 1, "middle": None, "edge B": 2}})["outputs"] == {"mean": "1.5"}
    assert compute_json("rod-evenness", {"notes": [220, 221, 222]})["outputs"]["opposite"] is None


def test_json_numbers_of_any_unit_share_one() -> None:
    """A sum that takes any unit reads typed units once the payload names the unit of all its numbers."""
    found = compute_json("difference", {"unit": "mm", "a": "1/4 in", "b": 6})
    assert found["outputs"] == {"by": "0.35", "signed": "0.35"}
    with pytest.raises(Misread, match='say the unit of all numbers as "unit"'):
        compute_json("difference", {"a": "1/4 in", "b": 6})


@pytest.mark.parametrize(
    ("name", "payload", "says"),
    [
        ("share", [1, 2], "takes a JSON object"),
        ("share", {"part": 1}, "needs whole"),
        ("share", {"part": 1, "whole": True}, "share: whole: a number is wanted"),
        ("share", {"part": 1, "whole": [2]}, "share: whole: a number is wanted"),
        ("share", {"part": 1, "whole": float("nan")}, "none that can be counted with"),
        ("share", {"part": 1, "whole": float("inf")}, "none that can be counted with"),
        ("share", {"part": 1, "whole": 10**5000}, "too large or too small"),
        ("share", {"part": 1, "whole": 1e300}, "too large or too small"),
        ("share", {"part": 1, "whole": 1e-300}, "too large or too small"),
        ("share", {"part": 1, "whole": "1,000"}, 'share: whole: "1,000" can be read in two ways'),
        ("share", {"part": 1, "whole": 2, "unit": 5}, "the unit must be a word"),
        ("share", {"part": 1, "whole": 2, "rest": 5}, 'takes no "rest"'),
        ("snare-balance", {"butt": 1, "strainer": 2, "unit": "mm"}, 'takes no "unit"'),
        ("snare-balance", {"butt": "1 turn", "strainer": 2}, "is an angle; a length is asked for"),
        ("mean", {"values": 5}, "a list is wanted"),
        ("mean", {"values": [1] * 10_001}, "at most 10000"),
        ("mean", {"values": {str(n): 1 for n in range(10_001)}}, "at most 10000"),
        ("rod-evenness", {"notes": [220, 221, 222, 220], "unit": "mm"}, 'takes no "unit"; it takes notes'),
        ("rod-evenness", {"notes": [220, "H3"]}, 'rod-evenness: notes: "H3"'),
        ("nothing", {}, "there is no sum"),
        ("\x1b[2J", {}, "\\x1b[2J"),
    ],
)
def test_json_that_cannot_be_used_is_refused(name: str, payload: object, says: str) -> None:
    """A payload that is no request for this sum is refused in one sentence that names the input."""
    with pytest.raises(BenchwalkError) as refused:
        compute_json(name, payload)
    assert says in str(refused.value)
    assert str(refused.value).isprintable()


anything = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=12),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=4), inner, max_size=4),
    max_leaves=8,
)


@given(st.sampled_from(sorted(SIGNATURES)), st.data())
def test_any_json_is_answered_or_refused(name: str, data: st.DataObject) -> None:
    """Whatever JSON arrives, the answer is plain data or an error with a sentence; nothing else escapes."""
    keys = [one.name for one in SIGNATURES[name].inputs]
    payload = data.draw(st.fixed_dictionaries(dict.fromkeys(keys, anything)))
    try:
        found = compute_json(name, payload)
    except BenchwalkError as refused:
        assert str(refused).isprintable()
    else:
        assert (found["no_result"] is None) == bool(found["outputs"])
        json.dumps(found, allow_nan=False)
