"""The authors' page as lines of text, each with the events it was counted from. Lines are safe for a terminal."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from ..daybook.ink import Tone
from ..job.shop import by_number
from ..procedure.showing import safe_text, words_of
from ..walk.wording import moment
from .learned import CHANGED, GONE, ByHand, Learned, Problem, Told, WentBack
from .learned_numbers import FEW, Number, Part, StepNumbers, Tally
from .learned_said import counted, said, said_time, times

Names = Mapping[str, str]
INSET = 2
"""Cells by which a line that belongs to another stands further in."""
_KIND = {"customer": "customers' jobs", "practice": "practice jobs"}
_STANDS = {
    CHANGED: "The text of this step has changed since.",
    GONE: "This step is no longer there.",
}


class Item(NamedTuple):
    """One line: how far in, its text, the events behind it (job -> numbers, in the order of the jobs), its tone."""

    depth: int
    text: str
    events: Mapping[str, tuple[int, ...]] = {}
    tone: Tone = "plain"

    @property
    def inset(self) -> str:
        """The line as it stands on the page."""
        return " " * (INSET * self.depth) + self.text


def items(learned: Learned, names: Names) -> list[Item]:
    """The whole page; `names` gives people's names by id."""
    lines = [*_head(learned), *_left_out(learned)]
    lines += _wrote(learned, names) if learned.jobs else ()
    for part in learned.parts:
        lines += _part(part, _twins(learned, part))
    return [item._replace(text=safe_text(" ".join(item.text.split()))) for item in lines]


def from_words(item: Item) -> str:
    """The jobs a line comes from: `J-0001 (2), J-0003`."""
    return ", ".join(f"{job} ({len(events)})" if len(events) > 1 else job for job, events in item.events.items())


def _line(depth: int, text: str, tally: Tally | None = None, tone: Tone = "plain") -> Item:
    found = tally.events if tally is not None else {}
    return Item(depth, text, {job: tuple(found[job]) for job in sorted(found, key=by_number)}, tone)


# --- head ------------------------------------------------------------------------------------------------------------


def _head(learned: Learned) -> Iterator[Item]:
    yield Item(0, learned.title or learned.procedure, tone="brass")
    if learned.now is None:
        yield Item(0, f"{learned.procedure}, of which the library has none now that can be read.")
    else:
        yield Item(0, f"{learned.procedure}; as it is now: revision {learned.now.procedure.revision}.")
    if not learned.jobs:
        that = "No job that can be read was" if learned.left_out else "No job was"
        yield Item(0, f"{that} worked to it yet; rehearsals are not counted.")
        return
    kinds = [(sum(k == kind for k in learned.jobs.values()), words) for kind, words in _KIND.items()]
    told = " and ".join(f"{count} {_one(words, count)}" for count, words in kinds if count)
    yield Item(0, f"What {told} {'says' if len(learned.jobs) == 1 else 'say'} of it. Rehearsals are not counted.")
    yield Item(
        0,
        "Stops that were gone back over count for no number. Time is the time at work: without what was put down,"
        f" handed over, or waited for an answer to a problem. A number out of fewer than {FEW} is marked (few).",
        tone="quiet",
    )


def _one(words: str, count: int) -> str:
    """The plural as it is, or of one."""
    return words if count != 1 else words.replace("customers'", "customer's").removesuffix("s")


def _left_out(learned: Learned) -> Iterator[Item]:
    if learned.left_out:
        yield from _heading(f"Left out of all that follows ({len(learned.left_out)})")
    for job, why in learned.left_out:
        yield Item(1, f"{job}: {why}", {job: ()}, "outside")


def _heading(text: str) -> Iterator[Item]:
    yield Item(0, "")
    yield Item(0, text, tone="brass")


# --- what people wrote -----------------------------------------------------------------------------------------------


def _wrote(learned: Learned, names: Names) -> Iterator[Item]:
    yield from _heading(f"Problems that were reported ({_by_kind(p.told for p in learned.problems)})")
    for problem in learned.problems:
        yield from _problem(problem, names)
    yield from _heading(f"My hand says otherwise ({_by_kind(each.told for each in learned.by_hand)})")
    for by_hand in learned.by_hand:
        yield from _by_hand(by_hand, names)
    yield from _heading(f"Gone back ({_by_kind(each.told for each in learned.went_back)})")
    yield from _went_back(learned, names)


def _by_kind(some: Iterable[Told]) -> str:
    kinds = [told.kind for told in some]
    return ", ".join(f"{kinds.count(kind)} in {words}" for kind, words in _KIND.items() if kind in kinds) or "none"


