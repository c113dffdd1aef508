"""Branches that do not cover every possible value exactly once.

Whatever is noted at a step, exactly one branch of `branches` must be taken; of `first_of` at least one line must fit.
The values are cut at every constant of the conditions and at the ends of what is wanted and possible, so the answer is
exact, boundary values included; what no branch takes is shown as a case that can be typed and, where it can be said, as
a condition to put in. A finer value than a reading resolves can still be typed, and is a case; what a sum gives is
rounded to its resolution, so that nothing lies between 1.4 and 1.5. A value that may be missing here (left out,
skipped, without a result) is a case too. That it was never recorded on some way is told by `unrecorded`.

A case counts if some walk comes to it: what a branch further back said about a value holds until the value is noted
anew, so a branch may be left out here that the ways here rule out. A sum's result is taken as free of what the sum was
given, and how often a way was gone plays no part. Where more than 20000 combinations of values would have to be
followed along the ways, fewer are, and a case may be told that no walk comes to; where the branches of one step read
more than 200000, the rule says that it does not decide, as advice.

Wrong:

    readings:
      gap: {ask: Gap from plate to hoop, unit: mm, possible: 0 .. 30}
    steps:
      - step: gap
        record: [gap]
        branches:
          - {when: gap < 3 mm, go: hand-on}
          - {when: gap > 3 mm, go: hand-back}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
      - step: hand-on
        do: Put the drum by for the senior.
        end: referred

Says:

    6:5: no branch is taken for gap 3 mm; missing is a branch for 'gap = 3 mm' [coverage]

Right:

    readings:
      gap: {ask: Gap from plate to hoop, unit: mm, possible: 0 .. 30}
    steps:
      - step: gap
        record: [gap]
        branches:
          - {when: gap < 3 mm, go: hand-on}
          - {when: gap >= 3 mm, go: hand-back}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
      - step: hand-on
        do: Put the drum by for the senior.
        end: referred
"""

from __future__ import annotations

from collections.abc import Iterator

from ...procedure.findings import Finding, Related
from ...procedure.linked import Linked
from ..coverage import CAP
from ..flow import Flow, flow_of
from ..judged import Judged, case, judged, whence
from ..moments import LEFT_OUT, NEVER, NO_RESULT, PARTLY
from ..routes import places, route_to
from ..witness import Witness

ID = "coverage"


def check(linked: Linked) -> Iterator[Finding]:
    """Gaps and overlaps of every step's branches."""
    for step in judged(linked):
        report = step.report
        if report.undecided:
            message = f"not decided here: the branches read more than {CAP} combinations of values; split the step"
            yield Finding(ID, message, step.place(), severity="advice")
        for overlap in report.overlaps:
            first, second = step.called(overlap.first), step.called(overlap.second)
            message = f"{first} and {second} are both taken for {case(overlap.witness)}; exactly one must be"
            related = (Related(step.place(overlap.first, "when"), "the other stands here"),)
            place = step.place(overlap.second, "when")
            yield Finding(ID, message, place, related=related, witness=dict(overlap.witness.values))
        for gap in report.gaps:
            if never_recorded(step, gap) is None:
                yield _gap(step, gap, flow_of(linked))


def never_recorded(step: Judged, gap: Witness) -> str | None:
    """A value of the case that no step on some way records; such a gap is told by `unrecorded`."""
    flow = flow_of(step.linked)
    state = flow.branch.get(step.step.step)
    for name in step.lacking(gap):
        if state is not None and name != "hold" and flow.facts(state, name) & NEVER:
            return name
    return None


def _gap(step: Judged, gap: Witness, flow: Flow) -> Finding:
    message = f"no branch is taken for {case(gap)}"
    if gap.region:
        message += f"; missing is a branch for '{gap.region}'"
    elif step.mode == "first":
        message += "; the last line must cover what is left"
    witness = dict(gap.values)
    related: tuple[Related, ...] = ()
    for name in step.lacking(gap):
        if name == "hold":
            message += " (the step may be skipped)"
            continue
        facts = flow.facts(flow.branch[step.step.step], name)
        message += f" ({name}: {whence(facts)})"
        route = route_to(flow, name, step.step.step, facts & (LEFT_OUT | NO_RESULT | PARTLY))
        if route is not None and not related:
            witness["path"] = route.text()
            related = places(step.linked, route.steps, route.ways)
    return Finding(ID, message, step.place(), related=related, witness=witness)
