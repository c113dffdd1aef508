"""Steps that were added, taken away, renamed or moved, and what changed in one."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ..procedure.linked import Linked, Path
from ..procedure.model import Step
from ..procedure.showing import words_of
from .hazards import hazard_changes
from .matching import Renamed, moved
from .parts import Change, Group, between, plain, said
from .ways import way_changes

FIELDS: dict[str, tuple[Group, str]] = {
    "do": ("steps", "the action reads otherwise"),
    "expect": ("steps", "what should be seen then reads otherwise"),
    "each": ("steps", "where it is confirmed one by one changed"),
    "wait": ("steps", "the time to wait changed"),
    "choose": ("steps", "the ways to choose from changed"),
    "run": ("steps", "the procedure that is worked through here changed"),
    "hold": ("looks", "the look of somebody else changed"),
    "witness": ("looks", "who is told changed"),
    "may_skip": ("looks", "who may let it be left out changed"),
    "if_not": ("texts", "what to try when it does not come right changed"),
    "why": ("texts", "the background reads otherwise"),
    "show": ("texts", "another drawing is shown"),
    "allow": ("other", "the advice that may stand changed"),
}
"""Every key of a step that is compared as a whole."""
APART = {"step", "stage", "record", "work_out", "entered", "branches", "first_of", "go", "end"} | {
    *("danger", "warning", "caution", "notice"),
}
"""The other keys of a step, which are compared each in a way of its own."""


def step_changes(old: Linked, new: Linked, names: Renamed) -> Iterator[Change]:
    """Everything that changed in the steps and their order."""
    before = {names.step(step.step): step for step in old.procedure.steps}
    now = {step.step: step for step in new.procedure.steps}
    for name, step in before.items():
        if name not in now:
            yield _gone(old, step)
    for step in new.procedure.steps:
        if step.step not in before:
            yield _added(new, step)
    for was, is_ in names.steps.items():
        at = ("steps", old.at[was]), ("steps", new.at[is_])
        yield Change("steps", words_of(is_), "the step has another name", words_of(was), words_of(is_), *at)
    odd = moved([name for name in before if name], list(now))
    for name in now:
        if name in odd:
            places = _after(old, before[name], names), _after(new, now[name], Renamed())
            at = ("steps", old.at[before[name].step]), ("steps", new.at[name])
            yield between("steps", words_of(name), "the step was moved", places, at)
    for name, step in now.items():
        if name in before:
            yield from _in_step(old, new, before[name], step, names)


def _gone(old: Linked, step: Step) -> Change:
    told = f"{_told(step)} It stood {_after(old, step, Renamed())}."
    return Change(
        "steps", words_of(step.step), "the step was taken away", old=told, old_at=("steps", old.at[step.step])
    )


def _added(new: Linked, step: Step) -> Change:
    told = f"{_told(step)} It stands {_after(new, step, Renamed())}."
    return Change("steps", words_of(step.step), "a step was added", new=told, new_at=("steps", new.at[step.step]))


def _told(step: Step) -> str:
    """What a step says, in short."""
    parts = [f"{grade.upper()}: {part.hazard.rstrip('.')}." for grade, part in step.graded()]
    parts += [step.do] if step.do else []
    parts += [f"It works through {step.run.procedure}."] if step.run else []
    parts += [f"It waits {step.wait.for_}."] if step.wait else []
    parts += [f"It asks {said([*map(words_of, step.record)])}."] if step.record else []
    parts += [f"A {step.hold.by} looks."] if step.hold else []
    parts += [f"It ends {step.end.as_}."] if step.end else []
    return plain(" ".join(parts)) or "It says nothing to do."


def _after(linked: Linked, step: Step, names: Renamed) -> str:
    """Where a step stands."""
    at = linked.at[step.step]
    before = linked.procedure.steps[at - 1].step if at else None
    return f"after {words_of(names.step(before) or '')}" if before else "at the beginning"


def _in_step(old: Linked, new: Linked, before: Step, now: Step, names: Renamed) -> Iterator[Change]:
    where, at = words_of(now.step), (("steps", old.at[before.step]), ("steps", new.at[now.step]))
    yield from hazard_changes(before.graded(), now.graded(), where, names, at)
    for key, (group, what) in FIELDS.items():
        was, is_ = _field(before, key, names), _field(now, key, Renamed())
        if was != is_:
            yield Change(group, where, what, said(was), said(is_), (*at[0], key), (*at[1], key))
    yield from _listed(before, now, "record", names, where, at, "asked", "asks")
    yield from _listed(before, now, "work_out", names, where, at, "sums", "works out")
    yield from _stage(before, now, names, where, at)
    yield from _end(before, now, where, at)
    yield from way_changes(old, new, before, now, names)


def _field(step: Step, key: str, names: Renamed) -> Any:
    """A field as plain values, with names as they are now."""
    value = plain(getattr(step, key))
    if key == "run" and value and "with" in value:
        value["with"] = {name: names.name(each) for name, each in value["with"].items()}
    if key == "hold" and value and "covers" in value:
        value["covers"] = [names.name(each) for each in value["covers"]]
    if key == "wait" and value:
        value = {k: names.step(each) if k == "from" else each for k, each in value.items()}
        if "late" in value:
            value["late"] = {"go": names.step(value["late"]["go"])}
    if key == "choose" and value:
        ways = [{**way, "go": names.step(way["go"])} if "go" in way else way for way in value["ways"]]
        value = {"as": names.name(value["as"]), "ways": ways}
    if key == "each" and value:
        value = [names.name(each) for each in value]
    return _in_texts(value, names)


def _in_texts(value: Any, names: Renamed) -> Any:
    if isinstance(value, str):
        return names.in_text(value)
    if isinstance(value, dict):
        return {key: _in_texts(each, names) for key, each in value.items()}
    return [_in_texts(each, names) for each in value] if isinstance(value, list) else value


def _listed(
    before: Step, now: Step, key: str, names: Renamed, where: str, at: tuple[Path, Path], group: Group, verb: str
) -> Iterator[Change]:
    """What is noted or worked out at a step: more, less, or in another order."""
    was, is_ = [names.name(name) for name in getattr(before, key)], list(getattr(now, key))
    places = (*at[0], key), (*at[1], key)
    for name in was:
        if name not in is_:
            yield Change(group, where, f"it no longer {verb}", old=words_of(name), old_at=places[0])
    for name in is_:
        if name not in was:
            yield Change(group, where, f"it {verb} now also", new=words_of(name), new_at=places[1])
    if odd := moved(was, is_):
        order = said([*map(words_of, was)]), said([*map(words_of, is_)])
        yield Change(group, where, f"it {verb} {said([*map(words_of, sorted(odd))])} in another order", *order, *places)


def _stage(before: Step, now: Step, names: Renamed, where: str, at: tuple[Path, Path]) -> Iterator[Change]:
    was, is_ = before.stage, now.stage
    if was is None or is_ is None:
        if was is not None:
            yield Change("steps", where, "no stage begins here any more", old=plain(was.title), old_at=at[0])
        if is_ is not None:
            yield Change("steps", where, "a stage begins here", new=plain(is_.title), new_at=at[1])
        return
    if plain(was.title) != plain(is_.title):
        yield Change("texts", where, "the stage is called otherwise", plain(was.title), plain(is_.title), *at)
    if names.stages.get(was.id, was.id) != is_.id or was.id in names.stages:
        yield Change("other", where, "the stage has another id", was.id, is_.id, *at)


def _end(before: Step, now: Step, where: str, at: tuple[Path, Path]) -> Iterator[Change]:
    was, is_ = before.end, now.end
    if (was.as_ if was else "") != (is_.as_ if is_ else ""):
        ends = (f"ends {end.as_}" if end else "goes on" for end in (was, is_))
        yield between("leads", where, "how it ends changed", ends, at)
    if was and is_ and plain(was.say) != plain(is_.say):
        yield Change(
            "texts", where, "what is said at the end reads otherwise", said(plain(was.say)), said(plain(is_.say)), *at
        )
    proposes = [said([*map(words_of, end.proposes)]) if end else "" for end in (was, is_)]
    if proposes[0] != proposes[1]:
        yield between("found", where, "what is proposed at the end changed", proposes, at)
