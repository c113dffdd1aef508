"""Which way on leads soonest to where a walk is wanted, at every step of a procedure."""

from __future__ import annotations

import heapq
from collections.abc import Collection, Mapping
from math import inf
from typing import NamedTuple

from ...procedure.linked import Edge, Linked
from ..graph import graph_of

USUAL, TURN, EVENT, SPENT, SENT_ON = 1, 12, 25, 30, 40
"""What a way costs: one that a walk by usual answers takes, one that other answers lead to, and what comes on top for
an event or being late, for a branch that must be spent first, and for a step that must be entered too often first."""


class Want(NamedTuple):
    """How a step is to be left: by a `line` or a `way` (of that number), by an `event` (that of the procedure), `late`,
    `skip` (left out, whatever follows), `end`, or `go` (as it does by itself)."""

    kind: str
    number: int = 0


GO, END, SKIP, LATE = Want("go"), Want("end"), Want("skip"), Want("late")

Leaving = tuple[str, Want]
"""A step, and how it is left."""


class Heading:
    """The ways from every step to the nearest of `goals`, each with how it is to be left (GO: only to be come to).

    `usual` are the ways that usual answers take. A GO goal may be come to after its bound is spent as well.
    """

    def __init__(self, linked: Linked, goals: Mapping[str, Want], usual: Collection[Leaving]) -> None:
        self.linked = linked
        self.goals = goals
        self.usual = usual
        self.shut: set[Leaving] = set()
        self.far: dict[str, float] = {}
        self._measure()

    def shut_off(self, step: str, want: Want) -> None:
        """Reckon without this way from here on."""
        self.shut.add((step, want))
        self._measure()

    def reaches(self, step: str) -> bool:
        """Whether any way is left from that step."""
        return self.far.get(step, inf) < inf

    def _measure(self) -> None:
        graph = graph_of(self.linked)
        self.far = {step: 0.0 for step, want in self.goals.items() if (step, want) not in self.shut}
        waiting = [(0.0, step) for step in self.far]
        while waiting:
            far, step = heapq.heappop(waiting)
            if far > self.far[step]:
                continue
            for edge in graph.into[step]:
                cost = far + self._cost(edge)
                if cost < self.far.get(edge.source, inf):
                    self.far[edge.source] = cost
                    heapq.heappush(waiting, (cost, edge.source))

    def _cost(self, edge: Edge) -> float:
        want, cost = want_of(edge), 0.0
        if (edge.source, want) in self.shut:
            return inf
        first = edge
        while first.sent_from is not None:
            first = first.sent_from
            cost += SENT_ON
        if first.kind == "then":
            cost += SPENT
        if want.kind in ("event", "late"):
            cost += EVENT
        return cost + (USUAL if (edge.source, want) in self.usual else TURN)

    def options(self, step: str, counts: Mapping[str, int], *, again: bool = False) -> list[tuple[float, Want]]:
        """The ways on from a step, soonest first; `again`: it was left as is wanted of a goal, and that did not do.

        `counts` are those of the run: how often steps were entered (`entered:STEP`) and bounded branches taken
        (`STEP:NUMBER`).
        """
        goal = self.goals.get(step, GO)
        if goal != GO and not again:
            return [] if (step, goal) in self.shut else [(0.0, goal)]
        found: dict[Want, float] = {}
        for edge in graph_of(self.linked).out[step]:
            far = self._cost_now(edge, counts) + self.far.get(edge.target, inf)
            want = want_of(edge)
            if far < found.get(want, inf):
                found[want] = far
        return sorted((far, want) for want, far in found.items())

    def _cost_now(self, edge: Edge, counts: Mapping[str, int]) -> float:
        """The cost of a way as things stand: what is spent already costs nothing more, and what it replaces is shut."""
        cost = self._cost(edge)
        chain = [edge]
        while chain[-1].sent_from is not None:
            chain.append(chain[-1].sent_from)
        first = chain[-1]
        for sent in chain[1:]:
            cost -= SENT_ON if self._sends_on(sent.target, counts) else 0
        if self._sends_on(edge.target, counts):
            return inf
        line = self._bounded(first)
        if line is not None:
            spent = counts.get(line[0], 0) >= line[1]
            if first.kind == "branch" and spent:
                return inf
            if first.kind == "then" and spent:
                cost -= SPENT
        return cost

    def _bounded(self, edge: Edge) -> tuple[str, int] | None:
        if want_of(edge).kind != "line" or edge.line is None:
            return None
        most = self.linked.steps[edge.source].lines[edge.line].at_most
        return None if most is None else (f"{edge.source}:{edge.line}", most)

    def far_from(self, step: str, counts: Mapping[str, int]) -> float:
        """How far a walk is that comes to a step now, on through steps that were entered too often."""
        for _ in self.linked.steps:
            bound = self.linked.steps[step].entered
            if bound is None or not self._sends_on(step, counts):
                break
            step = bound.then
        return self.far.get(step, inf)

    def _sends_on(self, step: str, counts: Mapping[str, int]) -> bool:
        """Whether a step sends on whoever comes to it now, and that is not what is wanted of it."""
        bound = self.linked.steps[step].entered
        return bound is not None and counts.get(f"entered:{step}", 0) >= bound.at_most and self.goals.get(step) != GO


def want_of(edge: Edge) -> Want:
    """How a way leaves its step."""
    first = edge.first
    if first.path[0] == "whenever":
        return Want("event", int(first.path[1]))
    if first.kind in ("branch", "then"):
        return Want("line", first.line or 0)
    if first.kind == "way":
        return Want("way", first.line or 0)
    return LATE if first.kind == "late" else GO
