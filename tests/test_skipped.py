"""Skipping a step: all that it gives is then missing, whatever an earlier stay at it gave."""

from __future__ import annotations

from typing import Any

import pytest

from benchwalk.proof.flow import flow_of
from benchwalk.proof.moments import LEFT_OUT
from benchwalk.walk import acts
from benchwalk.walk.again import differences
from benchwalk.walk.decide import proceed
from benchwalk.walk.desk import view_of
from benchwalk.walk.fold import replay
from walk_helpers import PLAYED, SNIP, Walk, linked, procedure

ROUND = procedure(
    """
readings:
  part: {ask: Part, unit: mm, possible: 0 .. 20}
  more: {ask: Again, choices: {again: again, on: go on}}
sums:
  share: {use: share, with: {part: part, whole: part}}
steps:
  - step: pick
    may_skip: {because: it is known, by: senior}
    do: Look.
    choose: {as: hand, ways: [{way: left, say: Left}, {way: right, say: Right, do: Turn it over.}]}
    record: [part]
    work_out: [share]
    first_of:
      - {when: hand is missing and share has no result and part is missing, because: All is missing, go: tie}
      - {when: hand is missing or share has no result or part is missing, because: Some is missing, go: tie}
      - {when: otherwise, because: All is there, go: tie}
  - step: tie
    may_skip: {because: it is tied, by: senior}
    do: Tie it.
    run: {procedure: snip-strand, as: tied}
  - step: ask
    record: [more]
    entered: {at_most: 3, then: finish}
    branches:
      - {when: more is again, because: Again, go: pick}
      - {when: more is on, because: Enough, go: finish}
  - step: finish
    end: done
""",
    id="round-about",
)
GIVEN: dict[str, Any] = {"hand": "right", "strand": "3", "part": "4", "more": "again"}


def walked(until: str = "") -> Walk:
    """ROUND, walked once through its first step and back to it, then on to that question."""
    walk = Walk(linked(ROUND, SNIP)).begin()
    walk.on("ask", **GIVEN)
    walk.note("again")
    if until:
        walk.on(until, **GIVEN)
    return walk


def values(walk: Walk) -> dict[str, Any]:
    """What the names of the step are worth now."""
    here = walk.state.here()
    assert here is not None
    view = view_of(walk.state, here, walk.bench)
    names = ("hand", "part", "share", "tied.outcome")
    return {name: view.value(name) for name in names if view.value(name) is not None}


def skip(walk: Walk) -> None:
    """Skip the step that picks."""
    walk.do(acts.Skip("it is known", PLAYED))


def test_a_skip_leaves_nothing_of_an_earlier_stay() -> None:
    """Reading, way and sum of the first stay count no more once the second is skipped, and branches see that."""
    walk = walked()
    assert sorted(values(walk)) == ["hand", "part", "share", "tied.outcome"]
    skip(walk)
    assert sorted(values(walk)) == ["tied.outcome"]
    assert [e["name"] for e in walk.of("left_out")] == ["part", "hand"]
    assert walk.last("worked")["no_result"] == "skipped: it is known"
    assert walk.last("took")["because"] == "All is missing"


def test_a_run_that_is_skipped_did_not_come_back() -> None:
    """How an earlier run came back counts no more once the step that runs it was skipped, and going back mends that."""
    walk = walked("tie")
    walk.do(acts.Skip("it is tied", PLAYED))
    assert "tied.outcome" not in values(walk) and walk.last("left_out")["name"] == "tied.outcome"
    stop = next(v.number for v in reversed(walk.state.visits) if v.skipped)
    walk.do(acts.GoBack(stop, "tie it anew"))
    assert values(walk)["tied.outcome"] == "done"


def test_what_was_given_before_the_skip_stays() -> None:
    """A step skipped half way keeps what this stay gave: the way that was chosen."""
    walk = walked()
    walk.on(lambda here: here.name == "part", **GIVEN)
    skip(walk)
    assert sorted(values(walk)) == ["hand", "tied.outcome"]
    assert walk.last("took")["because"] == "Some is missing"


def test_a_later_stay_gives_it_anew() -> None:
    """After a skip the next stay gives everything again."""
    walk = walked()
    skip(walk)
    walk.on("ask", **GIVEN)
    walk.note("again")
    walk.on("ask", **GIVEN)
    assert len(values(walk)) == 4
    assert "All is there" in [e["because"] for e in walk.of("took")][-3:]


def test_going_back_over_a_skip_brings_the_earlier_stay_back() -> None:
    """A skip that the walk went back over counts for nothing."""
    walk = walked()
    skip(walk)
    stop = next(v.number for v in reversed(walk.state.visits) if v.skipped)
    walk.do(acts.GoBack(stop, "no, look"))
    assert len(values(walk)) == 4


@pytest.mark.parametrize("past", range(1, 5))
def test_a_log_cut_within_a_skip_goes_on(past: int) -> None:
    """Cut after any event of a skip, the rest of it follows by itself."""
    walk = walked()
    before = len(walk.events)
    skip(walk)
    decision = proceed(replay(walk.events[: before + past]), "ann", walk.bench)
    assert list(decision.events) == walk.events[before + past :]


def test_a_skipped_sum_works_out_the_same_again() -> None:
    """Worked out again, a sum without a result because of a skip is no difference."""
    walk = walked()
    skip(walk)
    assert differences(walk.events, walk.bench) == []


def test_the_proof_counts_with_what_a_skip_leaves_missing() -> None:
    """The data flow knows that the way and the sum of a step that may be skipped may be missing behind it."""
    flow = flow_of(linked(ROUND, SNIP))
    for name in ("part", "hand", "share", "tied.outcome"):
        assert flow.facts(flow.at["ask"], name) & LEFT_OUT, name
