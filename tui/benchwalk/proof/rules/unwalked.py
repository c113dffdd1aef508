"""A way that no example walks.

Examples are how a change shows what it breaks, so every branch should be walked by one of them; and so should what a
spent bound sends on to (`then`), every event, skip and end. `assume: {count: ...}` spares the many rounds before a
bound is spent. `benchwalk check --propose` prints the examples that are missing, each proven by walking it, and
`benchwalk draw --walked` shows how many examples go each way. Advice, once for each procedure, and only where all its
examples go as they say.

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
        given: {gap: 4}

Says:

    15:1: no example walks 2 of 4 ways: 'gap' on 'gap < 3 mm', 'hand-on' to its end; `benchwalk check --propose`
        prints examples for them [unwalked]

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
      - example: a narrow gap
        given: {gap: 1}
        ends: referred
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ...procedure.findings import Finding
from ...procedure.linked import Linked
from ...procedure.showing import shortened
from ..walked import Key, Walk, all_ways, walked_ways

ID = "unwalked"
NAMED = 4


def check(linked: Linked, walked: Sequence[Walk] = ()) -> Iterator[Finding]:
    """One piece of advice that names ways no example took; none where an example went otherwise."""
    if not walked or not all(walk.ok for walk in walked):
        return
    taken = walked_ways(linked, walked)
    ways = [*all_ways(linked)]
    left = [said(linked, way) for way in ways if way not in taken]
    if left:
        more = f" and {len(left) - NAMED} more" if len(left) > NAMED else ""
        message = (
            f"no example walks {len(left)} of {len(ways)} ways: {', '.join(left[:NAMED])}{more}; "
            "`benchwalk check --propose` prints examples for them"
        )
        yield Finding(ID, message, linked.source.document.locate_key(("examples",)), severity="advice")


def said(linked: Linked, way: Key) -> str:
    """A way in words."""
    name, kind, number = way
    match kind:
        case "branch" | "then":
            spent = " once that is spent" if kind == "then" else ""
            return f"'{name}' on '{shortened(linked.steps[name].lines[number].when.strip())}'{spent}"
        case "way":
            choose = linked.steps[name].choose
            return f"'{name}' by '{choose.ways[number].way}'" if choose else f"'{name}'"
        case "entered":
            return f"'{name}' entered too often"
        case "event":
            return f"the event '{name}'"
        case "event-then":
            return f"the event '{name}' once that is spent"
    return f"'{name}' {_OTHERWISE[kind]}"


_OTHERWISE = {"skip": "skipped", "late": "too late", "end": "to its end"}
