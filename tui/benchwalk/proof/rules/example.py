"""Examples that do not go as they say.

Each example is walked, step by step, through the same interpreter that walks the repair; one that asks for something
unsaid, goes elsewhere, finds something else or ends otherwise is an error. A procedure without any example is told as
advice: nobody has walked it yet.

Wrong:

    readings:
      gap: {ask: Gap from plate to hoop, unit: mm, possible: 0 .. 30}
    steps:
      - step: gap
        record: [gap]
        branches:
          - {when: gap < 3 mm, go: hand-on}
          - {when: gap >= 3 mm, go: hand-back}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
      - step: hand-on
        do: Put the drum by for the senior.
        end: referred
    examples:
      - example: a wide gap
        given: {gap: 2.5}
        ends: done

Says:

    16:14: 'a wide gap': it ends referred, and the example says done [example]

Right:

    readings:
      gap: {ask: Gap from plate to hoop, unit: mm, possible: 0 .. 30}
    steps:
      - step: gap
        record: [gap]
        branches:
          - {when: gap < 3 mm, go: hand-on}
          - {when: gap >= 3 mm, go: hand-back}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
      - step: hand-on
        do: Put the drum by for the senior.
        end: referred
    examples:
      - example: a wide gap
        given: {gap: 4}
        ends: done
      - example: a narrow gap
        given: {gap: 1}
        ends: referred
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any, Protocol

from ...procedure.findings import Finding, Pos
from ...procedure.linked import Linked

ID = "example"


class Walked(Protocol):
    """How one example went: its name, whether as it says, if not why, and the events of its walk."""

    @property
    def example(self) -> str: ...
    @property
    def ok(self) -> bool: ...
    @property
    def why(self) -> str | None: ...
    @property
    def events(self) -> Sequence[dict[str, Any]]: ...


def check(linked: Linked, walked: Iterable[Walked] = ()) -> Iterator[Finding]:
    """One finding for each example that went otherwise; advice where there is none. `walked` are in their order."""
    if not linked.procedure.examples:
        place = linked.source.document.locate_key(("steps",)) if linked.steps else Pos(1, 1)
        message = (
            "there is no example: nobody has walked this procedure yet; add one, or let `benchwalk check --propose` "
            "find them"
        )
        yield Finding(ID, message, place, severity="advice")
    for number, outcome in enumerate(walked):
        if not outcome.ok:
            place = linked.place("examples", number, "example")
            yield Finding(ID, f"'{outcome.example}': {outcome.why or 'it went otherwise'}", place)
