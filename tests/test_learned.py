"""What the shop's logs say of one procedure: every number from real jobs, each traced to the events behind it."""

from __future__ import annotations

import json
import shutil
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from benchwalk.job.log import read
from benchwalk.job.shop import Shop
from benchwalk.library import Library
from benchwalk.procedure.linked import Linked
from benchwalk.procedure.showing import display_width
from benchwalk.proof.rehearse import rehearse
from benchwalk.proof.walked import walked_ways
from benchwalk.session import Books, Session
from benchwalk.shop.learned import CHANGED, GONE, SAME, UNKNOWN, Learned, learn, stands
from benchwalk.shop.learned_follow import follow
from benchwalk.shop.learned_jobs import worked_to
from benchwalk.shop.learned_numbers import Number, Part, StepNumbers
from benchwalk.shop.learned_said import span
from benchwalk.shop.learned_words import from_words, items
from benchwalk.sums import compute
from benchwalk.walk import acts
from report_helpers import SAMPLE
from shop_helpers import (
    APPRENTICE,
    DRUM,
    FLAGSHIP,
    SECOND,
    SENIOR,
    Clock,
    begin,
    command,
    document,
    drive,
    flagship,
    fresh_shop,
    reach_hold,
    resume,
    tree,
)
from test_words_shown import named
from walk_helpers import GAP, INNER, OUTER, REST, RESTED, RODS, SNIP, TIED, linked, procedure, shipped

PLAYED = acts.Sign("senior", "practice")


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with three people and no jobs."""
    return fresh_shop(tmp_path)


def learned(shop: Shop, name: str, now: Linked | None = None) -> Learned:
    """What the shop's logs say of a procedure."""
    return learn(name, worked_to(shop, name, Books), now)


def part(found: Learned, kind: str = "practice", revision: str = "1") -> Part:
    """The numbers of one revision in the jobs of one kind."""
    return next(each for each in found.parts if (each.kind, each.revision) == (kind, revision))


def step(found: Part, name: str) -> StepNumbers:
    """What is known of a step."""
    return next(each for each in found.steps if each.step == name)


def count(numbers: tuple[Number, ...], what: str, **more: Any) -> tuple[int, int]:
    """(how often, out of how many) of the one number that has these fields."""
    fits = [n for n in numbers if n.what == what and all(getattr(n, key) == value for key, value in more.items())]
    [number] = fits
    return number.tally.count, number.of


def gap_job(shop: Shop, book: Linked | None = None, *, kind: str = "practice", **typed: str) -> Session:
    """A job of GAP (or of another book), begun and made ready; whoever uses it closes it."""
    session = begin(shop, book or linked(GAP), drum={}, kind=kind, clock=Clock())
    session.do(acts.Ready())
    return session


def do(session: Session, *some: acts.Act) -> None:
    """Do acts that are allowed."""
    for act in some:
        decision = session.do(act)
        assert decision.refusal is None, (act, decision.refusal)


def page(shop: Shop, name: str) -> str:
    """The page as the command prints it."""
    ran = command("learned", name, shop=shop.root)
    assert ran.stderr == ""
    return ran.stdout


# --- which jobs ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", [FLAGSHIP, "tie-one-side", "deburr-cord-holes"])
def test_visits_of_the_sample_jobs_are_those_of_their_logs(name: str) -> None:
    """Where nothing was gone back over, a step has as many visits as the logs have entries of it, by itself or run."""
    shop = Shop.open(SAMPLE)
    logs = {job: read(shop.job(job).log).events for job in shop.jobs()}
    wanted: Counter[str] = Counter()
    runs = 0
    for events in logs.values():
        assert "went_back" not in {event["what"] for event in events}
        text = events[0]["texts"][name]
        wanted.update(event["step"] for event in events if event["what"] == "entered" and event["text"] == text)
        runs += sum(event["what"] == "ran" and event["procedure"] == name for event in events)
    found = learned(shop, name)
    assert found.left_out == () and len(found.parts) == 1 and found.parts[0].kind == "customer"
    assert {each.step: each.visits.count for each in found.parts[0].steps} == wanted and wanted
    assert found.parts[0].walks.count == runs
    assert set(found.parts[0].never) == set(shipped(name).steps) - set(wanted)


def numbers_of(found: Part) -> Iterator[tuple[str, Number]]:
    """Every number of a part, with its step."""
    yield from (("", number) for number in (*found.outcomes, *found.events))
    for each in found.steps:
        yield from ((each.step, number) for number in each.numbers)


def test_every_number_of_the_sample_jobs_is_traced_to_its_events() -> None:
    """Each number is as large as its list of events, and each event of it is in that job's log and of that kind."""
    shop = Shop.open(SAMPLE)
    kinds = {
        "branch": {"took"},
        "then": {"took"},
        "chosen": {"chose"},
        "end": {"ended", "returned"},
        "outside": {"read"},
        "corrected": {"read"},
        "left-out": {"left_out"},
        "event": {"happened"},
        "outcome": {"ran"},
        "refused": {"refused"},
    }
    seen: set[str] = set()
    for name in (FLAGSHIP, "tie-one-side", "deburr-cord-holes"):
        for _step, number in numbers_of(part(learned(shop, name), "customer")):
            assert number.tally.count <= number.of
            for job, events in number.tally.events.items():
                log = read(shop.job(job).log).events
                assert {log[n - 1]["what"] for n in events} <= kinds[number.what], number
                seen.add(number.what)
    assert seen >= {"branch", "chosen", "end", "outside", "corrected", "event", "outcome"}


