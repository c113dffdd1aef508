"""A step from which no end can be reached.

Whoever comes to such a step walks for ever, or stands still. From every step that can be reached there must be a way to
a step with `end`. The finding stands where a walk enters the part without a way out, with the way that leads there.

Nothing is said while a name of a step is misspelt or a step does not say where it leads: mend that first.

Wrong:

    readings:
      nut: {ask: The nut, choices: {turns: turns, seized: is seized}}
    steps:
      - step: try-nut
        record: [nut]
        branches:
          - {when: nut is turns, go: hand-back}
          - {when: nut is seized, go: oil}
      - step: oil
        do: Put a drop of oil on the thread.
      - step: warm
        do: Warm the nut with the hand.
        go: oil
      - step: hand-back
        do: Put the drum out for its owner.
        end: done

Says:

    9:11: from 'oil' no end can be reached; a walk comes here by way of try-nut, oil [no-way-out]
    13:9: this way back is not bounded: oil, warm, oil; give 'oil' entered: {at_most, then} [endless]

Right:

    readings:
      nut: {ask: The nut, choices: {turns: turns, seized: is seized}}
    steps:
      - step: try-nut
        record: [nut]
        branches:
          - {when: nut is turns, go: hand-back}
          - {when: nut is seized, go: oil}
      - step: oil
        do: Put a drop of oil on the thread, and warm the nut with the hand.
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
"""

from __future__ import annotations

from collections.abc import Iterator

from ...procedure.findings import Finding
from ...procedure.linked import Linked
from ..graph import graph_of
from ..routes import places, told

ID = "no-way-out"


def check(linked: Linked) -> Iterator[Finding]:
    """One finding for each step at which a walk enters a part without a way out."""
    graph = graph_of(linked)
    if not graph.whole:
        return
    for step in graph.no_way_out():
        ways = graph.route(step)
        steps = [way.source for way in ways] + [step]
        message = f"from '{step}' no end can be reached"
        if ways:
            message += f"; a walk comes here by way of {told(steps)}"
        else:
            message += ", and every walk begins here"
        place = linked.place("steps", linked.at[step], "step")
        yield Finding(ID, message, place, related=places(linked, steps, ways), witness={"path": told(steps)})
