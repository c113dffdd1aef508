"""What people read never has a name as it is written in a procedure: pages, events, reports, offers, what just came."""

from __future__ import annotations

import re

import pytest

from benchwalk.daybook.entries import corrected_lines, entry_line, stale_words, why_words
from benchwalk.daybook.ink import text_of
from benchwalk.daybook.lines import reading_lines
from benchwalk.daybook.offers import offers
from benchwalk.daybook.right import page_of
from benchwalk.daybook.things import things
from benchwalk.daybook.told import told
from benchwalk.job.log import read
from benchwalk.job.people import load_people
from benchwalk.job.shop import Shop
from benchwalk.procedure.linked import Linked
from benchwalk.procedure.showing import words_of
from benchwalk.session import Books
from benchwalk.shop.event_words import event_words
from benchwalk.shop.listing import standing
from benchwalk.shop.pages import pages
from benchwalk.shop.waiting import waiting
from benchwalk.walk import acts
from benchwalk.walk.fold import fold, replay
from benchwalk.walk.phase import now
from benchwalk.walk.places import step_names
from benchwalk.walk.state import State
from benchwalk.walk.wording import asked_at, before_answer
from report_helpers import AUDIENCES, JOBS, SAMPLE, report
from walk_helpers import BO, INNER, OUTER, SNIP, TIED, Walk, linked, procedure, shipped

ISO = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d")


def named(*books: Linked) -> re.Pattern[str]:
    """Every name of procedures, and of all that they run, that is not written as people read it."""
    names: set[str] = set()
    for book in books:
        names |= set(step_names(book))
        for each in book.family():
            for kept in (each.steps, each.variables, each.procedure.sums, each.limits, each.procedure.findings):
                names |= set(kept)
    written = sorted((re.escape(name) for name in names if words_of(name) != name), key=len, reverse=True)
    return re.compile(rf"(?<![\w/.-])(?:{'|'.join(written)})(?![\w/-])")


def sample(job: str) -> tuple[State, Books, list[dict[str, object]], dict[str, str]]:
    """A job of the samples: its state, its procedures, its events, and people's names."""
    shop = Shop.open(SAMPLE)
    folder = shop.job(job)
    events = read(folder.log).events
    state = replay(events)
    names = {person.id: person.name for person in load_people(shop).by_id.values()}
    return state, Books(folder, state.texts), events, names


@pytest.mark.parametrize("job", JOBS)
def test_pages_and_events_are_in_words(job: str) -> None:
    """The pages of a job and each event of its log have no name of the procedure in them, and no time as logs do."""
    state, books, events, names = sample(job)
    wrong = named(books(state.text))
    said = pages(state, books, names, events)
    said += [line for n in range(1, len(events) + 1) for line in event_words(events, n, names)]
    assert len(said) > 100
    assert [line for line in said if wrong.search(line) or ISO.search(line)] == []


@pytest.mark.parametrize("audience", AUDIENCES)
@pytest.mark.parametrize("job", JOBS)
def test_reports_are_in_words(job: str, audience: str) -> None:
    """Both reports name steps, readings, sums and findings in words; procedures keep the id they are called by."""
    state, books, _events, _names = sample(job)
    said = " ".join(report(SAMPLE, job, audience).split())
    assert named(books(state.text)).findall(said) == [] and not ISO.search(said)
    if audience == "shop":
        assert state.procedure in said


@pytest.mark.parametrize("job", JOBS)
def test_what_a_job_waits_for_is_in_words_at_every_event(job: str) -> None:
    """Wherever a log may end, where the job stands and what it waits for have no name of the procedure in them."""
    state, books, events, _names = sample(job)
    wrong = named(books(state.text))
    state = State()
    for event in events:
        state = fold(state, event)
        said = " ".join((standing(state, books)[1], *waiting(state, books)[:2]))
        assert not wrong.search(said) and "{{" not in said and not ISO.search(said), said


def test_what_stands_in_the_way_of_a_release_is_in_words() -> None:
    """A void sign-off, a walk that leads elsewhere, and what was said by the log of it, name their steps in words."""
    walk = Walk(linked(OUTER, INNER, SNIP), kind="customer").begin()
    walk.on("=hold", **TIED)
    walk.do(acts.Release(BO))
    covered = next(e.n for e in walk.state.entries.values() if e.name == "clear")
    decision = walk.decide(acts.Correct(covered, "341", "misread"))
    assert stale_words(walk.state) == ["the sign-off at senior look is void: a reading it covers was corrected"]
    assert walk.state.stale() == ["the sign-off at senior-look is void: a reading it covers was corrected"]
    said = "\n".join(told(walk.state, walk.bench, decision.events))
    assert "sign-off" in said and not named(walk.book).search(said)
    page = page_of(walk.state, walk.now(), walk.bench, walk.who)
    assert page.action == "The sign-off at senior look no longer stands. A senior must give it again."


