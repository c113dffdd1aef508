"""A procedure whose names are settled: what each name is, where each step leads, what each condition asks.

`link` never raises on what an author wrote; what does not fit is a finding with its place, and the part it stands in
is left out. A procedure with an error among its findings is not walked.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from ..errors import Misread
from ..quantities import Quantity, Range, parse_note, parse_quantity
from . import model
from .bound import Bound
from .findings import Finding, Pos, Related
from .read import Source
from .variables import Variable

Find = Callable[[str], "Linked | None"]
Path = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Edge:
    """A way from one step to another.

    `kind`: next, go, branch, way, late, event, and then (where a spent bound leads). `line` is the branch's index;
    `bounded` says that it can be taken only so often; `path` is its place in the file.
    """

    source: str
    target: str
    kind: str
    line: int | None
    bounded: bool
    path: Path


@dataclass(frozen=True, slots=True)
class Argument:
    """What a sum is given: `how` is last, previous, every, or literal (then `name` is the text itself)."""

    how: str
    name: str


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

    def outcomes(self) -> list[str]:
        """The ways it can end: done, stopped, referred, as far as steps say so."""
        ends = {s.end.as_ for s in self.steps.values() if s.end}
        return [word for word in ("done", "stopped", "referred") if word in ends]

    def needed_facts(self) -> list[str]:
        """The facts of the drum that it and what it runs ask for, in order."""
        names = list(self.procedure.drum)
        for run in self.runs.values():
            names += [n for n in run.needed_facts() if n not in names]
        return names

    def all_texts(self) -> dict[str, str]:
        """id -> text hash of every procedure it runs, itself left out."""
        found: dict[str, str] = {}
        for run in self.runs.values():
            found[run.id] = run.text
            found.update(run.all_texts())
        return found

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


def covers(event: model.Whenever, step: str, stage: str | None) -> bool:
    """Whether the event's range takes in that step."""
    return any(
        word in ("everywhere", step) or (stage is not None and word == f"stage {stage}") for word in event.during
    )


def typed_value(text: str, reading: model.Reading) -> Quantity:
    """What was typed for a number, whole number or note, in the reading's own unit; Misread where it is not clear."""
    if reading.sort == "note":
        return parse_note(text)
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
