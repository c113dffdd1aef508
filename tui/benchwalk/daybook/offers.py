"""The branches that can be taken by hand: those of the step in hand, and of the one just left."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from ..procedure.showing import words_of
from ..walk.desk import Bench, view_of
from ..walk.foretold import condition_words, foretold
from ..walk.phase import Now
from ..walk.signing import just_taken
from ..walk.state import State


class Offer(NamedTuple):
    """One branch: the stop it leads from (0: the step in hand), its place there, and what it says."""

    visit: int
    line: int
    text: str


def offers(state: State, here: Now, bench: Bench) -> list[Offer]:
    """All of them, those of the step just left first."""
    took = just_taken(state)
    left = list(_of(state, took.visit, "just left", bench)) if took is not None else []
    return left + (list(_of(state, here.visit.number, "here", bench)) if here.visit is not None else [])


def _of(state: State, number: int, told: str, bench: Bench) -> Iterator[Offer]:
    visit = state.visits[number - 1]
    view = view_of(state, visit, bench)
    step = view.linked.steps[visit.step]
    at = ("steps", view.linked.at[visit.step], "branches" if step.branches else "first_of")
    for index, branch in enumerate(step.lines):
        why = foretold(branch.because, view, (*at, index, "because")) if branch.because else ""
        why = why or condition_words(branch.when, view.linked)
        text = f"From {words_of(visit.step)} ({told}), to {words_of(branch.go)}: {why}"
        yield Offer(number if number != state.visit else 0, index, text)
