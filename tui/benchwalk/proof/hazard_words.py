"""Finding the words of the hazard table in texts: whole, one or many, and not where they are only forbidden."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import cache, lru_cache
from typing import NamedTuple

from ..procedure.linked import Path
from .hazard_table import ROWS, Row

Place = tuple[Path, str]
"""A text and where it stands."""


class Call(NamedTuple):
    """A word that calls for a hazard: the row, the place of its text, where it begins there, the word as written."""

    row: Row
    path: Path
    at: int
    word: str


def called(places: Sequence[Place], *, laid_out: bool = False) -> Iterator[Call]:
    """The rows that these texts call for, each once, by the first word that does.

    `laid_out`: the texts name things, and are no sentences.
    """
    words = {word for _, text in places for word in _words(text)}
    known = _rows_by_word()
    numbers = sorted({number for word in words & known.keys() for number in known[word]})
    seen: set[tuple[str, ...]] = set()
    for number in numbers:
        row = ROWS[number]
        if row.words and row.words in seen:
            continue
        found = _first(_pattern((*row.words, *row.laid_out) if laid_out else row.words, row.but), places)
        if found is not None and (not row.beside or _first(_pattern(row.beside, ()), places) is not None):
            seen.add(row.words)
            path, match = found
            yield Call(row, path, match.start(), match[0])


def plural(word: str) -> str:
    """A word or its last part for more than one thing, as it is mostly made in English."""
    if word.endswith("fe"):
        return word[:-2] + "ves"
    if word.endswith("y") and word[-2:-1] not in "aeiou":
        return word[:-1] + "ies"
    if word.endswith(("s", "x", "z", "ch", "sh")):
        return word + "es"
    return word + "s"


_WORD = re.compile(r"[a-z]+")
_FORBIDS = re.compile(r"\b(?:no|not|never|without|nor|neither|avoid|instead of|rather than|away from|cannot)\b", re.I)
_STOP = re.compile(r"[.;!?](?=\s)")


@lru_cache(maxsize=4096)
def _words(text: str) -> frozenset[str]:
    return frozenset(_WORD.findall(text.lower()))


@cache
def _rows_by_word() -> dict[str, list[int]]:
    """The rows by the first part of each of their words, one and many."""
    found: dict[str, list[int]] = {}
    for number, row in enumerate(ROWS):
        for word in (*row.words, *row.laid_out):
            for form in (word, plural(word)):
                found.setdefault(_WORD.findall(form)[0], []).append(number)
    return found


@cache
def _pattern(words: tuple[str, ...], but: tuple[str, ...]) -> re.Pattern[str]:
    """Any of the words as a whole word, the longest first; never, where there are none."""
    if not words:
        return re.compile(r"(?!)")
    forms = sorted({form for word in words for form in (word, plural(word))}, key=len, reverse=True)
    either = "|".join(re.escape(form).replace(r"\ ", "[ -]").replace(r"\-", "[ -]") for form in forms)
    follows = rf"(?![ -](?:{'|'.join(but)})\b)" if but else ""
    return re.compile(rf"(?<![\w-])(?:{either})\b{follows}", re.IGNORECASE)


def _first(pattern: re.Pattern[str], places: Sequence[Place]) -> tuple[Path, re.Match[str]] | None:
    """The first word that is not only forbidden, and the place of its text."""
    for path, text in places:
        for match in pattern.finditer(text):
            before = _STOP.split(text[: match.start()])[-1]
            if not _FORBIDS.search(before):
                return path, match
    return None
