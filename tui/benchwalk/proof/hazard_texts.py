"""The hazards of a procedure one by one, of the whole work and of its steps, each with its place."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from ..procedure.linked import Linked, Path
from ..procedure.model import Step
from ..procedure.parts import GRADES, Graded, HazardText
from ..procedure.tree import Map, Seq


class Hazard(NamedTuple):
    """One hazard: the step it belongs to (None: the whole work), its grade, its parts, and where it stands."""

    step: Step | None
    grade: str
    parts: HazardText
    path: Path

    @property
    def words(self) -> str:
        """All that it says, in small letters."""
        return f"{self.parts.hazard}; {self.parts.consequence or ''}; {self.parts.avoid}".lower()


def hazards(linked: Linked) -> Iterator[Hazard]:
    """The hazards of the whole work first, then those of the steps in their order."""
    of_all = linked.procedure.hazards
    if isinstance(of_all, list):
        for number, graded in enumerate(of_all):
            yield from _of(linked, None, graded, ("hazards", number))
    for name, step in linked.steps.items():
        yield from _of(linked, step, step, ("steps", linked.at[name]))


def _of(linked: Linked, step: Step | None, graded: Graded, at: Path) -> Iterator[Hazard]:
    for grade in GRADES:
        parts: list[HazardText] = getattr(graded, grade)
        for number, part in enumerate(parts):
            path = (*at, grade)
            yield Hazard(step, grade, part, (*path, number) if _is_list(linked, path) else path)


def _is_list(linked: Linked, path: Path) -> bool:
    """Whether a list stands there, and not one hazard alone."""
    node = linked.source.document.root
    for part in path:
        if isinstance(node, Map):
            node = node.get(str(part))
        elif isinstance(node, Seq) and isinstance(part, int):
            node = node[part]
    return isinstance(node, Seq)
