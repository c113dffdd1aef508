"""A value that must be there and may not be.

Three places take a value and have no way of doing without it: what a caller hands to a run (inside, nothing asks
whether it is there), the range a reading is judged against (`wanted: from room.gap`), and the places a reading is asked
at (`where: advice.moves`). It must be recorded on every way here; a value left out, or a sum without a result, is a
fault too. An earlier branch on the way that can only be taken with the value there (`room has a result`, `room.r > 4
mm`) settles it.

Wrong:

    limits:
      least_gap: {is: 1 mm, sure: C, whose: the shop, because: The plate must clear the hoop}
    readings:
      clear: {ask: Clear length, unit: mm, possible: 100 .. 600}
      set: {ask: Set length, unit: mm, possible: 100 .. 600}
      gap: {ask: Gap from plate to hoop, unit: mm, possible: 0 .. 30, wanted: from room.gap}
    sums:
      room: {use: snare-room, with: {clear: clear, set: set, least: least_gap}}
    steps:
      - step: measure
        record: [clear, set]
        work_out: [room]
      - step: gap
        record: [gap]
        branches:
          - {when: gap is within, go: hand-back}
          - {when: gap is not within, go: hand-on}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
      - step: hand-on
        do: Put the drum by for the senior.
        end: referred

Says:

    6:75: at 'gap' this is judged by 'room.gap', and it may come to no result on the way: measure, gap [needs-value]

Right:

    limits:
      least_gap: {is: 1 mm, sure: C, whose: the shop, because: The plate must clear the hoop}
    readings:
      clear: {ask: Clear length, unit: mm, possible: 100 .. 600}
      set: {ask: Set length, unit: mm, possible: 100 .. 600}
      gap: {ask: Gap from plate to hoop, unit: mm, possible: 0 .. 30, wanted: from room.gap}
    sums:
      room: {use: snare-room, with: {clear: clear, set: set, least: least_gap}}
    steps:
      - step: measure
        record: [clear, set]
        work_out: [room]
        branches:
          - {when: room has a result, go: gap}
          - {when: room has no result, go: hand-on}
      - step: gap
        record: [gap]
        branches:
          - {when: gap is within, go: hand-back}
          - {when: gap is not within, go: hand-on}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
      - step: hand-on
        do: Put the drum by for the senior.
        end: referred
"""

from __future__ import annotations

from collections.abc import Iterator

from ...procedure.findings import Finding
from ...procedure.linked import Linked
from ..flow import flow_of
from ..followed import can_lack
from ..judged import whence, whole
from ..moments import NOT_THERE, Use
from ..routes import places, route_to

ID = "needs-value"
HOWS = frozenset(("with", "wanted", "where"))


def check(linked: Linked) -> Iterator[Finding]:
    """One finding for each place that needs a value, with a way on which it is not there."""
    if not whole(linked):
        return
    flow = flow_of(linked)
    seen = set()
    for step, line, use, facts in flow.uses():
        if use.how not in HOWS or (use.path, step) in seen:
            continue
        seen.add((use.path, step))
        if not can_lack(linked, step, line, use.name, use.bad):
            continue
        worked = flow.known(use.name) in linked.procedure.sums
        message = f"{_said(step, use)}, and {whence(facts, worked=worked)}"
        route = route_to(flow, use.name, step, facts & NOT_THERE, use)
        if route is None:
            yield Finding(ID, message, linked.place(*use.path))
            continue
        message += f" on the way: {route.text()}"
        related = places(linked, route.steps, route.ways)
        yield Finding(ID, message, linked.place(*use.path), related=related, witness={"path": route.text()})


def _said(step: str, use: Use) -> str:
    if use.how == "with":
        return f"'{use.name}' is handed in here"
    if use.how == "wanted":
        return f"at '{step}' this is judged by '{use.name}'"
    return f"at '{step}' it is asked where '{use.name}' says"
