"""A wait that cannot be kept.

`at_latest` is the time after which it is too late, counted from the same moment as `for`; it must be longer than the
wait itself, or whoever waits is always late.

Wrong:

    steps:
      - step: glue
        do: Put a drop of glue on each end.
        wait: {for: 30 min, at_latest: 10 min, late: {go: glue-again}}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
      - step: glue-again
        do: Scrape the ends, glue them once more and leave them alone.
        end: stopped

Says:

    4:36: 'at_latest: 10 min' is not longer than the wait of 30 min; whoever waits is always late [wait]

Right:

    steps:
      - step: glue
        do: Put a drop of glue on each end.
        wait: {for: 30 min, at_latest: 2 h, late: {go: glue-again}}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
      - step: glue-again
        do: Scrape the ends, glue them once more and leave them alone.
        end: stopped
"""

from __future__ import annotations

from collections.abc import Iterator

from ...procedure.findings import Finding
from ...procedure.linked import Linked, quantity_or_none

ID = "wait"


def check(linked: Linked) -> Iterator[Finding]:
    """One finding for each wait that ends after its own latest time."""
    for step in linked.steps.values():
        if step.wait is None or step.wait.at_latest is None:
            continue
        shortest = quantity_or_none(step.wait.for_, "min")
        latest = quantity_or_none(step.wait.at_latest, "min")
        if shortest and latest and latest.value <= shortest.value:
            message = (
                f"'at_latest: {step.wait.at_latest}' is not longer than the wait of {step.wait.for_}; "
                "whoever waits is always late"
            )
            yield Finding(ID, message, linked.place("steps", linked.at[step.step], "wait", "at_latest"))
