"""The step graph drawn: text that reads aloud in 80 cells, and a Mermaid flowchart that no text can break out of."""

from __future__ import annotations

import json
import random
import re
from functools import cache
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import oracle_ways as oracle
import samples
from benchwalk.authoring.outline import outline
from benchwalk.data import shipped_procedures
from benchwalk.daybook.ink import text_of
from benchwalk.draw import draw_mermaid, draw_text
from benchwalk.draw.mermaid import LONGEST, label
from benchwalk.draw.ways import ways_of
from benchwalk.draw.wrap import WIDTH, plain, wrap
from benchwalk.library import Library
from benchwalk.procedure.linked import Edge, Linked, covers
from benchwalk.procedure.linking import link
from benchwalk.procedure.read import read
from benchwalk.procedure.showing import display_width, safe_text
from benchwalk.proof.rehearse import Rehearsal, rehearse
from benchwalk.proof.walked import walked_ways
from benchwalk.sums import compute
from house import some

IDS = sorted(shipped_procedures())


@cache
def shipped(name: str) -> Linked:
    """A shipped procedure."""
    return Library.of().get(name)


@cache
def rehearsed(name: str) -> list[Rehearsal]:
    """Its examples, walked."""
    return rehearse(shipped(name), compute)


INNER = """
procedure: rest-a-while
title: Rest
revision: 1
for: drums
purpose: rest
needs: {tools: none, parts: none, supplies: none, before: none}
hazards: {none_found_by: senior}
time: 1 min
sources: none
readings:
  rested: {ask: Rested?, choices: {yes_it_is: rested, no_not_yet: not yet}}
steps:
  - step: sit
    do: Sit down.
    record: [rested]
    branches:
      - {when: rested is yes_it_is, go: up}
      - {when: rested is no_not_yet, go: sit, at_most: 2, then: up}
  - step: up
    end: done
usual: {given: {rested: yes_it_is}}
examples:
  - example: rested at once
"""

WHOLE = """
procedure: every-way
title: Every way there is
revision: 3
for: drums
purpose: to be drawn
needs: {tools: none, parts: none, supplies: none, before: none}
hazards: {none_found_by: senior}
time: 1 min
sources: none
drum: [rods]
readings:
  runs: {ask: Does it run?, choices: {free: freely, binds: it binds}, per: rod}
  gap: {ask: Gap, unit: mm, possible: 0 .. 9}
sums: {apart: {use: difference, with: {a: gap, b: gap}}}
findings: {wide: {found: Too wide., grade: watch, evidence: [gap]}}
whenever:
  - {event: slips, say: The cord slips, during: [measure, stage look], go: fix, at_most: 1, then: stop}
  - {event: tired, say: You are tired, during: everywhere, run: {procedure: rest-a-while, as: nap}, then_back: true}
steps:
  - step: measure
    stage: {id: first, title: First things}
    do: Measure.
    record: [gap]
    work_out: [apart]
    entered: {at_most: 3, then: stop}
    branches:
      - {when: gap < 3 mm, because: Near enough, go: pick}
      - {when: 3 mm <= gap < 6 mm, because: Turn and measure again, find: wide, go: measure, at_most: 1, then: fix}
      - {when: otherwise, go: fix}
  - step: fix
    do: Mend it.
    go: measure
  - step: pick
    choose: {as: way, ways: [{way: left_on, say: Leave it on, go: wait}, {way: take_off, say: Take it off, go: look}]}
  - step: wait
    stage: {id: look, title: Look at it}
    wait: {for: 30 min, from: measure, at_latest: 2 h, late: {go: stop}}
    may_skip: {because: the band waits, by: senior}
  - step: each-rod
    each: rod
    record: [runs]
  - step: nap
    run: {procedure: rest-a-while, as: nap}
    branches:
      - {when: nap.outcome is done, because: Rested, go: look}
  - step: look
    hold:
      {by: owner, signs: seen, for_work_by: [apprentice, technician], refused_for: {gap: the gap}, because: Four eyes}
    branches:
      - {when: hold is released, because: Seen, go: tell}
      - {when: hold is refused for gap, because: Not so, go: measure}
  - step: tell
    witness: {by: senior, because: It is good to know}
    end: done
  - step: stop
    end: {as: stopped, say: It waits., proposes: [rest-a-while]}
usual:
  drum: {rods: 3}
  given: {gap: 1, runs: {each: free}, way: left_on}
  acts: {look: released}
examples:
  - {example: straight on}
  - {example: off at once, given: {way: take_off}}
  - {example: turned once then mended, given: {gap: {visits: [4, 4, 1]}}}
  - {example: mended for ever, given: {gap: 8}, ends: stopped}
  - {example: too late, acts: {wait: {after: 3 h}}, ends: stopped}
  - {example: skipped, acts: {wait: {skipped: in a hurry}}}
  - {example: slips twice, acts: {measure: {visits: [{event: slips}, {event: slips}]}}, ends: stopped}
  - {example: tired, acts: {measure: {event: tired}}}
  - {example: refused, acts: {look: {visits: [refused for gap, released]}}}
  - {example: goes otherwise than it says, ends: referred}
"""


