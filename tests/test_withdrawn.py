"""A finding whose branch no longer holds after a correction: kept as it was said, then withdrawn or said again."""

from __future__ import annotations

from benchwalk.shop.pages import pages
from benchwalk.walk import acts
from benchwalk.walk.fold import replay
from test_corrections import correct
from walk_helpers import NAMES, PLAYED, Walk, linked, procedure

THROW = procedure(
    """
readings:
  throw: {ask: Throw of the lever, unit: mm, possible: 0 .. 20}
  lie: {ask: How it lies, choices: {flat: flat, tilted: tilted}}
findings:
  short: {found: "The lever moves the cord by only {{ throw }}.", grade: watch, evidence: [throw]}
  bad: {found: "It lies badly at {{ throw }}.", grade: watch, evidence: [throw, lie]}
steps:
  - step: lever-off
    record: [throw]
    branches:
      - {when: throw >= 5 mm, because: "Long enough: {{ throw }}", go: off}
      - {when: 2 mm < throw < 5 mm, because: "A short throw: {{ throw }}", find: short, go: off}
      - {when: throw <= 2 mm, because: "No throw", find: bad, go: off}
  - step: off
    do: Take the snares off.
    record: [lie]
  - step: finish
    do: Tidy up.
    end: done
"""
)


def short() -> Walk:
    """Walked past the branch that found a short throw of 3 mm."""
    walk = Walk(linked(THROW)).begin()
    walk.note("3")
    assert walk.state.found[0].sentence == "The lever moves the cord by only 3 mm."
    return walk


def told(walk: Walk) -> str:
    """All pages of the job as one text."""
    return "\n".join(pages(walk.state, lambda text: linked(THROW), NAMES, walk.events))


def test_the_stop_says_what_would_be_otherwise_where_the_way_is_the_same() -> None:
    """A branch to the same step without its finding, with another, or for another reason is told as such."""
    walk = short()
    assert correct(walk, "throw", "6") == ["corrected", "diverged"], "the finding is not said with the new value"
    assert walk.last("diverged")["because"] == (
        "at lever-off the walk would still go to off, but without the finding 'The lever moves the cord by only 3 mm'"
    )
    correct(walk, "throw", "1")
    assert "and with the finding 'It lies badly at 1 mm'" in walk.last("diverged")["because"]
    walk = Walk(linked(THROW.replace(b"find: short, ", b"").replace(b"find: bad, ", b""))).begin()
    walk.note("3")
    correct(walk, "throw", "6")
    assert walk.last("diverged")["because"] == (
        "at lever-off the walk would still go to off, but for another reason: Long enough: 6 mm"
    )


def test_an_accepted_walk_gives_up_the_findings_of_the_branch_that_no_longer_holds() -> None:
    """Accepting withdraws what that branch found; the pages tell it as it was said when it was found."""
    walk = short()
    number = walk.state.found[0].n
    correct(walk, "throw", "6")
    walk.do(acts.Accept("it is the right lever", PLAYED))
    assert walk.state.found == [] and walk.last("accepted")["withdraws"] == [number]
    text = told(walk)
    assert "Withdrawn: The lever moves the cord by only 3 mm." in text
    assert "only 6 mm" not in text
    assert "Came here because: A short throw: 3 mm (corrected since)" in text
    assert replay(walk.events) == walk.state


def test_a_finding_that_both_branches_make_is_not_withdrawn() -> None:
    """Where the branch that fits now finds the same, the finding stands when the walk is accepted."""
    walk = Walk(linked(THROW.replace(b"find: bad", b"find: short"))).begin()
    walk.note("3")
    correct(walk, "throw", "1")
    walk.do(acts.Accept("it goes on all the same", PLAYED))
    assert [f.finding for f in walk.state.found] == ["short"]


def test_a_finding_whose_branch_holds_is_said_again() -> None:
    """A correction within the same branch says the finding anew; the pages keep what was found before."""
    walk = short()
    assert correct(walk, "throw", "4") == ["corrected", "stands", "found"]
    assert [f.sentence for f in walk.state.found] == ["The lever moves the cord by only 4 mm."]
    text = told(walk)
    assert "Found (watch): The lever moves the cord by only 4 mm; said again after a correction." in text
    assert "Found before the correction: The lever moves the cord by only 3 mm." in text


def test_a_withdrawn_finding_is_found_again_once_its_branch_holds_again() -> None:
    """A second correction that brings the branch back brings back what it found, with the value as it is now."""
    walk = short()
    correct(walk, "throw", "6")
    walk.do(acts.Accept("it is the right lever", PLAYED))
    assert correct(walk, "throw", "4") == ["corrected", "found", "stands"]
    assert [f.sentence for f in walk.state.found] == ["The lever moves the cord by only 4 mm."]


def test_a_second_correction_before_it_is_accepted_leaves_nothing_stale() -> None:
    """Corrected there and back again, the walk goes on and the finding is what it was."""
    walk = short()
    correct(walk, "throw", "6")
    correct(walk, "throw", "3")
    assert walk.state.diverged is None and walk.state.unsettled == []
    assert [f.sentence for f in walk.state.found] == ["The lever moves the cord by only 3 mm."]
