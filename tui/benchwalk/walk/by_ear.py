"""A note told by ear: lower, the same or higher than the one at the first rod of the round, by beats counted.

Two notes f1 and f2 beat |f1 - f2| times a second (the sum of two sines, by trigonometry), so beats counted in 5 s are
fifths of a hertz. An ear hears which of the two is higher; without a count it cannot say by how much, and then no
number is made up.
"""

from __future__ import annotations

import re
from fractions import Fraction

from ..errors import Misread
from ..procedure.model import Reading
from ..quantities import HeardNote, shown
from .phase import reading_places
from .view import View

SECONDS = 5
"""For how long beats are counted."""

BY_EAR = "By ear: same, or lower or higher and the beats in 5 s, as in: higher 3"
"""How a note is told by ear, for those who are asked."""

MOST_BEATS = 40
"""More in 5 s nobody counts; the notes are then too far apart to beat."""

_BY_EAR = re.compile(r"(lower|same|higher)(?:,? (?:by )?([0-9]+)(?: beats?)?(?: in 5 ?s(?:econds)?)?)?", re.IGNORECASE)


def is_by_ear(typed: str) -> bool:
    """Whether that tells a note by ear."""
    return _BY_EAR.fullmatch(" ".join(typed.split())) is not None


def by_ear(typed: str, reading: Reading, name: str, view: View) -> HeardNote | None:
    """The note that `typed` tells by ear (`same`, `higher 3 beats`); None where it tells none that way.

    Raises Misread where the count is lacking or too large, or where no first note of this round can be compared with.
    """
    found = _BY_EAR.fullmatch(" ".join(typed.split()))
    if found is None:
        return None
    word, count = found[1].lower(), int(found[2] or 0)
    if word == "same" and count:
        raise Misread(f"{shown(typed)} beats and is the same; say lower or higher, or same alone")
    if word != "same" and not 0 < count <= MOST_BEATS:
        raise Misread(
            f"{shown(typed)} needs the beats counted in {SECONDS} s, 1 to {MOST_BEATS}, as in: {word} 3; "
            "where they are too fast to count, type the note"
        )
    first = reading_places(reading, view)[0]
    if first is None:
        raise Misread(f"{shown(typed)} compares with another note, and here there is only one; type it")
    rounds = view.rounds(name)
    entry = rounds[-1].get(first) if rounds else None
    if entry is None or entry.value is None or entry.visit != view.visit:
        raise Misread(f"{shown(typed)} compares with the first place of this round, and that has no note yet; type it")
    beats = Fraction(count, SECONDS)
    value = Fraction(entry.value) + (beats if word == "higher" else -beats)
    if value <= 0:
        raise Misread(f"{shown(typed)} is no pitch; a pitch is above 0 Hz")
    return HeardNote(typed.strip(), value, "Hz")
