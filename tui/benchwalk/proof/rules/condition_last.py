"""A condition that stands behind its action.

Who reads `Retie the cord if the plate rides on the hoop` has the cord in hand before the condition comes. Say the
condition first: `If the plate rides on the hoop, retie the cord`; or ask it as a reading, and let a branch lead to the
step. Told is an action followed by if, unless, in case or when, with nothing behind it. To look, ask or feel if
something is so is no condition, and `until` and `stop when` say where an action ends. Advice.

Wrong:

    steps:
      - step: tie
        do: Tie the cord again if the plate rides on the hoop.
      - step: knob
        do: Turn the knob to its middle unless it binds.
        if_not: Oil the thread when the knob still drags.
      - step: hand-back
        do: Put the drum out for its owner.
        end: done

Says:

    3:28: the condition 'if the plate rides on the hoop' stands behind its action; say it first [condition-last]
    5:37: the condition 'unless it binds' stands behind its action; say it first [condition-last]
    6:28: the condition 'when the knob still drags' stands behind its action; say it first [condition-last]

Right:

    steps:
      - step: tie
        do: If the plate rides on the hoop, tie the cord again.
      - step: knob
        do: Turn the knob until it stands in its middle, and feel if it binds.
        if_not: When the knob still drags, oil its thread.
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from ...procedure.findings import Finding
from ...procedure.linked import Linked
from ..prose import action_of, by_words, clauses, instructions, said, sentences

ID = "condition-last"

_SOON = re.compile(r"\s(?:if|unless|in case|provided|when)\b", re.IGNORECASE)
# `as if`, `even if` and `only if` compare or narrow; `if needed` is the business of the rule `vague`.
_CONDITION = re.compile(
    r"(?<!\bas)(?<!\beven)\s(?:only )?((?:if|unless|in case|provided that|"
    r"when(?= (?:the|a|an|it|its|both|all|they|you|no|one|each|any|this|that|there|either|neither)\b))\b"
    r"(?! (?:needed|necessary|required|possible|any|so|not)\b)[^;]*)\Z",
    re.IGNORECASE,
)
_ASKS = re.compile(
    r"\b(?:look|looks|see|check|feel|listen|hear|test|try|watch|ask|asks|tell|tells|say|says|note|write|find out|"
    r"compare|decide|know|make sure|sure|notice|judge|stop|halt)\b(?:\W+\w+){0,3}\W*\Z",
    re.IGNORECASE,
)
_JOINT = re.compile(r";|:(?=\s)")


def check(linked: Linked) -> Iterator[Finding]:
    """One piece of advice for each instruction whose condition comes last."""
    for _, path, text in instructions(linked):
        for at, condition in _late(text):
            message = f"the condition '{said(condition)}' stands behind its action; say it first"
            yield Finding(ID, message, linked.inside(path, at), severity="advice")


@by_words
def _late(text: str) -> list[tuple[int, str]]:
    """The conditions that stand behind their action, with their places."""
    told: list[tuple[int, str]] = []
    for start, sentence in sentences(text) if _SOON.search(text) else ():
        for at, clause in clauses(sentence, _JOINT):
            found = _CONDITION.search(clause)
            if found is not None and _is_late(clause, found):
                told.append((start + at + found.start(1), found[1]))
    return told


def _is_late(clause: str, condition: re.Match[str]) -> bool:
    """Whether an action stands before the condition and none behind it; what is only asked is no condition."""
    before, after = clause[: condition.start()], condition[1]
    if not action_of(clause) or _ASKS.search(before):
        return False
    return not any(action_of(piece) or _ELSE.match(piece) for piece in _COMMA.split(after)[1:])


_COMMA = re.compile(r",\s*")
_ELSE = re.compile(r"(?:or )?(?:else|otherwise)\b", re.IGNORECASE)