def test_customers_jobs_and_practice_are_counted_apart_and_rehearsals_not_at_all(shop: Shop) -> None:
    """A practice job adds nothing to the numbers of customers' jobs; a rehearsal in the shop is in neither."""
    for kind, gap in (("practice", "9"), ("rehearsal", "9"), ("practice", "4")):
        with gap_job(shop, kind=kind) as session:
            do(session, acts.Done(), acts.Record(gap))
    with begin(shop, kind="customer") as session:
        reach_hold(session)
    found = learned(shop, "look-over")
    assert found.jobs == {"J-0001": "practice", "J-0003": "practice"}
    assert [each.kind for each in found.parts] == ["practice"]
    assert count(step(part(found), "measure").numbers, "outside") == (1, 2)
    with begin(shop, kind="practice") as session:
        session.do(acts.Ready())
    assert learned(shop, "tie-one-side").jobs.keys() == {"J-0004"}, "the last has not come to it, though it may"
    both = learned(shop, FLAGSHIP)
    assert [(each.kind, each.walks.count) for each in both.parts] == [("customer", 1), ("practice", 1)]
    assert set(part(both, "customer").walks.events) == {"J-0004"}


def test_walks_that_another_procedure_ran_are_counted(shop: Shop) -> None:
    """A procedure run twice in a job of another one has two walks in it, each with its own outcome."""
    with begin(shop, linked(OUTER, INNER, SNIP), drum={}) as session:
        drive(session, "hold", **TIED)
    found = part(learned(shop, "tie-side"))
    assert found.walks.events.keys() == {"J-0001"} and found.walks.count == 2
    assert count(found.outcomes, "outcome", name="done") == (2, 2)
    assert count(found.outcomes, "outcome", name="stopped") == (0, 2)
    assert step(found, "tie").visits.count == 2
    assert count(step(found, "tie").numbers, "branch", line=1) == (1, 2)
    assert part(learned(shop, "tie-both")).walks.count == 1


def test_revisions_are_told_apart_the_latest_first(shop: Shop) -> None:
    """Jobs worked to another revision have numbers of their own; the same revision with two texts is told apart too."""
    second = linked(GAP.replace(b"revision: 1", b"revision: 2"))
    other = linked(GAP.replace(b"Set the gap again.", b"Set it once more."))
    for book, gap in ((linked(GAP), "9"), (second, "4"), (second, "9"), (other, "4")):
        with gap_job(shop, book) as session:
            do(session, acts.Done(), acts.Record(gap))
    found = learned(shop, "look-over", second)
    assert [each.revision for each in found.parts] == ["2", "1", "1"]
    assert part(found, revision="2").walks.count == 2
    assert sorted(each.walks.count for each in found.parts[1:]) == [1, 1]
    said = page(shop, "look-over")
    assert f"Revision 1 as {linked(GAP).content[:8]} says it" in said
    assert f"Revision 1 as {other.content[:8]} says it" in said
    assert "Revision 2: walked 2 times in 2 practice jobs" in said


# --- ways ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", [FLAGSHIP, "tie-one-side", "deburr-cord-holes"])
def test_ways_of_every_rehearsal_are_those_that_coverage_finds(name: str) -> None:
    """Following a walk finds the very ways that the coverage of examples finds, in every example of the library."""
    book = shipped(name)
    walks = rehearse(book, compute)
    assert len(walks) > 5
    for walk in walks:
        found = set()
        for taken in follow("J-0001", walk.events, book).taken:
            at, kind, number = taken.key
            if kind == "chosen" and book.steps[at].choose.ways[number].go:  # type: ignore[union-attr]
                found.add((at, "way", number))
            elif kind not in ("chosen", "hand", "refused", "early", "not-yet"):
                found.add(taken.key)
        assert found == set(walked_ways(book, [walk])), walk.example


def test_branches_bounds_and_ends_are_counted_with_those_never_taken(shop: Shop) -> None:
    """Each branch out of its step's visits, a bound where it was spent, each end; what nobody took stands there too."""
    with gap_job(shop) as session:  # too wide three times over: the third time the step sends on
        do(session, acts.Done(), acts.Record("9"))
        do(session, acts.Done(), acts.Record("9") if session.now().kind == "reading" else acts.Done(), acts.Record("9"))
        do(session, acts.Done(), acts.Done(), acts.Record("9"), acts.Done())
    with gap_job(shop) as session:  # some lift, twice: the branch back is spent
        do(session, acts.Done(), acts.Record("4"), acts.Record("some"), acts.Done(), acts.Record("4"))
        do(session, acts.Record("some"), acts.Done())
    found = part(learned(shop, "look-over"))
    measure, look = step(found, "measure").numbers, step(found, "look").numbers
    assert step(found, "measure").visits.count == 5
    assert (count(measure, "branch", line=0), count(measure, "branch", line=1)) == ((2, 5), (3, 5))
    assert count(step(found, "set-again").numbers, "entered") == (1, 3)
    assert (count(look, "branch", line=0), count(look, "branch", line=1)) == ((0, 2), (1, 2))
    assert count(look, "then", line=1) == (1, 2)
    assert count(step(found, "give-up").numbers, "end") == (2, 2)
    assert count(found.outcomes, "outcome", name="done") == (0, 2)
    assert count(found.outcomes, "outcome", name="stopped") == (2, 2)
    assert found.never == ("finish",)
    said = page(shop, "look-over")
    assert "    to finish, never in 2 visits (few): All touch\n" in said
    assert "    the same too often (at most once), to give up, 1 of 2 visits (few)\n" in said
    assert "    entered too often (at most twice), to give up, 1 of 3 times (few)\n" in said
    assert "    to set again, 3 of 5 visits: The gap is (gap)\n" in said
    assert "  Never come to: finish\n" in said


