"""What a job is, after its events: the state that `fold` builds and everything else reads."""

from __future__ import annotations

from dataclasses import field
from typing import Any, NamedTuple

from ..plaindata import Plain


class Frame(NamedTuple):
    """A procedure being walked: the job's own, or one run from a step of another.

    `run` is a number of its own for each run, `n` the event it began with; `path` is "" for the job's procedure, else
    the names it was run under ("far", "far/holes"), and no two frames at a time share one; `step` is where this frame
    stands; `caller` is the visit that waits for it (0 for the job's own). `back`: the event `event` of the frame above
    in `path` interrupted that visit, which goes on afterwards.
    """

    run: int
    n: int
    path: str
    text: str
    step: str
    caller: int
    back: bool
    event: str


class Result(NamedTuple):
    """How a run came back: the event, the visit that ran it, the run's number, its outcome."""

    n: int
    visit: int
    run: int
    outcome: str


class Visit(Plain):
    """One stay at one step.

    `hands` are all who had the work in hand here, `who` the last of them. `struck`: the walk went back over it whole;
    `cuts`: (event, event) between which what was noted here was gone back over, where the walk went back into a run
    that this step waited for. `broken` says why the step was left before it was finished.
    """

    number: int
    run: int
    path: str
    text: str
    step: str
    entered: int
    at: str
    frames: tuple[Frame, ...]
    why: str
    by_hand: bool
    who: str
    stage: str | None = None
    acked: bool = False
    done: bool = False
    way: str | None = None
    confirmed: dict[str, int] = field(default_factory=dict)
    until: str | None = None
    latest: str | None = None
    waited: int | None = None
    worked: list[str] = field(default_factory=list)
    hold: str | None = None
    told: bool = False
    skipped: str | None = None
    ran: bool = False
    closed: int | None = None
    closed_at: str | None = None
    struck: bool = False
    hands: tuple[str, ...] = ()
    cuts: tuple[tuple[int, int], ...] = ()
    broken: str | None = None


class Entry(Plain):
    """One reading as it stands: `n` is the event that first noted it; corrections replace the rest and are kept.

    `value` is None where it was left out; `why` then says why. `against` is the event of the sum whose range it
    was judged by. `before` holds (typed, value, event of the correction) of what stood here earlier, oldest first;
    `corrected_at` is the time of the last correction; `allowed` why the procedure lets it be left out; `recording` the
    kept recording that a note was heard in, until it is corrected by hand.
    """

    n: int
    visit: int
    run: int
    name: str
    place: str | None
    typed: str
    value: str | None
    unit: str
    verdict: str | None
    by: str | None
    against: int | None
    who: str
    at: str
    odd: bool = False
    why: str | None = None
    late_at: str | None = None
    before: tuple[tuple[str, str, int], ...] = ()
    corrected_at: str | None = None
    allowed: str = ""
    recording: str | None = None


class Worked(Plain):
    """A sum as worked out: outputs as decimal text (a range as {low, high}), or why there is no result."""

    n: int
    visit: int
    run: int
    name: str
    use: str
    version: int
    sources: list[int]
    outputs: dict[str, Any]
    no_result: str | None
    latest: int


class Took(Plain):
    """A way taken at a step: which branch, where to, why, and the events it rests on.

    `state`: ok; diverged (a corrected value would lead elsewhere); accepted (it stands all the same); overruled
    (another branch was taken instead).
    """

    n: int
    visit: int
    line: int | None
    go: str
    because: str
    reads: list[int]
    state: str = "ok"


class Worded(Plain):
    """An action (`part`: do, the way) with values in its text, as it was told when it was done; what those rest on.

    `state`: ok; diverged (with a corrected value it would be told otherwise); accepted (it stands all the same).
    """

    n: int
    visit: int
    part: str
    text: str
    reads: list[int]
    state: str = "ok"


class Found(Plain):
    """A finding with the readings that prove it."""

    n: int
    visit: int
    run: int
    finding: str
    sentence: str
    grade: str
    evidence: list[int]
    proposes: list[str]
    latest: int


class SignOff(Plain):
    """A sign-off by somebody. `kind` released, refused; `void` says why it no longer stands."""

    n: int
    visit: int
    kind: str
    step: str
    path: str
    who: str
    at: str
    meaning: str
    covers: list[int]
    note: str
    void: str | None = None
    renewed: int | None = None


