"""How many stops may still come: from every step of a procedure, the shortest and the longest way to an end.

A step counts one, and one that runs another procedure counts that procedure's stops too. Ways back are not counted,
only taken where nothing else leads on; what may happen at any time is not on the way. Worked out once a procedure.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, NamedTuple

from ..procedure.linked import Linked
from ..procedure.model import Step

Goal = Literal["done", "any"]
"""Which ends count: only those that end `done`, or any."""
Look = tuple[int, tuple[str, ...]]
"""A look by somebody else: how many stops ahead, and for whose work it is only needed (nobody named: everybody's)."""

_ON = frozenset(("next", "go", "branch", "way", "late"))
_SPENT = _ON | {"then", "sent-on"}


class Ahead(NamedTuple):
    """What may still come: stops on the shortest and on the longest way, and the looks on the shortest."""

    least: int
    most: int
    looks: tuple[Look, ...]

    def then(self, rest: Ahead) -> Ahead:
        """This first, and the rest after it."""
        later = tuple((self.least + stops, roles) for stops, roles in rest.looks)
        return Ahead(self.least + rest.least, self.most + rest.most, self.looks + later)


NOTHING = Ahead(0, 0, ())


def ahead(linked: Linked, step: str, goal: Goal) -> Ahead | None:
    """What may come after this step is left, up to an end of that kind; None where none can be reached from it."""
    return linked.once(_tables)[goal].get(step)


def from_start(linked: Linked, goal: Goal) -> Ahead | None:
    """What comes of a procedure that has not begun, its first stop included."""
    first = linked.procedure.steps[0]
    rest = ahead(linked, first.step, goal)
    return None if rest is None else _stop(linked, first, goal).then(rest)


def run_of(linked: Linked, step: Step, goal: Goal) -> Ahead:
    """The stops of the procedure that a step runs; none where it runs none."""
    inner = linked.runs.get(step.run.as_) if step.run else None
    if inner is None:
        return NOTHING
    return from_start(inner, goal) or from_start(inner, "any") or NOTHING


def _stop(linked: Linked, step: Step, goal: Goal) -> Ahead:
    """One stop at a step, with what it runs and the look at its end."""
    look: tuple[Look, ...] = ((0, tuple(step.hold.for_work_by)),) if step.hold else ()
    return Ahead(1, 1, ()).then(run_of(linked, step, goal)).then(Ahead(0, 0, look))


def _tables(linked: Linked) -> dict[Goal, dict[str, Ahead]]:
    return {"done": _table(linked, "done"), "any": _table(linked, "any")}


def _table(linked: Linked, goal: Goal) -> dict[str, Ahead]:
    stops = {name: _stop(linked, step, goal) for name, step in linked.steps.items()}
    ends = [name for name, step in linked.steps.items() if step.end and goal in ("any", step.end.as_)]
    short: dict[str, Ahead] = dict.fromkeys(ends, NOTHING)
    long: dict[str, int] = dict.fromkeys(ends, 0)
    for kinds in (_ON, _SPENT):  # what follows from a spent bound only where nothing else leads to such an end
        out: dict[str, list[str]] = {name: [] for name in linked.steps if name not in short}
        for edge in linked.edges:
            if edge.kind in kinds and edge.source in out:
                out[edge.source].append(edge.target)
        _shortest(out, stops, short)
        _longest(out, stops, long, linked.at)
    return {name: Ahead(found.least, max(long[name], found.least), found.looks) for name, found in short.items()}


def _shortest(out: dict[str, list[str]], stops: dict[str, Ahead], found: dict[str, Ahead]) -> None:
    """Fill in the shortest ways, by trying until no way is shorter."""
    changed = True
    while changed:
        changed = False
        for step in reversed(out):
            for target in out[step]:
                if target in found:
                    least = stops[target].least + found[target].least
                    if step not in found or least < found[step].least:
                        found[step] = stops[target].then(found[target])
                        changed = True


def _longest(out: dict[str, list[str]], stops: dict[str, Ahead], found: dict[str, int], at: dict[str, int]) -> None:
    """Fill in the longest ways that only lead on in the file; where there is none, over the way back there is."""

    def best(targets: Iterable[str]) -> int | None:
        return max((stops[t].most + found[t] for t in targets if t in found), default=None)

    for step in sorted(out, key=at.__getitem__, reverse=True):  # from the last: no way back leads to what is known yet
        way = best(out[step])
        if way is not None:
            found[step] = way
    while late := {step: way for step in out if step not in found and (way := best(out[step])) is not None}:
        found.update(late)