def test_events_are_counted_where_they_struck_and_their_bound_where_it_was_spent(shop: Shop) -> None:
    """An event has its number out of the visits of its steps, the steps it struck at, and how often it led on."""
    with begin(shop, linked(OUTER, INNER, SNIP), drum={}) as session:
        for _ in range(2):
            drive(session, "@tie", **TIED)
            do(session, acts.Happens("cord-breaks"))
    found = part(learned(shop, "tie-both"))
    visits = step(found, "tie-butt").visits.count
    assert visits == 2
    assert count(found.events, "event", name="cord-breaks") == (2, 2)
    assert dict(found.events[0].parts) == {"tie-butt": 2}
    assert count(found.events, "event-then", name="cord-breaks") == (1, 2)
    assert count(found.events, "event", name="strand-bends")[0] == 0
    inner = part(learned(shop, "tie-side"))
    assert count(inner.outcomes, "outcome", name="led away") == (2, 2)
    assert "broken off by what ran it: 2 of 2 walks (few)" in page(shop, "tie-side")


NOISY = """
whenever:
  - {event: cord-breaks, say: The cord breaks HERE, during: everywhere, go: gone}
steps:
  - step: work
    FIRST
  - step: gone
    end: stopped
  - step: finish
    end: done
"""


def test_an_event_is_counted_for_the_procedure_that_foresees_it(shop: Shop) -> None:
    """Where a procedure and what it runs call an event alike, each has those that were its own."""
    inner = procedure(NOISY.replace("HERE", "inside").replace("FIRST", "do: Pull.\n    go: finish"), id="inside")
    first = (
        "run: {procedure: inside, as: inside}\n    branches:\n"
        "      - {when: inside.outcome is done, go: finish}\n      - {when: inside.outcome is stopped, go: finish}"
    )
    outer = procedure(NOISY.replace("HERE", "outside").replace("FIRST", first), id="outside")
    for path in ("", "inside", ""):
        with begin(shop, linked(outer, inner), drum={}) as session:
            do(session, acts.Ready(), acts.Happens("cord-breaks", path))
    assert count(part(learned(shop, "outside")).events, "event")[0] == 2
    assert count(part(learned(shop, "inside")).events, "event")[0] == 1


def test_skips_are_counted_with_their_reasons_and_give_no_left_out_reading(shop: Shop) -> None:
    """A step that was skipped is told with why; its readings were not left out, for nobody was asked."""
    clock = Clock()
    for skip in (True, False):
        with begin(shop, linked(REST), drum={}, clock=clock) as session:
            drive(session, "wait", **RESTED)
            if skip:
                do(session, acts.Skip("the band plays tonight", PLAYED))
            else:
                clock.wait(minutes=31)
                do(session, acts.Waited(), acts.Record("12"))
    rest = step(part(learned(shop, "rest-drum")), "rest")
    assert count(rest.numbers, "skip") == (1, 2)
    assert [n.what for n in rest.numbers if n.name == "temp"] == ["outside"]
    assert count(rest.numbers, "outside", name="temp") == (1, 1)
    said = page(shop, "rest-drum")
    assert "    skipped, as the procedure allows, 1 of 2 visits (few)\n      J-0001: the band plays tonight\n" in said


def test_what_else_may_be_done_at_a_step_is_counted(shop: Shop) -> None:
    """A wait cut short, one that was too long, "not yet", and a look that was refused each have their number."""
    clock = Clock()
    for late in (False, True):
        with begin(shop, linked(REST), drum={}, clock=clock) as session:
            do(session, acts.Ready(), acts.Acknowledge(), acts.NotYet(), acts.NotYet())
            drive(session, "wait", **RESTED)
            clock.wait(hours=3 if late else 0)
            do(session, acts.Waited(early="" if late else "practice"))
            drive(session, "hold", **RESTED)
            do(session, acts.Refuse(PLAYED, "lever", "it drops"))
    found = part(learned(shop, "rest-drum"))
    rest = step(found, "rest").numbers
    assert (count(rest, "early"), count(rest, "late")) == ((1, 2), (1, 2))
    assert count(step(found, "settle").numbers, "not-yet") == (4, 2)
    look = step(found, "senior-look").numbers
    assert count(look, "refused") == (2, 2) and count(look, "branch", line=2) == (2, 2)
    assert seconds(step(found, "rest"), "wait")[2] == 1, "a stay that was left too late has no time"
    said = page(shop, "rest-drum")
    for line in (
        "the wait was cut short, 1 of 2 visits (few)",
        "later than 2 h, to settle late, 1 of 2 visits (few)",
        "not yet, said 4 times in 2 visits (few)",
        "the look was refused, 2 of 2 visits (few)",
    ):
        assert f"    {line}\n" in said


# --- readings --------------------------------------------------------------------------------------------------------

SIDES = procedure(
    """
readings:
  gap: {ask: Gap, unit: mm, possible: 0 .. 20, wanted: 3 .. 6, per: [butt side, strainer side]}
  knob: {ask: Knob, unit: turns, possible: 0 .. 40, optional: {because: it may be seized}}
steps:
  - step: measure
    record: [gap, knob]
    branches:
      - {when: all gap is within, because: Both are good, go: finish}
      - {when: otherwise, because: One is not, go: finish}
  - step: finish
    end: done
""",
    id="both-sides",
)


