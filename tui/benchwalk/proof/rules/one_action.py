"""Several actions in one step.

A step says one action, so that "done" means one thing, a slip shows where it was made, and a hand that was called away
knows where it was. Told is a second action after `;` or `and then`, and a text of three sentences or more that each
begin with an action. Two short sentences may belong together, and what is only looked at, noted, left alone or waited
for is no action of its own. Make a step of each. Advice.

Wrong:

    steps:
      - step: hoop-off
        do: Loosen every rod by half a turn and then lift the hoop off.
      - step: head-off
        do: Tap the head loose; lay it on the bench.
      - step: wipe
        do: Wipe the edge. Turn the shell over. Wipe the other edge.
      - step: hand-back
        do: Put the drum out for its owner.
        end: done

Says:

    3:50: 'lift' is a second action; one step says one action, so make a step of it [one-action]
    5:29: 'lay' is a second action; one step says one action, so make a step of it [one-action]
    7:24: 3 sentences here begin with an action; one step says one action, so make a step of each [one-action]

Right:

    steps:
      - step: loosen
        do: Loosen every rod by half a turn. Do not take one right out.
      - step: hoop-off
        do: Lift the hoop off, both hands at the rim.
      - step: head-off
        do: Tap the head loose; the hoop of the head may stick to the edge.
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from ...procedure.findings import Finding
from ...procedure.linked import Linked
from ..prose import action_of, actions, by_words, clauses, sentences

ID = "one-action"
MOST = 2
"""Sentences that may each begin with an action."""

_JOINT = re.compile(r";|,?\s+and then\b")
_ONE = "one step says one action, so make a step of"


def check(linked: Linked) -> Iterator[Finding]:
    """One piece of advice for each text that tells of several actions."""
    for _, path, text in actions(linked):
        second = _second(text)
        if second is not None:
            at, message = second
            yield Finding(ID, message, linked.inside(path, at), severity="advice")


@by_words
def _second(text: str) -> tuple[int, str] | None:
    """Where a second action begins, and what is to be said of it."""
    joined = _joined(text)
    if joined is not None:
        at, verb = joined
        return at, f"'{verb}' is a second action; {_ONE} it"
    if text.count(". ") < MOST:
        return None
    begun = [at for at, sentence in sentences(text) if action_of(sentence)]
    return (begun[1], f"{len(begun)} sentences here begin with an action; {_ONE} each") if len(begun) > MOST else None


def _joined(text: str) -> tuple[int, str] | None:
    """The second action of a sentence, and where it stands."""
    if _JOINT.search(text) is None:
        return None
    for start, sentence in sentences(text):
        found = [(start + at, verb) for at, clause in clauses(sentence, _JOINT) if (verb := action_of(clause))]
        if len(found) > 1:
            return found[1]
    return None
