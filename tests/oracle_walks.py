"""Small procedures made at random, and a judge of them that walks every walk there is with the real interpreter.

It shares nothing with the checker: it hands every answer that can be told apart to `decide`, remembers where it has
been, and writes down where a walk found no branch, where two fitted, and which branches were ever taken.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from benchwalk.procedure.evaluate import evaluate
from benchwalk.procedure.linked import Linked
from benchwalk.sums import compute
from benchwalk.walk import acts
from benchwalk.walk.decide import decide
from benchwalk.walk.desk import Bench
from benchwalk.walk.phase import Now, now
from benchwalk.walk.state import State
from benchwalk.walk.view import View

CHOICES = {"a": ("u", "v"), "b": ("u", "v", "w"), "c": ("u", "v")}
NUMBERS = {"x": ("0.5", "1", "2"), "y": ("0.5", "1", "2")}
"""Possible is 0 to 2 and conditions name 1 only: these are all the values that can be told apart."""
HEAD = """procedure: made
title: Made at random
revision: 1
for: [test drum]
purpose: To be judged.
needs: {tools: none, parts: none, supplies: none, before: none}
hazards: {none_found_by: senior}
time: 1 min
sources: none
"""


def made(chance: random.Random, *, back: bool) -> str:
    """A procedure of 3 to 5 steps; with `back` some branches lead back, each bounded."""
    count = chance.randint(3, 5)
    names = [*CHOICES, *NUMBERS]
    used = chance.sample(names, chance.randint(2, 4))
    out = [HEAD + "readings:"]
    for name in used:
        optional = ", optional: {because: It may be}" if chance.random() < 0.25 else ""
        if name in CHOICES:
            words = ", ".join(f"{word}: it is {word}" for word in CHOICES[name])
            out.append(f"  {name}: {{ask: It is, choices: {{{words}}}{optional}}}")
        else:
            out.append(f"  {name}: {{ask: It is, unit: mm, possible: 0 .. 2{optional}}}")
    out.append("steps:")
    for step in range(count):
        out.append(f"  - step: s{step}")
        records = [name for name in used if chance.random() < (0.6 if step == 0 else 0.3)]
        if records:
            out.append(f"    record: [{', '.join(records)}]")
            if chance.random() < 0.15:
                out.append("    may_skip: {because: It may be, by: senior}")
        else:
            reads = f" {{{{ {chance.choice(used)} }}}}" if chance.random() < 0.3 else ""
            out.append(f'    do: "Do it{reads}."')
        if step == count - 1:
            out.append("    end: done")
        elif chance.random() < 0.25:
            out.append(f"    go: s{chance.randrange(step + 1, count)}")
        else:
            out += _branches(chance, used, step, count, back=back)
    return "\n".join(out) + "\n"


def _branches(chance: random.Random, used: list[str], step: int, count: int, *, back: bool) -> list[str]:
    out = [f"    {chance.choice(['branches', 'branches', 'first_of'])}:"]
    for when in _covering(chance, used):
        where = f"go: s{chance.randrange(step + 1, count)}"
        if back and chance.random() < 0.3:
            where = f"go: s{chance.randrange(step + 1)}, at_most: 1, then: s{count - 1}"
        out.append(f"      - {{when: {when}, because: It is so, {where}}}")
    return out


def _covering(chance: random.Random, used: list[str]) -> list[str]:
    """Conditions that cover everything there is of one or two values, or nearly so."""
    name = chance.choice(used)
    parts = _parts(chance, name)
    if chance.random() < 0.4:
        other = chance.choice(used)
        if other != name:
            head, *rest = parts
            parts = [*rest, *(f"{_guarded(head)} and {_guarded(part)}" for part in _parts(chance, other))]
    if chance.random() < 0.2:
        parts.append(f"{name} is missing")
    if chance.random() < 0.25:
        parts.pop(chance.randrange(len(parts)))
    if chance.random() < 0.15:
        parts.insert(0, chance.choice(_parts(chance, chance.choice(used))))
    if chance.random() < 0.2 or not parts:
        parts.append("otherwise")
    return parts


def _guarded(part: str) -> str:
    return f"({part})" if " or " in part else part


def _parts(chance: random.Random, name: str) -> list[str]:
    if name in NUMBERS:
        return chance.choice(
            [
                [f"{name} < 1 mm", f"{name} >= 1 mm"],
                [f"{name} <= 1 mm", f"{name} > 1 mm"],
                [f"{name} = 1 mm", f"not ({name} = 1 mm)"],
            ]
        )
    words = [f"{name} is {word}" for word in CHOICES[name]]
    if len(words) == 3 and chance.random() < 0.5:
        return [f"{words[0]} or {words[1]}", words[2]]
    return words


@dataclass
class Tried:
    """What walking every walk showed: steps with no branch for a case, steps with two, and (step, branch)
    taken; what a text read before it was recorded; and every step come to."""

    stuck: set[str] = field(default_factory=set)
    two: set[str] = field(default_factory=set)
    taken: set[tuple[str, int]] = field(default_factory=set)
    unrecorded: set[str] = field(default_factory=set)
    came: set[str] = field(default_factory=set)
    acts: int = 0


def tried(linked: Linked) -> Tried:
    """Every walk of a procedure that can be told from another."""
    time = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
    bench = Bench(lambda text: linked, compute, time, {"ann": frozenset({"senior"})})
    found = Tried()
    state = _after(State(), acts.Open("made", "rehearsal", linked.text, {}, {}), bench, found)
    seen: set[Any] = set()
    waiting = [state]
    while waiting:
        state = waiting.pop()
        here = now(state, bench)
        key = _key(state, here)
        if key in seen:
            continue
        seen.add(key)
        if here.visit is not None:
            found.came.add(here.visit.step)
        if here.kind == "do":
            found.unrecorded |= _read_too_soon(state, here)
        if here.kind == "stuck":
            assert here.visit is not None
            found.stuck.add(here.visit.step)
            continue
        waiting += [_after(state, act, bench, found) for act in _answers(here)]
    return found


def _read_too_soon(state: State, here: Now) -> set[str]:
    """What the step's text reads that no step has asked for yet; what was left out was asked for."""
    assert here.step is not None
    noted = {name for (_run, name), entries in state.readings.items() if any(state.live(e.visit, e.n) for e in entries)}
    return {name for name in (*CHOICES, *NUMBERS) if f"{{{{ {name} }}}}" in (here.step.do or "")} - noted


