"""From what was counted of a procedure to its numbers, step by step: also the ways that nobody took."""

from __future__ import annotations

import statistics
from collections.abc import Iterator, Sequence
from fractions import Fraction

from ..draw.ways import times, way_of_event, ways_of
from ..procedure.linked import Linked, covers
from ..procedure.model import Branch, Reading, Step
from ..procedure.showing import words_of
from ..procedure.text import Field, parse_text
from ..proof.walked import Key
from ..walk.foretold import condition_words
from .learned_counted import LED_AWAY, NONE, UNDER_WAY, Counted, Stay
from .learned_numbers import Number, Part, Spent, StepNumbers, Tally

NOT_WANTED = ("below", "above", "outside")


def part_of(counted: Counted, kind: str) -> Part:
    """The numbers of one revision in the jobs of one kind."""
    linked = counted.linked
    come_to = [name for name in linked.steps if name in counted.visits or name in counted.gone]
    return Part(
        str(linked.procedure.revision),
        linked.content,
        kind,
        Tally.of(counted.walks.values()),
        tuple(_outcomes(counted)),
        tuple(_events(counted)),
        tuple(_step(counted, linked.steps[name]) for name in come_to),
        tuple(name for name in linked.steps if name not in come_to),
    )


def _outcomes(counted: Counted) -> Iterator[Number]:
    """How the walks ended; the ends that the procedure has are told although nobody came to them."""
    of = sum(tally.count for tally in counted.walks.values())
    ends = counted.linked.outcomes()
    for word in dict.fromkeys([*ends, *counted.walks, UNDER_WAY, LED_AWAY]):
        tally = counted.walks.get(word, NONE)
        if tally.count or word in ends:
            yield Number("outcome", tally, of, name=word)


def _events(counted: Counted) -> Iterator[Number]:
    """What may happen, out of the visits of the steps at which it may."""
    linked = counted.linked
    for event in linked.procedure.whenever:
        steps = [step for step in linked.steps if covers(event, step, linked.stage.get(step))]
        of = sum(counted.stays(step).count for step in steps)
        way = way_of_event(event)
        where: dict[str, int] = {}
        for said in (*counted.said.get(way.key, ()), *counted.said.get(way.then_key, ())):
            where[said.text] = where.get(said.text, 0) + 1
        every = Tally.of([counted.way(way.key), counted.way(way.then_key)])
        yield Number("event", every, of, event.event, to=way.target, why=event.say, parts=tuple(where.items()))
        if way.bound:
            spent = counted.way(way.then_key)
            yield Number("event-then", spent, every.count, event.event, to=way.then, why=event.say, bound=way.bound)


def _step(counted: Counted, step: Step) -> StepNumbers:
    name = step.step
    spent = [_spent("time", _note(step), counted.at_work.get(name, []))]
    spent += [_spent("wait", "", counted.let_pass.get(name, []))]
    numbers = [*_ways(counted, step)]
    for read in dict.fromkeys(step.record):
        numbers += _noted(counted, step, read)
    gone = counted.gone.get(name, NONE)
    return StepNumbers(name, counted.stays(name), gone, tuple(s for s in spent if s is not None), tuple(numbers))


def _note(step: Step) -> str:
    """What is in the time at a step beside its own work, or left out of it."""
    notes = ["without its wait"] if step.wait else []
    notes += [f"with {step.run.procedure} in it"] if step.run else []
    notes += ["with the look"] if step.hold else []
    return ", ".join(notes)


def _spent(what: str, note: str, stays: Sequence[Stay]) -> Spent | None:
    if not stays:
        return None
    tally = Tally()
    for _seconds, job, n in stays:
        tally.add(job, n)
    seconds, job, _n = max(stays, key=lambda stay: stay[0])
    return Spent(what, note, tally, statistics.median(stay[0] for stay in stays), seconds, job)


