"""An event that cannot be picked while the step's own run goes on.

What is being seen to by a run cannot happen again before that run is done; which run that is, the name after `as` says.
So where a step and an event that may strike there run a procedure under one name, the event is not offered as long as
the step's run goes on, though `during` says that it may happen. Give each a name of its own.

Wrong:

    whenever:
      - event: drips
        say: Oil drips on the film
        during: [wipe]
        run: {procedure: wipe-the-film, as: wiped}
        then_back: true
    steps:
      - step: wipe
        run: {procedure: wipe-the-film, as: wiped}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done

Says:

    5:41: 'drips' runs as 'wiped', and so does the step 'wipe': while that run goes on, the event cannot be picked;
        give one of them another name [hidden-event]

Right:

    whenever:
      - event: drips
        say: Oil drips on the film
        during: [wipe]
        run: {procedure: wipe-the-film, as: wiped_again}
        then_back: true
    steps:
      - step: wipe
        run: {procedure: wipe-the-film, as: wiped}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
"""

from __future__ import annotations

from collections.abc import Iterator

from ...procedure.findings import Finding, Related
from ...procedure.linked import Linked

ID = "hidden-event"


def check(linked: Linked) -> Iterator[Finding]:
    """One finding for each event hidden by the run of a step it may strike at; the first such step is named."""
    for number, event in enumerate(linked.procedure.whenever):
        for name, step in linked.steps.items():
            if event.run and step.run and event.run.as_ == step.run.as_ and event in linked.events_at(name):
                message = (
                    f"'{event.event}' runs as '{event.run.as_}', and so does the step '{name}': "
                    "while that run goes on, the event cannot be picked; give one of them another name"
                )
                related = (Related(linked.place("steps", linked.at[name], "run", "as"), "the step's run stands here"),)
                yield Finding(ID, message, linked.place("whenever", number, "run", "as"), related=related)
                break
