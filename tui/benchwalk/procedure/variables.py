"""What a condition may speak of: the things that have a value, the places they have it at, and where names are found.

The caller builds one `Variable` for everything a step can read (readings, outputs of sums, the sums themselves, drum
facts, what a run gave, the hold of the step) and hands them over in a `Scope`.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import Protocol

from ..plaindata import Frozen
from ..quantities import Range

NUMBER_KINDS = frozenset(("number", "whole", "note"))
CHOICE_KINDS = frozenset(("choice", "outcome", "hold"))
ONLY_MISSING_KINDS = frozenset(("words", "picture", "sound"))

ROD = "rod"
"""Value of `Variable.places` for one value a rod, where the number of rods is not known."""

FROM_A_SUM = "sum"
"""Value of `Variable.wanted` for a range that a sum works out."""


class Variable(Frozen):
    """One thing a condition may ask about.

    - `kind`: number, whole, note (numbers); choice, outcome, hold (one of a few words); words, picture, sound; range
      (a sum's output of that kind); sum (the sum itself, asked only whether it has a result).
    - `unit`: the unit its values are in; a note is in Hz.
    - `choices`: the words of a choice or an outcome; of a hold, the reasons it may be refused for.
    - `possible`: the numbers that can occur; None for any. `wanted`: a range, the wanted choices, FROM_A_SUM, or None.
    - `places`: the names of its places, ROD, or None when it is asked once.
    - `resolution`: what the instrument resolves, and finer values may still be typed; every value of an output of a sum
      is a multiple of it.
    - `sum`: for an output, the name of its sum; when the sum has no result, all its outputs are missing.
    - `sure_when`: `(name, words)`: whenever that choice is one of the words this is recorded for certain, even where
      it may be missing otherwise (what a run gives is there whenever its outcome is done).
    """

    name: str
    kind: str
    unit: str = ""
    choices: tuple[str, ...] = ()
    possible: Range | None = None
    wanted: Range | tuple[str, ...] | str | None = None
    places: tuple[str, ...] | str | None = None
    resolution: Fraction | None = None
    sum: str | None = None
    sure_when: tuple[str, tuple[str, ...]] | None = None

    @property
    def is_number(self) -> bool:
        return self.kind in NUMBER_KINDS

    @property
    def is_choice(self) -> bool:
        return self.kind in CHOICE_KINDS

    @property
    def words(self) -> tuple[str, ...]:
        """Every value a choice, an outcome or a hold can have.

        A hold is "released", "refused", or, where reasons are named, "refused for REASON".
        """
        if self.kind != "hold":
            return self.choices
        return ("released", *(f"refused for {reason}" for reason in self.choices)) if self.choices else HOLD_PLAIN


HOLD_PLAIN = ("released", "refused")


class Sized(Protocol):
    """A number and its unit, as `Quantity` has them."""

    @property
    def value(self) -> Fraction: ...
    @property
    def unit(self) -> str: ...


class Scope(Protocol):
    """Where the names of a condition are looked up."""

    def lookup(self, name: str) -> Variable | None:
        """The variable called `name`, if there is one."""

    def constant(self, name: str) -> Sized | None:
        """The limit called `name`, if there is one."""

    def suggest(self, name: str) -> str:
        """The end of a sentence about a name that is not there: one close to it, or nothing."""


class Names:
    """The plain Scope: variables and limits held in two dictionaries."""

    def __init__(self, variables: Iterable[Variable] = (), constants: Mapping[str, Sized] | None = None) -> None:
        self.variables = {variable.name: variable for variable in variables}
        self.constants = dict(constants or {})

    def lookup(self, name: str) -> Variable | None:
        return self.variables.get(name)

    def constant(self, name: str) -> Sized | None:
        return self.constants.get(name)

    def suggest(self, name: str) -> str:
        return meant(name, [*self.variables, *self.constants])


def closest(word: str, words: Iterable[str]) -> str | None:
    """The one of `words` most like `word`, or None when none is like it."""
    known = list(words)
    for candidate in known:
        if candidate.lower() == word.lower():
            return candidate
    near = difflib.get_close_matches(word, known, n=1)
    return near[0] if near else None


def meant(word: str, words: Iterable[str]) -> str:
    """The end of a sentence about a name that is not there: the one most like it, or what its sum gives, or nothing."""
    known = list(words)
    whole, dot, _part = word.partition(".")
    gives = sorted(one for one in known if dot and one.startswith(whole + dot))
    near = next(iter(difflib.get_close_matches(word, gives, 1, 0.85)), None) if gives else closest(word, known)
    if near is not None:
        return f"; did you mean '{near}'?"
    parts = ", ".join(one.removeprefix(whole + dot) for one in gives)
    return f"; '{whole}' gives {parts}, written as {gives[0]}" if gives else ""
