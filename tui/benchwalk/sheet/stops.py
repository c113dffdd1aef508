"""Every stop of a sheet: of the procedure, and of what it runs where it is run, with how far the job is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from ..daybook.drawings import drawing
from ..daybook.ink import text_of
from ..daybook.things import things
from ..procedure.linked import Linked
from ..procedure.model import Branch, Step, Whenever
from ..procedure.showing import words_of
from ..walk.desk import Bench
from ..walk.foretold import condition_words, outlook
from ..walk.places import step_name
from ..walk.state import State, Visit
from ..walk.wording import NOT_NOTED, moment, said
from .asking import Answer, asks, deciding, marks_of
from .parts import Lead, Look, Part, Stands, Stop, Warn
from .sight import OTHERWISE, Sight

MOST_TIMES = 4
"""Most lines for the times of one wait."""


@dataclass
class Walked:
    """A job as a sheet looks at it, or one that has not begun (a blank sheet)."""

    state: State
    bench: Bench
    records: dict[int, list[str]] = field(default_factory=dict)
    told: set[str] = field(default_factory=set)
    drawn: dict[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for thing in things(self.state, self.bench.books, dict(self.bench.names)):
            self.records.setdefault(thing.visit, []).append(text_of(thing.line))

    def parts(self) -> Iterator[Part]:
        """The stages of the procedure, each followed by what its stops run."""
        root = self.bench.books(self.state.text)
        yield from self._parts(root, "", "", self._ahead(root, "", True))
        for letter, event in letters(root):
            if event.run is not None:
                yield from self._inner(root, event.run.as_, "", letter, event.say, True)

    def _parts(self, linked: Linked, path: str, number: str, ahead: set[str]) -> Iterator[Part]:
        stops: list[Stop] = []
        title, stage = "", ""
        for step in linked.steps.values():
            now = linked.stage.get(step.step, "")
            if now != stage:
                yield from [Part(title, (), tuple(stops))] if stops else []
                stops, stage = [], now
                title = step.stage.title if step.stage else words_of(now)
            stop = self._stop(linked, step, path, number, step.step in ahead)
            if stop is None:
                continue
            stops.append(stop)
            if step.run is not None and step_name(path, step.run.as_) not in self.told:
                yield Part(title, (), tuple(stops))
                title, stops = "", []
                again = step.step in ahead
                yield from self._inner(linked, step.run.as_, path, stop.number, "", again)
        yield from [Part(title, (), tuple(stops))] if stops else []

    def _inner(self, linked: Linked, name: str, path: str, number: str, say: str, again: bool) -> Iterator[Part]:
        """What is run under that name, once, however many stops ask for it."""
        inner_path, inner = step_name(path, name), linked.runs[name]
        if inner_path in self.told:
            return
        self.told.add(inner_path)
        view, given = outlook(self.state, self.bench, inner_path)
        lines = [
            f"{words_of(key)}: {value if (value := said(key, view)) != NOT_NOTED else given.get(key, words_of(key))}"
            for key in inner.procedure.takes
        ]
        ahead = self._ahead(inner, inner_path, again)
        parts = list(self._parts(inner, inner_path, number, ahead))
        if not any(part.stops for part in parts):
            return
        heading = f"{number}  {inner.procedure.title} ({words_of(name)})" + (f", if this happens: {say}" if say else "")
        told = ["Given: " + "; ".join(lines) + "."] if lines else []
        told += ["Before it: " + "; ".join(inner.procedure.needs.before) + "."] if inner.procedure.needs.before else []
        told += [_happening(inner, event, number) for event in inner.procedure.whenever]
        yield Part(heading, tuple(told), (), inner=True)
        yield from (Part(part.title, part.lines, part.stops, inner=True) for part in parts)
        yield Part(f"{number}  done with: {inner.procedure.title} ({words_of(name)})", (), (), inner=True)

    # --- how far the job is ---

    def _stays(self, path: str, step: str) -> list[Visit]:
        return [v for v in self.state.visits if (v.path, v.step) == (path, step) and not v.struck]

    def _ahead(self, linked: Linked, path: str, again: bool) -> set[str]:
        """The steps that can still be come to: all of them before the work begins, or where it may be run again."""
        if self.state.ended is not None:
            return set()
        here = [frame for frame in self.state.frames if frame.path == path and frame.step]
        if not self.state.visits or (path and again):
            return set(linked.steps)
        if not here:
            return set(linked.steps) if not path else set()
        return reachable(linked, here[-1].step)

    def _stands(self, stays: list[Visit], ahead: bool) -> Stands:
        open_ = [v.number for v in stays if v.closed is None] if self.state.ended is None else []
        if open_:
            return "here" if self.state.visit in open_ else "under"
        if not stays:
            return "open"
        return "again" if ahead else "done"

    # --- one stop ---

    def _stop(self, linked: Linked, step: Step, path: str, number: str, ahead: bool) -> Stop | None:
        """The stop as it is printed; None where it was never come to and can no longer be reached."""
        stays = self._stays(path, step.step)
        stands = self._stands(stays, ahead)
        if stands == "open" and not ahead:
            return None
        shown = f"{number}.{linked.at[step.step] + 1}" if number else str(linked.at[step.step] + 1)
        name = words_of(step_name(path, step.step))
        at = _at(stays)
        records = tuple(line for visit in stays for line in self.records.get(visit.number, []))
        if stands == "done":
            return Stop(shown, name, stands, at, records)
        view, given = outlook(self.state, self.bench, path)
        stay = stays[-1].number if stands in ("here", "under") else 0
        sight = Sight(linked, step, view, given, lambda name: _named(linked, name, number), stay)
        sight.marks = marks_of(sight)
        decided = deciding(linked, step)
        leads = self._leads(sight, path, number)
        beside = {answer: lead for answer, index in decided.items() if (lead := leads[index]) is not None}
        by_answer = {answer: lead._replace(when="") for answer, lead in beside.items()} | self._by_way(sight)
        others = () if by_answer else (*filter(None, leads), *self._plain_lead(sight, number))
        names = letters(linked) if not path else []
        return Stop(
            shown,
            name,
            stands,
            at,
            records,
            tuple(_warns(sight)),
            sight.text(step.do, "do") if step.do else "",
            sight.text(step.why, "why") if step.why and not step.do else "",
            sight.text(step.expect, "expect") if step.expect else "",
            tuple(sight.text(text, "if_not") for text in step.if_not or ()),
            self._drawn(step, shown),
            tuple(self._lines(sight, path)),
            tuple(_ticks(sight)),
            tuple(asks(sight, by_answer)),
            tuple(_looks(step)),
            self._entered(sight, path),
            _skip(step),
            others,
            bool(step.first_of) and not decided,
            tuple(letter for letter, event in names if event in linked.events_at(step.step)),
            step.step in reachable(linked, step.step) or bool(path),
        )

    def _lines(self, sight: Sight, path: str) -> Iterator[str]:
        step = sight.step
        if step.run:
            yield f"Here another part is worked through: {sight.linked.runs[step.run.as_].procedure.title}."
        if step.wait:
            since = f" from the end of {sight.number(step.wait.from_)}" if step.wait.from_ else ""
            latest = f", and {step.wait.at_latest} at the latest" if step.wait.at_latest else ""
            again = " Again: from ______ until ______." * (_times(sight.linked, step, bool(path)) - 1)
            yield f"{step.wait.for_} must pass{since}{latest}. From ______ until ______.{again}"

    def _drawn(self, step: Step, number: str) -> tuple[str, ...]:
        """The step's drawing, in full where it comes first on the sheet."""
        lines = drawing(step.show) if step.show else None
        if step.show is None or lines is None:
            return ()
        if step.show in self.drawn:
            return (f"The drawing at {self.drawn[step.show]} shows the wrong one beside the right one.",)
        self.drawn[step.show] = number
        return tuple(text_of(line).rstrip() for line in lines)

    # --- where it leads ---

    def _leads(self, sight: Sight, path: str, number: str) -> list[Lead | None]:
        """A lead for each branch; None where what was handed in rules it out."""
        found: list[Lead | None] = []
        taken = False
        for index, branch in enumerate(sight.step.lines):
            settled = sight.settled(index)
            if taken or settled is False:
                found.append(None)
                continue
            taken = settled is True
            found.append(self._lead(sight, branch, index, path, certain=taken))
        return found

    def _lead(self, sight: Sight, branch: Branch, index: int, path: str, *, certain: bool) -> Lead:
        step, linked = sight.step, sight.linked
        key = "branches" if step.branches else "first_of"
        when = "" if certain or len(step.lines) == 1 else sight.when(branch.when)
        why = sight.text(branch.because, key, index, "because") if branch.because else ""
        if not why and when == OTHERWISE:
            why = "" if branch.when.strip() == "otherwise" else condition_words(branch.when, linked, sight.given)
        count = self.state.counts.get((sight.view.run, f"{step.step}:{index}"), 0)
        back = linked.at[branch.go] <= linked.at[step.step]
        return Lead(
            when,
            sight.number(branch.go),
            why,
            back,
            branch.at_most or 0,
            min(count, branch.at_most or 0),
            sight.number(branch.then) if branch.then else "",
        )

    def _by_way(self, sight: Sight) -> dict[Answer, Lead]:
        step, linked = sight.step, sight.linked
        return {
            (step.choose.as_, way.way): Lead("", sight.number(way.go), "", linked.at[way.go] <= linked.at[step.step])
            for way in (step.choose.ways if step.choose else ())
            if step.choose and way.go
        }

    def _plain_lead(self, sight: Sight, number: str) -> Iterator[Lead]:
        """Where a step without branches leads: on, or to its end; and where a late one does."""
        step, linked = sight.step, sight.linked
        if step.wait and step.wait.late:
            yield Lead(f"more than {step.wait.at_latest} have passed", sight.number(step.wait.late.go), "")
        if step.lines:
            return
        if step.end:
            where = f"back to {number}" if number else "the work ends here"
            yield Lead("", f"{where}: {step.end.as_}", step.end.say or "")
            return
        following = step.go or linked.next_of(step.step)
        if following:
            yield Lead("", sight.number(following), "", linked.at[following] <= linked.at[step.step])

    def _entered(self, sight: Sight, path: str) -> Lead | None:
        bound = sight.step.entered
        if bound is None:
            return None
        count = self.state.counts.get((sight.view.run, f"entered:{sight.step.step}"), 0)
        return Lead("", "", "", False, bound.at_most, min(count, bound.at_most), sight.number(bound.then))


