"""A head in opposite pairs, and the ring that says which rod is which."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from benchwalk.daybook.heads import Head, Rod
from benchwalk.daybook.ink import text_of
from benchwalk.daybook.pairs import pair_lines, pairs
from benchwalk.daybook.ring import FEWEST, HIGH, MOST, WIDE, ring
from benchwalk.procedure.showing import display_width, safe_text
from benchwalk.walk import acts
from walk_helpers import Walk, linked, procedure

TAPS = procedure(
    """
drum: [rods]
readings:
  note:
    ask: Note
    kind: note
    per: rod
    head: snare-side
    possible: 40 .. 1200
    wanted: 215 .. 225
    optional: {because: a rod may be stripped}
  depth: {ask: Hoop depth, unit: mm, per: rod, possible: 0 .. 40, resolution: 0.1}
  runs: {ask: The rod, choices: {free: runs freely by two fingers, binds: binds}, wanted: free, per: rod}
  edge: {ask: The edge, choices: {smooth: smooth, rough: rough}, per: [butt, strainer]}
steps:
  - step: sound
    do: Tap beside each rod.
    record: [note, depth, runs, edge]
  - step: turn
    each: {rod: pairs}
  - step: oil
    each: rod where runs is binds
  - step: finish
    end: done
""",
    id="tap-rods",
)
NOTES = {"1": "207.1", "2": "A3 -12c", "3": None, "4": "228.4", "5": "235.5", "6": "201.6", "each": "220"}
SAID = {
    "note": NOTES,
    "depth": {"1": "8", "2": "8.25", "each": "8.1"},
    "runs": {"2": "binds", "4": "binds", "each": "free"},
    "edge": "smooth",
}


def walked(rods: int, until: object) -> Walk:
    """A walk over that many rods up to some question."""
    walk = Walk(linked(TAPS)).begin({"rods": str(rods)})
    walk.on(until, **SAID)  # type: ignore[arg-type]
    return walk


def shown(walk: Walk, visit: int, name: str = "", width: int = 76) -> list[str]:
    """The pairs of a stop as text."""
    found = pairs(walk.state, walk.bench, walk.state.visits[visit - 1], name)
    assert found is not None
    return [text_of(line) for line in pair_lines(found, width)]


# --- what stands there -------------------------------------------------------------------------------------------


def test_pairs_as_they_are_measured() -> None:
    """One line a pair: figures with unit, how they stand, which is asked now, what they are apart and make together."""
    walk = walked(8, lambda here: here.kind == "reading" and here.place == "7")
    assert shown(walk, 1, "note") == [
        "from the strainer       from the butt               apart   together",
        "  1   207.1 Hz below      5   235.5 Hz above    222 cents   221.3 Hz",
        "  2   218.5 Hz within     6   201.6 Hz below    139 cents   210.0 Hz",
        "  3   left out           (7)  now",
        "  4   228.4 Hz above      8   -",
        "to the butt             to the strainer",
    ]


def test_pairs_in_a_narrow_place() -> None:
    """At 46 cells the mean is gone, the unit stands below, and the differences are still there."""
    walk = walked(8, lambda here: here.kind == "reading" and here.place == "7")
    assert shown(walk, 1, "note", 46) == [
        "from the strainer  from the butt      apart",
        "  1  207.1 below     5  235.5 above     222",
        "  2  218.5 within    6  201.6 below     139",
        "  3  none           (7) now",
        "  4  228.4 above     8  -",
        "to the butt        to the strainer",
        "in Hz, apart in cents",
    ]


def test_figures_align_on_the_decimal() -> None:
    """All figures of a head have as many decimals as the finest of them, with their points below one another."""
    lines = shown(walked(8, "turn"), 1, "depth")
    assert lines[1:3] == [
        "  1   8.00 mm     5   8.10 mm   0.10 mm   8.050 mm",
        "  2   8.25 mm     6   8.10 mm   0.15 mm   8.175 mm",
    ]


def test_the_ends_are_named_only_where_they_are_known() -> None:
    """A head that is not said to be a snare drum's has no strainer in its lines."""
    walk = walked(8, "turn")
    assert "strainer" not in " ".join(shown(walk, 1, "depth"))
    assert "strainer" in " ".join(shown(walk, 1, "note"))


