"""A step that may be skipped and cannot do without being walked.

A step that is skipped goes on at its branches, with its readings left out. That has no meaning for a step that ends the
procedure or whose ways say where they lead, and a `hold` that could be skipped would hold nothing: nobody passes it
without a second person. The skip of a step with a hold could never be used, whatever the step does before it: it is
refused as long as nobody looked, also where the look is needed only for some (`for_work_by`), and once somebody looked
the walk has gone on. Put what may be skipped into a step of its own.

Wrong:

    steps:
      - step: look
        do: Show the drum to the senior.
        may_skip: {because: The drum is wanted at once, by: senior}
        hold: {by: senior, signs: checked, because: A cord that lets go does so on stage}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done

Says:

    4:15: this skip can never be used: nobody passes a hold without a second person; take may_skip out, or make two
        steps of it [may-skip]
    5:11: no branch asks about this hold, so after a refusal the walk stays here until it is released; lead 'hold is
        refused' to the step that mends it [refused]

Right:

    steps:
      - step: rest
        do: Leave the drum alone for a while.
        may_skip: {because: The drum is wanted at once, by: senior}
      - step: look
        do: Show the drum to the senior.
        hold: {by: senior, signs: checked, because: A cord that lets go does so on stage}
        branches:
          - {when: hold is released, go: hand-back}
          - {when: hold is refused, go: hand-on}
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

ID = "may-skip"

_HELD = (
    "this skip can never be used: nobody passes a hold without a second person; "
    "take may_skip out, or make two steps of it"
)


def check(linked: Linked) -> Iterator[Finding]:
    """One finding for each step that cannot be skipped and says it may."""
    for step in linked.steps.values():
        if step.may_skip is None:
            continue
        place = linked.place("steps", linked.at[step.step], "may_skip")
        if step.hold:
            yield Finding(ID, _HELD, place)
        if step.end:
            yield Finding(ID, "a step that ends the procedure cannot be skipped: there is nothing after it", place)
        if step.choose and step.choose.ways[0].go:
            yield Finding(ID, "this step cannot be skipped: the way chosen says where it leads", place)
