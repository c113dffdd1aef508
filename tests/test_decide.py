"""Every act of a walk: what comes of it where it is allowed, and the sentence it is refused with where it is not."""

from __future__ import annotations

import copy
import inspect
import sys
from datetime import timedelta
from fractions import Fraction
from typing import Any

import pytest

from benchwalk.daybook.lines import reading_lines
from benchwalk.daybook.points import PAGES
from benchwalk.procedure.linking import link
from benchwalk.procedure.read import read
from benchwalk.procedure.showing import many
from benchwalk.signatures import SIGNATURES, Input, Output, Signature
from benchwalk.walk import acts
from benchwalk.walk.by_ear import BY_EAR
from benchwalk.walk.decide import decide, proceed
from benchwalk.walk.desk import view_of
from benchwalk.walk.events import KINDS
from benchwalk.walk.fold import replay
from benchwalk.walk.phase import AUTOMATIC, now, parse_time
from benchwalk.walk.wording import said, turns_figure
from walk_helpers import (
    BO,
    GAP,
    INNER,
    MORNING,
    OUTER,
    PLAYED,
    REST,
    RESTED,
    RODS,
    SNIP,
    TIED,
    Walk,
    linked,
    procedure,
    shipped,
)

EVERY_ACT: tuple[acts.Act, ...] = (
    acts.Ready(),
    acts.GiveFact("rods", "6"),
    acts.Acknowledge(),
    acts.Done(),
    acts.NotYet(),
    acts.ChooseWay("short"),
    acts.Record("4"),
    acts.LeaveOut(),
    acts.Waited(),
    acts.Release(PLAYED),
    acts.Refuse(PLAYED),
    acts.SignAgain(1, PLAYED),
    acts.Skip("no time"),
    acts.Happens("cord-breaks"),
    acts.Overrule(0, "by eye", PLAYED),
    acts.Correct(1, "4", "misread"),
    acts.GoBack(1, "again"),
    acts.Accept("fine", PLAYED),
    acts.Note("a note"),
    acts.Pause("so it stands"),
    acts.Resume(),
    acts.CheckPlace(),
    acts.HandOver("cy", "so it stands"),
    acts.TakeOn(),
    acts.Problem("unclear"),
    acts.SettleProblem("mended"),
    acts.Account(),
    acts.ReleaseJob(PLAYED),
)


def gap() -> Walk:
    """GAP at its first step."""
    return Walk(linked(GAP)).begin()


def outer(**options: Any) -> Walk:
    """OUTER at its first step."""
    return Walk(linked(OUTER, INNER, SNIP), **options).begin()


def rest(**options: Any) -> Walk:
    """REST at its first step."""
    return Walk(linked(REST), **options).begin()


def rods(count: str = "6") -> Walk:
    """RODS at its first step."""
    return Walk(linked(RODS)).begin({"rods": count})


# --- opening and getting ready -------------------------------------------------------------------------------------


def test_opening_pins_the_texts_and_keeps_what_is_known() -> None:
    """The opening event names job, kind, procedure, every text by its hash, and what the shop noted."""
    walk = Walk(linked(OUTER, INNER, SNIP), kind="customer").open()
    opened = walk.events[0]
    assert (opened["job"], opened["kind"], opened["procedure"], opened["revision"]) == (
        "J-1",
        "customer",
        "tie-both",
        "1",
    )
    assert opened["texts"] == {book.id: book.text for book in walk.book.family()}
    assert opened["note"] == {"owner": "A. Player"}
    assert (opened["v"], opened["n"], opened["at"], opened["who"]) == (1, 1, "2026-03-02T09:00:00+00:00", "ann")
    assert walk.at() == ("ready", "")


def test_a_job_is_opened_once_and_of_a_known_kind() -> None:
    """A second opening is refused, and so is a kind that is none."""
    walk = Walk(linked(GAP)).open()
    assert walk.refused(acts.Open("J-2", "practice", walk.book.text)) == "this job is open already"
    fresh = Walk(linked(GAP))
    sentence = fresh.refused(acts.Open("J-2", "hobby", fresh.book.text))
    assert sentence == "a job is customer, practice or rehearsal, not 'hobby'"


@pytest.mark.parametrize("act", EVERY_ACT, ids=lambda act: type(act).__name__)
def test_before_opening_nothing_can_be_done(act: acts.Act) -> None:
    """Every act but opening is refused before the job is open."""
    assert Walk(linked(GAP)).refused(act) == "the job is not open yet"


def test_what_a_procedure_takes_must_be_given_to_walk_it_alone() -> None:
    """A procedure made to be run by others is walked alone with what it takes, and refused without."""
    good = {"side": "butt", "target": "2 .. 5"}
    walk = Walk(linked(INNER))

    def open_(given: dict[str, str]) -> acts.Open:
        return acts.Open("J-1", "practice", walk.book.text, given=given)

    assert walk.refused(open_({"side": "butt"})) == (
        "'tie-side' is run by others and takes 'target' (in mm); to walk it alone give it, as in: "
        '--with target="LOW .. HIGH mm"'
    )
    assert walk.refused(open_(good | {"side": "left"})) == "'side' is one of butt, strainer, and 'left' is not"
    assert walk.refused(open_(good | {"spacer": "3"})) == "'tie-side' takes no 'spacer'"
    assert "two" in walk.refused(open_(good | {"target": "two"}))
    walk.do(open_(good))
    assert walk.last("opened")["given"]["target"]["range"] == {"low": "2", "high": "5"}
    walk.on("pull", way="short", gap="1.5")
    assert walk.entry("gap").verdict == "below"


def test_all_that_a_procedure_takes_is_said_at_once() -> None:
    """Everything missing is named in one sentence with the words to type, and what they say is accepted."""
    walk = Walk(shipped("even-rods"))

    def open_(**given: str) -> acts.Open:
        return acts.Open("J-1", "practice", walk.book.text, drum={"rods": "6"}, given=given)

    assert walk.refused(open_()) == (
        "'even-rods' is run by others and takes 'head' (batter or snare-side), 'want' (in Hz) and 'slack' (in turns); "
        'to walk it alone give them, as in: --with head=batter --with want="220 Hz" --with slack="1.5 turns"'
    )
    walk.do(open_(head="batter", want="220 Hz", slack="1.5 turns"))


@pytest.mark.parametrize("typed", ["snare_side", "snare-side", "Snare-Side"])
def test_a_choice_given_by_hand_may_have_hyphens(typed: str) -> None:
    """A choice is taken by its word, with hyphens for underscores, whatever its capitals."""
    walk = Walk(shipped("even-rods"))
    given = {"head": typed, "want": "220 Hz", "slack": "1.5 turns"}
    walk.do(acts.Open("J-1", "practice", walk.book.text, drum={"rods": "6"}, given=given))
    assert walk.last("opened")["given"]["head"]["choice"] == "snare_side"


def test_a_choice_given_by_hand_may_be_the_text_shown() -> None:
    """A choice is taken by the text shown for it as well."""
    walk = Walk(linked(INNER)).begin(given={"side": "Butt side", "target": "2 .. 5"})
    assert walk.last("opened")["given"]["side"]["choice"] == "butt"


def test_an_open_end_of_a_range_given_by_hand_stays_open() -> None:
    """`below 5` takes 4.9 and not 5, also when a person gives it to walk a procedure alone."""
    walk = Walk(linked(INNER)).begin(given={"side": "butt", "target": "below 5"})
    walk.on("pull", way="short", gap="5")
    assert walk.entry("gap").verdict == "above"


def test_getting_ready_names_what_is_needed_by_every_procedure() -> None:
    """Readiness is confirmed once, for the procedure and all it runs, with what is waived."""
    walk = Walk(linked(OUTER, INNER, SNIP)).open()
    walk.do(acts.Ready("no spacer today"))
    readied = walk.last("readied")
    assert readied["waived"] == "no spacer today"
    assert readied["needs"]["tie-both"]["tools"] == ["small rule", "spacer"]
    assert set(readied["needs"]) == {"tie-both", "tie-side", "snip-strand"}
    assert walk.refused(acts.Ready()) == "what is needed was confirmed already"


def test_facts_are_asked_before_the_first_step() -> None:
    """A fact the procedure needs and the job lacks is asked, understood and possible, before anything else."""
    walk = Walk(linked(RODS)).open()
    walk.do(acts.Ready())
    assert (walk.now().kind, walk.now().name) == ("fact", "rods")
    assert walk.refused(acts.GiveFact("depth", "5 in")) == "'depth' is not asked for now"
    assert "possible is 3 to 16" in walk.refused(acts.GiveFact("rods", "60"))
    assert walk.refused(acts.GiveFact("rods", " ")) == "nothing was typed for the drum's rods; a value is expected"
    walk.refused(acts.GiveFact("rods", "six"))
    walk.do(acts.GiveFact("rods", "6"))
    assert walk.last("fact")["value"] == "6"
    assert walk.last("fact")["known"] is False
    assert walk.at() == ("reading", "feel")
    assert walk.refused(acts.GiveFact("rods", "8")) == "'rods' is not asked for now"


def test_facts_the_shop_knows_are_noted_without_asking() -> None:
    """What intake knew of the drum becomes an event of its own, so that it can be corrected like any other."""
    walk = Walk(linked(RODS)).begin({"rods": "8", "depth": "5 1/2 in"})
    assert walk.of("fact")[0] | {"at": "", "n": 0} == {
        "v": 1,
        "n": 0,
        "at": "",
        "who": "ann",
        "what": "fact",
        "name": "rods",
        "typed": "8",
        "value": "8",
        "unit": "",
        "known": True,
    }
    assert len(walk.of("fact")) == 1, "the depth is known and not needed"
    assert walk.events[0]["drum"]["depth"]["value"] == "139.7"


def test_a_drum_that_cannot_be_is_not_opened() -> None:
    """Facts of the drum are judged at the opening as they are when asked."""
    walk = Walk(linked(RODS))
    sentence = walk.refused(acts.Open("J-1", "practice", walk.book.text, {"rods": "2"}))
    assert sentence == "2 cannot be: how many tension rods has a head; possible is 3 to 16"


# --- at a step -----------------------------------------------------------------------------------------------------


def test_hazards_come_before_the_action() -> None:
    """Neither the action nor its reading counts before the hazards of the step were read; the event tells which."""
    walk = rest()
    assert walk.at() == ("hazard", "settle")
    assert walk.refused(acts.Done()) == "nothing waits to be confirmed here; first read the hazards"
    assert walk.refused(acts.Record("3")) == "no reading is asked for here; first read the hazards"
    walk.do(acts.Acknowledge())
    assert walk.last("acknowledged")["hazards"] == ["warning: The lever snaps; Pinched fingers; Keep clear"]
    assert walk.at() == ("do", "settle")
    assert walk.refused(acts.Acknowledge()) == "no hazards wait to be read here"


def test_an_action_is_done_or_not_yet() -> None:
    """`not yet` is kept and changes nothing; done goes on; neither fits where a reading is asked."""
    walk = rest()
    walk.do(acts.Acknowledge())
    walk.do(acts.NotYet())
    assert walk.at() == ("do", "settle")
    walk.do(acts.Done())
    assert walk.now().name == "knob"
    assert walk.refused(acts.Done()) == "nothing waits to be confirmed here; a reading is asked for"
    assert walk.refused(acts.NotYet()) == "there is nothing to see here yet; a reading is asked for"


