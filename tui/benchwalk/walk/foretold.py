"""Texts of what is still to come: what is known stands in them with its value, what is not is called by its words."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

from ..procedure.facts import FACTS
from ..procedure.linked import Linked, Path
from ..procedure.model import Run
from ..procedure.showing import words_of
from ..procedure.text import Field, parse_text
from ..signatures import SIGNATURES
from .desk import Bench
from .handing import given_data
from .state import Frame, State
from .view import View
from .wording import NOT_NOTED, as_typed, asked_at, render, said, spoken

Called = Mapping[str, str]
"""What a run calls the things it is given, to what its caller calls them."""

NOTHING_ELSE = "nothing else fits"
_FIELD = re.compile(r"\{\{.*?\}\}", re.DOTALL)
_HINT = re.compile(r"\s*\([^()]*\)[\s:.]*\Z")  # how to type it, such as "(minus: rides on the hoop)"
_NAME = re.compile(r"(?<![\w.])[a-z][a-z0-9_]*(?:\.[a-z][a-z0-9_]*)?(?![\w.])")


def bare_ask(ask: str) -> str:
    """A question without the hint how to type its answer, and without its end."""
    return asked_at(_HINT.sub("", ask))


def foretold(text: str, view: View, path: Path = (), given: Called | None = None) -> str:
    """The text with what is known in place; the rest as in `(gap wanted on each side: not known yet)`.

    `path` is where the text stands in its procedure (for `rods where ...`).
    """

    def filled(found: re.Match[str]) -> str:
        [field] = parse_text(found.group())
        assert isinstance(field, Field)
        unknown = _unknown(field, view, path, given or {})
        if not unknown:
            return render(found.group(), view, path)
        inside = text[: found.start()].endswith("(") and text[found.end() :].startswith(")")
        return f"{unknown}: not known yet" if inside else f"({unknown}: not known yet)"

    return _FIELD.sub(filled, text)


def _unknown(field: Field, view: View, path: Path, given: Called) -> str:
    """What is not known of this place in a text, in words; empty where its value is known."""
    if field.where is None:
        return "" if _known(field.name, view) else called(field.name, view.linked, given)
    bound = view.linked.conditions.get((*path, field.where))
    names = bound.variables if bound is not None else ()
    return "" if all(_known(name, view) for name in names) else f"the {field.name} where that is so"


def _known(name: str, view: View) -> bool:
    """Whether a name has a value; of what was left out it is known that there is none."""
    return said(name, view) != NOT_NOTED or bool(view.entries(name))


def called(name: str, linked: Linked, given: Called | None = None) -> str:
    """What a value is called before it is known: by its question, by what its sum gives, or by its name in words."""
    if given and name in given:
        return given[name]
    head, _, part = name.partition(".")
    if head in linked.procedure.sums:
        use = linked.procedure.sums[head].use
        if not part:
            return words_of(head)
        # Arithmetic of any unit has no words of its own: what it is for is said by the name it has here.
        return words_of(head) if SIGNATURES[use].inputs[0].unit is None else spoken(use, part).removesuffix(" by")
    if head == "drum" and part in FACTS:
        return _lower(bare_ask(FACTS[part].ask))
    reading = linked.reading(name)
    if reading is not None:
        ask = _FIELD.sub(lambda found: words_of(found.group().strip("{} ").partition("|")[0].strip()), reading.ask)
        return _lower(bare_ask(ask).rstrip("?"))
    inner = linked.runs[head] if part and head in linked.runs else linked
    for step in inner.procedure.steps:
        if step.choose is not None and step.choose.as_ == (part or name):
            return f"way taken at {words_of(step.step)}"
    return words_of(name)


def _lower(text: str) -> str:
    """A question in the middle of a sentence."""
    return text[:1].lower() + text[1:] if text[1:2].islower() or text[1:2] == " " else text


def condition_words(when: str, linked: Linked, given: Called | None = None) -> str:
    """A condition that says no reason, without names of a procedure in it."""
    if when.strip() == "otherwise":
        return NOTHING_ELSE

    def words(found: re.Match[str]) -> str:
        name = found.group()
        if name in linked.limits:
            return as_typed(linked.limits[name].typed, linked.limits[name].unit)
        return called(name, linked, given) if name in linked.variables else words_of(name)

    return _NAME.sub(words, when)


# --- what a procedure that is walked, or may be, can see ---------------------------------------------------------


def outlook(state: State, bench: Bench, path: str) -> tuple[View, Called]:
    """What the procedure at a path of runs sees now, or would see if it began now; and what it is given is called."""
    if not path:
        if state.frames:
            return View(state, bench.books(state.text), state.frames[0].run), {}
        return View(replace(state, given={0: state.taken}), bench.books(state.text), 0), {}
    above, _, name = path.rpartition("/")
    owner, given = outlook(state, bench, above)
    run, inner = run_called(owner.linked, name), owner.linked.runs[name]
    called_there = {key: called(text, owner.linked, given) for key, text in run.with_.items()}
    begun = [frame for frame in state.begun.values() if frame.path == path and _counts(state, frame, owner.run)]
    if begun:
        return View(state, inner, begun[-1].run), called_there
    number = -1 - path.count("/")  # no run has it
    asked = replace(owner.state, given={**owner.state.given, number: given_data(run, inner, owner)})
    return View(asked, inner, number), called_there


def _counts(state: State, frame: Frame, owner: int) -> bool:
    """Whether a run still counts, and was begun by that one."""
    caller = state.visits[frame.caller - 1]
    return state.live(frame.caller, frame.n) and (bool(frame.event) or caller.run == owner)


def run_called(linked: Linked, name: str) -> Run:
    """The run of that name, wherever it is asked for."""
    runs = [step.run for step in linked.procedure.steps] + [event.run for event in linked.procedure.whenever]
    return next(run for run in runs if run is not None and run.as_ == name)
