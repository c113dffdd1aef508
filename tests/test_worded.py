"""Actions with values in their text: kept as they were told, and gone through where a value is corrected."""

from __future__ import annotations

import pytest

from benchwalk.shop.pages import pages
from benchwalk.walk import acts
from benchwalk.walk.decide import proceed
from benchwalk.walk.fold import replay
from walk_helpers import BO, NAMES, PLAYED, RODS, Walk, linked, procedure

SPACE = procedure(
    """
readings:
  room: {ask: Room, unit: mm, possible: 0 .. 20}
  lies: {ask: It lies, choices: {flat: flat, not: not flat}}
  side: {ask: Side, kind: words}
sums:
  half: {use: share, with: {part: room, whole: room}}
steps:
  - step: measure
    do: Measure the room.
    record: [room, side]
    work_out: [half]
  - step: space
    do: "Put the {{ room }} spacer in, {{ half.share }} of the way."
    choose:
      as: way
      ways:
        - {way: glue, say: Glue, do: "Glue it at {{ side }}."}
        - {way: knot, say: Knot, do: Knot it.}
    record: [lies]
  - step: finish
    do: Lay the {{ room }} spacer back.
    end: done
""",
    id="space-out",
)


def space(until: str = "", way: str = "glue", kind: str = "practice") -> Walk:
    """SPACE, walked to a step or to its end with a room of 4 mm at the butt."""
    walk = Walk(linked(SPACE), kind=kind).begin()
    walk.on(until, room="4", side="butt", way=way, lies="flat")
    return walk


def correct(walk: Walk, name: str, typed: str) -> list[str]:
    """Correct a reading; the kinds of event that come of it."""
    return [e["what"] for e in walk.do(acts.Correct(walk.entry(name).n, typed, "misread"))]


def stop(walk: Walk) -> int:
    """The stop at which the walk was stopped."""
    found = walk.state.leads_elsewhere()
    assert found is not None and walk.now().kind == "diverged"
    return found.number


def test_an_action_with_a_value_in_it_is_kept_as_it_was_told() -> None:
    """The text stands in the log before the action counts as done, with what it rests on; other texts are not kept."""
    walk = space()
    kept = [(e["visit"], e["part"], e["text"]) for e in walk.of("worded")]
    assert kept == [
        (2, "do", "Put the 4 mm spacer in, 1 of the way."),
        (2, "the way", "Glue it at butt."),
        (3, "do", "Lay the 4 mm spacer back."),
    ]
    room, half = walk.entry("room").n, walk.of("worked")[0]["n"]
    assert [e["reads"] for e in walk.of("worded")] == [[room, half], [walk.entry("side").n], [room]]
    order = [e["what"] for e in walk.events if e["what"] in ("worded", "done", "confirmed")]
    assert order == ["done", "worded", "done", "worded", "confirmed", "worded", "done"]


def test_a_correction_stops_the_walk_where_the_action_was_told_with_the_old_value() -> None:
    """The earliest such stop comes first, each is accepted for itself, and the release waits for all of them."""
    walk = space(kind="customer")
    assert "diverged" in correct(walk, "room", "6")
    assert stop(walk) == 2
    assert walk.last("diverged")["because"] == (
        "at space it was told 'Put the 4 mm spacer in, 1 of the way.', "
        "and would now be told 'Put the 6 mm spacer in, 1 of the way.'"
    )
    assert "corrected value" in walk.refused(acts.ReleaseJob(BO))
    walk.do(acts.Accept("it was measured on the drum", BO))
    assert stop(walk) == 3
    walk.do(acts.Accept("so was this", BO))
    assert walk.now().kind == "ended"
    assert [e["covers"] for e in walk.of("accepted")] == [[e["n"]] for e in walk.of("worded") if e["part"] == "do"]
    walk.do(acts.ReleaseJob(BO))


def test_going_back_to_that_stop_asks_for_the_action_anew() -> None:
    """After going back the action is told with the right value, and nothing is stale; later stops are no way out."""
    walk = space()
    correct(walk, "room", "6")
    assert "go back to there or before" in walk.refused(acts.GoBack(3, "no"))
    walk.do(acts.GoBack(2, "another spacer"))
    assert walk.at() == ("do", "space") and walk.state.stale() == []
    walk.on(room="6", side="butt", way="knot", lies="flat")
    assert walk.last("worded")["text"] == "Lay the 6 mm spacer back." and walk.now().kind == "ended"


def test_an_action_in_hand_is_gone_through_too() -> None:
    """A value corrected after the action was done and before the step is left stops the walk there as well."""
    walk = space("=reading")
    walk.on(lambda here: here.name == "lies", room="4", side="butt", way="glue")
    correct(walk, "side", "strainer")
    assert stop(walk) == 2 and "'Glue it at strainer.'" in walk.last("diverged")["because"]
    walk.do(acts.Accept("the glue holds", PLAYED))
    assert walk.now().name == "lies"


def test_a_text_that_reads_the_same_changes_nothing() -> None:
    """A correction to a value that is typed the same leaves the walk as it is."""
    walk = space()
    assert correct(walk, "room", "4") == ["corrected", "worked", "stands", "stands"]
    assert walk.now().kind == "ended"


def test_a_second_correction_lifts_the_first_stop() -> None:
    """Corrected back to the old value, the action reads as it was told and the walk goes on."""
    walk = space()
    correct(walk, "room", "6")
    assert stop(walk) == 2
    correct(walk, "room", "4")
    assert walk.now().kind == "ended" and {w.state for w in walk.state.worded} == {"ok"}


def test_places_confirmed_singly_are_not_asked_twice() -> None:
    """A text that only lists the places confirmed one by one is not kept: those places are gone through as such."""
    walk = Walk(linked(RODS)).begin({"rods": "4"})
    walk.on(lambda here: here.name == "note", runs={"each": "free", "2": "binds"})
    assert walk.of("worded") == []


@pytest.mark.parametrize("kind", ["worded", "corrected", "diverged"])
def test_a_log_cut_at_any_of_it_goes_on(kind: str) -> None:
    """Cut after the wording, the action is asked again and kept once; cut while gone through, it is gone through."""
    walk = space()
    correct(walk, "room", "6")
    cut = next(n for n, event in enumerate(walk.events, 1) if event["what"] == kind)
    decision = proceed(replay(walk.events[:cut]), "ann", walk.bench)
    if kind != "worded":
        assert list(decision.events) == walk.events[cut:]
        return
    assert decision.events == ()
    again = Walk(linked(SPACE))
    again.events, again.state = walk.events[:cut], replay(walk.events[:cut])
    assert again.now().kind == "do"
    correct(again, "room", "6")
    assert again.now().kind == "do", "what was not done yet stops nothing"
    again.do(acts.Done())
    assert [w.text for w in again.state.worded] == ["Put the 6 mm spacer in, 1 of the way."]


def test_the_pages_tell_the_action_as_it_was_told() -> None:
    """What was done stands as told, and beside it what it reads since the correction, accepted or not."""
    walk = space()
    correct(walk, "room", "6")
    told = "\n".join(pages(walk.state, walk.bench.books, NAMES, walk.events))
    assert "Done: Put the 4 mm spacer in, 1 of the way." in told
    assert "Told with a value corrected since; it reads now: Put the 6 mm spacer in, 1 of the way." in told
    walk.do(acts.Accept("it fits", PLAYED))
    told = "\n".join(pages(walk.state, walk.bench.books, NAMES, walk.events))
    assert "Told with a value corrected since, which was accepted; it reads now: Put the 6 mm" in told
