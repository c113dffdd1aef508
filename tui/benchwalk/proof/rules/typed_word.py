"""A choice that looks like something else that is typed.

Where an action and a reading are asked together, `no` says "not yet"; a number picks from the list, `?` asks for help
and `/` begins a command. A choice whose word or text begins with the word `no`, `not` or `none`, with a digit, or with
one of these signs is then hard to type and easy to hit by mistake. Say what is there instead of what is not: `swarf is
gone` for `no swarf shows`. A longer word, such as `nothing`, is another word. Advice: the choice can still be picked by
its number.

Wrong:

    readings:
      swarf: {ask: On the damp cloth, choices: {gone: no swarf shows, loose: swarf still shows}}
    steps:
      - step: wipe
        do: Wipe the hole with a damp cloth.
        record: [swarf]
        branches:
          - {when: swarf is gone, go: hand-back}
          - {when: swarf is loose, go: hand-on}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
      - step: hand-on
        do: Put the drum by for the senior.
        end: referred

Says:

    2:51: 'no swarf shows' begins with 'no', which is typed for 'not yet'; say what is there instead [typed-word]

Right:

    readings:
      swarf: {ask: On the damp cloth, choices: {gone: swarf is gone, loose: swarf still shows}}
    steps:
      - step: wipe
        do: Wipe the hole with a damp cloth.
        record: [swarf]
        branches:
          - {when: swarf is gone, go: hand-back}
          - {when: swarf is loose, go: hand-on}
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
from ...procedure.showing import shortened
from ..findable import key_place

ID = "typed-word"

_FIRST_WORD = re.compile(r"[^\W\d_]+")
_TAKEN = {
    "no": "'no', which is typed for 'not yet'; say what is there instead",
    "not": "'not', as 'not yet' does; say what is there instead",
    "none": "'none', which reads as nothing noted; say what is there instead",
    "?": "'?', which is typed for help; begin with a letter",
    "/": "'/', which begins a command; begin with a letter",
    "digit": "a digit, and a number picks from the list; begin with a letter",
}

_WHOLE = {
    "no": "is typed for 'not yet'; say what is there instead",
    "not": "begins 'not yet' where it is typed; say what is there instead",
    "none": "reads as nothing noted; say what is there instead",
    "?": "is typed for help; begin with a letter",
    "/": "begins a command; begin with a letter",
}
"""Of a word or text that is nothing else."""


def check(linked: Linked) -> Iterator[Finding]:
    """One piece of advice for each choice, and each way, whose word or text is typed for something else."""
    for path, text, word in _choices(linked):
        taken = _TAKEN.get(_begins(text))
        if taken is not None:
            place = key_place(linked, path) if word else linked.place(*path)
            whole = _WHOLE.get(text.strip().lower())
            yield Finding(ID, f"'{shortened(text)}' {whole or f'begins with {taken}'}", place, severity="advice")


def _choices(linked: Linked) -> Iterator[tuple[Path, str, bool]]:
    """Every word and text somebody picks an answer by, and whether it is the word before the colon; the text only where
    its word is free."""
    for name, reading in linked.procedure.readings.items():
        for word, text in (reading.choices or {}).items():
            path: Path = ("readings", name, "choices", word)
            yield (path, word, True) if _begins(word) in _TAKEN else (path, text, False)
    for step in linked.steps.values():
        for number, way in enumerate(step.choose.ways if step.choose else ()):
            key, text = ("way", way.way) if _begins(way.way) in _TAKEN else ("say", way.say)
            yield ("steps", linked.at[step.step], "choose", "ways", number, key), text, False


def _begins(text: str) -> str:
    """What a text begins with, as `_TAKEN` knows it: its first word, its first sign, or `digit`."""
    text = text.strip().lower()
    word = _FIRST_WORD.match(text)
    return word[0] if word else "digit" if text[:1].isdigit() else text[:1]