def test_noting_the_reading_of_an_action_says_that_it_is_done() -> None:
    """Where a step is an action and its readings, the reading alone is enough: both events are written."""
    walk = gap()
    events = walk.do(acts.Record("4"))
    assert [e["what"] for e in events[:2]] == ["done", "read"]
    walk = rest()
    walk.do(acts.Acknowledge())
    assert [e["what"] for e in walk.do(acts.LeaveOut())][:2] == ["done", "left_out"]


def test_readings_are_asked_in_order_and_only_when_asked() -> None:
    """The readings of a step come one after the other; none is taken where none is asked."""
    walk = rest()
    walk.do(acts.Acknowledge())
    assert walk.now().name == "" and walk.now().kind == "do"
    walk.note("3")
    assert walk.now().name == "said"
    walk.note("it rattles")
    assert walk.at() == ("wait", "rest")
    assert walk.refused(acts.Record("4")) == "no reading is asked for here; the time is not up"
    assert walk.refused(acts.LeaveOut()) == "no reading is asked for here; the time is not up"


def test_an_optional_reading_may_be_left_out_and_no_other() -> None:
    """A reading that may be left out is, with the person's own reason or none, and why it may be; no other is."""
    walk = rest()
    walk.do(acts.Acknowledge())
    walk.do(acts.LeaveOut())
    left = walk.last("left_out")
    assert (left["why"], left["allowed"]) == ("no reason given", "a seized knob is not forced")
    assert walk.entry("knob").value is None
    sentence = walk.refused(acts.LeaveOut("no time"))
    assert sentence == "this reading cannot be left out; if it cannot be taken, report a problem with this step"
    walk = rest()
    walk.do(acts.Acknowledge())
    walk.do(acts.LeaveOut("it is rusted"))
    assert walk.last("left_out")["why"] == "it is rusted"


def test_what_cannot_be_understood_is_refused() -> None:
    """Rubbish, another dimension, nothing at all or a choice that is none leave no event."""
    walk = gap()
    for typed in ("", "  ", "much", "4 Hz", "1,000"):
        walk.refused(acts.Record(typed))
    walk.note("4")
    assert walk.refused(acts.Record("every")) == "'every' is none of: all, some"
    walk.note("All touch")
    assert walk.entry("lie").value == "all"


def test_a_value_outside_the_possible_is_questioned_then_taken_when_sure() -> None:
    """A slip is asked about and leaves no event; said on purpose it counts and is marked."""
    walk = gap()
    question = walk.asked(acts.Record("200"))
    assert question.startswith("200 mm lies outside what is possible here (0 to 20 mm)")
    walk.note("200", sure=True)
    assert walk.last("read")["odd"] is True
    assert walk.entry("gap").verdict == "above"
    walk = gap()
    walk.note("4", sure=True)
    assert walk.last("read")["odd"] is False


@pytest.mark.parametrize(
    ("reading", "typed", "said"),
    [
        ("unit: mm, possible: above 0 and at most 1/4 in", "10", "(above 0 and at most 6.35 mm)"),
        ("unit: percent, possible: at least 5", "2", "(at least 5 percent)"),
        ("kind: note, possible: A2 .. 1200", "40 Hz", "(110 to 1200 Hz)"),
    ],
)
def test_the_possible_is_said_as_people_read_ranges(reading: str, typed: str, said: str) -> None:
    """What is possible is said in the reading's unit and in words, whatever way the procedure wrote it."""
    body = f"readings: {{x: {{ask: What, {reading}}}}}\nsteps: [{{step: look, record: [x], end: done}}]\n"
    walk = Walk(linked(procedure(body))).begin()
    assert f"lies outside what is possible here {said}; look again" in walk.asked(acts.Record(typed))
    other = {"10": "5", "2": "6", "40 Hz": "A3"}[typed]
    of = walk.note(other)
    assert f"{said}; look again" in walk.asked(acts.Correct(of, typed, "misread"))


def test_digits_and_unit_stay_as_typed() -> None:
    """A reading keeps what was typed beside its exact value in the reading's own unit."""
    walk = gap()
    walk.note("1/4 in")
    entry = walk.entry("gap")
    assert (entry.typed, entry.value, entry.unit) == ("1/4 in", "6.35", "mm")
    walk = gap()
    walk.note("4.500")
    assert walk.entry("gap").typed == "4.500"


@pytest.mark.parametrize(
    ("typed", "verdict", "by"),
    [("2.9", "below", "0.1"), ("3", "within", None), ("6", "within", None), ("6.25", "above", "0.25")],
)
def test_a_number_is_judged_by_the_fixed_range(typed: str, verdict: str, by: str | None) -> None:
    """Below, within (limits included) or above what is wanted, and by how much."""
    walk = gap()
    walk.note(typed)
    assert (walk.last("read")["verdict"], walk.last("read")["by"], walk.last("read")["against"]) == (verdict, by, None)


@pytest.mark.parametrize(
    ("typed", "verdict", "by"),
    [("2.4", "below", "0.1"), ("2.5", "within", None), ("5.5", "within", None), ("6", "above", "0.5")],
)
def test_a_number_is_judged_by_a_sum_handed_in(typed: str, verdict: str, by: str | None) -> None:
    """A range that a sum worked out in the calling procedure judges a reading inside the run, by its event."""
    walk = outer()
    walk.on(lambda here: here.name == "gap", **TIED)
    walk.note(typed)
    read = walk.last("read")
    assert (read["verdict"], read["by"], read["against"]) == (verdict, by, walk.last("worked")["n"])


@pytest.mark.parametrize(("word", "verdict"), [("all", "within"), ("some", "outside")])
def test_a_choice_is_judged_by_the_wanted_word(word: str, verdict: str) -> None:
    """A choice is within what is wanted or outside of it."""
    walk = gap()
    walk.note("4")
    walk.note(word)
    assert walk.last("read")["verdict"] == verdict


def test_what_nobody_wants_is_not_judged() -> None:
    """A reading without a wanted range has no verdict."""
    walk = rest()
    walk.do(acts.Acknowledge())
    walk.note("3")
    assert walk.last("read")["verdict"] is None


def test_rods_are_asked_one_at_a_time() -> None:
    """A reading at every rod is asked rod by rod; no rod can be jumped and none answered for all."""
    walk = rods("4")
    for rod in ("1", "2", "3", "4"):
        here = walk.now()
        assert (here.name, here.place, here.todo) == ("runs", rod, 4 - int(rod))
        if rod == "2":
            sentence = walk.refused(acts.Record("free", place="4"))
            assert sentence == "the places are asked one at a time; now it is 2"
        walk.note("free")
    assert [e["place"] for e in walk.of("read")] == ["1", "2", "3", "4"]


def test_named_places_are_asked_in_their_order() -> None:
    """A reading per place is asked at each of its places, as written."""
    walk = rods("4")
    walk.on(lambda here: here.name == "edge", runs="free", note="220")
    asked = []
    while walk.now().kind == "reading":
        asked.append(walk.now().place)
        walk.note("smooth")
    assert asked == ["butt", "strainer"]


def test_each_rod_place_and_pair_is_confirmed_singly() -> None:
    """`each` asks every place for itself: rods where a condition holds, all rods in pairs, places by name."""
    walk = rods("6")
    walk.on("oil", runs={"each": "free", "2": "binds", "5": "binds"})
    walk.do(acts.Done())  # the action
    places: dict[str, list[str | None]] = {}
    while walk.now().kind == "each":
        places.setdefault(walk.route()[-1], []).append(walk.now().place)
        walk.do(acts.Done())
    assert places == {"oil": ["2", "5"], "turn": ["1", "4", "2", "5", "3", "6"]}
    walk.on("edges", note="220")
    walk.do(acts.NotYet())
    for place in ("butt", "strainer"):
        assert walk.now().place == place
        walk.do(acts.Done())
    assert walk.now().name == "edge"


def test_an_odd_count_of_rods_has_no_pairs() -> None:
    """With an odd number of rods `pairs` goes round in order."""
    walk = rods("5")
    walk.on("turn", runs="free")
    asked = []
    while walk.now().kind == "each":
        asked.append(walk.now().place)
        walk.do(acts.Done())
    assert asked == ["1", "2", "3", "4", "5"]


def test_only_the_rods_a_sum_names_are_asked_and_others_can_be_opened(monkeypatch: pytest.MonkeyPatch) -> None:
    """`where` asks the named rods singly; another can be opened by hand; the rest get what counts elsewhere."""
    walk = moves(monkeypatch, {"1": "0", "2": "1/8", "3": "0", "4": "-1/8"})
    walk.on(lambda here: here.name == "turned", note="220")
    assert (walk.now().place, walk.now().todo) == ("2", 1)
    assert walk.refused(acts.Record("0.1", place="9")) == "'9' is no place of this reading"
    walk.note("1/16", place="3")
    assert walk.refused(acts.Record("0.1", place="3")) == "3 is noted already; correct it if it was wrong"
    walk.note("1/8")
    assert walk.now().place == "4"
    walk.do(acts.Record("-1/8"))
    noted = {e["place"]: e["typed"] for e in walk.of("read") if e["name"] == "turned"}
    assert noted == {"1": "0", "2": "1/8", "3": "1/16", "4": "-1/8"}
    assert walk.now().kind == "ended"


def test_every_round_of_notes_goes_with_the_turns_after_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """`every`: turns belong to the latest notes before them, several are added per rod, none is null."""
    walk = moves(monkeypatch, {"1": "1/8", "2": "0", "3": "0", "4": "0"})
    given: list[dict[str, Any]] = []
    real = walk.options["compute"]

    def keep(name: str, inputs: dict[str, Any]) -> Any:
        given.append(inputs)
        return real(name, inputs)

    walk.options["compute"] = keep
    walk.on(lambda here: here.name == "turned", note="220")
    walk.note("1/8")
    walk.do(acts.GoBack(1, "turn once more"))
    walk.on(lambda here: here.name == "turned", note="221")
    assert given[-1]["turned"] == [None], "what the walk went back over is left out"
    walk.note("1/4")
    assert walk.now().kind == "ended"


TURN_AGAIN = procedure(
    """
drum: [rods]
readings:
  note: {ask: Note at the rod, kind: note, per: rod, possible: 40 .. 1200}
  turned: {ask: Turns, unit: turns, per: rod, possible: -1 .. 1}
  more: {ask: What now, choices: {turn: turn, note: note, end: end}}
sums:
  advice: {use: moves-for-tests, with: {notes: every note, turned: every turned}}
steps:
  - step: sound
    record: [note]
  - step: ask
    work_out: [advice]
    record: [more]
    entered: {at_most: 9, then: finish}
    branches:
      - {when: more is note, because: Again, go: sound}
      - {when: more is turn, because: Turn, go: turn}
      - {when: more is end, because: Enough, go: finish}
  - step: turn
    record: [turned]
    go: ask
  - step: finish
    end: done
""",
    id="turn-again",
)


