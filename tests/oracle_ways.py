"""Small step graphs made at random, and an independent judge of them: every walk is simply tried.

The judge works on the plan the procedure's text was made from and knows nothing of the checker's graph or bits. A walk
is played with its counts as the grammar says: a branch that was taken too often leads to its `then`, a step entered too
often sends on to its own.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, field

READINGS = ("a", "b", "c")


@dataclass
class Line:
    """A branch (or an event): where it leads, how often, and where then."""

    go: int
    at_most: int = 0
    then: int = 0


@dataclass
class Plan:
    """A step graph: `lines` by step (none: `end`, one: `go`), `entered`, events by range, what is recorded and read."""

    lines: list[list[Line]] = field(default_factory=list)
    entered: dict[int, Line] = field(default_factory=dict)
    events: list[tuple[list[int], Line]] = field(default_factory=list)
    records: list[list[str]] = field(default_factory=list)
    reads: list[list[str]] = field(default_factory=list)


def plan(chance: random.Random, most: int = 7) -> Plan:
    """A plan of 2 to `most` steps, mostly leading forward."""
    count = chance.randint(2, most)

    def somewhere(step: int) -> int:
        forward = step + 1 < count and chance.random() < 0.6
        return chance.randrange(step + 1, count) if forward else chance.randrange(count)

    def line(step: int, bounded: float) -> Line:
        if chance.random() < bounded:
            return Line(somewhere(step), chance.randint(1, 2), somewhere(step))
        return Line(somewhere(step))

    made = Plan()
    for step in range(count):
        ways = 0 if step == count - 1 or chance.random() < 0.1 else chance.choice([1, 1, 2, 2, 3])
        made.lines.append([line(step, 0.4 if ways > 1 else 0) for _ in range(ways)])
        made.records.append([name for name in READINGS if chance.random() < 0.3])
        made.reads.append([name for name in READINGS if chance.random() < 0.15])
        if chance.random() < 0.25:
            made.entered[step] = Line(0, chance.randint(1, 2), somewhere(step))
    if chance.random() < 0.4:
        during = [step for step in range(count) if chance.random() < 0.4] or [0]
        made.events.append((during, line(count - 1, 0.5)))
    return made


def written(made: Plan) -> str:
    """The plan as a procedure."""
    out = ["readings:"]
    out += [f"  {name}: {{ask: It is, kind: words}}" for name in READINGS]
    out += [f"  way{n}: {{ask: Where to, choices: {{w0: one, w1: two, w2: three}}}}" for n in range(len(made.lines))]
    if made.events:
        out.append("whenever:")
    for number, (during, line) in enumerate(made.events):
        out.append(f"  - {{event: e{number}, say: It slips, during: [{_steps(during)}], {_line(line)}}}")
    out.append("steps:")
    for step, lines in enumerate(made.lines):
        read = " ".join(f"{{{{ {name} }}}}" for name in made.reads[step])
        out += [f"  - step: s{step}", f'    do: "Do it {read}"']
        if step in made.entered:
            bound = made.entered[step]
            out.append(f"    entered: {{at_most: {bound.at_most}, then: s{bound.then}}}")
        asked = [f"way{step}"] if len(lines) > 1 else []
        if made.records[step] or asked:
            out.append(f"    record: [{', '.join([*made.records[step], *asked])}]")
        if not lines:
            out.append("    end: done")
        elif len(lines) == 1:
            out.append(f"    go: s{lines[0].go}")
        else:
            out.append("    branches:")
            for index, line in enumerate(lines):
                words = [f"way{step} is w{index}"]
                if index == len(lines) - 1:
                    words = [f"way{step} is w{n}" for n in range(index, 3)]
                out.append(f"      - {{when: {' or '.join(words)}, {_line(line)}}}")
    return "\n".join(out) + "\n"


def _steps(steps: list[int]) -> str:
    return ", ".join(f"s{step}" for step in steps)


def _line(line: Line) -> str:
    return f"go: s{line.go}" + (f", at_most: {line.at_most}, then: s{line.then}" if line.at_most else "")


# --- plain reachability ------------------------------------------------------------------------------------------


def moves(made: Plan, step: int) -> Iterator[tuple[int, bool, bool]]:
    """(target, bounded, by an event) of every way out of a step, whatever the counts; sent on as far as it goes."""
    ways = [(line, False) for line in made.lines[step]]
    ways += [(line, True) for during, line in made.events if step in during]
    for line, event in ways:
        yield from _landing(made, line.go, line.at_most > 0, event)
        if line.at_most:
            yield from _landing(made, line.then, False, event)


def _landing(made: Plan, target: int, bounded: bool, event: bool) -> Iterator[tuple[int, bool, bool]]:
    seen: set[int] = set()
    while True:
        yield target, bounded or target in made.entered, event
        if target not in made.entered or target in seen:
            return
        seen.add(target)
        bounded, target = False, made.entered[target].then


def reached(made: Plan, start: int = 0) -> set[int]:
    """Every step some way leads to."""
    found: set[int] = set()

    def visit(step: int) -> None:
        if step not in found:
            found.add(step)
            for target, _, _ in moves(made, step):
                visit(target)

    visit(start)
    return found


def dead(made: Plan) -> set[int]:
    """The steps reached from which no step without a way on can be reached."""
    return {step for step in reached(made) if all(made.lines[other] for other in reached(made, step))}


def rounds(made: Plan) -> set[tuple[int, ...]]:
    """Every simple round that only takes unbounded ways, beginning at its smallest step."""
    found: set[tuple[int, ...]] = set()
    near = reached(made)

    def walk(trail: list[int]) -> None:
        for target, bounded, event in moves(made, trail[-1]):
            if bounded or (event and target == trail[-1]):
                continue
            if target == trail[0]:
                found.add(tuple(trail))
            elif target > trail[0] and target not in trail:
                walk([*trail, target])

    for step in sorted(near):
        walk([step])
    return found


def sent_rounds(made: Plan) -> bool:
    """Whether steps entered too often send one another round."""
    for step in made.entered:
        at = made.entered[step].then
        for _ in made.lines:
            if at == step:
                return True
            if at not in made.entered:
                break
            at = made.entered[at].then
    return False


# --- walks with counts ------------------------------------------------------------------------------------------

Counts = tuple[tuple[str, int], ...]


def plays(made: Plan, most: int = 40_000) -> bool | None:
    """Whether some walk goes on for ever, counts and all; None where there are too many walks to try."""
    start = _enter(made, 0, ())
    state = {start: 0}  # 0 being walked, 1 done with
    work = [(start, _after(made, *start))]
    while work:
        here, following = work[-1]
        for there in following:
            if there not in state:
                if len(state) > most:
                    return None
                state[there] = 0
                work.append((there, _after(made, *there)))
                break
            if state[there] == 0:
                return True
        else:
            state[here] = 1
            work.pop()
    return False


def _after(made: Plan, step: int, counts: Counts) -> Iterator[tuple[int, Counts]]:
    for index, line in enumerate(made.lines[step]):
        yield _taken(made, line, f"{step}:{index}", counts)
    for number, (during, line) in enumerate(made.events):
        if step in during:
            there = _taken(made, line, f"event {number}", counts)
            if there[0] != step:
                yield there


def _taken(made: Plan, line: Line, key: str, counts: Counts) -> tuple[int, Counts]:
    if not line.at_most:
        return _enter(made, line.go, counts)
    known = dict(counts)
    if known.get(key, 0) >= line.at_most:
        return _enter(made, line.then, counts)
    known[key] = known.get(key, 0) + 1
    return _enter(made, line.go, tuple(sorted(known.items())))


def _enter(made: Plan, step: int, counts: Counts) -> tuple[int, Counts]:
    known = dict(counts)
    for _ in range(len(made.lines) + 1):
        bound = made.entered.get(step)
        if bound is None:
            break
        if known.get(f"in {step}", 0) < bound.at_most:
            known[f"in {step}"] = known.get(f"in {step}", 0) + 1
            break
        step = bound.then
    return step, tuple(sorted(known.items()))


# --- values ------------------------------------------------------------------------------------------


def unrecorded(made: Plan) -> set[str]:
    """The readings that some step reads with some way to it on which nothing recorded them, counts left aside."""
    found: set[str] = set()
    seen: set[tuple[int, frozenset[str]]] = set()
    waiting = [(0, frozenset[str]())]
    while waiting:
        step, known = waiting.pop()
        if (step, known) in seen:
            continue
        seen.add((step, known))
        found |= set(made.reads[step]) - known
        asked = [*made.records[step], *([""] if len(made.lines[step]) > 1 else [])]
        after = known | set(made.records[step])
        for line in made.lines[step]:
            for first in {line.go, line.then if line.at_most else line.go}:
                waiting += [(target, after) for target, _, _ in _landing(made, first, False, False)]
        for during, line in made.events:
            if step in during:  # it strikes while something is asked: the action, then each reading in turn
                for first in {line.go, line.then if line.at_most else line.go}:
                    for noted in range(len(asked) if asked else 1):
                        so_far = known | set(asked[:noted]) - {""}
                        waiting += [(target, so_far) for target, _, _ in _landing(made, first, False, True)]
    return found
