"""A judge of proposed examples: every way that some walk takes and comes to an end after, by walking every walk.

It goes through the small random procedures of `oracle_walks`, with one thing less: a step is skipped as it begins or
not at all, since no example can skip it later.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import UTC, datetime
from typing import Any

import oracle_walks as oracle
from benchwalk.procedure.linked import Linked
from benchwalk.proof.walked import Key
from benchwalk.sums import compute
from benchwalk.walk import acts
from benchwalk.walk.decide import decide
from benchwalk.walk.desk import Bench
from benchwalk.walk.phase import Now, now
from benchwalk.walk.state import State


def walkable(linked: Linked) -> set[Key]:
    """The ways from which a walk to an end can be told."""
    time = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
    bench = Bench(lambda text: linked, compute, time, {"ann": frozenset({"senior"})})
    first = decide(State(), acts.Open("made", "rehearsal", linked.text, {}, {}), "ann", bench).state
    numbers: dict[Any, int] = {oracle._key(first, now(first, bench)): 0}
    before: dict[int, list[int]] = defaultdict(list)
    leads: dict[Key, set[int]] = defaultdict(set)
    ends: list[int] = []
    waiting = [(0, first)]
    while waiting:
        number, state = waiting.pop()
        here = now(state, bench)
        if here.kind == "ended":
            ends.append(number)
        for act in oracle._answers(here) if here.kind != "stuck" else ():
            if isinstance(act, acts.Skip) and _begun(state, here):
                continue
            decision = decide(state, act, "ann", bench)
            assert decision.refusal is None, decision.refusal
            there = numbers.setdefault(oracle._key(decision.state, now(decision.state, bench)), len(numbers))
            if not before[there] and there:
                waiting.append((there, decision.state))
            before[there].append(number)
            for way in _ways(decision.state, decision.events):
                leads[way].add(there)
    alive = set(ends)
    while ends:
        for number in before[ends.pop()]:
            if number not in alive:
                alive.add(number)
                ends.append(number)
    return {way for way, stops in leads.items() if stops & alive}


def _begun(state: State, here: Now) -> bool:
    assert here.visit is not None
    return here.visit.done or any(entry.visit == here.visit.number for entry in state.entries.values())


def _ways(state: State, events: Any) -> list[Key]:
    found: list[Key] = []
    for event in events:
        step = state.visits[event["visit"] - 1].step if event.get("visit") else ""
        if event["what"] == "took" and event["line"] is not None:
            found.append((step, "then" if event["then"] else "branch", event["line"]))
        elif event["what"] in ("skipped", "ended"):
            found.append((step, {"skipped": "skip", "ended": "end"}[event["what"]], 0))
    return found
