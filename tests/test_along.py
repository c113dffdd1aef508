"""Looking along the route: every step under its stage, where it may fork, and what a step says before it is come to."""

from __future__ import annotations

import random
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchwalk.daybook.along import FORK, Row, row_line, rows
from benchwalk.daybook.ink import text_of
from benchwalk.daybook.one_step import told
from benchwalk.procedure.linked import Linked
from benchwalk.procedure.showing import display_width, words_of
from benchwalk.proof.rehearse import Player
from benchwalk.sums import compute
from benchwalk.walk.foretold import called, condition_words
from benchwalk.walk.phase import now
from benchwalk.walk.places import STATES, step_names
from walk_helpers import INNER, OUTER, REST, RODS, SNIP, TIED, Walk, linked, procedure, shipped
from wander import Wanderer

FLAGSHIP = "retie-snare-cords"


def played(example: str, until: str = "") -> Player:
    """The flagship, walked as an example has it up to a step, or to its end."""
    book = shipped(FLAGSHIP)
    player = Player(book, next(e for e in book.procedure.examples if e.example == example), compute)
    player.begin()
    while now(player.state, player.bench).kind not in ("ended", "account"):
        here = now(player.state, player.bench)
        if here.visit is not None and here.visit.step == until:
            break
        player.act(player.answer(here))
    return player


def said(walk: Walk | Player, name: str, width: int = 72) -> str:
    """What a step says, on one line."""
    row = next(row for row in rows(walk.state, walk.bench) if row.name == name)
    return " ".join(" ".join(map(text_of, told(walk.state, walk.bench, row, width))).split())


def written(book: Linked) -> set[str]:
    """Every name of a procedure and of what it runs that is not written as people read it."""
    names: set[str] = set()
    for each in book.family():
        for kept in (each.steps, each.variables, each.procedure.sums, each.limits, each.procedure.findings):
            names |= set(kept)
        names |= set(step_names(each))
    return {name for name in names if words_of(name) != name}


# --- rows ------------------------------------------------------------------------------------------------------------


def test_every_step_has_a_row_and_every_stage_a_heading() -> None:
    """Each step of the procedure and of what it runs stands there once; each stage above its first step."""
    player = played("a plain re-tie", "gaps")
    found = rows(player.state, player.bench)
    named = [row.name for row in found if row.name]
    assert sorted(named) == sorted(set(step_names(player.linked)))
    stages = [step.stage.title for step in player.linked.procedure.steps if step.stage]
    assert [row.words for row in found if not row.name] == stages
    first = next(step for step in player.linked.procedure.steps if step.stage and step.stage.title == "Prove it")
    at = next(i for i, row in enumerate(found) if row.words == "Prove it")
    assert found[at + 1].name == first.step


def test_the_steps_of_a_run_stand_below_the_step_that_runs_it() -> None:
    """What a step runs follows it, set in by one."""
    player = played("a plain re-tie", "gaps")
    found = rows(player.state, player.bench)
    at = next(i for i, row in enumerate(found) if row.name == "tie-butt")
    assert [(row.name, row.depth) for row in found[at : at + 2]] == [("tie-butt", 0), ("butt/thread", 1)]


def test_what_an_event_runs_stands_below_what_is_said_of_it() -> None:
    """The steps of a procedure that only an event begins have its sentence above them, once."""
    walk = Walk(linked(OUTER, INNER, SNIP)).begin()
    found = rows(walk.state, walk.bench)
    say = next(event.say for event in walk.book.procedure.whenever if event.run)
    at = next(i for i, row in enumerate(found) if row.words == say)
    assert not found[at].name and found[at + 1].name.startswith("snip/")
    assert len({row.name for row in found if row.name}) == sum(bool(row.name) for row in found)


def test_a_step_that_may_lead_elsewhere_has_the_sign_of_it() -> None:
    """Where more than one step may follow, the fork stands after the sign of the rope, and nowhere else."""
    player = played("a plain re-tie", "gaps")
    lines = {row.name: text_of(row_line(row, 46)) for row in rows(player.state, player.bench) if row.name}
    assert lines["gaps"].startswith(f"8{FORK} gaps")
    assert lines["set-knob"].startswith(f"={FORK} set knob") and lines["photo"].startswith("=  photo")
    assert lines["lay-drum"].startswith("=  ") and lines["refer"].startswith("~  ")
    assert lines["butt/square"].startswith(f"={FORK}   square")


