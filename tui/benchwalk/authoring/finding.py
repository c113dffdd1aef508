"""Words in a text: every place where they stand, and the next of them from where the cursor is."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

from .edits import Spot


class Place(NamedTuple):
    """Where words stand: from where to where, which place it is (from 1) among how many, and whether it was gone round
    from the end of the text to come there."""

    start: Spot
    end: Spot
    number: int
    among: int
    round: bool


def next_place(lines: Sequence[str], words: str, spot: Spot) -> Place | None:
    """The next place of the words that begins at the spot or after it, else the first of the text; None where they
    stand nowhere. Small letters stand for capitals too; a capital stands for itself."""
    pattern = re.compile(re.escape(words), 0 if any(sign.isupper() for sign in words) else re.IGNORECASE)
    places = [(row, *found.span()) for row, text in enumerate(lines) for found in pattern.finditer(text)]
    if not places:
        return None
    at = next((n for n, (row, start, _end) in enumerate(places) if (row, start) >= spot), None)
    row, start, end = places[at or 0]
    return Place((row, start), (row, end), (at or 0) + 1, len(places), at is None)
