"""The route: how many stops can still come, in words and drawn as a rope."""

from __future__ import annotations

import random
from functools import cache
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchwalk.daybook.ink import text_of
from benchwalk.daybook.right import page_of
from benchwalk.daybook.rope import CLAMP, Route, rope, rope_line, route
from benchwalk.proof.rehearse import Player
from benchwalk.sums import compute
from benchwalk.walk import acts
from benchwalk.walk.phase import now
from benchwalk.walk.state import State
from walk_helpers import BO, GAP, INNER, OUTER, PLAYED, REST, RESTED, SNIP, TIED, Walk, linked, procedure, shipped
from wander import Wanderer

FLAGSHIP = "retie-snare-cords"


@cache
def routes(example: str) -> list[tuple[str, Route]]:
    """(step, route) at every stop of the flagship's example, and at its end."""
    book = shipped(FLAGSHIP)
    player = Player(book, next(e for e in book.procedure.examples if e.example == example), compute)
    player.begin()
    found: list[tuple[str, Route]] = []
    while True:
        here = now(player.state, player.bench)
        ended = here.kind in ("ended", "account")
        if player.state.visit and (ended or len(found) < len(player.state.visits)):
            visit = player.state.visits[-1]
            found.append((f"{visit.path}/{visit.step}".lstrip("/"), route(player.state, player.bench)))
        if ended:
            return found
        player.act(player.answer(here))


def test_a_plain_walk_is_the_shortest_way() -> None:
    """On the plain way of the flagship no stop comes that the shortest way did not count, once the tying begins."""
    found = routes("a plain re-tie")
    whole = len(found) - 1
    begun = next(i for i, (step, _) in enumerate(found) if step == "photo")
    # before that a shorter way is open than the plain one: a drum that is right again once it is warm
    assert {r.stop + r.least for _, r in found[begun:whole]} == {found[-1][1].stop}


def test_stops_inside_runs_are_counted_one_by_one() -> None:
    """Inside a run each stop has one less to come than the one before it, down to the caller's next."""
    found = dict(routes("a plain re-tie"))
    inside = ["thread", "legs", "butt-spacer", "nip", "square", "stop-knot", "tied"]
    least = [found[f"butt/{step}"].least for step in inside] + [found["pick-way"].least]
    assert [a - b for a, b in pairwise(least)] == [1] * len(inside)


def test_the_least_is_never_above_the_most() -> None:
    """At every stop of every kind of walk the shortest way is no longer than the longest."""
    for example in ("a plain re-tie", "straps", "a cord slips at the trimming", "cord after cord breaks"):
        for step, found in routes(example):
            assert found.most is not None, step
            assert 0 <= found.least <= found.most, step


@given(st.integers(0, 10**6))
def test_any_walk_has_a_route_that_is_drawn(seed: int) -> None:
    """Wherever a walk at random stands, least is at most most, nothing left means the end, and the words fit."""
    walk = Wanderer(shipped("tie-one-side"), random.Random(seed), often=0.1)
    walk.open()
    for _ in range(40):
        found = route(walk.state, walk.bench)
        assert found.most is not None and 0 <= found.least <= found.most
        assert len(text_of(rope_line(found, 60))) <= 60
        here = now(walk.state, walk.bench)
        if here.kind in ("ended", "account", "stuck", "sign-again"):
            assert here.kind == "stuck" or found.ended
            return
        assert not found.ended
        walk.act(walk.answer(here))


def test_a_step_that_ends_is_the_last() -> None:
    """At a step that ends the procedure nothing more comes; the end says how it ended and how many stops it took."""
    found = routes("a plain re-tie")
    assert found[-2][1].words == "stop 59; the last"
    assert found[-1][1].words == "ended sound; 59 stops"


def test_the_count_at_the_end_is_the_number_of_the_last_stop() -> None:
    """What was gone back over is named beside the stops that count, on the rope and on the last page alike."""
    walk = Walk(linked(GAP)).begin()
    walk.on("look", gap="4")
    walk.do(acts.GoBack(1, "measured anew"))
    walk.on("=ended", gap="4", lie="all")
    last = walk.state.visits[-1].number
    assert route(walk.state, walk.bench).words == f"ended sound; {last - 2} stops, 2 gone back over"
    walk.do(acts.ReleaseJob(PLAYED))
    page = page_of(walk.state, walk.now(), walk.bench, "ann")
    assert f"{last - 2} stops, 2 gone back over, 2 readings; released by" in page.lead[-1]
    assert routes("straps")[-1][1].words == "referred; something else comes first; 2 stops"


