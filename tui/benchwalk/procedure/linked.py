"""A procedure whose names are settled: what each name is, where each step leads, what each condition asks.

`link` never raises on what an author wrote; what does not fit is a finding with its place, and the part it stands in
is left out. A procedure with an error among its findings is not walked.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator
from dataclasses import dataclass, field
from typing import Any, TypeVar

from ..errors import Misread
from ..plaindata import Frozen
from ..quantities import Quantity, Range, parse_heard, parse_quantity
from . import model
from .bound import Bound
from .findings import Finding, Pos, Related
from .source import Source
from .variables import Variable

T = TypeVar("T")
H = TypeVar("H", bound=Hashable)

BESIDE_A_NOTE = {"second": "Hz", "sure": "cents"}
"""What may be heard beside a note, with its unit: a second note, and how sure the note is. Nobody has to say them."""

Find = Callable[[str], "Linked | None"]
Path = tuple[str | int, ...]


class Edge(Frozen):
    """A way from one step to another that a walk can take.

    `kind`: next, go, branch, way, late, event, then (where a spent branch or event leads), and sent-on: the step that
    `first` leads to had been entered too often, and its `entered: then` (or that of the step sent to) leads here.
    `line` is the branch's index, of an event the event's; `bounded` says that it can be taken only so often in one
    run; `path` is its place in the file, of sent-on the place of that `then`.
    """

    source: str
    target: str
    kind: str
    line: int | None
    bounded: bool
    path: Path
    sent_from: Edge | None = None

    @property
    def first(self) -> Edge:
        """What sends the walk off from `source`: itself, or the way to the step that sends on."""
        return self.sent_from or self

    @property
    def stays(self) -> bool:
        """Whether it is an event that leads to the step it strikes at."""
        return self.source == self.target and self.first.path[0] == "whenever"


class Argument(Frozen):
    """What a sum is given: `how` is last, previous, every, or literal (then `name` is the text itself)."""

    how: str
    name: str


class Worked:
    """What was worked out of parts of a procedure, each kept under all that it depends on.

    The next text of the same procedure (`before`: what was worked out of this one) takes over what it asks for again;
    the rest goes with the procedure. What is kept here must know no procedure.
    """

    def __init__(self, before: Worked | None = None) -> None:
        self._now: dict[Hashable, Any] = {}
        self._before = before._now if before is not None else {}

    def of(self, key: Hashable, make: Callable[[], T]) -> T:
        """What `make` makes; `key` holds all that it is made of."""
        found: T
        try:
            found = self._now[key]
        except KeyError:
            found = self._now[key] = self._before[key] if key in self._before else make()
        return found

    def again(self, key: Hashable, given: object, make: Callable[[], T]) -> T:
        """What `make` makes of what is `given`, which is no key: it is taken over where that is alike."""
        kept = self._before.get(key)
        found: T = kept[1] if kept is not None and kept[0] == given else make()
        self._now[key] = given, found
        return found

    def still(self, key: Hashable, holds: Callable[[T], bool], make: Callable[[], T]) -> T:
        """What `make` makes; what it made before is taken over where that still `holds`."""
        kept = self._now.get(key, self._before.get(key))
        found: T = kept if kept is not None and holds(kept) else make()
        self._now[key] = found
        return found

    def same(self, made: H) -> H:
        """The one that is alike and was there before, if any: what is the very same is found again at once."""
        return self.of(made, lambda: made)


@dataclass(eq=False)
class Linked:
    """A procedure with its names settled."""

    source: Source
    procedure: model.Procedure
    text: str
    content: str
    steps: dict[str, model.Step] = field(default_factory=dict)
    at: dict[str, int] = field(default_factory=dict)
    stage: dict[str, str] = field(default_factory=dict)
    variables: dict[str, Variable] = field(default_factory=dict)
    limits: dict[str, Quantity] = field(default_factory=dict)
    possible: dict[str, Range] = field(default_factory=dict)
    wanted: dict[str, Range] = field(default_factory=dict)
    wanted_from: dict[str, str] = field(default_factory=dict)
    arguments: dict[str, dict[str, Argument]] = field(default_factory=dict)
    conditions: dict[Path, Bound] = field(default_factory=dict)
    runs: dict[str, Linked] = field(default_factory=dict)
    edges: list[Edge] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    _known: dict[object, Any] = field(default_factory=dict)

    def once(self, make: Callable[[Linked], T]) -> T:
        """What `make` makes of this procedure, made once. It is kept here, so that it goes with the procedure: a table
        beside it, with weak keys, would keep alive whatever it holds that knows the procedure."""
        if make not in self._known:
            self._known[make] = make(self)
        found: T = self._known[make]
        return found

    @property
    def worked(self) -> Worked:
        """What was worked out of its parts."""
        return self.once(_nothing_worked)

    def goes_on(self, before: Worked | None) -> None:
        """Take over what was worked out of an earlier text, as far as it is asked for again."""
        self._known[_nothing_worked] = Worked(before)

    def __getstate__(self) -> dict[str, Any]:
        return {**self.__dict__, "_known": {}}

    @property
    def id(self) -> str:
        """The procedure's id."""
        return self.procedure.procedure

    @property
    def sound(self) -> bool:
        """Whether it can be walked at all: nothing about its shape and names is an error."""
        return not any(f.severity == "error" for f in self.findings) and all(r.sound for r in self.runs.values())

    def place(self, *path: str | int) -> Pos:
        """Where a part stands in the file."""
        return self.source.document.locate(path)

    def inside(self, path: Path, index: int) -> Pos:
        """Where one character of a text stands in the file, through quotes and folded lines."""
        return self.source.document.place_in(path, index)

    def say(
        self, rule: str, message: str, *path: str | int, severity: str = "error", related: tuple[Related, ...] = ()
    ) -> None:
        """Add a finding about the part at `path`."""
        self.findings.append(Finding(rule, message, self.place(*path), severity, related))

    def next_of(self, step: str) -> str | None:
        """The step that follows in the file."""
        index = self.at[step] + 1
        return self.procedure.steps[index].step if index < len(self.procedure.steps) else None

    def reading(self, name: str) -> model.Reading | None:
        """The reading of that name, here or (`far.gap`) in a run."""
        run, dot, inner = name.partition(".")
        if dot and run in self.runs:
            return self.runs[run].procedure.readings.get(inner)
        return self.procedure.readings.get(name)

    def variable(self, name: str) -> Variable | None:
        """What a sum or a text may name: a variable, or what may be heard beside a note (`rod_note.second`)."""
        known = self.variables.get(name)
        head, dot, part = name.rpartition(".")
        if known is not None or not dot or part not in BESIDE_A_NOTE:
            return known
        note = self.variables.get(head)
        if note is None or note.kind != "note":
            return None
        return Variable(name, "note" if part == "second" else "number", BESIDE_A_NOTE[part], places=note.places)

    def outcomes(self) -> list[str]:
        """The ways it can end: done, stopped, referred, as far as steps say so."""
        ends = {s.end.as_ for s in self.steps.values() if s.end}
        return [word for word in ("done", "stopped", "referred") if word in ends]

    def needed_facts(self) -> list[str]:
        """The facts of the drum that it and what it runs ask for, in order; worked out once, for a walk asks often."""
        return self.once(_needed_facts)

    def all_texts(self) -> dict[str, str]:
        """id -> text hash of every procedure it runs, itself left out."""
        found: dict[str, str] = {}
        for run in self.runs.values():
            found[run.id] = run.text
            found.update(run.all_texts())
        return found

    def asked(self) -> Iterator[tuple[str, Linked]]:
        """What is run from here: by which id each was asked for in the library, and what was found."""
        runs = [step.run for step in self.steps.values()] + [event.run for event in self.procedure.whenever]
        for run in runs:
            if run is not None and run.as_ in self.runs:
                yield run.procedure, self.runs[run.as_]

    def family(self) -> Iterator[Linked]:
        """Itself and every procedure it runs, once each."""
        seen: set[str] = set()
        waiting = [self]
        while waiting:
            linked = waiting.pop(0)
            if linked.text not in seen:
                seen.add(linked.text)
                yield linked
                waiting += linked.runs.values()

    def events_at(self, step: str) -> list[model.Whenever]:
        """What may happen while at that step."""
        return [w for w in self.procedure.whenever if covers(w, step, self.stage.get(step))]


