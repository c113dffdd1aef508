"""The checker and the interpreter agree: what is found sound never stands still in a walk, whatever is typed."""

from __future__ import annotations

import copy
import random
from collections import Counter
from pathlib import Path
from typing import Any

import orjson
import pytest

from benchwalk.library import Library
from benchwalk.procedure.linked import Linked
from benchwalk.procedure.linking import link
from benchwalk.procedure.read import read
from benchwalk.proof.check import check_source
from house import ROOT, some
from samples import check
from wander import Wanderer

LIBRARY = Library([ROOT / "procedures"])
NAMES = LIBRARY.ids()


def open_(name: str) -> Linked:
    return LIBRARY.get(name)


@pytest.mark.parametrize("name", NAMES)
def test_shipped_procedure_has_no_errors(name: str) -> None:
    """Every procedure of the library passes every rule, as far as errors go."""
    source, book = LIBRARY.open(LIBRARY.path_of(name))
    assert [f for f in check_source(source, book, known=NAMES) if f.severity == "error"] == []


@pytest.mark.parametrize("name", some(NAMES))
def test_random_walks_of_shipped_procedures_end(name: str) -> None:
    """Walks with random answers, events, skips and refusals never stand still and always end as the procedure can."""
    ended: Counter[str | None] = Counter()
    visited: set[str] = set()
    for seed in range(20):
        walk = Wanderer(open_(name), random.Random(seed))
        ended[walk.wander()] += 1
        assert walk.stands == "", f"seed {seed}: {walk.stands}"
        visited |= set(walk.visits())
    book = open_(name)
    assert set(ended) <= set(book.outcomes())
    assert len(visited) >= 3


def plain(node: Any) -> Any:
    """The tree as plain lists and dictionaries, for changing."""
    if isinstance(node, dict):
        return {key: plain(value) for key, value in node.items()}
    return [plain(value) for value in node] if isinstance(node, list) else node


KINDS = ("drop line", "lead", "drop record", "when", "unbound", "optional", "skip", "drop work", "order")


def mutant(tree: dict[str, Any], chance: random.Random) -> str:
    """Spoil one thing in a procedure, in place; what was done, in words."""
    steps = tree["steps"]
    step = chance.choice(steps)
    lines = step.get("branches") or step.get("first_of") or []
    names = [other["step"] for other in steps]
    kind = chance.choice(KINDS)
    if kind == "drop line" and len(lines) > 1:
        lines.pop(chance.randrange(len(lines)))
    elif kind == "lead" and lines:
        chance.choice(lines)["go"] = chance.choice(names)
    elif kind == "drop record" and step.get("record"):
        step["record"] = step["record"][1:]
    elif kind == "when" and len(lines) > 1:
        one, other = chance.sample(lines, 2)
        one["when"] = other["when"] if other["when"] != "otherwise" else one["when"]
    elif kind == "unbound":
        for bounded in [step, *lines]:
            for key in ("entered", "at_most", "then"):
                bounded.pop(key, None)
    elif kind == "optional" and tree["readings"]:
        tree["readings"][chance.choice(list(tree["readings"]))]["optional"] = {"because": "any reason"}
    elif kind == "skip":
        step["may_skip"] = {"because": "any reason", "by": "senior"}
    elif kind == "drop work":
        step.pop("work_out", None)
    elif kind == "order" and len(steps) > 3:
        index = chance.randrange(1, len(steps) - 1)
        steps[index], steps[index - 1] = steps[index - 1], steps[index]
    return f"{kind} at {step['step']}"


def spoilt(name: str, seed: int) -> tuple[str, Linked | None, list[str]]:
    """A procedure with one to two faults; what was done, the procedure if it links, and the errors found."""
    chance = random.Random(seed)
    source, _ = LIBRARY.open(LIBRARY.path_of(name))
    tree = copy.deepcopy(plain(source.document.root))
    done = ", ".join(mutant(tree, chance) for _ in range(chance.randint(1, 2)))
    tree["examples"] = []
    changed = read(orjson.dumps(tree, option=orjson.OPT_INDENT_2), f"{name}-{seed}.yaml")
    book = link(changed, LIBRARY.find)
    found = check_source(changed, book, known=NAMES)
    return done, book, [f"{f.message} [{f.rule}]" for f in found if f.severity == "error"]


def stands_still(book: Linked, walks: int) -> str:
    """How some random walk stands still or breaks; empty where none does."""
    for seed in range(walks):
        walk = Wanderer(book, random.Random(seed), often=0.05, usual=0.6)
        try:
            walk.wander()
        except Exception as error:  # any break of the interpreter is what this looks for
            return f"{type(error).__name__}: {error} {walk.where()}"
        if walk.stands:
            return walk.stands
    return ""


def judge(name: str, seeds: range, walks: int) -> tuple[int, int]:
    """(how many spoilt procedures passed the check, how many stood still in a walk)."""
    passed = still = 0
    for seed in seeds:
        done, book, errors = spoilt(name, seed)
        if book is None or not book.sound:
            continue
        stands = stands_still(book, walks)
        assert errors or not stands, f"{name} {seed} ({done}): {stands}, and nothing was found"
        passed += not errors
        still += bool(stands)
    return passed, still


@pytest.mark.parametrize("name", ["tie-one-side", "deburr-cord-holes"])
def test_spoilt_procedures_that_pass_never_stand_still(name: str) -> None:
    """Whatever stands still in a walk, or goes on for ever, was found before anybody walked it."""
    passed, still = judge(name, range(60), 6)
    assert passed > 3 and still > 3


@pytest.mark.heavy
@pytest.mark.parametrize("name", ["tie-one-side", "deburr-cord-holes", "retie-snare-cords"])
def test_many_spoilt_procedures(name: str) -> None:
    """The same over many more faults, the flagship among them."""
    passed, still = judge(name, range(1000, 1400), 12)
    assert passed > 10 and still > 10


def test_random_walks_do_meet_faults(tmp_path: Path) -> None:
    """A walk stands still where a branch is missing: the tests above can fail."""
    source, _ = LIBRARY.open(LIBRARY.path_of("tie-one-side"))
    tree = plain(source.document.root)
    step = next(step for step in tree["steps"] if step["step"] == "square")
    step["branches"] = step["branches"][:1]
    book = link(read(orjson.dumps(tree), "less.yaml"), LIBRARY.find)
    assert book is not None and "square" in stands_still(book, 20)


def test_what_an_example_does_not_give_is_told_with_where_to_write_it() -> None:
    """A reading, a place of one and a fact of the drum that nothing is given for are told with what to write."""
    text = """
drum: [rods]
readings:
  slack: {ask: Slack, unit: mm, possible: 0 .. 9, per: rod}
steps:
  - step: look
    record: [slack]
    end: done
examples:
  - {example: nothing, drum: {rods: 4}}
  - {example: one rod, drum: {rods: 4}, given: {slack: {1: 3}}}
  - {example: no drum, given: {slack: {each: 3}}}
"""
    told = [line for line in check(text) if line.endswith("[example]")]
    assert "given for 'slack'; write given: {slack: ...} in the example or in 'usual'" in told[0]
    assert "given for 'slack' at 2; add it, or an 'each' for every place without" in told[1]
    assert "given for the drum's rods; write drum: {rods: ...} in the example or in 'usual'" in told[2]
