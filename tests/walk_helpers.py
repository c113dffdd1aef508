"""What the tests of the walk share: small invented procedures, an invented shop, and a hand that answers questions."""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any

from benchwalk.procedure.linked import Linked
from benchwalk.procedure.linking import link
from benchwalk.procedure.read import read
from benchwalk.sums import compute
from benchwalk.walk import acts
from benchwalk.walk.decide import Decision, decide, proceed
from benchwalk.walk.desk import Bench
from benchwalk.walk.events import Event, lacking
from benchwalk.walk.fold import replay
from benchwalk.walk.phase import Now, now, parse_time
from benchwalk.walk.places import step_states
from benchwalk.walk.state import Entry, State, Visit

PROCEDURES = Path(__file__).resolve().parents[1] / "procedures"
MORNING = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)

ROLES = {
    "ann": frozenset({"apprentice"}),
    "bo": frozenset({"senior"}),
    "cy": frozenset({"journeyman"}),
    "dot": frozenset({"senior", "journeyman"}),
}
NAMES = {"ann": "Ann Alder", "bo": "Bo Birch", "cy": "Cy Cedar", "dot": "Dot Dogwood"}
BO = acts.Sign("bo", "pin")
PLAYED = acts.Sign("senior", "practice")


# --- procedures ----------------------------------------------------------------------------------------------------

HEAD = """\
procedure: {id}
title: {title}
revision: 1
for: [test drum]
purpose: To be walked by tests.
needs: {{tools: {tools}, parts: none, supplies: none, before: none}}
hazards: {{none_found_by: senior}}
time: 1 min
sources: none
"""


def procedure(body: str, id: str = "look-over", tools: str = "none") -> bytes:
    """A procedure file: what every procedure must say, and then `body`."""
    return (HEAD.format(id=id, title=id.replace("-", " ").capitalize(), tools=tools) + body).encode()


@lru_cache(maxsize=256)
def linked(data: bytes, *others: bytes) -> Linked:
    """The procedure linked, with `others` as the library it runs from; every error in it fails the test at once."""
    by_id = {}
    for other in others:
        source = read(other, "other.yaml")
        assert source.procedure is not None, source.findings
        by_id[source.procedure.procedure] = other
    found = link(read(data, "test.yaml"), lambda name: linked(by_id[name], *others) if name in by_id else None)
    assert found is not None
    assert found.sound, [f.message for f in found.findings]
    return found


@lru_cache(maxsize=16)
def shipped(name: str) -> Linked:
    """A procedure of the library, with what it runs from there."""
    path = PROCEDURES / f"{name}.yaml"
    found = link(read(path.read_bytes(), path.name), lambda other: shipped(other))
    assert found is not None
    assert found.sound, [f.message for f in found.findings]
    return found


GAP = procedure(
    """
readings:
  gap: {ask: Gap, unit: mm, possible: 0 .. 20, wanted: 3 .. 6}
  lie: {ask: How do the snares lie, choices: {all: All touch, some: Some lift}, wanted: all}
findings:
  lifts: {found: "Some lift at {{ gap }}.", grade: watch, evidence: [gap, lie]}
steps:
  - step: measure
    stage: {id: first, title: Measure}
    do: Measure the gap.
    record: [gap]
    branches:
      - {when: 3 mm <= gap <= 6 mm, because: The gap is good, go: look}
      - {when: otherwise, because: "The gap is {{ gap }}", go: set-again}
  - step: set-again
    do: Set the gap again.
    entered: {at_most: 2, then: give-up}
    go: measure
  - step: look
    stage: {id: second, title: Look}
    record: [lie]
    branches:
      - {when: lie is all, because: All touch, go: finish}
      - {when: lie is some, because: Some lift, find: lifts, go: measure, at_most: 1, then: give-up}
  - step: finish
    end: done
  - step: give-up
    do: Put it aside.
    end: {as: stopped, say: It cannot be set today., proposes: [service-strainer]}
"""
)
"""Two readings, verdicts, a branch back with a bound, a bounded step, a finding, two ends."""

