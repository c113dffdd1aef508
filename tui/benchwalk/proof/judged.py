"""The branches of every step, judged once (coverage) with what the data flow says may be missing there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

from ..procedure.bound import Bound
from ..procedure.findings import Pos
from ..procedure.linked import Linked, Path
from ..procedure.model import Step
from .coverage import CoverageReport, Mode, coverage
from .findable import key_place
from .flow import Flow, flow_of
from .followed import paths_to
from .moments import LEFT_OUT, NEVER, NO_RESULT, PARTLY
from .refine import conditions, missing_here
from .space import Missing
from .witness import Witness


@dataclass(frozen=True)
class Judged:
    """One step's branches: `bounds` are their conditions (None: otherwise), `missing` what may be missing there.

    Gaps and overlaps of the `report` are those that some way comes to; `ruled_out` are branches that could be taken by
    their own words and are taken on no way here.
    """

    linked: Linked
    step: Step
    bounds: Sequence[Bound | None]
    missing: Mapping[str, Missing]
    report: CoverageReport
    ruled_out: tuple[int, ...] = ()

    @property
    def mode(self) -> Mode:
        """Whether every branch counts (`branches`) or the first that fits (`first_of`)."""
        return "first" if self.step.first_of else "once"

    def path(self, *more: str | int) -> Path:
        """The path of the step's branches, or of a part of them."""
        key = "first_of" if self.step.first_of else "branches"
        return ("steps", self.linked.at[self.step.step], key, *more)

    def place(self, *more: str | int) -> Pos:
        """Where the branches, or a part of them, stand in the file."""
        return self.linked.place(*self.path(*more)) if more else key_place(self.linked, self.path())

    def called(self, index: int) -> str:
        """A branch as sentences name it."""
        line = self.step.lines[index]
        if line.when.strip() == "otherwise":
            return "'otherwise'"
        return f"'{line.when.strip()}'" if len(line.when) <= 50 else f"branch {index + 1}"

    def lacking(self, witness: Witness) -> list[str]:
        """The values that are missing in a case."""
        found = []
        for name in self.missing:
            if name in witness.view.values:
                value = witness.view.values[name]
                if value is None or (isinstance(value, Mapping) and None in value.values()):
                    found.append(name)
            elif witness.values.get(name) == "no result":
                found.append(name)
        return found


def judged(linked: Linked) -> list[Judged]:
    """Every step with branches whose conditions could all be read, in the order of the file."""
    return linked.once(_all)


def _all(linked: Linked) -> list[Judged]:
    return [made for step in linked.steps.values() if (made := _judge(flow_of(linked), step))]


def _judge(flow: Flow, step: Step) -> Judged | None:
    bounds = conditions(flow, step) if step.lines else None
    if bounds is None:
        return None
    missing = missing_here(flow, flow.branch.get(step.step), step, bounds)
    mode: Mode = "first" if step.first_of else "once"
    worked = flow.linked.worked

    def judge() -> CoverageReport:  # steps that ask the same are judged together
        key = (coverage, tuple(bounds), frozenset(missing.items()), mode)
        return worked.of(key, partial(coverage, bounds, missing=missing, mode=mode))

    report = worked.again((coverage, step.step), (bounds, missing, mode), judge)
    made = Judged(flow.linked, step, bounds, missing, report)
    read = [name for bound in bounds if bound for name in bound.variables]
    faulty = bool(report.gaps or report.overlaps)
    paths = None if report.undecided else paths_to(flow.linked, step.step, read, wide=faulty)
    if paths is None:
        return made
    beside = [Bound(atom) for name in read if name in paths.names for atom in paths.tests[name]]
    along = coverage(
        bounds, missing=missing, mode=mode, beside=beside, only=lambda space: paths.cells(step.step, space)
    )
    if along.undecided:
        return made
    if faulty:
        report = replace(report, gaps=along.gaps, overlaps=along.overlaps)
    return replace(made, report=report, ruled_out=tuple(index for index in along.idle if index not in report.idle))


def whole(linked: Linked) -> bool:
    """Whether every step records and works out only what there is, so that a value that is not there is no misspelt
    name's fault."""
    p = linked.procedure
    return all(
        set(step.record) <= p.readings.keys() and set(step.work_out) <= p.sums.keys() for step in linked.steps.values()
    )


def case(witness: Witness) -> str:
    """A case in words: `gap 10 mm, lie some`."""
    return ", ".join(f"{name} {value}" for name, value in witness.values.items()) or "any case"


def whence(facts: int, *, worked: bool = False) -> str:
    """Why a value may not be there, in words; `worked` says that it comes from a sum."""
    reasons = (
        (NEVER, "no step works it out" if worked else "no step records it"),
        (LEFT_OUT, "it may be left out"),
        (PARTLY, "it may be noted at some places only"),
        (NO_RESULT, "it may come to no result"),
    )
    return next((words for fact, words in reasons if facts & fact), "it is there")
