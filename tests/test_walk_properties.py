"""Any acts in any order: what must hold of a walk whatever anybody does, tried on small procedures and the flagship.

Each case is a list of numbers; every number becomes an act that fits the moment (mostly) or one that does not.
"""

from __future__ import annotations

import copy
import random
from collections.abc import Iterator
from datetime import timedelta
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchwalk.procedure.linked import Linked
from benchwalk.procedure.model import Reading
from benchwalk.quantities import decimal_text
from benchwalk.walk import acts
from benchwalk.walk.decide import Decision, decide, proceed
from benchwalk.walk.events import KINDS, Event
from benchwalk.walk.fold import fold, replay
from benchwalk.walk.phase import AUTOMATIC, Now, now, parse_time
from benchwalk.walk.places import STATES, step_states
from benchwalk.walk.state import State
from benchwalk.walk.step_acts import happenings
from walk_helpers import (
    BO,
    GAP,
    INNER,
    OUTER,
    PLAYED,
    REST,
    RODS,
    ROLES,
    SNIP,
    Walk,
    linked,
    name_of,
    procedure,
    shipped,
)

CASES = st.lists(st.integers(0, 2**24), min_size=30, max_size=70)
PEOPLE = ("ann", "bo", "cy", "dot")


class Chance:
    """One number of a case, taken apart into small choices."""

    def __init__(self, number: int) -> None:
        self.rest = number

    def below(self, count: int) -> int:
        """A choice out of so many."""
        self.rest, chosen = divmod(self.rest, count)
        return chosen

    def of(self, things: Any) -> Any:
        """One of the things."""
        listed = list(things)
        return listed[self.below(len(listed))]