def test_readings_are_told_outside_corrected_and_left_out_and_by_place_where_that_differs(shop: Shop) -> None:
    """Outside out of those judged, as they stand now; by place only where places differ; corrected and left out."""
    for butt, strainer, knob in (("4", "8", ""), ("4", "2", "5"), ("5", "4", ""), ("9", "4", "5"), ("4", "9", "41")):
        with begin(shop, linked(SIDES), drum={}) as session:
            do(session, acts.Ready(), acts.Record(butt), acts.Record(strainer))
            do(session, acts.LeaveOut() if not knob else acts.Record(knob, sure=True))
            if butt == "9":
                entry = next(e for e in session.state.entries.values() if e.typed == "9")
                do(session, acts.Correct(entry.n, "5", "read upside down"))
    numbers = step(part(learned(shop, "both-sides")), "measure").numbers
    assert count(numbers, "outside", place=None) == (3, 10)
    assert count(numbers, "outside", place="strainer side") == (3, 5)
    assert count(numbers, "outside", place="butt side") == (0, 5)
    assert count(numbers, "corrected", name="gap") == (1, 10)
    assert count(numbers, "left-out", name="knob") == (2, 5)
    assert count(numbers, "odd", name="knob") == (1, 5)
    with begin(shop, linked(REST), drum={}) as session:
        drive(session, "wait", **RESTED)
    settle = step(part(learned(shop, "rest-drum")), "settle").numbers
    assert count(settle, "left-out", name="knob") == (0, 1), "what may be left out and was not is told as well"
    said = page(shop, "both-sides")
    assert "    gap, at the strainer side: outside 3 of 5 times, below 1, above 2\n" in said
    assert "    gap, at the butt side: outside 0 of 5 times\n" in said
    assert "    gap: corrected afterwards 1 of 10 times\n" in said
    assert "    knob: left out 2 of 5 times\n" in said


def test_places_that_are_alike_are_told_once(shop: Shop) -> None:
    """Where each rod was outside as often as the next, one line tells it; where one differs, each rod has a line."""
    with begin(shop, linked(RODS), drum={"rods": "4"}) as session:
        do(session, acts.Ready(), *[acts.Record("binds")] * 4)
    found = step(part(learned(shop, "even-rods")), "feel").numbers
    assert [(n.place, n.tally.count, n.of) for n in found] == [(None, 4, 4)]
    with begin(shop, linked(RODS), drum={"rods": "4"}) as session:
        do(session, acts.Ready(), *[acts.Record(word) for word in ("free", "binds", "free", "free")])
    found = step(part(learned(shop, "even-rods")), "feel").numbers
    assert [(n.place, n.tally.count, n.of) for n in found][1:] == [("1", 1, 2), ("2", 2, 2), ("3", 1, 2), ("4", 1, 2)]
    assert "    runs, at rod 2: outside 2 of 2 times (few)\n" in page(shop, "even-rods")


# --- time ------------------------------------------------------------------------------------------------------------


def seconds(found: StepNumbers, what: str = "time") -> tuple[float, float, int]:
    """(median, longest, how many) of a step's time."""
    [spent] = [each for each in found.spent if each.what == what]
    return spent.median, spent.longest, spent.tally.count


def stay(shop: Shop, clock: Clock, *some: acts.Act | int) -> None:
    """A job of GAP in which the first step is done so: acts, and seconds that pass between them."""
    with begin(shop, linked(GAP), drum={}, clock=clock) as session:
        do(session, acts.Ready())
        for each in some:
            if isinstance(each, int):
                clock.wait(seconds=each)
            elif isinstance(each, acts.TakeOn | acts.SettleProblem):
                decision_by(session, SENIOR, each)
            else:
                do(session, each)


def decision_by(session: Session, who: str, act: acts.Act) -> None:
    """Another person does an act at this terminal."""
    before, session.who = session.who, who
    do(session, act)
    session.who = who if isinstance(act, acts.TakeOn) else before


def test_time_at_a_step_leaves_out_what_nobody_worked(shop: Shop) -> None:
    """Put down, handed over, lying about, waiting for an answer to a problem: none of it is time at the step."""
    clock, end = Clock(), (acts.Done(), acts.Record("4"))
    stay(shop, clock, 100, *end)
    stay(shop, clock, 100, acts.Pause("later"), 5000, acts.Resume(), acts.CheckPlace(), 50, *end)
    stay(shop, clock, 100, acts.HandOver(SENIOR, "lever off"), 9000, acts.TakeOn(), acts.CheckPlace(), 100, *end)
    stay(shop, clock, 100, acts.Problem("no rule"), 7000, acts.SettleProblem("here is one"), 150, *end)
    stay(shop, clock, 100, acts.Done())
    clock.wait(hours=60)
    with resume(shop, "J-0005", clock=clock) as session:  # it lay there all the while, and nobody had said so
        do(session, acts.Resume(), acts.CheckPlace(), acts.Record("4"))
    stay(shop, clock, 4000)  # still there: it has no time yet
    measure = step(part(learned(shop, "look-over")), "measure")
    assert measure.visits.count == 6
    median, longest, many = seconds(measure)
    assert many == 5 and 150 <= median < 170 and 250 <= longest < 270
    said = page(shop, "look-over")
    assert "    time: median 2 min 3" in said and " of 5 visits, longest 4 min 1" in said and " in J-0004\n" in said


