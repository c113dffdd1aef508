"""A value that is read before it is recorded, on some way.

Branches, sums, texts, `each`, sign-offs and waits read values; each must be recorded (worked out, chosen, run, walked)
on every way that leads there. The finding shows one way on which it is not, step by step.

Texts print a value that was left out by `optional` or `may_skip` as "not noted", and a sum that lacks such a value has
no result; that is no fault here. In branches a missing value is no fault as long as some branch is taken with it: one
that asks `is missing` or `has no result`, an `otherwise`, or one that is true whatever the value is.

A way counts only if its branches can be taken one after the other: what one says about a value holds until the value
is noted anew. A branch that can only be taken with a value there establishes it for what follows. Several places that
read the same value are told as one finding, at the first of them in the file. Nothing is said while a step records
something that is not there: mend that first.

Wrong:

    readings:
      key: {ask: Is the drum key at hand, choices: {here: it is here, gone: it is gone}}
      gap: {ask: Gap from plate to hoop, unit: mm, possible: 0 .. 30}
    steps:
      - step: look
        do: Look for the drum key.
        record: [key]
        branches:
          - {when: key is here, go: measure}
          - {when: key is gone, go: hand-back}
      - step: measure
        do: Measure the gap.
        record: [gap]
      - step: hand-back
        do: "Write {{ gap }} on the tag."
        end: done

Says:

    15:10: 'gap' is read here and not recorded on every way: look, hand-back [unrecorded]

Right:

    readings:
      key: {ask: Is the drum key at hand, choices: {here: it is here, gone: it is gone}}
      gap: {ask: Gap from plate to hoop, unit: mm, possible: 0 .. 30}
    steps:
      - step: look
        do: Look for the drum key.
        record: [key]
        branches:
          - {when: key is here, go: measure}
          - {when: key is gone, go: hand-on}
      - step: measure
        do: Measure the gap.
        record: [gap]
      - step: hand-back
        do: "Write {{ gap }} on the tag."
        end: done
      - step: hand-on
        do: Put the drum by until the key is found.
        end: stopped
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from ...procedure.findings import Finding
from ...procedure.linked import Linked, Path
from ..flow import Flow, flow_of
from ..followed import can_lack
from ..judged import judged, whole
from ..moments import NEVER, Use
from ..routes import places, route_to
from .coverage import never_recorded

ID = "unrecorded"
HOWS = frozenset(("text", "each", "sum", "covers", "wait"))


class Read(NamedTuple):
    """Where a value is read that may not be there: a use, or (without one) the branches of a step."""

    path: Path
    step: str
    use: Use | None
    line: int | None


def check(linked: Linked) -> Iterator[Finding]:
    """One finding for each value that is read somewhere without being recorded on every way there."""
    if not whole(linked):
        return
    flow = flow_of(linked)
    reads: dict[str, list[Read]] = {}
    for step, line, use, _ in flow.uses():
        known = flow.known(use.name)
        if use.how in HOWS and known is not None and can_lack(linked, step, line, known, NEVER):
            reads.setdefault(known, []).append(Read(use.path, step, use, line))
    for step_ in judged(linked):
        for gap in step_.report.gaps:
            name = never_recorded(step_, gap)
            if name is not None:
                known = flow.known(name) or name
                reads.setdefault(known, []).append(Read(step_.path(), step_.step.step, None, None))
    for name, found in reads.items():
        yield _finding(linked, flow, name, found)


def _finding(linked: Linked, flow: Flow, name: str, found: list[Read]) -> Finding:
    first = min(found, key=lambda read: linked.place(*read.path))
    use = first.use if first.line is None else None
    anywhere = _anywhere(linked, name)
    route = route_to(flow, name, first.step, NEVER, use, first.line) if anywhere else None
    others = {linked.place(*read.path) for read in found} - {linked.place(*first.path)}
    message = _sentence(linked, name, first)
    if route is not None:
        message += f": {route.text()}"
    if others:
        lines = ", ".join(str(line) for line in sorted({place.line for place in others}))
        message += f" (read in line{'s' if ',' in lines else ''} {lines} too)"
    related = places(linked, route.steps, route.ways) if route is not None else ()
    witness = {"path": route.text()} if route is not None else None
    return Finding(ID, message, linked.place(*first.path), related=related, witness=witness)


def _sentence(linked: Linked, name: str, read: Read) -> str:
    kind = _kind(linked, name)
    if name.startswith("step "):
        return f"this counts from '{name.removeprefix('step ')}', which is not walked on every way here"
    if not _anywhere(linked, name):
        return f"{kind} is read here, and no step {_verb(linked, name)}"
    if read.use is None:
        done = _done(linked, name)
        return f"{kind} is asked about and not {done} on every way here, and no branch is taken without it"
    if read.use.how == "sum":
        return f"this takes {kind}, which is not {_done(linked, name)} on every way here"
    if read.use.how == "covers":
        return f"the sign-off covers {kind}, which is not {_done(linked, name)} on every way here"
    return f"{kind} is read here and not {_done(linked, name)} on every way"


def _kind(linked: Linked, name: str) -> str:
    if name in linked.procedure.sums:
        return f"the sum '{name}'"
    return f"the run '{name.partition('.')[0]}'" if name.endswith(".outcome") else f"'{name}'"


def _done(linked: Linked, name: str) -> str:
    if name in linked.procedure.sums:
        return "worked out"
    return "walked" if name.endswith(".outcome") else "recorded"


def _verb(linked: Linked, name: str) -> str:
    return "works it out" if name in linked.procedure.sums else "records it"


def _anywhere(linked: Linked, name: str) -> bool:
    """Whether any step records it at all."""
    if name in linked.procedure.sums:
        return any(name in step.work_out for step in linked.steps.values())
    if name in linked.procedure.readings:
        return any(name in step.record for step in linked.steps.values())
    return True
