"""The right page of the daybook: what to do now, read from the state and what the walk waits for."""

from __future__ import annotations

from dataclasses import replace

from ..walk.desk import Bench, view_of
from ..walk.phase import FOR_ANYBODY, Now
from ..walk.state import State
from ..walk.view import View
from ..walk.wording import render
from . import lines
from .entries import why_words
from .page import Hazard, Page
from .points import PAGES


def page_of(state: State, here: Now, bench: Bench, who: str, terse: bool = False) -> Page:
    """The page for where the walk stands; `who` sits at the screen."""
    name = bench.names.get(state.person, state.person)
    if who != state.person and here.kind not in FOR_ANYBODY:
        return Page(
            "others",
            place=lines.place_line(state, here.visit),
            lead=(f"{name} has this work in hand and did not put it down.",),
            question="How do you find the drum?",
            entry="in a line",
            press=(("walk.next", "takes it on"), ("walk.leave", "leaves it as it is")),
        )
    page = PAGES[here.kind](state, here, bench)
    if here.visit is not None:
        page = _at_stop(page, state, here, bench)
    if terse:
        page = replace(page, why="", expect="", hints=page.hints[:1], background=())
    return page


def _at_stop(page: Page, state: State, here: Now, bench: Bench) -> Page:
    """The parts that every stop has: where it is, why, what should be seen, the background."""
    visit = here.visit
    assert visit is not None
    shown = replace(
        page,
        place=lines.place_line(state, visit).rstrip("."),
        why=why_words(state, visit),
        background=tuple(lines.why_lines(state, here, bench)),
    )
    if here.step is None or here.linked is None:
        return shown
    view = view_of(state, visit, bench)
    at = ("steps", here.linked.at[here.step.step])
    acts = bool(page.action) and (here.kind != "recheck" or visit.done)  # before it is done there is nothing to see yet
    return replace(
        shown,
        stage=lines.stage_line(here).removeprefix("Stage: ").rstrip("."),
        expect=render(here.step.expect, view, (*at, "expect")) if here.step.expect and acts else "",
        given=" ".join(lines.given_lines(state, here, view)),
        hazards=page.hazards or tuple(_hazards(here, view)),
    )


def _hazards(here: Now, view: View) -> list[Hazard]:
    assert here.step is not None and here.linked is not None
    at = ("steps", here.linked.at[here.step.step])
    return [
        Hazard(
            grade,
            render(part.hazard, view, (*at, grade)),
            render(part.consequence or "", view, (*at, grade)),
            render(part.avoid, view, (*at, grade)),
        )
        for grade, part in here.step.graded()
    ]
