"""What a number of the authors' page is made of: the events that were counted, and out of how many."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

FEW = 5
"""A number of fewer visits than this says little, and is marked."""


class Tally:
    """How often something was: the events that were counted, by job."""

    def __init__(self) -> None:
        self.events: dict[str, list[int]] = {}

    def add(self, job: str, n: int) -> None:
        """Count one event."""
        self.events.setdefault(job, []).append(n)

    def drop(self, job: str, n: int) -> None:
        """Count an event no longer, if it was counted."""
        kept = [each for each in self.events.get(job, ()) if each != n]
        if kept:
            self.events[job] = kept
        else:
            self.events.pop(job, None)

    @property
    def count(self) -> int:
        """How many were counted."""
        return sum(map(len, self.events.values()))

    @classmethod
    def of(cls, tallies: Iterable[Tally]) -> Tally:
        """Several counted as one."""
        whole = cls()
        for tally in tallies:
            for job, events in tally.events.items():
                whole.events.setdefault(job, []).extend(events)
        return whole


class Reason(NamedTuple):
    """What a person said of something that was counted."""

    job: str
    n: int
    text: str


class Number(NamedTuple):
    """One number: `what` was counted in `tally`, out of `of`.

    `what` is a kind of way (`learned_follow.Taken`); of a reading outside, corrected, left-out or odd; of whole walks
    outcome. `name` is whose number it is (a way chosen, an event, a reading, an outcome) and `place` where it was
    taken, `to` is the step it leads to, `why` the author's words for it, `bound` ours; `line` says which branch (or
    way) of the step it is, from 0; `parts` what the number is made up of, `reasons` what was said.
    """

    what: str
    tally: Tally
    of: int
    name: str = ""
    place: str | None = None
    to: str | None = None
    why: str = ""
    bound: str = ""
    line: int | None = None
    parts: tuple[tuple[str, int], ...] = ()
    reasons: tuple[Reason, ...] = ()

    @property
    def few(self) -> bool:
        """Whether it rests on few visits."""
        return self.of < FEW


class Spent(NamedTuple):
    """How long stays at a step took, in seconds: the median, and the longest with its job.

    `what`: time, or wait; `note` says what is in that time beside the work of the step, or left out of it.
    """

    what: str
    note: str
    tally: Tally
    median: float
    longest: float
    job: str

    @property
    def few(self) -> bool:
        """Whether it rests on few visits."""
        return self.tally.count < FEW


class StepNumbers(NamedTuple):
    """What is known of one step: its visits that count, those that were gone back over, and what came of them."""

    step: str
    visits: Tally
    gone: Tally
    spent: tuple[Spent, ...]
    numbers: tuple[Number, ...]


class LeftOut(NamedTuple):
    """A job of which nothing is known here, and why."""

    job: str
    why: str


class Part(NamedTuple):
    """One revision of the procedure in the jobs of one kind (customer, practice); `content` is the hash of what that
    revision says, `never` the steps that nobody came to."""

    revision: str
    content: str
    kind: str
    walks: Tally
    outcomes: tuple[Number, ...]
    events: tuple[Number, ...]
    steps: tuple[StepNumbers, ...]
    never: tuple[str, ...]
