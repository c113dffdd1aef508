"""Walks that show a fault: the shortest way on which a value comes to a step with a certain fact about it."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator

from ..procedure.findings import Related
from ..procedure.linked import Edge, Linked
from ..procedure.showing import shortened
from .effects import one
from .flow import Flow
from .moments import FACTS, NEVER, Moment, Put, Use, Work

MOST_STEPS = 30
"""Most steps of a walk that are told one by one."""

Node = tuple[str, int]
"""A step, and the fact (as a bit) about the value in question on entry to it."""


class Route:
    """One walk, as steps and the ways between them; `facts` are the facts about the value on entry to each step."""

    def __init__(self, steps: list[str], ways: list[Edge], facts: list[int]) -> None:
        self.steps = steps
        self.ways = ways
        self.facts = facts

    def text(self) -> str:
        """The steps in order; a long walk without its middle."""
        return told(self.steps)

    def changed_at(self, bad: int) -> str | None:
        """The last step that brought about a fact of `bad`; None where it was so from the start."""
        for index in range(len(self.steps) - 1, 0, -1):
            if self.facts[index] & bad and not self.facts[index - 1] & bad:
                return self.steps[index - 1]
        return None


def find_route(flow: Flow, name: str, starts: Iterable[Node], goal: Callable[[str, int], bool]) -> Route | None:
    """The shortest walk from one of `starts` to a node that `goal` accepts, following the facts about one value."""
    came: dict[Node, tuple[Node, Edge] | None] = dict.fromkeys(starts)
    waiting = deque(came)
    while waiting:
        node = waiting.popleft()
        step, fact = node
        if goal(step, fact):
            return _unwound(node, came)
        for way in flow.graph.out[step]:
            facts = flow.over(way, name, fact)
            for number in range(FACTS):
                if facts >> number & 1:
                    there = (way.target, 1 << number)
                    if there not in came:
                        came[there] = (node, way)
                        waiting.append(there)
    return None


def _unwound(node: Node, came: dict[Node, tuple[Node, Edge] | None]) -> Route:
    nodes, ways = [node], []
    while (before := came[node]) is not None:
        node, way = before
        nodes.append(node)
        ways.append(way)
    nodes.reverse()
    return Route([step for step, _ in nodes], ways[::-1], [fact for _, fact in nodes])


def route_to(
    flow: Flow, name: str, step: str, bad: int, use: Use | None = None, line: int | None = None
) -> Route | None:
    """A walk from the first step to `step` on which the value has a fact of `bad` there: at `use`, or at the branches
    (once `line` is taken)."""
    known = flow.known(name)
    if known is None:
        return None
    found = {fact: _at(flow, step, known, fact, use) for fact in (1 << n for n in range(FACTS))}
    lines = flow.refined.get(step)
    keep = lines[line].keep if lines and line is not None else None
    if keep is not None:
        found = {fact: facts & one(keep, flow.bit[known]) for fact, facts in found.items()}
    starts = [(flow.graph.start, NEVER)]
    return find_route(flow, known, starts, lambda there, fact: there == step and bool(found[fact] & bad))


def _at(flow: Flow, step: str, name: str, fact: int, use: Use | None) -> int:
    """The facts about one value at a use in a step (at the branches without one), from one fact on entry."""
    if use is None:
        return flow.effects[step].single(flow.bit[name], fact, flow.at[step])[0]
    state = flow.at[step]
    bit = flow.bit[name]
    mine = tuple((known & ~(1 << bit)) | ((1 << bit) if fact >> n & 1 else 0) for n, known in enumerate(state))
    for moment in _until(flow.moments[step], use):
        mine = flow.after(mine, moment)
    return flow.facts(mine, name)


def _until(every: Iterable[Moment], use: Use) -> Iterator[Put | Work]:
    for moment in every:
        if moment == use:
            return
        if isinstance(moment, Put | Work):
            yield moment


def told(steps: list[str]) -> str:
    """Steps in order, a long list without its middle."""
    if len(steps) > MOST_STEPS:
        steps = [*steps[:3], "…", *steps[3 - MOST_STEPS :]]
    return ", ".join(steps)


def places(linked: Linked, steps: list[str], ways: list[Edge], sentence: str = "") -> tuple[Related, ...]:
    """The steps of a walk as places of the file, each with how it is left; a long walk without its middle."""
    found: list[Related] = []
    for index, step in enumerate(steps):
        if len(steps) > MOST_STEPS and 3 <= index < len(steps) - MOST_STEPS + 3:
            continue
        text = f"{index + 1}. {step}"
        if index < len(ways):
            text += left_by(linked, ways[index])
        found.append(Related(linked.place("steps", linked.at[step], "step"), text))
    return tuple(found)


def left_by(linked: Linked, way: Edge) -> str:
    """How a way leaves its step, in words; empty where it just goes on."""
    sent = f", sent on from {way.first.target}" if way.kind == "sent-on" else ""
    kind, path, step = way.first.kind, way.first.path, linked.steps[way.source]
    if kind == "late":
        return f" (late{sent})"
    if path[0] == "whenever":
        event = linked.procedure.whenever[int(path[1])].event
        return f" ({event}{', tried too often' if kind == 'then' else ''}{sent})"
    if kind == "way" and step.choose and way.line is not None:
        return f" (by {step.choose.ways[way.line].way}{sent})"
    if kind in ("branch", "then") and way.line is not None and step.lines:
        text = shortened(step.lines[way.line].when, 50)
        return f" ({text}{', tried too often' if kind == 'then' else ''}{sent})"
    return f" ({sent[2:]})" if sent else ""
