"""A text that does not fit the screen.

On 80 columns and 24 lines an action and what is expected have two lines each: 132 characters. A hazard, its consequence
and how to avoid it have one line each: 60 characters. Longer texts are cut off or push the question down; say it
shorter, or make two steps. Counted as written, braces included. Advice.

Wrong:

    steps:
      - step: rest
        do:
          Leave the drum alone with the lever on for as long as it takes until nothing moves any more, and come
          back to it when you think that it has rested.
        end: done

Says:

    4:7: 'do' has 147 characters and fits the screen with 132 [too-long]

Right:

    steps:
      - step: rest
        do: Leave the drum alone, lever on, until nothing moves any more.
        end: done
"""

from __future__ import annotations

from collections.abc import Iterator

from ...procedure.findings import Finding
from ...procedure.linked import Linked, Path
from ...procedure.parts import Graded, HazardTexts

ID = "too-long"
ACTION = 132
HAZARD = 60


def check(linked: Linked) -> Iterator[Finding]:
    """Advice for each text that is too long."""
    p = linked.procedure
    for step in linked.steps.values():
        at: Path = ("steps", linked.at[step.step])
        for key in ("do", "expect"):
            yield from _long(linked, key, getattr(step, key), ACTION, (*at, key))
        for number, way in enumerate(step.choose.ways if step.choose else []):
            yield from _long(linked, "do", way.do, ACTION, (*at, "choose", "ways", number, "do"))
        yield from _hazards(linked, step, at)
    if isinstance(p.hazards, list):
        for number, graded in enumerate(p.hazards):
            yield from _hazards(linked, graded, ("hazards", number))


def _hazards(linked: Linked, graded: Graded, at: Path) -> Iterator[Finding]:
    for grade in ("danger", "warning", "caution", "notice"):
        parts: HazardTexts = getattr(graded, grade)
        for number, part in enumerate(parts):
            for key in ("hazard", "consequence", "avoid"):
                path = (*at, grade, key) if len(parts) == 1 else (*at, grade, number, key)
                yield from _long(linked, key, getattr(part, key), HAZARD, path)


def _long(linked: Linked, key: str, text: str | None, most: int, path: Path) -> Iterator[Finding]:
    if text is not None and len(text) > most:
        message = f"'{key}' has {len(text)} characters and fits the screen with {most}"
        yield Finding(ID, message, linked.place(*path), severity="advice")