def test_odd_counts_stand_singly() -> None:
    """Seven rods have no opposite ones: each has a line, and nothing is said of differences."""
    lines = shown(walked(7, "turn"), 1, "note")
    assert [line.split()[0] for line in lines[1:-1]] == [str(n) for n in range(1, 8)]
    assert "apart" not in " ".join(lines)


def test_choices_have_words_and_a_judgement() -> None:
    """What is chosen at a rod is shown in its words, and whether it is wanted."""
    lines = shown(walked(6, "turn"), 1, "runs", 90)
    assert re.search(r"2   binds +not wanted +5   runs freely by two", lines[2])


def test_confirmations_are_done_or_not() -> None:
    """What is confirmed at each rod is done, asked now or open, and rods that are not asked say so."""
    walk = walked(6, "turn")
    walk.do(acts.Done())
    walk.do(acts.Done())
    assert shown(walk, 2)[1:3] == ["  1   done     4   done", " (2)  now      5   -"]
    walk.on("oil", **SAID)
    assert shown(walk, 3)[1:] == [
        "  1   not asked     4   -",
        " (2)  now           5   not asked",
        "  3   not asked     6   not asked",
    ]


def test_what_is_asked_now_is_brass_and_judgements_have_their_tone() -> None:
    """The rod in hand is brass; below is outside and within is within."""
    walk = walked(8, lambda here: here.kind == "reading" and here.place == "7")
    found = pairs(walk.state, walk.bench, walk.state.visits[0], "note")
    assert found is not None
    assert [rod.tone for rod in found.rods] == [
        *("outside", "within", "quiet", "outside", "outside", "outside", "brass", "quiet")
    ]
    brass = [span.text.strip() for line in pair_lines(found, 76) for span in line if span.tone == "brass"]
    assert brass == ["(7)", "now"]


def test_nothing_by_rod_has_no_pairs() -> None:
    """A reading at named places, an unknown one and a step that confirms nothing have no pairs."""
    walk = walked(6, "turn")
    visit = walk.state.visits[0]
    assert pairs(walk.state, walk.bench, visit, "edge") is None
    assert pairs(walk.state, walk.bench, visit, "nothing") is None
    assert pairs(walk.state, walk.bench, visit) is None


def test_a_reading_that_waits_behind_its_action_is_asked_first_at_rod_1() -> None:
    """While the action waits to be done, the rod whose reading may be typed at once stands out."""
    walk = Walk(linked(TAPS)).begin({"rods": "6"})
    assert shown(walk, 1, "note")[1].startswith(" (1)  now")


# --- any head ----------------------------------------------------------------------------------------------------

FIGURES = st.decimals(-40, 1200, places=2).map(Fraction)
VERDICTS = st.sampled_from(["", "within", "below", "above", "outside"])
WORDS = st.text(st.characters(codec="ascii") | st.characters(max_codepoint=0x2FFF), max_size=60)


@st.composite
def heads(draw: st.DrawFn) -> Head:
    """Any head: 1 to 14 rods of any kind of figure, any of them open."""
    sort = draw(st.sampled_from(["number", "note", "words", "done"]))
    rods = []
    asked = draw(st.integers(0, 14))
    for number in range(1, draw(st.integers(1, 14)) + 1):
        mark = "now" if number == asked else draw(st.sampled_from(["noted", "noted", "open", "left out", "not asked"]))
        value = draw(FIGURES) if sort in ("number", "note") and mark == "noted" else None
        said = draw(WORDS) if sort == "words" else "done"
        rods.append(Rod(number, mark, said, value, draw(VERDICTS) if mark == "noted" else ""))
    unit = "Hz" if sort == "note" else draw(st.sampled_from(["mm", "turns", "deg C", ""]))
    return Head(tuple(rods), sort, unit, draw(st.integers(0, 3)), draw(st.booleans()))