def linked(text: str) -> Linked:
    """A procedure of this file; it must be sound."""
    inner = link(read(INNER.encode(), "rest-a-while.yaml"), lambda name: None)
    found = link(read(text.encode(), "made.yaml"), {"rest-a-while": inner}.get)
    assert found is not None and found.sound, found and found.findings
    return found


@cache
def whole() -> Linked:
    """The procedure that has every way."""
    return linked(WHOLE)


@cache
def whole_walked() -> list[Rehearsal]:
    """Its examples, walked."""
    return rehearse(whole(), compute)


def block(text: str, step: str) -> str:
    """The lines of a drawing about one step, on one line."""
    found = re.search(rf"^{step}(?![\w-]).*(?:\n .*)*", text, re.MULTILINE)
    assert found, step
    return " ".join(found[0].split())


# --- the text ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", some(IDS))
def test_text_fits_and_is_plain(name: str) -> None:
    """No line of a drawn procedure is wider than 80 cells, and it is plain ASCII but for the author's own letters."""
    text = draw_text(shipped(name), rehearsed(name))
    assert text.endswith("\n") and not text.endswith("\n\n")
    assert [line for line in text.split("\n") if display_width(line) > 80 or line != line.rstrip()] == []
    assert text.isascii()


@pytest.mark.parametrize("name", some(IDS))
def test_text_names_every_step_in_order(name: str) -> None:
    """Every step stands at the start of a line, in the order of the file."""
    heads = [line.split(" ")[0] for line in draw_text(shipped(name)).split("\n") if line and line[0] != " "]
    steps = list(shipped(name).steps)
    assert [head for head in heads if head in steps] == steps


def test_text_whole() -> None:
    """Every kind of way, bound, pause and end is said, each in its place."""
    assert (
        draw_text(whole())
        == """\
Every way there is
every-way, revision 3: 9 steps, 2 stages, ends done or stopped

Stage first: First things

measure (entered at most 3 times, then stop)
  Measure.
  notes gap
  works out apart
  - to pick: Near enough
  - back to measure, at most once, then fix: Turn and measure again; finds wide
  - to fix: otherwise

fix
  Mend it.
  - back to measure, entered at most 3 times

pick
  takes one way, way: left_on or take_off
  - to wait: Leave it on
  - to look: Take it off

Stage look: Look at it

wait
  waits 30 min from the end of measure, 2 h at the latest
  - may be skipped by a senior: the band waits
  - to stop: later than 2 h
  - to each-rod

each-rod
  confirmed singly: every rod
  notes runs
  - to nap

nap
  runs rest-a-while as nap
  - to look: Rested

look
  stops until an owner releases it, only for work by an apprentice or
    technician: Four eyes
  - to tell: Seen
  - back to measure, entered at most 3 times: Not so

tell
  a senior is told: It is good to know
  - ends done

stop
  - ends stopped: It waits.; proposes rest-a-while

What may happen

slips: The cord slips
  during measure and stage look
  - to fix, at most once, then stop

tired: You are tired
  during everywhere
  - runs rest-a-while as nap, then the step goes on
"""
    )


@pytest.mark.parametrize("name", some(IDS))
def test_hazards_of_a_step_are_named_before_its_action(name: str) -> None:
    """Text and Mermaid say each hazard of a step by its signal word, the gravest first, before what is done."""
    drawn = draw_mermaid(shipped(name))
    for step in shipped(name).steps.values():
        here, box = " ".join(block(draw_text(shipped(name)), step.step).split()), f'"{label(step.step)}<br/>'
        told = [f"{grade}: {plain(part.hazard)}" for grade, part in step.graded()]
        assert " ".join([*told, *([plain(step.do)] if told and step.do else [])]) in here
        if told:
            assert box + "<br/>".join(map(label, [*told, step.do or ""])).removesuffix("<br/>") in drawn


def test_every_rod_with_its_opposite_is_said_in_words() -> None:
    """Rods that are confirmed in pairs are told as a hand goes about it, in the drawing and in the outline."""
    drawn, aloud = draw_text(shipped("bring-up-head")), outline(shipped("bring-up-head"), 200)
    assert "confirmed singly: every rod, each and then the one opposite\n" in drawn and "rod in pairs" not in drawn
    assert any("one by one: every rod, each and then the one opposite." in text_of(row.words) for row in aloud)


