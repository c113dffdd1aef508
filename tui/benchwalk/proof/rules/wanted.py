"""A value outside what is wanted that leads on like any other.

What is wanted must matter. At the step whose branches read the value, a value outside must lead elsewhere than one
inside (another step, or another finding), or its branch finds something, or its branch says `accept: reason`. The
reading may also say `accept: reason` itself, or be covered by a `hold`, so that somebody looks. A reading that a sum
takes counts as read where branches read what the sum gives. If no branch reads it before it is taken anew, that is an
error too; being among `gives` counts as read, for then the caller decides.

Cases are compared with everything else equal. Where other values send both to the same step, that is no fault if one of
them is outside what is wanted of it, or if the value alone, outside, leads to that same step in another case.

Wrong:

    readings:
      gap: {ask: Gap from plate to hoop, unit: mm, possible: 0 .. 30, wanted: 2 .. 5}
    steps:
      - step: gap
        record: [gap]
        branches:
          - {when: gap < 2 mm, go: hand-on}
          - {when: gap >= 2 mm, go: hand-back}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
      - step: hand-on
        do: Put the drum by for the senior.
        end: referred

Says:

    8:16: with gap 20 mm, the walk goes on to 'hand-back' as if 'gap' were what is wanted; lead it elsewhere, find
        something, or say accept [wanted]

Right:

    readings:
      gap: {ask: Gap from plate to hoop, unit: mm, possible: 0 .. 30, wanted: 2 .. 5}
    steps:
      - step: gap
        record: [gap]
        branches:
          - {when: gap is below, go: hand-on}
          - {when: gap is within, go: hand-back}
          - {when: gap is above, accept: A wide gap is only a little slower, go: hand-back}
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
from ..ahead import read_ahead
from ..judged import Judged, case, judged
from ..leads import Alike, alike

ID = "wanted"


def check(linked: Linked) -> Iterator[Finding]:
    """One finding for each step that lets a value outside pass, and for each recording that nothing reads."""
    p = linked.procedure
    covered = {name for step in linked.steps.values() if step.hold for name in step.hold.covers}
    names = [
        name
        for name, reading in p.readings.items()
        if reading.wanted and not reading.accept and name not in covered and name not in p.gives
    ]
    if not names:
        return
    minded: dict[str, set[str]] = {name: set() for name in names}
    passed: dict[str, dict[str, tuple[Judged, Alike]]] = {name: {} for name in names}
    for step in judged(linked):
        read = {v for bound in step.bounds if bound for v in bound.variables}
        for name in names:
            if name in read:
                found = alike(step, linked.variables[name])
                if found is None:
                    minded[name].add(step.step.step)
                else:
                    passed[name][step.step.step] = (step, found)
            elif taken_by(linked, name) & {v.partition(".")[0] for v in read}:
                minded[name].add(step.step.step)
    ahead = read_ahead(linked, minded)
    for name in names:
        yield from _judge(linked, name, minded[name], passed[name], ahead[name])


def taken_by(linked: Linked, name: str) -> set[str]:
    """The sums that take a reading, by way of other sums too."""
    found: set[str] = set()
    grown = True
    while grown:
        grown = False
        for sum_, arguments in linked.arguments.items():
            if sum_ not in found and any(
                a.name == name or a.name.partition(".")[0] in found for a in arguments.values()
            ):
                found.add(sum_)
                grown = True
    return found


def _judge(
    linked: Linked, name: str, minded: set[str], passed: dict[str, tuple[Judged, Alike]], ahead: set[str]
) -> Iterator[Finding]:
    records = [step for step in linked.steps.values() if name in step.record]
    unread = [step for step in records if step.step not in ahead]
    if not unread:
        return
    wanted = Related(linked.place("readings", name, "wanted"), "this is wanted")
    for step, found in passed.values():
        if found.undecided:
            message = f"not decided here: too many cases to see where '{name}' leads when it is not what is wanted"
            yield Finding(ID, message, step.place(), severity="advice", related=(wanted,))
            continue
        line = step.step.lines[found.line]
        message = (
            f"with {case(found.witness)}, the walk goes on to '{line.go}' as if '{name}' were what is wanted; "
            "lead it elsewhere, find something, or say accept"
        )
        place = step.place(found.line, "when")
        yield Finding(ID, message, place, related=(wanted,), witness=dict(found.witness.values))
    if not passed:
        where = unread[0]
        number = where.record.index(name)
        message = f"something is wanted of '{name}', and no branch reads it; lead by it, or say accept"
        place = linked.place("steps", linked.at[where.step], "record", number)
        yield Finding(ID, message, place, related=(wanted,))
