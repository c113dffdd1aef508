"""A procedure read aloud: what each step says and asks, where it leads and why, indented, line by line."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import NamedTuple, cast

from ..daybook.ink import Line, Span, Tone
from ..draw.ways import Way, listed, said_each, said_run, times, way_of_event, ways_of
from ..procedure.linked import Linked
from ..procedure.model import Reading, Step, Whenever
from ..procedure.showing import safe_text
from ..walk.wording import asked_at


class Row(NamedTuple):
    """One line of the outline, and the step it tells of ("" for what is no step's)."""

    words: Line
    step: str


class _Said(NamedTuple):
    """Something to be said: how deep, in which tone, and a sign before it."""

    depth: int
    tone: Tone
    text: str
    sign: str = ""


def outline(linked: Linked, width: int) -> list[Row]:
    """The procedure in lines of at most `width` cells; what does not fit one line hangs below its words."""
    p = linked.procedure
    rows = [*_rows("", [_Said(0, "brass", p.title), _Said(0, "quiet", p.purpose)], width)]
    for step in p.steps:
        if step.stage:
            rows += [Row((), ""), *_rows("", [_Said(0, "quiet", step.stage.title)], width)]
        rows += _rows(step.step, _step(linked, step), width)
    for event in p.whenever:
        rows += _rows("", _event(event), width)
    return rows


def _rows(step: str, said: Iterator[_Said] | list[_Said], width: int) -> Iterator[Row]:
    for depth, tone, text, sign in said:
        lead = "  " * depth + sign
        room = max(12, width - len(lead))
        for number, part in enumerate(textwrap.wrap(safe_text(text), room) or [""]):
            yield Row((Span(lead if number == 0 else " " * len(lead)), Span(part, tone)), step)


def _step(linked: Linked, step: Step) -> Iterator[_Said]:
    bound = f", entered at most {times(step.entered.at_most)}, then {step.entered.then}" if step.entered else ""
    yield _Said(0, "brass", f"{step.step}{bound}")
    for grade, part in step.graded():
        yield _Said(1, cast(Tone, grade), f"{grade.upper()} {part.hazard.rstrip('.')}. Avoid it: {part.avoid}")
    if step.do:
        yield _Said(1, "loud", step.do)
    if step.expect:
        yield _Said(1, "quiet", f"You should see: {step.expect}")
    if step.choose:
        yield _Said(
            1, "plain", f"Which way is taken ({step.choose.as_})? {listed([w.say for w in step.choose.ways], 'or')}"
        )
    if step.run:
        yield _Said(1, "plain", f"Walk {said_run(step.run)}.")
    if step.each:
        yield _Said(1, "plain", f"Confirmed one by one: {said_each(step.each)}.")
    if step.wait:
        since = f" from the end of {step.wait.from_}" if step.wait.from_ else ""
        yield _Said(1, "plain", f"Wait {step.wait.for_}{since}.")
    for name in step.record:
        yield _Said(1, "plain", _asked(linked, name, linked.procedure.readings.get(name)), "? ")
    for name in step.work_out:
        sum_ = linked.procedure.sums.get(name)
        yield _Said(1, "plain", f"Work out {name}" + (f" ({sum_.use})" if sum_ else ""), "= ")
    if step.hold:
        yield _Said(1, "caution", f"Work stops until a {step.hold.by} has looked: {step.hold.because}", "# ")
    if step.may_skip:
        yield _Said(1, "quiet", f"A {step.may_skip.by} may skip it: {step.may_skip.because}")
    for way in ways_of(linked, step):
        yield _way(linked, step, way)


def _asked(linked: Linked, name: str, reading: Reading | None) -> str:
    if reading is None:
        return f"{name}: there is no such reading"
    ask = asked_at(reading.ask)
    if reading.choices:
        wanted = set(reading.wanted or ())
        said = [f"{text} (wanted)" if word in wanted else text for word, text in reading.choices.items()]
        return f"{name}: {ask}: {listed(said, 'or')}"
    span = linked.wanted.get(name)
    wanted_ = f", wanted {span.text(reading.unit or '')}" if span else ""
    unit = f" in {reading.unit}" if reading.unit else ""
    each = ", at each rod" if reading.by_rod else ""
    return f"{name}: {ask}{unit}{each}{wanted_}" + (", may be left out" if reading.optional else "")


def _way(linked: Linked, step: Step, way: Way) -> _Said:
    if way.target is None:
        return _Said(1, "plain", f"Ends {step.end.as_ if step.end else ''}{f': {way.why}' if way.why else ''}", "-> ")
    here, there = linked.at.get(step.step, 0), linked.at.get(way.target)
    back = "back to " if there is not None and there <= here else ""
    why = f"{way.why.rstrip('.')}: " if way.why else ""
    bound = f", {way.bound}, then {way.then}" if way.bound else ""
    finds = f"; finds {listed(list(way.finds))}" if way.finds else ""
    return _Said(1, "plain", f"{why}{back}{way.target}{bound}{finds}", "-> ")


def _event(event: Whenever) -> Iterator[_Said]:
    way = way_of_event(event)
    yield _Said(0, "brass", f"Whenever: {event.say} ({event.event})")
    yield _Said(1, "quiet", f"during {listed(event.during)}")
    lead = f"walk {said_run(event.run)}, and go on" if event.run else str(way.target)
    yield _Said(1, "plain", lead + (f", {way.bound}, then {way.then}" if way.bound else ""), "-> ")