def test_turns_are_added_per_rod_between_two_rounds_of_notes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two rounds of turns after one of notes come to the sum as one; a round without turns as none."""
    declare_moves(monkeypatch)
    given: list[dict[str, Any]] = []

    def keep(name: str, inputs: dict[str, Any]) -> Any:
        given.append(inputs)
        return {"moves": {}}

    walk = Walk(linked(TURN_AGAIN), compute=keep)
    walk.begin({"rods": "3"})
    once, twice = {"1": "1/8", "2": "-1/8", "3": "0"}, {"1": "1/4", "2": "-1/4", "3": "0"}
    more = iter(["turn", "turn", "note", "turn", "note", "end"])
    while walk.now().kind != "ended":
        here = walk.now()
        typed = {"note": "220", "turned": once.get(here.place or "")}.get(here.name)
        walk.note(typed or next(more))
    turned = [[r and {k: str(v) for k, v in r.items()} for r in each["turned"]] for each in given]
    assert turned == [[None], [once], [twice], [twice, None], [twice, once], [twice, once, None]]
    assert [len(g["notes"]) for g in given] == [1, 1, 1, 2, 2, 3]


HEARD = procedure(
    """
drum: [rods]
readings:
  note: {ask: Note at the rod, kind: note, per: rod, possible: 40 .. 1200}
sums:
  beside: {use: heard-for-tests, with: {notes: every note, second: every note.second, sure: note.sure}}
steps:
  - step: sound
    record: [note]
    work_out: [beside]
    branches:
      - {when: beside.most > 1, because: "Heard {{ note.second }}", go: sound, at_most: 1, then: finish}
      - {when: otherwise, because: All is well, go: finish}
  - step: finish
    end: done
""",
    id="heard",
)


def test_what_is_heard_beside_a_note_reaches_sums_and_texts(monkeypatch: pytest.MonkeyPatch) -> None:
    """A second note and how sure a note is come to a sum rod by rod and round by round, missing where nobody said
    them; a text says them; the recording a note was heard in is kept with it until it is corrected by hand."""
    wants = (
        Input("notes", "number", "Hz", many=True, placed=True),
        Input("second", "number", "Hz", many=True, placed=True, optional=True),
        Input("sure", "number", "cents", placed=True, optional=True),
    )
    gives = (Output("most", "number", "", Fraction(1)),)
    declared = Signature("heard-for-tests", 1, wants, gives, None, "invented", "for tests")
    monkeypatch.setitem(SIGNATURES, "heard-for-tests", declared)
    given: list[dict[str, Any]] = []

    def keep(name: str, inputs: dict[str, Any]) -> Any:
        given.append(inputs)
        return {"most": Fraction(2)}

    book = linked(HEARD)
    assert not [f for f in book.findings if f.severity == "error"]
    walk = Walk(book, compute=keep)
    walk.begin({"rods": "3"})
    for typed in ("220 ±0.5c second 301.5 Hz", "A3 second 302", "221"):
        walk.do(acts.Record(typed, file="0" * 64 if typed == "221" else None))
    first = {"1": Fraction(220), "2": Fraction(220), "3": Fraction(221)}
    above = {"1": Fraction(603, 2), "2": Fraction(302), "3": None}
    assert given == [{"notes": [first], "second": [above], "sure": {"1": Fraction(1, 2), "2": None, "3": None}}]
    assert walk.of("took")[0]["because"] == "Heard 1: 301.5 Hz, 2: 302 Hz, 3: not noted"
    third = walk.of("read")[2]
    assert third["recording"] == walk.state.entries[third["n"]].recording == "0" * 64
    assert "recording" not in walk.of("read")[0]
    walk.do(acts.Correct(third["n"], "222", "read from the wrong drum"))
    assert walk.state.entries[third["n"]].recording is None


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ("{values: note.second}", "'note.second' need not be said, and 'values' must be there"),
        ("{values: note.third}", "'note.third' is no reading, limit, sum or fact here"),
        ("{values: note.second.second}", "'note.second.second' is no reading, limit, sum or fact here"),
    ],
)
def test_what_need_not_be_said_is_not_given_where_it_must_be(given: str, says: str) -> None:
    """A sum that needs a value is not given what may never be heard, nor a part of a note that there is not."""
    whole = HEARD.decode().replace("beside.most", "beside.spread")
    start = whole.index("{use: heard")
    text = whole.replace(whole[start : whole.index("}}", start) + 2], f"{{use: spread, with: {given}}}")
    book = link(read(text.encode(), "heard.yaml"), lambda name: None)
    assert book is not None
    said = [f.message for f in book.findings]
    assert any(message.startswith(says) for message in said), said


def test_a_note_is_told_by_ear_against_the_first_rod(monkeypatch: pytest.MonkeyPatch) -> None:
    """Same, lower and higher with the beats of 5 s are fifths of a hertz off the first rod's note of this round; where
    nothing can be compared or counted, no number is made up."""
    walk = moves(monkeypatch, {"1": "0", "2": "0", "3": "0", "4": "0"})
    walk.on(lambda here: here.name == "note")
    why = walk.refused(acts.Record("higher 3"))
    assert why == '"higher 3" compares with the first place of this round, and that has no note yet; type it'
    walk.note("220 ±1c second 300")
    assert PAGES["reading"](walk.state, walk.now(), walk.bench).hints[-2] == BY_EAR
    assert "say lower or higher, or same alone" in walk.refused(acts.Record("same 3"))
    assert "needs the beats counted in 5 s" in walk.refused(acts.Record("lower"))
    assert "needs the beats counted in 5 s" in walk.refused(acts.Record("higher 41"))
    assert "is not a note" in walk.refused(acts.Record("a bit higher"))
    walk.note("Higher, 3 beats in 5 s")
    walk.note("lower by 2 beats")
    walk.note("same")
    assert [e["value"] for e in walk.of("read") if e["name"] == "note"] == ["220", "220.6", "219.6", "220"]
    assert said("note", view_of(walk.state, walk.state.visits[0], walk.bench)) == (
        "1: 220 Hz, give or take 1 cent, second note 300 Hz, 2: 220.6 Hz (by ear: Higher, 3 beats in 5 s), "
        "3: 219.6 Hz (by ear: lower by 2 beats), 4: 220 Hz (by ear: same)"
    )


def test_what_a_sum_advises_is_said_for_the_rod_that_is_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a sum names the rods, the rod asked brings what is advised there, to be noted by Enter alone."""
    walk = moves(monkeypatch, {"1": "0", "2": "1/8", "3": "0", "4": "-1/16"})
    walk.on(lambda here: here.name == "turned", note="220")
    page = PAGES["reading"](walk.state, walk.now(), walk.bench)
    assert page.advised == "0.125"
    assert page.hints[0] == "Advised: tighten an eighth (1/8 turn)"
    walk.note(page.advised)
    page = PAGES["reading"](walk.state, walk.now(), walk.bench)
    assert page.hints[0] == "Advised: loosen a sixteenth (-1/16 turn)"
    plain = list(reading_lines(walk.state, walk.now(), walk.bench, False))
    assert "Advised: loosen a sixteenth (-1/16 turn). Enter alone notes just that." in " ".join(plain)


@pytest.mark.parametrize(
    ("turn", "says"),
    [("1/8", "1/8 turn"), ("-1/16", "-1/16 turn"), ("1", "1 turn"), ("5/4", "1.25 turns"), ("0.1", "0.1 turns")],
)
def test_a_part_of_a_turn_is_a_fraction_where_it_is_one(turn: str, says: str) -> None:
    """Whole sixteenths of a turn are said as a fraction, anything else as a decimal."""
    assert turns_figure(Fraction(turn)) == says


@pytest.mark.parametrize(("count", "says"), [(0, "0 taps"), (1, "1 tap"), (2, "2 taps")])
def test_one_is_not_said_as_several(count: int, says: str) -> None:
    """A count of one goes with the word for one."""
    assert many(count, "tap") == says


@pytest.mark.parametrize("typed", ["1", "1/8", "-3/8"])
def test_what_is_not_advised_is_asked_about_once(monkeypatch: pytest.MonkeyPatch, typed: str) -> None:
    """A turn the other way, or more than a quarter turn off, is a question that says what is advised; then it is noted
    as it was meant."""
    walk = moves(monkeypatch, {"1": "0", "2": "-1/16", "3": "0"})
    walk.on(lambda here: here.name == "turned", note="220")
    told = walk.asked(acts.Record(typed))
    turn = "1 turn" if typed == "1" else f"{typed} turn"
    assert told == (
        f"{turn} is not what is advised here (loosen a sixteenth); look again, and if it is so, say it once more"
    )
    walk.note(typed, sure=True)
    assert walk.now().name != "turned"


def test_a_correction_against_the_advice_is_asked_about_once_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """A turn that is corrected the other way than was advised at its rod is a question, like one that is noted."""
    walk = moves(monkeypatch, {"1": "0", "2": "-1/16", "3": "0"})
    walk.on(lambda here: here.name == "turned", note="220")
    first = walk.note("-1/16")
    told = walk.asked(acts.Correct(first, "1/16", "the sign was lost"))
    assert told.startswith("1/16 turn is not what is advised here (loosen a sixteenth)")
    assert walk.state.entries[first].typed == "-1/16"
    walk.do(acts.Correct(first, "-1/8", "miscounted"))
    walk.do(acts.Correct(first, "1/16", "the sign was lost", sure=True))
    assert walk.state.entries[first].typed == "1/16"


@pytest.mark.parametrize("typed", ["-1/16", "0", "-5/16"])
def test_what_is_near_the_advice_is_noted_at_once(monkeypatch: pytest.MonkeyPatch, typed: str) -> None:
    """What is advised, none at all, and up to a quarter turn off it the same way are noted without a question."""
    walk = moves(monkeypatch, {"1": "0", "2": "-1/16", "3": "0"})
    walk.on(lambda here: here.name == "turned", note="220")
    walk.note(typed)
    assert walk.now().name != "turned"


def test_what_is_noted_in_one_visit_belongs_together(monkeypatch: pytest.MonkeyPatch) -> None:
    """Turns that a step notes before its note belong to that note, and not to the one of the visit before."""
    text = TURN_AGAIN.replace(b"record: [note]", b"record: [turned, note]")
    declare_moves(monkeypatch)
    given: list[dict[str, Any]] = []

    def keep(name: str, inputs: dict[str, Any]) -> Any:
        given.append(inputs)
        return {"moves": {}}

    walk = Walk(linked(text), compute=keep)
    walk.begin({"rods": "3"})
    turns, more = iter(["1/8"] * 3 + ["1/4"] * 3), iter(["note", "end"])
    while walk.now().kind != "ended":
        name = walk.now().name
        walk.note("220" if name == "note" else next(turns) if name == "turned" else next(more))
    assert [[str(r["1"]) for r in each["turned"]] for each in given] == [["1/8"], ["1/8", "1/4"]]


def declare_moves(monkeypatch: pytest.MonkeyPatch) -> None:
    """Declare a sum that names rods, as a sum of advice would."""
    wants = (
        Input("notes", "number", "Hz", many=True, placed=True),
        Input("turned", "number", "turns", many=True, placed=True, optional=True),
    )
    gives = (Output("moves", "placed", "turns"),)
    monkeypatch.setitem(
        SIGNATURES, "moves-for-tests", Signature("moves-for-tests", 1, wants, gives, None, "invented", "for tests")
    )


