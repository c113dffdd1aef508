"""A branch that is never taken.

Its condition cannot be true here: it contradicts itself, lies outside what is possible, asks for a value to be missing
that is always there, or, in `first_of`, stands below lines that leave it nothing. Take it out, or mend the condition.

It is only advice where just the ways here rule the branch out: on every one of them the value is missing, so no branch
on what it is can be taken, or a branch further back has said otherwise about it.

Wrong:

    readings:
      gap: {ask: Gap from plate to hoop, unit: mm, possible: 0 .. 30}
    steps:
      - step: gap
        record: [gap]
        first_of:
          - {when: gap < 5 mm, go: hand-on}
          - {when: gap < 3 mm, go: hand-on}
          - {when: otherwise, go: hand-back}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
      - step: hand-on
        do: Put the drum by for the senior.
        end: referred

Says:

    8:16: 'gap < 3 mm' is never taken: the lines above leave it nothing [idle-branch]

Right:

    readings:
      gap: {ask: Gap from plate to hoop, unit: mm, possible: 0 .. 30}
    steps:
      - step: gap
        record: [gap]
        branches:
          - {when: gap < 5 mm, go: hand-on}
          - {when: gap >= 5 mm, go: hand-back}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
      - step: hand-on
        do: Put the drum by for the senior.
        end: referred
"""

from __future__ import annotations

from collections.abc import Iterator

from ...procedure.bound import IsMissing
from ...procedure.findings import Finding
from ...procedure.linked import Linked
from ..coverage import coverage
from ..flow import flow_of
from ..judged import Judged, judged
from ..moments import NEVER, NOT_THERE, RECORDED

ID = "idle-branch"


def check(linked: Linked) -> Iterator[Finding]:
    """One finding for each branch that is never taken; `otherwise` has a rule of its own."""
    for step in judged(linked):
        for index in step.report.idle:
            if step.bounds[index] is not None:
                message = f"{step.called(index)} is never taken: {_why(step, index)}"
                yield Finding(ID, message, step.place(index, "when"))
        told = set()
        for index, name in _ruled_out(step):
            told.add(index)
            message = f"{step.called(index)} is never taken: '{name}' is {_state(step, name)} on every way here"
            yield Finding(ID, message, step.place(index, "when"), severity="advice")
        for index in step.ruled_out:
            bound = step.bounds[index]
            if bound is not None and index not in told and not any(_never_there(step, n) for n in bound.variables):
                message = f"{step.called(index)} is never taken: branches on every way here have said otherwise"
                yield Finding(ID, message, step.place(index, "when"), severity="advice")


def _why(step: Judged, index: int) -> str:
    bound = step.bounds[index]
    assert bound is not None
    alone = coverage([bound], missing=step.missing, mode="first")
    if not alone.idle:
        return "the lines above leave it nothing"
    asked = [atom.variable.name for atom in bound.atoms if isinstance(atom.test, IsMissing)]
    names = [name for name in asked if not step.missing.get(name)]
    if names and not coverage([bound], missing={**step.missing, **dict.fromkeys(names, True)}, mode="first").idle:
        return f"'{names[0]}' is always there when the walk comes here"
    return "no possible value makes it true"


def _ruled_out(step: Judged) -> Iterator[tuple[int, str]]:
    """Branches that need a value which is there on no way, or lack one that is there on every way."""
    flow = flow_of(step.linked)
    state = flow.branch.get(step.step.step)
    if state is None:
        return
    for index, line in enumerate(flow.refined.get(step.step.step, [])):
        if index in step.report.idle:
            continue
        for name in line.there:
            facts = flow.facts(state, name)
            if not facts & RECORDED and facts & NOT_THERE and not _never_at_all(step, name):
                yield index, name
                break


def _never_there(step: Judged, name: str) -> bool:
    """Nothing that is read here is there on any way: that is told as such, or by `unrecorded`."""
    flow = flow_of(step.linked)
    return name != "hold" and not flow.facts(flow.branch[step.step.step], name) & RECORDED


def _never_at_all(step: Judged, name: str) -> bool:
    """Nothing records it on any way: `unrecorded` tells that."""
    flow = flow_of(step.linked)
    return flow.facts(flow.branch[step.step.step], name) == NEVER


def _state(step: Judged, name: str) -> str:
    variable = step.linked.variables.get(name)
    return "without a result" if variable is not None and variable.sum else "missing"
