"""Where a step leads: ways that were added, taken away or led elsewhere, when they are taken, and how often."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

from ..procedure.linked import Linked, Path
from ..procedure.model import Branch, Step
from ..procedure.showing import words_of
from .matching import Renamed, alike, moved
from .parts import Change, between, said

_TIMES = {1: "once", 2: "twice"}


class Line(NamedTuple):
    """A branch with the names of now."""

    number: int
    when: str
    because: str
    find: tuple[str, ...]
    go: str
    at_most: int | None
    then: str
    accept: str

    @property
    def called(self) -> str:
        """What it is known by."""
        return f"'{self.because}'" if self.because else f"where {self.when}"

    @property
    def lead(self) -> str:
        """Where it leads, with its bound."""
        bound = f", at most {_times(self.at_most)}, then {words_of(self.then)}" if self.at_most else ""
        return words_of(self.go) + bound


def _times(count: int) -> str:
    return _TIMES.get(count, f"{count} times")


def lines(step: Step, names: Renamed) -> list[Line]:
    """The branches of a step."""
    return [_line(index, branch, names) for index, branch in enumerate(step.lines)]


def _line(index: int, branch: Branch, names: Renamed) -> Line:
    return Line(
        index,
        names.name(" ".join(branch.when.split())),
        names.in_text(" ".join((branch.because or "").split())),
        tuple(names.findings.get(find, find) for find in branch.find),
        names.step(branch.go) or "",
        branch.at_most,
        names.step(branch.then) or "",
        " ".join((branch.accept or "").split()),
    )


def way_changes(old: Linked, new: Linked, before: Step, now: Step, names: Renamed) -> Iterator[Change]:
    """What changed in where a step leads."""
    where, at = words_of(now.step), (("steps", old.at[before.step]), ("steps", new.at[now.step]))
    was, is_ = lines(before, names), lines(now, Renamed())
    for one, other in _matched(was, is_):
        yield from _line_changes(one, other, where, at)
    if bool(before.first_of) != bool(now.first_of) and was and is_:
        forms = ("the first that fits", "each case by itself")
        order = forms if before.first_of else forms[::-1]
        yield between("leads", where, "the ways on are read otherwise", order, at)
    elif now.first_of and (shifted := _shifted(was, is_)):
        what = "the order in which the ways on are looked at changed"
        yield Change("leads", where, what, "", said(shifted), *at)
    yield from _bound(before, now, where, names, at)
    yield from _onward(old, new, before, now, names, at)


def _matched(was: list[Line], is_: list[Line]) -> list[tuple[Line | None, Line | None]]:
    """Old and new branches that belong together: by condition, else by reason and target, else by reason alone."""
    left, right = list(was), list(is_)
    found: list[tuple[Line | None, Line | None]] = []
    tests: tuple[Callable[[Line, Line], object], ...] = (
        lambda a, b: a.when == b.when and a.when != "otherwise",
        lambda a, b: a.because == b.because != "" and a.go == b.go,
        lambda a, b: a.because == b.because != "",
        lambda a, b: a.when == b.when,
        lambda a, b: a.because and b.because and alike(a.because, b.because) > 0.6,
        lambda a, b: a.go == b.go and alike(a.when, b.when) > 0.6,
    )
    for test in tests:
        for one in list(left):
            other = next((b for b in right if test(one, b)), None)
            if other is not None:
                found.append((one, other))
                left.remove(one)
                right.remove(other)
    return [*found, *((one, None) for one in left), *((None, other) for other in right)]


def _line_changes(one: Line | None, other: Line | None, where: str, at: tuple[Path, Path]) -> Iterator[Change]:
    if other is None:
        assert one is not None
        old = f"to {one.lead}, where {one.when}"
        yield Change("leads", where, f"the way {one.called} was taken away", old=old, old_at=at[0])
        return
    if one is None:
        new = f"to {other.lead}, where {other.when}"
        yield Change("leads", where, f"the way {other.called} was added", new=new, new_at=at[1])
        return
    if one.go != other.go:
        yield Change("leads", where, f"{other.called} leads elsewhere", f"to {one.lead}", f"to {other.lead}", *at)
    elif (one.at_most, one.then) != (other.at_most, other.then):
        yield Change("leads", where, f"{other.called} is bounded otherwise", one.lead, other.lead, *at)
    if one.when != other.when:
        yield Change("leads", where, f"{other.called} is taken in other cases", one.when, other.when, *at)
    if one.find != other.find:
        what = f"{other.called} finds otherwise"
        yield Change("found", where, what, said([*map(words_of, one.find)]), said([*map(words_of, other.find)]), *at)
    if one.because != other.because:
        what = f"the reason to go to {words_of(other.go)} reads otherwise"
        yield Change("texts", where, what, one.because, other.because, *at)
    if one.accept != other.accept:
        what = f"why {other.called} may go that way outside what is wanted"
        yield Change("leads", where, what, one.accept, other.accept, *at)


def _shifted(was: list[Line], is_: list[Line]) -> list[str]:
    """The branches that are looked at sooner or later than they were."""
    pairs = [(one, other) for one, other in _matched(was, is_) if one is not None and other is not None]
    before = [str(other.number) for _one, other in sorted(pairs, key=lambda pair: pair[0].number)]
    after = [str(other.number) for _one, other in sorted(pairs, key=lambda pair: pair[1].number)]
    odd = moved(before, after)
    return [f"{other.called}, now in place {other.number + 1}" for _one, other in pairs if str(other.number) in odd]


def _bound(before: Step, now: Step, where: str, names: Renamed, at: tuple[Path, Path]) -> Iterator[Change]:
    def told(step: Step, names: Renamed) -> str:
        bound = step.entered
        if bound is None:
            return "any number of times"
        return f"at most {_times(bound.at_most)}, then {words_of(names.step(bound.then) or '')}"

    one, other = told(before, names), told(now, Renamed())
    if one != other:
        yield Change("leads", where, "how often it may be come to changed", one, other, *at)


def _onward(
    old: Linked, new: Linked, before: Step, now: Step, names: Renamed, at: tuple[Path, Path]
) -> Iterator[Change]:
    """Where a step without branches leads: by its `go`, or to the step that follows."""
    where = words_of(now.step)
    one, other = _target(old, before, names), _target(new, now, Renamed())
    told = [f"to {words_of(step)}" if step else "" for step in (one, other)]
    if before.go is None and now.go is None:
        known = {names.step(step) for step in old.at}
        order = [names.step(step) or "" for step in old.at]
        follows = one and other and one in new.at and other in known
        if one != other and follows and not {one, other} & moved(order, list(new.at)):
            yield between("leads", where, "another step follows", told, at)
    elif one != other and (one or other):
        yield between("leads", where, "it leads elsewhere", told, at)
    elif names.step(before.go) != now.go and one == other:
        what = (
            "where it leads is said, and was before without being said"
            if now.go
            else "where it leads goes without saying"
        )
        yield Change("other", where, what, new=told[1], old_at=at[0], new_at=at[1])


def _target(linked: Linked, step: Step, names: Renamed) -> str:
    if step.lines or step.end or (step.choose and any(way.go for way in step.choose.ways)):
        return ""
    return names.step(step.go or linked.next_of(step.step)) or ""
