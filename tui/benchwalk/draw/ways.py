"""Every way on from every step, with why it is taken and how often: what both drawings are made of."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ..procedure.linked import Linked
from ..procedure.model import Run, Step, Whenever
from ..proof.walked import Key

_EACH = {"rod": "every rod", "rod in pairs": "every rod, each and then the one opposite"}


@dataclass(frozen=True, slots=True)
class Way:
    """One way on. `target` is the step it leads to, None where the procedure ends or the step goes on; `why` is in the
    author's words, `bound` in ours (`at most twice`), empty where there is none; `then` is where a spent way leads."""

    key: Key
    target: str | None
    why: str
    bound: str = ""
    then: str | None = None
    finds: tuple[str, ...] = ()

    @property
    def then_key(self) -> Key:
        """The way taken instead, once this one was taken often enough."""
        name, kind, number = self.key
        return name, "event-then" if kind == "event" else "then", number


def times(count: int) -> str:
    """`once`, `twice`, `3 times`."""
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


def ways_of(linked: Linked, step: Step) -> Iterator[Way]:
    """The ways on from one step, in the order they are looked at."""
    name = step.step
    if step.wait and step.wait.late and step.wait.at_latest:
        yield Way((name, "late", 0), step.wait.late.go, f"later than {step.wait.at_latest}")
    if step.choose and any(way.go for way in step.choose.ways):
        for number, way in enumerate(step.choose.ways):
            yield Way((name, "way", number), way.go, way.say)
    elif step.lines:
        for number, line in enumerate(step.lines):
            bound = f"at most {times(line.at_most)}" if line.at_most is not None else ""
            yield Way((name, "branch", number), line.go, line.because or line.when, bound, line.then, tuple(line.find))
    elif step.go:
        yield Way((name, "go", 0), step.go, "")
    elif step.end:
        yield Way((name, "end", 0), None, step.end.say or "")
    elif name in linked.at and (following := linked.next_of(name)):
        yield Way((name, "next", 0), following, "")


def way_of_event(event: Whenever) -> Way:
    """Where an event leads."""
    bound = f"at most {times(event.at_most)}" if event.at_most is not None else ""
    return Way((event.event, "event", 0), event.go, event.say, bound, event.then)


def said_run(run: Run) -> str:
    """`tie-one-side as butt, with side butt and target room.gap`."""
    given = [f"{key} {value}" for key, value in run.with_.items()]
    return f"{run.procedure} as {run.as_}" + (f", with {listed(given)}" if given else "")


def listed(words: list[str], last: str = "and") -> str:
    """`a`, `a and b`, `a, b and c`; `last` is the word before the last of them."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {last} {words[-1]}" if words else ""


def said_each(words: list[str]) -> str:
    """What is confirmed one by one, in words: every rod, or the places that are named."""
    return listed([_EACH.get(word, word) for word in words])


def a_role(role: str) -> str:
    """`a senior`, `an owner`."""
    return f"an {role}" if role[:1].lower() in "aeiou" else f"a {role}"
