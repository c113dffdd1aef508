"""An `otherwise` that is not useful.

`otherwise` takes what no other branch takes. One that takes nothing is an error: take it out. One that alone takes two
or more choices of a reading, or values outside what is wanted, hides something a reader should see, so it needs a
`because`; or write the branches out. (`otherwise` stands last; that is told when the file is read.)

Wrong:

    readings:
      lie: {ask: How do the snares lie, choices: {all: All touch, some: Some lift, gone: All stand off}}
    steps:
      - step: lie
        record: [lie]
        branches:
          - {when: lie is all, go: hand-back}
          - {when: otherwise, go: hand-on}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
      - step: hand-on
        do: Put the drum by for the senior.
        end: referred

Says:

    8:16: 'otherwise' takes 'lie' some or gone without a reason; write because, or branches of their own [otherwise]

Right:

    readings:
      lie: {ask: How do the snares lie, choices: {all: All touch, some: Some lift, gone: All stand off}}
    steps:
      - step: lie
        record: [lie]
        branches:
          - {when: lie is all, go: hand-back}
          - {when: otherwise, because: Strands that lift are looked at by the senior, go: hand-on}
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
from ..judged import judged

ID = "otherwise"


def check(linked: Linked) -> Iterator[Finding]:
    """One finding for each `otherwise` that takes nothing, or too much without a reason."""
    for step in judged(linked):
        for index, bound in enumerate(step.bounds):
            if bound is not None or step.report.undecided:
                continue
            if index in step.report.idle:
                message = "'otherwise' takes nothing: the other branches cover every case; take it out"
                yield Finding(ID, message, step.place(index, "when"))
            elif not step.step.lines[index].because and step.report.swallowed[index].needs_reason:
                took = step.report.swallowed[index].text()
                message = f"'otherwise' takes {took} without a reason; write because, or branches of their own"
                yield Finding(ID, message, step.place(index, "when"))
