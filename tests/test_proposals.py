"""Proposed examples: one for every way that can be walked, each proven, each read from its text as it was walked."""

from __future__ import annotations

import json
import random
import subprocess
import sys
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

import oracle_walks as oracle
from benchwalk.cli import main
from benchwalk.library import Library
from benchwalk.procedure.linked import Linked
from benchwalk.procedure.linking import link
from benchwalk.procedure.model import Example
from benchwalk.procedure.read import read
from benchwalk.procedure.tree import parse
from benchwalk.proof.check import check_source, telling
from benchwalk.proof.proposals import Proposed, propose
from benchwalk.proof.proposing.written import text_of
from benchwalk.proof.rehearse import rehearse
from benchwalk.proof.walked import all_ways, walked_ways
from benchwalk.sums import compute
from house import ROOT, some
from oracle_proposals import walkable
from walk_helpers import GAP, INNER, OUTER, REST, RODS, SNIP, linked, procedure

LIBRARY = Library([ROOT / "procedures"])


def proposed(book: Linked) -> Proposed:
    """What is proposed for a procedure beside the examples it has."""
    return propose(book, compute, rehearse(book, compute))


def pasted(found: Proposed, find: Any) -> list[str]:
    """What the check says of the file with all proposals pasted at its end and did not say before, and what it says of
    examples."""
    book = found.linked
    data = book.source.data.rstrip() + b"\n" + (b"" if book.procedure.examples else b"examples:\n")
    source = read(data + "".join(proposal.text for proposal in found.proposals).encode(), "pasted.yaml")
    again = link(source, find)
    assert again is not None
    before = {finding.message for finding in check_source(book.source, book)}
    told = check_source(source, again, tell=telling(compute))
    return [f.message for f in told if f.message not in before or f.rule in ("example", "unwalked")]


def text(book: Linked) -> str:
    """All proposals for a procedure as they are pasted."""
    return "".join(proposal.text for proposal in proposed(book).proposals)


# --- every kind of way ---------------------------------------------------------------------------------------------

EVERY_WAY = procedure(
    """
readings:
  gap: {ask: Gap, unit: mm, possible: 0 .. 30, resolution: 0.5}
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
    choose: {as: way, ways: [{way: short, say: Short, go: look}, {way: long, say: Long, go: leave}]}
  - step: look
    do: Show it.
    hold: {by: senior, signs: checked, because: It comes back, refused_for: {gap: The gap, knot: The knot}}
    branches:
      - {when: hold is released, because: It is good, go: done}
      - {when: hold is refused for gap, because: The gap is not good, go: leave}
      - {when: hold is refused for knot, because: The knot is not good, go: leave}
  - {step: done, do: Put it out., end: done}
  - {step: leave, do: Put it by., end: stopped}
usual: {given: {gap: 4, way: short}}
"""
)


@pytest.mark.parametrize("kind", ["branch", "then", "way", "entered", "event", "event-then", "skip", "late", "end"])
def test_every_kind_of_way_is_walked_by_a_proposal(kind: str) -> None:
    """Of a procedure with every kind of way, every way of each kind is walked."""
    book = linked(EVERY_WAY)
    ways = {way for way in all_ways(book) if way[1] == kind}
    assert ways
    assert ways <= {way for proposal in proposed(book).proposals for way in proposal.walks}


def test_proposals_are_what_one_would_write() -> None:
    """Only what differs from usual is said, in the style of the shipped procedures: where it goes, and how it ends."""
    assert (
        text(linked(EVERY_WAY))
        == """\
  - example: rest too late
    acts: {rest: {after: 121 min}}
    passes: [rest, leave]
    ends: stopped
  - example: rest skipped
    acts: {rest: {skipped: it is wanted}, look: released}
    passes: [rest, gap]
    ends: done
  - example: it is narrow, too often
    given: {gap: 2.5}
    passes: [gap, gap]
    ends: stopped
  - example: gap entered too often
    assume: {count: {gap: 5}}
    passes: [leave]
    ends: stopped
  - example: long
    given: {way: long}
    passes: [pick, leave]
    ends: stopped
  - example: the gap is not good
    acts: {look: refused for gap}
    passes: [look, leave]
    ends: stopped
  - example: the knot is not good
    acts: {look: refused for knot}
    passes: [look, leave]
    ends: stopped
  - example: it slips, once too often
    acts: {gap: {visits: [{event: slips}]}}
    ends: stopped
"""
    )


NAMES = ["GAP", "OUTER", "INNER", "RODS", "REST", "EVERY_WAY"]
BOOKS = dict(zip(NAMES, [(GAP,), (OUTER, INNER, SNIP), (INNER,), (RODS,), (REST,), (EVERY_WAY,)], strict=True))


