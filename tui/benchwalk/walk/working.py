"""Working out sums and noting findings, for the first time or again after a correction."""

from __future__ import annotations

from typing import Any

from ..procedure.linked import Linked
from ..procedure.model import Step
from ..procedure.parts import FindingDef
from ..signatures import SIGNATURES
from .desk import Bench, Desk
from .inputs import inputs_of, output_data
from .phase import asked_names
from .state import Visit
from .view import View
from .wording import render


def work_out(desk: Desk, name: str, visit: Visit, again: int | None) -> None:
    """Work a sum out as of now, or again as of the event it was first worked out at."""
    view = desk.view(upto=again, visit=visit)
    use = view.linked.procedure.sums[name].use
    outputs, no_result, sources = result_of(desk.bench, name, view, visit.path)
    desk.emit(
        "worked",
        visit=visit.number,
        run=visit.run,
        name=name,
        use=use,
        version=SIGNATURES[use].version,
        sources=sources,
        outputs=outputs,
        no_result=no_result,
        again=again,
    )


def no_result(desk: Desk, name: str, visit: Visit, why: str) -> None:
    """Note that a sum has no result here, because its step was skipped; what it came to earlier counts no more."""
    use = desk.book(visit.text).procedure.sums[name].use
    version = SIGNATURES[use].version
    kept: dict[str, Any] = {"sources": [], "outputs": {}, "no_result": why, "again": None}
    desk.emit("worked", visit=visit.number, run=visit.run, name=name, use=use, version=version, **kept)


def result_of(bench: Bench, name: str, view: View, path: str) -> tuple[dict[str, Any], str | None, list[int]]:
    """(outputs as data, why there is no result, the events it rests on) of a sum over what a view sees."""
    use = view.linked.procedure.sums[name].use
    given, lacking, sources = inputs_of(name, view)
    assumed = bench.assumed(path, name, view.visit) if bench.assumed else None
    if assumed is not None:
        return ({}, assumed, sources) if isinstance(assumed, str) else (assumed, None, sources)
    if lacking:
        return {}, lacking, sources
    found = bench.compute(use, given)
    if not isinstance(found, dict):
        return {}, str(found.why), sources
    return {key: output_data(use, key, value) for key, value in found.items()}, None, sources


def reads(linked: Linked, step: Step, view: View) -> list[int]:
    """The events that the way on from a step rests on: what its branches ask, and which places it is done at."""
    names = asked_names(linked, step)
    for index in range(len(step.each or ())):
        bound = linked.conditions.get(("steps", linked.at[step.step], "each", index))
        names += bound.variables if bound is not None else ()
    return sorted({n for name in names for n in view.sources(name)})


def _found_here(desk: Desk, name: str, visit: Visit) -> bool:
    here = (f for f in desk.state.found if f.visit == visit.number and desk.state.live(f.visit, f.n))
    return any(f.finding == name for f in here)


def find(desk: Desk, name: str, visit: Visit, again: int | None = None, upto: int | None = None) -> None:
    """Note a finding once a visit, with the readings that prove it, as of event `upto` where that is given."""
    if again is None and _found_here(desk, name, visit):
        return
    view = desk.view(upto=again or upto, visit=visit)
    finding: FindingDef = view.linked.procedure.findings[name]
    evidence = sorted({n for reading in finding.evidence for n in view.sources(reading)})
    desk.emit(
        "found",
        visit=visit.number,
        run=visit.run,
        finding=name,
        sentence=render(finding.found, view, ("findings", name, "found")),
        grade=finding.grade,
        evidence=evidence,
        proposes=list(finding.proposes),
        again=again,
    )