@given(st.text(max_size=60), st.integers(0, 3), st.sampled_from(STATES), st.booleans(), st.integers(30, 60))
def test_rows_end_in_one_column(words: str, depth: int, stands: str, forks: bool, width: int) -> None:
    """Whatever a step is called, its row fills the width and ends with how it stands; a heading is as wide."""
    assert display_width(text := text_of(row_line(Row("x", words, depth, stands, forks), width))) == width
    assert text.endswith(f" {stands}")
    assert display_width(text_of(row_line(Row("", words, depth), width))) <= width


def test_there_is_nothing_to_look_along_before_a_job() -> None:
    """Without a job there are no rows; with one that is only opened every step is there and has words."""
    walk = Walk(linked(OUTER, INNER, SNIP))
    assert rows(walk.state, walk.bench) == []
    walk.open()
    for row in rows(walk.state, walk.bench):
        assert not row.name or said(walk, row.name)


# --- what a step says ------------------------------------------------------------------------------------------------


def test_what_is_known_stands_in_its_place() -> None:
    """A text of a step ahead has the values that are noted, worked out or handed in by then."""
    player = played("a plain re-tie", "gaps")
    assert "and the room is 8 mm; one of them is misread" in said(player, "gaps")
    assert "to skew, because: Both gaps are 2.5 to 5.5 mm" in said(player, "gaps")


def test_what_a_run_would_be_given_is_known_before_it_begins() -> None:
    """Before a run begins its texts already have what its caller would hand in now."""
    player = played("a plain re-tie", "cut")
    assert "through the plate at the butt side, out by its groove" in said(player, "butt/thread")
    assert "Put the 4 mm spacer between plate and hoop" in said(player, "butt/butt-spacer")
    early = played("a plain re-tie", "measure")
    assert "Put the (spacer: not known yet) spacer between plate and hoop" in said(early, "butt/butt-spacer")
    assert "The gap (gap wanted on each side: not known yet) is read later" in said(early, "butt/butt-spacer")


def test_what_is_not_known_is_called_by_its_question_or_its_sum() -> None:
    """A value that is not there yet is named by what will be asked or worked out, never by its name."""
    early = played("a plain re-tie", "measure")
    gaps = said(early, "gaps")
    assert "Both gaps together are (both gaps together: not known yet), and the room is (room: not known yet)" in gaps
    assert "(turns from loosest to where the knob stands now: not known yet) of 12 turns" in said(early, "knob-mid")
    assert "off (drift: not known yet)" not in said(early, "take-again")
    assert "The knob stands, (drift: not known yet) off" in said(early, "take-again")


def test_rods_that_a_condition_names_are_not_guessed() -> None:
    """`rods where ...` over what is not noted yet says so, and names the rods once it is."""
    book = linked(
        RODS.replace(b"steps:\n", b'steps:\n  - step: look\n    do: "Look at {{ rods where runs is binds }}."\n')
    )
    walk = Walk(book).begin({"rods": "6"})
    assert "Look at (the rods where that is so: not known yet)." in said(walk, "look")


def test_left_out_is_not_called_unknown() -> None:
    """A reading that was left out is known to have no value."""
    player = played("a seized knob, its counts left out", "refer")
    assert "(turns from loosest as it came in: not known yet)" not in said(player, "count-knob")
    assert "not noted from loosest is more than the whole, not noted" in said(player, "count-knob")


def test_every_way_on_says_where_to_and_why() -> None:
    """Each branch is told with its target and its reason, and its bound; the one taken says at which stop."""
    player = played("a plain re-tie", "gaps")
    told_ = said(player, "set-knob")
    assert "From here: ~ to count travel, because: " in told_
    assert "~ to set knob again, because: " in told_ and "(at most twice, then to search)" in told_
    assert "= to gaps, because: Travel both ways: 6 turns of 12 turns (taken at stop 46)" in told_
    assert told_.count(" because: ") == len(player.linked.steps["set-knob"].lines)
    assert "to broke look, if this happens: The cord breaks or slips" in told_


