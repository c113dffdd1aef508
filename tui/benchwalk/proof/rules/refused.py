"""A look that can be refused, and nothing comes of it.

Whoever looks at a `hold` may refuse it. Where no branch of the step asks about the hold, a refusal leads nowhere: the
work waits at this step until somebody releases it, and nobody is told what to do until then. Ask `hold is released` and
`hold is refused` in the branches, and lead a refusal to the step that mends it. Advice: as it is, what was refused is
put right where the walk stands and shown again, or going back by hand leads to the step that mends it.

Wrong:

    steps:
      - step: look
        do: Show the drum to the senior.
        hold: {by: senior, signs: checked, because: A cord that lets go does so on stage}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done

Says:

    4:11: no branch asks about this hold, so after a refusal the walk stays here until it is released; lead 'hold is
        refused' to the step that mends it [refused]

Right:

    steps:
      - step: tie
        do: Tie the cord.
        entered: {at_most: 3, then: hand-on}
      - step: look
        do: Show the drum to the senior.
        hold: {by: senior, signs: checked, because: A cord that lets go does so on stage}
        branches:
          - {when: hold is released, go: hand-back}
          - {when: hold is refused, because: The senior wants it tied again, go: tie}
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
from ...procedure.model import Step

ID = "refused"

_SAYS = (
    "no branch asks about this hold, so after a refusal the walk stays here until it is released; "
    "lead 'hold is refused' to the step that mends it"
)


def check(linked: Linked) -> Iterator[Finding]:
    """One piece of advice for each hold that no branch of its step asks about."""
    for name, step in linked.steps.items():
        if step.hold and not _asked(linked, step):
            yield Finding(ID, _SAYS, linked.place("steps", linked.at[name], "hold"), severity="advice")


def _asked(linked: Linked, step: Step) -> bool:
    """Whether a branch asks about the hold; one that cannot be understood is told elsewhere."""
    key = "branches" if step.branches else "first_of"
    bounds = [linked.conditions.get(("steps", linked.at[step.step], key, n, "when")) for n in range(len(step.lines))]
    return any(
        line.when.strip() != "otherwise" and (bound is None or "hold" in bound.variables)
        for line, bound in zip(step.lines, bounds, strict=True)
    )