def moves(monkeypatch: pytest.MonkeyPatch, answer: dict[str, str]) -> Walk:
    """A walk in which a sum names the rods to turn."""
    declare_moves(monkeypatch)
    data = procedure(
        """
drum: [rods]
readings:
  note: {ask: Note at the rod, kind: note, per: rod, possible: 40 .. 1200}
  turned: {ask: Turns, unit: turns, per: rod, possible: -1 .. 1, where: advice.moves, elsewhere: 0}
sums:
  advice: {use: moves-for-tests, with: {notes: every note, turned: every turned}}
steps:
  - step: sound
    record: [note]
    work_out: [advice]
  - step: turn
    record: [turned]
  - step: finish
    end: done
""",
        id="turn-rods",
    )
    worked = {place: Fraction(turn) for place, turn in answer.items()}
    return Walk(linked(data), compute=lambda name, inputs: {"moves": worked}).begin({"rods": str(len(answer))})


def test_one_of_the_ways_is_chosen_and_done() -> None:
    """Exactly one way is taken; it is a reading too; a way with an action waits for it."""
    walk = outer()
    walk.on("butt/tie", **TIED)
    walk.do(acts.Done())
    assert walk.now().kind == "choose"
    assert walk.refused(acts.Done()) == "nothing waits to be confirmed here; one of the ways must be chosen"
    assert walk.refused(acts.ChooseWay("middling")) == "'middling' is none of: short, long"
    walk.do(acts.ChooseWay("long"))
    assert walk.at() == ("way", "butt/tie")
    assert walk.refused(acts.ChooseWay("short")) == "no way is chosen here"
    walk.do(acts.NotYet())
    walk.do(acts.Done())
    assert walk.now().name == "gap"
    assert walk.entry("way", "butt").value == "long"


def test_ways_may_lead_apart() -> None:
    """Where the ways say where they lead, the one chosen is followed."""
    data = procedure(
        """
steps:
  - step: pick
    choose: {as: way, ways: [{way: left, say: Left, go: one}, {way: right, say: Right, go: two}]}
  - step: one
    end: done
  - step: two
    end: referred
"""
    )
    for way, outcome in (("left", "done"), ("right", "referred")):
        walk = Walk(linked(data)).begin()
        walk.do(acts.ChooseWay(way))
        assert walk.last("ended")["outcome"] == outcome


# --- sums and branches ---------------------------------------------------------------------------------------------


def test_a_sum_is_worked_out_with_its_sources() -> None:
    """The event of a sum carries version, outputs at their resolution, and the events it rests on."""
    walk = outer()
    walk.on("butt/tie", **TIED)
    worked = walk.last("worked")
    version = SIGNATURES["snare-room"].version
    assert (worked["name"], worked["use"], worked["version"], worked["again"]) == ("room", "snare-room", version, None)
    assert worked["sources"] == [walk.entry("clear").n, walk.entry("long").n]
    assert worked["outputs"] == {"r": "8.0", "gap": {"low": "2.5", "high": "5.5"}, "spacer": "4.0"}
    assert worked["no_result"] is None


def test_a_sum_without_a_result_says_why_and_the_branch_sees_it() -> None:
    """No result is an event with its reason, and `has no result` leads on."""
    walk = outer()
    walk.on(clear="340", long="339.5")
    assert walk.last("worked")["outputs"] == {}
    assert walk.last("worked")["no_result"]
    assert walk.route() == ["measure", "give-up"]
    walk = Walk(linked(REST)).begin()
    walk.on("rest", **RESTED)
    walk.do(acts.Skip("no time", PLAYED))
    assert walk.entry("temp").value is None


def test_a_sum_over_what_was_left_out_has_no_result() -> None:
    """A sum that lacks what it needs says what is not noted, in the trade's words."""
    data = procedure(
        """
readings:
  low_gap: {ask: Gap, unit: mm, possible: 0 .. 20, optional: {because: it may be}}
  high_gap: {ask: Gap, unit: mm, possible: 0 .. 20}
sums:
  apart: {use: difference, with: {a: low_gap, b: high_gap}}
steps:
  - step: measure
    record: [low_gap, high_gap]
    work_out: [apart]
    branches:
      - {when: apart has no result, because: None, go: finish}
      - {when: otherwise, because: One, go: finish}
  - step: finish
    end: done
"""
    )
    walk = Walk(linked(data)).begin()
    walk.do(acts.LeaveOut())
    walk.note("3")
    assert walk.last("worked")["no_result"] == "low gap is not noted"
    assert walk.last("worked")["sources"] == [walk.entry("low_gap").n, walk.entry("high_gap").n]


def test_a_branch_tells_why_where_and_on_what_it_rests() -> None:
    """The event of a way names line, target, reason with its values, and the readings it rests on."""
    walk = gap()
    walk.note("7")
    took = walk.last("took")
    assert (took["line"], took["go"], took["because"], took["at_most"], took["then"]) == (
        1,
        "set-again",
        "The gap is 7 mm",
        None,
        False,
    )
    assert took["reads"] == [walk.entry("gap").n]
    assert walk.state.here() is not None and walk.state.here().why == "The gap is 7 mm"  # type: ignore[union-attr]


@pytest.mark.parametrize("typed", ["0", "2.999", "3", "4.5", "6", "6.001", "20"])
def test_exactly_one_branch_is_taken(typed: str) -> None:
    """For any value one way is taken, the one whose condition holds."""
    walk = gap()
    walk.note(typed)
    assert [e["line"] for e in walk.of("took")] == [0 if 3 <= float(typed) <= 6 else 1]


def test_first_of_takes_the_first_that_fits() -> None:
    """`first_of` is read from the top: a value that two lines fit takes the upper."""
    walk = outer()
    walk.on("far/tie", **TIED)
    walk.do(acts.Done())
    walk.do(acts.ChooseWay("short"))
    walk.note("2")
    assert walk.last("took")["go"] == "tie-again", "below comes before the strainer side"


def test_a_branch_is_taken_so_often_and_then_leads_elsewhere() -> None:
    """After `at_most` the same branch leads to `then`, and says how often it was tried."""
    walk = gap()
    walk.on(gap="4", lie="some")
    tries = [(e["go"], e["count"], e["at_most"], e["then"]) for e in walk.of("took") if e["at_most"]]
    assert tries == [("measure", 1, 1, False), ("give-up", 1, 1, True)]
    assert walk.last("took")["because"] == "Some lift; tried 1 time"
    assert walk.route() == ["measure", "look", "measure", "look", "give-up"]


def test_a_step_is_entered_so_often_and_then_another_instead() -> None:
    """After `entered at_most` its `then` is entered instead, and the why says so."""
    walk = gap()
    walk.on(gap="9")
    assert walk.route() == ["measure", "set-again", "measure", "set-again", "measure", "give-up"]
    last = walk.last("entered")
    assert last["why"] == "set-again was entered 2 times; The gap is 9 mm"
    assert [e["pass"] for e in walk.of("entered") if e["step"] == "set-again"] == [1, 2]


def test_bounds_may_lead_from_one_to_the_next() -> None:
    """Where the step after a spent bound is spent too, its own `then` is followed."""
    data = procedure(
        """
readings:
  more: {ask: More, choices: {one: one, two: two}}
steps:
  - step: ask
    record: [more]
    branches:
      - {when: more is one, because: One, go: first}
      - {when: more is two, because: Two, go: second}
  - step: first
    entered: {at_most: 1, then: second}
    go: ask
  - step: second
    entered: {at_most: 1, then: finish}
    go: ask
  - step: finish
    end: stopped
"""
    )
    walk = Walk(linked(data)).begin()
    for word in ("one", "two", "one"):
        walk.note(word)
    assert walk.route() == ["ask", "first", "ask", "second", "ask", "finish"]
    assert walk.last("entered")["why"] == "second was entered 1 time; first was entered 1 time; One"


def test_a_finding_carries_its_evidence() -> None:
    """What a branch finds is noted once a visit, in words, with the readings that prove it."""
    walk = gap()
    walk.on("give-up", gap="4", lie="some")
    found = walk.of("found")
    assert [f["sentence"] for f in found] == ["Some lift at 4 mm.", "Some lift at 4 mm."]
    lies = [e["n"] for e in walk.of("read") if e["name"] == "lie"]
    gaps = [e["n"] for e in walk.of("read") if e["name"] == "gap"]
    assert [f["evidence"] for f in found] == [[gaps[0], lies[0]], [gaps[1], lies[1]]]
    assert found[0]["grade"] == "watch"


NOWHERE = procedure(
    """
readings:
  gap: {ask: Gap, unit: mm, possible: 0 .. 20}
findings:
  odd: {found: Odd, grade: ok, evidence: [gap]}
steps:
  - step: measure
    record: [gap]
    branches:
      - {when: gap < 3 mm, because: Small, find: odd, go: small}
      - {when: gap > 6 mm, because: Large, go: large}
  - step: small
    do: Note it.
    end: done
  - step: large
    do: Note it.
    end: referred
"""
)
"""Branches that leave a hole between 3 and 6 mm: the checker would find it, the walk must live with it."""


def test_where_no_branch_fits_the_senior_is_asked() -> None:
    """The walk never fails: with no branch that fits it stands, and a senior's branch leads on."""
    walk = Walk(linked(NOWHERE)).begin()
    walk.note("4")
    assert walk.at() == ("stuck", "measure")
    assert walk.refused(acts.Record("5")) == "no reading is asked for here; no branch fits; the senior decides"
    walk.do(acts.Overrule(0, "small enough", PLAYED))
    assert walk.at() == ("do", "small")
    assert [f["finding"] for f in walk.of("found")] == ["odd"]


# --- overruling ----------------------------------------------------------------------------------------------------


def test_another_branch_is_taken_with_a_reason_and_a_name() -> None:
    """Overruling before the last reading: who, why and which line stand in the record, and no bound is consumed."""
    walk = gap()
    walk.note("4")
    walk.do(acts.Overrule(1, "I hear it", PLAYED))
    event = walk.last("overruled")
    assert (event["line"], event["go"], event["because"], event["sign"]["who"]) == (
        1,
        "measure",
        "by hand: I hear it",
        "senior",
    )
    assert (event["undoes"], event["withdraws"]) == (None, [])
    assert walk.at() == ("do", "measure")
    assert walk.state.counts.get((1, "look:1"), 0) == 0


def test_the_branch_just_taken_can_be_overruled_while_nothing_was_done_since() -> None:
    """A reading led somewhere the technician knows to be wrong: the senior takes another line of that step."""
    walk = gap()
    walk.note("4")
    lie = walk.note("some")
    assert walk.at() == ("do", "measure")
    left = walk.state.here()
    assert left is not None
    walk.do(acts.Overrule(0, "the light deceives", PLAYED, visit=2))
    event = walk.last("overruled")
    assert event["undoes"] == next(e["n"] for e in walk.of("took") if e["visit"] == 2)
    assert event["withdraws"] == [walk.of("found")[0]["n"]]
    assert walk.state.found == []
    assert walk.state.entries[lie].value == "some" and walk.state.live(2, lie), "the reading stays as it was noted"
    assert walk.state.visits[left.number - 1].struck
    assert walk.route() == ["measure", "look", "measure", "finish"]
    assert walk.state.ended is not None and walk.state.ended["outcome"] == "done"