def test_what_cannot_be_reached_any_more_is_not_counted() -> None:
    """Where a good end is out of reach the way to the end that is left is counted, and it alone."""
    found = dict(routes("called away with one end tied"))
    assert (found["leave-safe"].least, found["leave-safe"].most) == (1, 1)
    assert found["pick-way"].least > 10


def test_inside_a_run_that_fails_only_what_follows_is_counted() -> None:
    """A run that can only end badly no longer promises the caller's good end as the shortest way."""
    found = dict(routes("the clamp at the butt spins"))
    assert found["butt/untied"].least == 2
    assert found["butt/nip"].least > 20


def test_words_say_what_is_still_to_come() -> None:
    """The words give the stop and what may follow, in figures; a way back is counted where it is the only one."""
    good, bad = Walk(linked(GAP)).begin(), Walk(linked(GAP)).begin()
    assert route(good.state, good.bench).words == "stop 1; 2 to go"
    good.on("look", gap="4")
    assert route(good.state, good.bench).words == "stop 2; 1 to go"
    bad.on("set-again", gap="9")
    assert route(bad.state, bad.bench).words == "stop 2; 3 to go"


WAYS = procedure(
    """
readings:
  lie: {ask: How they lie, choices: {all: all, some: some, none: none}}
steps:
  - step: look
    record: [lie]
    branches:
      - {when: lie is all, because: All, go: finish}
      - {when: lie is some, because: Some, go: wipe}
      - {when: lie is none, because: None, go: %s}
  - step: turn
    do: Turn it.
  - step: wipe
    do: Wipe it.
  - step: finish
    end: done
  - step: leave
    end: stopped
"""
)


@pytest.mark.parametrize(("third", "words"), [("leave", "stop 1; 1 to 2 to go"), ("turn", "stop 1; 1 to 3 to go")])
def test_words_for_a_choice_of_ways(third: str, words: str) -> None:
    """Where ways differ in length both are said; a way to an end that is not good is not among them."""
    walk = Walk(linked(WAYS.replace(b"%s", third.encode()))).begin()
    assert route(walk.state, walk.bench).words == words


def test_before_anything_there_is_a_route() -> None:
    """An empty job and one that is only opened have words of their own and no stop."""
    walk = Walk(linked(GAP))
    assert route(State(), walk.bench).words == "not begun"
    assert route(walk.open().state, walk.bench) == Route(0, 0, 3, 3, (), "not begun; 3 to go")


def test_going_back_takes_stops_away_behind() -> None:
    """What was gone back over lies no longer behind, while the stop keeps its number of the pages."""
    walk = Walk(linked(OUTER, INNER, SNIP)).begin()
    walk.on("tie-far", **TIED)
    before = route(walk.state, walk.bench)
    walk.do(acts.GoBack(1, "measured wrong"))
    after = route(walk.state, walk.bench)
    assert after.behind == 0 < before.behind
    assert after.stop == len(walk.state.visits) > before.stop
    assert after.least > before.least


def test_a_look_that_is_only_for_others_work_is_no_clamp() -> None:
    """A look needed only for an apprentice's work is a clamp where one has worked, and none where none has."""
    ann, cy = Walk(linked(REST), who="ann").begin(), Walk(linked(REST), who="cy").begin()
    assert route(ann.state, ann.bench).clamps == (3,)
    assert route(cy.state, cy.bench).clamps == ()


def test_a_look_here_is_a_clamp_at_the_hitch() -> None:
    """At the look itself the hitch is drawn clamped, and once it is released no more."""
    walk = Walk(linked(REST), kind="customer", who="ann").begin()
    walk.on("=hold", **RESTED)
    found = route(walk.state, walk.bench)
    assert found.clamps == (0,)
    assert "[8]" in text_of(rope(found, 40)) and CLAMP not in text_of(rope(found, 40))
    walk.do(acts.Release(BO))
    assert "=8=" in text_of(rope(route(walk.state, walk.bench), 40))


