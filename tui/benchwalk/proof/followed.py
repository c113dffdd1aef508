"""Asking the ways to a step: which values are followed along them, and how much is asked of one procedure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ..procedure.bound import Bound
from ..procedure.linked import Linked
from .branch_reads import atoms_of, readers_of
from .flow import Flow, flow_of
from .paths import CAP, Paths
from .space import Space, TooMany

MOST_TOGETHER = 2000
"""Most joint cells of values that are followed together only to save time."""
MOST_WORK = 20_000
"""Steps gone through for one procedure, over all its questions, after which no more is asked."""


def paths_to(linked: Linked, step: str, read: Iterable[str], *, wide: bool) -> Paths | None:
    """The ways to a step, following the values it reads and (`wide`) as many more as can be, nearest first.

    None where no way can say anything about them, or where too much was asked of this procedure already.
    """
    flow = flow_of(linked)
    readers = readers_of(flow)
    own = [name for name in dict.fromkeys(read) if name in readers]
    if not own or step not in flow.at:
        return None
    if wide:
        return _asked(flow, _chosen(flow, own))
    if not any(_elsewhere(flow, step, name) for name in own):
        return None
    together = next((names for names in linked.once(_together) if names.issuperset(own)), own)
    return _asked(flow, [name for name in readers if name in together])


def can_lack(linked: Linked, step: str, line: int | None, name: str, bad: int) -> bool:
    """Whether some walk comes to a step (and takes that branch) with one of these facts true of a value.

    True also where that is not decided.
    """
    flow = flow_of(linked)
    known = flow.known(name)
    names = _chosen(flow, [])
    if known is None or not names:
        return True
    paths = _asked(flow, names, known, bad)
    return paths is None or paths.lacks(step, line)


def _asked(flow: Flow, names: Sequence[str], watched: str = "", bad: int = 0) -> Paths | None:
    known = flow.linked.once(_nothing_yet)
    key = (frozenset(names), watched, bad)
    if key not in known:
        if sum(paths.visits for paths in known.values() if paths) > MOST_WORK:
            return None
        try:
            known[key] = Paths(flow, names, watched, bad)
        except TooMany:
            known[key] = None
    return known[key]


def _nothing_yet(_linked: Linked) -> dict[tuple[frozenset[str], str, int], Paths | None]:
    """What was asked of a procedure, with the answers."""
    return {}


def _together(linked: Linked) -> list[set[str]]:
    """The values of steps that are asked about one by one, put together so that few walks along the ways do for all."""
    flow = flow_of(linked)
    found: list[set[str]] = []
    read: dict[str, list[str]] = {}
    for name, steps in readers_of(flow).items():
        for step in steps:
            read.setdefault(step, []).append(name)
    for step, names in read.items():
        if step in flow.at and any(_elsewhere(flow, step, name) for name in names):
            room = (group for group in found if _size(flow, group.union(names)) <= MOST_TOGETHER)
            group = next(room, None)
            if group is None:
                found.append(set(names))
            else:
                group.update(names)
    return found


def _elsewhere(flow: Flow, step: str, name: str) -> bool:
    """Whether a branch on the way may have asked for the value before it comes to this step."""
    here = flow.linked.steps[step]
    anew = {
        *here.record,
        *here.work_out,
        *([here.choose.as_] if here.choose else []),
        *([here.run.as_] if here.run else []),
    }
    if name in anew or name.partition(".")[0] in anew:
        return False  # what was said of it before is over
    return len(readers_of(flow)[name]) > 1 or _comes_again(flow, step)


def _comes_again(flow: Flow, step: str) -> bool:
    seen: set[str] = set()
    waiting = [way.target for way in flow.graph.out[step]]
    while waiting:
        there = waiting.pop()
        if there == step:
            return True
        if there not in seen:
            seen.add(there)
            waiting += [way.target for way in flow.graph.out[there]]
    return False


def _chosen(flow: Flow, own: list[str]) -> list[str]:
    """The values to follow: those asked for, then those that are read beside them elsewhere, as far as the cap goes."""
    readers, atoms = readers_of(flow), atoms_of(flow)
    names, size = list(own), _size(flow, own)
    others = [name for name, steps in readers.items() if name not in own]
    while others:
        near = {step for name in names for step in readers[name]}
        others.sort(key=lambda name: (len(readers[name]) == 1, -len(near & readers[name])))
        name = others.pop(0)
        more = _size(flow, [name])
        if size * more > CAP:
            continue
        names.append(name)
        size *= more
    return [name for name in atoms if name in names]


def _size(flow: Flow, names: Iterable[str]) -> int:
    """About how many joint cells these values have."""
    size = 1
    for name in names:
        found = [Bound(atom) for atom in atoms_of(flow)[name]]
        try:
            size *= Space(
                found, {name: True} | {o: True for b in found for a in b.atoms if (o := a.variable.sum)}, CAP
            ).size
        except TooMany:
            return CAP + 1
    return size
