"""What docs/procedure-grammar.md lists as decided, each promise held on the page's own procedure."""

from __future__ import annotations

from fractions import Fraction

import pytest

from benchwalk.procedure.linked import Linked
from benchwalk.proof.rehearse import Player, Rehearsal, rehearse
from benchwalk.quantities import Range
from benchwalk.sums import compute
from benchwalk.walk import acts
from benchwalk.walk.decide import Decision, decide
from benchwalk.walk.phase import now
from grammar_page import TEXT, WHOLE, errors, linked, spliced


def walk(part: str, whole: str = WHOLE) -> Rehearsal:
    """The first example of the whole procedure with a part in it, walked."""
    return rehearse(linked(spliced(part, whole)), compute)[0]


def player(procedure: Linked, until: str) -> Player:
    """A walk of the first example, stopped when it comes to the step `until`."""
    playing = Player(procedure, procedure.procedure.examples[0], compute)
    playing.begin()
    for _ in range(100):
        here = now(playing.state, playing.bench)
        if here.step is not None and here.step.step == until:
            return playing
        playing.act(playing.answer(here))
    raise AssertionError(f"the walk never comes to {until}")


def tried(playing: Player, act: acts.Act) -> Decision:
    """What would come of an act."""
    return decide(playing.state, act, playing.who, playing.bench)


def test_limits_stand_inside_possible_and_wanted() -> None:
    """A limit's name in `possible` and `wanted` is its value, in the reading's unit."""
    found = linked(
        spliced(
            "limits:\n  low: {is: 1/4 in, sure: C, whose: us, because: why}\n"
            "  high: {is: 8.5 mm, sure: C, whose: us, because: why}\n"
            "readings:\n  depth: {ask: Depth, unit: mm, possible: at least low, wanted: 7 .. high}\n"
        )
    )
    assert found.possible["depth"] == Range(Fraction("6.35"), None)
    assert found.wanted["depth"] == Range(Fraction(7), Fraction("8.5"))


def test_outside_possible_is_asked_about_once_and_kept() -> None:
    """A value outside `possible` is a question first; said again it is noted and stays marked."""
    playing = player(linked(WHOLE), "read-gap")
    playing.act(acts.Done())
    asked = tried(playing, acts.Record("400"))
    assert asked.question and not asked.events and "possible" in (asked.refusal or "")
    kept = tried(playing, acts.Record("400", sure=True))
    assert kept.refusal is None and kept.events[0]["odd"] is True


ONLY_POSSIBLE = """
readings:
  depth: {ask: Depth, unit: mm, possible: 0 .. 9}
steps:
  - step: feel
    record: [depth]
    branches:
      - {when: 0 <= depth < 5 mm, because: Shallow, go: measure}
      - {when: 5 <= depth <= 9 mm, because: Deep, go: leave}
examples:
  - example: too deep to be
    given: {depth: 40}
"""


def test_branches_are_proven_for_what_is_possible_and_else_the_senior_decides() -> None:
    """Branches that cover all that is possible are complete; a value outside fits none, and a senior takes one."""
    text = spliced(ONLY_POSSIBLE)
    assert errors(text) == []
    playing = player(linked(text), "feel")
    playing.act(acts.Record("40", sure=True))
    assert now(playing.state, playing.bench).kind == "stuck"
    taken = tried(playing, acts.Overrule(1, "it is a deep drum", acts.Sign("senior", "practice")))
    assert taken.refusal is None and taken.state.visits[-1].step == "leave"


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("go: hand-back}", "end: done}", "'end' is not a key of a branch"),
        ("wanted: all}", "wanted: all, head: batter}", "head fixes how rods are numbered, so it needs per: rod"),
        ("wanted: all}", "wanted: all, head: top}", "'top' found; expected 'batter' or 'snare-side' [shape]"),
        ("  parts: none\n", "", "'parts' is not said here; a list, or the word none [missing-key]"),
        ("  parts: none\n", "  parts:\n", "nothing is written here; give a list, or the word none [shape]"),
        ("say: The cord breaks or slips", 'say: "{{ lie }}"', "its braces would be printed [name]"),
        ("title: Centre it", 'title: "Centre {{ lie }}"', "its braces would be printed [name]"),
        ("go: tie-again, at_most: 1, then: leave", "go: tie-again, at_most: 1", "at_most and then belong together"),
        ("  least_gap: {is", "  most: {is", "'most' is a word of ranges"),
        ("  wrong-set:", "  none:", "'none' cannot be the id of a finding"),
        ("    expect: The plate clears the hoop along its whole length.", "    expect:", "after 'expect:'; write it"),
    ],
)
def test_shape_that_was_decided(old: str, new: str, told: str) -> None:
    """Ends are steps, head is one of two words and needs per: rod, needs has four keys, bounds say where to; braces
    nobody fills, names that would be misread and keys with nothing after them are refused."""
    assert old in WHOLE
    assert any(told in said for said in errors(WHOLE.replace(old, new, 1)))


