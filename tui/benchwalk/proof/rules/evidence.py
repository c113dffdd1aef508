"""Evidence that some way does not record.

What a finding names as `evidence` must be recorded by the time the run ends: before the finding, with it, or after it,
on every way. What is left out because it is optional or its step is skipped is no fault. The finding shows a way on
which the fault is found and the evidence never recorded.

Wrong:

    readings:
      lie: {ask: How do the snares lie, choices: {all: All touch, some: Some lift}}
      picture: {ask: The snares from the side, kind: picture}
    findings:
      lifted: {found: Some strands lift., grade: refer, evidence: [lie, picture]}
    steps:
      - step: lie
        record: [lie]
        branches:
          - {when: lie is all, go: photo}
          - {when: lie is some, find: lifted, go: hand-on}
      - step: photo
        do: Take a picture from the side.
        record: [picture]
        end: done
      - step: hand-on
        do: Put the drum by for the senior.
        end: referred

Says:

    5:69: 'picture' is to prove 'lifted', found at 'lie', and is not recorded on every way: lie, hand-on [evidence]

Right:

    readings:
      lie: {ask: How do the snares lie, choices: {all: All touch, some: Some lift}}
      picture: {ask: The snares from the side, kind: picture}
    findings:
      lifted: {found: Some strands lift., grade: refer, evidence: [lie, picture]}
    steps:
      - step: lie
        record: [lie]
        branches:
          - {when: lie is all, go: hand-back}
          - {when: lie is some, find: lifted, go: photo}
      - step: photo
        do: Take a picture from the side.
        record: [picture]
        end: referred
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
"""

from __future__ import annotations

from collections.abc import Iterator

from ...procedure.findings import Finding
from ...procedure.linked import Edge, Linked
from ..flow import Flow, flow_of, leaves
from ..followed import can_lack
from ..judged import whole
from ..moments import NEVER
from ..routes import Route, find_route, places, route_to

ID = "evidence"


def check(linked: Linked) -> Iterator[Finding]:
    """One finding for each piece of evidence that a way through the finding does not record."""
    if not whole(linked):
        return
    flow = flow_of(linked)
    told_already = set()
    for name, step in linked.steps.items():
        if name not in flow.branch:
            continue
        for line, branch in enumerate(step.lines):
            for found in branch.find:
                finding = linked.procedure.findings.get(found)
                for number, evidence in enumerate(finding.evidence if finding else ()):
                    if (found, evidence) in told_already:
                        continue
                    known = flow.known(evidence)
                    if known is None or not flow.facts(flow.on_line(name, line), evidence) & NEVER:
                        continue
                    if not can_lack(linked, name, line, evidence, NEVER):
                        continue
                    route = _unproven(flow, known, name, line)
                    if route is not None:
                        told_already.add((found, evidence))
                        yield _finding(linked, found, evidence, number, name, route)


def _unproven(flow: Flow, evidence: str, step: str, line: int) -> Route | None:
    """A walk that takes the branch and ends with the evidence never recorded."""
    ways = [way for way in flow.graph.out[step] if leaves(way.first) == (0, line)]
    after = find_route(
        flow, evidence, [(way.target, NEVER) for way in ways], lambda s, fact: _ends(flow, evidence, s, fact)
    )
    before = route_to(flow, evidence, step, NEVER, line=line)
    if after is None or before is None:
        return None
    taken: Edge = next(way for way in ways if way.target == after.steps[0])
    return Route([*before.steps, *after.steps], [*before.ways, taken, *after.ways], [*before.facts, *after.facts])


def _ends(flow: Flow, name: str, step: str, fact: int) -> bool:
    if flow.linked.steps[step].end is None:
        return False
    return bool(flow.effects[step].single(flow.bit[name], fact, flow.at[step])[0] & NEVER)


def _finding(linked: Linked, found: str, evidence: str, number: int, step: str, route: Route) -> Finding:
    message = f"'{evidence}' is to prove '{found}', found at '{step}', and is not recorded on every way: {route.text()}"
    place = linked.place("findings", found, "evidence", number)
    related = places(linked, route.steps, route.ways)
    return Finding(ID, message, place, related=related, witness={"path": route.text()})
