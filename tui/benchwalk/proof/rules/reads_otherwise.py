"""A text that will not read as it was meant.

In square brackets a comma ends an entry, so `before: [The tom lies on its pad, head up]` is two conditions, each
with a box of its own: put the sentence in quotes. Without brackets `tools: drum key, steel rule` is one tool of that
name. Values stand in double braces: `{ gap }` is printed as it stands. And a value brings its unit, so `{{ gap }} mm`
prints it twice. A word that is no unit the program knows is one of its own: `unit: milimeter` takes no `2 cm`. Advice:
all of these can be meant.

Wrong:

    needs:
      tools: drum key, steel rule
      parts: none
      supplies: none
      before: [The tom lies on its pad, head up]
    readings:
      gap: {ask: The gap, unit: mm}
    steps:
      - step: measure
        do: Measure the gap.
        record: [gap]
      - step: note
        do: "Write { gap } on the tag, and {{ gap }} mm in the book."
        end: done

Says:

    2:10: 'drum key, steel rule' is one of the tools here; several stand in square brackets [reads-otherwise]
    5:37: 'head up' is a line of its own here; if it goes on from the last, put both in quotes [reads-otherwise]
    13:16: '{ gap }' is printed as it stands; a value stands in double braces, as in {{ gap }} [reads-otherwise]
    13:50: the value of 'gap' brings its unit, and 'mm' is printed after it once more [reads-otherwise]

Right:

    needs:
      tools: [drum key, steel rule]
      parts: none
      supplies: none
      before: ["The tom lies on its pad, head up"]
    readings:
      gap: {ask: The gap, unit: mm}
    steps:
      - step: measure
        do: Measure the gap.
        record: [gap]
      - step: note
        do: "Write {{ gap }} on the tag, and {{ gap }} in the book."
        end: done
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

from ...procedure.findings import Finding
from ...procedure.linked import Linked, Path
from ...procedure.showing import shortened
from ...procedure.texts import all_texts
from ...units import canonical_unit, nearly

ID = "reads-otherwise"

_SINGLE = re.compile(r"(?<!\{)\{ *([a-z][a-z0-9_.]*) *\}(?!\})")
_WITH_UNIT = re.compile(r"\{\{ *([a-z][a-z0-9_.]*) *\}\} ?([A-Za-z%]+)")
_CURLY = "\u201c\u201e\u2018\u00ab"
_MAY_FOLLOW = frozenset(("in", "m", "s", "g", "h"))
"""Units that are words or letters too: `in all` is no inch."""


def check(linked: Linked) -> Iterator[Finding]:
    """One piece of advice for each text that a comma divides or does not, and each value that is printed otherwise."""
    for path, message in (*_things(linked), *_sentences(linked), *_units(linked)):
        yield Finding(ID, message, linked.place(*path), severity="advice")
    for text, at, _step in all_texts(linked):
        if "{" in text:
            for offset, message in _values(linked, text):
                yield Finding(ID, message, linked.inside(at, offset), severity="advice")


def _things(linked: Linked) -> Iterator[tuple[Path, str]]:
    """What is needed, where commas stand in one text instead of a list."""
    for key in ("tools", "parts", "supplies"):
        things = getattr(linked.procedure.needs, key)
        root: Any = linked.source.document.root
        written = root["needs"][key]
        if isinstance(written, str) and re.search("[,;] ", written):
            message = f"'{shortened(things[0])}' is one of the {key} here; several stand in square brackets"
            yield ("needs", key), message


def _sentences(linked: Linked) -> Iterator[tuple[Path, str]]:
    """Entries without quotes that go on, after a comma in brackets, from the one before."""
    lines = linked.source.document.lines
    lists: list[tuple[Path, list[str]]] = [(("needs", "before"), linked.procedure.needs.before)]
    lists += [(("steps", linked.at[name], "if_not"), step.if_not or []) for name, step in linked.steps.items()]
    for path, entries in lists:
        for number, (one, following) in enumerate(pairwise(entries), 1):
            at = linked.place(*path, number)
            before = lines[at.line - 1][: at.column - 1].rstrip()
            if one.lstrip(_CURLY)[:1].isupper() and following[:1].islower() and before.endswith(","):
                message = f"'{shortened(following)}' is a line of its own here"
                yield (*path, number), f"{message}; if it goes on from the last, put both in quotes"


def _units(linked: Linked) -> Iterator[tuple[Path, str]]:
    """Units that are nearly one of the table, and so convert to nothing."""
    for name, reading in linked.procedure.readings.items():
        meant = nearly(reading.unit) if reading.unit else None
        if meant is not None:
            message = f"'{reading.unit}' is a unit of its own, which no other converts to; did you mean '{meant}'?"
            yield ("readings", name, "unit"), message


def _values(linked: Linked, text: str) -> Iterator[tuple[int, str]]:
    """Names in single braces, and units behind values that bring theirs."""
    for found in _SINGLE.finditer(text):
        if found[1] in linked.variables or found[1] in linked.limits:
            message = f"'{found[0]}' is printed as it stands; a value stands in double braces"
            yield found.start(), f"{message}, as in {{{{ {found[1]} }}}}"
    for found in _WITH_UNIT.finditer(text):
        known = linked.variables.get(found[1]) or linked.limits.get(found[1])
        if known is not None and known.unit and canonical_unit(found[2]) == known.unit and found[2] not in _MAY_FOLLOW:
            message = f"the value of '{found[1]}' brings its unit"
            yield found.start(2), f"{message}, and '{found[2]}' is printed after it once more"
