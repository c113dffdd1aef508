"""The left page: what was found so far, in words, newest last."""

from __future__ import annotations

import random
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchwalk.daybook.ink import Line, text_of
from benchwalk.daybook.left import NOTHING_YET, found_so_far, last_line
from benchwalk.daybook.things import things
from benchwalk.procedure.showing import display_width, safe_text, words_of
from benchwalk.proof.rehearse import Player
from benchwalk.sums import compute
from benchwalk.walk import acts
from walk_helpers import BO, GAP, INNER, NAMES, OUTER, REST, RESTED, RODS, SNIP, TIED, Walk, linked, procedure, shipped
from wander import Wanderer


def page(walk: Walk | Player, last: int | None = None) -> list[str]:
    """The left page as text, without what its lines are set in by."""
    return [text_of(line).removeprefix("  ") for line in lines(walk, last)]


def lines(walk: Walk | Player, last: int | None = None) -> list[Line]:
    """The left page."""
    return found_so_far(walk.state, walk.bench.books, NAMES, last)


def newest(walk: Walk) -> str:
    """The last line."""
    return text_of(last_line(walk.state, walk.bench.books, NAMES))


def played(example: str) -> Player:
    """The flagship, walked to the end of an example."""
    book = shipped("retie-snare-cords")
    player = Player(book, next(e for e in book.procedure.examples if e.example == example), compute)
    player.play()
    return player


def test_things_are_set_in_below_their_stop_and_hang() -> None:
    """A heading stands at the edge, what was found there further in, and what is wrapped further in than that."""
    player = played("a plain re-tie")
    told = found_so_far(player.state, player.bench.books, NAMES, width=40)
    assert max(display_width(text_of(line)) for line in told) <= 40
    insets = {len(text) - len(text.lstrip(" ")) for text in map(text_of, told)}
    assert insets == {0, 2, 4}
    words = "the cord is stopped by: two overhand knots one on the other"
    assert words in " ".join(" ".join(map(text_of, told)).split())


def test_stops_go_on_and_a_return_to_one_is_said() -> None:
    """The numbers of the stops go up; one that is lower than a stop already passed says that it comes again."""
    heads = [line for line in page(played("a plain re-tie")) if re.match(r"(again at )?stop \d", line)]
    passed = 0
    for head in heads:
        number = int(re.findall(r"\d+", head)[0])
        assert head.startswith("again at ") == (number < passed), head
        passed = max(passed, number)
    assert any(head.startswith("again at stop ") for head in heads)
    assert "again at stop 35, tie strainer" in heads


def test_no_name_out_of_the_procedure_stands_on_the_page() -> None:
    """Steps, sums and readings are named in words: without hyphens, underscores or paths."""
    player = played("a plain re-tie")
    names = {name for book in player.linked.family() for name in (*book.steps, *book.procedure.sums, *book.variables)}
    written = {name for name in names if words_of(name) != name}
    said = "\n".join(page(player))
    assert "strainer: stop knot" in said and not [name for name in written if re.search(rf"\b{name}\b", said)]


def test_nothing_noted_says_so() -> None:
    """Before anything is noted the page has one quiet line, and so has its last line."""
    walk = Walk(linked(GAP)).begin()
    assert page(walk) == [NOTHING_YET] == [newest(walk)]


def test_readings_stand_under_their_stop_with_their_judgement() -> None:
    """A reading has its question, its value and how it stands, below a quiet heading with the stop."""
    walk = Walk(linked(GAP)).begin()
    walk.on("set-again", gap="1.5")
    assert page(walk) == ["stop 1, measure", "Gap: 1.5 mm; below by 1.5 mm"]
    assert [(span.text, span.tone) for span in lines(walk)[1]][-1] == ("below by 1.5 mm", "outside")
    assert lines(walk)[0][0].tone == "quiet"


def test_a_choice_is_said_in_its_words() -> None:
    """A question ends in its own mark, a choice has the words shown for it, and whether it is the wanted one."""
    walk = Walk(linked(GAP)).begin()
    walk.on("measure", gap="4", lie="some")
    walk.on("look", gap="4")
    walk.do(acts.Record("some"))
    assert "How do the snares lie: Some lift; not what is wanted" in page(walk)
    assert "Watch: Some lift at 4 mm." in page(walk)