def test_a_wait_is_told_apart_and_a_step_that_runs_another_has_its_time_too(shop: Shop) -> None:
    """The time let pass is not time at work, though the work was put down meanwhile; what is run is in the caller's."""
    clock = Clock()
    with begin(shop, linked(REST), drum={}, clock=clock) as session:
        drive(session, "wait", **RESTED)
        clock.wait(minutes=10)
        do(session, acts.Pause("lunch"))
        clock.wait(minutes=25)
        do(session, acts.Resume(), acts.CheckPlace(), acts.Waited())
        clock.wait(seconds=40)
        do(session, acts.Record("20"))
    rest = step(part(learned(shop, "rest-drum")), "rest")
    assert 35 * 60 <= seconds(rest, "wait")[0] < 36 * 60 and 40 <= seconds(rest)[0] < 50
    said = page(shop, "rest-drum")
    assert "    time (without its wait): median 4" in said and "    time let pass: median 35 min" in said
    with begin(shop, linked(OUTER, INNER, SNIP), drum={}, clock=clock) as session:
        drive(session, "@tie", **TIED)
        clock.wait(minutes=3)
        drive(session, "@tie-far", **TIED)
    assert 180 <= seconds(step(part(learned(shop, "tie-both")), "tie-butt"))[0] < 200
    assert 180 <= seconds(step(part(learned(shop, "tie-side")), "tie"))[1] < 200


def test_an_event_that_runs_another_procedure_is_not_in_the_time_of_the_step_it_broke_into(shop: Shop) -> None:
    """What is seen to meanwhile is time of its own steps alone."""
    clock = Clock()
    with begin(shop, linked(OUTER, INNER, SNIP), drum={}, clock=clock) as session:
        drive(session, "@measure", **TIED)
        do(session, acts.Happens("strand-bends"))
        clock.wait(minutes=30)
        drive(session, "@tie", **TIED)
    assert seconds(step(part(learned(shop, "tie-both")), "measure"))[0] < 30
    assert seconds(step(part(learned(shop, "snip-strand")), "snip"))[0] >= 1800


@pytest.mark.parametrize(
    ("some", "said"),
    [
        (0, "0 s"),
        (59.4, "59 s"),
        (60, "1 min"),
        (80, "1 min 20 s"),
        (599.6, "10 min"),
        (3599, "1 h"),
        (7500, "2 h 5 min"),
        (90000, "1 day 1 h"),
        (172800, "2 days"),
    ],
)
def test_times_are_said_as_people_say_them(some: float, said: str) -> None:
    """Seconds below ten minutes, minutes below a day, hours above."""
    assert span(some) == said


def test_one_job_says_and_several_say(shop: Shop) -> None:
    """The head of the page tells one job in the singular."""
    for told in ("What 1 practice job says of it.", "What 2 practice jobs say of it."):
        with gap_job(shop, kind="practice") as session:
            do(session, acts.Done(), acts.Record("4"))
        assert any(item.text.startswith(told) for item in items(learned(shop, "look-over"), {}))


# --- what people wrote -----------------------------------------------------------------------------------------------


def test_problems_are_told_with_who_when_step_and_how_they_were_settled(shop: Shop) -> None:
    """Each has its job, time, person, revision, step and text, and its answer, or that it is open still."""
    with gap_job(shop) as session:
        do(session, acts.Problem("the rule does not reach"))
        decision_by(session, SENIOR, acts.SettleProblem("take the short rule"))
        do(session, acts.Done(), acts.Record("9"), acts.Problem("how far is again?"))
    first, second = learned(shop, "look-over", linked(GAP)).problems
    told = first.told
    assert (told.job, told.kind, told.revision, told.who) == ("J-0001", "practice", "1", APPRENTICE)
    assert (told.step, told.text, told.counts) == ("measure", "the rule does not reach", True)
    assert (first.settled, first.settled_by, first.now) == ("take the short rule", SENIOR, SAME)
    assert (second.told.step, second.settled, second.settled_at) == ("set-again", "", "")
    said = page(shop, "look-over")
    assert "Problems that were reported (2 in practice jobs)" in said
    assert (
        "  measure, revision 1: the rule does not reach\n    J-0001 (practice), 2026-03-02 09:00, Tam Reyes\n" in said
    )
    assert "    Settled by Mara Quill, 2026-03-02 09:00: take the short rule\n" in said
    assert "  set again, revision 1: how far is again?\n" in said and "    Still open.\n" in said


@pytest.mark.parametrize(
    ("old", "new", "wanted"),
    [
        ("revision: 1", "revision: 2", SAME),
        ("do: Set the gap again.", "do: Set it again, by a hair.", SAME),
        ("stage: {id: first, title: Measure}", "stage: {id: first, title: Take the gap}", SAME),
        ("do: Measure the gap.", "do: Measure the gap, lever on.", CHANGED),
        ("{ask: Gap, unit", "{ask: Gap with the lever on, unit", CHANGED),
        ("because: The gap is good", "because: It is good", CHANGED),
    ],
)
def test_a_problem_is_marked_where_its_step_has_another_text_now(old: str, new: str, wanted: str) -> None:
    """The step's own words and those of its readings count; a new revision that leaves them alone does not."""
    assert old.encode() in GAP
    assert stands(linked(GAP), "measure", linked(GAP.replace(old.encode(), new.encode()))) == wanted


def test_a_problem_is_marked_where_its_step_is_gone(shop: Shop) -> None:
    """A step that was taken out or renamed is no longer there; without a procedure now nothing is said of it."""
    renamed = linked(GAP.replace(b"set-again", b"set-once-more"))
    assert stands(linked(GAP), "set-again", renamed) == GONE and stands(linked(GAP), "set-again", None) == UNKNOWN
    with gap_job(shop) as session:
        do(session, acts.Done(), acts.Record("9"), acts.Problem("how far?"))
    lines = [item.text for item in items(learned(shop, "look-over", renamed), {})]
    assert "This step is no longer there." in lines
    lines = [item.text for item in items(learned(shop, "look-over"), {})]
    assert not [line for line in lines if "no longer there" in line or "changed since" in line]
    assert "look-over, of which the library has none now that can be read." in lines


