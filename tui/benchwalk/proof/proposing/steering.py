"""Leading a walk to where it is wanted: walk, and wherever it leaves the way there, say something else and walk on."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from itertools import islice
from math import inf

from ...procedure.linked import quantity_or_none
from ...walk.events import Event
from ...walk.state import Visit
from ..answers import full
from .fitting import changes
from .heading import END, GO, LATE, SKIP, Heading, Leaving, Want
from .script import Round, Script, step_name
from .spot import Spot
from .telling import Change, act_round, skipping
from .trail import ENDED, STOPPED, STUCK, Trail

MOST_REPAIRS = 40
"""Most changes on the way to one aim."""
MOST_TRIED = 60
"""Most changes that are tried at one stop."""
MOST_SHUT = 12
"""Most ways that are given up on the way to one aim."""

Reached = Callable[[Trail], bool]
Usual = Mapping[str, Collection[Leaving]]
"""How a walk by usual answers leaves the steps, by the text of the procedure."""


class Lost(Exception):
    """Nothing was found that leads on."""


class Steering:
    """One attempt: from the beginning of `start` by `heading` to where `reached` says so, then on to any end."""

    def __init__(self, start: Trail, heading: Heading, reached: Reached, usual: Usual) -> None:
        self.start = self.trail = start.again()
        self.heading, self.reached, self.usual = heading, reached, usual
        self.at = 0  # the stop at which it was reached; 0: not yet
        self.ending: Heading | None = None
        self.inner: dict[tuple[str, str], Heading] = {}
        self.failed: set[tuple[Round, str]] = set()
        self.repairs = self.shut = 0
        self._off: tuple[Visit, Want | None, int] | None = None

    def steer(self) -> Trail:
        """The walk to its end; Lost where none was found."""
        while True:
            how = self.trail.walk(self._stops)
            if how == STOPPED:
                if self._off is not None:
                    self._mend(*self._off)
            elif how == ENDED and self.at:
                return self.trail
            elif how != ENDED and self.at and self.ending is None:
                self._end_soon()
            elif how == STUCK and (visit := self.trail.state.here()) is not None:
                self._mend(visit, None, self.trail.state.n)
            else:
                raise Lost

    def _end_soon(self) -> None:
        """The walk does not come to an end by itself: lead it to the nearest."""
        linked = self.trail.linked
        ends = {name: END for name, step in linked.steps.items() if step.end}
        self.ending = Heading(linked, ends, self.usual.get(linked.text, ()))
        self.trail = self.trail.taken_back(self.at + 1, Script())

    # where it leaves the way

    def _stops(self, event: Event) -> bool:
        self._off = None
        if not self.at and self.reached(self.trail):
            self.at = event.get("visit") or 1
            return True
        if event["what"] not in ("took", "late", "ended"):
            return False
        visit = self.trail.state.visits[event["visit"] - 1]
        heading = self._heading(visit)
        if heading is None or (visit.path == "" and visit.number <= self.at):
            return False
        far, want = self._best(heading, visit, before=True)
        if event["what"] == "ended":
            fine = want is None or not _strikes(want)
        else:
            there, taken = heading.far_from(event["go"], self.trail.counts(visit.run)), _taken(self.trail, visit, event)
            fine = want == taken
            if want is not None and not fine and not _strikes(want):  # one that leads no farther is as good
                fine = there < far and (visit.step, taken) not in heading.shut
        self._off = None if fine else (visit, want, event["n"] - 1)
        return not fine

    def _best(self, heading: Heading, visit: Visit, before: bool = False) -> tuple[float, Want | None]:
        counts, struck = self.trail.counts(visit.run, before), self._struck(visit)
        for far, want in heading.options(visit.step, counts, again=struck):
            if far < inf:
                return far, want
        return inf, None

    def _struck(self, visit: Visit) -> bool:
        """Whether an event struck at a stop already; an example has one at a visit."""
        happened = (event for event in self.trail.events[: self.trail.seen] if event["what"] == "happened")
        return any(event["visit"] >= visit.number and event["owner_path"] == visit.path for event in happened)

    def _heading(self, visit: Visit) -> Heading | None:
        """The ways that are to be gone in the procedure of a visit; None where any is good."""
        if visit.path == "":
            return self.ending if self.at else self.heading
        outcome = self.trail.script.outcomes.get(self.trail.run_round(visit.run))
        linked = self.trail.book(visit)
        if outcome is not None and (linked.text, outcome) not in self.inner:
            ends = {name: END for name, step in linked.steps.items() if step.end and step.end.as_ == outcome}
            self.inner[linked.text, outcome] = Heading(linked, ends, self.usual.get(linked.text, ()))
        return None if outcome is None else self.inner[linked.text, outcome]

    # leading it back

    def _mend(self, visit: Visit, want: Want | None, upto: int) -> None:
        """Go on from a stop as is wanted there; where that cannot be, reckon without that way."""
        heading = self._heading(visit)
        self.repairs += 1
        if heading is None or self.repairs > MOST_REPAIRS:
            raise Lost
        want = self._best(heading, visit)[1] if want is None else want
        if want is None:
            self._give_up(visit)
            return
        before = self._went(self.trail, visit)
        for change in islice(self._changes(visit, want, upto), MOST_TRIED):
            if not self.failed.isdisjoint(change.script.outcomes.items()):
                continue
            trail = self.trail.taken_back(change.first, change.script)
            if change.aims or want == SKIP or self._does(trail, visit, want, before):
                self.trail = trail
                return
        self._shut(heading, visit, want)

    def _does(self, trail: Trail, visit: Visit, want: Want, before: object) -> bool:
        """Whether the walk comes to the same stop by the same steps, and leaves it as is wanted."""
        number = visit.number

        def left(event: Event) -> bool:
            what, at = event["what"], event.get("visit", 0)
            if what == "happened":
                return want.kind == "event" and at >= number
            return (
                what == "ended"
                or (at == number and what in ("took", "late"))
                or (what == "entered" and at > number and event["run"] == visit.run)
            )

        if trail.walk(left) != STOPPED or self._went(trail, visit) != before:
            return False
        event = trail.events[trail.seen - 1]
        trail.seen -= 1  # it is looked at again
        if event["what"] == "happened":
            return True
        return event["what"] in ("took", "late") and _taken(trail, trail.state.visits[number - 1], event) == want

    def _went(self, trail: Trail, visit: Visit) -> tuple[list[str], list[tuple[int, int | None]]]:
        """The steps to a stop, and the branches taken as far as where it was wanted: what a change has to leave."""
        took = [(took.visit, took.line) for took in trail.state.took if took.visit <= min(self.at, visit.number - 1)]
        return [stay.step for stay in trail.state.visits[: visit.number]], took

    def _shut(self, heading: Heading, visit: Visit, want: Want) -> None:
        """Nothing makes the walk leave a step as is wanted: go without that way. At the goal: come there by another."""
        self.shut += 1
        if self.shut > MOST_SHUT:
            raise Lost
        if len(heading.goals) > 1 or heading.goals.get(visit.step, GO) != want:
            heading.shut_off(visit.step, want)
            if heading.reaches(visit.step):
                self.trail = self.trail.taken_back(visit.number, Script())
                return
        else:
            came = [t for t in self.trail.state.took if self._led_to(t.visit, visit)]
            if not came:
                self._give_up(visit)
                return
            before = self.trail.state.visits[came[-1].visit - 1]
            heading.shut_off(before.step, _way(self.trail, before, came[-1].line))
        if not heading.reaches(self.trail.book(visit).procedure.steps[0].step):
            self._give_up(visit)
        elif visit.path:
            self.trail = self.trail.taken_back(_caller(visit), Script())
        else:
            self.trail = self.trail.taken_back(self.at + 1, Script()) if self.at else self.start.again()

    def _led_to(self, number: int, visit: Visit) -> bool:
        stay = self.trail.state.visits[number - 1]
        return number < visit.number and stay.run == visit.run

    def _give_up(self, visit: Visit) -> None:
        """No way leads on. In a run: its caller is left in another way."""
        if visit.path == "":
            raise Lost
        run = self.trail.run_round(visit.run)
        self.failed.add((run, self.trail.script.outcomes[run]))
        self.trail = self.trail.taken_back(_caller(visit), Script(), dropped=(run,))

    def _changes(self, visit: Visit, want: Want, upto: int) -> Iterator[Change]:
        """Other answers with which the walk may leave a stop as is wanted."""
        trail, linked, number = self.trail, self.trail.book(visit), visit.number
        step = linked.steps[visit.step]
        at: Round = step_name(visit.path, visit.step), act_round(trail, number)
        if want.kind == "line":
            yield from changes(Spot(trail, visit, upto), want.number)
        elif want.kind == "way" and step.choose:
            name = full(visit.path, step.choose.as_)
            told = {(name, trail.answers.asked_in(name, number) or 0): step.choose.ways[want.number].way}
            yield Change(Script(given=told), number)
        elif want == LATE and step.wait and (latest := quantity_or_none(step.wait.at_latest or "", "min")):
            yield Change(Script(acts={at: {"after": f"{int(latest.value) + 1} min"}}), number)
        elif want == SKIP:
            yield Change(skipping(trail, number), number)
        elif want.kind == "event":
            struck = {"event": linked.procedure.whenever[want.number].event}
            for stay in trail.state.visits[number - 1 :]:
                asked = trail.answers.asked_in(f"act {stay.path}/{stay.step}", stay.number)
                if asked is not None and any(f.run == visit.run and f.step == visit.step for f in stay.frames):
                    yield Change(Script(acts={(step_name(stay.path, stay.step), asked): struck}), number)
                    return


def _caller(visit: Visit) -> int:
    """The stop that runs the procedure in which this stop is."""
    return next(frame.caller for frame in reversed(visit.frames) if frame.run == visit.run)


def _strikes(want: Want) -> bool:
    """Whether a step is left so by what strikes it and not by what is noted there."""
    return want in (SKIP, LATE) or want.kind == "event"


def _taken(trail: Trail, visit: Visit, event: Event) -> Want:
    """How a walk left a stop, by the event that says so."""
    if event["what"] == "late":
        return LATE
    return _way(trail, visit, event["line"])


def _way(trail: Trail, visit: Visit, line: int | None) -> Want:
    if line is not None:
        return Want("line", line)
    step = trail.book(visit).steps[visit.step]
    if step.choose and step.choose.ways[0].go:
        return Want("way", [way.way for way in step.choose.ways].index(visit.way or ""))
    return GO


def usual_ways(trail: Trail) -> dict[str, set[Leaving]]:
    """How a walk left each step of each procedure, by the procedure's text."""
    found: dict[str, set[Leaving]] = {}
    for took in trail.state.took:
        visit = trail.state.visits[took.visit - 1]
        found.setdefault(visit.text, set()).add((visit.step, _way(trail, visit, took.line)))
    return found
