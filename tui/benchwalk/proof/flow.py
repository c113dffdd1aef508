"""What is known of every value at every step: recorded, never recorded, left out, without a result, at some places.

A forward analysis over the ways of `graph`: at a step the facts of all ways that lead there are put together, so that a
fact says "on some way", and its absence "on no way". What is followed of a value is only whether it is there, with one
refinement: a branch whose condition can only be true where a value is there establishes it (`refine`), and so does one
that tells how a run ended for what that run gives. What two branches far apart have to do with one another is not
decided here.
"""

from __future__ import annotations

from collections.abc import Iterator

from ..procedure.linked import Edge, Linked, covers
from ..procedure.model import Step
from .effects import BRANCHES, EVENT, LATE, NOTHING, Effects, State, join, kept, one
from .graph import Graph, graph_of
from .moments import NO_RESULT, RECORDED, Put, RunFacts, Use, Work, line_uses, moments, tracked
from .refine import Refined, refine


class Flow:
    """The facts of one procedure. `at` holds them by step on entry, `branch` where it branches; steps never reached
    are in neither. `bit` numbers the values that are followed, `runs` tells how runs leave what is inside them."""

    def __init__(self, linked: Linked) -> None:
        self.linked = linked
        self.graph: Graph = graph_of(linked)
        self.runs: dict[str, RunFacts] = {name: run_facts(name, inner) for name, inner in linked.runs.items()}
        self.left = {name for step in linked.steps.values() if (name := self._left(step))}
        self.bit = {name: n for n, name in enumerate(dict.fromkeys(tracked(linked, self.runs.values())))}
        self.moments = {name: [*moments(linked, step, self.runs)] for name, step in linked.steps.items()}
        self.effects = {name: self._effects(step) for name, step in linked.steps.items()}
        self.refined: dict[str, list[Refined]] = {}
        self._leaving: dict[str, list[tuple[Edge, tuple[int, int | None]]]] = {}
        self._faulty: list[tuple[str, int | None, Use, int]] | None = None
        order = _order(self.graph)
        self.at: dict[str, State]
        self.branch: dict[str, State]
        self.at, self.branch = self._solved(order)
        # What branches say is worked out from facts that leave nothing out; with it, the facts grow no larger.
        self.refined = {name: refine(self, step, self.branch[name]) for name, step in self._branching()}
        if any(line.keep is not None for lines in self.refined.values() for line in lines):
            self.at, self.branch = self._solved(order)

    # what is known

    def known(self, name: str) -> str | None:
        """The name under which facts about `name` are followed; None where it is always there."""
        if name in self.bit:
            return name
        head, dot, _ = name.partition(".")
        if dot and (head in self.linked.procedure.sums or (name not in self.linked.variables and head in self.bit)):
            return head  # an output of a sum, or what was heard beside a note
        return None

    def facts(self, state: State, name: str) -> int:
        """The facts about a value in a state; RECORDED for what is always there."""
        known = self.known(name)
        return RECORDED if known is None else one(state, self.bit[known])

    def on_line(self, step: str, line: int) -> State:
        """The facts once a branch of `step` is taken."""
        return kept(self.branch[step], self._keep(step, line))

    def uses(self) -> list[tuple[str, int | None, Use, int]]:
        """(step, branch or None, use, facts met) of every use that meets a fault; worked out once."""
        if self._faulty is None:
            self._faulty = list(self._uses())
        return self._faulty

    def _uses(self) -> Iterator[tuple[str, int | None, Use, int]]:
        for name, state in self.at.items():
            step = self.linked.steps[name]
            lacking = state[1] | state[2] | state[3] | state[4]
            for moment in self.moments[name]:
                if isinstance(moment, Use):
                    number = self.bit.get(moment.name)
                    if number is not None and not lacking >> number & 1:
                        continue  # nothing is wrong with it by any fact, as with most
                    found = self.facts(state, moment.name)
                    if found & moment.bad:
                        yield name, None, moment, found
                elif isinstance(moment, Put | Work):
                    state = self.after(state, moment)
                    lacking = state[1] | state[2] | state[3] | state[4]
            for line in range(len(step.lines)):
                for use in line_uses(self.linked, step, line):
                    found = self.facts(self.on_line(name, line), use.name)
                    if found & use.bad:
                        yield name, line, use, found

    def after(self, state: State, moment: Put | Work) -> State:
        """The facts after one moment of a step."""
        if moment.name not in self.bit:
            return state
        bit = 1 << self.bit[moment.name]
        if isinstance(moment, Put):
            facts, clear = moment.facts, 0 if moment.may else bit
        else:
            lacks = any(self.facts(state, need) & ~RECORDED for need in moment.needs)
            facts, clear = RECORDED | (NO_RESULT if moment.may_fail or lacks else 0), bit
        return tuple(known & ~clear | (bit if facts >> n & 1 else 0) for n, known in enumerate(state))

    def ends(self) -> dict[str, State]:
        """The facts at the end, by outcome."""
        found: dict[str, State] = {}
        for name in self.graph.ends:
            end = self.linked.steps[name].end
            if end is not None and name in self.branch:
                found[end.as_] = join(found.get(end.as_, NOTHING), self.branch[name])
        return found

    def over(self, way: Edge, name: str, fact: int) -> int:
        """The facts about one value after taking a way, from one fact on entry to its step."""
        how, line = leaves(way.first)
        number = self.bit[name]
        facts = self.effects[way.source].single(number, fact, self.at[way.source])[how]
        keep = None if line is None else self._keep(way.source, line)
        if keep is None:
            return facts
        mask = one(keep, number)
        return facts & mask or (0 if one(self.branch[way.source], number) & mask else RECORDED)

    # the analysis

    def _left(self, step: Step) -> str | None:
        """The run that an event may leave at this step; it comes back as stopped, with anything noted or not."""
        if step.run is None or step.run.as_ not in self.runs:
            return None
        stage = self.linked.stage.get(step.step)
        leaving = any(event.go and covers(event, step.step, stage) for event in self.linked.procedure.whenever)
        return step.run.as_ if leaving else None

    def _given(self, step: Step) -> Iterator[str]:
        """All that a step gives: what it records, chooses and works out, and what its run gives back."""
        yield from (*step.record, *step.work_out)
        if step.choose:
            yield step.choose.as_
        if step.run and step.run.as_ in self.runs:
            yield f"{step.run.as_}.outcome"
            for facts in self.runs[step.run.as_].values():
                yield from facts

    def _effects(self, step: Step) -> Effects:
        made = Effects(self.moments[step.step], self.bit, skippable=step.may_skip is not None)
        for name in self._given(step):
            if name in self.bit:
                made.recorded |= 1 << self.bit[name]
        run = self._left(step)
        if run:
            for name in (f"{run}.outcome", *next(iter(self.runs[run].values()), ())):
                made.left |= 1 << self.bit[name]
        return made

    def _branching(self) -> Iterator[tuple[str, Step]]:
        return ((name, self.linked.steps[name]) for name in self.branch if self.linked.steps[name].lines)

    def _solved(self, names: list[str]) -> tuple[dict[str, State], dict[str, State]]:
        """The facts on entry and at the branches; taken over from an earlier text that does all the same with them."""
        done = {name: (e.skippable, e.recorded, e.left) for name, e in self.effects.items()}
        keeps = {name: [line.keep for line in lines] for name, lines in self.refined.items()}
        given = names, self.bit, self.moments, done, self.graph.out, keeps
        return self.linked.worked.again((Flow, bool(keeps)), given, lambda: self._solve(names))

    def _solve(self, names: list[str]) -> tuple[dict[str, State], dict[str, State]]:
        """Carry facts along the ways until nothing changes, in sweeps that go with the order of the steps and against
        it in turn: so facts come quickly down a long procedure and back up through many small ways back."""
        everything = (1 << len(self.bit)) - 1
        self.at = {self.graph.start: (0, everything, *NOTHING[2:])}
        self.branch = {}
        changed = {self.graph.start}
        sweeps = (names, names[::-1])
        turn = 0
        while changed:
            for step in sweeps[turn]:
                if step in changed:
                    changed.discard(step)
                    self._leave(step, changed)
            turn = 1 - turn
        return self.at, self.branch

    def _leave(self, step: str, changed: set[str]) -> None:
        """Carry the facts of one step to all that follow; those that learn something are `changed`."""
        self.branch[step], late, event = self.effects[step].through(self.at[step])
        leaving = {BRANCHES: self.branch[step], LATE: late, EVENT: event}
        out: dict[tuple[int, int | None], State] = {}
        for way, key in self._out(step):
            if key not in out:
                left = leaving[key[0]]
                if left is None:
                    continue  # nobody is asked in this step, so nothing strikes
                out[key] = left if key[1] is None else kept(left, self._keep(step, key[1]))
            old = self.at.get(way.target)
            new = out[key] if old is None else join(old, out[key])
            if new != old:
                self.at[way.target] = new
                changed.add(way.target)

    def _out(self, step: str) -> list[tuple[Edge, tuple[int, int | None]]]:
        """The ways out of a step with how they leave it."""
        found = self._leaving.get(step)
        if found is None:
            found = self._leaving[step] = [(way, leaves(way.first)) for way in self.graph.out[step]]
        return found

    def _keep(self, step: str, line: int) -> tuple[int, ...] | None:
        lines = self.refined.get(step)
        return lines[line].keep if lines else None