TWO_WAYS = procedure(
    """
readings:
  lie: {ask: How do the snares lie, choices: {all: All touch, some: Some lift}}
findings:
  flat: {found: They lie flat., grade: ok, evidence: [lie]}
  lifts: {found: Some lift., grade: watch, evidence: [lie]}
  slack: {found: The cord is slack., grade: watch, evidence: [lie]}
steps:
  - step: look
    record: [lie]
    branches:
      - {when: lie is all, because: All touch, find: flat, go: put-away}
      - {when: lie is some, because: Some lift, find: [lifts, slack], go: put-away}
  - step: put-away
    do: Put it away.
    end: done
""",
    id="two-ways",
)


@pytest.mark.parametrize("just_left", [True, False])
def test_a_log_cut_while_a_branch_is_taken_by_hand_never_keeps_half_of_it(just_left: bool) -> None:
    """Cut after any event of an overruling, either nothing of it stands, or all of it does once the log goes on: the
    findings of the branch taken by hand, and none of the branch that was left."""
    walk = Walk(linked(TWO_WAYS)).begin()
    if just_left:
        walk.note("all")
    n, before = len(walk.events), walk.state
    events = walk.do(acts.Overrule(1, "the light deceives", PLAYED, visit=1 if just_left else 0))
    assert [e["what"] for e in events] == ["overruled", "found", "found", "entered"]
    assert [f.finding for f in walk.state.found] == ["lifts", "slack"]
    assert replay(walk.events[:n]) == before
    for cut in range(n + 1, len(walk.events) + 1):
        decision = proceed(replay(walk.events[:cut]), "ann", walk.bench)
        assert list(decision.events) == walk.events[cut:] and decision.state == walk.state


def test_a_log_of_before_that_has_the_findings_first_is_read_as_it_was() -> None:
    """Where an older log noted what a branch finds before it was taken by hand, nothing is noted a second time."""
    walk = Walk(linked(TWO_WAYS)).begin()
    start = len(walk.events)
    walk.do(acts.Overrule(1, "the light deceives", PLAYED))
    overruled, *found = walk.events[start:-1]
    older = [{**event, "n": start + i} for i, event in enumerate((*found, overruled), 1)]
    state = replay([*walk.events[:start], *older])
    decision = proceed(state, "ann", walk.bench)
    assert [e["what"] for e in decision.events] == ["entered"]


def test_a_branch_is_not_overruled_once_something_was_done_after_it() -> None:
    """After the next thing done the way back is going back, and the refusal says so."""
    walk = gap()
    walk.note("4")
    walk.note("some")
    walk.do(acts.Done())
    sentence = walk.refused(acts.Overrule(0, "no", PLAYED, visit=2))
    assert sentence.startswith("only the branch taken last can be overruled")
    assert walk.refused(acts.Overrule(0, "no", PLAYED, visit=1)).startswith("only the branch taken last")


def test_overruling_needs_a_reason_a_branch_and_the_role() -> None:
    """No reason, no such line, no branches at all, or the wrong person: each is told."""
    walk = gap()
    assert (
        walk.refused(acts.Overrule(0, " ", PLAYED))
        == "say why another branch is taken; the reason stands in the record"
    )
    assert walk.refused(acts.Overrule(2, "so", PLAYED)) == "there are 2 branches; 3 is none of them"
    walk.note("9")
    assert walk.at() == ("do", "set-again")
    assert walk.refused(acts.Overrule(0, "so", PLAYED)) == "there are no branches here to choose from"
    walk = rest()
    assert walk.refused(acts.Overrule(0, "so", PLAYED)) == "there are no branches here to choose from"
    walk.on("=hold", **RESTED)
    sentence = walk.refused(acts.Overrule(0, "so", PLAYED))
    assert sentence == "a look by another person cannot be passed by taking another branch"
    customer = Walk(linked(GAP), kind="customer").begin()
    sentence = customer.refused(acts.Overrule(0, "so", acts.Sign("cy", "pin")))
    assert sentence == "this sign-off is a senior's; Cy Cedar is not one"
    assert customer.last("turned_away")["act"] == "Overrule"


def test_a_refused_hold_is_not_passed_by_overruling_its_branch() -> None:
    """Taking the branch of a release after a refusal would pass the hold; it is refused."""
    walk = outer()
    walk.on("=hold", **TIED)
    walk.do(acts.Refuse(PLAYED))
    took = [e for e in walk.of("took") if e["go"] == "tie-far"][-1]
    sentence = walk.refused(acts.Overrule(0, "it is good", PLAYED, visit=took["visit"]))
    assert sentence == "a look by another person cannot be passed by taking another branch"


# --- waiting -------------------------------------------------------------------------------------------------------


def waiting(kind: str = "practice") -> Walk:
    """REST at its wait, half an hour from now."""
    walk = rest(kind=kind)
    walk.on("=wait", **RESTED)
    return walk


def test_a_wait_runs_from_the_end_of_its_step() -> None:
    """The time counts from when the named step was left, and says until when and the latest time."""
    walk = waiting()
    assert walk.last("waiting")["until"] == (MORNING + timedelta(minutes=30)).isoformat()
    assert walk.last("waiting")["latest"] == (MORNING + timedelta(hours=2)).isoformat()
    walk.wait(minutes=29)
    assert walk.refused(acts.Waited()) == "the time is not up: 1 min left (until 09:30)"
    walk.wait(minutes=1)
    walk.do(acts.Waited())
    assert walk.last("waited")["early"] == ""
    assert walk.refused(acts.Waited()) == "no time runs here"


def test_a_wait_without_a_step_runs_from_now() -> None:
    """Without `from` the time counts from when the walk comes to it."""
    data = procedure("steps:\n  - step: rest\n    wait: {for: 10 min}\n  - step: finish\n    end: done\n")
    walk = Walk(linked(data)).open()
    walk.wait(hours=1)
    walk.do(acts.Ready())
    assert walk.last("waiting")["until"] == (MORNING + timedelta(hours=1, minutes=10)).isoformat()
    assert walk.last("waiting")["latest"] is None


def test_a_wait_that_is_late_leads_elsewhere() -> None:
    """Past the latest time the walk goes where `late` says, and the step counts as broken off."""
    walk = waiting()
    walk.wait(hours=2, minutes=1)
    walk.do(acts.Waited())
    assert walk.last("late")["go"] == "settle-late"
    assert walk.at() == ("do", "settle-late")
    assert walk.states()["rest"] == "broken off"
    walk = waiting()
    walk.wait(hours=2)
    walk.do(acts.Waited())
    assert walk.of("late") == [], "the latest time itself is not late"


def test_a_wait_is_cut_short_only_in_practice() -> None:
    """Early is for practice, with its reason; a customer's drum rests its time."""
    walk = waiting()
    walk.do(acts.Waited(early="practice"))
    assert walk.last("waited")["early"] == "practice"
    sentence = waiting("customer").refused(acts.Waited(early="in a hurry"))
    assert sentence == "the time cannot be cut short; skip the step if it may be skipped"


def test_a_clock_set_back_makes_a_wait_longer_and_never_shorter() -> None:
    """The time stated stands; a clock set back an hour means an hour more by that clock."""
    walk = waiting()
    walk.wait(minutes=20)
    walk.wait(hours=-1)
    assert walk.refused(acts.Waited()) == "the time is not up: 70 min left (until 09:30)"
    walk.wait(minutes=70)
    walk.do(acts.Waited())


# --- skipping ------------------------------------------------------------------------------------------------------


def test_a_step_is_skipped_where_it_may_be_and_its_readings_are_missing() -> None:
    """A skip names reason and role; what the step would have recorded is left out, and branches see it missing."""
    walk = waiting()
    walk.do(acts.Skip("the band plays tonight", PLAYED))
    skipped = walk.last("skipped")
    assert (skipped["because"], skipped["reason"], skipped["sign"]["role"]) == (
        "the owner waits",
        "the band plays tonight",
        "senior",
    )
    assert walk.last("left_out")["why"] == "skipped: the band plays tonight"
    assert [t.because for t in walk.state.took if t.visit == skipped["visit"]] == ["It did not rest"]
    assert walk.states()["rest"] == "skipped"


def test_who_has_the_role_skips_without_another() -> None:
    """A senior who has the work in hand skips on their own word."""
    walk = rest(who="bo", kind="customer")
    walk.on("=wait", **RESTED)
    walk.do(acts.Skip("it is warm"))
    assert walk.last("skipped")["sign"] is None


def test_a_skip_is_refused_where_it_may_not_be() -> None:
    """No leave to skip, no reason, not the role, no step at all, a second time: each is told."""
    walk = gap()
    assert walk.refused(acts.Skip("no")) == (
        "this step cannot be skipped; if it cannot be done, report a problem with this step"
    )
    walk = waiting("customer")
    assert walk.refused(acts.Skip(" ")) == "say why the step is skipped"
    assert walk.refused(acts.Skip("no")) == "only a senior may skip this step: the owner waits"
    assert walk.refused(acts.Skip("no", acts.Sign("cy", "pin"))) == "this sign-off is a senior's; Cy Cedar is not one"
    assert Walk(linked(REST)).open().refused(acts.Skip("no")) == "there is no step here to skip"


SKIPS = procedure(
    """
drum: [rods]
readings:
  note: {ask: Note, kind: note, per: rod, possible: 40 .. 1200}
  gap: {ask: Gap, unit: mm, possible: 0 .. 20}
steps:
  - step: sound
    may_skip: {because: there is no time, by: senior}
    record: [note, gap]
  - step: look
    may_skip: {because: nobody is here, by: senior}
    do: Let it be looked at.
    hold: {by: senior, signs: checked, because: Two looks}
  - step: judge
    may_skip: {because: it is plain, by: senior}
    record: [gap]
    branches:
      - {when: gap < 5 mm, because: Small, go: finish}
      - {when: gap >= 5 mm, because: Large, go: finish}
  - step: finish
    may_skip: {because: it is done, by: senior}
    do: Sweep.
    end: done
"""
)


def test_a_step_skipped_half_way_leaves_out_the_rest_place_by_place() -> None:
    """What was noted stays; every rod and reading that was not is left out by its own entry."""
    walk = Walk(linked(SKIPS)).begin({"rods": "3"})
    walk.note("220")
    walk.do(acts.Skip("no time", PLAYED))
    assert [(e["name"], e["place"]) for e in walk.of("left_out")] == [("note", "2"), ("note", "3"), ("gap", None)]
    assert walk.at() == ("do", "look")


def test_a_hold_is_not_skipped() -> None:
    """A step that waits for another person's look cannot be left out, even where it may be skipped."""
    walk = Walk(linked(SKIPS)).begin({"rods": "3"})
    walk.do(acts.Skip("no time", PLAYED))
    assert walk.refused(acts.Skip("nobody here", PLAYED)) == "a look by another person cannot be skipped"
    walk.do(acts.Done())
    assert walk.refused(acts.Skip("nobody here", PLAYED)) == "a look by another person cannot be skipped"


def test_a_skip_that_no_branch_meets_asks_the_senior() -> None:
    """Where the branches do not say what a missing reading leads to, the walk stands and asks."""
    walk = Walk(linked(SKIPS)).begin({"rods": "3"})
    walk.do(acts.Skip("no time", PLAYED))
    walk.do(acts.Done())
    walk.do(acts.Release(PLAYED))
    walk.do(acts.Skip("it is plain", PLAYED))
    assert walk.at() == ("stuck", "judge")
    assert walk.refused(acts.Skip("again", PLAYED)) == "this step is skipped already"
    walk.do(acts.Overrule(0, "small", PLAYED))
    walk.do(acts.Skip("swept already", PLAYED))
    assert walk.state.ended is not None and walk.state.ended["outcome"] == "done"


