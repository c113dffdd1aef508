"""A new procedure to begin with: small, whole, and clean under `check`, so that every change can be seen at once."""

from __future__ import annotations

import re

from ..errors import Refused

_NAME = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*")

SKELETON = """\
procedure: {name}
title: {title}
revision: 1
for: [snare drum]
purpose: Say in one sentence what the drum is like afterwards.
needs:
  tools: [drum key]
  parts: none
  supplies: none
  before: [The drum lies on its pad]
hazards: {{none_found_by: senior}}   # or say what can hurt, as in docs/procedure-grammar.md
time: 10 min
sources: [common practice, no published source]

readings:
  gap: {{ask: Gap from plate to hoop, unit: mm, possible: 0 .. 20, wanted: 3 .. 6, resolution: 0.5}}

steps:
  - step: measure
    do: Lay the rule between plate and hoop.
    record: [gap]
    branches:
      - {{when: gap is within, because: The gap is right, go: hand-back}}
      - {{when: gap is below, because: The plate is too near, go: ask-senior}}
      - {{when: gap is above, because: The plate is too far, go: ask-senior}}
  - step: ask-senior
    do: Show the drum to the senior.
    end: referred
  - step: hand-back
    do: Put the drum out for its owner.
    end: done

usual:
  given: {{gap: 4}}
examples:
  - example: the gap is right
  - example: the plate is too near
    given: {{gap: 1}}
    ends: referred
  - example: the plate is too far
    given: {{gap: 9}}
    ends: referred
"""


def skeleton(name: str) -> str:
    """The text of a new procedure of that id; Refused where it is no id."""
    if not _NAME.fullmatch(name):
        raise Refused(f"'{name[:40]}' is no id of a procedure; small letters with hyphens are, such as fit-a-head")
    return SKELETON.format(name=name, title=name.replace("-", " ").capitalize())