def _about(told: Told, names: Names) -> str:
    """`J-0003 (practice), 2026-03-04 09:12, Tam Reyes`."""
    kind = "" if told.kind == "customer" else f" ({told.kind})"
    return f"{told.job}{kind}, {moment(told.at)}, {names.get(told.who, told.who)}"


def _one_of(told: Told) -> dict[str, tuple[int, ...]]:
    return {told.job: (told.n,)}


def _problem(problem: Problem, names: Names) -> Iterator[Item]:
    told = problem.told
    here = _one_of(told)
    yield Item(1, f"{words_of(told.step)}, revision {told.revision}: {told.text}", here)
    gone = "" if told.counts else "; gone back over since"
    yield Item(2, f"{_about(told, names)}{gone}", here, "quiet")
    if problem.settled:
        who = names.get(problem.settled_by, problem.settled_by)
        yield Item(2, f"Settled by {who}, {moment(problem.settled_at)}: {problem.settled}", here, "quiet")
    else:
        yield Item(2, "Still open.", here, "outside")
    if problem.now in _STANDS:
        yield Item(2, _STANDS[problem.now], here, "close")


def _by_hand(each: ByHand, names: Names) -> Iterator[Item]:
    told = each.told
    here = _one_of(told)
    instead = f", not to {words_of(each.instead)}" if each.instead else ""
    where = f"{words_of(told.step)}, revision {told.revision}"
    yield Item(1, f"{where}: on to {words_of(each.to)}{instead}: {told.text}", here)
    signed = f", signed by {each.signed}" if each.signed else ""
    gone = "" if told.counts else "; gone back over since"
    yield Item(2, f"{_about(told, names)}{signed}{gone}", here, "quiet")


def _went_back(learned: Learned, names: Names) -> Iterator[Item]:
    """Alike ones together, the most frequent first."""
    alike: dict[tuple[str, str, str, str], list[WentBack]] = {}
    for each in learned.went_back:
        told = each.told
        alike.setdefault((told.kind, told.revision, each.back_from, told.step), []).append(each)
    for (kind, revision, start, end), many in sorted(alike.items(), key=lambda pair: (pair[0][0], -len(pair[1]))):
        tally = Tally()
        for each in many:
            tally.add(each.told.job, each.told.n)
        practice = "" if kind == "customer" else f" ({kind})"
        way = "begun again" if start == end else f"back to {words_of(end)}"
        yield _line(1, f"{words_of(start)}, revision {revision}{practice}: {way} {times(len(many))}", tally)
        for each in many:
            yield Item(2, f"{_about(each.told, names)}: {each.told.text}", _one_of(each.told), "quiet")


# --- numbers ---------------------------------------------------------------------------------------------------------


def _twins(learned: Learned, part: Part) -> bool:
    """Whether another text goes by the same revision."""
    return any(each.revision == part.revision and each.content != part.content for each in learned.parts)


def _part(part: Part, twins: bool) -> Iterator[Item]:
    which = f"Revision {part.revision}" + (f" as {part.content[:8]} says it" if twins else "")
    jobs, walks = len(part.walks.events), part.walks.count
    yield Item(0, "")
    kind = _one(_KIND.get(part.kind, part.kind), jobs)
    yield _line(0, f"{which}: walked {times(walks)} in {jobs} {kind}", part.walks, "brass")
    for number in (*part.outcomes, *part.events):
        yield _number(1, number)
    for step in part.steps:
        yield from _step(step)
    if part.never:
        yield Item(1, f"Never come to: {', '.join(map(words_of, part.never))}", tone="close")


def _step(step: StepNumbers) -> Iterator[Item]:
    visits, gone = step.visits.count, step.gone.count
    count = f"{counted(visits, 'visit')} in {counted(len(step.visits.events), 'job')}" if visits else "no visit counts"
    more = f"; {gone} {'more ' if visits else ''}gone back over" if gone else ""
    few = " (few)" if visits < FEW else ""
    yield _line(1, f"{words_of(step.step)}: {count}{more}{few}", Tally.of([step.visits, step.gone]), "loud")
    if not visits:
        return
    for spent in step.spent:
        yield _line(2, said_time(spent, visits), spent.tally)
    for number in step.numbers:
        yield _number(2, number)
        for reason in number.reasons if number.what == "skip" else ():
            yield Item(3, f"{reason.job}: {reason.text}", {reason.job: (reason.n,)}, "quiet")


def _number(depth: int, number: Number) -> Item:
    outside = number.what in ("outside", "odd") and number.tally.count
    tone: Tone = "outside" if outside else "plain" if number.tally.count else "quiet"
    return _line(depth, said(number), number.tally, tone)
