"""A vague word where a value should stand.

`Adjust the knob` and `tighten it properly` are understood by who wrote them. Say how far, how hard, how much, or what
must be seen: a value, a drawing, a reading with what is wanted, or an `expect`. Told are adjust, check, ensure, make
sure and verify at the head of an action, and as needed, properly, sufficient, adequate, appropriate and their like
anywhere; not where the sentence gives a value, `until` or `so that`, nor, for adjust and check, where the step says
what to expect or records something. So is a text that was only put in to be worded (`Say why`). Advice.

Wrong:

    steps:
      - step: knob
        do: Adjust the knob.
      - step: rods
        do: Tighten the rods as needed.
        expect: The head is properly seated.
      - step: lever
        do: Make sure that the lever holds.
      - step: hand-back
        do: Put the drum out for its owner.
        end: done

Says:

    3:9: 'Adjust' does not say how far or when it is right; give a value, or what to expect or record [vague]
    5:26: 'as needed' does not say how much; give a value, or what must be seen [vague]
    6:25: 'properly' does not say when it is so; give a value, or what must be seen [vague]
    8:9: 'Make sure' does not say what is done; give the action, and put what must be seen into 'expect' [vague]

Right:

    steps:
      - step: knob
        do: Adjust the knob to the middle of its turns.
      - step: rods
        do: Tighten each rod by a quarter turn.
        expect: No wrinkle is left at the beds.
      - step: lever
        do: Press the lever with one finger.
        expect: The lever stays on.
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from ...procedure.findings import Finding
from ...procedure.linked import Linked
from ..leaves import leaves
from ..prose import by_words, clauses, expected, instructions, sentences

ID = "vague"
TO_BE_WORDED = "Say why"
"""What stands in a branch that was put in, where its reason goes."""

_HEAD = re.compile(
    r"(?:(?:then|now|next|again|and|[a-z]+ly)\b,?\s+)*(adjust|check|verify|ensure|make sure|make certain)\b", re.I
)
_JOINT = re.compile(r";|,?\s+(?:and|then)\s+|,\s+")
_ANYWHERE = re.compile(
    r"\b(?:(as (?:needed|necessary|required|appropriate)|(?:if|when|where) (?:needed|necessary|required)|"
    r"sufficient(?:ly)?|adequate(?:ly)?)|(properly|correctly|appropriate(?:ly)?|suitably|reasonably))\b",
    re.IGNORECASE,
)
_STEMS = (
    "need",
    "necess",
    "requir",
    "ufficient",
    "dequate",
    "roperly",
    "orrectly",
    "ppropriate",
    "uitably",
    "easonabl",
)
_VALUE = re.compile(
    r"[0-9]|\{\{|\b(?:until|so that|by eye against|half|quarter|third|eighth|sixteenth|once|twice|one|two|three|four|"
    r"flush|finger-tight|square|level|middle|centre|same|alike|loosest|tightest)\b",
    re.IGNORECASE,
)
_NUMBER = re.compile(r"[0-9]|\{\{")
_SOON = re.compile("adjust|check|verify|ensure|make sure|make certain", re.IGNORECASE)


def check(linked: Linked) -> Iterator[Finding]:
    """One piece of advice for each vague word that nothing near it makes clear."""
    told = instructions(linked)
    for step, path, text in told:
        for at, verb in _heads(text, answered=bool(step.expect or step.record or step.hold)):
            yield Finding(ID, f"'{verb}' {_HEADS[verb.lower()]}", linked.inside(path, at), severity="advice")
    for _, path, text in (*told, *expected(linked)):
        for at, message in _anywhere(text):
            yield Finding(ID, message, linked.inside(path, at), severity="advice")
    for path, said in leaves(linked):
        if said is not None and said.strip() == TO_BE_WORDED:
            message = f"'{TO_BE_WORDED}' was put in for you to word; say why, and look where it leads"
            yield Finding(ID, message, linked.place(*path), severity="advice")


_FAR = "does not say how far or when it is right; give a value, or what to expect or record"
_SEEN = "does not say what is looked for; give a value, or what to expect or record"
_DONE = "does not say what is done; give the action, and put what must be seen into 'expect'"
_HEADS = {
    "adjust": _FAR,
    "check": _SEEN,
    "verify": _SEEN,
    **dict.fromkeys(("ensure", "make sure", "make certain"), _DONE),
}


@by_words
def _anywhere(text: str) -> list[tuple[int, str]]:
    """What is to be said of vague words wherever they stand, with their places."""
    told: list[tuple[int, str]] = []
    for start, sentence in sentences(text) if any(stem in text for stem in _STEMS) else ():
        for found in _ANYWHERE.finditer(sentence):
            if not _VALUE.search(sentence):
                when = "how much" if found[1] else "when it is so"
                message = f"'{found[0]}' does not say {when}; give a value, or what must be seen"
                told.append((start + found.start(), message))
    return told


@by_words
def _heads(text: str, *, answered: bool) -> list[tuple[int, str]]:
    """The vague verbs that head an action, with their places; `answered` says that its step asks for what is seen."""
    told: list[tuple[int, str]] = []
    for start, sentence in sentences(text) if _SOON.search(text) else ():
        for at, clause in clauses(sentence, _JOINT):
            found = _HEAD.match(clause)
            if found is None:
                continue
            hidden = _HEADS[found[1].lower()] is _DONE  # no value tells what is to be done
            if not (_NUMBER if hidden else _VALUE).search(sentence) and (hidden or not answered):
                told.append((start + at + found.start(1), found[1]))
    return told