def test_a_step_without_branches_says_what_follows() -> None:
    """The next step, a way back, the end of a run and of the whole, and a bound on coming back stand there too."""
    player = played("a plain re-tie", "gaps")
    assert "From here: = to pick way" not in said(player, "photo")
    assert "From here: = to count knob (taken at stop 7)" in said(player, "photo")
    assert "From here: ~ to gaps" not in said(player, "lower-bridge")
    assert "From here: ~ to free strainer ~ to ask senior, once the walk was 4 times at free strainer" in said(
        player, "lower-bridge"
    )
    assert "back to tie butt: done" in said(player, "butt/tied")
    assert "once the walk was" not in said(player, "dry-look"), "no bound of a step that does not follow"
    assert "to broke look, if this happens: The cord breaks or slips" in said(player, "butt/square")
    assert "the walk ends here: referred. Something else comes first." in said(player, "refer")


LATE = procedure(
    """
readings:
  sound: {ask: How it sounds, choices: {well: well, badly: badly}}
  turns_made: {ask: "Turns made (whole ones)", unit: turns, possible: 0 .. 9}
limits:
  most_turns: {is: 3 turns, sure: C, whose: the shop, because: More is too much}
steps:
  - step: lay-by
    record: [sound]
  - step: rest-it
    wait: {for: 30 min, from: lay-by, at_latest: 2 h, late: {go: begin-anew}}
    may_skip: {because: The owner waits, by: senior}
  - step: pick-one
    choose: {as: way, ways: [{way: by_hand, say: By hand, go: hand-turn}, {way: by_key, say: By key, go: begin-anew}]}
  - step: hand-turn
    record: [turns_made]
    branches:
      - {when: turns_made > most_turns, go: begin-anew}
      - {when: otherwise, go: done-with}
  - step: begin-anew
    do: Begin anew.
  - step: done-with
    end: done
"""
)


def test_ways_and_times_say_where_they_lead() -> None:
    """A latest time, a way that leads somewhere and who may skip stand at their step."""
    walk = Walk(linked(LATE)).begin()
    rest = said(walk, "rest-it")
    assert "30 min must pass, from the end of: lay by." in rest and "A senior may let it be left out: The owner" in rest
    assert "~ to begin anew, if more than 2 h have passed" in rest and "~ to pick one" in rest
    assert "~ to hand turn, if that way is taken: By hand ~ to begin anew, if that way is taken: By key" in said(
        walk, "pick-one"
    )


def test_a_branch_without_a_reason_says_its_condition_in_words() -> None:
    """Where an author gave no reason the condition stands there, by what its names mean."""
    walk = Walk(linked(LATE)).begin()
    hand = said(walk, "hand-turn")
    assert "~ to begin anew, because: turns made > 3 turns ~ to done with, because: nothing else fits" in hand
    assert condition_words("otherwise", walk.book) == "nothing else fits"
    assert called("turns_made", walk.book) == "turns made"


@pytest.mark.parametrize("until", ["", "measure", "gaps", "senior-look"])
def test_no_name_out_of_a_procedure_is_shown(until: str) -> None:
    """However far the flagship was walked, no step along the route shows a name as it is written in the procedure."""
    player = played("a plain re-tie", until or "mechanism")
    names = "|".join(sorted(map(re.escape, written(player.linked)), key=len, reverse=True))
    for row in rows(player.state, player.bench):
        shown = text_of(row_line(row, 46)) + (said(player, row.name) if row.name else "")
        assert not re.search(rf"(?<![\w/-])(?:{names})(?![\w/-])", shown), shown


@given(st.integers(0, 10**6), st.integers(20, 76))
@settings(max_examples=25, deadline=None)
def test_any_walk_can_be_looked_along(seed: int, width: int) -> None:
    """Wherever a walk at random stands, every step says something that fits its width, and nothing is changed."""
    walk = Wanderer(shipped(FLAGSHIP), random.Random(seed), often=0.1)
    walk.wander()
    before = walk.state
    for row in rows(walk.state, walk.bench):
        if row.name:
            lines = told(walk.state, walk.bench, row, width)
            assert lines and all(display_width(text_of(line)) <= width for line in lines)
            assert "{{" not in "".join(map(text_of, lines))
    assert walk.state == before


def test_looks_and_holds_are_told_ahead() -> None:
    """Who must look at a step, and why, is known before it is come to."""
    walk = Walk(linked(REST)).begin()
    name = next(step.step for step in walk.book.procedure.steps if step.hold)
    hold = walk.book.steps[name].hold
    assert hold is not None and f"A {hold.by} looks here: {hold.because}" in said(walk, name)
    walk = Walk(linked(OUTER, INNER, SNIP)).begin()
    walk.on("tie-far", **TIED)
    assert "current; " in said(walk, "tie-far") or "under way" in said(walk, "tie-far")
