"""A step that may be skipped and cannot do without being walked.

A step that is skipped goes on at its branches, with its readings left out. That has no meaning for a step that ends the
procedure or whose ways say where they lead, and a `hold` that could be skipped would hold nothing: nobody passes it
without a second person.

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

    4:15: a step with a hold cannot be skipped: nobody passes it without a second person [may-skip]

Right:

    steps:
      - step: rest
        do: Leave the drum alone for a while.
        may_skip: {because: The drum is wanted at once, by: senior}
      - step: look
        do: Show the drum to the senior.
        hold: {by: senior, signs: checked, because: A cord that lets go does so on stage}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
"""

from __future__ import annotations

from collections.abc import Iterator

from ...procedure.findings import Finding
from ...procedure.linked import Linked

ID = "may-skip"


def check(linked: Linked) -> Iterator[Finding]:
    """One finding for each step that cannot be skipped and says it may."""
    for step in linked.steps.values():
        if step.may_skip is None:
            continue
        place = linked.place("steps", linked.at[step.step], "may_skip")
        if step.hold:
            yield Finding(ID, "a step with a hold cannot be skipped: nobody passes it without a second person", place)
        if step.end:
            yield Finding(ID, "a step that ends the procedure cannot be skipped: there is nothing after it", place)
        if step.choose and step.choose.ways[0].go:
            yield Finding(ID, "this step cannot be skipped: the way chosen says where it leads", place)
