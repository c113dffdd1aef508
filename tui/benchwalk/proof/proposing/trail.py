"""A walk that can be taken back to an earlier stop and gone on from there with other answers."""

from __future__ import annotations

import copy
from collections.abc import Callable, Collection
from dataclasses import replace
from datetime import datetime
from typing import Any, NamedTuple

from ...errors import Misread, Refused
from ...procedure.linked import Linked
from ...procedure.model import Example, Usual
from ...procedure.variables import FROM_A_SUM
from ...walk import acts
from ...walk.desk import Compute
from ...walk.events import Event
from ...walk.phase import Now, now
from ...walk.state import State, Visit
from ...walk.view import View
from ..answers import MISSING, Unstated, full
from ..rehearse import Player
from .script import Round, Script, Scripted, Value, step_name, usual_take, usual_value

MOST_VISITS = 400
"""Stops after which a walk is given up: nobody would want it for an example."""

ENDED, STUCK, BROKEN, STOPPED = "ended", "stuck", "broken", "stopped"

AT_AN_END = frozenset(("ended", "account", "sign-again", "released"))
"""What a walk that is over waits for."""


class Mark(NamedTuple):
    """The walk just before the first act at a stop; `visits` stops had been entered by then."""

    visits: int
    state: State
    time: datetime
    counted: frozenset[str]
    asked: dict[str, int]
    acted: dict[Round, Any]
    events: int
    said: int


class Said(NamedTuple):
    """What was typed for a reading, or the way chosen: its full name, the round, the place if it has any."""

    name: str
    round: int
    place: str | None
    text: str