class Wanderer(Walk):
    """A walk on which everything that must hold is looked at after every act."""

    def __init__(self, book: Linked, kind: str) -> None:
        super().__init__(book, kind)
        self.acts: list[int] = []
        """How many events there were after each act."""

    def take(self, decision: Decision) -> None:
        """Take the events in, and hold them against everything that must be so."""
        before, n = self.state, len(self.events)
        sent = copy.deepcopy(before)
        after = before
        for event in decision.events:
            self.count(event)
            self.look_at_holds(event, after)
            if event["what"] == "job_released":
                assert after.stale() == [] and after.ended and after.unsettled == []
            after = fold(after, event)
        assert before == sent, "folding changed the state before"
        assert after == decision.state
        self.events += decision.events
        self.state = decision.state
        assert [e["n"] for e in self.events[n:]] == list(range(n + 1, len(self.events) + 1))
        assert self.state.n == len(self.events)
        if decision.events:
            self.acts.append(len(self.events))
        if self.state.job:
            self.look_at_steps()
            assert self.now().kind not in AUTOMATIC

    # --- what must hold ---

    def count(self, event: Event) -> None:
        """No count is ever above its bound."""
        if event.get("at_most") is not None:
            assert 1 <= event["count"] <= event["at_most"]
        if event["what"] == "entered":
            step = self.books[event["text"]].steps[event["step"]]
            if step.entered is not None:
                assert event["pass"] <= step.entered.at_most

    def look_at_holds(self, event: Event, before: State) -> None:
        """A step with a hold is left by a branch or its end only after somebody else looked, or it was not needed."""
        if event["what"] in ("took", "ended", "overruled"):
            visit = before.visits[event["visit"] - 1]
            step = self.books[visit.text].steps[visit.step]
            if step.hold is not None:
                looks = [e for e in self.all(event) if e.get("visit") == visit.number and e["what"] in LOOKS]
                assert looks, "nobody looked"
                assert event["what"] == "took" or looks[-1]["what"] != "refused"
        if event["what"] == "released" and event["sign"]["how"] == "pin":
            who = event["sign"]["who"]
            visit = before.visits[event["visit"] - 1]
            hold = self.books[visit.text].steps[visit.step].hold
            assert hold is not None and hold.by in ROLES[who]
            assert who != before.person
            assert who not in {before.entries[n].who for n in event["covers"]}
        if event["what"] in ("released", "refused", "accepted", "overruled", "job_released"):
            assert self.kind != "customer" or event["sign"]["how"] == "pin"

    def all(self, upto: Event) -> Iterator[Event]:
        """Every event before one, the act's own included."""
        yield from self.events
        for event in self.coming:
            if event is upto:
                return
            yield event

    coming: tuple[Event, ...] = ()

    def decide(self, act: acts.Act, who: str | None = None) -> Decision:
        """Do an act, whatever comes of it; nothing but a decision may come of it."""
        sent = copy.deepcopy(self.state)
        decision = decide(self.state, act, who or self.state.person or self.who, self.bench)
        assert self.state == sent, "deciding changed the state"
        assert decision.refusal or decision.events
        assert not decision.question or not decision.events
        if decision.refusal:
            assert decision.refusal.strip() == decision.refusal != ""
            assert {e["what"] for e in decision.events} <= {"turned_away"}
        if isinstance(act, acts.ReleaseJob) and (self.state.stale() or self.state.unsettled):
            assert decision.refusal
        self.coming = decision.events
        self.take(decision)
        return decision

    def look_at_steps(self) -> None:
        """Every step is in one state of the closed set, and the states agree with what the log says of the stops."""
        states = step_states(self.state, self.bench)
        assert set(states.values()) <= set(STATES)
        entered: dict[str, list[int]] = {}
        struck: set[int] = set()
        for event in self.events:
            if event["what"] == "entered":
                name = f"{event['path']}/{event['step']}" if event["path"] else event["step"]
                entered.setdefault(name, []).append(event["visit"])
            elif event["what"] == "went_back":
                struck |= set(event["struck"])
            elif event["what"] == "overruled" and event["undoes"]:
                struck |= {v for many in entered.values() for v in many if v > event["visit"]}
        unseen = {name for name, word in states.items() if word in ("not started", "not on the way")}
        assert unseen == states.keys() - entered.keys()
        gone = {name for name, word in states.items() if word == "gone back over"}
        assert gone == {name for name, visits in entered.items() if set(visits) <= struck}
        here = [name for name, word in states.items() if word in ("current", "held")]
        walking = bool(self.state.frames) and not self.state.ended
        assert here == ([name_of(self.state.visits[self.state.visit - 1])] if walking else [])
        callers = {name_of(self.state.visits[f.caller - 1]) for f in self.state.frames[1:]}
        assert {name for name, word in states.items() if word == "under way"} == callers - set(here)

    def look_at_values(self) -> None:
        """Of every reading all values that it ever had can be had again, in order."""
        had: dict[int, list[str]] = {}
        for event in self.events:
            if event["what"] in ("read", "fact"):
                had[event["n"]] = [event["typed"]]
            elif event["what"] == "left_out":
                had[event["n"]] = [""]
            elif event["what"] == "chose":
                had[event["n"]] = [event["say"]]
            elif event["what"] == "corrected":
                had[event["of"]].append(event["typed"])
        kept = {n: [*(typed for typed, _v, _n in e.before), e.typed] for n, e in self.state.entries.items()}
        assert kept == had

    # --- what is done ---

    def wander(self, numbers: list[int]) -> None:
        """One act for each number."""
        drum = {"rods": "4", "diameter": "14 in"}
        self.decide(acts.Open("J-1", self.kind, self.book.text, drum))
        for number in numbers:
            self.one(Chance(number))
        self.look_at_values()
        assert replay(self.events) == self.state

    def one(self, chance: Chance) -> None:
        """The act that a number means here."""
        kind = chance.below(16)
        here = self.now()
        if kind < 9:
            self.fitting(here, chance)
        elif kind == 9:
            self.decide(acts.GoBack(chance.below(len(self.state.visits) + 2), "again"))
        elif kind == 10:
            entries = list(self.state.entries.values()) or [None]
            entry = chance.of(entries)
            if entry is not None:
                self.decide(
                    acts.Correct(entry.n, self.value_for(entry.n, chance), "misread", sure=chance.below(2) == 1)
                )
        elif kind == 11:
            foreseen = [event.event for _path, event in happenings(self.state, self.bench)] if self.state.frames else []
            self.decide(acts.Happens(chance.of([*foreseen, "flood"])))
        elif kind == 12:
            self.decide(chance.of(STOPS), chance.of((None, None, None, *PEOPLE)))
        elif kind == 13:
            self.decide(chance.of(OTHERS), chance.of((None, *PEOPLE)))
        elif kind == 14:
            lines = len(here.step.lines) if here.step else 1
            visit = chance.of([0, max(0, self.state.visit - 1)])
            self.decide(acts.Overrule(chance.below(lines + 1), "by ear", self.sign(chance), visit))
        else:
            self.time += timedelta(minutes=chance.of([1, 12, 35, 150, -40]))

    def fitting(self, here: Now, chance: Chance) -> None:
        """The act that is asked for, with one of the values it may have."""
        who = None
        act: acts.Act
        match here.kind:
            case "ready":
                act = acts.Ready()
            case "fact":
                act = acts.GiveFact(here.name, chance.of(["4", "5", "6"]))
            case "recheck":
                act = acts.CheckPlace()
            case "paused":
                act, who = acts.Resume(), chance.of(PEOPLE)
            case "handover":
                act, who = acts.TakeOn(), here.name
            case "problem":
                act = acts.SettleProblem("mended")
            case "diverged":
                stop = self.state.leads_elsewhere()
                assert stop is not None
                way = chance.below(2)
                act = acts.Accept("fine", self.sign(chance)) if way else acts.GoBack(stop.number, "again")
            case "hazard":
                act = acts.Acknowledge()
            case "do" | "way" | "each":
                act = chance.of([acts.Done(), acts.Done(), acts.Done(), acts.NotYet()])
            case "choose":
                assert here.step is not None and here.step.choose is not None
                act = acts.ChooseWay(chance.of([w.way for w in here.step.choose.ways]))
            case "reading":
                typed = self.good(here) if chance.below(3) else ""
                typed = typed or value_of(here.reading, chance)
                left = here.reading.optional is not None and chance.below(3) == 0
                act = acts.LeaveOut() if left else acts.Record(typed, sure=chance.below(4) > 0)
            case "wait":
                assert here.visit is not None and here.visit.until is not None
                self.time = max(self.time, parse_time(here.visit.until)) + timedelta(minutes=chance.of([0, 100]))
                act = acts.Skip("no time", self.sign(chance)) if chance.below(3) == 0 else acts.Waited()
            case "hold":
                assert here.step is not None and here.step.hold is not None
                reasons = list(here.step.hold.refused_for) or [""]
                sign = self.sign(chance)
                act = acts.Refuse(sign, chance.of(reasons)) if chance.below(3) == 0 else acts.Release(sign)
            case "stuck":
                assert here.step is not None
                act = acts.Overrule(chance.below(len(here.step.lines)), "by ear", self.sign(chance))
            case "sign-again":
                act = acts.SignAgain(self.state.open_signs()[0].n, self.sign(chance))
            case "account":
                act = acts.Account()
            case _:
                back = acts.GoBack(1 + chance.below(max(1, self.state.visit)), "once more")
                act = acts.ReleaseJob(self.sign(chance)) if chance.below(8) == 0 else back
        self.decide(act, who)

    def good(self, here: Now) -> str:
        """A value that leads deeper into the procedure; nothing where none is known."""
        return GOOD.get(here.name, "")

    def sign(self, chance: Chance) -> acts.Sign:
        """Mostly a sign-off that is good here."""
        good = [BO, acts.Sign("dot", "pin")] if self.kind == "customer" else [PLAYED, BO]
        return chance.of([*good, *good, acts.Sign("cy", "pin"), acts.Sign("zed", "pin")])  # type: ignore[no-any-return]

    def value_for(self, n: int, chance: Chance) -> str:
        """A value to correct an entry to."""
        entry = self.state.entries[n]
        if entry.visit == 0:
            return str(chance.of(["4", "6", "13 in"]))
        reading = self.books[self.state.visits[entry.visit - 1].text].procedure.readings.get(entry.name)
        return value_of(reading, chance) if reading is not None else "short"


