"""What an example is called: what it is about, in the words of the branch, way or event that it is for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable
from typing import NamedTuple

from ..walked import Key
from .trail import Trail

MOST = 70
"""Characters of a name."""


class About(NamedTuple):
    """What an example is about, and what tells it from another that is about the same; "" where nothing does."""

    said: str
    apart: str = ""


def about(trail: Trail, way: Key | None) -> About:
    """What a walk is about that was led to this way; None: it is as usual."""
    if way is None:
        return About("all as usual")
    linked, (name, kind, number) = trail.linked, way
    if kind in ("event", "event-then"):
        said = next(event.say for event in linked.procedure.whenever if event.event == name)
        return About(_inside(said) + ", once too often" * (kind == "event-then"))
    step = linked.steps[name]
    if kind in ("branch", "then"):
        when = step.lines[number].when
        apart = f"at {name}" if when.strip() == "otherwise" else f"where {when}"
        said = _because(trail, name, number) or f"{name} {apart.removeprefix(f'at {name}') or 'otherwise'}"
        return About(_inside(said) + ", too often" * (kind == "then"), apart)
    if kind == "way" and step.choose:
        return About(_inside(step.choose.ways[number].say), f"at {name}")
    return About(f"{name} {_OTHERWISE[kind]}")


_OTHERWISE = {"skip": "skipped", "late": "too late", "end": "to its end", "entered": "entered too often"}


def _because(trail: Trail, step: str, line: int) -> str:
    """The reason a branch was taken for, as the walk told it; "" where it gives none."""
    if not trail.linked.steps[step].lines[line].because:
        return ""
    for took in trail.state.took:
        stay = trail.state.visits[took.visit - 1]
        if took.line == line and stay.path == "" and stay.step == step:
            return took.because.partition("; ")[0]
    return ""


def _inside(said: str) -> str:
    """A sentence as a name: no capital that it would not have inside a sentence, no stop, no longer than is read."""
    text = said.rstrip(".")
    text = text if text[1:2].isupper() else text[:1].lower() + text[1:]
    if len(text) <= MOST:
        return text
    clause = text[:MOST].rpartition(", ")[0]
    return clause if len(clause) >= MOST // 3 else text[:MOST].rpartition(" ")[0]


def named(every: Iterable[About], taken: Collection[str]) -> list[str]:
    """A name for each, all of them different and none of them `taken`."""
    abouts = list(every)
    often = Counter(about.said for about in abouts)
    names: list[str] = []
    for said, apart in abouts:
        name = f"{said}, {apart}" if apart and (often[said] > 1 or said in taken) else said
        number, plain = 2, name
        while name in names or name in taken:
            name, number = f"{plain} ({number})", number + 1
        names.append(name)
    return names


def passed(trail: Trail, way: Key | None) -> list[str]:
    """The steps that an example for a way passes: where it is taken, and where that leads."""
    if way is None:
        return []
    linked, (name, kind, _) = trail.linked, way
    own = [visit for visit in trail.state.visits if visit.path == ""]
    if kind == "entered":
        bound = linked.steps[name].entered
        return [bound.then] if bound else []
    at = next((index for index, visit in enumerate(own) if visit.step == name), None)
    return [] if at is None else [visit.step for visit in own[at : at + 2]]