class Trail(Player):
    """A walk by a script. `said` is what was typed, in order; `seen` how many events were looked at."""

    answers: Scripted

    def __init__(self, linked: Linked, compute: Compute, script: Script) -> None:
        super().__init__(linked, Example.of({"example": "proposed"}), compute)
        self.marks: list[Mark] = []
        self.said: list[Said] = []
        self.seen = 0
        self._answer_by(script, {}, {})

    def _answer_by(self, script: Script, asked: dict[str, int], acted: dict[Round, Any]) -> None:
        self.script = script
        answers = Scripted.of(self.linked, Usual.of({}))
        assert isinstance(answers, Scripted)
        self.answers = answers
        self.answers.script, self.answers.asked, self.answers.acted = script, asked, acted
        for take in self.linked.procedure.takes:
            if take in script.takes or take not in self.answers.given:
                self.answers.given[take] = script.takes.get(take) or usual_take(self.linked, take)

    def taken_back(self, visit: int, change: Script, dropped: Collection[Round] = ()) -> Trail:
        """The walk as it was before that stop (0: before it began), answered from there on with this change too;
        without the aims for the runs that are `dropped`."""
        script = change.over(self.script)
        if dropped:
            script = replace(script, outcomes={k: v for k, v in script.outcomes.items() if k not in dropped})
        kept = [mark for mark in self.marks if mark.visits < visit]
        if not kept:
            return Trail(self.linked, self.compute, script)
        mark = kept.pop()
        back = copy.copy(self)
        back.marks = kept
        back.state, back.time, back.counted = mark.state, mark.time, set(mark.counted)
        back.events, back.said, back.seen = self.events[: mark.events], self.said[: mark.said], mark.events
        back._answer_by(script, dict(mark.asked), dict(mark.acted))
        return back

    def forked(self, change: Script) -> Trail:
        """The same walk, to be gone on with by answers of its own."""
        fork = copy.copy(self)
        fork.marks, fork.counted, fork.seen = [], set(self.counted), len(self.events)
        fork.events, fork.said = list(self.events), list(self.said)
        fork._answer_by(change.over(self.script), dict(self.answers.asked), dict(self.answers.acted))
        return fork

    def again(self) -> Trail:
        """The same walk, looked at from its beginning."""
        same = copy.copy(self)
        same.seen = 0
        return same

    def walk(self, stop: Callable[[Event], bool]) -> str:
        """Go on until `stop` says so of an event (the next walk goes on after it), or the walk is at an end, stands
        where no branch fits, or does not get any further."""
        try:
            while True:
                while self.seen < len(self.events):
                    self.seen += 1
                    if stop(self.events[self.seen - 1]):
                        return STOPPED
                if not self.state.job:
                    self.begin()
                    continue
                here = now(self.state, self.bench)
                if here.kind in AT_AN_END:
                    return ENDED
                if here.kind == "stuck":
                    return STUCK
                if len(self.state.visits) > MOST_VISITS:
                    return BROKEN
                self._mark()
                self.act(self.answer(here))
        except (Refused, Misread):
            return BROKEN

    def _mark(self) -> None:
        visits = len(self.state.visits)
        if not self.state.frames or (self.marks and self.marks[-1].visits >= visits):
            return
        told = dict(self.answers.asked), dict(self.answers.acted)
        counted = frozenset(self.counted)
        self.marks.append(Mark(visits, self.state, self.time, counted, *told, len(self.events), len(self.said)))

    def answer(self, here: Now) -> acts.Act:
        try:
            act = super().answer(here)
        except Unstated:
            act = self._unsaid(here)
        if here.visit is not None and here.step is not None:
            name = here.step.choose.as_ if here.kind == "choose" and here.step.choose else here.name
            key = full(here.visit.path, name)
            if isinstance(act, acts.Record | acts.LeaveOut | acts.ChooseWay):
                number = self.answers.round_of(key, here.visit.number)
                text = act.typed if isinstance(act, acts.Record) else act.way if isinstance(act, acts.ChooseWay) else ""
                self.said.append(Said(key, number, here.place, text or MISSING))
        return act

    def _unsaid(self, here: Now) -> acts.Act:
        """The answer where neither the script nor anything usual says one."""
        if here.visit is not None and here.step is not None and here.linked is not None:
            if here.kind == "hold":
                asked = self.answers.asked_in(f"act {here.visit.path}/{here.step.step}", here.visit.number)
                self.answers.acted[step_name(here.visit.path, here.step.step), asked or 0] = "released"
                return acts.Release(self.sign)
            if here.step.choose is not None and here.kind == "choose":
                return acts.ChooseWay(here.step.choose.ways[0].way)
            if here.kind == "reading":
                variable, wanted = here.linked.variables[here.name], here.linked.wanted.get(here.name)
                if variable.wanted == FROM_A_SUM:
                    found = self.view(here.visit).range(here.linked.wanted_from[here.name])
                    wanted = found[0] if found else None
                return acts.Record(usual_value(variable, wanted), sure=True)
        raise Unstated(f"nothing is said where the walk stands at '{here.kind}'")

    # what was walked

    def book(self, visit: Visit) -> Linked:
        """The procedure that visit stands in."""
        return self.books[visit.text]

    def view(self, visit: Visit, upto: int | None = None) -> View:
        """What the procedure of a visit sees, now or as of an event."""
        return View(self.state, self.book(visit), visit.run, visit=visit.number, upto=upto)

    def run_round(self, run: int) -> Round:
        """The path of a run, and how many there were at that path before it."""
        path = self.state.begun[run].path
        return path, sum(1 for other in self.state.begun.values() if other.path == path and other.run < run)

    def counts(self, run: int, before: bool = False) -> dict[str, int]:
        """How often steps were entered and bounded ways taken in a run, as of the event last looked at (or `before`
        it)."""
        found = {name: count for (number, name), count in self.state.counts.items() if number == run}
        for event in self.events[self.seen - before :]:
            if event["what"] == "entered" and event["run"] == run:
                found[f"entered:{event['step']}"] -= 1
            elif event["what"] == "took" and event["at_most"] is not None and not event["then"]:
                visit = self.state.visits[event["visit"] - 1]
                if visit.run == run:
                    found[f"{visit.step}:{event['line']}"] -= 1
        return found

    def typed_by_round(self) -> dict[str, list[Value]]:
        """What was typed for each reading, round by round; where it has places, by place."""
        found: dict[str, list[Value]] = {}
        for name, number, place, text in self.said:
            rounds = found.setdefault(name, [])
            if len(rounds) == number:
                rounds.append(text if place is None else {})
            told = rounds[number]
            if place is not None and isinstance(told, dict):
                told[place] = text
        return found
