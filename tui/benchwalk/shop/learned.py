"""What the shop's logs say of one procedure, for the senior who writes it. Pure: from jobs that were followed.

Revisions, and customers' jobs and practice, are told apart. What was gone back over counts for no number; what people
wrote (problems, branches by hand, reasons to go back) is told all the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from ..procedure.linked import Linked
from ..procedure.parts import Part as Written
from ..walk.events import Event
from ..walk.places import step_name
from ..walk.state import Visit
from .learned_counted import Counted
from .learned_follow import Followed
from .learned_numbers import LeftOut, Part
from .learned_steps import part_of

KINDS = ("customer", "practice")
SAME, CHANGED, GONE, UNKNOWN = "same", "changed", "gone", "unknown"
"""How a step stands in the procedure as it is now: as it was, with another text, no longer there; or there is none."""
_NOT_SAID = frozenset(("allow", "stage"))  # of a step: nothing that whoever walks it reads there


class Told(NamedTuple):
    """What a person wrote at a step: in which job and revision, by which event, when, who; `counts` says whether that
    stay still does, and was not gone back over."""

    job: str
    kind: str
    revision: str
    n: int
    at: str
    who: str
    step: str
    path: str
    text: str
    counts: bool


class Problem(NamedTuple):
    """A problem that was reported; how it was settled, when and by whom (all empty while it is open), and how the step
    stands now."""

    told: Told
    settled: str
    settled_at: str
    settled_by: str
    now: str


class ByHand(NamedTuple):
    """A branch that was taken by hand: where it leads, and where the one led that it was taken instead of (empty where
    none had been taken yet); who signed."""

    told: Told
    to: str
    instead: str
    signed: str


class WentBack(NamedTuple):
    """A walk that went back: from where to where, and how many stops no longer count. A step of another procedure is
    called by its full name."""

    told: Told
    back_from: str
    stops: int


class Learned(NamedTuple):
    """All of it. `now` is the procedure as the library has it, None where it has none that can be read."""

    procedure: str
    title: str
    now: Linked | None
    jobs: Mapping[str, str]
    problems: tuple[Problem, ...]
    by_hand: tuple[ByHand, ...]
    went_back: tuple[WentBack, ...]
    parts: tuple[Part, ...]
    left_out: tuple[LeftOut, ...]


def learn(procedure: str, found: Iterable[Followed | LeftOut], now: Linked | None) -> Learned:
    """What these jobs say of the procedure; `now` is the procedure as its author has it. Each is looked at once."""
    jobs: dict[str, str] = {}
    left_out: list[LeftOut] = []
    problems: list[Problem] = []
    by_hand: list[ByHand] = []
    went_back: list[WentBack] = []
    counted: dict[tuple[str, str], Counted] = {}
    for job in found:
        if isinstance(job, LeftOut):
            left_out.append(job)
            continue
        jobs[job.job] = job.kind
        problems += _problems(job, now)
        by_hand += _by_hand(job)
        went_back += _went_back(job)
        counted.setdefault((job.linked.content, job.kind), Counted(job.linked)).take(job)
    parts = [part_of(counted[key], key[1]) for key in sorted(counted, key=lambda key: _order(counted[key], key[1]))]
    known = [now] if now is not None else [each.linked for each in counted.values()]
    title = max(known, key=_revision).procedure.title if known else ""
    wrote = (tuple(problems), tuple(by_hand), tuple(went_back))
    return Learned(procedure, title, now, jobs, *wrote, tuple(parts), tuple(left_out))


def _revision(linked: Linked) -> int:
    return int(linked.procedure.revision)


def _order(counted: Counted, kind: str) -> tuple[int, str, int]:
    """The latest revision first, and of each customers' jobs before practice."""
    return -_revision(counted.linked), counted.linked.content, KINDS.index(kind) if kind in KINDS else len(KINDS)


# --- what people wrote -----------------------------------------------------------------------------------------------


def _told(job: Followed, event: Event, visit: Visit, text: str) -> Told:
    about = (job.job, job.kind, str(job.linked.procedure.revision), event["n"], event["at"], event["who"])
    return Told(*about, _place(job, visit), visit.path, text, job.state.live(visit.number, event["n"]))


def _place(job: Followed, visit: Visit) -> str:
    """The step of a stay; one of another procedure by its full name."""
    return visit.step if job.mine(visit) else step_name(visit.path, visit.step)


def _problems(job: Followed, now: Linked | None) -> Iterator[Problem]:
    settled = {event["problem"]: event for event in job.events if event["what"] == "problem_settled"}
    for event in job.events:
        if event["what"] == "problem":
            visit = job.state.visits[event["visit"] - 1]
            if job.mine(visit):
                end: Mapping[str, Any] = settled.get(event["n"], {})
                how = (end.get("text", ""), end.get("at", ""), end.get("who", ""))
                yield Problem(_told(job, event, visit, event["text"]), *how, stands(job.linked, visit.step, now))


def _by_hand(job: Followed) -> Iterator[ByHand]:
    for event in job.events:
        if event["what"] == "overruled":
            visit = job.state.visits[event["visit"] - 1]
            if job.mine(visit):
                undone = job.events[event["undoes"] - 1]["go"] if event["undoes"] else ""
                signed = (event["sign"] or {}).get("name", "")
                yield ByHand(_told(job, event, visit, event["reason"]), event["go"], undone, signed)


def _went_back(job: Followed) -> Iterator[WentBack]:
    for event in job.events:
        if event["what"] == "went_back":
            to = job.state.visits[event["visit"] - 1]
            here = job.turned[event["n"]]
            came = job.state.visits[here - 1] if here else to
            if job.mine(to) or job.mine(came):
                told = _told(job, event, to, event["reason"])
                yield WentBack(told, _place(job, came), len(event["struck"]))


# --- the step as it is now -------------------------------------------------------------------------------------------


def stands(before: Linked, step: str, now: Linked | None) -> str:
    """How a step of that revision stands in the procedure as it is now: SAME, CHANGED, GONE or UNKNOWN."""
    if now is None:
        return UNKNOWN
    if step not in now.steps:
        return GONE
    return SAME if _said(before, step) == _said(now, step) else CHANGED


def _said(linked: Linked, name: str) -> Any:
    """All that is written of a step and of the readings that it asks for, as plain data."""
    step = linked.steps[name]
    asks = [_plain(linked.procedure.readings[read]) for read in step.record]
    return [_plain(step), asks]


def _plain(value: Any) -> Any:
    if isinstance(value, Written):
        return {key: _plain(inner) for key, inner in vars(value).items() if key not in _NOT_SAID}
    if isinstance(value, Mapping):
        return {key: _plain(inner) for key, inner in value.items()}
    return [_plain(inner) for inner in value] if isinstance(value, list | tuple) else value