LOOKS = ("released", "refused", "not_needed")
STOPS = (
    acts.Pause("so it stands"),
    acts.Pause(),
    acts.Resume(),
    acts.HandOver("cy", "so it stands"),
    acts.HandOver("bo", "so it stands"),
    acts.TakeOn(),
    acts.Problem("unclear"),
    acts.Note("a note"),
)
OTHERS = (
    acts.Open("J-2", "practice", "x"),
    acts.Ready(),
    acts.GiveFact("rods", "5"),
    acts.Acknowledge(),
    acts.Done(),
    acts.NotYet(),
    acts.ChooseWay("short"),
    acts.Record("4"),
    acts.Record("", late_at="yesterday"),
    acts.Record("3", place="2"),
    acts.LeaveOut(),
    acts.Waited(),
    acts.Waited(early="no time"),
    acts.Release(BO),
    acts.Release(PLAYED, "neat"),
    acts.Refuse(PLAYED, "temp"),
    acts.SignAgain(7, BO),
    acts.Skip("no time", BO),
    acts.Skip("no time", PLAYED),
    acts.Accept("fine", BO),
    acts.CheckPlace(),
    acts.SettleProblem("mended"),
    acts.Account(),
    acts.ReleaseJob(BO),
    acts.ReleaseJob(PLAYED),
)


