"""What a job waits for, as far as its log and its procedure tell: by whom it is wanted, for what, and why."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from typing import NamedTuple

from ..errors import BenchwalkError
from ..job.folder import NOT_OPENED
from ..procedure.facts import FACTS
from ..procedure.linked import Linked
from ..procedure.model import Step
from ..procedure.showing import words_of
from ..walk.desk import Bench, view_of
from ..walk.foretold import foretold
from ..walk.phase import now
from ..walk.places import step_name
from ..walk.state import State, Visit

Books = Callable[[str], Linked]
AT_ONCE = "put down at once; how the drum stands was not said"
"""What is noted for whoever puts work down without a word where one is wanted."""
_UNSAID = ("put down", AT_ONCE)  # what a log says of work that was put down without a word


class Waiting(NamedTuple):
    """What a job waits for: `what` in words, `because` (why, or what to know; may be empty), and `person`, the id of
    the one person it waits for, if it is one."""

    what: str
    because: str = ""
    person: str = ""


def waiting(state: State, books: Books) -> Waiting:
    """What a job waits for. Raises Failure where the procedure it is worked to cannot be read."""
    if not state.job:
        return Waiting("nothing", f"It was {NOT_OPENED}")
    if state.released:
        return Waiting("nothing more", state.ended["say"] or "" if state.ended else "")
    void = state.open_signs()
    if void:
        where = words_of(step_name(void[0].path, void[0].step))
        return Waiting("another look, a sign-off is void", f"At {where}: {void[0].void}")
    if state.diverged is not None:
        return Waiting("a decision", "A corrected value leads elsewhere than the walk went")
    if state.ended:
        return Waiting("its release", state.ended["say"] or "")
    if state.handed_to:
        return Waiting("somebody to take it on", state.hand_note, state.handed_to)
    if state.problem is not None:
        told = next((p["text"] for p in state.problems if p["n"] == state.problem), "")
        return Waiting("an answer to a problem", told)
    return _at_a_step(state, books)


def _at_a_step(state: State, books: Books) -> Waiting:
    here = state.here()
    told = state.paused or ""
    if here is None:
        return Waiting(*_before_the_first(state, books), state.person)
    step = books(here.text).steps[here.step]
    if here.until and here.waited is None:
        return Waiting(words_of(here.step), _known(state, books, here, "why" if step.why else "do"))
    if waits_for_a_look(here, step) and step.hold is not None:
        return Waiting(f"a {step.hold.by}'s look", step.hold.because)
    if told and told not in _UNSAID:
        return Waiting(told, _asked(state, books), state.person)
    because = _asked(state, books) or _known(state, books, here, "do")
    return Waiting(f"goes on at {words_of(step_name(here.path, here.step))}", because, state.person)


def waits_for_a_look(here: Visit, step: Step) -> bool:
    """Whether a stop stands at a look that nobody has given yet."""
    return step.hold is not None and (here.hold is None or here.hold.startswith("refused"))


def _before_the_first(state: State, books: Books) -> tuple[str, str]:
    if not state.readied:
        return "the first step", "What is needed is laid out first"
    for name in books(state.text).needed_facts():
        if name not in state.facts and name in FACTS:
            return "a fact of the drum", FACTS[name].ask
    return "the first step", ""


def _asked(state: State, books: Books) -> str:
    """The reading that is asked for now; empty where none is, or the walk cannot tell without its sums."""
    try:
        bench = _bench(state, books)
        here = now(_in_hand(state), bench)
        if here.kind != "reading" or here.visit is None:
            return ""
        return _flat(foretold(here.reading.ask, view_of(state, here.visit, bench), ("readings", here.name, "ask")))
    except (BenchwalkError, KeyError, ValueError):
        return ""


def _in_hand(state: State) -> State:
    """The state as if the work were in hand: what it waits for once it is taken up."""
    return replace(state, paused=None, recheck=False)


def _bench(state: State, books: Books) -> Bench:
    """A bench at which nothing is worked out."""
    return Bench(books=books, compute=lambda _use, _given: None, now=datetime.fromisoformat(state.at))


def _known(state: State, books: Books, here: Visit, key: str) -> str:
    """A text of the step in hand in one line, with what is known in place."""
    linked = books(here.text)
    text = getattr(linked.steps[here.step], key) or ""
    return _flat(foretold(text, view_of(state, here, _bench(state, books)), ("steps", linked.at[here.step], key)))


def _flat(text: str) -> str:
    return " ".join(text.split())
