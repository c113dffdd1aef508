"""Something written down that nothing uses.

A reading that no step records and nothing reads, a sum whose results nothing reads, a limit, a finding, a fact of the
drum or something taken that nothing uses: mostly what is left of an older version, or a name misspelt elsewhere. Take
it out, or use it. Advice.

Wrong:

    limits:
      least_gap: {is: 1 mm, sure: C, whose: the shop, because: The plate must clear the hoop}
      widest_gap: {is: 5 mm, sure: C, whose: the shop, because: A wide gap answers late}
    readings:
      gap: {ask: Gap from plate to hoop, unit: mm, possible: 0 .. 30}
    steps:
      - step: gap
        record: [gap]
        branches:
          - {when: gap < least_gap, go: hand-on}
          - {when: gap >= least_gap, go: hand-back}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
      - step: hand-on
        do: Put the drum by for the senior.
        end: referred

Says:

    3:3: nothing uses the limit 'widest_gap'; take it out [unused]

Right:

    limits:
      least_gap: {is: 1 mm, sure: C, whose: the shop, because: The plate must clear the hoop}
    readings:
      gap: {ask: Gap from plate to hoop, unit: mm, possible: 0 .. 30}
    steps:
      - step: gap
        record: [gap]
        branches:
          - {when: gap < least_gap, go: hand-on}
          - {when: gap >= least_gap, go: hand-back}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
      - step: hand-on
        do: Put the drum by for the senior.
        end: referred
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from ...procedure.findings import Finding
from ...procedure.linked import Linked, Path
from ...procedure.texts import all_texts
from ..findable import key_place
from ..prose import by_words

ID = "unused"
WORD = re.compile(r"[a-z][a-z0-9_]*(?:\.[a-z][a-z0-9_]*)?")
BRACES = re.compile(r"\{\{(.*?)\}\}", re.DOTALL)


def check(linked: Linked) -> Iterator[Finding]:
    """Advice for each thing that nothing uses."""
    p = linked.procedure
    used = _used(linked)
    recorded = {name for step in p.steps for name in step.record}
    for name in p.readings:
        if name not in recorded and name not in used:
            yield _advice(linked, f"no step records '{name}', and nothing reads it; take it out", ("readings", name))
    for name in p.sums:
        if name not in used:
            yield _advice(linked, f"nothing reads what the sum '{name}' gives; take it out", ("sums", name))
    for name in p.limits:
        if name not in used:
            yield _advice(linked, f"nothing uses the limit '{name}'; take it out", ("limits", name))
    for name in p.takes:
        if name not in used:
            yield _advice(linked, f"nothing uses '{name}', which is taken; take it out", ("takes", name))
    found = {name for step in p.steps for line in step.lines for name in line.find}
    for name in p.findings:
        if name not in found:
            yield _advice(linked, f"no branch finds '{name}'; take it out", ("findings", name))
    for number, fact in enumerate(p.drum):
        if f"drum.{fact}" not in used and not (fact == "rods" and _each_rod(linked)):
            place = linked.place("drum", number)
            yield Finding(ID, f"nothing uses the drum's {fact}; do not ask for it", place, severity="advice")


def _advice(linked: Linked, message: str, path: Path) -> Finding:
    return Finding(ID, message, key_place(linked, path), severity="advice")


def _each_rod(linked: Linked) -> bool:
    p = linked.procedure
    return any(reading.by_rod for reading in p.readings.values()) or any(
        word.startswith("rod") for step in p.steps for word in step.each or []
    )


def _used(linked: Linked) -> set[str]:
    """Every name that stands where a value is used; of an output, its sum too."""
    p = linked.procedure
    found: set[str] = set(p.gives)
    texts: list[str] = []
    for reading in p.readings.values():
        texts += [*(reading.wanted or []), reading.possible or "", reading.where or ""]
    for sum_ in p.sums.values():
        texts += sum_.with_.values()
    for finding in p.findings.values():
        texts += finding.evidence
    for step in p.steps:
        texts += [line.when for line in step.lines]
        texts += [word for word in step.each or [] if " where " in word]
        texts += step.hold.covers if step.hold else []
        texts += step.run.with_.values() if step.run else []
    for event in p.whenever:
        texts += event.run.with_.values() if event.run else []
    for text, _, _ in all_texts(linked):
        if "{{" in text:
            texts += BRACES.findall(text)
    return found.union(*map(_names, texts))


@by_words
def _names(text: str) -> frozenset[str]:
    """The names in a text; of an output, its sum too."""
    names = WORD.findall(text)
    return frozenset((*names, *(name.partition(".")[0] for name in names)))