def test_walked_ways_are_counted() -> None:
    """Each way says how many of the examples that hold go it, a bounded one also how many were sent on."""
    assert [r.ok for r in whole_walked()] == [True] * 9 + [False]
    text = draw_text(whole(), whole_walked())
    assert "how many of its 9 examples go that way; 1 more do not go as they say" in " ".join(text.split())
    assert "(entered at most 3 times, then stop) [sent on by 1 example]" in block(text, "measure")
    assert "to pick [7 examples]: Near enough" in block(text, "measure")
    assert "at most once [1 example], then fix [1 example]: Turn" in block(text, "measure")
    assert "to fix [1 example]: otherwise" in block(text, "measure")
    assert "to look [1 example]: Take it off" in block(text, "pick")
    assert "waits [1 example] - to stop [1 example]: later than 2 h - to each-rod [5 examples]" in block(text, "wait")
    assert "back to measure, entered at most 3 times [1 example]: Not so" in block(text, "look")
    assert "to fix, at most once [1 example], then stop [1 example]" in block(text, "slips")
    assert "runs rest-a-while as nap, then the step goes on [1 example]" in block(text, "tired")
    assert "ends stopped: It waits.; proposes rest-a-while [3 examples]" in block(text, "stop")


def test_way_nobody_walks_says_so() -> None:
    """A way that no example takes is marked, and the others keep their counts."""
    text = draw_text(whole(), [r for r in whole_walked() if r.example == "straight on"])
    assert "to look [no example]: Take it off" in block(text, "pick")
    assert "to wait [1 example]: Leave it on" in block(text, "pick")
    assert "[sent on by no example]" in block(text, "measure")


def test_walks_of_a_run_count_for_the_procedure_that_is_run() -> None:
    """Ways taken inside a run count for the drawing of the procedure that was run there."""
    inner = whole().runs["nap"]
    counts = walked_ways(inner, whole_walked())
    assert counts["sit", "branch", 0] == counts["up", "end", 0] == 5
    assert walked_ways(inner, []) == {}


def test_end_of_a_step_that_runs_another_procedure_counts() -> None:
    """A procedure that runs another in its last step is seen to end there, wherever it was walked."""
    middle = linked(
        INNER.split("readings:")[0].replace("rest-a-while", "middle")
        + "steps: [{step: last, run: {procedure: rest-a-while, as: nap}, end: done}]\nexamples: [{example: one}]\n"
    )
    outer = WHOLE.replace("run: {procedure: rest-a-while", "run: {procedure: middle")
    found = link(read(outer.encode(), "made.yaml"), {"middle": middle}.get)
    assert found is not None and found.sound
    counts = walked_ways(middle, rehearse(found, compute))
    assert counts == {("last", "end", 0): 5}


@pytest.mark.parametrize("name", some(IDS))
def test_counted_ways_are_ways_that_are_drawn(name: str) -> None:
    """Whatever the examples of a shipped procedure walk is one of the ways that are drawn, and each step's way is."""
    known = shipped(name)
    drawn = {key for step in known.steps.values() for way in ways_of(known, step) for key in (way.key, way.then_key)}
    drawn |= {(step, kind, 0) for step in known.steps for kind in ("skip", "entered")}
    drawn |= {(event.event, kind, 0) for event in known.procedure.whenever for kind in ("event", "event-then")}
    counts = walked_ways(known, rehearsed(name))
    assert set(counts) <= drawn
    assert {step for step, *_ in counts} >= set(known.steps)


@given(st.text(max_size=400))
def test_wrapped_lines_fit(text: str) -> None:
    """Any text is wrapped to lines of at most 80 cells, and none of it is lost."""
    lines = list(wrap(text, "  - ", "    "))
    assert all(display_width(line) <= WIDTH for line in lines)
    joined = "".join(line[4:] for line in lines)
    assert joined.replace(" ", "") == plain(text).replace(" ", "")


# --- hostile texts -----------------------------------------------------------------------------------------------

HOSTILE = (
    '"]; click s0 href "javascript:alert(1)"',
    "%%{init: {'theme': 'dark'}}%% --> s9",
    "<script>alert(1)</script> <img src=x onerror=y>",
    "`**bold**` {{ nothing }} | a --- b ;; end",
    "style s0 fill:#f00;color:x#quot; classDef x:y#z;",
    "\x1b[2Jgone\x07 \u202eturned\u202c \u200bhidden",
    "one\ntwo\r\n  end\n  s0 --> s1",
    '#quot; #35; &quot; \\u0022 \\"',
    "1. a list \N{FULLWIDTH LATIN CAPITAL LETTER A} \N{SNOWMAN}",
)


