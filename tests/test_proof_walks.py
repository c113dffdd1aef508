"""The checker against walking every walk: whatever it says of cases, branches and values is so, and nothing else is."""

from __future__ import annotations

import random
from collections import Counter

import pytest

import oracle_walks as oracle
from benchwalk.procedure.linked import Linked
from benchwalk.proof.flow import flow_of
from benchwalk.proof.judged import judged
from benchwalk.proof.rules import unrecorded
from walk_helpers import linked


def judge(seeds: range) -> Counter[str]:
    """Compare the verdicts on random procedures; how often each thing was met."""
    met: Counter[str] = Counter()
    for seed in seeds:
        text = oracle.made(random.Random(seed), back=seed % 2 == 1)
        book = linked(text.encode())
        found = oracle.tried(book)
        _agree(book, found, text)
        met.update(gap=bool(found.stuck), overlap=bool(found.two), unrecorded=bool(found.unrecorded))
        met.update(ruled_out=sum(len(step.ruled_out) for step in judged(book)), accepted=not found.stuck)
        linked.cache_clear()
    return met


def _agree(book: Linked, found: oracle.Tried, text: str) -> None:
    # Behind a step that no walk gets on from, and where no way leads, no walk shows anything.
    steps = [step for step in judged(book) if step.step.step in found.came]
    gaps = {step.step.step for step in steps if step.report.gaps}
    two = {step.step.step for step in steps if step.report.overlaps}
    assert gaps >= found.stuck and two >= found.two, text
    dead = found.stuck - {step for step, _branch in found.taken}
    if not dead:  # what is told behind a dead end is told as if that were mended
        assert gaps == found.stuck and two == found.two, text
    for step in steps:
        for branch in (*step.ruled_out, *step.report.idle):
            assert (step.step.step, branch) not in found.taken, text
    read = {
        name for name in (*oracle.CHOICES, *oracle.NUMBERS) for f in unrecorded.check(book) if _reads(f.message, name)
    }
    assert read >= found.unrecorded, text
    if set(flow_of(book).at) <= found.came and not dead:
        assert read - _by_branches(book) <= found.unrecorded, text


def _reads(message: str, name: str) -> bool:
    return message.startswith(f"'{name}' is ")


def _by_branches(book: Linked) -> set[str]:
    """What the rule may tell for a branch that asks about a value which is not there."""
    return {name for step in judged(book) for bound in step.bounds if bound for name in bound.variables}


def test_verdicts_are_those_of_walking_every_walk() -> None:
    """On random procedures gaps, overlaps, dead branches and early reads are just those that some walk shows."""
    met = judge(range(150))
    assert all(met[kind] >= 3 for kind in ("gap", "overlap", "unrecorded", "ruled_out", "accepted")), met


@pytest.mark.heavy
@pytest.mark.parametrize("thousand", range(1, 11))
def test_verdicts_are_those_of_walking_every_walk_at_length(thousand: int) -> None:
    """The same on ten thousand more."""
    judge(range(thousand * 1000, thousand * 1000 + 1000))
