"""The graph and data-flow rules against an independent judge that tries every walk of small random step graphs."""

from __future__ import annotations

import random
from collections import Counter
from itertools import pairwise

import pytest

import oracle_ways as oracle
from benchwalk.procedure.findings import Finding
from benchwalk.procedure.linked import Linked
from benchwalk.proof.flow import flow_of
from benchwalk.proof.graph import graph_of
from benchwalk.proof.rules import endless, no_way_out, unreachable, unrecorded
from samples import check, findings, linked

GRAPHS = 1500


def test_linked_edges_are_all_the_moves_there_are(cases: list[tuple[oracle.Plan, Linked]]) -> None:
    """Edge by edge, target, whether it is bounded and whether an event leads there are what trying every way finds."""
    for plan, book in cases:
        for step in range(len(plan.lines)):
            mine = [e for e in book.edges if e.source == f"s{step}"]
            told = Counter((int(e.target[1:]), e.bounded, e.first.path[0] == "whenever") for e in mine)
            assert told == Counter(oracle.moves(plan, step)), oracle.written(plan)


def test_edge_that_is_sent_on_knows_what_sent_it_off() -> None:
    """An event's spent way into a step that was entered too often comes back as both ways, the second unbounded."""
    book = linked("""
whenever:
  - {event: slips, say: It slips, during: [tie], go: tie, at_most: 1, then: rest}
steps:
  - {step: tie, do: Tie it., entered: {at_most: 2, then: rest}}
  - {step: rest, do: Rest., entered: {at_most: 2, then: leave}}
  - {step: leave, do: Put it by., end: done}
""")
    found = [(e.kind, e.target, e.bounded, e.first.kind, e.path[-2:]) for e in book.edges if e.source == "tie"]
    sent = ("entered", "then")
    assert found == [
        ("next", "rest", True, "next", ("steps", 0)),
        ("sent-on", "leave", False, "next", sent),
        ("event", "tie", True, "event", (0, "go")),
        ("sent-on", "rest", True, "event", sent),
        ("sent-on", "leave", False, "event", sent),
        ("then", "rest", True, "then", (0, "then")),
        ("sent-on", "leave", False, "then", sent),
    ]
    assert [e.stays for e in book.edges if e.source == "tie"] == [False, False, True, False, False, False, False]


def numbers(steps: list[str]) -> list[int]:
    return [int(step[1:]) for step in steps]


@pytest.fixture(scope="module")
def cases() -> list[tuple[oracle.Plan, Linked]]:
    """The same random graphs for every test here."""
    chance = random.Random(2026)
    made = [oracle.plan(chance) for _ in range(GRAPHS)]
    return [(plan, linked(oracle.written(plan))) for plan in made]


def test_random_graphs_are_worth_judging(cases: list[tuple[oracle.Plan, Linked]]) -> None:
    """The graphs link without errors, and each verdict is met often, both ways."""
    kinds: Counter[str] = Counter()
    for plan, book in cases:
        assert book.sound, [f.message for f in book.findings]
        kinds["lost"] += len(oracle.reached(plan)) < len(plan.lines)
        kinds["dead"] += bool(oracle.dead(plan))
        kinds["round"] += bool(oracle.rounds(plan))
        kinds["sent round"] += oracle.sent_rounds(plan)
        kinds["unrecorded"] += bool(oracle.unrecorded(plan))
        kinds["event"] += bool(plan.events)
    assert all(GRAPHS * 0.02 < kinds[kind] < GRAPHS * 0.95 for kind in kinds), kinds


def test_unreachable_steps_are_those_no_way_leads_to(cases: list[tuple[oracle.Plan, Linked]]) -> None:
    """The groups hold exactly the steps that trying every way does not reach, and a finding stands for each group."""
    for plan, book in cases:
        groups = graph_of(book).not_reached()
        lost = set(range(len(plan.lines))) - oracle.reached(plan)
        assert sorted(n for group in groups for n in numbers(group)) == sorted(lost), oracle.written(plan)
        assert len(list(unreachable.check(book))) == len(groups)


