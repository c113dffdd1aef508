"""Which thing of the old text is which of the new one: by its name, or under a new name by what it says."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from difflib import SequenceMatcher
from heapq import nlargest
from typing import Any

from ..procedure.model import Procedure, Step
from .parts import plain

ALIKE = 0.72
"""From here on (0 to 1) two texts are taken for one that was changed."""
_NEAR = 4  # things whose words are nearest, which are compared letter by letter
_LEAST = 12  # characters below which a text says too little to know a thing by
_FIELD = re.compile(r"\{\{.*?\}\}", re.DOTALL)


@dataclass(frozen=True)
class Renamed:
    """New names of things by the old ones: ids of steps, stages, events and findings; names of all that has a value."""

    steps: dict[str, str] = field(default_factory=dict)
    stages: dict[str, str] = field(default_factory=dict)
    events: dict[str, str] = field(default_factory=dict)
    findings: dict[str, str] = field(default_factory=dict)
    names: dict[str, str] = field(default_factory=dict)

    def step(self, name: str | None) -> str | None:
        """What an old step is called now."""
        return self.steps.get(name, name) if name is not None else None

    def name(self, name: str) -> str:
        """What the names in an old text are called now, such as `gap`, `room.gap`, `previous gap` and `gap < 3 mm`."""
        return _replaced(name, self.names)

    def in_text(self, text: str) -> str:
        """A text with the names in its braces as they are now."""
        return _FIELD.sub(lambda found: self.name(found.group()), text) if self.names else text

    def during(self, word: str) -> str:
        """A range of an event as it is called now."""
        kind, space, stage = word.partition(" ")
        if kind == "stage" and space:
            return f"stage {self.stages.get(stage, stage)}"
        return self.steps.get(word, word)


def _replaced(text: str, names: Mapping[str, str]) -> str:
    if not names:
        return text
    either = "|".join(map(re.escape, sorted(names, key=len, reverse=True)))
    return re.sub(rf"(?<![\w.-])(?:{either})(?![\w-])", lambda found: names[found.group()], text)


def renamed(old: Procedure, new: Procedure) -> Renamed:
    """Everything that has another name now."""
    names = _by_text(
        {name: reading.ask for name, reading in old.readings.items()},
        {name: reading.ask for name, reading in new.readings.items()},
    )
    names |= _same(old.limits, new.limits)
    first = Renamed(names=names)
    named = {name: {**plain(each), "with": _with(each, first)} for name, each in old.sums.items()}
    names |= _same(named, {name: plain(each) for name, each in new.sums.items()})
    steps = _by_text({s.step: _says(s) for s in old.steps}, {s.step: _says(s) for s in new.steps})
    # Those that say next to nothing, such as an end, are known by all that stands in them.
    known = set(steps) | set(steps.values())
    steps |= _same(*({s.step: _unnamed(s) for s in each.steps if s.step not in known} for each in (old, new)))
    stages = _by_text(
        {s.stage.id: s.stage.title for s in old.steps if s.stage},
        {s.stage.id: s.stage.title for s in new.steps if s.stage},
    )
    return Renamed(
        steps,
        stages,
        _by_text({e.event: e.say for e in old.whenever}, {e.event: e.say for e in new.whenever}),
        _by_text({k: f.found for k, f in old.findings.items()}, {k: f.found for k, f in new.findings.items()}),
        names,
    )


def _with(each: Any, names: Renamed) -> dict[str, str]:
    return {key: names.name(value) for key, value in each.with_.items()}


def _unnamed(step: Step) -> dict[str, Any]:
    return {key: value for key, value in plain(step).items() if key != "step"}


def _says(step: Step) -> str:
    """What a step is known by, whatever it is called."""
    parts = [step.do, step.expect, step.run.procedure if step.run else None, *(step.if_not or ())]
    parts += [way.say for way in step.choose.ways] if step.choose else []
    parts += [step.end.say] if step.end else []
    return " ".join(part for part in (*parts, *step.record) if part) or (step.why or "")


def _same(old: Mapping[str, Any], new: Mapping[str, Any]) -> dict[str, str]:
    """Things that are gone and things that are there now, of which one says exactly what one other said."""
    gone = {name: repr(plain(each)) for name, each in old.items() if name not in new}
    there = {name: repr(plain(each)) for name, each in new.items() if name not in old}
    found: dict[str, str] = {}
    for name, text in gone.items():
        match = next((other for other, words in there.items() if words == text), None)
        if match is not None:
            found[name] = match
            del there[match]
    return found


def _by_text(old: Mapping[str, str], new: Mapping[str, str]) -> dict[str, str]:
    """Things that are gone and things that are there now, of which one says nearly what one other said."""
    gone = {name: text for name, text in old.items() if name not in new and len(text) >= _LEAST}
    there = {name: text for name, text in new.items() if name not in old and len(text) >= _LEAST}
    found: dict[str, str] = {}
    for name, text in gone.items():  # what says exactly the same first: it is many where all names changed
        same = next((other for other, words in there.items() if words == text), None)
        if same is not None:
            found[name] = same
            del there[same]
    words = {text: set(text.lower().split()) for text in (*gone.values(), *there.values())}
    pairs: list[tuple[float, str, str]] = []
    for name, text in gone.items():
        if name not in found:
            near = nlargest(_NEAR, ((_shared(words[text], words[each]), other) for other, each in there.items()))
            pairs += [(-alike(text, there[other]), name, other) for share, other in near if share >= 1 / 3]
    for unlike, name, other in sorted(pairs):
        if -unlike >= ALIKE and name not in found and other not in found.values():
            found[name] = other
    return found


def _shared(one: set[str], other: set[str]) -> float:
    """The share of their words that both have."""
    return len(one & other) / len(one | other)


def alike(one: str, other: str) -> float:
    """How alike two texts are, 0 to 1."""
    return 1.0 if one == other else SequenceMatcher(None, one, other, autojunk=False).ratio()


def moved(old: Sequence[str], new: Sequence[str]) -> set[str]:
    """The fewest of the names both have that must be moved to come from the old order to the new."""
    at = {name: index for index, name in enumerate(new)}
    common = [name for name in old if name in at]
    tails: list[int] = []
    ends: list[int] = []
    before: dict[int, int] = {}
    for index, name in enumerate(common):
        place = bisect_left(tails, at[name])
        if place == len(tails):
            tails.append(at[name])
            ends.append(index)
        else:
            tails[place], ends[place] = at[name], index
        before[index] = ends[place - 1] if place else -1
    stays: set[str] = set()
    index = ends[-1] if ends else -1
    while index >= 0:
        stays.add(common[index])
        index = before[index]
    return {name for name in common if name not in stays}