def test_what_was_corrected_under_a_void_sign_off_names_its_run() -> None:
    """Two runs of one procedure ask the same: what was corrected since a sign-off says in which of them it was noted;
    a reading of the look's own procedure stands without one."""
    walk = Walk(linked(OUTER, INNER, SNIP), kind="customer").begin()
    walk.on("=hold", **TIED)
    walk.do(acts.Release(BO))
    sign = walk.state.signs[-1]
    for name, typed in (("gap", "3.9"), ("clear", "341")):
        covered = next(n for n in sign.covers if walk.state.entries[n].name == name)
        walk.do(acts.Correct(covered, typed, "misread"))
    gap, clear = sorted(corrected_lines(walk.state, walk.state.signs[-1], walk.bench))
    assert gap.startswith("Corrected since (far): Gap: 3.9 mm")
    assert clear.startswith("Corrected since: Clear length: 341 mm")


def test_only_what_a_procedure_names_of_a_sum_is_told() -> None:
    """The line of a sum on the way has the numbers that a text or a condition names, no choices and no moves by rod;
    a choice stands there where nothing else would; the pages keep all."""
    walk = Walk(shipped("even-rods"))
    walk.begin({"rods": "6"}, {"head": "batter", "want": "220", "slack": "1.5"})
    oval = {"1": "222", "2": "219.4", "3": "217.3", "4": "221.2", "5": "221.2", "6": "217.3", "7": "219.4"}
    walk.on(lambda here: here.name == "turned", other_head="off", rod_note=oval)
    left = ["".join(span.text for span in thing.line) for thing in things(walk.state, walk.bench.books, {})]
    even = next(line for line in left if line.startswith("Worked out, even: "))
    advice = next(line for line in left if line.startswith("Worked out, advice: "))
    for words in ("spread ", "opposite rods differ by "):
        assert words in even
    for words in ("verdict", "outside", "lowest at rod", "give or take"):
        assert words not in even
    assert "pitch spread " in advice
    for words in ("tighten", "loosen", "what to do", "one-side", "one side"):
        assert words not in advice
    kept = "\n".join(pages(walk.state, walk.bench.books, {}, walk.events))
    assert "verdict" in kept and "lowest at rod" in kept


def test_what_a_sum_cannot_tell_of_this_drum_is_not_told() -> None:
    """With an odd count of rods there are no opposite ones: the line of the sum has what there is, and names no rod as
    `not noted`."""
    walk = Walk(shipped("even-rods"))
    walk.begin({"rods": "7"}, {"head": "batter", "want": "220", "slack": "1.5"})
    oval = {"1": "222", "2": "219.4", "3": "217.3", "4": "221.2", "5": "221.2", "6": "217.3", "7": "219.4"}
    walk.on(lambda here: here.name == "turned", other_head="off", rod_note=oval)
    left = ["".join(span.text for span in thing.line) for thing in things(walk.state, walk.bench.books, {})]
    even = next(line for line in left if line.startswith("Worked out, even: "))
    assert even.startswith("Worked out, even: spread ") and "two opposite pairs apart by " in even
    for words in ("not noted", "opposite rods differ", "across from it"):
        assert words not in even


def test_a_divergence_is_told_in_words() -> None:
    """Where a corrected value leads elsewhere, the stop and both steps are named in words; the log keeps its own."""
    walk = Walk(linked(OUTER, INNER, SNIP)).begin()
    walk.on("=hold", **TIED)
    far = max(e.n for e in walk.state.entries.values() if e.name == "gap")
    decision = walk.decide(acts.Correct(far, "5.4", "misread"))
    [event] = [event for event in decision.events if event["what"] == "diverged"]
    assert event["because"].startswith("at tie-far the walk went to senior-look, and would now go to tie-far")
    said = "\n".join(told(walk.state, walk.bench, decision.events))
    assert "Stop: at tie far the walk went to senior look, and would now go to tie far" in said
    page = page_of(walk.state, now(walk.state, walk.bench), walk.bench, walk.who)
    assert "tie far, that the walk went another way." in page.lead[0]
    assert not named(walk.book).search(" ".join((page.place, page.action, *page.lead)))