@pytest.mark.parametrize("name", NAMES)
def test_what_is_pasted_checks_clean(name: str) -> None:
    """With runs, sums, rods, places, waits, looks and events: pasted at the end, all go as they say and every way is
    walked; and none of them is there in vain."""
    first, *others = BOOKS[name]
    found = proposed(linked(first, *others))
    by_id = {book.id: book for book in (linked(other) for other in others)}
    assert (found.left, pasted(found, by_id.get)) == ([], [])
    for one in found.proposals:
        rest = {way for other in found.proposals if other is not one for way in other.walks}
        assert not set(one.walks) <= rest


def test_only_what_is_not_walked_is_proposed() -> None:
    """Beside examples of the file none is proposed for what they walk, and none takes a name of theirs."""
    whole = text(linked(EVERY_WAY))
    first, *_, last = whole.split("  - example: ")[1:]
    book = linked(EVERY_WAY + f"examples:\n  - example: {first}  - example: {last}".encode())
    found = proposed(book)
    assert ("rest", "late", 0) not in found.unwalked and ("slips", "event", 0) not in found.unwalked
    assert len(found.proposals) == whole.count("- example") - 2
    assert pasted(found, {}.get) == []
    renamed = EVERY_WAY + b"examples:\n  - {example: long, acts: {rest: {after: 121 min}}, ends: stopped}\n"
    assert pasted(proposed(linked(renamed)), {}.get) == []
    assert "- example: long, at pick\n" in text(linked(renamed))


# --- values --------------------------------------------------------------------------------------------------------


def test_only_that_round_of_a_reading_is_told_otherwise() -> None:
    """A reading that is asked again has what is usual in every other round, and a value only where one is wanted."""
    assert "given: {gap: 4.5, lie: {visits: [some, all]}}" in text(linked(GAP))


def test_what_nobody_says_is_as_wanted_or_in_the_middle() -> None:
    """Without a usual value: the first choice that is wanted, the middle of what is wanted as far as it is possible,
    else the middle of what is possible, on the grid of the resolution."""
    book = linked(
        procedure(
            """
drum: [rods, diameter]
readings:
  lie: {ask: It lies, choices: {some: some do, all: all do}, wanted: all}
  any_word: {ask: It is, choices: {one: is one, two: is two}}
  gap: {ask: Gap, unit: mm, possible: 0 .. 20, wanted: 3 .. 50, resolution: 2}
  wide: {ask: Width, unit: mm, possible: 0 .. 7, resolution: 1}
  many: {ask: How many, kind: whole, possible: 1 .. 4}
  note: {ask: Note, kind: note, possible: 40 .. 1200}
  strip: {ask: Strip, choices: {alike: alike, loose: loose}, wanted: alike, per: [left, right]}
steps:
  - {step: look, record: [lie, any_word, gap, wide, many, note, strip], end: done}
"""
        )
    )
    assert (
        text(book)
        == """\
  - example: all as usual
    drum: {rods: 10, diameter: 650 mm}
    given: {lie: all, any_word: one, gap: 12, wide: 4, many: 2, note: 620, strip: alike}
    ends: done
"""
    )


SUMS = procedure(
    """
limits:
  most: {is: 4 mm, sure: C, whose: the shop, because: It must clear}
readings:
  before: {ask: Before, unit: mm, possible: 0 .. 20, resolution: 0.5}
  after: {ask: After, unit: mm, possible: 0 .. 20, resolution: 0.5}
  part: {ask: Part, unit: mm, possible: 10 .. 11, resolution: 0.5}
sums:
  moved: {use: difference, with: {a: after, b: before}}
  taken: {use: share, with: {part: part, whole: part}}
steps:
  - step: measure
    record: [before, after, part]
    work_out: [moved, taken]
    first_of:
      - {when: taken has no result, because: There is no whole, go: leave}
      - {when: taken.share < 1/2, because: It is less than half, go: leave}
      - {when: moved.signed > most and before > 18 mm, because: It would be outside, go: leave}
      - {when: moved.signed > most, because: It went up, go: done}
      - {when: otherwise, because: It stays, go: done}
  - {step: done, do: Put it out., end: done}
  - {step: leave, do: Put it by., end: stopped}
usual: {given: {before: 5, after: 5, part: 10}}
"""
)


def test_sums_are_reached_by_readings_and_else_assumed() -> None:
    """Where other readings make a sum come out so, they are told; only where none do, the sum is taken to say it."""
    told = text(linked(SUMS))
    assert "example: it went up\n    given: {after: " in told
    assert "example: there is no whole\n    assume: {taken: no result}\n" in told
    assert "example: it is less than half\n    assume: {taken.share: " in told
    assert told.count("assume") == 3
    assert pasted(proposed(linked(SUMS)), {}.get) == []