def test_a_hint_how_to_type_is_left_out() -> None:
    """What a question says in brackets at its end, for typing, does not stand on the page."""
    walked = page(played("a plain re-tie"))
    assert "Gap from plate to hoop, butt side, lever on: 4 mm; within" in walked
    assert not any("minus:" in line for line in walked)


def test_places_alike_are_told_in_one_line() -> None:
    """Six places noted alike are one line; what differs has its own."""
    walked = page(played("aslant by a cord, then a plate on the slope"))
    assert "The paper strip is, at all 6 places: held alike; as wanted" in walked
    assert "The paper strip is, at butt edge B: looser; not what is wanted" in walked
    [others] = [line for line in walked if line.startswith("The paper strip is, at butt edge A, butt middle")]
    assert others.endswith("and strainer edge B: held alike; as wanted")


def test_rods_are_told_from_the_lowest_to_the_highest() -> None:
    """Many figures of one kind are told by their ends; two are told one by one."""
    walk = Walk(linked(RODS)).begin({"rods": "6"})
    walk.on("edges", runs="free", note={"each": "220", "2": "214", "3": "221.5"}, edge="smooth")
    assert "Note at the rod, at all 6 rods: 214 to 221.5 Hz" in page(walk)
    assert "The rod runs, at all 6 rods: freely; as wanted" in page(walk)


def test_all_places_are_told_only_once_all_were_noted() -> None:
    """While places are still to be asked those that were noted stand by name; the last one makes them all."""
    walk = Walk(linked(RODS)).begin({"rods": "6"})
    walk.note("free")
    walk.note("free")
    assert "The rod runs, at rods 1 and 2: freely; as wanted" in page(walk)
    for _ in range(4):
        walk.note("free")
    assert "The rod runs, at all 6 rods: freely; as wanted" in page(walk)


def test_a_difference_and_a_share_say_what_they_are_of() -> None:
    """Arithmetic says beside its result the two values it was worked out of, as they stand after a correction."""
    player = played("a plain re-tie")
    walked = page(player)
    assert "Worked out, past speech: 2 turns (6 turns less 4 turns)" in walked
    assert "Worked out, travel: 0.5 of the whole (6 turns of 12 turns)" in walked


def test_a_corrected_value_stands_where_it_was_corrected() -> None:
    """A corrected value is the newest thing, with what it was before."""
    walk = Walk(linked(GAP)).begin()
    walk.do(acts.Done())
    n = walk.note("4")
    walk.do(acts.Correct(n, "5", "misread"))
    assert newest(walk) == "Gap: 5 mm; within; corrected, before: 4 mm"
    assert page(walk) == ["stop 1, measure", newest(walk)]


def test_a_correction_made_later_is_newest() -> None:
    """A value corrected after others were noted comes after them, under its own stop, which is said to come again."""
    walk = Walk(linked(REST)).begin()
    walk.on("show", **RESTED)
    knob = next(e.n for e in walk.state.entries.values() if e.name == "knob")
    walk.do(acts.Correct(knob, "4", "miscounted"))
    assert page(walk)[-2:] == ["again at stop 1, settle", "Turns of the knob: 4 turns; corrected, before: 3 turns"]


def test_what_was_left_out_says_why() -> None:
    """An optional reading that was left out stands with its reason."""
    walk = Walk(linked(REST)).begin()
    walk.on("rest", **{**RESTED, "knob": None})
    assert "Turns of the knob: left out (no reason given)" in page(walk)


def test_sums_runs_and_signs_stand_on_the_page() -> None:
    """What was worked out, how a run came back, and who signed what: each is a line."""
    walk = Walk(linked(OUTER, INNER, SNIP), kind="customer").begin()
    walk.on("=hold", **TIED)
    walk.do(acts.Release(BO))
    walked = page(walk)
    assert "Worked out, room: room 8 mm, gap wanted on each side 2.5 to 5.5 mm" in walked  # nothing names the spacer
    assert "Butt: done" in walked and "Far: done" in walked
    assert any(line.startswith("Checked: Bo Birch, 2026-03-02 ") for line in walked)