def reachable(linked: Linked, step: str) -> set[str]:
    """The steps that may follow a step, itself among them where the way may lead back to it."""
    out: dict[str, set[str]] = {}
    for edge in linked.edges:
        out.setdefault(edge.source, set()).add(edge.target)
    found: set[str] = set()
    waiting = [step]
    while waiting:
        for target in out.get(waiting.pop(), ()):
            if target not in found:
                found.add(target)
                waiting.append(target)
    return found


def _times(linked: Linked, step: Step, run: bool) -> int:
    """How often a step may be done, as far as a sheet has room for it: at most four times; twice where it is not said
    how often, and in what is run, which may be run again."""
    ahead = reachable(linked, step.step)
    if step.step not in ahead:
        return 2 if run else 1
    if step.entered:
        return min(step.entered.at_most, MOST_TIMES)
    lines = [line for name in ahead for line in linked.steps[name].lines if line.at_most is not None]
    back = [line.at_most or 0 for line in lines if line.go == step.step or step.step in reachable(linked, line.go)]
    return min(1 + sum(back), MOST_TIMES) if back else 2


def letters(linked: Linked) -> list[tuple[str, Whenever]]:
    """What may happen, each under its letter."""
    return [(chr(ord("a") + i % 26) * (i // 26 + 1), event) for i, event in enumerate(linked.procedure.whenever)]


def _happening(linked: Linked, event: Whenever, number: str) -> str:
    """What may happen inside a part, and where it leads."""
    if event.run is not None:
        return f"If this happens: {event.say}, first work through {linked.runs[event.run.as_].procedure.title}."
    return f"If this happens: {event.say}, go to {_named(linked, event.go or '', number)}."


def _named(linked: Linked, step: str, number: str) -> str:
    """`12 look set`, and inside a run `33.2 draw out`."""
    here = f"{number}." if number else ""
    return f"{here}{linked.at[step] + 1} {words_of(step)}"


def _at(stays: list[Visit]) -> str:
    """`stop 12, 2026-03-03 08:47`, for every stay."""
    said = [f"stop {v.number}{f', {moment(v.closed_at)}' if v.closed_at else ''}" for v in stays]
    said = [f"{words} (skipped)" if v.skipped is not None else words for words, v in zip(said, stays, strict=True)]
    return "; ".join(said)


def _warns(sight: Sight) -> Iterator[Warn]:
    for grade, part in sight.step.graded():
        consequence = sight.text(part.consequence, grade) if part.consequence else ""
        yield Warn(grade.upper(), sight.text(part.hazard, grade), consequence, sight.text(part.avoid, grade))


def _ticks(sight: Sight) -> Iterator[str]:
    """The places a step is confirmed at one by one."""
    for word in sight.step.each or ():
        if word in ("rod", "rod in pairs"):
            count = sight.view.rods
            pairs = ", each and then the one opposite" if word == "rod in pairs" else ""
            yield from [f"rod {n}" for n in range(1, count + 1)] if count else [f"every rod{pairs}: ______"]
        elif " where " in word:
            yield f"{condition_words(word, sight.linked, sight.given)}: ______"
        else:
            yield word


def _looks(step: Step) -> Iterator[Look]:
    if step.hold:
        only = f" (needed for work by {' or '.join(step.hold.for_work_by)} only)" if step.hold.for_work_by else ""
        refused = tuple(step.hold.refused_for.values())
        yield Look(step.hold.by, step.hold.signs, step.hold.because + only, refused)
    if step.witness:
        yield Look(step.witness.by, step.witness.signs, step.witness.because, (), only_told=True)


def _skip(step: Step) -> str:
    if step.may_skip is None:
        return ""
    return f"A {step.may_skip.by} may let it be left out: {step.may_skip.because}"
