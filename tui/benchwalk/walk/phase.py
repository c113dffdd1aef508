"""Where a walk stands: what is asked of whom, now. Read from the state and the procedure; it changes nothing."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from fractions import Fraction

from ..plaindata import Frozen
from ..procedure.evaluate import evaluate
from ..procedure.linked import Linked
from ..procedure.model import Branch, Reading, Step
from .desk import Bench, view_of
from .state import State, Visit
from .view import View

AUTOMATIC = frozenset(
    (
        *("settle", "known-fact", "begin", "enter", "run", "wait-begins", "elsewhere", "work", "pass", "tell"),
        *("run-event", "find", "go", "end", "skip-rest"),
    )
)
"""Phases in which nobody is asked: the walk goes on by itself."""

FOR_ANYBODY = frozenset(("handover", "paused", "problem", "sign-again", "ended", "released"))
"""Phases in which somebody else than the person with the work in hand may answer."""
NOT_UNDER_WAY = frozenset(
    ("paused", "ended", "account", "problem", "handover", "sign-again", "ready", "fact", "released")
)
"""Phases in which nothing is put down by leaving: nothing is under way."""


class Now(Frozen):
    """What the walk waits for.

    `kind` is one of: unopened, handover, problem, paused, diverged, ready, fact, recheck, hazard, do, choose, way,
    each, wait, reading, hold, stuck, account, sign-again, ended, released, or one of AUTOMATIC. `name` and `place`
    say which reading, fact, sum or place; `todo` how many places or readings are left after this one.
    """

    kind: str
    visit: Visit | None = None
    linked: Linked | None = None
    step: Step | None = None
    name: str = ""
    place: str | None = None
    todo: int = 0

    @property
    def reading(self) -> Reading:
        """The reading asked for."""
        assert self.linked is not None
        return self.linked.procedure.readings[self.name]


def now(state: State, bench: Bench) -> Now:
    """What the walk waits for."""
    if not state.job:
        return Now("unopened")
    if state.released:
        return Now("released")
    if state.handed_to:
        return Now("handover", name=state.handed_to)
    if state.problem is not None:
        return Now("problem")
    if state.paused is not None:
        return Now("paused")
    if state.unsettled and (state.diverged is None or state.unsettled[0] < state.diverged):
        return Now("settle")
    if state.diverged is not None:
        return Now("diverged")
    root = bench.books(state.text)
    if not state.readied:
        return Now("ready", linked=root)
    for name in root.needed_facts():
        if name not in state.facts:
            known = state.drum.get(name, {}).get("value") is not None
            return Now("known-fact" if known else "fact", linked=root, name=name)
    if not state.frames:
        return Now("begin", linked=root)
    if state.ended:
        return _after_the_end(state, root)
    if state.recheck and state.visit:
        visit = state.visits[state.visit - 1]
        return Now("recheck", visit, bench.books(visit.text), bench.books(visit.text).steps[visit.step])
    here = state.here()
    if state.happened is not None:
        return Now("run-event", here)
    lacking = by_hand_unfound(state, bench)
    if lacking is not None:
        return lacking
    if state.pending is not None or here is None or state.frames[-1].run != here.run:
        return Now("enter", here)
    return _in_step(state, here, bench)


def by_hand_unfound(state: State, bench: Bench) -> Now | None:
    """What a branch that was just taken by hand finds and is not noted yet."""
    took = state.took[-1] if state.took else None
    if took is None or took.line is None or state.pending is None or not state.live(took.visit, took.n):
        return None
    if state.pending[1:] != (took.go, took.because, False):
        return None
    visit = state.visits[took.visit - 1]
    linked = bench.books(visit.text)
    noted = {f.finding for f in state.found if f.visit == visit.number and state.live(f.visit, f.n)}
    for finding in linked.steps[visit.step].lines[took.line].find:
        if finding not in noted:
            return Now("find", visit, linked, linked.steps[visit.step], finding)
    return None


def _after_the_end(state: State, root: Linked) -> Now:
    if state.open_signs():
        return Now("sign-again", linked=root)
    if countable(root) and not state.accounted:
        return Now("account", linked=root)
    return Now("ended", linked=root)


def countable(root: Linked) -> list[str]:
    """The tools of a procedure and of what it runs, once each: what must be back on the bench at the end."""
    tools: list[str] = []
    for linked in root.family():
        tools += [tool for tool in linked.procedure.needs.tools if tool not in tools]
    return tools


def _in_step(state: State, visit: Visit, bench: Bench) -> Now:
    linked = bench.books(visit.text)
    step = linked.steps[visit.step]
    view = view_of(state, visit, bench)

    def at(kind: str, name: str = "", place: str | None = None, todo: int = 0) -> Now:
        return Now(kind, visit, linked, step, name, place, todo)

    if visit.skipped is not None:
        left = unrecorded(state, visit, step, view) or unworked(visit, step)
        return at("skip-rest") if left else _onward(at, visit, linked, step, view)
    if step.graded() and not visit.acked:
        return at("hazard")
    if step.do and not visit.done:
        return at("do")
    if step.choose:
        if visit.way is None:
            return at("choose")
        if any(way.way == visit.way and way.do for way in step.choose.ways) and "the way" not in visit.confirmed:
            return at("way", visit.way)
    if step.run and not visit.ran:
        return at("run")
    left = [place for place in each_places(step, visit, view) if place not in visit.confirmed]
    if left:
        return at("each", place=left[0], todo=len(left) - 1)
    if step.wait and visit.waited is None:
        return at("wait") if visit.until else at("wait-begins")
    asked = _reading_asked(state, visit, step, view)
    if asked is not None:
        return at(*asked)
    for name in step.work_out:
        if name not in visit.worked:
            return at("work", name)
    if step.hold and held(visit, linked, step):
        return at("hold" if needed(state, visit, step, bench, view) else "pass")
    if step.witness and not visit.told:
        return at("tell")
    return _onward(at, visit, linked, step, view)


def _onward(at: Callable[[str], Now], visit: Visit, linked: Linked, step: Step, view: View) -> Now:
    if step.end:
        return at("end")
    return at("go") if way_on(visit, linked, step, view) is not None else at("stuck")


def held(visit: Visit, linked: Linked, step: Step) -> bool:
    """Whether the hold still stands: nobody looked, or it was refused and no branch says where a refusal leads."""
    if visit.hold is None:
        return True
    return visit.hold.startswith("refused") and "hold" not in asked_names(linked, step)


def asked_names(linked: Linked, step: Step) -> list[str]:
    """The names that the branches of a step ask about."""
    key = "branches" if step.branches else "first_of"
    names: dict[str, None] = {}
    for index in range(len(step.lines)):
        bound = linked.conditions.get(("steps", linked.at[step.step], key, index, "when"))
        names.update(dict.fromkeys(bound.variables if bound is not None else ()))
    return list(names)


def unrecorded(state: State, visit: Visit, step: Step, view: View) -> list[tuple[str, str | None]]:
    """(name, place) of what the step gives and this visit has not: readings, the way chosen, how its run came back."""
    left: list[tuple[str, str | None]] = []
    for name in step.record:
        noted = noted_places(state, visit, name)
        left += [(name, p) for p in reading_places(view.linked.procedure.readings[name], view) if p not in noted]
    others = [step.choose.as_] if step.choose else []
    others += [f"{step.run.as_}.outcome"] if step.run and not visit.ran else []
    return left + [(name, None) for name in others if not noted_places(state, visit, name)]


def unworked(visit: Visit, step: Step) -> list[str]:
    """The sums that are worked out at the step and were not in this visit."""
    return [name for name in step.work_out if name not in visit.worked]


def noted_places(state: State, visit: Visit, name: str) -> set[str | None]:
    """Where the reading was noted or left out in this visit."""
    entries = state.readings.get((visit.run, name), ())
    return {e.place for e in entries if e.visit == visit.number and state.live(e.visit, e.n)}


def each_places(step: Step, visit: Visit, view: View) -> list[str]:
    """The places a step is confirmed at, in order, as far as its conditions ask for them now."""
    if not step.each:
        return []
    places: list[str] = []
    for index, word in enumerate(step.each):
        if word == "rod":
            places += [str(n) for n in range(1, view.rods + 1)]
        elif word == "rod in pairs":
            half = view.rods // 2
            pairs = [str(n) for first in range(1, half + 1) for n in (first, first + half)]
            places += pairs if view.rods % 2 == 0 else [str(n) for n in range(1, view.rods + 1)]
        elif " where " in word:
            bound = view.linked.conditions.get(("steps", view.linked.at[step.step], "each", index))
            for n in range(1, view.rods + 1):
                if bound is not None and evaluate(bound, view, str(n)):
                    places.append(str(n))
        else:
            places.append(word)
    return places


def reading_places(reading: Reading, view: View) -> list[str | None]:
    """Where a reading is asked: at each rod, at its places, or once (None)."""
    if reading.per is None:
        return [None]
    return [str(n) for n in range(1, view.rods + 1)] if reading.by_rod else list(reading.per)


def asked_places(reading: Reading, view: View) -> list[str | None]:
    """Where a reading must be asked singly: with `where`, only the places the sum names."""
    places = reading_places(reading, view)
    if reading.where is None:
        return places
    moves = view.value(reading.where)
    return [p for p in places if isinstance(moves, dict) and p is not None and moves.get(p)]


def advised(asked: Now, view: View) -> Fraction | None:
    """What the sum that names the places of a reading says for the one asked; None where no sum names them."""
    return advised_at(asked.reading, asked.place, view)


def advised_at(reading: Reading, place: str | None, view: View) -> Fraction | None:
    """What the sum that names the places of a reading says for one of them; None where no sum names them."""
    moves = view.value(reading.where) if reading.where is not None else None
    found = moves.get(place or "") if isinstance(moves, dict) else None
    return found if isinstance(found, Fraction) else None


def _reading_asked(state: State, visit: Visit, step: Step, view: View) -> tuple[str, str, str | None, int] | None:
    for name in step.record:
        reading = view.linked.procedure.readings[name]
        noted = noted_places(state, visit, name)
        left = [p for p in asked_places(reading, view) if p not in noted]
        if left:
            return ("reading", name, left[0], len(left) - 1)
        if reading.where is not None and any(p not in noted for p in reading_places(reading, view)):
            return ("elsewhere", name, None, 0)
    return None


def reading_after(state: State, here: Now, bench: Bench) -> Now | None:
    """The reading that may be typed at once where an action waits to be done; None where the action stands alone."""
    step, visit = here.step, here.visit
    if here.kind != "do" or step is None or visit is None or not step.record:
        return None
    if step.choose or step.run or step.each or step.wait:
        return None
    asked = _reading_asked(state, visit, step, view_of(state, visit, bench))
    return Now(asked[0], visit, here.linked, step, *asked[1:]) if asked and asked[0] == "reading" else None


def needed(state: State, visit: Visit, step: Step, bench: Bench, view: View) -> bool:
    """Whether the hold is needed: always, or where anybody of the roles it is for had a hand in this run."""
    if step.hold is None or not step.hold.for_work_by:
        return step.hold is not None
    wanted = set(step.hold.for_work_by)
    people = workers(state, visit, step, view) | hands(state, visit.run)
    return any(bench.roles.get(who, frozenset()) & wanted for who in people)


def workers(state: State, visit: Visit, step: Step, view: View) -> set[str]:
    """Whose work a hold looks at: who has the work in hand, and who noted what it covers; where it covers no reading,
    everybody who had a hand in this run since the last sign-off in it."""
    noted = {state.entries[n].who for n in covered(step, view)}
    if not noted:
        before = [s.visit for s in state.signs if s.kind == "released" and s.visit < visit.number]
        here = [n for n in before if state.live(n) and state.visits[n - 1].run == visit.run]
        noted = hands(state, visit.run, max(here, default=0))
    return noted | {state.person}


def hands(state: State, run: int, after: int = 0) -> set[str]:
    """Who had a hand in a run (and in what was run from it) after that visit, as far as it counts."""
    visits = [v for v in state.visits[after:] if not v.struck and any(f.run == run for f in v.frames)]
    return {who for visit in visits for who in visit.hands}


def covered(step: Step, view: View) -> list[int]:
    """The events of the readings a hold covers."""
    if step.hold is None:
        return []
    return [e.n for name in step.hold.covers for e in view.entries(name).values() if e.value is not None]


def way_on(visit: Visit, linked: Linked, step: Step, view: View) -> tuple[int | None, Branch | None, str] | None:
    """(index, branch, step) of the way on; None where no branch fits."""
    if step.choose and step.choose.ways[0].go:
        way = next(w for w in step.choose.ways if w.way == visit.way)
        return None, None, way.go or ""
    if step.lines:
        index = fitting(linked, step, view)
        return (index, step.lines[index], step.lines[index].go) if index is not None else None
    if step.go:
        return None, None, step.go
    following = linked.next_of(step.step)
    return (None, None, following) if following else None


def fitting(linked: Linked, step: Step, view: View) -> int | None:
    """The first branch whose condition is true (`otherwise` always is)."""
    key = "branches" if step.branches else "first_of"
    for index in range(len(step.lines)):
        bound = linked.conditions.get(("steps", linked.at[step.step], key, index, "when"))
        if bound is None or evaluate(bound, view):
            return index
    return None


def parse_time(text: str) -> datetime:
    """A time as events carry it."""
    return datetime.fromisoformat(text)