class State(Plain):
    """A job as its log tells it.

    `pending` is a way already taken whose step is not entered yet: (path of the frame, step, why, by hand);
    `happened` an event that runs a procedure and has not begun it yet: (path of the frame, event).
    `unsettled` lists the events that rest on a corrected value and were not gone through again yet. `begun` and
    `given` hold every run by its number: the frame it began with, and what it was given; `stood` the visit that waits
    for a run as it stood when the run began. `missing` is what was not there at the count at the end. `owner` is the
    hash of the owner's facts, "" where none were given.
    """

    n: int = 0
    at: str = ""
    job: str = ""
    kind: str = ""
    procedure: str = ""
    revision: str = ""
    title: str = ""
    text: str = ""
    content: str = ""
    texts: dict[str, str] = field(default_factory=dict)
    opened_at: str = ""
    opened_by: str = ""
    drum: dict[str, Any] = field(default_factory=dict)
    taken: dict[str, Any] = field(default_factory=dict)
    note: dict[str, str] = field(default_factory=dict)
    owner: str = ""
    owner_removed: dict[str, str] | None = None
    person: str = ""
    people: list[str] = field(default_factory=list)
    readied: bool = False
    facts: dict[str, Entry] = field(default_factory=dict)
    handed_to: str | None = None
    hand_note: str = ""
    paused: str | None = None
    recheck: bool = False
    problem: int | None = None
    problems: list[dict[str, Any]] = field(default_factory=list)
    frames: tuple[Frame, ...] = ()
    visits: list[Visit] = field(default_factory=list)
    visit: int = 0
    runs: int = 0
    begun: dict[int, Frame] = field(default_factory=dict)
    given: dict[int, dict[str, Any]] = field(default_factory=dict)
    stood: dict[int, Visit] = field(default_factory=dict)
    readings: dict[tuple[int, str], list[Entry]] = field(default_factory=dict)
    entries: dict[int, Entry] = field(default_factory=dict)
    sums: dict[tuple[int, str], list[Worked]] = field(default_factory=dict)
    results: dict[tuple[int, str], list[Result]] = field(default_factory=dict)
    counts: dict[tuple[int, str], int] = field(default_factory=dict)
    took: list[Took] = field(default_factory=list)
    worded: list[Worded] = field(default_factory=list)
    found: list[Found] = field(default_factory=list)
    signs: list[SignOff] = field(default_factory=list)
    notes: list[tuple[int, int, str, str, str]] = field(default_factory=list)
    diverged: int | None = None
    pending: tuple[str, str, str, bool] | None = None
    happened: tuple[str, str] | None = None
    unsettled: list[int] = field(default_factory=list)
    ended: dict[str, Any] | None = None
    accounted: bool = False
    missing: str = ""
    released: dict[str, Any] | None = None

    @property
    def resting(self) -> bool:
        """Whether nobody works at the job just now: it was put down, handed over, ended, or a problem is open."""
        return bool(self.paused is not None or self.problem is not None or self.ended or self.handed_to)

    def here(self) -> Visit | None:
        """The visit the walk is at."""
        return self.visits[self.visit - 1] if self.visit else None

    def live(self, visit: int, n: int | None = None) -> bool:
        """Whether what was noted in that visit (at event `n`) still counts: it was not gone back over."""
        if visit == 0:
            return True
        stay = self.visits[visit - 1]
        return not stay.struck and (n is None or not any(first < n < last for first, last in stay.cuts))

    def still(self, n: int) -> bool:
        """Whether what was noted at event `n` (a reading, sum, way, finding, sign-off or run) still counts."""
        where = {frame.n: frame.caller for frame in self.begun.values()}
        where |= {worked.n: worked.visit for many in self.sums.values() for worked in many}
        where |= {entry.n: entry.visit for entry in self.entries.values()}
        where |= {took.n: took.visit for took in self.took}
        where |= {worded.n: worded.visit for worded in self.worded}
        where |= {found.n: found.visit for found in self.found}
        where |= {sign.n: sign.visit for sign in self.signs}
        return n in where and self.live(where[n], n)

    def leads_elsewhere(self) -> Visit | None:
        """The stop at which a corrected value would have led elsewhere, or had another action done; None if none is."""
        stops = {took.n: took.visit for took in self.took} | {worded.n: worded.visit for worded in self.worded}
        return self.visits[stops[self.diverged] - 1] if self.diverged is not None else None

    def last(self, run: int, name: str, upto: int | None = None) -> Worked | None:
        """The sum's latest working out in this run that still counts (up to event `upto`)."""
        for worked in reversed(self.sums.get((run, name), ())):
            if self.live(worked.visit, worked.n) and (upto is None or worked.n <= upto):
                return worked
        return None

    def result(self, run: int, name: str, upto: int | None = None) -> Result | None:
        """How the run under that name last came back to `run`, where it still counts (up to event `upto`); None where
        the step that runs it was skipped since."""
        left_out = [e.n for e in self.readings.get((run, f"{name}.outcome"), ()) if self.live(e.visit, e.n)]
        skipped = max((n for n in left_out if upto is None or n <= upto), default=0)
        for result in reversed(self.results.get((run, name), ())):
            if self.live(result.visit, result.n) and (upto is None or result.n <= upto):
                return result if result.n > skipped else None
        return None

    def rounds(self, run: int, name: str, upto: int | None = None) -> list[dict[str | None, Entry]]:
        """The reading's rounds in this run that still count, oldest first: one a visit, by place (None: no places)."""
        found: dict[int, dict[str | None, Entry]] = {}
        for entry in self.readings.get((run, name), ()):
            if self.live(entry.visit, entry.n) and (upto is None or entry.n <= upto):
                found.setdefault(entry.visit, {})[entry.place] = entry
        return list(found.values())

    def open_signs(self) -> list[SignOff]:
        """Sign-offs that were voided and not signed again."""
        void = [s for s in self.signs if s.kind == "released" and s.void and s.renewed is None]
        return [sign for sign in void if self.live(sign.visit, sign.n)]

    def stale(self) -> list[str]:
        """What stands in the way of releasing the job because it rests on something changed since, in words."""
        words = [f"the sign-off at {s.step} is void: {s.void}" for s in self.open_signs()]
        if self.unsettled:
            words.append(f"{len(self.unsettled)} things rest on a corrected value and are not gone through yet")
        if self.diverged is not None:
            words.append("a corrected value leads elsewhere than the walk went")
        return words