def test_what_a_sum_gives_takes_only_the_steps_of_its_resolution() -> None:
    """Two tenths side by side leave nothing over for a sum, and all that lies between them for a reading."""
    part = (
        "steps:\n  - step: split\n    record: [butt_gap]\n    work_out: [room]\n    first_of:\n"
        "      - {when: room has no result, because: None, go: measure}\n"
        "      - {when: NAME <= 1.4 mm, because: Narrow, go: measure}\n"
        "      - {when: NAME >= 1.5 mm, because: Wide, go: measure}\n"
    )
    about = [e for e in errors(spliced(part.replace("NAME", "room.r"))) if "[coverage]" in e]
    assert about == []
    about = [e for e in errors(spliced(part.replace("NAME", "butt_gap"))) if "[coverage]" in e]
    assert len(about) == 1 and "butt_gap 1.45 mm" in about[0]


def test_hold_is_released_also_where_it_was_not_needed() -> None:
    """A hold for other people's work only passes by itself, and its branch `hold is released` is taken."""
    whole = WHOLE.replace("for_work_by: [apprentice]", "for_work_by: [journeyman]")
    whole = whole.replace("  acts: {look: released}\n", "")
    found = rehearse(linked(whole), compute)[0]
    assert found.ok and found.visits[-2:] == ["look", "hand-back"]
    assert [e["what"] for e in found.events if e["what"] in ("released", "not_needed")] == ["not_needed"]


def test_refusal_is_for_a_named_reason_where_there_are_any() -> None:
    """Where a hold names reasons, a refusal without one, or with another, is turned down."""
    for word in ("refused", "refused for the weather"):
        found = walk(f"examples:\n  - example: no reason\n    acts: {{look: {word}}}\n")
        assert not found.ok and "say what it is refused for: gap" in (found.why or "")


SKIPPED = """
readings:
  depth: {ask: Depth, unit: mm, possible: 0 .. 9}
steps:
  - step: feel
    record: [depth]
    may_skip: {because: It is known, by: senior}
    entered: {at_most: 2, then: leave}
    branches:
      - {when: depth is missing, because: Skipped, go: measure}
      - {when: depth >= 0 mm, because: Felt, go: feel}
examples:
  - example: felt, then skipped
    given: {depth: 4}
    acts: {feel: {visits: [~, {skipped: known by now}]}}
    passes: [feel, feel, measure, hand-back]
"""


def test_skipping_leaves_readings_missing_even_if_an_earlier_visit_had_them() -> None:
    """A reading noted at one visit is missing after the next visit of its step was skipped."""
    assert errors(spliced(SKIPPED)) == []
    found = walk(SKIPPED)
    assert found.ok, found.why