def test_no_way_out_is_told_where_the_dead_part_is_entered(cases: list[tuple[oracle.Plan, Linked]]) -> None:
    """A finding is there exactly when some step reached has no end ahead, at steps entered from outside, with a way."""
    for plan, book in cases:
        dead = oracle.dead(plan)
        found = list(no_way_out.check(book))
        assert bool(found) == bool(dead), oracle.written(plan)
        for finding in found:
            way = numbers(path(finding))
            assert way[0] == 0 and way[-1] in dead and not dead & set(way[:-1])
            assert all(goes(plan, one, other) for one, other in pairwise(way))


def path(finding: Finding) -> list[str]:
    assert finding.witness is not None
    return finding.witness["path"].split(", ")


def goes(plan: oracle.Plan, one: int, other: int) -> bool:
    return any(target == other for target, _, _ in oracle.moves(plan, one))


def test_endless_rounds_are_real(cases: list[tuple[oracle.Plan, Linked]]) -> None:
    """Rounds are told exactly when enumerating all simple rounds of unbounded ways finds one, and each told is one."""
    for plan, book in cases:
        rounds = oracle.rounds(plan)
        found = [f for f in endless.check(book) if "not bounded" in f.message]
        assert bool(found) == bool(rounds), oracle.written(plan)
        for finding in found:
            told = numbers(path(finding))[:-1]
            least = told.index(min(told))
            assert (*told[least:], *told[:least]) in rounds


def test_steps_that_send_one_another_round_are_told(cases: list[tuple[oracle.Plan, Linked]]) -> None:
    """Following `then` from step to step by hand finds a round exactly when the rule does."""
    for plan, book in cases:
        found = [f for f in endless.check(book) if "send the walk round" in f.message]
        assert bool(found) == oracle.sent_rounds(plan)


def test_what_is_called_bounded_ends_with_all_counts_played(cases: list[tuple[oracle.Plan, Linked]]) -> None:
    """Where the rule finds nothing, no walk goes on for ever, every count being played as the interpreter counts."""
    bounded = played = 0
    for plan, book in cases:
        if not list(endless.check(book)):
            bounded += 1
            ends = oracle.plays(plan)
            assert ends is not True, oracle.written(plan)
            played += ends is False
    assert bounded > GRAPHS * 0.2 and played > bounded * 0.9


def test_values_read_unrecorded_are_those_some_way_misses(cases: list[tuple[oracle.Plan, Linked]]) -> None:
    """A reading is told exactly when trying every way (events at every question) comes to a text without it."""
    for plan, book in cases:
        flow = flow_of(book)
        told = {use.name for _, _, use, _ in flow.uses()}
        assert told == oracle.unrecorded(plan), oracle.written(plan)
        assert len(list(unrecorded.check(book))) == len(told)


def test_the_way_shown_really_misses_the_value(cases: list[tuple[oracle.Plan, Linked]]) -> None:
    """No step before the last of the way shown records the value, but for one an event may leave before it is noted."""
    shown = 0
    for plan, book in cases:
        struck = {step for during, _ in plan.events for step in during}
        for finding in unrecorded.check(book):
            name = finding.message.split("'")[1]
            way = numbers(path(finding)) if finding.witness else []
            shown += bool(way)
            assert not way or name in plan.reads[way[-1]]
            assert all(name not in plan.records[step] or step in struck for step in way[:-1])
            assert all(goes(plan, one, other) for one, other in pairwise(way))
    assert shown > GRAPHS * 0.1


def test_sent_on_through_several_steps_is_followed() -> None:
    """A step sent to by a step sent to is reached, in whatever order they stand in the file."""
    piece = """
steps:
  - step: start
    do: Begin.
    go: second
  - step: first
    entered: {at_most: 1, then: last}
    do: Again.
    go: second
  - step: second
    entered: {at_most: 2, then: first}
    do: On.
    go: start-again
  - step: start-again
    do: Once more.
    go: second
  - step: last
    do: Put the drum out.
    end: done
"""
    book = linked(piece)
    assert graph_of(book).not_reached() == [] and list(endless.check(book)) == []


HOLD = """
steps:
  - step: look
    do: Show it.
    hold: {{by: senior, signs: checked, because: It comes back{reasons}}}
    {ways}
  - {{step: leave, do: Put it by., end: done}}
"""