INNER = procedure(
    """
takes:
  side: {choices: {butt: butt side, strainer: strainer side}}
  target: {range: mm}
gives: [gap, way]
readings:
  gap: {ask: Gap, unit: mm, possible: 0 .. 20, wanted: from target}
  grip: {ask: The clamp, choices: {holds: holds, slips: slips}, wanted: holds}
steps:
  - step: tie
    do: Tie the cord at the {{ side }}.
    choose: {as: way, ways: [{way: short, say: Short}, {way: long, say: Long, do: Leave it long}]}
    record: [gap]
    first_of:
      - {when: gap is below, because: Too near, go: tie-again}
      - {when: side is strainer, because: The strainer clamp, go: pull}
      - {when: otherwise, because: The butt clamp, go: pull}
  - step: tie-again
    entered: {at_most: 2, then: untied}
    do: Free it.
    go: tie
  - step: pull
    record: [grip]
    branches:
      - {when: grip is holds, because: It holds, go: tied}
      - {when: grip is slips, because: It slips, go: untied}
  - step: tied
    do: Trim the cord.
    end: done
  - step: untied
    end: stopped
""",
    id="tie-side",
)
"""A procedure that is run: it takes a choice and a range, and gives two readings back."""

SNIP = procedure(
    """
readings:
  strand: {ask: Which strand, kind: whole, possible: 1 .. 30}
steps:
  - step: snip
    caution: {hazard: Ends fly, consequence: Cut eyes, avoid: Glasses on}
    do: Snip it.
    record: [strand]
  - step: snipped
    end: done
""",
    id="snip-strand",
)
"""A short procedure that an event runs."""

OUTER = procedure(
    """
limits:
  least: {is: 1 mm, sure: C, whose: the shop, because: it must clear}
readings:
  clear: {ask: Clear length, unit: mm, possible: 300 .. 400}
  long: {ask: Length of the set, unit: mm, possible: 300 .. 400}
  sound: {ask: It sounds, choices: {clean: clean, buzz: with a buzz}, wanted: clean}
sums:
  room: {use: snare-room, with: {clear: clear, set: long, least: least}}
whenever:
  - {event: cord-breaks, say: The cord breaks, during: [tie-butt, tie-far], go: measure, at_most: 1, then: give-up}
  - event: strand-bends
    say: A strand bends
    during: everywhere
    run: {procedure: snip-strand, as: snip}
    then_back: true
steps:
  - step: measure
    record: [clear, long]
    work_out: [room]
    first_of:
      - {when: room has no result, because: No room, go: give-up}
      - {when: otherwise, because: "Room {{ room.r }}", go: tie-butt}
  - step: tie-butt
    run: {procedure: tie-side, as: butt, with: {side: butt, target: room.gap}}
    branches:
      - {when: butt.outcome is done, because: "Tied {{ butt.way }}", go: tie-far}
      - {when: butt.outcome is stopped, because: Not tied, go: give-up}
  - step: tie-far
    run: {procedure: tie-side, as: far, with: {side: strainer, target: room.gap}}
    record: [sound]
    first_of:
      - {when: far.outcome is stopped, because: Not tied, go: give-up}
      - {when: far.gap > 5 mm, because: Far, go: tie-far, at_most: 1, then: give-up}
      - {when: otherwise, because: Both sides tied, go: senior-look}
  - step: senior-look
    hold: {by: senior, signs: checked, covers: [far.gap, clear], because: Two looks}
    branches:
      - {when: hold is released, because: It was looked at, go: finish}
      - {when: hold is refused, because: It was refused, go: tie-far, at_most: 2, then: give-up}
  - step: finish
    end: done
  - step: give-up
    end: stopped
""",
    id="tie-both",
    tools="[small rule, spacer]",
)
"""Runs another procedure twice, with a sum's range handed in, events of both kinds, and a hold over what a run gave."""

RODS = procedure(
    """
drum: [rods]
readings:
  runs: {ask: The rod runs, choices: {free: freely, binds: roughly}, wanted: free, per: rod}
  note: {ask: Note at the rod, kind: note, per: rod, head: snare-side, possible: 40 .. 1200}
  edge: {ask: The edge, choices: {smooth: smooth, rough: rough}, wanted: smooth, per: [butt, strainer]}
sums:
  even: {use: rod-evenness, with: {notes: note}}
steps:
  - step: feel
    record: [runs]
  - step: oil
    do: Oil what binds ({{ rods where runs is binds }}).
    each: rod where runs is binds
  - step: turn
    each: {rod: pairs}
  - step: sound
    record: [note]
    work_out: [even]
    first_of:
      - {when: even has no result, because: A note is lacking, go: stop-here}
      - {when: even.spread > 100 cents, because: "Spread {{ even.spread }}", go: turn, at_most: 2, then: stop-here}
      - {when: otherwise, because: Even, go: edges}
  - step: edges
    each: [butt, strainer]
    record: [edge]
    first_of:
      - {when: any edge is rough, because: A rough edge, go: stop-here}
      - {when: otherwise, because: Both smooth, go: finish}
  - step: finish
    end: done
  - step: stop-here
    end: referred
""",
    id="even-rods",
)
"""Rods and places: readings and confirmations for each, in pairs, where a condition holds; a sum over rods."""