def _ways(counted: Counted, step: Step) -> Iterator[Number]:
    """The ways on from a step, and what else may be done there."""
    name, of, linked = step.step, counted.stays(step.step).count, counted.linked

    def number(
        key: Key, more: int = 0, *, name: str = "", to: str | None = None, why: str = "", bound: str = ""
    ) -> Number:
        said = tuple(counted.said.get(key, ()))
        return Number(key[1], counted.way(key), of + more, name, None, to, why, bound, key[2], (), said)

    for index, chosen in enumerate(step.choose.ways if step.choose else ()):
        yield number((name, "chosen", index), name=chosen.way, why=chosen.say, to=chosen.go)
    for way in ways_of(linked, step):
        why = _why(linked, step.lines[way.key[2]]) if way.key[1] == "branch" else way.why
        if way.key[1] in ("branch", "late"):
            yield number(way.key, to=way.target, why=why)
        if way.key[1] == "end":
            yield number(way.key, name=step.end.as_ if step.end else "")
        if way.bound:
            yield number(way.then_key, to=way.then, why=why, bound=way.bound)
    for index, line in enumerate(step.lines):
        if (name, "hand", index) in counted.ways:
            yield number((name, "hand", index), to=line.go, why=_why(linked, line))
    if step.may_skip:
        yield number((name, "skip", 0), why=step.may_skip.because)
    if step.entered:
        sent_on = counted.way((name, "entered", 0)).count
        bound = f"at most {times(step.entered.at_most)}"
        yield number((name, "entered", 0), sent_on, to=step.entered.then, bound=bound)
    if step.hold:
        yield number((name, "refused", 0))
    for kind in ("early", "not-yet"):
        if (name, kind, 0) in counted.ways:
            yield number((name, kind, 0))


def _why(linked: Linked, line: Branch) -> str:
    """Why a branch is taken, in its author's words; values that a text takes stand there by what they are called."""
    if not line.because:
        return condition_words(line.when, linked)
    return "".join(part if isinstance(part, str) else _called(part) for part in parse_text(line.because))


def _called(field: Field) -> str:
    return f"({words_of(field.name)})" if field.where is None else f"(the {field.name} where that is so)"


def _noted(counted: Counted, step: Step, name: str) -> Iterator[Number]:
    """How a reading came out at a step: over all its places, and at each of them where they differ."""
    reading = counted.linked.procedure.readings[name]
    places = _places(counted, step, name, reading)

    def outside(places: Sequence[str | None], place: str | None = None) -> Number:
        some = {v: [counted.read(step.step, name, each, v) for each in places] for v in NOT_WANTED}
        of = sum(counted.read(step.step, name, each, "judged").count for each in places)
        parts = [(verdict, sum(tally.count for tally in tallies)) for verdict, tallies in some.items()]
        whole = Tally.of(tally for tallies in some.values() for tally in tallies)
        return Number("outside", whole, of, name, place, parts=tuple(part for part in parts if part[1]))

    if reading.wanted is not None and places:
        yield outside(places)
        apart = [outside([place], place) for place in places]
        apart = [each for each in apart if each.of]
        if len({Fraction(each.tally.count, each.of) for each in apart}) > 1:
            yield from apart
    asked = sum(counted.read(step.step, name, place, "asked").count for place in places)
    for what in ("corrected", "left-out", "odd"):
        tally = Tally.of(counted.read(step.step, name, place, what) for place in places)
        if tally.count or (what == "left-out" and reading.optional and asked):
            yield Number(what, tally, asked, name)


def _places(counted: Counted, step: Step, name: str, reading: Reading) -> list[str | None]:
    """The places at which a reading was asked there, in the order of the file, rods by their numbers."""
    known = {place for at, read, place, _what in counted.readings if (at, read) == (step.step, name)}
    order = list(reading.per or ())

    def key(place: str | None) -> tuple[int, int]:
        if place in order:
            return order.index(place), 0
        return len(order), int(place) if place is not None and place.isdigit() else 0

    return sorted(known, key=key)