# --- holds and witnesses -------------------------------------------------------------------------------------------


def test_a_hold_stops_until_another_person_releases_it() -> None:
    """At a hold nothing but the look goes on; the release names whose, when, what it means and what it covers."""
    walk = outer()
    walk.on("=hold", **TIED)
    assert walk.states()["senior-look"] == "held"
    assert walk.refused(acts.Done()) == "nothing waits to be confirmed here; somebody else must look"
    walk.do(acts.Release(PLAYED, "neat work"))
    event = walk.last("released")
    assert (event["meaning"], event["step"], event["job"], event["again"]) == ("checked", "senior-look", "J-1", None)
    assert event["covers"] == [walk.entry("gap", "far").n, walk.entry("clear").n]
    assert event["sign"] | {"at": ""} == {
        "who": "senior",
        "name": "senior",
        "at": "",
        "how": "practice",
        "role": "senior",
    }
    assert walk.last("noted")["text"] == "neat work"
    assert walk.refused(acts.Release(PLAYED)) == "nothing waits for a sign-off here"
    assert walk.refused(acts.Refuse(PLAYED)) == "nothing waits for a sign-off here"


def test_a_refusal_is_for_a_named_reason_where_reasons_are_named() -> None:
    """Refused for one of the procedure's reasons, it leads where that reason leads."""
    walk = rest()
    walk.on("=hold", **RESTED)
    assert walk.refused(acts.Refuse(PLAYED)) == "say what it is refused for: temp (too cold), lever (lever on)"
    assert walk.refused(acts.Refuse(PLAYED, "sound")).startswith("say what it is refused for")
    walk.do(acts.Refuse(PLAYED, "temp", "the bench is by the door"))
    refused = walk.last("refused")
    assert (refused["refused_for"], refused["meaning"], refused["note"]) == (
        "temp",
        "refused for too cold",
        "the bench is by the door",
    )
    assert walk.route()[-1] == "rest"
    walk = outer()
    walk.on("=hold", **TIED)
    sentence = walk.refused(acts.Refuse(PLAYED, "gap"))
    assert sentence == "this look is refused without a named reason; write it as a note"
    walk.do(acts.Refuse(PLAYED))
    assert walk.route()[-2:] == ["tie-far", "far/tie"]


def test_a_refused_look_that_no_branch_asks_about_still_holds() -> None:
    """Where a refusal leads nowhere of its own, the walk stays at the hold until it is released."""
    walk = Walk(linked(SKIPS)).begin({"rods": "3"})
    walk.do(acts.Skip("no time", PLAYED))
    walk.do(acts.Done())
    walk.do(acts.Refuse(PLAYED))
    assert walk.at() == ("hold", "look")
    walk.do(acts.Release(PLAYED))
    assert walk.at() == ("reading", "judge")


def test_a_hold_for_an_apprentices_work_is_not_needed_for_others() -> None:
    """Work by others passes as not needed, noted; as soon as an apprentice had a hand in it the hold stands."""
    walk = rest(who="cy")
    walk.on(**RESTED)
    assert walk.last("not_needed")["because"] == "only for work by: apprentice"
    assert walk.of("released") == []
    assert walk.state.ended is not None and walk.state.ended["outcome"] == "done"
    mixed = rest(who="ann")
    mixed.on("rest", **RESTED)
    mixed.do(acts.HandOver("cy", "it rests"))
    mixed.do(acts.TakeOn(), "cy")
    mixed.on("=hold", **RESTED)
    assert mixed.at() == ("hold", "senior-look"), "an apprentice set the lever, whoever noted the temperature"


def test_a_witness_is_told_and_work_goes_on() -> None:
    """A witness step records that somebody is told; it waits for nobody."""
    walk = rest()
    walk.on("=hold", **RESTED)
    told = walk.last("told")
    assert (told["role"], told["because"]) == ("senior", "Worth seeing")
    assert walk.at()[0] == "hold"


# --- runs and events -----------------------------------------------------------------------------------------------


def test_a_run_is_given_values_and_gives_values_back() -> None:
    """A run gets its choice and the sum's range with the events they rest on; the caller sees outcome and gifts."""
    walk = outer()
    walk.on("far/tie", **{**TIED, "way": "long"})
    ran = walk.of("ran")[1]
    assert (ran["path"], ran["procedure"], ran["back"], ran["event"]) == ("butt", "tie-side", False, "")
    worked = walk.last("worked")["n"]
    assert ran["given"] == {
        "side": {"choice": "butt", "sources": []},
        "target": {"range": {"low": "2.5", "high": "5.5"}, "resolution": "0.1", "sources": [worked]},
    }
    assert walk.last("returned")["outcome"] == "done"
    assert walk.state.visits[5].why == "Tied Long"


UNITS = procedure(
    """
takes: {spacer: {unit: mm}, room: {range: mm}}
readings:
  gap: {ask: Gap, unit: mm, possible: 0 .. 50, wanted: from room}
steps:
  - step: set
    do: "Use {{ spacer }}."
    record: [gap]
    branches:
      - {when: spacer > 20 mm, because: Wide, go: finish}
      - {when: otherwise, because: "Narrow: {{ spacer }}", go: finish}
  - step: finish
    end: done
""",
    id="set-spacer",
)


def test_a_number_handed_in_is_turned_into_the_unit_asked_for() -> None:
    """A caller's inches or centimetres arrive as millimetres, and are shown as they were written."""
    data = procedure(
        """
limits:
  wide: {is: 2.5 cm, sure: C, whose: the shop, because: so it is}
  least: {is: 1 mm, sure: C, whose: the shop, because: it must clear}
readings:
  block: {ask: The block, unit: cm, possible: 0 .. 10}
  clear: {ask: Clear length, unit: mm, possible: 300 .. 400}
  long: {ask: Length of the set, unit: mm, possible: 300 .. 400}
sums:
  room: {use: snare-room, with: {clear: clear, set: long, least: least}}
steps:
  - step: measure
    record: [block, clear, long]
    work_out: [room]
  - step: by-limit
    run: {procedure: set-spacer, as: one, with: {spacer: wide, room: room.gap}}
  - step: by-reading
    run: {procedure: set-spacer, as: two, with: {spacer: block, room: room.gap}}
  - step: by-hand
    run: {procedure: set-spacer, as: three, with: {spacer: 1/2 in, room: room.gap}}
  - step: finish
    end: done
"""
    )
    walk = Walk(linked(data, UNITS)).begin()
    walk.on(block="1.2", clear="340", long="332", gap="4")
    spacers = [e["given"]["spacer"] for e in walk.of("ran")[1:]]
    assert [(s["typed"], s["value"], s["unit"]) for s in spacers] == [
        ("2.5 cm", "25", "mm"),
        ("12", "12", "mm"),
        ("1/2 in", "12.7", "mm"),
    ]
    assert [t.because for t in walk.state.took if t.line is not None] == ["Wide", "Narrow: 12 mm", "Narrow: 1/2 in"]


def test_runs_are_kept_apart_also_when_they_are_repeated() -> None:
    """Two runs of one procedure, and the second of them again, keep their readings to themselves; the last counts."""
    walk = outer()
    walk.on("=hold", **{**TIED, "far_gap": "5.2", "butt_gap": "3"})
    runs = {e["path"]: e["run"] for e in walk.of("ran")}
    assert runs == {"": 1, "butt": 2, "far": 4}
    gaps = [(e["run"], e["typed"]) for e in walk.of("read") if e["name"] == "gap"]
    assert gaps == [(2, "3"), (3, "5.2"), (4, "5.2")]
    assert walk.route().count("tie-far") == 2, "5.2 mm is more than 5, once"


def test_runs_may_run_others() -> None:
    """A run inside a run is walked under both names, and each comes back to its own caller."""
    middle = procedure(
        """
steps:
  - step: fetch
    run: {procedure: snip-strand, as: first}
  - step: carry
    end: referred
""",
        id="fetch-and-snip",
    )
    top = procedure(
        """
steps:
  - step: begin
    run: {procedure: fetch-and-snip, as: outer}
    branches:
      - {when: outer.outcome is referred, because: Handed on, go: finish}
  - step: finish
    end: done
"""
    )
    walk = Walk(linked(top, middle, SNIP)).begin()
    walk.on(strand="3")
    assert walk.route() == ["begin", "outer/fetch", "outer/first/snip", "outer/first/snipped", "outer/carry", "finish"]
    assert [(e["path"], e["outcome"]) for e in walk.of("returned")] == [("outer/first", "done"), ("outer", "referred")]


def test_an_event_leads_where_it_says_and_leaves_a_run_as_stopped() -> None:
    """What the caller foresees breaks a run off: it comes back as stopped, and the walk goes where the event says."""
    walk = outer()
    walk.on("butt/pull", **TIED)
    walk.do(acts.Happens("cord-breaks"))
    happened = walk.last("happened")
    assert (happened["say"], happened["owner_path"], happened["go"], happened["count"], happened["then"]) == (
        "The cord breaks",
        "",
        "measure",
        1,
        False,
    )
    assert (walk.last("returned")["path"], walk.last("returned")["outcome"]) == ("butt", "stopped")
    assert walk.at() == ("reading", "measure")
    states = walk.states()
    assert (states["butt/pull"], states["tie-butt"], states["butt/tie"]) == ("broken off", "broken off", "done")
    walk.on("butt/tie", **TIED)
    walk.do(acts.Happens("cord-breaks"))
    assert walk.last("happened")["then"] is True, "the bound of one is spent"
    assert walk.state.ended is not None and walk.state.ended["outcome"] == "stopped"


def test_an_event_that_is_not_foreseen_here_is_refused() -> None:
    """Outside its range an event cannot happen; nor can one nobody foresees, nor any where no step is in hand."""
    walk = outer()
    sentence = walk.refused(acts.Happens("cord-breaks"))
    assert sentence == "'cord-breaks' is not foreseen at this step; write a note, or report a problem with this step"
    assert walk.refused(acts.Happens("flood")).startswith("'flood' is not foreseen")
    fresh = Walk(linked(OUTER, INNER, SNIP)).open()
    assert fresh.refused(acts.Happens("cord-breaks")) == "no step is in hand"


def test_an_event_that_runs_a_procedure_comes_back_to_the_interrupted_step() -> None:
    """A run for an event, also inside another run, belongs to the procedure that foresees it; the step goes on after,
    with its hazards read again."""
    walk = outer()
    walk.on(lambda here: here.name == "grip", **TIED)
    walk.do(acts.Happens("strand-bends"))
    assert walk.at() == ("hazard", "snip/snip")
    assert (walk.last("ran")["path"], walk.last("ran")["back"], walk.last("ran")["event"]) == (
        "snip",
        True,
        "strand-bends",
    )
    assert walk.states()["butt/pull"] == "under way"
    assert walk.refused(acts.Happens("strand-bends")).startswith("'strand-bends' is not foreseen")
    walk.on(lambda here: here.name == "grip", **TIED)
    assert walk.route()[-3:] == ["butt/pull", "snip/snip", "snip/snipped"]
    assert walk.state.result(1, "snip") is not None, "the outcome is the caller's to see"
    walk.do(acts.Happens("strand-bends"))
    assert walk.at() == ("hazard", "snip/snip"), "it may happen again afterwards"


