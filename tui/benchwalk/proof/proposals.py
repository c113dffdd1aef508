"""Examples for the ways that no example walks, each proven by walking it.

For every such way the nearest route to it is taken over the graph of ways, and a walk is led along it (`proposing`): it
is walked by usual answers, and where it leaves the route as few answers as can be are changed. For ways to which no
route was found so, the procedure is walked through whole, as far as it is small enough.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from ..procedure.linked import Linked
from ..procedure.model import Example
from ..procedure.showing import safe_text
from ..procedure.tree import parse
from ..walk.desk import Compute
from .proposing.heading import END, GO, LATE, SKIP, Heading, Want
from .proposing.naming import About, about, named, passed
from .proposing.roaming import TELLING, Gone, Roaming
from .proposing.script import Script
from .proposing.steering import Lost, Steering, Usual, usual_ways
from .proposing.trail import Trail
from .proposing.written import example_of, text_of
from .rehearse import rehearse, rehearse_one
from .report import Checked, json, text
from .rules.unwalked import said
from .walked import Key, Walk, all_ways, walked_ways

FEW = 2
"""So often a bound is spent by walking; where more is needed, it is assumed (`assume: {count: ...}`)."""


@dataclass(frozen=True)
class Proposal:
    """One example: its name, its text as it is pasted among those of the file, and the ways that it walks and that no
    example of the file did."""

    name: str
    text: str
    walks: tuple[Key, ...]


@dataclass(frozen=True)
class Proposed:
    """What is proposed for one procedure: the examples, the ways it is for, and those nothing was found for."""

    linked: Linked
    proposals: list[Proposal] = field(default_factory=list)
    unwalked: list[Key] = field(default_factory=list)
    left: list[Key] = field(default_factory=list)

    def told(self) -> str:
        """For people: what is proposed, to be pasted as it stands."""
        name, number = safe_text(self.linked.source.name), len(self.unwalked)
        if not number:
            return f"{name}: its examples walk every way\n"
        out = []
        if self.proposals:
            ways = f"{number - len(self.left)} of the {number}" if self.left else f"all {number}"
            into = "at the end of its examples" if self.linked.procedure.examples else "at the end of the file"
            many = f"{len(self.proposals)} example{'' if len(self.proposals) == 1 else 's'}"
            out.append(f"{name}: {many} for {ways} ways that no example walks, each proven; paste {into}:\n\n")
            out += [] if self.linked.procedure.examples else ["examples:\n"]
            out += [safe_text(proposal.text, newlines=True) for proposal in self.proposals]
        if self.left:
            ways = safe_text(", ".join(said(self.linked, way) for way in self.left))
            out += ["\n"] if out else []
            out.append(f"{name}: nothing was found for {ways}\n")
        return "".join(out)

    def data(self) -> list[dict[str, Any]]:
        """As JSON states it: a list of {file, example, text, walks}, the ways in words."""
        name = self.linked.source.name
        return [
            {"file": name, "example": p.name, "text": p.text, "walks": [said(self.linked, way) for way in p.walks]}
            for p in self.proposals
        ]


def with_proposals(checked: Checked, linked: Sequence[Linked | None], compute: Compute, style: str) -> Iterator[str]:
    """The findings of files as text or JSON (`style`), and what is proposed for each that has no error, piece by piece:
    looking for examples takes a while. `linked` are the procedures of the files."""
    found: list[Proposed] = []
    if style != "json":
        yield text(checked)
    for (source, findings), book in zip(checked, linked, strict=True):
        if book is None or any(finding.severity == "error" for finding in findings):
            told = f"{safe_text(source.name)}: examples are proposed once its errors are mended\n"
        else:
            found.append(propose(book, compute, rehearse(book, compute)))
            told = found[-1].told()
        if style != "json":
            yield f"\n{told}"
    if style == "json":
        left = [{"file": p.linked.source.name, "way": said(p.linked, way)} for p in found for way in p.left]
        yield json(checked, proposals=[one for p in found for one in p.data()], nothing_found=left)


def propose(linked: Linked, compute: Compute, walked: Sequence[Walk]) -> Proposed:
    """Examples for the ways that none of these walks of its examples takes. The procedure must be sound."""
    return _Proposing(linked, compute, walked).proposed()


@dataclass(frozen=True)
class _Kept:
    """A walk that is worth an example, as the keys of one."""

    tree: dict[str, Any]
    about: About
    walks: tuple[Key, ...]


class _Proposing:
    def __init__(self, linked: Linked, compute: Compute, walked: Sequence[Walk]) -> None:
        self.linked, self.compute = linked, compute
        taken = walked_ways(linked, walked)
        self.unwalked = [way for way in all_ways(linked) if way not in taken]
        self.kept: list[_Kept] = []
        self.starts: dict[tuple[tuple[str, int], ...], Trail] = {}

    def proposed(self) -> Proposed:
        if self.unwalked:
            start = self._start({})
            usual = usual_ways(start)
            if start.state.ended:
                self._keep(start, None)
            for way in self.unwalked:
                if way in self._left():
                    self._lead(way, usual)
            if self._left():
                self._roam(usual)
        return Proposed(self.linked, [*self._written(self._fewest())], self.unwalked, self._left())

    def _left(self) -> list[Key]:
        covered = _covered(self.kept)
        return [way for way in self.unwalked if way not in covered]

    def _start(self, counts: Mapping[str, int]) -> Trail:
        """The walk by usual answers, as far as it goes."""
        key = tuple(counts.items())
        if key not in self.starts:
            self.starts[key] = Trail(self.linked, self.compute, Script(counts=counts))
            self.starts[key].walk(lambda event: False)
        return self.starts[key]

    def _lead(self, way: Key, usual: Usual, *, assuming: bool = False) -> None:
        """Lead a walk to a way, and keep it."""
        for goals, counts in self._aims(way, assuming):
            heading = Heading(self.linked, goals, usual.get(self.linked.text, ()))
            try:
                trail = Steering(self._start(counts), heading, self._reached(way), usual).steer()
            except Lost:
                continue
            if self._keep(trail, way):
                return

    def _roam(self, usual: Usual) -> None:
        """Walk it through. Only where that was not done whole, a bound that few rounds spend may be assumed: otherwise
        no walk spends it."""
        roaming = Roaming(self._start({}), self._left())
        for way, trail in roaming.found():
            if way in self._left():
                self._keep(trail, way)
        for way in self._left() if not roaming.whole else ():
            self._lead(way, usual, assuming=True)

    def _aims(self, way: Key, assuming: bool) -> Iterator[tuple[dict[str, Want], dict[str, int]]]:
        """Where to go for a way and how to leave there, and which steps are assumed to have been entered how often."""
        name, kind, number = way
        if kind in ("event", "event-then"):
            index, event = next((i, e) for i, e in enumerate(self.linked.procedure.whenever) if e.event == name)
            at = [step for step in self.linked.steps if event in self.linked.events_at(step)]
            yield dict.fromkeys(at, Want("event", index)), {}
            return
        step = self.linked.steps[name]
        wants = {"skip": SKIP, "late": LATE, "end": END, "entered": GO, "way": Want("way", number)}
        goals = {name: wants.get(kind, Want("line", number))}
        bound = 0
        if kind == "entered" and step.entered:
            bound = step.entered.at_most
        elif kind == "then":
            bound = step.lines[number].at_most or 0
        if bound > FEW or (bound and assuming):
            yield goals, {name: bound}
        if not assuming:
            yield goals, {}

    def _reached(self, way: Key) -> Callable[[Trail], bool]:
        def reached(trail: Trail) -> bool:
            telling = trail.events[trail.seen - 1]["what"] in TELLING
            return telling and way in walked_ways(self.linked, [Gone(trail.events[: trail.seen])])

        return reached

    def _keep(self, trail: Trail, way: Key | None) -> bool:
        """Make an example of a walk, walk that, and keep it if it goes as it says and takes the way."""
        tree = example_of(trail, passed(trail, way))
        walk = rehearse_one(self.linked, Example.of({"example": "proposed", **tree}), self.compute)
        ways = walked_ways(self.linked, [walk])
        left = self._left()
        if (way is None or way in ways) and any(other in ways for other in left):
            walks = tuple(other for other in self.unwalked if other in ways)
            self.kept.append(_Kept(tree, about(trail, way), walks))
            return True
        return False

    def _fewest(self) -> list[_Kept]:
        """Without those whose ways the others walk as well."""
        kept = list(self.kept)
        for one in sorted(self.kept, key=lambda one: len(one.walks)):
            if _covered(other for other in kept if other is not one).issuperset(one.walks):
                kept.remove(one)
        return kept

    def _written(self, kept: Sequence[_Kept]) -> Iterator[Proposal]:
        known = {example.example for example in self.linked.procedure.examples}
        for one, name in zip(kept, named((one.about for one in kept), known), strict=True):
            written = text_of(name, one.tree)
            root: Any = parse(f"examples:\n{written}".encode(), name).root
            assert root["examples"] == [{"example": name, **one.tree}]  # it reads as what was walked
            yield Proposal(name, written, one.walks)


def _covered(kept: Iterable[_Kept]) -> set[Key]:
    return {way for one in kept for way in one.walks}