def test_going_back_uses_up_no_count_and_gives_none_back() -> None:
    """After going back by hand what came after does not count, and the counts stand as they stood."""
    playing = player(
        linked(spliced("examples:\n  - example: one\n    given: {butt_gap: 1}\n    ends: stopped\n")), "tie-again"
    )
    before = dict(playing.state.counts)
    first = next(v.number for v in playing.state.visits if v.step == "read-gap")
    playing.act(acts.GoBack(first, "to look again"))
    assert playing.state.counts == before and before[1, "entered:read-gap"] == 1
    assert [v.struck for v in playing.state.visits if v.step in ("read-gap", "tie-again")] == [True, True, False]
    assert playing.state.rounds(1, "butt_gap") == []


RUN = """
readings:
  covering: {ask: The shell is covered with, choices: {bare: lacquer, plain: a plain wrap, old: an old wrap}}
whenever:
  - {event: called-away, say: You are called away, during: [holes], go: leave}
steps:
  - step: holes
    record: [covering]
  - step: smooth
    run: {procedure: deburr-cord-holes, as: holes, with: {covering: covering}}
    entered: {at_most: 3, then: measure}
    branches:
      - {when: holes.outcome is done, because: Once more, go: smooth}
      - {when: holes.outcome is referred, because: A sharp place is left, go: leave}
"""


def test_repeated_run_starts_afresh() -> None:
    """Each time it is run, a procedure counts from nothing and knows no reading of the time before."""
    found = walk(
        RUN.replace("during: [holes]", "during: everywhere")
        + "examples:\n  - example: three times\n    given: {covering: bare, holes.snags: {visits: "
        "[{each: clean, butt plate: catches}, {each: clean}, {each: clean, butt gate: catches}, {each: clean}]}}\n"
    )
    assert found.ok, found.why
    assert found.visits.count("smooth") == 3 and found.visits.count("holes/cotton-wool") == 5
    passes = [e["pass"] for e in found.events if e["what"] == "entered" and e["step"] == "cotton-wool"]
    assert passes == [1, 2, 1, 2, 1]
    assert len({e["run"] for e in found.events if e["what"] == "ran"}) == 4


def test_event_of_the_caller_ends_the_run_as_stopped() -> None:
    """An event of the caller that leads away while a run is walked ends the run as stopped."""
    found = walk(
        RUN.replace("during: [holes]", "during: [smooth]")
        + "examples:\n  - example: away\n    given: {covering: bare}\n"
        "    acts: {holes/cotton-wool: {event: called-away}}\n    ends: stopped\n"
    )
    assert found.ok, found.why
    [returned] = [e for e in found.events if e["what"] == "returned"]
    assert (returned["path"], returned["outcome"]) == ("holes", "stopped")
    assert found.visits[-2:] == ["holes/cotton-wool", "leave"]


TIE = """
readings:
  thick: {{ask: Thickness of a block, unit: in, possible: 0 .. 1}}
  side: {{ask: Which side, choices: {{butt: butt, strainer: strainer}}}}
steps:
  - step: look-first
    record: [thick, side, clear_length, set_length]
    work_out: [room]
    branches:
      - {{when: room has a result, because: There is room, go: tie}}
      - {{when: otherwise, because: There is none, go: leave}}
  - step: tie
    run: {{procedure: tie-one-side, as: tied, with: {{{given}}}}}
    branches:
      - {{when: tied.outcome is done, because: It is tied, go: measure}}
      - {{when: tied.outcome is stopped, because: It cannot be tied, go: leave}}
"""
GIVEN = {"side": "butt", "lever": "lever_off", "target": "room.gap", "spacer": "4"}


@pytest.mark.parametrize(
    ("key", "value", "fits"),
    [
        ("side", "strainer", True),
        ("side", "side", True),
        ("side", "lie", False),
        ("target", "room.gap", True),
        ("target", "3 .. 5", False),
        ("spacer", "thick", True),
        ("spacer", "least_gap", True),
        ("spacer", "room.spacer", True),
        ("spacer", "1/4 in", True),
        ("spacer", "30 min", False),
    ],
)
def test_what_a_run_is_given(key: str, value: str, fits: bool) -> None:
    """A choice by its word or by a choice with the same words, a range by name, a number by name or as typed."""
    given = ", ".join(f"{k}: {v}" for k, v in (GIVEN | {key: value}).items())
    text = spliced(TIE.format(given=given))
    if (key, value) == ("side", "side") or key != "side":
        assert bool(errors(text)) is not fits, errors(text)
    else:
        assert any("run-with" in said for said in errors(text)) is not fits


