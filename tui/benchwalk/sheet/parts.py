"""What a printed sheet is made of, before it has a format. Every text is as somebody wrote it; `render` makes it safe.

A text with a place to write in it has BLANK there.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple

BLANK = "______"
"""A place to write a word or figure in the middle of a sentence."""

Stands = Literal["open", "done", "here", "under", "again"]
"""open: not come to yet; done: crossed off; here: the work stands there; under: it stands in what that stop runs;
again: done, and it may be come to again."""


class Lead(NamedTuple):
    """One way on: when it is taken, the stop it leads to, why, and how often it may be taken at most.

    `boxes` are to be ticked each time, `ticked` of them are already.
    """

    when: str
    to: str
    why: str
    back: bool = False
    boxes: int = 0
    ticked: int = 0
    then: str = ""


class Option(NamedTuple):
    """One answer of a choice: what is shown, whether it is the wanted one, whether it was noted, where it leads."""

    said: str
    wanted: bool
    noted: bool
    lead: Lead | None = None


class Ask(NamedTuple):
    """One thing to write down, with a line for it or boxes to tick.

    `mark` is the letter that ways on call it by, `name` what the procedure calls it, `places` where it is asked one by
    one, `noted` what is known already, `notes` what else is to be known.
    """

    mark: str
    question: str
    name: str
    unit: str = ""
    wanted: str = ""
    noted: str = ""
    options: tuple[Option, ...] = ()
    places: tuple[str, ...] = ()
    wide: bool = False
    worked: bool = False
    notes: tuple[str, ...] = ()


class Look(NamedTuple):
    """Somebody else looks: who, what it means, why, and what it can be refused for. `only_told`: work goes on."""

    by: str
    signs: str
    because: str
    refused: tuple[str, ...]
    only_told: bool = False


class Warn(NamedTuple):
    """A hazard: its signal word, what can happen, what it does, how to avoid it."""

    word: str
    hazard: str
    consequence: str
    avoid: str


@dataclass(frozen=True, slots=True)
class Stop:
    """One stop as it is printed. `records` is what the log says of it; a stop that is `done` is printed as that alone.

    `asks` twice where `again` says that the walk may come to it more than once.
    """

    number: str
    name: str
    stands: Stands
    at: str = ""
    records: tuple[str, ...] = ()
    warns: tuple[Warn, ...] = ()
    do: str = ""
    why: str = ""
    expect: str = ""
    if_not: tuple[str, ...] = ()
    drawing: tuple[str, ...] = ()
    lines: tuple[str, ...] = ()
    ticks: tuple[str, ...] = ()
    asks: tuple[Ask, ...] = ()
    looks: tuple[Look, ...] = ()
    entered: Lead | None = None
    skip: str = ""
    leads: tuple[Lead, ...] = ()
    first_of: bool = False
    events: tuple[str, ...] = ()
    again: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """Stops under one heading: a stage, or what another procedure is given where it is run (then `inner`)."""

    title: str
    lines: tuple[str, ...]
    stops: tuple[Stop, ...]
    inner: bool = False


class Event(NamedTuple):
    """What may happen: its letter, what it is picked by, where, and where it leads."""

    letter: str
    say: str
    during: str
    lead: Lead
    goes_on: str = ""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A whole sheet. `job` is empty for a blank one; `stands` says in words how far the job is."""

    shop: str
    title: str
    subtitle: str
    label: str
    job: str
    stands: str
    purpose: str
    facts: tuple[tuple[str, str], ...]
    laid_out: tuple[tuple[str, tuple[str, ...]], ...]
    before: tuple[str, ...]
    warns: tuple[Warn, ...]
    parts: tuple[Part, ...]
    events: tuple[Event, ...]
    counted: tuple[str, ...]
    typing_in: tuple[str, ...]