REST = procedure(
    """
readings:
  knob: {ask: Turns of the knob, unit: turns, possible: 0 .. 40, optional: {because: a seized knob is not forced}}
  said: {ask: What the owner said, kind: words}
  temp: {ask: Warmth of the room, unit: deg C, possible: 0 .. 40, wanted: 15 .. 25}
steps:
  - step: settle
    warning: {hazard: The lever snaps, consequence: Pinched fingers, avoid: Keep clear}
    do: Set the lever off.
    expect: It lies off.
    if_not: Try again.
    record: [knob, said]
  - step: rest
    may_skip: {because: the owner waits, by: senior}
    wait: {for: 30 min, from: settle, at_latest: 2 h, late: {go: settle-late}}
    record: [temp]
    branches:
      - {when: temp is missing, because: It did not rest, go: show}
      - {when: temp is within, because: Warm, go: show}
      - {when: otherwise, because: Cold, accept: it is noted only, go: show}
  - step: settle-late
    do: Set it again.
  - step: show
    witness: {by: senior, because: Worth seeing}
  - step: senior-look
    hold:
      by: senior
      signs: checked
      covers: [temp]
      for_work_by: [apprentice]
      refused_for: {temp: too cold, lever: lever on}
      because: Two looks
    branches:
      - {when: hold is released, because: It was looked at, go: finish}
      - {when: hold is refused for temp, because: Too cold, go: rest, at_most: 1, then: give-up}
      - {when: hold is refused for lever, because: Lever, go: give-up}
  - step: finish
    end: done
  - step: give-up
    end: stopped
""",
    id="rest-drum",
    tools="[small rule]",
)
"""A wait with a latest time, a skip, an optional reading, words, a witness, a hold only for apprentices' work."""


TIED = {"clear": "340", "long": "332", "way": "short", "gap": "4", "grip": "holds", "sound": "clean", "strand": "3"}
"""Answers that walk OUTER straight to its end: the room is 8 mm, so each gap wants 2.5 to 5.5 mm."""

RESTED = {"knob": "3", "said": "it rattles", "temp": "20"}
"""Answers that walk REST straight to its end."""


# --- walking -------------------------------------------------------------------------------------------------------