def hostile(said: str) -> Linked:
    """The procedure with this text wherever an author may write."""
    text = WHOLE.replace("Every way there is", json.dumps(said))
    braceless = said.replace("{{", "{ {").replace("}}", "} }")
    for old in ("Measure.", "First things", "Near enough", "The cord slips", "Four eyes", "It waits.", "Leave it on"):
        assert old in text
        text = text.replace(old, json.dumps(braceless), 1)
    found = link(read(text.encode(), "made.yaml"), {"rest-a-while": whole().runs["nap"]}.get)
    if found is None:  # a control character is refused by the reader: put it in behind its back
        found = link(read(WHOLE.encode(), "made.yaml"), {"rest-a-while": whole().runs["nap"]}.get)
        assert found is not None
        step = found.procedure.steps[0].but(do=said, stage=None)
        steps = [step, *found.procedure.steps[1:]]
        found.procedure = found.procedure.but(title=said, steps=steps)
        found.steps["measure"] = step
        found.stage.pop("measure")
        for name in ("fix", "pick"):
            found.stage.pop(name)
    return found


@pytest.mark.parametrize("said", HOSTILE, ids=lambda s: s[:12].encode("unicode_escape").decode())
def test_hostile_text_is_inert_in_text(said: str) -> None:
    """Whatever an author writes, no line of the text is too wide, nothing acts on a terminal, no line is forged."""
    drawn = draw_text(hostile(said))
    assert all(display_width(line) <= 80 for line in drawn.split("\n"))
    assert safe_text(drawn, newlines=True) == drawn
    heads = [line.split(" ")[0] for line in drawn.split("\n") if line and line[0] != " "]
    assert [head for head in heads if head in whole().steps] == list(whole().steps)


# --- Mermaid -----------------------------------------------------------------------------------------------------

# A small strict grammar of what we write, apart from the code that writes it. The labels' alphabet is the point: no
# quote, bracket, brace, bar, arrow, percent, backtick, colon, semicolon, angle or hash but as a whole character code.
TEXT = r"(?:[^\W_]|[ .,'()-]|#\d+;)+"
LABEL = rf"{TEXT}(?:<br/>{TEXT}){{0,6}}"  # the name, its hazards, and what is done
SIDES = (("([", "])"), ("[[", "]]"), ("{{", "}}"), ("[", "]"))
BOX = "|".join(rf'{re.escape(left)}"{LABEL}"{re.escape(right)}' for left, right in SIDES)
NODE = re.compile(rf" {{4}}(s\d+)(?:{BOX})")
EVENT = re.compile(rf' {{2}}(e\d+)>"{LABEL}"\]')
GROUP = re.compile(rf' {{2}}subgraph g\d+\["{TEXT}"\]')
ARROW = re.compile(rf' {{2}}([se]\d+) (?:-->|-\.->)(?:\|"{TEXT}"\|)? (s\d+)')


def parsed(text: str) -> tuple[list[str], list[tuple[str, str]]]:
    """The ids and the arrows of a flowchart in our own narrow form; fails on the first line that is none of it."""
    lines = text.split("\n")
    assert lines[0] == "flowchart TD" and lines[-1] == ""
    nodes: list[str] = []
    arrows: list[tuple[str, str]] = []
    depth = 0
    for line in lines[1:-1]:
        if found := NODE.fullmatch(line):
            nodes.append(found[1])
        elif found := EVENT.fullmatch(line):
            assert depth == 0
            nodes.append(found[1])
        elif found := ARROW.fullmatch(line):
            assert depth == 0
            arrows.append((found[1], found[2]))
        elif GROUP.fullmatch(line):
            depth += 1
        else:
            assert line == "  end", f"not a line of ours: {line!r}"
            depth -= 1
        assert depth in (0, 1)
    assert depth == 0 and len(set(nodes)) == len(nodes)
    assert {end for arrow in arrows for end in arrow} <= set(nodes)
    return nodes, arrows


@pytest.mark.parametrize("name", some(IDS))
def test_mermaid_has_every_step_and_every_way(name: str) -> None:
    """The flowchart is well formed; its boxes are the steps and events, its arrows the ways between them."""
    known = shipped(name)
    nodes, arrows = parsed(draw_mermaid(known))
    assert nodes == [f"s{i}" for i in range(len(known.steps))] + [f"e{i}" for i in range(len(known.procedure.whenever))]
    inside = {(e.source, e.target) for e in known.edges if e.kind in ("next", "go", "branch", "way", "late")}
    steps = list(known.steps)
    drawn = {(steps[int(a[1:])], steps[int(b[1:])]) for a, b in arrows if a[0] == "s"}
    assert inside <= drawn