def test_branches_by_hand_are_told_with_reason_and_are_not_counted_as_taken(shop: Shop) -> None:
    """An overruled branch was not taken, the one by hand is told by itself, with who signed and what it was against."""
    with gap_job(shop) as session:
        do(session, acts.Done(), acts.Record("9"))
        do(session, acts.Overrule(0, "the light deceives", PLAYED, visit=1))
    found = learned(shop, "look-over")
    [by_hand] = found.by_hand
    assert (by_hand.told.step, by_hand.to, by_hand.instead) == ("measure", "look", "set-again")
    assert by_hand.told.text == "the light deceives" and by_hand.signed == "senior"
    measure = step(part(found), "measure").numbers
    assert (count(measure, "branch", line=0), count(measure, "branch", line=1)) == ((0, 1), (0, 1))
    assert count(measure, "hand", line=0) == (1, 1)
    assert step(part(found), "set-again").visits.count == 0 and step(part(found), "set-again").gone.count == 1
    said = page(shop, "look-over")
    assert "My hand says otherwise (1 in practice jobs)" in said
    assert "  measure, revision 1: on to look, not to set again: the light deceives\n" in said
    assert "  set again: no visit counts; 1 gone back over (few)\n" in said


def test_going_back_is_told_and_what_was_gone_back_over_counts_for_no_number(shop: Shop) -> None:
    """From where to where, how often and why; stays and readings that were gone back over are only named as such."""
    with gap_job(shop) as session:
        do(session, acts.Done(), acts.Record("9"), acts.Problem("odd"))
        decision_by(session, SENIOR, acts.SettleProblem("measure again"))
        do(session, acts.GoBack(1, "the rule had slipped"), acts.Done(), acts.Record("4"))
        do(session, acts.GoBack(3, "and again"), acts.Done(), acts.Record("5"))
    found = learned(shop, "look-over")
    assert [(b.back_from, b.told.step, b.stops, b.told.text) for b in found.went_back] == [
        ("set-again", "measure", 2, "the rule had slipped"),
        ("look", "measure", 2, "and again"),
    ]
    assert found.problems[0].told.counts is False
    measure = step(part(found), "measure")
    assert (measure.visits.count, measure.gone.count) == (1, 2)
    assert count(measure.numbers, "outside") == (0, 1) and count(measure.numbers, "branch", line=1) == (0, 1)
    said = page(shop, "look-over")
    assert "Gone back (2 in practice jobs)" in said
    assert "  set again, revision 1 (practice): back to measure 1 time\n" in said
    assert "    J-0001 (practice), 2026-03-02 09:00, Tam Reyes: the rule had slipped\n" in said
    assert "  measure: 1 visit in 1 job; 2 more gone back over (few)\n" in said
    assert "Tam Reyes; gone back over since\n" in said


def test_going_back_out_of_a_run_is_told_of_both_procedures(shop: Shop) -> None:
    """Going back out of a run into what runs it is told of each of the two, the other's step by its full name."""
    with begin(shop, linked(OUTER, INNER, SNIP), drum={}) as session:
        drive(session, "@tie", **TIED)
        do(session, acts.GoBack(1, "measured the wrong set"))
    [inner] = learned(shop, "tie-side").went_back
    [outer] = learned(shop, "tie-both").went_back
    assert (inner.back_from, inner.told.step) == ("tie", "measure")
    assert (outer.back_from, outer.told.step) == ("butt/tie", "measure")


def test_what_was_written_in_a_run_is_told_of_what_was_run(shop: Shop) -> None:
    """A problem and a branch by hand at a step of a run stand under its own procedure, and not under what ran it."""
    with begin(shop, linked(OUTER, INNER, SNIP), drum={}) as session:
        drive(session, "@pull", **TIED)
        do(session, acts.Problem("it slips"))
        decision_by(session, SENIOR, acts.SettleProblem("tie it twice"))
        do(session, acts.Overrule(1, "I saw it slip", PLAYED))
    inner, outer = learned(shop, "tie-side", linked(INNER)), learned(shop, "tie-both", linked(OUTER, INNER, SNIP))
    assert [p.told.step for p in inner.problems] == ["pull"] and [b.told.step for b in inner.by_hand] == ["pull"]
    assert (inner.problems[0].told.path, inner.by_hand[0].instead) == ("butt", "")
    assert (outer.problems, outer.by_hand) == ((), ())


def test_a_run_that_was_led_away_from_and_gone_back_into_ends_as_it_ended_last(shop: Shop) -> None:
    """Led away by an event, gone back into and done (and the other side after it): done is how each walk ended."""
    with begin(shop, linked(OUTER, INNER, SNIP), drum={}) as session:
        drive(session, "@pull", **TIED)
        do(session, acts.Happens("cord-breaks"))
        tie = next(visit.number for visit in session.state.visits if visit.step == "tie")
        do(session, acts.GoBack(tie, "it was another cord"))
        drive(session, "@tie-far", **TIED)
    outcomes = part(learned(shop, "tie-side")).outcomes
    assert (count(outcomes, "outcome", name="done")[0], count(outcomes, "outcome", name="stopped")[0]) == (2, 0)
    assert "led away" not in {number.name for number in outcomes}