def _nothing_worked(_linked: Linked) -> Worked:
    return Worked()


def _needed_facts(linked: Linked) -> list[str]:
    names = dict.fromkeys(linked.procedure.drum)
    for run in linked.runs.values():
        names.update(dict.fromkeys(run.needed_facts()))
    return list(names)


def covers(event: model.Whenever, step: str, stage: str | None) -> bool:
    """Whether the event's range takes in that step."""
    return any(
        word in ("everywhere", step) or (stage is not None and word == f"stage {stage}") for word in event.during
    )


def typed_value(text: str, reading: model.Reading) -> Quantity:
    """What was typed for a number, whole number or note, in the reading's own unit; Misread where it is not clear."""
    if reading.sort == "note":
        return parse_heard(text)
    return parse_quantity(text, reading.unit or "", whole=reading.sort == "whole")


def argument(text: str) -> Argument:
    """`last x`, `previous x`, `every x`, or just `x`."""
    how, space, name = text.strip().partition(" ")
    if space and how in ("last", "previous", "every"):
        return Argument(how, name.strip())
    return Argument("last", text.strip())


def quantity_or_none(text: str, unit: str) -> Quantity | None:
    """The text as a quantity in `unit`, or None where it is none."""
    try:
        return parse_quantity(text, unit)
    except Misread:
        return None