def test_a_refusal_and_a_sign_off_that_fell_are_told() -> None:
    """A refused look says who and when; a sign-off is void once what it covers is corrected."""
    walk = Walk(linked(OUTER, INNER, SNIP), kind="customer").begin()
    walk.on("=hold", **TIED)
    walk.do(acts.Refuse(BO, "", "too far out"))
    assert any(line.startswith("Refused: Bo Birch") and "too far out" in line for line in page(walk))
    walk.on("=hold", **TIED)
    walk.do(acts.Release(BO))
    covered = next(e.n for e in walk.state.entries.values() if e.name == "clear")
    walk.decide(acts.Correct(covered, "341", "misread"))
    assert any("; void: " in line for line in page(walk))


def test_notes_and_problems_are_told() -> None:
    """A note has its writer; a problem says whether it is settled."""
    walk = Walk(linked(GAP)).begin()
    walk.do(acts.Note("the owner waits"))
    walk.do(acts.Problem("the rule is missing"))
    assert page(walk)[-2:] == ["Note by Ann Alder: the owner waits", "Problem: the rule is missing; open"]
    walk.do(acts.SettleProblem("found it"))
    assert page(walk)[-1] == "Problem: the rule is missing; settled: found it"


def test_what_was_gone_back_over_is_only_named() -> None:
    """Stops that no longer count are named in one line, and nothing noted there stands on the page."""
    walk = Walk(linked(GAP)).begin()
    walk.on("look", gap="4")
    walk.do(acts.GoBack(1, "measured wrong"))
    walk.on("look", gap="5.5")
    assert page(walk) == ["stops 1 to 2: gone back over", "stop 3, measure", "Gap: 5.5 mm; within"]


def test_the_end_is_the_last_line() -> None:
    """How the job ended stands last, with what is said of it."""
    assert page(played("straps"))[-1] == "Ended referred. Something else comes first."


@pytest.mark.parametrize("last", [0, 1, 3, 10])
def test_the_last_things_only(last: int) -> None:
    """Asked for the last few, the page is the end of the whole one: so many things, each under its stop."""
    player = played("a plain re-tie")
    whole = [line for line in page(player) if not line.startswith(("stop ", "before "))]
    assert [line for line in page(player, last) if not line.startswith("stop ")] == whole[len(whole) - last :]
    assert page(player, last)[:1] != page(player)[:1]


def test_an_older_going_back_is_not_among_the_last_things() -> None:
    """Stops gone back over before the things shown are not named with them."""
    walk = Walk(linked(GAP)).begin()
    walk.on("look", gap="4")
    walk.do(acts.GoBack(1, "measured wrong"))
    walk.on("finish", gap="5.5", lie="all")
    assert page(walk, 1)[-1].startswith("Ended done")
    assert not any("gone back" in line for line in page(walk, 1))


SAYING = procedure(
    """
readings:
  heard: {ask: What the owner heard, kind: words}
steps:
  - step: listen
    record: [heard]
  - step: finish
    end: done
"""
)


@given(st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=60).filter(lambda t: bool(t.strip())))
def test_nothing_typed_acts_on_a_terminal(typed: str) -> None:
    """Whatever was typed stands on the page as text, in one line."""
    walk = Walk(linked(SAYING)).begin()
    if walk.decide(acts.Record(typed)).refusal:
        return
    walk.decide(acts.Note(typed))
    for line in page(walk):
        assert safe_text(line) == line and "\n" not in line


@given(st.integers(0, 10**6))
@settings(max_examples=40)
def test_any_walk_can_be_told(seed: int) -> None:
    """Wherever a walk at random stands, every value that counts is on the page once, in order, newest last."""
    walk = Wanderer(shipped("tie-one-side"), random.Random(seed), often=0.1)
    walk.wander()
    known = things(walk.state, walk.bench.books, NAMES)
    assert [thing.n for thing in known] == sorted(thing.n for thing in known)
    live = {e.n for e in walk.state.entries.values() if e.visit and walk.state.live(e.visit, e.n)}
    assert live <= {thing.n for thing in known}
    told = [line[1:] for line in lines(walk) if line[0].text.isspace()]
    assert [thing.line for thing in known if thing.line in told] == [thing.line for thing in known]
