"""Something given that a way to `done` does not record.

What a procedure `gives` is recorded on every way to `end: done`, so that its caller may rely on it; on ways to stopped
and referred it may be missing. A reading that is optional, or recorded in a step that may be skipped, cannot be given.

Wrong:

    gives: [stopper]
    readings:
      clamp: {ask: The clamp, choices: {flat: is a flat clamp, screw: is a screw}}
      stopper: {ask: The cord is stopped by, choices: {knot: a knot, washer: a washer}}
    steps:
      - step: clamp
        record: [clamp]
        branches:
          - {when: clamp is flat, go: tied}
          - {when: clamp is screw, go: stop-knot}
      - step: stop-knot
        do: Stop the cord.
        record: [stopper]
      - step: tied
        do: Leave the tail long.
        end: done

Says:

    1:9: 'stopper' is given, and no step records it on the way to 'tied': clamp, tied [gives]

Right:

    gives: [stopper]
    readings:
      clamp: {ask: The clamp, choices: {flat: is a flat clamp, screw: is a screw}}
      stopper: {ask: The cord is stopped by, choices: {clamp: the clamp, knot: a knot, washer: a washer}}
    steps:
      - step: stop-knot
        do: Stop the cord.
        record: [clamp, stopper]
      - step: tied
        do: Leave the tail long.
        end: done
"""

from __future__ import annotations

from collections.abc import Iterator

from ...procedure.findings import Finding
from ...procedure.linked import Linked
from ..flow import flow_of
from ..followed import can_lack
from ..judged import whence, whole
from ..moments import NOT_THERE
from ..routes import places, route_to

ID = "gives"


def check(linked: Linked) -> Iterator[Finding]:
    """One finding for each thing given that is not recorded on some way to done."""
    if not whole(linked):
        return
    flow = flow_of(linked)
    for number, name in enumerate(linked.procedure.gives):
        known = flow.known(name)
        if known is None:
            continue
        for step in flow.graph.ends:
            end = linked.steps[step].end
            facts = flow.facts(flow.branch[step], name) & NOT_THERE if step in flow.branch else 0
            if end is None or end.as_ != "done" or not facts or not can_lack(linked, step, None, name, facts):
                continue
            message = f"'{name}' is given, and {whence(facts)} on the way to '{step}'"
            route = route_to(flow, name, step, facts)
            if route is not None:
                message += f": {route.text()}"
            related = places(linked, route.steps, route.ways) if route else ()
            witness = {"path": route.text()} if route else None
            yield Finding(ID, message, linked.place("gives", number), related=related, witness=witness)
            break
