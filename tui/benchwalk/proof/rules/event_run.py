"""An event whose procedure can end without being done, and comes back all the same.

`whenever` with `run` and `then_back: true` goes on where the walk was, however the run ended. If that procedure can end
stopped or referred, the walk goes on although it says that something else comes first. Lead such an event to a step
(`go`) that runs the procedure and branches on how it ended. Advice.

Wrong:

    whenever:
      - event: snag
        say: A strand hangs
        during: [play]
        run: {procedure: snip-a-strand, as: snip}
        then_back: true
    steps:
      - step: play
        do: Play softly.
        end: done

Says:

    5:22: 'snip-a-strand' can end stopped, and the walk goes on all the same; lead 'snag' to a step that runs it and
        branches on how it ended [event-run]

Right:

    whenever:
      - event: snag
        say: A strand hangs
        during: [play]
        go: snip
        at_most: 3
        then: hand-on
    steps:
      - step: play
        do: Play softly.
        end: done
      - step: snip
        run: {procedure: snip-a-strand, as: snip}
        branches:
          - {when: snip.outcome is done, go: play-again}
          - {when: snip.outcome is stopped, go: hand-on}
      - step: play-again
        do: Play softly again.
        end: done
      - step: hand-on
        do: Put the drum by for the senior.
        end: referred
"""

from __future__ import annotations

from collections.abc import Iterator

from ...procedure.findings import Finding
from ...procedure.linked import Linked

ID = "event-run"


def check(linked: Linked) -> Iterator[Finding]:
    """Advice for each event that comes back from a procedure which can end stopped or referred."""
    for number, event in enumerate(linked.procedure.whenever):
        inner = linked.runs.get(event.run.as_) if event.run else None
        if event.run is None or inner is None:
            continue
        others = [word for word in inner.outcomes() if word != "done"]
        if others:
            message = (
                f"'{inner.id}' can end {' or '.join(others)}, and the walk goes on all the same; "
                f"lead '{event.event}' to a step that runs it and branches on how it ended"
            )
            place = linked.place("whenever", number, "run", "procedure")
            yield Finding(ID, message, place, severity="advice")
