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
from dataclasses import dataclass, field

from ...procedure.findings import Finding, Related
from ...procedure.linked import Linked
from ...procedure.model import Step
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
    readers = _readers(linked, names)
    ahead = read_ahead(linked, {name: readers[name].minded for name in names})
    passed = read_ahead(linked, {name: set(readers[name].passed) for name in names})
    records: dict[str, list[Step]] = {}
    for step in linked.steps.values():
        for name in step.record:
            records.setdefault(name, []).append(step)
    for name in names:
        unread = [step for step in records.get(name, ()) if step.step not in ahead[name]]
        yield from _judge(linked, name, readers[name], unread, passed[name])


@dataclass
class Readers:
    """The steps whose branches read one reading: those that mind where it is outside, those that let it pass and how,
    and the places read (None: all of them)."""

    minded: set[str] = field(default_factory=set)
    passed: dict[str, tuple[Judged, Alike]] = field(default_factory=dict)
    places: set[str] | None = field(default_factory=set)


def _readers(linked: Linked, names: list[str]) -> dict[str, Readers]:
    found = {name: Readers() for name in names}
    taken = {sum_: readings & found.keys() for sum_, readings in readings_of_sums(linked).items()}
    for step in judged(linked):
        atoms = [atom for bound in step.bounds if bound for atom in bound.atoms]
        for atom in atoms:
            reader = found.get(atom.variable.name)
            if reader is not None and reader.places is not None:
                reader.places = {*reader.places, atom.place} if atom.place is not None else None
        read = dict.fromkeys(atom.variable.name for atom in atoms)
        for name in read:
            if name in found:
                alike_ = alike(step, linked.variables[name])
                if alike_ is None:
                    found[name].minded.add(step.step.step)
                else:
                    found[name].passed[step.step.step] = (step, alike_)
        for sum_ in {name.partition(".")[0] for name in read} & taken.keys():
            for name in taken[sum_] - read.keys():
                found[name].minded.add(step.step.step)
                found[name].places = None
    return found


def readings_of_sums(linked: Linked) -> dict[str, set[str]]:
    """The names each sum takes, by way of other sums too."""
    found: dict[str, set[str]] = {}

    def of(sum_: str, above: tuple[str, ...]) -> set[str]:
        if sum_ not in found:
            names: set[str] = set()
            for argument in linked.arguments[sum_].values():
                head = argument.name.partition(".")[0]
                names.add(argument.name)
                if head in linked.arguments and head not in above:
                    names |= of(head, (*above, head))
            found[sum_] = names
        return found[sum_]

    for sum_ in linked.arguments:
        of(sum_, (sum_,))
    return found


def _judge(linked: Linked, name: str, readers: Readers, unread: list[Step], passed: set[str]) -> Iterator[Finding]:
    def wanted() -> Related:
        return Related(linked.place("readings", name, "wanted"), "this is wanted")

    if any(step.step in passed for step in unread):
        for judged_, found in readers.passed.values():
            yield _passing(name, judged_, found, wanted())
    if any(finding.rule == "condition" for finding in linked.findings):
        return  # the branch that reads it may be the one that could not be understood
    for step in unread:
        if step.step not in passed:
            message = f"something is wanted of '{name}', and no branch reads it; lead by it, or say accept"
            place = linked.place("steps", linked.at[step.step], "record", step.record.index(name))
            yield Finding(ID, message, place, related=(wanted(),))
    places = linked.variables[name].places
    left = [place for place in places if place not in readers.places] if places and readers.places else []
    if left and not isinstance(places, str):
        message = f"something is wanted of '{name}' at {' and at '.join(left)}, and no branch reads it there"
        yield Finding(ID, message, wanted().pos)


def _passing(name: str, step: Judged, found: Alike, wanted: Related) -> Finding:
    if found.undecided:
        message = f"not decided here: too many cases to see where '{name}' leads when it is not what is wanted"
        return Finding(ID, message, step.place(), severity="advice", related=(wanted,))
    message = (
        f"with {case(found.witness)}, the walk goes on to '{step.step.lines[found.line].go}' as if '{name}' were what "
        "is wanted; lead it elsewhere, find something, or say accept"
    )
    witness = dict(found.witness.values)
    return Finding(ID, message, step.place(found.line, "when"), related=(wanted,), witness=witness)