@pytest.mark.parametrize(("count", "visits"), [(1, ["read-gap", "tie-again", "read-gap", "tie-again"]), (3, [])])
def test_count_means_so_many_times_already(count: int, visits: list[str]) -> None:
    """With `entered: {at_most: 3}` and three already, the next entry leads to `then`; with one, two more may follow."""
    found = walk(
        f"examples:\n  - example: counted\n    given: {{butt_gap: 1}}\n    assume: {{count: {{read-gap: {count}}}}}\n"
        "    ends: stopped\n"
    )
    assert found.ok and found.visits == ["measure", *visits, "leave"]


def test_count_of_the_first_step_takes_in_the_entry_the_walk_begins_with() -> None:
    """For the first step, the entry with which the walk begins is among those that are counted."""
    part = SKIPPED.partition("examples:")[0]
    for count, visits in ((1, 2), (2, 1)):
        found = walk(
            f"{part}examples:\n  - example: counted\n    given: {{depth: 4}}\n"
            f"    assume: {{count: {{feel: {count}}}}}\n    ends: stopped\n"
        )
        assert found.ok and found.visits == ["feel"] * visits + ["leave"]


WORKED_TWICE = """
sums:
  apart: {use: difference, with: {a: clear_length, b: set_length}}
steps:
  - step: lengths
    record: [clear_length, set_length]
  - step: weigh
    work_out: [apart]
    branches:
      - {when: apart.by > 5 mm, because: Far apart, go: weigh-again}
      - {when: otherwise, because: Near, go: leave}
  - step: weigh-again
    work_out: [apart]
    branches:
      - {when: apart.by > 5 mm, because: Still far apart, go: leave}
      - {when: otherwise, because: Near, go: measure}
"""


def test_what_a_sum_is_taken_to_say_goes_visit_by_visit_where_nobody_is_asked_between() -> None:
    """Two steps in a row that only work the same sum out are two visits, each with its own assumed value."""
    found = walk(
        f"{WORKED_TWICE}examples:\n  - example: far, then near\n    assume: {{apart.by: {{visits: [9, 1]}}}}\n"
    )
    assert found.ok and found.visits[:4] == ["lengths", "weigh", "weigh-again", "measure"]


SPENT = """
findings:
  lifted: {found: Some strands lift., grade: watch, evidence: [lie]}
steps:
  - step: see
    record: [lie]
    branches:
      - {when: lie is all, because: All lie, go: measure}
      - {when: otherwise, because: Look again, find: lifted, go: see, at_most: 1, then: leave}
examples:
  - example: it stays so
    given: {lie: some}
    passes: [see, see, leave]
    finds: [lifted]
    ends: stopped
"""


def test_finding_is_noted_also_when_the_bound_is_spent() -> None:
    """A branch that was taken often enough still finds what it finds before it leads to `then`."""
    found = walk(SPENT)
    assert found.ok, found.why
    assert [e["visit"] for e in found.events if e["what"] == "found"] == [1, 2]


def test_a_silence_is_approved_with_the_file() -> None:
    """A silence changes what an approval speaks of; a comment that says the same does not."""
    silent = linked(WHOLE + "allow: {vague: It is a trial}\n")
    assert linked(WHOLE).content == linked(WHOLE + "# allow vague: it is a trial\n").content != silent.content


def test_page_lists_what_is_held_here() -> None:
    """The page's list of decisions is not longer than what these tests were written for."""
    section = TEXT[TEXT.index("## Decided") :].split("\n## ")[0]
    assert len([line for line in section.splitlines() if line.startswith("- ")]) == 16