@given(heads(), st.sampled_from([120, 76, 64, 46, 30, 12, 1]))
def test_lines_never_pass_their_width(found: Head, width: int) -> None:
    """Whatever was noted, no line takes more cells than it has, and nothing in it acts on a terminal."""
    for line in pair_lines(found, width):
        assert display_width(text_of(line)) <= width
        assert safe_text(text_of(line)) == text_of(line)


@given(heads(), st.sampled_from([120, 76, 46]))
def test_every_rod_is_shown_once(found: Head, width: int) -> None:
    """Every rod has its number once, in its place: opposite ones in one line, below their titles."""
    assume(all(rod.said.isascii() for rod in found.rods))  # so that a cell is a character
    heading, *lines = [text_of(line) for line in pair_lines(found, width)]
    butt = heading.find("from the butt" if found.from_strainer else "rod", 3)
    rows = [[line[at : at + 4] for at in (0, butt) if at >= 0] for line in lines[: len(found.rows)]]
    assert [[int(number.strip("() ")) for number in row] for row in rows] == [
        [rod.number for rod in row if rod] for row in found.rows
    ]


@given(heads())
def test_pairs_are_apart_by_their_difference_and_make_their_mean(found: Head) -> None:
    """Both figures known, the difference and the mean follow from them; one unknown, nothing is said."""
    for (one, other), apart, together in zip(found.rows, found.apart(), found.together(), strict=True):
        if other is None or one.value is None or other.value is None:
            assert apart == together == ""
        elif found.sort == "number":
            assert abs(Fraction(apart) - abs(one.value - other.value)) <= Fraction(1, 10**found.decimals)
            assert abs(Fraction(together) - (one.value + other.value) / 2) <= Fraction(1, 10**found.decimals)


# --- the ring ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("rods", range(FEWEST, MOST + 1))
@pytest.mark.parametrize("strainer", [True, False])
def test_the_ring_has_every_rod_once_and_stays_small(rods: int, strainer: bool) -> None:
    """Every number stands once in the ring, which takes 21 cells by 9; the rod asked for is in brackets and brass."""
    for asked in (None, *range(1, rods + 1)):
        lines = ring(rods, asked, strainer=strainer)
        drawn = [text_of(line) for line in lines[strainer : HIGH + strainer]]
        assert max(map(len, drawn)) <= WIDE and len(drawn) == HIGH
        assert sorted(int(n) for n in re.findall(r"\d+", " ".join(drawn))) == list(range(1, rods + 1))
        brass = [span.text for line in lines for span in line if span.tone == "brass"]
        assert brass == ([f"({asked})"] if asked else [])


@pytest.mark.parametrize("rods", range(FEWEST, MOST + 1))
def test_the_ring_runs_clockwise_from_the_strainer(rods: int) -> None:
    """Rod 1 stands right of the strainer and the last left of it; numbers grow down the right and up the left."""
    right: list[int] = []
    left: list[int] = []
    for line in ring(rods)[1 : HIGH + 1]:
        for found in re.finditer(r"\d+", text_of(line)):
            middle = (found.start() + found.end() - 1) / 2
            if abs(middle - WIDE // 2) > 1:
                (right if middle > WIDE // 2 else left).append(int(found.group()))
    assert right == sorted(right) and right[0] == 1
    assert left == sorted(left, reverse=True) and left[0] == rods
    assert abs(len(right) - len(left)) == 0


def test_the_ring_says_how_it_runs_and_where_that_comes_from() -> None:
    """The words under the ring give the direction and that it is common practice; without a strainer none is named."""
    words = " ".join(text_of(line) for line in ring(10))
    assert "strainer" in words and "Clockwise" in words and "Common practice, no published source" in words
    assert "strainer" not in " ".join(text_of(line) for line in ring(10, strainer=False))


def test_too_few_or_too_many_rods_have_no_ring() -> None:
    """Outside what can be drawn the list is empty."""
    assert ring(FEWEST - 1) == ring(MOST + 1) == ring(0) == []
