"""Hazards that were added, taken away or changed: of the whole work, and of one step."""

from __future__ import annotations

from collections.abc import Iterator

from ..procedure.linked import Path
from ..procedure.parts import Hazards, HazardText
from .matching import Renamed, alike
from .parts import Change

Graded = list[tuple[str, HazardText]]


def of_all(hazards: Hazards) -> Graded:
    """The hazards of the whole work with their signal words."""
    return [pair for graded in hazards for pair in graded.graded()] if isinstance(hazards, list) else []


def hazard_changes(old: Graded, new: Graded, where: str, names: Renamed, at: tuple[Path, Path]) -> Iterator[Change]:
    """What changed among these hazards; a hazard is known by what can happen."""
    gone = [(grade, _texts(part, names)) for grade, part in old]
    there = [(grade, _texts(part, Renamed())) for grade, part in new]
    for pair in [pair for pair in gone if pair in there]:
        gone.remove(pair)
        there.remove(pair)
    for grade, texts in list(gone):
        best = max(there, key=lambda pair: alike(pair[1][0], texts[0]), default=None)
        if best is None or alike(best[1][0], texts[0]) < 0.6:
            yield Change("hazards", where, "a hazard was taken away", old=_said(grade, texts), old_at=at[0])
            continue
        there.remove(best)
        what = "a hazard was changed" if best[0] == grade else f"a hazard that was {grade} is {best[0]} now"
        yield Change("hazards", where, what, _said(grade, texts), _said(*best), *at)
    for grade, texts in there:
        yield Change("hazards", where, "a hazard was added", new=_said(grade, texts), new_at=at[1])


def _texts(part: HazardText, names: Renamed) -> tuple[str, str, str]:
    parts = (part.hazard, part.consequence or "", part.avoid)
    hazard, consequence, avoid = (names.in_text(" ".join(text.split())) for text in parts)
    return hazard, consequence, avoid


def _said(grade: str, texts: tuple[str, str, str]) -> str:
    hazard, consequence, avoid = (text.rstrip(".") for text in texts)
    return f"{grade.upper()}: {hazard}. {f'{consequence}. ' if consequence else ''}Avoid it: {avoid}."