GOOD = {
    "clear": "340",
    "long": "332",
    "gap": "4",
    "grip": "holds",
    "sound": "clean",
    "note": "220",
    "temp": "20",
    "runs": "free",
    "edge": "smooth",
}
"""Values that lead deeper into the small procedures."""


def value_of(reading: Reading, chance: Chance) -> str:
    """Some value of a reading: a choice, or a number over all that is possible and a little beyond."""
    if reading.choices:
        return str(chance.of(reading.choices))
    if reading.sort in ("words", "picture", "sound"):
        return "on paper, no. 3"
    low, _, high = (reading.possible or "0 .. 100").partition(" .. ")
    if not high:
        return "5"
    step = (Fraction(high.split()[0]) - Fraction(low.split()[0])) / 12
    value = Fraction(low.split()[0]) + step * (chance.below(14) - (1 if chance.below(8) == 0 else 0))
    return decimal_text(Fraction(round(value)) if reading.sort == "whole" else Fraction(round(value * 10), 10))


NESTED = procedure(
    """
readings:
  knot: {ask: The knot, choices: {tight: tight, loose: loose}, wanted: tight}
whenever:
  - {event: drop, say: It drops, during: everywhere, go: put-aside, at_most: 2, then: put-aside}
  - event: strand-bends
    say: A strand bends
    during: everywhere
    run: {procedure: snip-strand, as: cut}
    then_back: true
steps:
  - step: both
    run: {procedure: tie-both, as: tied}
    each: [butt, strainer]
    record: [knot]
    branches:
      - {when: tied.outcome is done and knot is tight, because: Tied, go: finish}
      - {when: not (tied.outcome is done and knot is tight), because: Not tied, go: both, at_most: 3, then: put-aside}
  - step: finish
    end: done
  - step: put-aside
    do: Put it aside.
    end: stopped
""",
    id="tie-and-look",
)
"""A run inside a run inside a run, with events foreseen on every level, and work at the caller's step after it."""

BOOKS = {
    "gap": lambda: linked(GAP),
    "runs": lambda: linked(OUTER, INNER, SNIP),
    "nested": lambda: linked(NESTED, OUTER, INNER, SNIP),
    "rods": lambda: linked(RODS),
    "rest": lambda: linked(REST),
}


@pytest.mark.parametrize("kind", ["practice", "customer"])
@pytest.mark.parametrize("which", BOOKS)
@settings(max_examples=8)
@given(numbers=CASES)
def test_whatever_is_done_the_walk_keeps_its_word(which: str, kind: str, numbers: list[int]) -> None:
    """`decide` never fails and changes nothing it is given, folding is pure, numbers follow, counts keep their bounds,
    no hold is passed without a look, every step is in one state, no value is lost, nothing stale is released."""
    Wanderer(BOOKS[which](), kind).wander(numbers)


@pytest.mark.heavy
@pytest.mark.parametrize("kind", ["practice", "customer"])
@pytest.mark.parametrize("which", BOOKS)
@settings(max_examples=80)
@given(numbers=CASES)
def test_whatever_is_done_the_walk_keeps_its_word_at_length(which: str, kind: str, numbers: list[int]) -> None:
    """The same for many more."""
    Wanderer(BOOKS[which](), kind).wander(numbers)