def leaves(edge: Edge) -> tuple[int, int | None]:
    """(how an edge leaves its step, which of the step's branches it is or None)."""
    if edge.kind == "late":
        return LATE, None
    if edge.path[0] == "whenever":
        return EVENT, None
    return BRANCHES, edge.line if len(edge.path) > 3 and edge.path[2] in ("branches", "first_of") else None


def _order(graph: Graph) -> list[str]:
    """The steps reached, each as far as can be after those that lead to it (reverse postorder)."""
    seen = {graph.start}
    done: list[str] = []
    work = [(graph.start, iter(graph.out[graph.start]))]
    while work:
        step, ways = work[-1]
        for way in ways:
            if way.target not in seen:
                seen.add(way.target)
                work.append((way.target, iter(graph.out[way.target])))
                break
        else:
            work.pop()
            done.append(step)
    return done[::-1]


def run_facts(name: str, inner: Linked) -> RunFacts:
    """By outcome, the facts about everything inside a run, under the names its caller knows."""
    flow = flow_of(inner)
    names = dict.fromkeys([*inner.procedure.readings, *(s.choose.as_ for s in inner.steps.values() if s.choose)])
    names.update(dict.fromkeys(inner.procedure.gives))
    return {
        outcome: {f"{name}.{key}": flow.facts(state, key) for key in names} for outcome, state in flow.ends().items()
    }


def flow_of(linked: Linked) -> Flow:
    """The facts of a procedure, worked out once."""
    return linked.once(Flow)
