"""One job followed event by event, for what the author of a procedure asks of it: which ways were taken, and where the
time went. What a log was folded to no longer says either.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import NamedTuple

from ..procedure.linked import Linked
from ..proof.walked import Key
from ..walk.events import Event
from ..walk.fold import put
from ..walk.state import State, Visit


class Taken(NamedTuple):
    """A way that was taken, by which event and at which stay; `said` is the reason that a person gave for it, of what
    happened the step of this procedure at which it did.

    Beside the kinds of `Key` there are: chosen (one of several ways), hand (a branch taken by hand), refused (a look),
    early (a wait cut short), and not-yet.
    """

    key: Key
    n: int
    visit: int
    said: str = ""


class Spell(NamedTuple):
    """Some seconds of a stay, ended by event `n`."""

    n: int
    seconds: float


@dataclass
class Followed:
    """A job, and what following it showed of the procedure `linked`, as this job keeps it.

    `at_work` and `let_pass` hold by stay the time at work there and the time that a wait asked for; time at steps that
    a stay runs is its own too. `turned` is where the walk stood when it went back (event -> stay), `led_away` are runs
    that an event of another procedure ended.
    """

    job: str
    events: Sequence[Event]
    linked: Linked
    state: State = field(default_factory=State)
    taken: list[Taken] = field(default_factory=list)
    at_work: dict[int, list[Spell]] = field(default_factory=dict)
    let_pass: dict[int, list[Spell]] = field(default_factory=dict)
    turned: dict[int, int] = field(default_factory=dict)
    led_away: set[int] = field(default_factory=set)

    @property
    def kind(self) -> str:
        """customer or practice."""
        return self.state.kind

    def mine(self, visit: Visit) -> bool:
        """Whether a stay was at a step of the procedure."""
        return visit.text == self.linked.text

    def stays(self) -> Iterator[Visit]:
        """All stays at steps of the procedure, those that were gone back over too."""
        return filter(self.mine, self.state.visits)


def follow(job: str, events: Sequence[Event], linked: Linked) -> Followed:
    """Follow a job from its first event to its last. Raises LookupError and the like where events do not fit."""
    found = Followed(job, events, linked)
    state = found.state
    before: datetime | None = None
    for event in events:
        at = datetime.fromisoformat(event["at"])
        if before is not None and state.visit and at > before:
            _spend(found, event, (at - before).total_seconds())
        before = at
        see = _SEEN.get(event["what"])
        if see is not None:
            found.taken += see(found, event)
        put(state, event)
    return found


# --- time ------------------------------------------------------------------------------------------------------------


def _spend(found: Followed, event: Event, seconds: float) -> None:
    """Say where the time up to an event went: it was worked, it was let pass, or nobody worked."""
    state = found.state
    here = state.visits[state.visit - 1]
    if here.closed is not None:
        return
    spell = Spell(event["n"], seconds)
    if here.until is not None and here.waited is None:
        found.let_pass.setdefault(here.number, []).append(spell)
    elif not state.resting and not _lay_there(state, event):
        for number in (here.number, *_waiting_for(state, here)):
            found.at_work.setdefault(number, []).append(spell)


def _lay_there(state: State, event: Event) -> bool:
    """Whether the work was left lying until this event, with nothing said: whoever had it takes it up once more, or
    somebody else puts it down."""
    what = event["what"]
    return what in ("resumed", "taken_on") or (what == "paused" and event["who"] != state.person)


def _waiting_for(state: State, here: Visit) -> Iterator[int]:
    """The stays whose steps run what is walked here; not one that an event broke into."""
    for frame in reversed(here.frames[1:]):
        if frame.back:
            return
        yield frame.caller


# --- ways ------------------------------------------------------------------------------------------------------------


def _stay(found: Followed, event: Event) -> Visit | None:
    """The stay an event speaks of, where it is at a step of the procedure."""
    visit = found.state.visits[event["visit"] - 1]
    return visit if found.mine(visit) else None


def _entered(found: Followed, event: Event) -> Iterator[Taken]:
    """The steps that had been entered too often, each of which sent on to its `then`."""
    pending = found.state.pending
    if pending is None or event["text"] != found.linked.text:
        return
    going, steps = pending[1], found.linked.steps
    for _ in steps:
        bound = steps[going].entered if going in steps else None
        if going == event["step"] or bound is None:
            return
        yield Taken((going, "entered", 0), event["n"], event["visit"])
        going = bound.then


def _took(found: Followed, event: Event) -> Iterator[Taken]:
    visit = _stay(found, event)
    if visit is None:
        return
    step = found.linked.steps[visit.step]
    if event["line"] is not None:
        kind, number = "then" if event["then"] else "branch", event["line"]
    elif step.choose and any(way.go for way in step.choose.ways):
        return  # said by what was chosen
    else:
        kind, number = "go" if step.go else "next", 0
    yield Taken((visit.step, kind, number), event["n"], visit.number)


def _chose(found: Followed, event: Event) -> Iterator[Taken]:
    visit = _stay(found, event)
    choose = found.linked.steps[visit.step].choose if visit is not None else None
    if visit is not None and choose is not None:
        number = [way.way for way in choose.ways].index(event["way"])
        yield Taken((visit.step, "chosen", number), event["n"], visit.number)


def _happened(found: Followed, event: Event) -> Iterator[Taken]:
    owner = next(frame for frame in found.state.frames if frame.path == event["owner_path"])
    if owner.text == found.linked.text:
        kind = "event-then" if event["then"] else "event"
        yield Taken((event["event"], kind, 0), event["n"], event["visit"], owner.step)


def _overruled(found: Followed, event: Event) -> Iterator[Taken]:
    visit = _stay(found, event)
    if visit is not None:
        yield Taken((visit.step, "hand", event["line"]), event["n"], visit.number, event["reason"])


def _skipped(found: Followed, event: Event) -> Iterator[Taken]:
    visit = _stay(found, event)
    if visit is not None:
        yield Taken((visit.step, "skip", 0), event["n"], visit.number, event["reason"])


def _once(kind: str, found: Followed, event: Event) -> Iterator[Taken]:
    visit = _stay(found, event)
    if visit is not None:
        yield Taken((visit.step, kind, 0), event["n"], visit.number)


def _returned(found: Followed, event: Event) -> Iterator[Taken]:
    state = found.state
    here = state.here()
    if state.pending is not None:
        found.led_away.add(event["run"])
        return
    found.led_away.discard(event["run"])  # the walk may have gone back into it
    if here is not None and found.mine(here):
        yield Taken((here.step, "end", 0), event["n"], here.number)


def _went_back(found: Followed, event: Event) -> Iterator[Taken]:
    found.turned[event["n"]] = found.state.visit
    return iter(())


def _waited(found: Followed, event: Event) -> Iterator[Taken]:
    return _once("early", found, event) if event["early"] else iter(())


_SEEN: dict[str, Callable[[Followed, Event], Iterator[Taken]]] = {
    "entered": _entered,
    "took": _took,
    "chose": _chose,
    "happened": _happened,
    "overruled": _overruled,
    "skipped": _skipped,
    "returned": _returned,
    "went_back": _went_back,
    "waited": _waited,
    "late": lambda found, event: _once("late", found, event),
    "refused": lambda found, event: _once("refused", found, event),
    "not_yet": lambda found, event: _once("not-yet", found, event),
    "ended": lambda found, event: _once("end", found, event),
}
