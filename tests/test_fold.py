"""`fold`: what an event means, by itself: pure, the same from memory and from a file, one event at a time."""

from __future__ import annotations

import ast
import copy
import json
from typing import Any

import pytest

from benchwalk.walk import acts, fold_job, fold_record, fold_route
from benchwalk.walk.events import KINDS, Event, lacking
from benchwalk.walk.fold import fold, replay
from benchwalk.walk.state import State
from house import PACKAGE, parsed
from walk_helpers import GAP, INNER, OUTER, REST, RODS, SNIP, TIED, Walk, linked


def walked() -> list[Walk]:
    """Four walks to their ends, with a correction, a way back and a hand-over among them."""
    gap = Walk(linked(GAP)).begin()
    gap.on("look", gap="2")
    gap.on("look", gap="4")
    first = gap.of("read")[0]["n"]
    gap.do(acts.Correct(first, "2.5", "misread"))
    gap.do(acts.GoBack(1, "begin again"))
    gap.on(gap="4", lie="all")
    outer = Walk(linked(OUTER, INNER, SNIP)).begin()
    outer.on("far/pull", **TIED)
    outer.do(acts.HandOver("cy", "one side is tied"))
    outer.do(acts.TakeOn(), "cy")
    outer.on(**TIED)
    rods = Walk(linked(RODS)).open({"rods": "6"})
    rods.on(runs={"each": "free", "2": "binds"}, note="220", edge="smooth")
    rest = Walk(linked(REST)).begin()
    rest.on(knob=None, said="loose", temp="20")
    return [gap, outer, rods, rest]


def test_folding_one_event_leaves_the_state_before_it_as_it_was() -> None:
    """`fold` is pure: whatever the event, the state it is given is the same afterwards, down to the last list."""
    for walk in walked():
        state = State()
        for event in walk.events:
            before, sent = copy.deepcopy(state), copy.deepcopy(event)
            after = fold(state, event)
            assert state == before
            assert event == sent
            assert after.n == event["n"]
            state = after


def test_folding_one_by_one_and_all_at_once_give_the_same() -> None:
    """Incremental folding, replaying, and what `decide` itself came to are one and the same state."""
    for walk in walked():
        state = State()
        for event in walk.events:
            state = fold(state, event)
        assert state == replay(walk.events)
        assert state == walk.state


def test_what_was_written_as_json_folds_to_the_same_state() -> None:
    """An event is plain data: written down and read back it means the same."""
    for walk in walked():
        assert replay(json.loads(json.dumps(walk.events))) == walk.state


def test_an_old_state_is_not_changed_by_what_comes_later() -> None:
    """States share what they can; a state kept from every moment of a walk still equals that moment at the end."""
    for walk in walked():
        kept, copies = [State()], [copy.deepcopy(State())]
        for event in walk.events:
            kept.append(fold(kept[-1], event))
            copies.append(copy.deepcopy(kept[-1]))
        assert kept == copies


@pytest.mark.parametrize("number", [0, 1, 3, 99])
def test_an_event_out_of_turn_is_not_folded(number: int) -> None:
    """The number of an event must be the next one, or folding stops with the two numbers."""
    walk = Walk(linked(GAP)).open()
    assert walk.state.n == 1
    event = {"v": 1, "n": number, "at": walk.state.at, "who": "ann", "what": "noted", "visit": 0, "text": "x"}
    with pytest.raises(ValueError, match=f"event {number} cannot follow event 1"):
        fold(walk.state, event)


def test_every_kind_of_event_can_be_folded_and_no_other() -> None:
    """The kinds that are declared and the kinds that `fold` knows are the same."""
    assert {**fold_job.PUT, **fold_route.PUT, **fold_record.PUT}.keys() == KINDS.keys()
    together = [*fold_job.PUT, *fold_route.PUT, *fold_record.PUT]
    assert len(together) == len(set(together))


@pytest.mark.parametrize("kind", [*KINDS])
def test_a_missing_field_is_named(kind: str) -> None:
    """An event that lacks a field of its kind is told so by name, field by field."""
    whole: Event = {"what": kind, **dict.fromkeys(KINDS[kind])}
    assert lacking(whole) is None
    for field in KINDS[kind]:
        cut = {key: value for key, value in whole.items() if key != field}
        assert lacking(cut) == f"the event '{kind}' has no '{field}'"


@pytest.mark.parametrize("kind", [None, "", "sneezed", 3, ["read"]])
def test_an_unknown_kind_is_told(kind: Any) -> None:
    """An event of a kind that nobody knows is told as such."""
    assert lacking({"what": kind}) == f"the kind of event {kind!r} is not known here"


def test_a_lock_taken_over_is_kept_and_changes_nothing() -> None:
    """Taking over a lock is in the log with its reason; the job itself stands as before."""
    walk = Walk(linked(GAP)).begin()
    event = {"v": 1, "n": walk.state.n + 1, "at": walk.state.at, "who": "bo", "what": "lock_taken_over"}
    event |= {"reason": "the machine died", "holder": "bench-2"}
    assert lacking(event) is None
    after = fold(walk.state, event)
    assert after.n == walk.state.n + 1
    after.n = walk.state.n
    assert after == walk.state


def test_a_look_turned_away_changes_nothing_but_is_counted() -> None:
    """A refused sign-off is an event; the walk stands where it stood."""
    walk = Walk(linked(REST)).begin()
    walk.on("=hold", knob="3", said="x", temp="20")
    before = copy.deepcopy(walk.state)
    walk.refused(acts.Release(acts.Sign("cy", "pin")))
    assert walk.state.n == before.n + 1
    walk.state.n = before.n
    assert walk.state == before


def test_folding_knows_no_procedure_and_no_sum() -> None:
    """The modules that fold import events and state only: no procedure, no sum, no clock."""
    for path in sorted((PACKAGE / "walk").glob("fold*.py")):
        for node in ast.walk(parsed(path)):
            if isinstance(node, ast.ImportFrom):
                module = "." * node.level + (node.module or "")
                names = {alias.name for alias in node.names}
                ours = module in (".events", ".state", ".fold_record") or (module == "." and names <= SIBLINGS)
                assert ours or module in ("__future__", "..plaindata", "typing", "collections.abc"), (path.name, module)
            assert not isinstance(node, ast.Import), path.name


SIBLINGS = {"fold_job", "fold_record", "fold_route"}


def test_times_do_not_order_events_but_numbers_do() -> None:
    """With a clock set back an hour in mid-job, the order and the state are as with a clock that runs on."""
    plain, back = Walk(linked(GAP)).begin(), Walk(linked(GAP)).begin()
    plain.on("look", gap="4")
    back.on("look", gap="4")
    back.wait(hours=-1)
    plain.on(lie="all")
    back.on(lie="all")
    assert [(e["n"], e["what"]) for e in plain.events] == [(e["n"], e["what"]) for e in back.events]
    assert back.events[-1]["at"] < back.events[0]["at"]
    assert back.route() == plain.route()
    assert replay(back.events) == back.state