def test_an_event_that_comes_back_adds_its_stops() -> None:
    """A procedure that an event runs comes before what was still to come, and takes none of it away."""
    walk = Walk(linked(OUTER, INNER, SNIP)).begin()
    before = route(walk.state, walk.bench)
    walk.do(acts.Happens("strand-bends"))
    found = route(walk.state, walk.bench)
    assert found.least == before.least + 1  # the second stop of the two it has; here is the first
    assert found.most == (before.most or 0) + 1


MEND = procedure(
    """
steps:
  - step: mend
    do: Mend it.
  - step: cannot
    end: stopped
""",
    id="mend-it",
)
MENDED = procedure(
    """
readings:
  lie: {ask: How it lies, choices: {well: well, badly: badly}}
whenever:
  - {event: bends, say: It bends, during: everywhere, run: {procedure: mend-it, as: mend}, then_back: true}
steps:
  - step: lay
    record: [lie]
    branches:
      - {when: lie is well, because: Well, go: turn}
      - {when: lie is badly, because: Badly, go: leave}
  - step: turn
    do: Turn it.
  - step: finish
    end: done
  - step: leave
    end: stopped
"""
)


def test_an_interruption_that_ends_badly_leaves_the_way_as_it_was() -> None:
    """However an interruption ends, what it interrupted goes on to the good end."""
    walk = Walk(linked(MENDED, MEND)).begin()
    walk.do(acts.Happens("bends"))
    found = route(walk.state, walk.bench)
    assert (found.least, found.most) == (3, 3)


def test_a_way_back_is_not_counted_in_the_longest() -> None:
    """The longest way passes no step twice: a loop adds nothing to it."""
    walk = Walk(linked(GAP)).begin()
    assert route(walk.state, walk.bench).most == 2


ROUTES = st.builds(
    Route,
    st.integers(1, 400),
    st.integers(0, 400),
    st.integers(0, 60),
    st.none() | st.integers(60, 500),
    st.lists(st.integers(0, 60), max_size=6).map(lambda many: tuple(sorted(set(many)))),
    st.text("stop 0123456789;to go", max_size=50),
)


@given(ROUTES, st.integers(0, 140))
def test_the_rope_never_passes_its_width(found: Route, width: int) -> None:
    """However long the route, rope and words fit the width in plain characters, and the hitch is drawn."""
    for some in (text_of(rope_line(found, width)), text_of(rope(found, width))):
        assert len(some) <= width and some.isascii()
        assert "8" in some or width == 0


@given(ROUTES, st.integers(40, 140))
def test_a_look_ahead_is_always_drawn(found: Route, width: int) -> None:
    """Where somebody must look there is a clamp, as long as the rope has room for one."""
    assert (CLAMP in text_of(rope(found, width))) == any(found.clamps)


@given(st.integers(0, 300), st.integers(0, 300))
def test_the_rope_is_proportional(behind: int, ahead: int) -> None:
    """Tight and loose stand to one another as what is walked and what may come, to within a cell each way."""
    drawn = text_of(rope(Route(1, behind, ahead, ahead, (), ""), 53))
    tight, _, loose = drawn.partition("=8=")
    share = min(2.0, 50 / max(1, behind + ahead))
    assert abs(len(tight) - behind * share) <= 1
    assert abs(len(loose) - ahead * share) <= 2


def test_words_are_left_out_where_they_leave_no_rope() -> None:
    """In a narrow line the rope stands alone; in a wide one the words follow it whole."""
    found = Route(12, 11, 5, 20, (), "stop 12; 5 to 20 to go")
    assert text_of(rope_line(found, 80)).endswith("  stop 12; 5 to 20 to go")
    assert "stop" not in text_of(rope_line(found, 30))


def test_tones_only_stress() -> None:
    """The hitch is brass, a clamp is caution, and the rope itself is quiet."""
    tones = {span.text.strip(): span.tone for span in rope(Route(7, 6, 8, 8, (4,), ""), 60)}
    assert (tones["=8="], tones[CLAMP], tones["=" * 12]) == ("brass", "caution", "quiet")
