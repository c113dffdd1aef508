"""Sentences of a procedure as a reader takes them in: which texts tell to do something, and how a clause begins.

Nothing here knows English; it knows how a bench writes. The list of verbs is our own (common practice, no published
source), and what it does not know is taken for no action, so that a rule is rather silent than wrong.

What a rule makes of a text hangs on its words alone and is kept by them (`by_words`): behind a key all texts but one
are the same as before.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from typing import NamedTuple

from ..procedure.linked import Linked, Path
from ..procedure.model import Step
from ..procedure.showing import shortened

by_words = lru_cache(maxsize=2048)
"""Keeps what a function makes of words."""


class Told(NamedTuple):
    """A text that tells to do something: the step it stands in, its place, and the text."""

    step: Step
    path: Path
    text: str


def actions(linked: Linked) -> list[Told]:
    """The `do` of every step and of every way."""
    return linked.once(_actions)


def _actions(linked: Linked) -> list[Told]:
    found: list[Told] = []
    for name, step in linked.steps.items():
        at: Path = ("steps", linked.at[name])
        if step.do is not None:
            found.append(Told(step, (*at, "do"), step.do))
        for number, way in enumerate(step.choose.ways if step.choose else ()):
            if way.do is not None:
                found.append(Told(step, (*at, "choose", "ways", number, "do"), way.do))
    return found


def instructions(linked: Linked) -> list[Told]:
    """The same, and what to try when it does not come out."""
    return linked.once(_instructions)


def _instructions(linked: Linked) -> list[Told]:
    found = [*actions(linked)]
    for name, step in linked.steps.items():
        for number, text in enumerate(step.if_not or ()):
            found.append(Told(step, ("steps", linked.at[name], "if_not", number), text))
    return found


def expected(linked: Linked) -> list[Told]:
    """What every step lets one expect."""
    return linked.once(_expected)


def _expected(linked: Linked) -> list[Told]:
    return [
        Told(step, ("steps", linked.at[name], "expect"), step.expect)
        for name, step in linked.steps.items()
        if step.expect is not None
    ]


def sentences(text: str) -> Iterator[tuple[int, str]]:
    """Each sentence of a text, with where it begins."""
    begin = 0
    for stop in _STOP.finditer(text):
        yield from _trimmed(text, begin, stop.start())
        begin = stop.end()
    yield from _trimmed(text, begin, len(text))


def clauses(text: str, divider: re.Pattern[str]) -> Iterator[tuple[int, str]]:
    """The pieces of a text between what `divider` matches, each with where it begins."""
    begin = 0
    for stop in divider.finditer(text):
        yield from _trimmed(text, begin, stop.start())
        begin = stop.end()
    yield from _trimmed(text, begin, len(text))


_STOP = re.compile(r"(?<!\bno)(?<!\bNo)[.!?](?=\s|\Z)")  # not the point of "no. 12", nor of 0.5


def _trimmed(text: str, begin: int, end: int) -> Iterator[tuple[int, str]]:
    piece = text[begin:end]
    kept = piece.strip()
    if kept:
        yield begin + len(piece) - len(piece.lstrip()), kept


def said(text: str) -> str:
    """A piece of a text as one line, short enough for a sentence."""
    return shortened(" ".join(text.split()))


def action_of(clause: str) -> str:
    """The verb of the action a clause begins with, in small letters; "" where it begins with none.

    `Then turn it` begins with one; `Do not force it` and `Leave it alone` tell of none.
    """
    first = _FIRST.match(clause)
    if first is None or first[1].lower() not in VERBS:
        return ""
    following = first[2].lower()
    return "" if following in _NO_OBJECT or following.endswith("'s") else first[1].lower()


_FIRST = re.compile(
    r"(?:(?:then|now|next|first|afterwards|finally|again|and|[a-z]+ly)\b,?\s+)*([a-z-]+)\s*([\w'{]*)", re.I
)
_NO_OBJECT = frozenset(
    re.findall(r"\w+", "is are was were has have had lies lie may must can cannot will does do should nothing")
)

VERBS = frozenset(
    re.findall(
        r"\w+",
        """
    adjust align apply assemble attach back bend bind blow bolt bore bring brush buff call carry change check
    clamp clean clip close coil compare connect count cover crimp cut deburr detach dip disconnect dismantle
    double drain draw drill drive drop dry ease empty even fasten feed fetch fill find fit fix flip fold free
    glue grease grind hammer hang heat hit hold insert inspect install join knock label lace lay lead level lift
    line load lock loop loosen lower lubricate mark measure mount move nip oil open pack paint peel photograph
    pinch place play polish position pour press pry pull punch push put raise ream reattach refit release remove
    replace reset retie rinse roll rotate rub sand saw scrape screw scrub seal search seat secure set sew shake
    sharpen shave shift shim show slack slacken slide snip snug soak solder splice spray spread square squeeze
    stack stick straighten stretch strike string strip support swap swing tag take tap tape tear tension test
    thread tie tighten tilt top touch trim true try tuck tune turn twist unbolt unclip undo unhook unplug unroll
    unscrew untie unwind warm wash wedge weigh wet wind wipe withdraw wrap
    """,
    )
)
"""What is done at a bench. Waiting, stopping, leaving alone, looking and noting are not among them: they go with the
action they belong to."""
