"""A job as a report looks at it: what the log says of each reading, person, time and look, in words."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, NamedTuple

from ..procedure.linked import Linked
from ..procedure.model import Reading
from ..procedure.showing import words_of
from ..quantities import decimal_text, plain_digits, with_unit
from ..walk.places import step_name
from ..walk.state import Entry, SignOff, State, Visit
from ..walk.view import fraction, heard_of
from ..walk.wording import as_noted, as_typed, asked_at, judged, listed, said_entry
from .parts import Number, Taken, Tone

NUMBERS = ("number", "whole", "note")
_FIGURE = re.compile(
    r"(?P<whole>[+−–-]?\d+(?![\d/\u2044]))?"
    r"(?P<part> ?\d+[/\u2044]\d+| ?[½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅐⅛⅜⅝⅞⅑⅒]|[.,]\d+)?"
    r"\s*(?P<unit>\D.*)?"
)


class Owner(NamedTuple):
    """The owner's facts: None where they are not there; `given`: the log says that there were some.

    `same` is whether they are those given at intake, None where that cannot be told.
    """

    facts: Mapping[str, str] | None
    given: bool
    same: bool | None


@dataclass(frozen=True)
class Record:
    """All that a report is made from. `titles` gives procedures outside this job their titles, by id."""

    state: State
    books: Callable[[str], Linked]
    names: Mapping[str, str]
    events: Sequence[Mapping[str, Any]]
    owner: Owner
    shop: str
    head: str
    torn: bool = False
    titles: Mapping[str, str] = field(default_factory=dict)

    @property
    def root(self) -> Linked:
        """The job's own procedure."""
        return self.books(self.state.text)

    def who(self, person: str) -> str:
        """A person's name as the shop knows it, else their id."""
        return self.names.get(person, person)

    def everybody(self) -> str:
        """All who had the work in hand."""
        return listed(self.who(person) for person in self.state.people)

    def event(self, n: int) -> Mapping[str, Any]:
        """The event with that number."""
        return self.events[n - 1]

    def sign(self, n: int) -> Mapping[str, Any]:
        """The sign-off an event carries: name, role, time and how it was proved, as they were then."""
        return self.event(n).get("sign") or {}

    # --- readings ---

    def reading(self, entry: Entry) -> Reading | None:
        """The question an entry answers; None for a fact of the drum and a way that was chosen."""
        if entry.visit == 0:
            return None
        return self.books(self.state.visits[entry.visit - 1].text).procedure.readings.get(entry.name)

    def is_number(self, entry: Entry) -> bool:
        """Whether it was measured or counted."""
        reading = self.reading(entry)
        return reading is not None and reading.sort in NUMBERS

    def label(self, entry: Entry, *, place: bool = True) -> str:
        """What was asked, where, and in which run."""
        reading = self.reading(entry)
        ask = reading.ask if reading else "Way taken"
        path = self.state.visits[entry.visit - 1].path if entry.visit else ""
        return asked_at(ask, (entry.place or "") if place else "") + (f" ({words_of(path)})" if path else "")

    def said(self, entry: Entry, *, outside: bool = False) -> str:
        """The value in words; `outside` says that it leaves the shop, so that no file's name goes with it."""
        reading = self.reading(entry)
        if entry.value is None:
            return f"left out ({entry.why})"
        if reading is not None and reading.sort in ("picture", "sound") and entry.value != entry.typed:
            kept = f"{reading.sort} kept with the job"
            return kept if outside else f"{entry.typed} ({kept} as {entry.value})"
        heard = f" (recording kept with the job as {entry.recording})" if entry.recording and not outside else ""
        return said_entry(entry, reading) + heard

    def earlier(self, entry: Entry, typed: str, value: str) -> str:
        """A value that stood there before it was corrected, in words."""
        reading = self.reading(entry)
        if reading is not None and reading.choices:
            return reading.choices.get(value, typed)
        return as_noted(typed, value, entry.unit) if typed else "left out"

    def judgement(self, entry: Entry) -> tuple[str, Tone]:
        """The judgement by word, and its tone; two empty words where nothing was wanted."""
        reading = self.reading(entry)
        word = judged(entry) if entry.value is not None else ""
        if not word:
            return "", ""
        tone: Tone = "within" if entry.verdict == "within" else "outside"
        if reading is not None and reading.choices:
            word = "as wanted" if tone == "within" else "not what is wanted"
        return word, tone

    def taken(self, entry: Entry) -> Taken:
        """An entry as a figure."""
        word, tone = self.judgement(entry)
        if entry.value is None:
            return Taken(None, f"left out ({entry.why})", "quiet", entry.n)
        return Taken(number(_figure(entry, self.reading(entry)), entry.unit), word, tone, entry.n)

    def live(self, entry: Entry) -> bool:
        """Whether it still counts."""
        return self.state.live(entry.visit, entry.n)

    # --- the route ---

    def stage(self, visit: Visit) -> str:
        """The title of the stage a stop belongs to, of the job's own procedure; "" where it has none."""
        linked = self.root
        stage = linked.stage.get(visit.frames[0].step)
        return next((s.stage.title for s in linked.procedure.steps if s.stage and s.stage.id == stage), "")

    def proposed(self) -> list[str]:
        """What is proposed next, as titles, each once: by the end, and by findings that still count."""
        ids = [i for f in self.state.found if self.state.live(f.visit, f.n) for i in f.proposes]
        ids += self.state.ended["proposes"] if self.state.ended else []
        return [self.titles.get(i) or words_of(i).capitalize() for i in dict.fromkeys(ids)]


