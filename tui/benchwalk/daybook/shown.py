"""Which drawing stands on a page: the head in pairs where rods are read or confirmed, else what the step shows."""

from __future__ import annotations

from ..walk.desk import Bench, view_of
from ..walk.phase import Now
from ..walk.state import State
from .drawings import drawing
from .ink import Line
from .pairs import pair_lines, pairs
from .ring import ring


def drawing_of(
    state: State, bench: Bench, here: Now, asked: Now | None, width: int, *, place: bool = False
) -> list[Line]:
    """The lines of the drawing within `width` cells; none where there is none.

    `place`: where a rod is asked for, the ring that shows which one it is stands below the pairs.
    """
    if here.visit is None or here.step is None or here.kind in ("recheck", "hazard", "hold"):
        return []
    name = asked.name if asked is not None else ""
    if name or here.kind == "each":
        found = pairs(state, bench, here.visit, name)
        if found is not None:
            rod = (asked or here).place
            which = ring(len(found.rods), int(rod), strainer=found.from_strainer) if place and rod is not None else []
            return [*pair_lines(found, width), *([()] if which else []), *which]
    if here.step.show == "rod order":
        rods = view_of(state, here.visit, bench).rods
        return ring(rods) if rods else []
    return drawing(here.step.show, width) or [] if here.step.show else []