class Walk:
    """One job walked in memory: every act's events are checked, kept, and folded again from the first."""

    produced: frozenset[str] = frozenset()
    """The kinds of event that any walk of this process has produced."""

    def __init__(self, book: Linked, kind: str = "practice", who: str = "ann", **bench: Any) -> None:
        self.book = book
        self.kind = kind
        self.who = who
        self.books = {each.text: each for each in book.family()}
        self.options = bench
        self.time = MORNING
        self.state = State()
        self.events: list[Event] = []

    @property
    def bench(self) -> Bench:
        """The invented shop at this moment."""
        options = {"roles": ROLES, "names": NAMES, "compute": compute, **self.options}
        return Bench(books=self.books.__getitem__, now=self.time, **options)

    def now(self) -> Now:
        """What the walk waits for."""
        return now(self.state, self.bench)

    def at(self) -> tuple[str, str]:
        """(what is waited for, the step's full name)."""
        here = self.now()
        return here.kind, name_of(here.visit) if here.visit else ""

    def wait(self, **span: float) -> None:
        """Let time pass (or, with a negative span, set the clock back)."""
        self.time += timedelta(**span)

    def decide(self, act: acts.Act, who: str | None = None) -> Decision:
        """What comes of an act; its events are taken in, whether it was refused or not."""
        decision = decide(self.state, act, who or self.state.person or self.who, self.bench)
        self.take(decision)
        return decision

    def take(self, decision: Decision) -> None:
        """Take a decision's events in."""
        for event in decision.events:
            assert lacking(event) is None, lacking(event)
        Walk.produced |= {event["what"] for event in decision.events}
        self.events += decision.events
        self.state = decision.state
        if len(self.events) < 150:
            assert replay(self.events) == self.state

    def do(self, act: acts.Act, who: str | None = None) -> list[Event]:
        """Do an act that must be allowed; its events."""
        decision = self.decide(act, who)
        assert decision.refusal is None, (act, decision.refusal)
        return list(decision.events)

    def refused(self, act: acts.Act, who: str | None = None) -> str:
        """The sentence an act is refused with; nothing but a turned-away look may come of it."""
        before = copy.deepcopy(self.state)
        decision = self.decide(act, who)
        assert decision.refusal, act
        assert decision.question is False
        assert {e["what"] for e in decision.events} <= {"turned_away"}
        if not decision.events:
            assert self.state == before
        return decision.refusal

    def asked(self, act: acts.Act, who: str | None = None) -> str:
        """The question an act is met with."""
        decision = self.decide(act, who)
        assert decision.question
        assert decision.events == ()
        return decision.refusal or ""

    def open(self, drum: Mapping[str, str] | None = None, given: Mapping[str, str] | None = None) -> Walk:
        """Open the job."""
        note = {"owner": "A. Player"}
        self.do(acts.Open("J-1", self.kind, self.book.text, dict(drum or {}), dict(given or {}), note))
        return self

    def begin(self, drum: Mapping[str, str] | None = None, given: Mapping[str, str] | None = None) -> Walk:
        """Open the job and get ready: the walk stands at its first step."""
        self.open(drum, given)
        self.do(acts.Ready())
        return self

    def note(self, typed: str, **more: Any) -> int:
        """Note a reading; the event's number."""
        return int(next(e["n"] for e in self.do(acts.Record(typed, **more)) if e["what"] == "read"))

    def on(self, until: str | Callable[[Now], bool] = "", **answers: Any) -> Now:
        """Answer what is asked until `until` (a step's full name, a kind of question as `=hold`, or a test) is reached.

        `answers` give readings and ways by name: a text, a dict by place (`each` for the rest), or a list with one
        of these a visit. Holds are released by the senior, waits are waited.
        """
        stop = until if callable(until) else _reaches(until)
        for _ in range(400):
            here = self.now()
            if here.kind in ("ended", "released", "sign-again", "account") or stop(here):
                return here
            self.do(self.answer(here, answers))
        raise AssertionError(f"{until} is not reached: {self.at()}")

    def answer(self, here: Now, answers: Mapping[str, Any]) -> acts.Act:
        """The act that answers what is asked."""
        match here.kind:
            case "ready":
                return acts.Ready()
            case "fact":
                return acts.GiveFact(here.name, answers[here.name])
            case "hazard":
                return acts.Acknowledge()
            case "do" | "way" | "each":
                return acts.Done()
            case "choose":
                assert here.step and here.step.choose
                return acts.ChooseWay(str(self._said(here, here.step.choose.as_, answers)))
            case "reading":
                said = self._said(here, here.name, answers)
                return acts.LeaveOut() if said is None else acts.Record(said)
            case "wait":
                assert here.visit and here.visit.until
                self.time = max(self.time, parse_time(here.visit.until))
                return acts.Waited()
            case "hold":
                return acts.Release(PLAYED if self.kind != "customer" else BO)
            case "recheck":
                return acts.CheckPlace()
        raise AssertionError(f"nothing is said of {here.kind}")

    def _said(self, here: Now, name: str, answers: Mapping[str, Any]) -> str | None:
        assert here.visit is not None
        full = f"{here.visit.path.replace('/', '_')}_{name}" if here.visit.path else name
        said = answers[full] if full in answers else answers[name]
        if isinstance(said, list):
            steps = [v for v in self.state.visits if (v.path, v.step) == (here.visit.path, here.visit.step)]
            said = said[min(len(steps) - 1, len(said) - 1)]
        if isinstance(said, dict):
            said = said.get(here.place, said.get("each"))
        return said if said is None else str(said)

    # --- reading what came of it ---

    def of(self, what: str) -> list[Event]:
        """All events of a kind."""
        return [event for event in self.events if event["what"] == what]

    def last(self, what: str) -> Event:
        """The last event of a kind."""
        return self.of(what)[-1]

    def route(self) -> list[str]:
        """The stops, in order, by full name."""
        return [name_of(visit) for visit in self.state.visits]

    def entry(self, name: str, path: str = "", place: str | None = None) -> Entry:
        """The latest entry of a reading."""
        found = [
            e
            for e in self.state.entries.values()
            if e.name == name and e.place == place and e.visit and self.state.visits[e.visit - 1].path == path
        ]
        return max(found, key=lambda e: e.n)

    def states(self) -> dict[str, str]:
        """How each step stands."""
        return step_states(self.state, self.bench)

    def check(self) -> None:
        """The events folded from the first give this state, and nothing is left to happen by itself."""
        assert replay(self.events) == self.state
        assert [e["n"] for e in self.events] == list(range(1, len(self.events) + 1))
        if self.state.job:
            assert proceed(self.state, self.who, self.bench).events == ()


def _reaches(until: str) -> Callable[[Now], bool]:
    if until.startswith("="):
        return lambda here: here.kind == until[1:]
    return lambda here: here.visit is not None and name_of(here.visit) == until


def name_of(visit: Visit) -> str:
    """A stop's step by its full name."""
    return f"{visit.path}/{visit.step}" if visit.path else visit.step
