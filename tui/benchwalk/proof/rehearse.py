"""Walking a procedure's examples through the real `decide`, without a screen, a disk or a clock.

A rehearsal answers each question from an example and sees whether the walk goes as the example says.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

from ..errors import Misread, Refused
from ..procedure.linked import Linked, quantity_or_none
from ..procedure.model import Example
from ..walk import acts
from ..walk.decide import Decision, decide
from ..walk.desk import Bench
from ..walk.events import Event
from ..walk.phase import Now, now, parse_time
from ..walk.state import State
from .answers import MISSING, Answers, Unstated, full

BEGIN = datetime(2026, 1, 5, 9, 0, tzinfo=UTC)
MOST_ACTS = 3000
REHEARSER = "rehearser"


class Stuck(Refused):
    """The walk does not go on as the example says."""


@dataclass
class Rehearsal:
    """How one example went."""

    example: str
    outcome: str | None = None
    visits: list[str] = field(default_factory=list)
    readings: dict[str, list[dict[str, Any]]] = field(default_factory=dict)
    findings: list[str] = field(default_factory=list)
    ok: bool = False
    why: str | None = None
    events: list[Event] = field(default_factory=list)

    def data(self) -> dict[str, Any]:
        """As the command's JSON states it."""
        keys = ("example", "outcome", "visits", "readings", "findings", "ok", "why")
        return {key: getattr(self, key) for key in keys}


def rehearse(linked: Linked, compute: Callable[[str, dict[str, Any]], Any]) -> list[Rehearsal]:
    """All examples of a procedure, walked."""
    return [rehearse_one(linked, example, compute) for example in linked.procedure.examples]


def rehearse_one(linked: Linked, example: Example, compute: Callable[[str, dict[str, Any]], Any]) -> Rehearsal:
    """One example, walked from the first step to its end."""
    player = Player(linked, example, compute)
    result = Rehearsal(example.example)
    try:
        player.play()
        result.why = player.differs()
    except (Refused, Misread) as refused:
        result.why = f"{player.where()}: {refused.message}"
    result.ok = result.why is None
    result.outcome = player.state.ended["outcome"] if player.state.ended else None
    result.visits = player.visits()
    result.readings = readings_data(player.state)
    result.findings = [f.finding for f in player.state.found if player.state.live(f.visit, f.n)]
    result.events = player.events
    return result