def _answers(here: Now) -> list[acts.Act]:
    """Every answer that can be given."""
    given: list[acts.Act] = []
    if here.step is not None and here.step.may_skip:
        given.append(acts.Skip("it may be", acts.Sign("ann", "practice")))
    match here.kind:
        case "ready":
            return [acts.Ready()]
        case "do":
            return [*given, acts.Done()]
        case "reading":
            values = CHOICES.get(here.name) or NUMBERS[here.name]
            left = [acts.LeaveOut()] if here.reading.optional else []
            return [*given, *left, *(acts.Record(value) for value in values)]
        case "ended":
            return []
    raise AssertionError(f"nobody foresaw {here.kind}")


def _after(state: State, act: acts.Act, bench: Bench, found: Tried) -> State:
    """The state after an act, and what branches were taken on the way."""
    found.acts += 1
    before = len(state.took)
    decision = decide(state, act, "ann", bench)
    assert decision.refusal is None, (act, decision.refusal)
    after = decision.state
    for took in after.took[before:]:
        visit = after.visits[took.visit - 1]
        linked = bench.books(visit.text)
        step = linked.steps[visit.step]
        if took.line is None or not step.lines:
            continue
        found.taken.add((step.step, took.line))
        key = "branches" if step.branches else "first_of"
        view = View(after, linked, visit.run, upto=took.n)
        true = 0
        for index in range(len(step.lines)):
            bound = linked.conditions.get(("steps", linked.at[step.step], key, index, "when"))
            true += bound is not None and evaluate(bound, view) is True
        if true > 1 and step.branches:
            found.two.add(step.step)
    return after


def _key(state: State, here: Now) -> Any:
    """What is ahead of a walk depends on: where it is, what is noted last, and how often ways were gone."""
    values = []
    for (_run, name), entries in sorted(state.readings.items()):
        live = [entry for entry in entries if state.live(entry.visit, entry.n)]
        values.append((name, live[-1].value if live else None))
    step = here.visit.step if here.visit else ""
    noted = {e.name for e in state.entries.values() if here.visit is not None and e.visit == here.visit.number}
    return here.kind, step, here.name, tuple(values), tuple(sorted(state.counts.items())), frozenset(noted)
