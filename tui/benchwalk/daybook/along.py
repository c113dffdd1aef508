"""Looking along the route: a row for every step, under its stage."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from ..procedure.linked import Linked
from ..procedure.showing import display_width, safe_text, words_of
from ..walk.desk import Bench
from ..walk.places import CURRENT, DONE, HELD, UNDER_WAY, step_name, step_states
from ..walk.state import State
from .ink import Line, Span, Tone, line

FORK = "<"
"""Stands after the sign of a step from which the route may lead to more than one."""
WALKED, LOOSE = "=", "~"
"""The rope where it was walked, and where it was not."""
_SIGNS = {DONE: WALKED, CURRENT: "8", HELD: "#", UNDER_WAY: "8"}
_FORKS = frozenset(("next", "go", "branch", "way", "late"))


class Row(NamedTuple):
    """A step by its full name and in words, or (no name) the title above some: how deep, how it stands, if it forks."""

    name: str
    words: str
    depth: int = 0
    stands: str = ""
    forks: bool = False


def rows(state: State, bench: Bench) -> list[Row]:
    """Every step in the order of the procedures, those of a run below the step that runs it."""
    if not state.job:
        return []
    return list(_rows(bench.books(state.text), "", step_states(state, bench), set()))


def _rows(linked: Linked, path: str, states: dict[str, str], told: set[str]) -> Iterator[Row]:
    depth = path.count("/") + 1 if path else 0
    for step in linked.procedure.steps:
        if step.stage is not None and not path:
            yield Row("", step.stage.title)
        name = step_name(path, step.step)
        yield Row(name, words_of(step.step), depth, states[name], _forks(linked, step.step))
        if step.run is not None:
            yield from _run(linked, step_name(path, step.run.as_), states, told)
    for event in linked.procedure.whenever:
        if event.run is not None and step_name(path, event.run.as_) not in told:
            yield Row("", event.say, depth)
            yield from _run(linked, step_name(path, event.run.as_), states, told)


def _run(linked: Linked, path: str, states: dict[str, str], told: set[str]) -> Iterator[Row]:
    """The steps of a run, once, however many steps ask for it under that name."""
    if path not in told:
        told.add(path)
        yield from _rows(linked.runs[path.rpartition("/")[2]], path, states, told)


def _forks(linked: Linked, step: str) -> bool:
    return len({edge.target for edge in linked.edges if edge.source == step and edge.kind in _FORKS}) > 1


def row_line(row: Row, width: int) -> Line:
    """A row in one line of `width` cells: sign, name, and how it stands at the right."""
    if not row.name:
        title = _cut("  " * row.depth + safe_text(row.words), width)
        rule = "\u2500" * (width - display_width(title) - 1)
        return (Span(f"{title} {rule}".rstrip(), "quiet"),)
    tone: Tone = "brass" if row.stands in (CURRENT, HELD, UNDER_WAY) else "plain" if row.stands == DONE else "quiet"
    lead = f"{_SIGNS.get(row.stands, LOOSE)}{FORK if row.forks else ' '} {'  ' * row.depth}"
    text = _cut(lead + safe_text(row.words), width - len(row.stands) - 1)
    gap = " " * (width - display_width(text) - len(row.stands))
    return line(Span(text, tone), Span(gap + row.stands, "quiet"))


def _cut(text: str, width: int) -> str:
    if display_width(text) <= width:
        return text
    while text and display_width(text) > width - 1:
        text = text[:-1]
    return text.rstrip() + "\u2026"