def test_a_run_that_was_gone_back_into_counts_once(shop: Shop) -> None:
    """Going back into a run reopens the step that runs it: what came after is cut, and it has one walk and one end."""
    clock = Clock()
    with begin(shop, linked(OUTER, INNER, SNIP), drum={}, clock=clock) as session:
        drive(session, "@pull", **TIED)
        clock.wait(hours=2)
        drive(session, "@tie-far", **TIED)
        tie = next(visit.number for visit in session.state.visits if visit.step == "tie")
        do(session, acts.GoBack(tie, "the cord had slipped"))
        clock.wait(minutes=5)
        drive(session, "hold", **TIED)
    found = part(learned(shop, "tie-side"))
    assert found.walks.count == 2 and count(found.outcomes, "outcome", name="done") == (2, 2)
    outer = part(learned(shop, "tie-both"))
    assert step(outer, "tie-butt").visits.count == 1
    assert count(step(outer, "tie-butt").numbers, "branch", line=0) == (1, 1)
    assert step(outer, "tie-far").gone.count == 1
    assert 300 <= seconds(step(outer, "tie-butt"))[0] < 360, "what was gone back over is no time at the step either"


def test_jobs_behind_a_line_are_told_in_the_order_of_their_numbers(shop: Shop) -> None:
    """Also where some of them only went back over the step."""
    for job in (1, 2):
        with gap_job(shop) as session:
            do(session, acts.Done(), acts.Record("9"))
            if job == 1:
                do(session, acts.GoBack(1, "the rule had slipped"))
    lines = items(learned(shop, "look-over"), {})
    [line] = [each for each in lines if each.text.startswith("set again: 1 visit")]
    assert list(line.events) == ["J-0001", "J-0002"] and from_words(line) == "J-0001, J-0002"


# --- logs that cannot be read ----------------------------------------------------------------------------------------


def spoil(shop: Shop, job: str, line: int) -> None:
    """Change a line of a log."""
    log = shop.job(job).log
    lines = log.read_bytes().split(b"\n")
    lines[line - 1] = lines[line - 1].replace(b'"v":1', b'"v":7', 1)
    log.write_bytes(b"\n".join(lines))


def test_a_damaged_log_is_named_and_left_out(shop: Shop) -> None:
    """Its job is named with why and is in no number, the command ends with 1; one of another procedure is not named."""
    for _ in range(3):
        with gap_job(shop) as session:
            do(session, acts.Done(), acts.Record("9"))
    with begin(shop, linked(REST), drum={}) as session:
        drive(session, "wait", **RESTED)
    spoil(shop, "J-0002", 5)
    spoil(shop, "J-0004", 5)
    found = learned(shop, "look-over")
    assert [each.job for each in found.left_out] == ["J-0002"] and set(found.jobs) == {"J-0001", "J-0003"}
    assert part(found).walks.count == 2
    ran = command("learned", "look-over", shop=shop.root)
    assert (ran.returncode, ran.stderr) == (1, "")
    assert "Left out of all that follows (1)\n  J-0002: line 5 is damaged:" in ran.stdout and "J-0004" not in ran.stdout
    data = document(command("learned", "look-over", "--json", shop=shop.root).stdout)
    assert [each["job"] for each in data["left_out"]] == ["J-0002"]


def test_a_log_that_does_not_even_say_what_it_was_is_named(shop: Shop) -> None:
    """Where nobody can tell whether a job was worked to the procedure, it is named; one never opened is not."""
    for _ in range(4):
        with gap_job(shop):
            pass
    spoil(shop, "J-0001", 1)
    shop.job("J-0002").log.unlink()
    shutil.rmtree(shop.job("J-0003").texts)
    (shop.jobs_folder / "J-0009").mkdir()
    found = learned(shop, "look-over")
    assert [each.job for each in found.left_out] == ["J-0001", "J-0002", "J-0003"]
    assert "line 1 is damaged" in found.left_out[0].why and "text of this job" in found.left_out[2].why
    assert set(found.jobs) == {"J-0004"}
    spoil(shop, "J-0004", 2)
    (shop.procedures / "look-over.yaml").write_bytes(GAP)
    ran = command("learned", "look-over", shop=shop.root)
    assert ran.returncode == 1 and "No job that can be read was worked to it yet" in ran.stdout


def test_a_chain_of_lines_that_are_no_job_is_left_out(shop: Shop, tmp_path: Path) -> None:
    """Lines that somebody sealed anew, and that no walk could have written, are named and not counted."""
    from benchwalk.job.line import FIRST, seal

    with gap_job(shop) as session:
        do(session, acts.Done(), acts.Record("9"))
    log, before, lines = shop.job("J-0001").log, FIRST, []
    for event in read(log).events:
        body = {key: value for key, value in event.items() if key not in ("before", "hash")}
        line, before = seal(body | ({"visit": 77} if event["what"] == "took" else {}), event["n"], before)
        lines.append(line)
    log.write_bytes(b"".join(lines))
    assert [each.why for each in learned(shop, "look-over").left_out] == [
        "its lines are as they were written, but do not make up a job"
    ]


# --- the command -----------------------------------------------------------------------------------------------------


def busy(shop: Shop) -> None:
    """Jobs of the library's own procedures with all that people write in them."""
    with begin(shop, kind="customer") as session:
        reach_hold(session)
        do(session, acts.Problem("the lamp is out"))
    with begin(shop, drum=DRUM) as session:
        drive(session, "@build", mechanism="cords")
        do(session, acts.GoBack(1, "looked at the wrong drum"))