@pytest.mark.parametrize("which", BOOKS)
@settings(max_examples=6)
@given(numbers=CASES)
def test_a_log_cut_anywhere_goes_on_to_where_it_would_have_come(which: str, numbers: list[int]) -> None:
    """Whatever was done, a log cut between any two events goes on by itself exactly as it would have gone on."""
    walk = Wanderer(BOOKS[which](), "practice")
    walk.wander(numbers)
    look_at_every_cut(walk)


def look_at_every_cut(walk: Wanderer) -> None:
    """Cut the log of a walk after each event: what then happens by itself is the rest of the act that was cut."""
    state, end = State(), 0
    for n, event in enumerate(walk.events, 1):
        state = fold(state, event)
        end = end if n <= end else next(mark for mark in walk.acts if mark >= n)
        walk.time = parse_time(event["at"])
        decision = proceed(state, event["who"], walk.bench)
        assert decision.refusal is None
        assert now(decision.state, walk.bench).kind not in AUTOMATIC
        rest = walk.events[n:end]
        if rest and (event["what"], rest[0]["what"]) in TWO_OF_ONE_ACT:
            assert decision.events == (), "the other half is the person's to do again"
        else:
            assert list(decision.events) == rest


TWO_OF_ONE_ACT = {
    *(("done", "read"), ("done", "left_out"), ("noted", "released")),
    *(("worded", "done"), ("worded", "confirmed")),
}
"""Pairs of events that one act writes itself: cut between them, the second is asked for as if the first stood alone."""


class Retie(Wanderer):
    """The flagship: straight on with its usual values for a while, then anything."""

    def good(self, here: Now) -> str:
        """The usual value, of the job's own procedure or of the one that is run."""
        assert here.linked is not None
        for book in (self.book, here.linked):
            said = book.procedure.usual.given.get(here.name)
            if said is not None:
                return str(said)
        return ""

    def straight(self, count: int) -> None:
        """So many fitting acts, all usual."""
        for _ in range(count):
            here = self.now()
            if here.kind in ("ended", "account", "released"):
                return
            if here.kind == "reading":
                self.decide(acts.Record(self.good(here), sure=True))
            elif here.kind == "choose":
                assert here.step is not None and here.step.choose is not None
                self.decide(acts.ChooseWay(here.step.choose.ways[0].way))
            elif here.kind == "wait":
                assert here.visit is not None and here.visit.until is not None
                self.time = max(self.time, parse_time(here.visit.until))
                self.decide(acts.Waited())
            elif here.kind == "hold":
                self.decide(acts.Release(self.sign(Chance(0))))
            else:
                self.decide({"ready": acts.Ready(), "hazard": acts.Acknowledge()}.get(here.kind, acts.Done()))


@pytest.mark.parametrize("kind", ["practice", "customer"])
@settings(max_examples=5)
@given(count=st.integers(0, 160), numbers=st.lists(st.integers(0, 2**24), min_size=10, max_size=25))
def test_the_flagship_keeps_its_word_too(kind: str, count: int, numbers: list[int]) -> None:
    """The re-tie, walked to anywhere and then treated like the small procedures, keeps every promise, cut anywhere."""
    walk = Retie(shipped("retie-snare-cords"), kind)
    walk.decide(acts.Open("J-1", kind, walk.book.text, {"diameter": "14 in"}))
    walk.straight(count)
    for number in numbers:
        walk.one(Chance(number))
    walk.look_at_values()
    assert replay(walk.events) == walk.state
    look_at_every_cut(walk)


# --- branches against an evaluation of our own ---------------------------------------------------------------------

