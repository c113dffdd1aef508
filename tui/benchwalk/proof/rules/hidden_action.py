"""An action hidden in a hazard.

A hazard is read and acknowledged; it is no step, nothing is confirmed there, and its `avoid` is folded away once it is
read. `Loosen all rods first` in it is done by those who happen to do as they read. `avoid` says how to keep safe: what
to wear, where to hold, which way to cut, what never to do. An action of the work is a step. Told is a clause of `avoid`
that begins with a working verb and what it is done to, unless the step itself tells that action (or, for hazards of the
whole work, some step does). Advice.

Wrong:

    steps:
      - step: hoop-off
        warning: {hazard: The hoop springs off, consequence: A broken finger, avoid: Keep off; loosen all rods first}
        do: Lift the hoop off.
      - step: hand-back
        do: Put the drum out for its owner.
        end: done

Says:

    3:92: 'loosen all rods first' is an action of the work, and a warning only says how to keep safe; make it a step
        [hidden-action]

Right:

    steps:
      - step: loosen
        warning: {hazard: The hoop springs off, consequence: A broken finger, avoid: Loosen the rods in small passes}
        do: Loosen all rods, a quarter turn each in turn, until they hang free.
      - step: hoop-off
        do: Lift the hoop off.
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from ...procedure.findings import Finding
from ...procedure.linked import Linked
from ..hazard_texts import hazards
from ..prose import actions, by_words, clauses, said

ID = "hidden-action"

_JOINT = re.compile(r"[.;:,]?\s+(?:and then|and|then)\s+|[.;:,]\s+")
_WORK = re.compile(
    r"(?:first |then |always )?("
    "adjust|assemble|back off|bend|cut|detach|dismantle|drill|file|fit|glue|grease|grind|hammer|insert|install|loosen|"
    "lower|lubricate|mount|oil|polish|reattach|refit|remove|replace|sand|saw|screw|set|shave|slack|slacken|snip|solder|"
    r"straighten|tension|thread|tie|tighten|trim|tune|unbolt|unhook|unscrew|untie)\b\s+([\w{]+)",
    re.IGNORECASE,
)
# How, where and when an action is done is for the hazard to say ...
_MANNER = frozenset(
    re.findall(
        r"\w+",
        """
    across against along at away back before beside by damp down dry firmly first from gently hard in lightly
    little near never no off on only out outdoors outside over past slowly softly squarely to toward towards
    under until up well wet when where while with
    """,
    )
)
_CARE = re.compile(
    r"\b(?:slowly|gently|lightly|softly|carefully|by hand|away from|a little|in (?:small |short )?(?:steps|passes))\b",
    re.I,
)
# ... and so is what is put on, laid aside or held ready for safety alone.
_SAFETY = re.compile(
    r"\b(?:guards?|masks?|gloves?|plugs?|glasses|goggles|respirators?|shields?|extraction|fan|lamps?|jewell?ery|rings?|"
    r"watch|watches|hair|sleeves?|apron|bin|tray|lid|cap|mat|battery|fuse)\b",
    re.IGNORECASE,
)


def check(linked: Linked) -> Iterator[Finding]:
    """One piece of advice for each clause of an `avoid` that is an action."""
    for hazard in hazards(linked):
        for at, verb, clause in _work(hazard.parts.avoid):
            own = hazard.step.step if hazard.step else None
            if not _is_told(linked, verb, own):
                message = (
                    f"'{said(clause)}' is an action of the work, and a {hazard.grade} only says how to keep safe; "
                    "make it a step"
                )
                place = linked.inside((*hazard.path, "avoid"), at)
                yield Finding(ID, message, place, severity="advice")


@by_words
def _work(avoid: str) -> list[tuple[int, str, str]]:
    """The clauses of an `avoid` that are work: where one begins, its verb and its words."""
    told: list[tuple[int, str, str]] = []
    for at, clause in clauses(avoid, _JOINT):
        found = _WORK.match(clause)
        if found is None or found[2].lower() in _MANNER or _CARE.search(clause) or _SAFETY.search(clause):
            continue
        told.append((at, found[1], clause))
    return told


def _is_told(linked: Linked, verb: str, step: str | None) -> bool:
    """Whether an action of that step (None: of any) tells it already."""
    word = re.compile(rf"\b{verb}\b", re.IGNORECASE)
    return any(word.search(told.text) for told in actions(linked) if step in (None, told.step.step))