def test_a_value_that_an_earlier_branch_needs_too_is_found() -> None:
    """Two branches that ask for the same reading are both gone the way that is wanted, and a branch that cannot be
    come to at all is told as such."""
    book = linked(
        procedure(
            """
readings:
  x: {ask: x, unit: mm, possible: 0 .. 9}
steps:
  - step: first
    record: [x]
    branches:
      - {when: x < 4 mm, because: It is small, go: second}
      - {when: x >= 4 mm, because: It is large, go: last}
  - step: second
    do: Do it.
    branches:
      - {when: x = 2 mm, because: It is two, go: last}
      - {when: x < 2 mm, because: It is one, go: last}
      - {when: 2 < x < 6 mm, because: It is more, go: last}
      - {when: x >= 6 mm, because: It is most, go: last}
  - {step: last, do: Do it., end: done}
"""
        )
    )
    found = proposed(book)
    assert found.left == [("second", "branch", 3)]
    assert found.told().endswith("test.yaml: nothing was found for 'second' on 'x >= 6 mm'\n")


def test_what_a_run_takes_leads_inside_it() -> None:
    """A run is made to end otherwise by what is answered inside it, or by what its caller hands in."""
    inner = procedure(
        """
takes:
  cover: {choices: {bare: bare, old: old}}
readings:
  snags: {ask: It, choices: {clean: comes clean, catches: catches}}
steps:
  - step: wool
    record: [snags]
    first_of:
      - {when: cover is old and snags is catches, because: Nobody files there, go: leave}
      - {when: otherwise, because: It is filed, go: done}
  - {step: done, do: Put it out., end: done}
  - {step: leave, do: Put it by., end: referred}
""",
        id="smooth-it",
    )
    outer = procedure(
        """
readings:
  covered: {ask: Covered with, choices: {bare: lacquer, old: an old wrap}}
steps:
  - {step: look, record: [covered]}
  - step: smooth
    run: {procedure: smooth-it, as: holes, with: {cover: covered}}
    branches:
      - {when: holes.outcome is done, because: It is smooth, go: done}
      - {when: holes.outcome is referred, because: It is sharp, go: leave}
  - {step: done, do: Put it out., end: done}
  - {step: leave, do: Put it by., end: stopped}
"""
    )
    assert "given: {covered: old, holes.snags: catches}\n    passes: [smooth, leave]" in text(linked(outer, inner))


def test_an_event_that_runs_a_procedure_is_spent_by_striking_again() -> None:
    """What an event leads to once it is spent is come to by letting it strike at one visit after another."""
    book = linked(
        procedure(
            """
whenever:
  - event: bends
    say: A strand bends
    during: everywhere
    run: {procedure: snip-strand, as: snip}
    then_back: true
    at_most: 2
    then: leave
steps:
  - {step: look, do: Look.}
  - {step: turn, do: Turn it.}
  - {step: show, do: Show it., end: done}
  - {step: leave, do: Put it by., end: stopped}
"""
        ),
        SNIP,
    )
    strikes = "acts: {look: {event: bends}, turn: {event: bends}, show: {event: bends}}\n    ends: stopped"
    assert strikes in text(book)
    assert pasted(proposed(book), {"snip-strand": linked(SNIP)}.get) == []


# --- all there is --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", some(LIBRARY.ids()))
def test_shipped_procedures_are_walked_without_their_examples(name: str) -> None:
    """With their examples taken away, examples for every way of every shipped procedure are proposed, and pasted in
    their place they check clean."""
    data = LIBRARY.path_of(name).read_bytes()
    bare = data[: data.index(b"\nexamples:") + 1]
    book = link(read(bare, f"{name}.yaml"), LIBRARY.find)
    assert book is not None
    found = proposed(book)
    assert found.unwalked == [*all_ways(book)]
    assert (found.left, pasted(found, LIBRARY.find)) == ([], [])


def judge(seeds: range) -> Counter[str]:
    """Compare what is proposed for random procedures with what walking every walk shows; how much there was."""
    met: Counter[str] = Counter()
    for seed in seeds:
        made = oracle.made(random.Random(seed), back=seed % 2 == 1)
        book = linked(made.encode())
        ways, found = walkable(book), propose(book, compute, [])
        taken = set(walked_ways(book, _rehearsed(found)))
        assert ways == taken & set(all_ways(book)), made
        assert set(found.left) == set(all_ways(book)) - ways, made
        met.update(ways=len(ways), left=len(found.left), proposals=len(found.proposals))
        linked.cache_clear()
    return met