@pytest.mark.parametrize(
    ("ways", "told"),
    [
        ("go: leave", True),
        ("first_of: [{when: otherwise, because: So it is, go: leave}]", True),
        ("branches: [{when: hold is released, go: leave}, {when: hold is refused, go: leave}]", False),
        ("first_of: [{when: hold is refused, go: leave}, {when: otherwise, go: leave}]", False),
    ],
)
def test_a_refusal_that_leads_nowhere_is_advice(ways: str, told: bool) -> None:
    """A hold that no branch asks about is advice at the hold; asking once, in whatever words, is enough."""
    found = [(f.severity, f.pos.line) for f in findings(HOLD.format(ways=ways, reasons="")) if f.rule == "refused"]
    assert found == ([("advice", 5)] if told else [])


def test_a_refusal_for_a_reason_counts_as_asked() -> None:
    """Branches that ask about each reason ask about the hold."""
    ways = "first_of: [{when: hold is refused for gap, go: leave}, {when: otherwise, because: It goes, go: leave}]"
    assert check(HOLD.format(ways=ways, reasons=", refused_for: {gap: The gap, knot: The knot}")) == []


EVERY_WAY = """
readings:
  gap: {ask: Gap, unit: mm, possible: 0 .. 30}
whenever:
  - {event: slips, say: It slips, during: [gap], go: gap, at_most: 1, then: leave}
steps:
  - step: rest
    do: Let it rest.
    wait: {for: 30 min, at_latest: 2 h, late: {go: leave}}
    may_skip: {because: It is wanted, by: senior}
  - step: gap
    record: [gap]
    entered: {at_most: 5, then: leave}
    branches:
      - {when: gap < 3 mm, because: It is narrow, go: gap, at_most: 2, then: leave}
      - {when: gap >= 3 mm, because: It is wide, go: pick}
  - step: pick
    choose: {as: way, ways: [{way: short, say: Short, go: done}, {way: long, say: Long, go: leave}]}
  - {step: done, do: Put it out., end: done}
  - {step: leave, do: Put it by., end: stopped}
"""
USUAL = "usual: {given: {gap: 4, way: short}}\nexamples:\n  - {example: plain}\n"
MORE = """\
  - {example: late, acts: {rest: {after: 3 h}}, ends: stopped}
  - {example: skipped, acts: {rest: {skipped: wanted}}}
  - {example: narrow, given: {gap: {visits: [1, 4]}}}
  - {example: ever narrow, given: {gap: 1}, ends: stopped}
  - {example: entered, assume: {count: {gap: 5}}, ends: stopped}
  - {example: long, given: {way: long}, ends: stopped}
  - {example: slips, acts: {gap: {event: slips}}}
  - {example: slips twice, acts: {gap: {visits: [{event: slips}, {event: slips}]}}, ends: stopped}
"""


def test_every_way_wants_an_example() -> None:
    """What no example walks is told once, as advice, by name; with each example more it tells of fewer ways."""
    lines = MORE.splitlines(keepends=True)
    told = [findings(EVERY_WAY + USUAL + "".join(lines[:n])) for n in range(len(lines) + 1)]
    assert [[(f.rule, f.severity) for f in found] for found in told] == [[("unwalked", "advice")]] * len(lines) + [[]]
    first = told[0][0].message
    assert first == (
        "no example walks 9 of 12 ways: 'rest' too late, 'rest' skipped, 'gap' on 'gap < 3 mm', "
        "'gap' on 'gap < 3 mm' once that is spent and 5 more; `benchwalk check --propose` prints examples for them"
    )
    counts = [int(found[0].message.split()[3]) for found in told[:-1]]
    assert counts == sorted(counts, reverse=True)
    assert "the event 'slips' once that is spent;" in told[-2][0].message
    assert "the event 'slips' and" not in told[-3][0].message and "the event 'slips'," in told[-3][0].message


def test_ways_are_not_counted_while_an_example_goes_otherwise() -> None:
    """An example that fails is told, and nothing about ways beside it; without examples nothing is said of them."""
    wrong = USUAL.replace("example: plain", "example: plain, ends: stopped")
    assert {f.rule for f in findings(EVERY_WAY + wrong)} == {"example"}
    assert not any(f.rule == "unwalked" for f in findings(EVERY_WAY))