class Player:
    """Plays one example: asks where the walk stands and answers it."""

    def __init__(self, linked: Linked, example: Example, compute: Callable[[str, dict[str, Any]], Any]) -> None:
        self.linked = linked
        self.example = example
        self.compute = compute
        self.answers = Answers.of(linked, example)
        self.books = {book.text: book for book in linked.family()}
        self.state = State()
        self.events: list[Event] = []
        self.time = BEGIN
        self.counted: set[str] = set()
        self.who = REHEARSER
        self.sign = acts.Sign("senior", "practice")

    @property
    def bench(self) -> Bench:
        """The bench of the rehearsal: the example's sums, one apprentice, and a clock that moves when told."""
        return Bench(
            books=self.books.__getitem__,
            compute=self.compute,
            now=self.time,
            roles={REHEARSER: frozenset({"apprentice"})},
            names={REHEARSER: "rehearsal"},
            assumed=self._assumed,
        )

    def _assumed(self, path: str, name: str, visit: int) -> dict[str, Any] | str | None:
        return self.answers.assumed(path, name, visit)

    def act(self, act: acts.Act) -> None:
        """Do one act; Stuck where it is refused."""
        decision: Decision = decide(self.state, act, self.who, self.bench)
        if decision.refusal:
            raise Stuck(decision.refusal)
        self.events += decision.events
        self.state = decision.state
        self._assume_counts()

    def _assume_counts(self) -> None:
        if not self.state.frames:
            return
        for step, count in self.answers.counts().items():
            if step not in self.counted and step in self.linked.steps:
                self.counted.add(step)
                self.state.counts[(1, f"entered:{step}")] = count
                for index in range(len(self.linked.steps[step].lines)):
                    self.state.counts[(1, f"{step}:{index}")] = count

    def play(self) -> None:
        """Walk to the end."""
        self.begin()
        for _ in range(MOST_ACTS):
            here = now(self.state, self.bench)
            if here.kind in ("ended", "account", "sign-again", "released"):
                return
            self.act(self.answer(here))
        raise Stuck(f"the walk has not ended after {MOST_ACTS} acts")

    def begin(self) -> None:
        """Open the job the example is walked in."""
        given = {k: str(v) for k, v in self.answers.given.items() if k in self.linked.procedure.takes}
        facts = {name: self.answers.fact(name) for name in self.linked.needed_facts()}
        self.act(acts.Open("rehearsal", "rehearsal", self.linked.text, facts, given))

    def answer(self, here: Now) -> acts.Act:
        """The act the example answers with."""
        visit = here.visit.number if here.visit else 0
        path = here.visit.path if here.visit else ""
        if here.step is not None and here.kind not in ("recheck",):
            struck = self._strikes(path, here.step.step, visit)
            if struck is not None:
                return struck
        match here.kind:
            case "ready":
                return acts.Ready()
            case "fact":
                return acts.GiveFact(here.name, self.answers.fact(here.name))
            case "hazard":
                return acts.Acknowledge()
            case "do" | "way" | "each":
                return acts.Done()
            case "choose":
                assert here.step is not None and here.step.choose is not None
                return acts.ChooseWay(self.answers.reading(path, here.step.choose.as_, visit, None))
            case "reading":
                typed = self.answers.reading(path, here.name, visit, here.place)
                return acts.LeaveOut() if typed == MISSING else acts.Record(typed, sure=True)
            case "wait":
                return self._wait(here)
            case "hold":
                return self._look(here)
            case "problem":
                return acts.SettleProblem("settled in the rehearsal")
            case _:
                raise Stuck("no branch fits here" if here.kind == "stuck" else f"the walk stands at '{here.kind}'")

    def _strikes(self, path: str, step: str, visit: int) -> acts.Act | None:
        """An event, a problem or a skip that the example has at this visit, once."""
        stated = self.answers.fires(path, step, visit)
        if not isinstance(stated, dict):
            return None
        key = f"struck {path}/{step} at {visit}"
        if key in self.counted:
            return None
        if "event" in stated:
            self.counted.add(key)
            return acts.Happens(str(stated["event"]))
        if "problem" in stated:
            self.counted.add(key)
            return acts.Problem(str(stated["problem"]))
        if "skipped" in stated:
            self.counted.add(key)
            return acts.Skip(str(stated["skipped"]), self.sign)
        return None

    def _wait(self, here: Now) -> acts.Act:
        assert here.visit is not None and here.step is not None and here.visit.until is not None
        stated = self.answers.act(here.visit.path, here.step.step, here.visit.number)
        until = parse_time(here.visit.until)
        if isinstance(stated, dict) and "after" in stated:
            length = quantity_or_none(str(stated["after"]), "min")
            if length is None:
                raise Unstated(f"'{stated['after']}' is not a time")
            start = until - timedelta(minutes=float(_length(here.step.wait.for_ if here.step.wait else "")))
            self.time = max(self.time, start + timedelta(minutes=float(length.value)))
        else:
            self.time = max(self.time, until)
        return acts.Waited()

    def _look(self, here: Now) -> acts.Act:
        assert here.visit is not None and here.step is not None
        stated = self.answers.act(here.visit.path, here.step.step, here.visit.number)
        sign = self.sign
        if stated == "released":
            return acts.Release(sign)
        if isinstance(stated, dict) and "refused" in stated:
            return acts.Refuse(sign, str(stated["refused"]))
        if isinstance(stated, str) and stated.startswith("refused"):
            return acts.Refuse(sign, stated.removeprefix("refused").removeprefix(" for ").strip())
        raise Unstated(f"nothing is said of the look at '{here.step.step}': released, refused, or refused for ...")

    def visits(self) -> list[str]:
        """The steps visited, in order, as `step` or `run/step`."""
        return [f"{v.path}/{v.step}" if v.path else v.step for v in self.state.visits]

    def where(self) -> str:
        """Where the walk stands, for a sentence."""
        visits = self.visits()
        return f"at {visits[-1]} (stop {len(visits)})" if visits else "before the first step"

    def differs(self) -> str | None:
        """How the walk differs from what the example says of it; None where it goes as said."""
        outcome = self.state.ended["outcome"] if self.state.ended else None
        if outcome != self.example.ends:
            return f"it ends {outcome}, and the example says {self.example.ends}"
        visits = iter(self.visits())
        for step in self.example.passes:
            if step not in visits:
                return f"it does not pass {step} where the example says so; it went {', '.join(self.visits())}"
        if self.example.finds is not None:
            found = {f.finding for f in self.state.found if self.state.live(f.visit, f.n)}
            if found != set(self.example.finds):
                return f"it finds {_words(found)}, and the example says {_words(set(self.example.finds))}"
        return None


def _length(text: str) -> Any:
    quantity = quantity_or_none(text, "min")
    return quantity.value if quantity else 0


def _words(names: set[str]) -> str:
    return ", ".join(sorted(names)) if names else "nothing"


def readings_data(state: State) -> dict[str, list[dict[str, Any]]]:
    """Every reading by its full name, visit by visit, as JSON states it."""
    found: dict[str, list[dict[str, Any]]] = {}
    for (_run, name), entries in state.readings.items():
        for entry in entries:
            if not state.live(entry.visit, entry.n):
                continue
            rounds = found.setdefault(full(state.visits[entry.visit - 1].path, name), [])
            good = None if entry.verdict is None else entry.verdict == "within"
            value = {"typed": entry.typed, "value": entry.value, "unit": entry.unit, "in_tolerance": good}
            if entry.place is None:
                rounds.append({"visit": entry.visit, **value, "places": []})
                continue
            if not rounds or rounds[-1]["visit"] != entry.visit:
                empty = {"typed": None, "value": None, "unit": entry.unit, "in_tolerance": None}
                rounds.append({"visit": entry.visit, **empty, "places": []})
            place = {key: value[key] for key in ("typed", "value", "in_tolerance")}
            rounds[-1]["places"].append({"place": entry.place, **place})
            goods = [p["in_tolerance"] for p in rounds[-1]["places"] if p["in_tolerance"] is not None]
            rounds[-1]["in_tolerance"] = all(goods) if goods else None
    return found