def _rehearsed(found: Proposed) -> Any:
    """The walks of the proposals, read from their texts and walked by themselves."""
    root: Any = parse(("examples:\n" + "".join(p.text for p in found.proposals)).encode(), "proposed").root
    procedure = found.linked.procedure.but(examples=[Example.of(tree) for tree in root["examples"] or ()])
    walks = rehearse(replace(found.linked, procedure=procedure), compute)
    assert all(walk.ok for walk in walks), [walk.why for walk in walks]
    return walks


def test_just_what_can_be_walked_is_proposed() -> None:
    """On random procedures every way that some walk takes and comes to an end after is walked by a proposal, and no
    other."""
    met = judge(range(60))
    assert met["ways"] > 150 and met["left"] > 150 and met["proposals"] > 50, met


@pytest.mark.heavy
@pytest.mark.parametrize("hundred", range(2, 12))
def test_just_what_can_be_walked_is_proposed_at_length(hundred: int) -> None:
    """The same on a thousand more."""
    judge(range(hundred * 100, hundred * 100 + 100))


# --- text and command ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "word",
    [
        *("yes", "Off", "null", "~", "no. 12", "1.50", "007", "1_000", "0x1f", "1e3", "2 .. 5.5", "-2", "1/3", "3 mil"),
        *("a, b", "a: b", "a #b", "{b}", "[b]", '"b"', "it's", "*b", "&b", "!b", "%b", "@b", "| b", "- b", "? b", "b:"),
        *("ä ö", "two  spaces", "1:30:00", "2026-01-05", "back\\slash", "missing"),
    ],
)
def test_any_word_is_read_back_as_it_was(word: str) -> None:
    """Whatever a name, a value or a reason says, the text of an example is read as just that."""
    tree = {"given": {"a": word, "b": {"visits": [word, {"each": word, word: word}]}}, "passes": [word], "ends": "done"}
    root: Any = parse(f"examples:\n{text_of(word, tree)}".encode(), "proposed").root
    assert root["examples"] == [{"example": word, **tree}]


@pytest.fixture
def files(tmp_path: Path) -> tuple[str, str]:
    """A procedure without examples, and one with an error."""
    good, wrong = tmp_path / "look-over.yaml", tmp_path / "wrong.yaml"
    good.write_bytes(EVERY_WAY)
    wrong.write_bytes(EVERY_WAY.replace(b"look-over", b"wrong").replace(b"go: pick", b"go: nowhere"))
    return str(good), str(wrong)


def run(*words: str) -> tuple[int, str]:
    """The command's exit code, and all it printed."""
    result = CliRunner().invoke(main, ["check", *words], standalone_mode=False)
    return result.exit_code or result.return_value or 0, result.output


def test_command_prints_proposals_after_the_findings(files: tuple[str, str]) -> None:
    """Findings first, then the examples as they are pasted; a file with an error has its errors mended first."""
    code, out = run("--propose", *files)
    assert code == 1
    findings, _, rest = out.partition(" in 2 files\n\n")
    assert "there is no step 'nowhere'" in findings
    head = (
        "look-over.yaml: 8 examples for all 15 ways that no example walks, each proven; paste at the end of the file:"
    )
    assert f"{head}\n\nexamples:\n{text(linked(EVERY_WAY))}\n" in rest
    assert rest.rstrip().endswith("wrong.yaml: examples are proposed once its errors are mended")


def test_command_states_proposals_as_json(files: tuple[str, str]) -> None:
    """The JSON has the findings as ever, and beside them each proposal with its text and the ways it walks."""
    _, plain = run("--json", files[0])
    _, out = run("--propose", "--json", files[0])
    stated = json.loads(out)
    assert stated["findings"] == json.loads(plain)["findings"] and "proposals" not in json.loads(plain)
    assert "".join(p["text"] for p in stated["proposals"]) == text(linked(EVERY_WAY))
    assert stated["proposals"][0]["walks"] == ["'rest' too late", "'leave' to its end"]
    assert {p["file"] for p in stated["proposals"]} == {files[0]} and stated["nothing_found"] == []


@pytest.mark.parametrize("words", [["--no-rehearsal"], ["--format", "ci"], ["--format", "sarif"]])
def test_what_cannot_be_done_with_proposals_is_said(words: list[str], files: tuple[str, str]) -> None:
    """Where examples are not to be walked, or the form has no place for them, one sentence says so."""
    result = CliRunner().invoke(main, ["check", "--propose", *words, files[0]], standalone_mode=False)
    assert "--propose" in str(result.exception)


def test_plain_check_loads_nothing_of_it(files: tuple[str, str]) -> None:
    """A check without the option does not even load what proposes."""
    code = (
        "import sys; from benchwalk.cli import main\n"
        f"main(['check', {files[0]!r}], standalone_mode=False)\n"
        "print([name for name in sys.modules if name.startswith('benchwalk.proof.propos')])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
