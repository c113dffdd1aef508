"""A step that no way leads to.

A step nobody can come to is work nobody does. Mostly a `go` names its neighbour, or the step before it says where it
leads and no longer falls through. Branches, ways, `then`, `late`, `go` of an event and the next step in the file all
count as ways. The finding stands at the step that nothing leads to; what hangs on it alone is counted with it.

Nothing is said while a name of a step is misspelt or a step does not say where it leads: mend that first.

Wrong:

    steps:
      - step: look
        do: Look at the head.
        go: hand-back
      - step: clean
        do: Wipe the head.
      - step: dry
        do: Dry the head.
      - step: hand-back
        do: Put the drum out for its owner.
        end: done

Says:

    5:11: no way leads to 'clean', nor to 'dry', which hangs on it [unreachable]

Right:

    steps:
      - step: look
        do: Look at the head.
        go: clean
      - step: clean
        do: Wipe the head.
      - step: dry
        do: Dry the head.
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
"""

from __future__ import annotations

from collections.abc import Iterator

from ...procedure.findings import Finding, Related
from ...procedure.linked import Linked
from ..graph import graph_of

ID = "unreachable"
MOST = 3


def check(linked: Linked) -> Iterator[Finding]:
    """One finding for each step that nothing leads to."""
    graph = graph_of(linked)
    if not graph.whole:
        return
    for head, *others in graph.not_reached():
        message = f"no way leads to '{head}'"
        if others:
            named = " and ".join(f"'{step}'" for step in others[:MOST])
            more = f" and {len(others) - MOST} more" if len(others) > MOST else ""
            message += f", nor to {named}{more}, which {'hang' if len(others) > 1 else 'hangs'} on it"
        places = tuple(Related(linked.place("steps", linked.at[step], "step"), f"'{step}'") for step in others[:MOST])
        yield Finding(ID, message, linked.place("steps", linked.at[head], "step"), related=places)