JUDGED = procedure(
    """
readings:
  gap: {ask: Gap, unit: mm, possible: 0 .. 20, optional: {because: it may be}}
  far: {ask: Far gap, unit: mm, possible: 0 .. 20}
  lie: {ask: Lie, choices: {all: all, some: some, none: none}}
  edge: {ask: Edge, choices: {smooth: smooth, rough: rough}, per: [butt, strainer]}
sums:
  apart: {use: difference, with: {a: gap, b: far}}
steps:
  - step: measure
    record: [gap, far, lie, edge]
    work_out: [apart]
    first_of:
      - {when: gap is missing, because: None, go: second}
      - {when: apart.by > 5 mm, because: Apart, go: second}
      - {when: 3 mm <= gap < 1/4 in and lie is not none, because: Good, go: second}
      - {when: lie is some or (lie is none and gap >= 10 mm), because: Lifts, go: second}
      - {when: otherwise, because: Else, go: second}
  - step: second
    first_of:
      - {when: not (gap > 3 mm), because: Small, go: third}
      - {when: gap is missing, because: None, go: third}
      - {when: otherwise, because: Else, go: third}
  - step: third
    branches:
      - {when: all edge is smooth, because: Smooth, go: finish}
      - {when: edge at butt is rough and edge at strainer is rough, because: Rough, go: finish}
      - {when: any edge is rough and any edge is smooth, because: Mixed, go: finish}
  - step: finish
    do: Sweep.
    end: done
"""
)


def judged(gap: Fraction | None, far: Fraction, lie: str, butt: str, strainer: str) -> list[int]:
    """Which lines fit, worked out in plain Python from what the file says in words."""
    if gap is None:
        first, second = 0, 1
    else:
        second = 0 if gap <= 3 else 2
        if abs(gap - far) > 5:
            first = 1
        elif Fraction(3) <= gap < Fraction(635, 100) and lie in ("all", "some"):
            first = 2
        elif lie == "some" or (lie == "none" and gap >= 10):
            first = 3
        else:
            first = 4
    rough = (butt, strainer).count("rough")
    return [first, second, {0: 0, 2: 1, 1: 2}[rough]]


GAPS = [None, "0", "2.9", "3", "3.01", "6.34", "1/4 in", "6.36", "9.99", "10", "20"]


@pytest.mark.parametrize("typed", GAPS)
def test_every_branch_is_the_one_an_evaluation_of_our_own_takes(typed: str | None) -> None:
    """For every combination of values the walk takes, step by step, the line that plain Python finds."""
    value = None if typed is None else Fraction(635, 100) if "in" in typed else Fraction(typed)
    for far in ("0", "5", "8", "15"):
        for lie in ("all", "some", "none"):
            for butt, strainer in (("smooth", "smooth"), ("smooth", "rough"), ("rough", "smooth"), ("rough", "rough")):
                walk = Walk(linked(JUDGED)).begin()
                walk.on("finish", gap=typed, far=far, lie=lie, edge={"butt": butt, "strainer": strainer})
                lines = [took.line for took in walk.state.took]
                assert lines == judged(value, Fraction(far), lie, butt, strainer), (far, lie, butt, strainer)


class Judge(Wanderer):
    """GAP, whose every way is held against what its readings say now."""

    def take(self, decision: Decision) -> None:
        """After every act each way that stands is the one its values lead to, as they are corrected by then."""
        super().take(decision)
        state = self.state
        if state.diverged is not None or state.unsettled:
            return
        for took in state.took:
            if took.state != "ok" or took.line is None or not state.live(took.visit, took.n):
                continue
            values = [e.value for e in state.entries.values() if e.visit == took.visit]
            assert len(values) == 1 and values[0] is not None
            step = state.visits[took.visit - 1].step
            good = Fraction(3) <= Fraction(values[0]) <= Fraction(6) if step == "measure" else values[0] == "all"
            assert took.line == (0 if good else 1)


@settings(max_examples=15)
@given(numbers=CASES)
def test_every_way_that_stands_is_the_one_its_values_lead_to(numbers: list[int]) -> None:
    """However much is corrected and gone back over: a way that is neither stopped nor accepted by hand agrees with
    the values it rests on."""
    Judge(linked(GAP), "practice").wander(numbers)


def test_wandering_comes_everywhere() -> None:
    """The acts drawn above do reach what they are to try: between them they produce nearly every kind of event."""
    produced: set[str] = set()
    for which in BOOKS:
        draw = random.Random(which)
        for _ in range(8):
            walk = Wanderer(BOOKS[which](), "practice")
            walk.wander([draw.randrange(2**24) for _ in range(60)])
            produced |= {event["what"] for event in walk.events}
    rare = {"voided", "rejudged", "not_needed", "accepted", "problem_settled", "given_again", "worded"}
    rare |= {"lock_taken_over", "owner_removed"}
    assert KINDS.keys() - rare <= produced