def _drawn(known: Linked) -> set[tuple[str, str]]:
    """(step, step led to) by the arrows of the flowchart, an event's from each step it may strike at; from a step
    that sends on its own dotted arrow is followed."""
    _, arrows = parsed(draw_mermaid(known))
    steps, events = list(known.steps), known.procedure.whenever
    found: set[tuple[str, str]] = set()
    for start, end in arrows:
        target = steps[int(end[1:])]
        if start[0] == "e":
            found |= {(s, target) for s in steps if covers(events[int(start[1:])], s, known.stage.get(s))}
        else:
            found.add((steps[int(start[1:])], target))
    then = {name: step.entered.then for name, step in known.steps.items() if step.entered}
    own = found - {(name, to) for name, to in then.items() if to not in {w.target for w in _plain_ways(known, name)}}
    while more := {(s, then[t]) for s, t in own if t in then} - own:
        own |= more
    return own


def _plain_ways(known: Linked, name: str) -> list[Edge]:
    """The edges that leave a step by themselves."""
    return [edge for edge in known.edges if edge.source == name and edge.kind != "sent-on"]


@pytest.mark.parametrize("name", [*some(IDS), *range(200)])
def test_arrows_are_the_edges_the_checker_follows(name: str | int) -> None:
    """What the flowchart leads to, followed by eye, is what the linked procedure's edges lead to, and no more."""
    made = oracle.written(oracle.plan(random.Random(name)))
    known = shipped(name) if isinstance(name, str) else samples.linked(made)
    assert _drawn(known) == {(edge.source, edge.target) for edge in known.edges}


def test_mermaid_whole() -> None:
    """Every kind of box and arrow stands in the flowchart as it should."""
    text = draw_mermaid(whole())
    nodes, arrows = parsed(text)
    assert len(nodes) == 11 and len(arrows) == 16
    for line in (
        '  subgraph g0["First things"]',
        '    s0["measure<br/>Measure."]',
        '    s5[["nap<br/>runs rest-a-while as nap"]]',
        '    s6{{"look"}}',
        '    s8(["stop<br/>ends stopped"])',
        '  s0 -->|"Turn and measure again#59; at most once"| s0',
        '  s0 -.->|"after once"| s1',
        '  s0 -.->|"entered 3 times"| s8',
        '  s3 -->|"later than 2 h"| s8',
        "  s1 --> s0",
        '  e0>"The cord slips<br/>during measure and stage look"]',
        '  e0 -.->|"at most once"| s1',
        '  e1>"You are tired<br/>during everywhere<br/>runs rest-a-while as nap, then the step goes on"]',
    ):
        assert line in text.split("\n"), line


@pytest.mark.parametrize("said", HOSTILE, ids=lambda s: s[:12].encode("unicode_escape").decode())
def test_hostile_text_is_inert_in_mermaid(said: str) -> None:
    """Whatever an author writes stays a label: the flowchart has the same boxes and arrows as without it."""
    assert parsed(draw_mermaid(hostile(said))) == parsed(draw_mermaid(whole()))


@given(st.text(min_size=1, max_size=300).filter(lambda text: text.strip()))
@settings(max_examples=300)
def test_label_is_of_the_narrow_alphabet(text: str) -> None:
    """Any text makes a label of the narrow alphabet, cut at a length, from which the text can be read again."""
    made = label(text)
    assert re.fullmatch(TEXT, made)
    back = re.sub(r"#(\d+);", lambda code: chr(int(code[1])), made)
    words = plain(text)
    assert back == words if len(words) <= LONGEST else words.startswith(back.removesuffix("...").rstrip())


@pytest.mark.parametrize("start", ["1. first", "12) twelfth", "- item", "* item", "+ item"])
def test_label_does_not_begin_like_a_list(start: str) -> None:
    """A label that would be drawn as an entry of a list has its mark as a character code."""
    assert not re.match(r"(\d+[.)]|[-+*]) ", label(start))
    assert re.sub(r"#(\d+);", lambda code: chr(int(code[1])), label(start)) == start


def test_order_of_drawing_is_stable() -> None:
    """The same procedure is drawn the same, twice over and read anew."""
    again: Any = linked(WHOLE)
    assert (draw_text(again), draw_mermaid(again)) == (draw_text(whole()), draw_mermaid(whole()))