def test_after_an_interruption_the_hazards_of_the_step_are_read_again() -> None:
    """Whoever comes back from a run for an event reads the hazards of the interrupted step anew, and goes on there."""
    data = procedure(
        """
whenever:
  - event: strand-bends
    say: A strand bends
    during: [cut]
    run: {procedure: snip-strand, as: snip}
    then_back: true
steps:
  - step: cut
    caution: {hazard: The knife slips, consequence: A cut hand, avoid: Cut away from you}
    do: Cut it.
    each: [butt, strainer]
  - step: finish
    end: done
"""
    )
    walk = Walk(linked(data, SNIP)).begin()
    walk.do(acts.Acknowledge())
    walk.do(acts.Done())
    walk.do(acts.Done())
    walk.do(acts.Happens("strand-bends"))
    walk.on("cut", strand="3")
    assert walk.at() == ("hazard", "cut")
    walk.do(acts.Acknowledge())
    assert (walk.now().kind, walk.now().place) == ("each", "strainer"), "what was confirmed stays confirmed"


def test_the_innermost_event_is_meant_unless_its_place_is_said() -> None:
    """Where a run and its caller foresee the same event, the run's own counts, unless the caller's is named."""
    inner = procedure(
        """
whenever:
  - {event: drop, say: It drops, during: everywhere, go: look}
steps:
  - step: hold-it
    do: Hold it.
  - step: look
    end: stopped
""",
        id="hold-it",
    )
    top = procedure(
        """
whenever:
  - {event: drop, say: It drops, during: everywhere, go: aside}
steps:
  - step: begin
    run: {procedure: hold-it, as: held}
  - step: aside
    end: stopped
"""
    )
    walk = Walk(linked(top, inner)).begin()
    walk.do(acts.Happens("drop"))
    assert walk.route() == ["begin", "held/hold-it", "held/look", "aside"]
    walk = Walk(linked(top, inner)).begin()
    walk.do(acts.Happens("drop", ""))
    assert walk.route() == ["begin", "held/hold-it", "aside"]
    walk = Walk(linked(top, inner)).begin()
    assert walk.refused(acts.Happens("drop", "elsewhere")).startswith("'drop' is not foreseen at this step")


# --- correcting and going back -------------------------------------------------------------------------------------


def test_a_reading_is_corrected_with_a_reason() -> None:
    """A correction names the event it corrects, what was typed, why, and what rests on the old value."""
    walk = outer()
    walk.on("butt/pull", **TIED)
    clear = walk.entry("clear").n
    events = walk.do(acts.Correct(clear, "342", "the rule slipped"))
    assert [e["what"] for e in events] == ["corrected", "worked", "stands", "given_again", "rejudged", "stands"]
    corrected = events[0]
    assert (corrected["of"], corrected["typed"], corrected["reason"]) == (clear, "342", "the rule slipped")
    assert len(corrected["touches"]) == len(events) - 1
    assert walk.at() == ("reading", "butt/pull"), "the walk stands where it stood"


def test_what_cannot_be_corrected_says_why() -> None:
    """No reading, no reason, a way chosen, rubbish, a slip, what was gone back over: each has its sentence."""
    walk = outer()
    walk.on("butt/pull", **TIED)
    clear, way = walk.entry("clear").n, walk.entry("way", "butt").n
    assert walk.refused(acts.Correct(1, "4", "x")) == "event 1 is no reading that could be corrected"
    assert (
        walk.refused(acts.Correct(clear, "342", " "))
        == "say why the value is corrected; the reason stands in the record"
    )
    assert (
        walk.refused(acts.Correct(way, "long", "x")) == "a way that was chosen is not corrected; go back to that step"
    )
    walk.refused(acts.Correct(clear, "much", "x"))
    assert "outside what is possible" in walk.asked(acts.Correct(clear, "3420", "x"))
    walk.do(acts.GoBack(1, "again"))
    sentence = walk.refused(acts.Correct(clear, "342", "x"))
    assert sentence == "the walk went back over this reading; note it again where it is asked"


def test_going_back_leads_to_an_earlier_stop() -> None:
    """The stop gone back to is entered anew by hand; it and all after it no longer count."""
    walk = gap()
    walk.note("4")
    walk.do(acts.GoBack(1, "measure again"))
    event = walk.last("went_back")
    assert (event["visit"], event["step"], event["struck"], event["reason"]) == (1, "measure", [1, 2], "measure again")
    entered = walk.last("entered")
    assert (entered["visit"], entered["by_hand"], entered["why"]) == (3, True, "measure again")
    assert walk.states() | {"set-again": "", "give-up": ""} == {
        "measure": "current",
        "look": "gone back over",
        "finish": "not started",
        "set-again": "",
        "give-up": "",
    }


def test_going_back_needs_a_stop_that_counts_and_a_reason() -> None:
    """No such stop, one gone back over already, or no reason: each is told."""
    walk = gap()
    walk.note("4")
    for number in (0, -1, 3):
        assert walk.refused(acts.GoBack(number, "x")) == f"there is no stop {number}; the walk has come to stop 2"
    assert walk.refused(acts.GoBack(1, "")) == "say why the walk goes back; the reason stands in the record"
    walk.do(acts.GoBack(2, "x"))
    assert (
        walk.refused(acts.GoBack(2, "x")) == "the walk went back over that stop already; choose one that still counts"
    )
    assert Walk(linked(GAP)).open().refused(acts.GoBack(1, "x")) == "there is no stop 1; the walk has come to stop 0"


# --- putting down, handing over, problems, notes -------------------------------------------------------------------


def test_between_stages_work_is_put_down_plainly_and_inside_one_with_a_note() -> None:
    """At the untouched first step of a stage no note is needed; in mid-stage one is."""
    walk = gap()
    walk.do(acts.Pause())
    assert walk.last("paused")["between_stages"] is True
    walk = gap()
    walk.do(acts.Done())
    sentence = walk.refused(acts.Pause())
    assert sentence == "this is inside a stage: say in a note how the drum stands, so that it can be taken up again"
    walk.do(acts.Pause("rule in place"))
    assert walk.last("paused") | {"n": 0, "at": ""} == {
        "v": 1,
        "n": 0,
        "at": "",
        "who": "ann",
        "what": "paused",
        "note": "rule in place",
        "between_stages": False,
    }
    assert walk.refused(acts.Pause("again")) == "the work is put down already"


@pytest.mark.parametrize("act", EVERY_ACT, ids=lambda act: type(act).__name__)
def test_while_work_is_put_down_only_taking_it_up_goes_on(act: acts.Act) -> None:
    """Paused: notes, hand-over and resuming; every other act is refused with one sentence."""
    walk = gap()
    walk.do(acts.Pause())
    if isinstance(act, acts.Note | acts.Resume | acts.HandOver):
        walk.do(act)
    elif isinstance(act, acts.Pause):
        assert walk.refused(act) == "the work is put down already"
    elif isinstance(act, acts.TakeOn):
        assert walk.refused(act) == "nothing was handed over"
    else:
        assert walk.refused(act) == "the work is put down; take it up again first"


def test_taking_up_again_looks_at_the_place_and_shows_hazards_again() -> None:
    """Resuming asks whether the drum is as the log says, and the step's hazards are read anew."""
    walk = rest()
    walk.do(acts.Acknowledge())
    walk.do(acts.Pause("lever half off"))
    walk.do(acts.Resume())
    assert walk.last("resumed")["place"] == 1
    assert walk.at() == ("recheck", "settle")
    for act in (acts.Done(), acts.Record("3"), acts.Skip("x"), acts.Release(PLAYED)):
        assert walk.refused(act) == "first look whether the drum is as the log says"
    walk.do(acts.CheckPlace("as it was"))
    assert walk.last("place_checked")["said"] == "as it was"
    assert walk.at() == ("hazard", "settle")
    assert walk.refused(acts.CheckPlace()) == "nothing needs to be looked at again here"


def test_nothing_is_checked_again_where_no_step_was_begun_or_the_walk_has_ended() -> None:
    """Put down before the first step or after the last, work goes on without a look at any place."""
    walk = Walk(linked(GAP)).open()
    walk.do(acts.Pause())
    walk.do(acts.Resume())
    walk.do(acts.Ready())
    assert walk.at() == ("do", "measure")
    walk.on(gap="4", lie="all")
    walk.do(acts.Pause())
    walk.do(acts.Resume())
    assert walk.at() == ("ended", "")
    assert walk.refused(acts.Resume()) == "the work is in hand already"


def test_work_that_was_broken_off_is_taken_up_by_its_owner() -> None:
    """After a crash nothing says `paused`; whoever has the work takes it up all the same, and looks first."""
    walk = rest()
    walk.do(acts.Acknowledge())
    walk.do(acts.Resume())
    assert walk.at() == ("recheck", "settle")
    assert walk.refused(acts.Resume(), "cy") == "the work is in hand already"


def test_work_put_down_may_be_taken_up_by_another() -> None:
    """Anybody takes up what was put down; from then on it is theirs, and the place is looked at."""
    walk = gap()
    walk.do(acts.Done())
    walk.do(acts.Pause("rule in place"))
    walk.do(acts.Resume(), "cy")
    assert walk.state.person == "cy"
    assert walk.state.people == ["ann", "cy"]
    assert walk.at() == ("recheck", "measure")
    assert walk.refused(acts.CheckPlace(), "ann") == "Cy Cedar has this work in hand; it must be handed over first"
    walk.do(acts.CheckPlace())
    walk.note("4")
    assert walk.entry("gap").who == "cy"
    assert walk.state.visits[0].hands == ("ann", "cy")


def test_work_left_lying_is_put_down_by_whoever_finds_it() -> None:
    """Where its owner is gone without a word, another puts the work down with a note, and can then take it up."""
    walk = gap()
    walk.do(acts.Done())
    assert walk.refused(acts.Resume(), "cy") == "the work is in hand already"
    assert walk.refused(acts.Pause(), "cy") == "this is another person's work: say in a note how you found it"
    walk.do(acts.Pause("found on the bench, rule in place"), "cy")
    assert walk.last("paused")["who"] == "cy"
    walk.do(acts.Resume(), "cy")
    assert walk.state.person == "cy"


def test_only_who_has_the_work_in_hand_acts() -> None:
    """Another person's act is refused by name; a note is not."""
    walk = gap()
    assert walk.refused(acts.Done(), "cy") == "Ann Alder has this work in hand; it must be handed over first"
    walk.do(acts.Note("the cat was here"), "cy")
    assert walk.last("noted")["who"] == "cy"


