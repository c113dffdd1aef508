"""A way back that nothing bounds.

Every way back is bounded: on the branch (or event) that leads back, by `at_most` and `then`, or on the step gone back
to, by `entered: {at_most, then}`. Take away the bounded branches and all ways into bounded steps; what is left, with
every `then`, goes round nowhere. Ways on being late and on events count like any other. Steps that have been entered
often enough must not send a walk round among themselves either.

An event that runs another procedure and comes back (`then_back`), or that strikes at the very step it leads to, goes
round only as often as the thing happens; it is left alone. `at_most: 0` would never be walked at all, and is told here
too.

Wrong:

    readings:
      note: {ask: Struck beside the rods the head, choices: {even: sounds even, uneven: sounds uneven}}
    steps:
      - step: tap
        record: [note]
        branches:
          - {when: note is even, go: hand-back}
          - {when: note is uneven, go: turn}
      - step: turn
        do: Turn the low rods an eighth.
        go: tap
      - step: hand-back
        do: Put the drum out for its owner.
        end: done

Says:

    11:9: this way back is not bounded: tap, turn, tap; give 'tap' entered: {at_most, then} [endless]

Right:

    readings:
      note: {ask: Struck beside the rods the head, choices: {even: sounds even, uneven: sounds uneven}}
    steps:
      - step: tap
        entered: {at_most: 4, then: hand-on}
        record: [note]
        branches:
          - {when: note is even, go: hand-back}
          - {when: note is uneven, go: turn}
      - step: turn
        do: Turn the low rods an eighth.
        go: tap
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
from ...procedure.linked import Edge, Linked, Path
from ..graph import graph_of
from ..routes import places, told

ID = "endless"


def check(linked: Linked) -> Iterator[Finding]:
    """One finding for each round that nothing bounds."""
    graph = graph_of(linked)
    for ways in graph.rounds():
        steps = [way.source for way in ways] + [ways[-1].target]
        message = f"this way back is not bounded: {told(steps)}; {_cure(ways[-1])}"
        place = linked.place(*ways[-1].path)
        yield Finding(ID, message, place, related=places(linked, steps, ways), witness={"path": told(steps)})
    for steps in graph.sent_round():
        path: Path = ("steps", linked.at[steps[0]], "entered", "then")
        round_ = [*steps, steps[0]]
        message = f"steps entered too often send the walk round for ever: {told(round_)}; lead one of them out"
        yield Finding(
            ID, message, linked.place(*path), related=places(linked, steps, []), witness={"path": told(round_)}
        )
    for path in _never(linked):
        yield Finding(ID, "at_most: 0 is never walked; write at least 1, or take it out", linked.place(*path))


def _cure(back: Edge) -> str:
    if back.kind == "branch":
        return f"give this branch at_most and then, or '{back.target}' entered: {{at_most, then}}"
    if back.kind == "event":
        return f"give this event at_most and then, or '{back.target}' entered: {{at_most, then}}"
    if back.kind in ("then", "sent-on"):
        return "what is tried too often must lead on, and this leads back"
    return f"give '{back.target}' entered: {{at_most, then}}"


def _never(linked: Linked) -> Iterator[Path]:
    for step in linked.steps.values():
        at: Path = ("steps", linked.at[step.step])
        if step.entered and step.entered.at_most == 0:
            yield (*at, "entered", "at_most")
        for index, line in enumerate(step.lines):
            if line.at_most == 0:
                yield (*at, "branches" if step.branches else "first_of", index, "at_most")
    for index, event in enumerate(linked.procedure.whenever):
        if event.at_most == 0:
            yield ("whenever", index, "at_most")
