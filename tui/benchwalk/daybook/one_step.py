"""Looking along the route: what one step says, what is asked at it, and where the route may lead from it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple, cast

from ..procedure.linked import Linked
from ..procedure.model import Branch, Step, Whenever
from ..procedure.showing import words_of
from ..walk.desk import Bench
from ..walk.foretold import Called, condition_words, foretold, outlook, run_called
from ..walk.state import State, Visit
from ..walk.view import View
from ..walk.worded import done_text
from ..walk.wording import listed
from .along import LOOSE, WALKED, Row
from .hanging import hung
from .ink import Line, Span, Tone, line

_TIMES = {1: "once", 2: "twice"}
Part = Iterator[tuple[Line, int]]
"""Lines, each with how far what is wrapped of it is set in."""


class _Sight(NamedTuple):
    """A step with what can be seen of it: all as it was where the walk has left it, else as it would be now."""

    state: State
    linked: Linked
    step: Step
    path: str
    view: View
    given: Called
    stays: list[Visit]

    def text(self, text: str, *key: str | int) -> str:
        """One of its texts, which stands at `key`."""
        return foretold(text, self.view, ("steps", self.linked.at[self.step.step], *key), self.given)


def told(state: State, bench: Bench, row: Row, width: int) -> list[Line]:
    """What a step says, what is asked at it, and where the route may lead from it."""
    sight = _sight(state, bench, row.name)
    lines: list[Line] = []
    for part in (_head(sight, row), _work(sight), _asked(sight), _from_here(sight, bench), _why(sight)):
        rows = [each for some, hang in part for each in hung(some, width, hang)]
        if rows:
            lines += [*([()] if lines else []), *rows]
    return lines


def _sight(state: State, bench: Bench, name: str) -> _Sight:
    path, _, step = name.rpartition("/")
    view, given = outlook(state, bench, path)
    stays = [v for v in state.visits if (v.path, v.step) == (path, step) and not v.struck]
    if stays and stays[-1].closed is not None:
        last = stays[-1]
        view = View(state, view.linked, last.run, visit=last.number, upto=last.closed)
    return _Sight(state, view.linked, view.linked.steps[step], path, view, given, stays)


def _head(sight: _Sight, row: Row) -> Part:
    yield line(Span(words_of(row.name), "brass")), 2
    stages = (s.stage for s in sight.linked.procedure.steps if s.stage is not None)
    stage = next((s.title for s in stages if s.id == sight.linked.stage.get(sight.step.step)), "")
    numbers = listed(str(visit.number) for visit in sight.stays)
    stops = f"stop{'s' if len(sight.stays) > 1 else ''} {numbers}" if numbers else ""
    yield line(Span("; ".join(part for part in (row.stands, stops, stage) if part), "quiet")), 2


def _work(sight: _Sight) -> Part:
    step = sight.step
    for grade, part in step.graded():
        hazard, avoid = (sight.text(text, grade).rstrip(".") for text in (part.hazard, part.avoid))
        yield line(Span(f"{grade.upper()}  ", cast(Tone, grade)), f"{hazard}. Avoid it: {avoid}."), 2
    if step.do:
        last = sight.stays[-1] if sight.stays else None
        done = done_text(sight.state, sight.view, last) if last is not None and last.done else ""
        yield line(Span(done or sight.text(step.do, "do"), "loud")), 0
    if step.run:
        yield line(f"Here another procedure is walked: {sight.linked.runs[step.run.as_].procedure.title}."), 2
    if step.choose:
        yield line(Span("One of these ways is taken:", "quiet")), 0
        for way in step.choose.ways:
            yield line(f"- {way.say}"), 2
    if step.wait:
        since = f", from the end of: {words_of(step.wait.from_)}" if step.wait.from_ else ""
        yield line(f"{step.wait.for_} must pass{since}."), 2
    if step.expect:
        yield line(Span(f"You should see: {sight.text(step.expect, 'expect')}", "quiet")), 2


def _asked(sight: _Sight) -> Part:
    for name in sight.step.record:
        ask = foretold(sight.linked.procedure.readings[name].ask, sight.view, ("readings", name, "ask"), sight.given)
        yield line(Span("Asked: ", "quiet"), ask), 2
    hold, witness, may = sight.step.hold, sight.step.witness, sight.step.may_skip
    if hold:
        yield line(Span(f"A {hold.by} looks here: ", "caution"), hold.because), 2
    if witness:
        yield line(Span(f"A {witness.by} may look on here: ", "quiet"), witness.because), 2
    if may:
        yield line(Span(f"A {may.by} may let it be left out: ", "quiet"), may.because), 2


def _from_here(sight: _Sight, bench: Bench) -> Part:
    """Every way on, those that were taken with the stop they were taken at."""
    ways = list(_ways(sight, bench))
    if ways:
        yield line(Span("From here:", "quiet")), 0
    numbers = {visit.number for visit in sight.stays}
    took = [t for t in sight.state.took if t.visit in numbers and t.state != "overruled"]
    for branch, target, where, why in ways:
        at = [t.visit for t in took if t.line == branch and (branch is not None or t.go == target)]
        sign, taken = (WALKED, f" (taken at stop {at[-1]})") if at else (LOOSE, "")
        yield line(Span(f"{sign} ", "quiet"), where, Span(f"{why}{taken}", "quiet")), 2


def _ways(sight: _Sight, bench: Bench) -> Iterator[tuple[int | None, str, str, str]]:
    """(which of the branches, to which step, that in words, and why), in their order."""
    step = sight.step
    at = "branches" if step.branches else "first_of"
    for index, branch in enumerate(step.lines):
        yield (
            index,
            branch.go,
            _to(sight, branch.go),
            f", because: {_because(sight, branch, at, index)}{_limit(branch)}",
        )
    others = [(way.go, f", if that way is taken: {way.say}") for way in (step.choose.ways if step.choose else ())]
    others = [(go, why) for go, why in others if go]
    following = step.go or sight.linked.next_of(step.step)
    if following and not (step.end or step.lines or others):
        others.append((following, ""))
    if step.wait and step.wait.late:
        others.append((step.wait.late.go, f", if more than {step.wait.at_latest} have passed"))
    for go, why in others:
        yield None, go or "", _to(sight, go or ""), why
    if step.end:
        where = f"back to {_caller(sight, bench)}" if sight.path else "the walk ends here"
        yield None, "", f"{where}: {step.end.as_}", f". {step.end.say}" if step.end.say else ""
    for target in dict.fromkeys([branch.go for branch in step.lines] + [go or "" for go, _why in others]):
        bound = sight.linked.steps[target].entered
        if bound is not None:
            often = f", once the walk was {_times(bound.at_most)} at {words_of(target)}"
            yield None, "", f"to {words_of(bound.then)}", often
    for event in _events(sight, bench):
        where = words_of(event.go) if event.go else f"{words_of(event.run.as_)} and back" if event.run else ""
        yield None, "", f"to {where}", f", if this happens: {event.say}"


def _to(sight: _Sight, go: str) -> str:
    return f"to {words_of(go)}{' again' if go == sight.step.step else ''}"


def _limit(branch: Branch) -> str:
    if branch.at_most is None or branch.then is None:
        return ""
    return f" (at most {_times(branch.at_most)}, then to {words_of(branch.then)})"


def _times(count: int) -> str:
    return _TIMES.get(count, f"{count} times")


def _because(sight: _Sight, branch: Branch, at: str, index: int) -> str:
    if branch.because is None:
        return condition_words(branch.when, sight.linked, sight.given)
    return sight.text(branch.because, at, index, "because")


def _above(sight: _Sight, bench: Bench) -> Iterator[tuple[Linked, str]]:
    """(procedure, its step that runs what is below; "" where an event does) for each above this one, the next first."""
    path = sight.path
    while path:
        path, _, name = path.rpartition("/")
        linked = outlook(sight.state, bench, path)[0].linked
        run = run_called(linked, name)
        yield linked, next((step.step for step in linked.procedure.steps if step.run is run), "")


def _caller(sight: _Sight, bench: Bench) -> str:
    """The step that a run comes back to."""
    _linked, step = next(_above(sight, bench))
    return words_of(step) if step else "the step it broke into"


def _events(sight: _Sight, bench: Bench) -> Iterator[Whenever]:
    """What may happen here, by this procedure and by those that run it."""
    yield from sight.linked.events_at(sight.step.step)
    for linked, step in _above(sight, bench):
        if step:
            yield from linked.events_at(step)


def _why(sight: _Sight) -> Part:
    if sight.step.why:
        yield line(Span(sight.text(sight.step.why, "why"), "quiet")), 0