def test_a_hand_over_is_written_and_accepted() -> None:
    """Handing over tells what is open; nothing goes on until the other takes it on, and then it is theirs."""
    walk = rest()
    walk.do(acts.Acknowledge())
    walk.do(acts.HandOver("cy", "lever half off"))
    event = walk.last("handed_over")
    assert (event["to"], event["note"]) == ("cy", "lever half off")
    assert event["open"] == {"step": "settle", "waits_for": "do", "stale": []}
    assert walk.now().kind == "handover"
    for who in ("ann", "cy", "bo"):
        sentence = walk.refused(acts.Done(), who)
        assert sentence == "the work was handed to Cy Cedar, who has not taken it on yet"
    assert walk.refused(acts.TakeOn(), "bo") == "the work was handed to Cy Cedar"
    walk.do(acts.Note("before it is taken on"), "bo")
    walk.do(acts.TakeOn("seen"), "cy")
    assert walk.state.person == "cy"
    assert walk.at() == ("recheck", "settle")
    walk.do(acts.CheckPlace())
    assert walk.at() == ("hazard", "settle"), "the hazards are read by whoever comes new"
    assert walk.refused(acts.TakeOn(), "cy") == "nothing was handed over"


def test_a_hand_over_needs_somebody_else_and_a_note() -> None:
    """Nobody unknown, not oneself, not without a word."""
    walk = gap()
    assert walk.refused(acts.HandOver("zed", "x")) == "nobody called 'zed' works in this shop"
    assert walk.refused(acts.HandOver("ann", "x")) == "the work cannot be handed to the one who has it"
    sentence = walk.refused(acts.HandOver("cy", " "))
    assert sentence == "say in the hand-over how the drum stands and what to look out for"


def test_what_nobody_took_on_can_be_taken_back() -> None:
    """A hand-over that the other never accepts does not lock the job: the giver takes it back."""
    walk = gap()
    walk.do(acts.HandOver("cy", "over to you"))
    walk.do(acts.TakeOn("cy is ill"), "ann")
    assert (walk.state.person, walk.state.handed_to) == ("ann", None)


def test_paused_work_can_be_handed_over_and_is_then_in_hand() -> None:
    """Taking on what was put down takes it up: one act, not two."""
    walk = gap()
    walk.do(acts.Pause())
    walk.do(acts.HandOver("cy", "not begun"))
    walk.do(acts.TakeOn(), "cy")
    assert walk.at() == ("recheck", "measure")


def test_a_problem_stops_the_work_until_it_is_settled() -> None:
    """A step that cannot be followed as written stops the job; anybody settles it, in words."""
    walk = gap()
    assert walk.refused(acts.Problem(" ")) == "say what is wrong with this step"
    walk.do(acts.Problem("the rule does not fit"))
    event = walk.last("problem")
    assert (event["step"], event["path"], event["visit"]) == ("measure", "", 1)
    assert walk.states()["measure"] == "held"
    stopped = (acts.Done(), acts.Record("4"), acts.Problem("x"), acts.Resume(), acts.Correct(1, "4", "x"))
    for act in (*stopped, acts.GoBack(1, "x")):
        assert walk.refused(act) == "a problem was reported at this step; it must be settled before work goes on"
    assert walk.refused(acts.SettleProblem(" ")) == "say how the problem was settled"
    walk.do(acts.SettleProblem("take the short rule"), "bo")
    assert walk.state.problems[0]["settled"] == "take the short rule"
    assert walk.at() == ("do", "measure")
    assert walk.refused(acts.SettleProblem("x")) == "no problem is open"
    assert Walk(linked(GAP)).open().refused(acts.Problem("x")) == "the walk has not begun"


def test_a_note_is_taken_at_any_moment() -> None:
    """From opening to release and after it, a note is kept with the stop it belongs to; an empty one is refused."""
    walk = Walk(linked(GAP)).open()
    walk.do(acts.Note("before"))
    assert walk.refused(acts.Note("  ")) == "the note is empty"
    walk.do(acts.Ready())
    walk.do(acts.Note("at the first stop"))
    walk.on(gap="4", lie="all")
    walk.do(acts.ReleaseJob(PLAYED))
    walk.do(acts.Note("after"))
    assert [(n[1], n[4]) for n in walk.state.notes] == [(0, "before"), (1, "at the first stop"), (3, "after")]


def test_a_late_entry_carries_both_times() -> None:
    """What was measured earlier is noted as such: when it was taken and when it was typed; never from the future."""
    walk = gap()
    walk.wait(hours=1)
    assert (
        walk.refused(acts.Record("4", late_at="2026-03-02T11:00:00+00:00")) == "a late entry cannot be from the future"
    )
    for wrong in ("yesterday", "2026-03-02T09:00:00", "2026-03-02"):
        sentence = walk.refused(acts.Record("4", late_at=wrong))
        assert sentence == f"'{wrong}' is not a time with offset, such as 2026-11-25T09:30:00+00:00"
    walk.note("4", late_at="2026-03-02T09:10:00+00:00")
    read = walk.last("read")
    assert (read["late_at"], read["at"]) == ("2026-03-02T09:10:00+00:00", "2026-03-02T10:00:00+00:00")


# --- the end -------------------------------------------------------------------------------------------------------


def test_at_the_end_tools_are_counted_and_the_job_is_released_apart() -> None:
    """The walk's end, the count of tools and the release are three things, each with its own event."""
    walk = rest()
    walk.on(**RESTED)
    assert walk.at() == ("account", "")
    assert walk.refused(acts.ReleaseJob(PLAYED)) == "first count the tools and loose parts"
    walk.do(acts.Account())
    assert walk.last("accounted")["items"] == ["small rule"]
    assert walk.refused(acts.Account()) == "nothing waits to be counted"
    assert walk.at() == ("ended", "")
    walk.do(acts.ReleaseJob(PLAYED, head="abc"))
    event = walk.last("job_released")
    assert (event["meaning"], event["head"], event["covers"]) == (
        "checked and released",
        "abc",
        [walk.last("released")["n"]],
    )
    assert walk.at() == ("released", "")


def test_without_tools_nothing_is_counted() -> None:
    """A procedure that needs no tools ends without a count."""
    walk = gap()
    assert walk.refused(acts.Account()) == "nothing waits to be counted"
    walk.on(gap="4", lie="all")
    assert walk.at() == ("ended", "")


def test_an_unfinished_job_is_not_released() -> None:
    """Before its end a job has nothing to release."""
    walk = gap()
    sentence = walk.refused(acts.ReleaseJob(PLAYED))
    assert sentence == "the walk has not come to its end; there is nothing to release yet"


def test_a_walk_may_end_stopped_with_a_word_and_a_proposal() -> None:
    """The end says how, in words, and what is proposed next."""
    walk = gap()
    walk.on(gap="9")
    ended = walk.last("ended")
    assert (ended["outcome"], ended["say"], ended["proposes"]) == (
        "stopped",
        "It cannot be set today.",
        ["service-strainer"],
    )


@pytest.mark.parametrize("act", EVERY_ACT, ids=lambda act: type(act).__name__)
def test_a_released_job_takes_notes_and_nothing_else(act: acts.Act) -> None:
    """After the release every act but a note is refused."""
    walk = gap()
    walk.on(gap="4", lie="all")
    walk.do(acts.ReleaseJob(PLAYED))
    if isinstance(act, acts.Note):
        walk.do(act)
    else:
        assert walk.refused(act) == "the job is released; only notes can be added"


# --- going on from a cut log ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("which", ["gap", "outer", "rods", "rest"])
def test_a_log_cut_anywhere_goes_on_to_the_same_question(which: str) -> None:
    """Cut after any event, what happens by itself happens on reopening, and the same is asked as ever after it."""
    walk = {"gap": gap, "outer": outer, "rods": rods, "rest": rest}[which]()
    walk.on(**ANSWERS[which])
    asked = {n: now(replay(walk.events[:n]), walk.bench) for n in range(1, len(walk.events) + 1)}
    for n, here in asked.items():
        walk.time = parse_time(walk.events[n - 1]["at"])
        decision = proceed(replay(walk.events[:n]), "ann", walk.bench)
        assert decision.refusal is None
        settled = next(k for k in asked if k >= n and asked[k].kind not in AUTOMATIC)
        assert (settled == n) == (here.kind not in AUTOMATIC)
        assert list(decision.events) == walk.events[n:settled]
        assert now(decision.state, walk.bench) == asked[settled]


ANSWERS: dict[str, dict[str, Any]] = {
    "gap": {"gap": "4", "lie": "some"},
    "outer": TIED,
    "rods": {"runs": "binds", "note": "220", "edge": "smooth"},
    "rest": RESTED,
}


def test_a_procedure_that_asks_nobody_is_stopped_with_a_sentence() -> None:
    """Steps that lead to each other without asking anybody would go round for ever; the act is refused instead."""
    data = procedure("steps:\n  - {step: one, go: two}\n  - {step: two, go: one}\n  - {step: finish, end: done}\n")
    walk = Walk(linked(data)).open()
    sentence = walk.refused(acts.Ready())
    assert sentence == "the procedure goes round without asking anybody; it must be mended before it is walked"


# --- the promise ---------------------------------------------------------------------------------------------------

FROM_OUTSIDE = {"lock_taken_over", "owner_removed"}
"""Kinds of event that no act leads to: the session writes them itself."""


def test_every_kind_of_event_comes_of_some_act() -> None:
    """The acts tried in this module between them lead to every kind of event there is, but those from outside."""
    before, Walk.produced = Walk.produced, frozenset()
    try:
        for name, test in list(vars(sys.modules[__name__]).items()):
            this = name == "test_every_kind_of_event_comes_of_some_act"
            if name.startswith("test_") and not this and not inspect.signature(test).parameters:
                test()
        produced = Walk.produced
    finally:
        Walk.produced |= before
    assert produced == KINDS.keys() - FROM_OUTSIDE


def test_every_act_is_tried() -> None:
    """The list of acts these tests go through is the whole list."""
    assert {type(act) for act in EVERY_ACT} | {acts.Open} == set(acts.Act.__args__)


def test_an_act_changes_nothing_of_the_state_it_is_given() -> None:
    """`decide` is handed a state and leaves it; only who takes its events in goes on."""
    walk = gap()
    before = copy.deepcopy(walk.state)
    first = decide(walk.state, acts.Record("4"), "ann", walk.bench)
    second = decide(walk.state, acts.Record("4"), "ann", walk.bench)
    assert walk.state == before
    assert first.events == second.events
    assert first.state == second.state


def test_a_signed_again_look_and_an_accepted_walk() -> None:
    """A correction voids the look that covers it, which is given again; a way that would lead elsewhere is accepted."""
    walk = outer(kind="customer")
    walk.on(**TIED)
    walk.do(acts.Correct(walk.entry("gap", "far").n, "5", "misread"))
    void = walk.last("released")["n"]
    assert walk.last("voided")["sign_off"] == void
    assert walk.at() == ("sign-again", "")
    assert walk.refused(acts.ReleaseJob(BO)).startswith(
        "the job cannot be released: the sign-off at senior-look is void"
    )
    assert walk.refused(acts.SignAgain(1, BO)) == "no void sign-off has that number"
    walk.do(acts.SignAgain(void, BO))
    assert walk.last("released")["again"] == void
    walk.do(acts.Correct(walk.entry("gap", "far").n, "5.2", "misread again"))
    assert walk.now().kind == "diverged"
    assert (
        walk.refused(acts.Accept(" ", BO)) == "say why the walk may stand as it went; the reason stands in the record"
    )
    walk.do(acts.Accept("a hair over", BO))
    assert walk.refused(acts.Accept("again", BO)) == "no corrected value leads elsewhere; there is nothing to accept"