def stop_name(there: Visit | SignOff) -> str:
    """The step a stop was at, with the run it is in, in words."""
    return words_of(step_name(there.path, there.step))


def _figure(entry: Entry, reading: Reading | None) -> str:
    """An entry's value as a figure. Of a note its frequency, however it was told, for the first is read beside the
    last: how sure it is with it, by ear or by which name; its second note stands where it was noted."""
    told = as_typed(entry.typed, entry.unit)
    if reading is None or reading.sort != "note" or entry.value is None:
        return told
    note = heard_of(entry)
    if note is not None and not note.more and plain_digits(entry.typed, entry.unit) is not None:
        return told
    figure = with_unit(decimal_text(fraction(entry.value)), entry.unit)
    if note is None:
        return f"{figure}, by ear"
    if note.sure is not None:
        return f"{figure}, give or take {with_unit(decimal_text(note.sure), 'cents')}"
    return figure if note.more else f"{figure} ({entry.typed.strip()})"


def number(typed: str, unit: str) -> Number:
    """What was typed, cut before its decimals or its fraction; `unit` where none was typed."""
    typed = typed.strip()
    cut = _FIGURE.fullmatch(typed)
    if cut is None or (cut["whole"] is None and cut["part"] is None):
        return Number(typed, "", "")
    return Number(cut["whole"] or "", cut["part"] or "", cut["unit"] or unit)


# --- times ---------------------------------------------------------------------------------------------------------

_MONTHS = (
    *("January", "February", "March", "April", "May", "June", "July"),
    *("August", "September", "October", "November", "December"),
)


def when(text: str) -> datetime | None:
    """A time as events carry it; None where it is none."""
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        return None


def day(text: str) -> str:
    """`3 March 2026`."""
    at = when(text)
    return f"{at.day} {_MONTHS[at.month - 1]} {at.year}" if at else text


def day_and_time(text: str) -> str:
    """`3 March 2026, 08:47`."""
    at = when(text)
    return f"{day(text)}, {at:%H:%M}" if at else text


def stamp(text: str) -> str:
    """`2026-03-03 08:47:25 +01:00`: nothing left to guess."""
    return re.sub(r"(?<=\d)(?=[+-]\d\d:\d\d$)", " ", text.replace("T", " ", 1)) if when(text) else text
