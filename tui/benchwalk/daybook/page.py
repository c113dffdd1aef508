"""The right page of the daybook, in parts, for whatever lays them out. Words that name keys are left to the screen."""

from __future__ import annotations

from dataclasses import dataclass

from ..walk.phase import Now


@dataclass(frozen=True)
class Choice:
    """One of the things that can be chosen, by its number."""

    number: int
    word: str
    said: str
    wanted: bool = False


@dataclass(frozen=True)
class Hazard:
    """A hazard in its three parts, under its signal word (danger, warning, caution, notice)."""

    grade: str
    hazard: str
    consequence: str
    avoid: str


@dataclass(frozen=True)
class Page:
    """What stands on the right page. Empty parts are not shown.

    `kind` is that of `Now` (or `others`: another person has the work in hand). `entry` says what is typed ("in mm"), or
    is None where nothing is. `asked` is the reading asked for, if it is one, `advised` what a sum advises to note
    there, as it would be typed. `press` lists (action, what it does here).
    """

    kind: str
    place: str = ""
    stage: str = ""
    why: str = ""
    lead: tuple[str, ...] = ()
    hazards: tuple[Hazard, ...] = ()
    action: str = ""
    expect: str = ""
    given: str = ""
    question: str = ""
    choices: tuple[Choice, ...] = ()
    hints: tuple[str, ...] = ()
    entry: str | None = None
    asked: Now | None = None
    advised: str = ""
    background: tuple[str, ...] = ()
    press: tuple[tuple[str, str], ...] = ()
