"""Three or more conditions in one sentence.

Nobody keeps three conditions in mind with both hands on a drum, and `and` and `or` in prose are read in two ways. Ask
what decides as readings, and give each case a line under `first_of` or `branches`: that is the table. Advice.

Wrong:

    steps:
      - step: look
        do: If the plate is bent or the cord is frayed and the lever is loose, call the senior.
      - step: hand-back
        do: Put the drum out for its owner.
        end: done

Says:

    3:9: 3 conditions stand in one sentence; ask each as a reading, and give each case a line under first_of
        [many-conditions]

Right:

    readings:
      seen: {ask: You see, choices: {bent: a bent plate, frayed: a frayed cord, sound: a sound plate and cord}}
    steps:
      - step: look
        do: Look at plate and cord. If the lever is loose, hold it down.
        record: [seen]
        first_of:
          - {when: seen is bent, because: A bent plate lifts the strands, go: hand-back}
          - {when: seen is frayed, because: A frayed cord lets go, go: hand-back}
          - {when: otherwise, because: Both are sound, go: hand-back}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from ...procedure.findings import Finding
from ...procedure.linked import Linked
from ..prose import by_words, expected, instructions, sentences

ID = "many-conditions"
MOST = 2
"""Conditions that one sentence may hold."""

_IF = re.compile(
    r"\b(?:if|unless|when|whenever|in case|provided that)\b(?! (?:needed|necessary|required|possible)\b)", re.I
)
_SOON = re.compile("[Ii]f|nless|hen|n case|rovided")
_AS_IF = re.compile(r"\b(?:as|even) if\b", re.I)
_JOINED = re.compile(r"\b(?:and|or)\b", re.I)
_SAYS = re.compile(r"\b(?:is|are|has|have|does|do|can|cannot|will|was|were)\b", re.I)


def check(linked: Linked) -> Iterator[Finding]:
    """One piece of advice for each sentence that holds too many conditions."""
    for _, path, text in (*instructions(linked), *expected(linked)):
        for start, number in _crowded(text):
            message = (
                f"{number} conditions stand in one sentence; ask each as a reading, "
                "and give each case a line under first_of"
            )
            yield Finding(ID, message, linked.inside(path, start), severity="advice")


@by_words
def _crowded(text: str) -> list[tuple[int, int]]:
    """Where a sentence with too many conditions begins, and how many it has."""
    if not _SOON.search(text):
        return []
    counted = [(start, _conditions(sentence)) for start, sentence in sentences(text)]
    return [(start, number) for start, number in counted if number > MOST]


def _conditions(sentence: str) -> int:
    """How many conditions a sentence holds: each `if`, and each further clause that `and` or `or` joins to it."""
    begun = [*_IF.finditer(_AS_IF.sub(lambda found: "-" * len(found[0]), sentence))]
    number = 0
    for which, begin in enumerate(begun):
        end = begun[which + 1].start() if which + 1 < len(begun) else len(sentence)
        clause = sentence[begin.end() : end]
        if begin.start() == 0 and "," in clause:
            clause = clause[: clause.rindex(",")]  # what follows the last comma is done, not asked
        pieces = _JOINED.split(clause)
        number += 1 + sum(1 for piece in pieces[1:] if _SAYS.search(piece))
    return number