def test_page_has_eighty_columns_and_each_line_can_name_its_jobs(shop: Shop) -> None:
    """No line is wider, with --jobs or without; with it each counted line is followed by the jobs behind it."""
    busy(shop)
    bare = command("learned", FLAGSHIP, shop=shop.root)
    full = command("learned", FLAGSHIP, "--jobs", shop=shop.root)
    assert (bare.returncode, full.returncode) == (0, 0)
    assert max(map(display_width, full.stdout.splitlines())) <= 80
    kept = [line for line in full.stdout.splitlines() if not line.lstrip().startswith("from J-")]
    assert kept == bare.stdout.splitlines() and len(full.stdout.splitlines()) > len(kept) + 50
    lines = full.stdout.splitlines()
    assert lines[lines.index("  mechanism: 1 visit in 1 job (few)") + 1].strip() in ("from J-0001", "from J-0002")


def test_page_is_in_words(shop: Shop) -> None:
    """No name of the procedure stands on the page as it is written there; only procedures keep their ids."""
    busy(shop)
    book = flagship()
    said = page(shop, FLAGSHIP)
    for each in (FLAGSHIP, *book.all_texts()):
        said = said.replace(each, "")
    assert named(book).findall(said) == []
    shutil.copytree(SAMPLE, shop.root / "sample")
    said = page(Shop.open(shop.root / "sample"), "tie-one-side").replace("tie-one-side", "")
    assert named(shipped("tie-one-side")).findall(said) == []


def test_json_has_every_number_with_its_events(shop: Shop) -> None:
    """The one document says the same as the page, by ids, with events by job, and few where there are few."""
    busy(shop)
    ran = command("learned", FLAGSHIP, "--json", shop=shop.root)
    data: dict[str, Any] = json.loads(ran.stdout)
    assert data["jobs"] == {"J-0001": "customer", "J-0002": "practice"} and data["now"] == "1"
    assert [(each["kind"], each["revision"]) for each in data["parts"]] == [("customer", "1"), ("practice", "1")]
    assert data["problems"][0]["text"] == "the lamp is out" and data["problems"][0]["now"] == "same"
    assert data["went_back"][0]["back_from"] == "build"
    for each in data["parts"]:
        for found in each["steps"]:
            assert found["visits"]["count"] == sum(map(len, found["visits"]["events"].values()))
            for number in found["numbers"]:
                assert number["count"] == sum(map(len, number["events"].values()))
                assert number["few"] is (number["of"] < 5)


def test_numbers_of_few_visits_are_marked_and_others_are_not(shop: Shop) -> None:
    """Four visits are few, five are not."""
    for number in range(5):
        with gap_job(shop) as session:
            do(session, acts.Done(), acts.Record("4"))
        few = number < 4
        assert (f"measure: {number + 1} visit" in page(shop, "look-over")) and (
            ("to look, " + f"{number + 1} of {number + 1} visit" + ("s" if number else "") + (" (few)" if few else ":"))
            in page(shop, "look-over")
        )


def test_command_changes_nothing_and_says_where_there_is_nothing(shop: Shop, tmp_path: Path) -> None:
    """A shop is only read. No job, no procedure and no shop are told in a sentence, with their exit codes."""
    ran = command("learned", FLAGSHIP, shop=shop.root)
    assert ran.returncode == 0 and "No job was worked to it yet" in ran.stdout and "Gone back" not in ran.stdout
    busy(shop)
    before = tree(shop.root)
    assert command("learned", FLAGSHIP, shop=shop.root).returncode == 0
    assert tree(shop.root) == before
    ran = command("learned", "retie-snare", shop=shop.root)
    assert (ran.returncode, ran.stdout) == (2, "") and "did you mean 'retie-snare-cords'" in ran.stderr
    ran = command("learned", FLAGSHIP, shop=tmp_path / "nowhere")
    assert ran.returncode == 2 and "there is no shop here yet" in ran.stderr.lower()
    ran = command("learned", "nothing", "--json", shop=shop.root)
    assert ran.returncode == 2 and "no procedure 'nothing'" in document(ran.stdout)["error"]["message"]


def test_a_draft_is_held_against_the_logs_by_its_path(shop: Shop, tmp_path: Path) -> None:
    """Named by its file, a draft is what the reported problems are held against."""
    with gap_job(shop) as session:
        do(session, acts.Problem("the rule does not reach"))
    draft = tmp_path / "look-over.yaml"
    draft.write_bytes(GAP.replace(b"revision: 1", b"revision: 2").replace(b"Measure the gap.", b"Measure it."))
    ran = command("learned", draft, shop=shop.root)
    assert ran.returncode == 0 and "The text of this step has changed since.\n" in ran.stdout
    assert "look-over; as it is now: revision 2." in ran.stdout


def test_what_people_wrote_acts_on_no_terminal(shop: Shop) -> None:
    """Control characters of a problem, a reason or a log's complaint are written out."""
    with gap_job(shop) as session:
        do(session, acts.Problem("see \x1b[31m[/red] \u202e here\nand there"))
        decision_by(session, SECOND, acts.SettleProblem("\x07 done"))
    said = page(shop, "look-over")
    assert "see \\x1b[31m[/red] \\u202e here and there" in said and "\\x07 done" in said
    assert not {c for c in said if ord(c) < 32 and c != "\n"}


def test_looking_at_the_logs_first_leaves_later_jobs_whole(shop: Shop) -> None:
    """On a machine where nothing was read yet, a job begun after this keeps every text that it is worked to."""
    shutil.copytree(SAMPLE, shop.root / "sample")
    assert command("learned", "tie-one-side", shop=shop.root / "sample").returncode == 0
    with begin(shop, Library.of(shop.root).get(FLAGSHIP)) as session:
        assert {path.stem for path in session.folder.texts.iterdir()} == set(session.state.texts.values())