def test_offers_are_in_words() -> None:
    """The branches that can be taken by hand name where from and where to in words."""
    walk = Walk(linked(OUTER, INNER, SNIP)).begin()
    walk.on("=hold", **TIED)
    found = offers(walk.state, walk.now(), walk.bench)
    assert [offer.text for offer in found][-2:] == [
        "From senior look (here), to finish: It was looked at",
        "From senior look (here), to tie far: It was refused",
    ]


def test_a_step_come_to_too_often_is_named_in_words() -> None:
    """The reason that the log gives for a stop has its steps in words wherever it is shown."""
    walk = Walk(linked(OUTER, INNER, SNIP)).begin()
    walk.on("=hold", **TIED)
    visit = walk.state.visits[-1]
    visit.why = "tie-far was entered 2 times; at senior-look it was refused"
    assert why_words(walk.state, visit) == "tie far was entered 2 times; at senior look it was refused"


def test_a_look_over_two_runs_says_of_which_each_reading_is() -> None:
    """What two runs of one procedure noted alike stands in two lines, each with its run's name."""
    outer = OUTER.replace(b"covers: [far.gap, clear]", b"covers: [butt.gap, far.gap, clear]")
    walk = Walk(linked(outer, INNER, SNIP)).begin()
    walk.on("=hold", **TIED)
    lead = page_of(walk.state, walk.now(), walk.bench, "ann").lead
    assert lead[1:] == ("Gap (butt): 4 mm; within", "Gap (far): 4 mm; within", "Clear length: 340 mm")


def test_a_part_is_told_with_the_number_of_the_stop_that_runs_it() -> None:
    """Where a part begins the stop that it stands for is named, so that no number is missing between two pages."""
    walk = Walk(linked(OUTER, INNER, SNIP)).begin()
    walk.note("340")
    events = walk.do(acts.Record("332"))
    assert walk.state.visit == 3
    assert "Stop 2 is a part of its own: Tie side." in set(told(walk.state, walk.bench, events))
    walk.do(acts.Happens("strand-bends"))
    events = walk.events[-2:]
    assert "Now: Snip strand." in set(told(walk.state, walk.bench, events))


@pytest.mark.parametrize(
    ("ask", "place", "said"),
    [
        ("Above all at snare beds,", "", "Above all at snare beds:"),
        ("How does it lie?", "", "How does it lie?"),
        ("How does it lie?", "rod 3", "How does it lie, at rod 3?"),
        ("The paper strip is:", "butt middle", "The paper strip is, at butt middle:"),
        ("Gap (minus: rides on the hoop)", "", "Gap (minus: rides on the hoop):"),
    ],
)
def test_question_and_what_follows_it_are_joined_by_one_mark(ask: str, place: str, said: str) -> None:
    """However a question ends, and with a place behind it, one mark stands before the answer."""
    assert before_answer(asked_at(ask, place)) == said


QUIZ = procedure(
    """
readings:
  lie: {ask: "How do they lie?", choices: {all: flat, some: aslant}, per: [butt, strainer]}
  film: {ask: "At the beds,", choices: {smooth: is smooth, creased: is creased}}
steps:
  - {step: look, record: [lie, film], end: done}
"""
)


def test_pages_join_a_question_and_its_answer_by_one_mark() -> None:
    """On both pages, line by line and in the pages of a job a question that ends in its own mark gets no other."""
    walk = Walk(linked(QUIZ)).begin()
    shown = []
    while (here := walk.now()).kind == "reading":
        shown += [page_of(walk.state, here, walk.bench, "ann").question]
        shown += reading_lines(walk.state, here, walk.bench, False)
        walk.note(next(iter(here.reading.choices or {})))
    shown += [text_of(thing.line) for thing in things(walk.state, walk.bench.books, {})]
    shown += [entry_line(e, walk.book.procedure.readings[e.name]) for e in walk.state.entries.values()]
    assert {"How do they lie, at butt?", "At strainer: how do they lie?", "At the beds:"} <= set(shown)
    assert {"How do they lie, at both places? flat", "At the beds: is smooth"} <= set(shown)
    assert not [line for line in shown if re.search(r"[?.,:;]\s*[.,:;]", line)]
