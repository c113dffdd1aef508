"""Actions as they were worded: a text with values in it is kept as it was told, for the hand followed that text."""

from __future__ import annotations

from ..procedure.linked import Linked, Path
from ..procedure.model import Step
from ..procedure.text import fields
from .desk import Desk
from .state import State, Visit, Worded
from .view import View
from .wording import render

ACTION, WAY = "do", "the way"


def keep_wording(desk: Desk, part: str) -> None:
    """Keep how the action (or the way chosen) of this stop was told, before it counts as done.

    Nothing is kept where the text rests on nothing that could be corrected. Places that are confirmed singly are gone
    through as such.
    """
    view = desk.view()
    step = view.linked.steps[desk.visit.step]
    text, at = _written(view.linked, step, part, desk.visit)
    if not any(field.where is None or not step.each for field in fields(text)):
        return
    reads, told, number = _rests_on(text, view, at), render(text, view, at), desk.visit.number
    kept = [(w.visit, w.part, w.text, w.reads) for w in desk.state.worded]  # a log may end before it was done
    if reads and (number, part, told, reads) not in kept:
        desk.emit("worded", visit=number, part=part, text=told, reads=reads)


def see_wording(desk: Desk, worded: Worded) -> None:
    """Whether an action that was done would be told otherwise now; then the walk stops at it."""
    visit = desk.state.visits[worded.visit - 1]
    view = desk.view(upto=worded.n, visit=visit)
    text = action_text(view, visit, worded.part)
    if text == worded.text:
        desk.emit("stands", took=worded.n, because="it reads the same")
        return
    because = f"at {visit.step} it was told '{worded.text}', and would now be told '{text}'"
    desk.emit("diverged", took=worded.n, would=visit.step, because=because)


def done_text(state: State, view: View, visit: Visit) -> str:
    """The action of a stop as it was told when it was done; as the view sees it where nothing else was kept."""
    kept = (w.text for w in state.worded if (w.visit, w.part) == (visit.number, ACTION))
    return next(kept, None) or action_text(view, visit)


def action_text(view: View, visit: Visit, part: str = ACTION) -> str:
    """The action of a stop (or its way chosen) with its values in place, as the view sees them."""
    text, at = _written(view.linked, view.linked.steps[visit.step], part, visit)
    return render(text, view, at)


def _written(linked: Linked, step: Step, part: str, visit: Visit) -> tuple[str, Path]:
    at: Path = ("steps", linked.at[step.step])
    if part == ACTION:
        return step.do or "", (*at, "do")
    for index, way in enumerate(step.choose.ways if step.choose else ()):
        if way.way == visit.way:
            return way.do or "", (*at, "choose", "ways", index, "do")
    return "", at


def _rests_on(text: str, view: View, at: Path) -> list[int]:
    """The events that the values in a text come from."""
    names: set[str] = set()
    for field in fields(text):
        bound = view.linked.conditions.get((*at, field.where)) if field.where is not None else None
        names |= {field.name} if field.where is None else set(bound.variables if bound is not None else ())
    return sorted({n for name in names for n in view.sources(name)})
