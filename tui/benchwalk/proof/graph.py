"""The steps of one procedure as a graph: what can be reached, from where an end can be reached, every endless round.

Values play no part here. The ways are the edges of the linked procedure, those of steps that send on among them. All is
linear in the steps and their edges, but for the search of one shortest round for each round that is told.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Container, Iterable, Iterator

from ..procedure.linked import Edge, Linked

MOST_ROUNDS = 20
"""Most endless rounds that are told of one procedure."""


class Graph:
    """The ways of one procedure: its edges. `out` and `into` hold them by step; `start` is the first step."""

    def __init__(self, linked: Linked) -> None:
        self.linked = linked
        self.start = linked.procedure.steps[0].step
        self.out: dict[str, list[Edge]] = {step: [] for step in linked.steps}
        self.into: dict[str, list[Edge]] = {step: [] for step in linked.steps}
        for way in linked.edges:
            self.out[way.source].append(way)
            self.into[way.target].append(way)
        self.first: dict[str, Edge | None] = _search(self.out, [self.start])
        self.ends = [name for name, step in linked.steps.items() if step.end]
        self.ending = set(self.ends)
        waiting = list(self.ends)
        while waiting:
            for way in self.into[waiting.pop()]:
                if way.source not in self.ending:
                    self.ending.add(way.source)
                    waiting.append(way.source)

    @property
    def whole(self) -> bool:
        """Whether every step says where it leads, so that a missing way is the author's and not a misspelt name's."""
        return not any(f.rule in _BROKEN and f.severity == "error" for f in self.linked.findings)

    def route(self, step: str) -> list[Edge]:
        """The shortest way from the first step to this one; empty for the first step and for what is not reached."""
        ways: list[Edge] = []
        way = self.first.get(step)
        while way is not None:
            ways.append(way)
            way = self.first[way.source]
        return ways[::-1]

    def not_reached(self) -> list[list[str]]:
        """The steps no way leads to, in groups: a step nothing outside leads to, then all that hangs on it alone."""
        lost = [step for step in self.out if step not in self.first]
        left = set(lost)
        heads = [s for s in lost if not any(way.source in left and way.source != s for way in self.into[s])]
        groups: list[list[str]] = []
        for head in [*heads, *lost]:  # what is left after the heads hangs in rounds, told under its first in the file
            if head in left:
                found = list(_search(self.out, [head], left))
                left.difference_update(found)
                groups.append(found)
        return groups

    def no_way_out(self) -> list[str]:
        """The steps at which a walk enters a part that no end can be reached from."""
        alive = self.ending & set(self.first)
        dead = [step for step in self.first if step not in alive]
        return [s for s in dead if s == self.start or any(way.source in alive for way in self.into[s])]

    def rounds(self) -> Iterator[list[Edge]]:
        """Every way back that nothing bounds, as a round of ways; the last of each is the way back.

        Bounded ways are taken away, and so are ways into steps that count their entries, and events that lead to the
        very step they strike at. After a round is told, its way back is taken away too, until no round is left.
        """
        gone: set[int] = set()
        nodes = list(self.first)
        for _ in range(MOST_ROUNDS):
            kept = {s: [w for w in self.out[s] if not (w.bounded or w.stays or id(w) in gone)] for s in nodes}
            knots = list(_knots(nodes, kept))
            if not knots:
                return
            nodes = [step for knot in knots for step in knot]
            for knot in knots:
                found = self._round(knot, kept)
                gone.add(id(found[-1]))
                yield found

    def _round(self, knot: list[str], kept: dict[str, list[Edge]]) -> list[Edge]:
        """The shortest round through the first way back among these steps."""
        inside, at = set(knot), self.linked.at
        steps = sorted(knot, key=at.__getitem__)
        back = next(w for s in steps for w in kept[s] if w.target in inside and at[w.target] <= at[s])
        ways = [back]
        tree = _search(kept, [back.target], inside)
        step = back.source
        while step != back.target:
            way = tree[step]
            assert way is not None
            ways.append(way)
            step = way.source
        return [*ways[:0:-1], back]

    def sent_round(self) -> list[list[str]]:
        """Steps that send one another round once they were entered too often, each round once."""
        then = {name: step.entered.then for name, step in self.linked.steps.items() if step.entered}
        seen: dict[str, int] = {}
        rounds: list[list[str]] = []
        for number, name in enumerate(then):
            trail: list[str] = []
            while name in then and name not in seen:
                seen[name] = number
                trail.append(name)
                name = then[name]
            if seen.get(name) == number and name in trail:
                rounds.append(trail[trail.index(name) :])
        return rounds


_BROKEN = frozenset(("unknown-step", "no-end", "duplicate-id"))


def graph_of(linked: Linked) -> Graph:
    """The graph of a procedure, made once."""
    return linked.once(Graph)


def _search(
    out: dict[str, list[Edge]], starts: Iterable[str], inside: Container[str] | None = None
) -> dict[str, Edge | None]:
    """Breadth first: every step reached (of those inside), in order, and the way it was first reached by."""
    found: dict[str, Edge | None] = dict.fromkeys(starts)
    waiting = deque(found)
    while waiting:
        for way in out[waiting.popleft()]:
            if way.target not in found and (inside is None or way.target in inside):
                found[way.target] = way
                waiting.append(way.target)
    return found


def _knots(nodes: list[str], out: dict[str, list[Edge]]) -> Iterator[list[str]]:
    """The groups of steps from each of which every other can be reached again (Tarjan 1972, from memory)."""
    number: dict[str, int] = {}
    low: dict[str, int] = {}
    stack: list[str] = []
    on_stack: set[str] = set()
    for root in nodes:
        if root in number:
            continue
        work = [(root, iter(out[root]))]
        number[root] = low[root] = len(number)
        stack.append(root)
        on_stack.add(root)
        while work:
            step, ways = work[-1]
            for way in ways:
                other = way.target
                if other not in out:
                    continue
                if other not in number:
                    number[other] = low[other] = len(number)
                    stack.append(other)
                    on_stack.add(other)
                    work.append((other, iter(out[other])))
                    break
                if other in on_stack:
                    low[step] = min(low[step], number[other])
            else:
                work.pop()
                if work:
                    low[work[-1][0]] = min(low[work[-1][0]], low[step])
                if low[step] == number[step]:
                    knot = [stack.pop()]
                    while knot[-1] != step:
                        knot.append(stack.pop())
                    on_stack.difference_update(knot)
                    if len(knot) > 1 or any(way.target == step for way in out[step]):
                        yield knot
