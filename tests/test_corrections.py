"""Corrections and going back: the old is kept, what rests on it is gone through again, nothing stale is released."""

from __future__ import annotations

import copy

import pytest

from benchwalk.walk import acts
from benchwalk.walk.decide import proceed
from benchwalk.walk.desk import view_of
from benchwalk.walk.fold import replay
from benchwalk.walk.places import DONE, GONE_BACK
from walk_helpers import BO, GAP, INNER, MORNING, OUTER, PLAYED, REST, RESTED, RODS, SNIP, TIED, Walk, linked, procedure


def gap() -> Walk:
    """GAP at its first step."""
    return Walk(linked(GAP)).begin()


def outer(until: str = "", kind: str = "practice", **answers: object) -> Walk:
    """OUTER walked straight to a step or to its end."""
    walk = Walk(linked(OUTER, INNER, SNIP), kind=kind).begin()
    walk.on(until, **{**TIED, **answers})
    return walk


def correct(walk: Walk, name: str, typed: str, path: str = "", place: str | None = None) -> list[str]:
    """Correct the latest entry of a reading; the kinds of event that come of it."""
    return [e["what"] for e in walk.do(acts.Correct(walk.entry(name, path, place).n, typed, "misread"))]


# --- the value -----------------------------------------------------------------------------------------------------


def test_a_correction_keeps_both_values_with_who_when_and_why() -> None:
    """Old and new value, both times, who corrected and the reason all stand in the log and the entry."""
    walk = gap()
    first = walk.note("4.0")
    walk.wait(minutes=5)
    walk.do(acts.HandOver("cy", "look at the gap"))
    walk.do(acts.TakeOn(), "cy")
    walk.do(acts.CheckPlace())
    walk.do(acts.Correct(first, "5.0", "read upside down"))
    entry = walk.state.entries[first]
    assert (entry.typed, entry.value, entry.who) == ("5.0", "5", "ann")
    corrected = walk.last("corrected")
    assert entry.before == (("4.0", "4", corrected["n"]),)
    assert (corrected["who"], corrected["reason"]) == ("cy", "read upside down")
    assert entry.at == MORNING.isoformat() and entry.corrected_at == corrected["at"] != entry.at
    assert walk.of("read")[0]["typed"] == "4.0"


def test_correcting_three_times_keeps_all_four_values_in_order() -> None:
    """Whatever is corrected again and again, every value is there to be read, oldest first, the last one counts."""
    walk = gap()
    first = walk.note("3.5")
    for typed in ("4.5", "5.5", "5"):
        walk.do(acts.Correct(first, typed, f"now {typed}"))
    entry = walk.state.entries[first]
    assert [typed for typed, _value, _n in entry.before] + [entry.typed] == ["3.5", "4.5", "5.5", "5"]
    assert [n for _t, _v, n in entry.before] == [e["n"] for e in walk.of("corrected")]
    assert len(walk.state.readings[(1, "gap")]) == 1, "the corrected entry stands where the old one stood"


def told_by_ear() -> Walk:
    """RODS with four rods: the first note typed, the others told by ear against it."""
    walk = Walk(linked(RODS)).begin({"rods": "4"})
    walk.on(lambda here: here.name == "note", runs={"each": "free"})
    for typed in ("220 ±1c", "higher 3", "same", "221"):
        walk.note(typed)
    return walk


def notes(walk: Walk) -> dict[str, str | None]:
    """The note at each rod as it stands."""
    return {rod: walk.entry("note", place=rod).value for rod in "1234"}


def test_notes_told_by_ear_follow_the_note_they_were_told_against() -> None:
    """Where the first note of a round is corrected, those told by ear against it lie elsewhere too, each with its
    reason; what was typed stays, and so does what was told by ear in an earlier round."""
    walk = told_by_ear()
    assert notes(walk) == {"1": "220", "2": "220.6", "3": "220", "4": "221"}
    kinds = correct(walk, "note", "224", place="1")
    assert kinds.count("corrected") == 3 and kinds.count("worked") == 1
    assert notes(walk) == {"1": "224", "2": "224.6", "3": "224", "4": "221"}
    assert walk.of("corrected")[-1]["reason"] == "told by ear against the note at 1, which was corrected"
    assert walk.entry("note", place="2").before[0][:2] == ("higher 3", "220.6")
    assert correct(walk, "note", "higher 1", place="2").count("corrected") == 1
    assert correct(walk, "note", "230", place="4").count("corrected") == 1
    assert notes(walk) == {"1": "224", "2": "224.2", "3": "224", "4": "230"}
    assert replay(walk.events) == walk.state


def test_first_note_is_not_corrected_by_ear() -> None:
    """The note that others were compared with cannot be told by ear against its own wrong value."""
    walk = told_by_ear()
    why = walk.refused(acts.Correct(walk.entry("note", place="1").n, "higher 3", "misread"))
    assert "the others compare with this one; type it" in why and notes(walk)["1"] == "220"


def test_a_note_that_leaves_none_by_ear_is_no_correction() -> None:
    """A first note against which another could not have been told is refused, and nothing is changed."""
    walk = Walk(linked(RODS)).begin({"rods": "4"})
    walk.on(lambda here: here.name == "note", runs={"each": "free"})
    for typed in ("50", "lower 40", "same", "50"):
        walk.note(typed, sure=True)
    before = walk.state.n
    why = walk.refused(acts.Correct(walk.entry("note", place="1").n, "5", "misread", sure=True))
    assert 'at 2, told by ear against it: "lower 40" is no pitch' in why
    assert walk.state.n == before and notes(walk)["2"] == "42"


def test_a_correction_is_judged_like_any_reading() -> None:
    """Verdict, distance and oddness are those of the new value."""
    walk = gap()
    first = walk.note("7")
    walk.do(acts.Correct(first, "8", "misread"))
    assert (walk.state.entries[first].verdict, walk.state.entries[first].by) == ("above", "2")
    walk.do(acts.Correct(first, "25", "off the rule", sure=True))
    assert walk.state.entries[first].odd is True
    walk.do(acts.Correct(first, "6.5", "misread"))
    assert (walk.state.entries[first].odd, walk.state.entries[first].by) == (False, "0.5")


def test_a_reading_that_was_left_out_can_be_filled_in() -> None:
    """What was left out and is measured after all is a correction; that it was left out stays in the record."""
    walk = Walk(linked(REST)).begin()
    walk.on("rest", **{**RESTED, "knob": None})
    left = walk.entry("knob").n
    walk.do(acts.Correct(left, "12", "it turns after all"))
    entry = walk.state.entries[left]
    assert (entry.value, entry.why, entry.before[0][:2]) == ("12", None, ("", ""))


def test_one_rod_is_corrected_and_the_others_stay() -> None:
    """Of a reading at every rod one entry is corrected alone."""
    walk = Walk(linked(RODS)).begin({"rods": "4"})
    walk.on("turn", runs="free")
    correct(walk, "runs", "binds", place="3")
    assert {e.place: e.value for e in walk.state.readings[(1, "runs")]} == {
        "1": "free",
        "2": "free",
        "3": "binds",
        "4": "free",
    }


def test_a_picture_is_corrected_with_its_kept_file() -> None:
    """A wrong picture is replaced by another, by the name it is kept under."""
    data = procedure(
        """
readings:
  photo: {ask: Photo, kind: picture}
steps:
  - {step: look, record: [photo]}
  - {step: finish, do: Sweep., end: done}
"""
    )
    walk = Walk(linked(data)).begin()
    first = walk.note("a.jpg", file="sha-a")
    walk.do(acts.Correct(first, "b.jpg", "wrong drum", file="sha-b"))
    assert (walk.state.entries[first].typed, walk.state.entries[first].value) == ("b.jpg", "sha-b")


# --- facts ---------------------------------------------------------------------------------------------------------

WIDE = procedure(
    """
drum: [rods, diameter, shell]
steps:
  - step: look
    do: Look at it.
    first_of:
      - {when: drum.diameter >= 14 in, because: "Wide: {{ drum.diameter }}", go: wide}
      - {when: otherwise, because: Narrow, go: narrow}
  - step: wide
    do: Wide.
    end: done
  - step: narrow
    do: Narrow.
    end: done
"""
)


def test_a_fact_is_corrected_and_the_way_that_rests_on_it_is_looked_at() -> None:
    """A wrong diameter, asked or known to the shop, is corrected; the branch it led to is gone through again."""
    walk = Walk(linked(WIDE)).begin({"rods": "8", "diameter": "14 in", "shell": "maple"})
    walk.do(acts.Done())
    number = walk.state.facts["diameter"].n
    assert walk.do(acts.Correct(number, "13 7/8 in", "measured"))[-1]["what"] == "diverged"
    walk.do(acts.Correct(number, "360", "measured again"))
    assert walk.at() == ("do", "wide"), "360 mm is more than 14 in"
    assert [t for t, _v, _n in walk.state.facts["diameter"].before] == ["14 in", "13 7/8 in"]
    walk.do(acts.Correct(walk.state.facts["shell"].n, "birch", "under the wrap"))
    assert walk.state.facts["shell"].value == "birch"


def test_a_fact_is_corrected_only_to_what_can_be() -> None:
    """An impossible diameter is refused; the number of rods is not changed once the walk has begun, but before."""
    walk = Walk(linked(WIDE)).open({"rods": "8", "diameter": "14 in"})
    walk.do(acts.Ready())
    assert walk.now().name == "shell"
    rods = walk.state.facts["rods"].n
    walk.do(acts.Correct(rods, "10", "counted again"))
    assert "possible is 100 to 1200 mm" in walk.refused(acts.Correct(walk.state.facts["diameter"].n, "3 in", "x"))
    walk.do(acts.GiveFact("shell", "maple"))
    sentence = walk.refused(acts.Correct(rods, "8", "no"))
    assert sentence == "the number of rods cannot be corrected once the walk has begun; open a new job"


# --- what rests on it ----------------------------------------------------------------------------------------------


def test_a_sum_is_worked_out_again_and_its_verdicts_are_judged_again() -> None:
    """The sum of a corrected reading, the range it gave to a run, and every reading judged by it follow."""
    walk = outer("butt/pull")
    assert walk.entry("gap", "butt").verdict == "within"
    correct(walk, "clear", "350")
    worked = walk.last("worked")
    assert worked["again"] == walk.of("worked")[0]["n"] and worked["outputs"]["gap"] == {"low": "7.5", "high": "10.5"}
    assert walk.state.given[2]["target"]["range"] == {"low": "7.5", "high": "10.5"}
    assert (walk.entry("gap", "butt").verdict, walk.entry("gap", "butt").by) == ("below", "3.5")
    assert walk.last("rejudged")["of"] == walk.entry("gap", "butt").n
    assert walk.now().kind == "diverged", "a gap below leads to tying again"


def test_a_sum_that_had_no_result_and_has_one_now_judges_what_it_could_not() -> None:
    """Where the range was lacking, the reading had no verdict; once the correction gives one, it is judged."""
    data = procedure(
        """
limits:
  least: {is: 1 mm, sure: C, whose: the shop, because: it must clear}
readings:
  clear: {ask: Clear, unit: mm, possible: 300 .. 400}
  long: {ask: Long, unit: mm, possible: 300 .. 400}
  gap: {ask: Gap, unit: mm, possible: 0 .. 20, wanted: from room.gap}
sums:
  room: {use: snare-room, with: {clear: clear, set: long, least: least}}
steps:
  - step: measure
    record: [clear, long]
    work_out: [room]
  - step: look
    record: [gap]
    do: Look.
  - step: finish
    do: Sweep.
    end: done
"""
    )
    walk = Walk(linked(data)).begin()
    walk.on("finish", clear="340", long="340", gap="4")
    assert walk.entry("gap").verdict is None
    correct(walk, "long", "332")
    assert walk.entry("gap").verdict == "within"
    correct(walk, "long", "340")
    assert walk.entry("gap").verdict is None
    walk.check()


def test_sums_that_feed_sums_follow_in_their_order() -> None:
    """A correction reworks a sum, then the sum that takes it, each from what stood at its time."""
    data = procedure(
        """
readings:
  first: {ask: First, unit: mm, possible: 0 .. 100}
  second: {ask: Second, unit: mm, possible: 0 .. 100}
sums:
  apart: {use: difference, with: {a: first, b: second}}
  part: {use: share, with: {part: apart.by, whole: first}}
steps:
  - step: measure
    record: [first, second]
    work_out: [apart, part]
  - step: finish
    do: Sweep.
    end: done
"""
    )
    walk = Walk(linked(data)).begin()
    walk.on("finish", first="10", second="5")
    assert correct(walk, "second", "2") == ["corrected", "worked", "worked"]
    outputs = [(e["name"], e["outputs"]) for e in walk.of("worked")[2:]]
    assert outputs[0][0] == "apart" and outputs[0][1]["by"] == "8"
    assert outputs[1][0] == "part" and outputs[1][1]["share"] == "0.8"
    assert walk.of("worked")[2]["again"] == walk.of("worked")[0]["n"]


def test_a_later_round_does_not_reach_back() -> None:
    """What was worked out from the first round is reworked from the first round, whatever was noted since."""
    walk = gap()
    walk.on("set-again", gap="9")
    walk.do(acts.Done())
    walk.note("4")
    took = [t for t in walk.state.took if t.line is not None]
    first = walk.of("read")[0]["n"]
    assert [e["what"] for e in walk.do(acts.Correct(first, "8", "misread"))] == ["corrected", "stands"]
    assert walk.last("stands")["took"] == took[0].n
    second = walk.of("read")[1]["n"]
    walk.do(acts.Correct(second, "8", "misread"))
    assert walk.last("diverged")["took"] == took[1].n


def test_a_branch_that_still_fits_stands() -> None:
    """Where the new value leads the same way, the walk goes on and the event says so."""
    walk = gap()
    walk.note("4")
    assert correct(walk, "gap", "5") == ["corrected", "stands"]
    assert walk.at() == ("reading", "look")


def test_a_finding_is_worded_again() -> None:
    """A finding that rests on the corrected value keeps its place and says the new value."""
    walk = gap()
    walk.on(lambda here: here.visit is not None and here.visit.number == 3, gap="4", lie="some")
    found = walk.of("found")[0]["n"]
    correct(walk, "gap", "5")
    assert [(f.n, f.sentence) for f in walk.state.found] == [(found, "Some lift at 5 mm.")]
    assert walk.last("found")["again"] == found


def test_a_place_that_would_be_confirmed_too_stops_the_walk() -> None:
    """A rod that binds after all was never oiled: the walk does not go on as if it had been."""
    walk = Walk(linked(RODS)).begin({"rods": "4"})
    walk.on(lambda here: here.name == "note", runs={"each": "free", "2": "binds"})
    correct(walk, "runs", "binds", place="3")
    assert walk.last("diverged")["because"] == "at oil more would be done now: 3"
    walk.do(acts.GoBack(2, "oil the third"))
    walk.do(acts.Done())
    assert [walk.now().place, walk.do(acts.Done()) and walk.now().place] == ["2", "3"]


def test_a_place_that_would_not_be_confirmed_any_more_changes_nothing() -> None:
    """A rod confirmed without need leaves the walk as it is."""
    walk = Walk(linked(RODS)).begin({"rods": "4"})
    walk.on(lambda here: here.name == "note", runs={"each": "free", "2": "binds"})
    assert correct(walk, "runs", "free", place="2") == ["corrected", "stands"]


def test_what_a_run_was_given_by_choice_is_given_again() -> None:
    """A choice handed in is corrected at its source, and the branches inside the run are looked at with it."""
    inner = procedure(
        """
takes: {cover: {choices: {none: bare, old: old wrap}}}
steps:
  - step: ask
    do: Look.
    branches:
      - {when: cover is none, because: Bare, go: file}
      - {when: cover is old, because: Old, go: leave}
  - step: file
    end: done
  - step: leave
    end: referred
""",
        id="look-cover",
    )
    top = procedure(
        """
readings:
  cover: {ask: Cover, choices: {none: bare, old: old wrap}}
steps:
  - step: ask
    record: [cover]
  - step: look
    run: {procedure: look-cover, as: looked, with: {cover: cover}}
  - step: finish
    do: Sweep.
    end: done
"""
    )
    walk = Walk(linked(top, inner)).begin()
    walk.on("finish", cover="none")
    assert correct(walk, "cover", "old") == ["corrected", "given_again", "diverged"]
    assert walk.last("diverged")["because"] == "at ask the walk went to file, and would now go to leave"
    diverged = next(t for t in walk.state.took if t.n == walk.state.diverged)
    walk.do(acts.GoBack(diverged.visit, "the wrap is old"))
    walk.do(acts.Done())
    assert walk.route()[-3:] == ["looked/ask", "looked/leave", "finish"]
    assert walk.last("returned")["outcome"] == "referred"


def test_a_correction_inside_a_finished_run_reaches_the_callers_branches() -> None:
    """The caller branched on what the run gave: the value is corrected inside, and the caller's way is looked at."""
    walk = outer("=hold")
    assert [t.go for t in walk.state.took][-1] == "senior-look"
    kinds = correct(walk, "gap", "5.4", path="far")
    assert kinds == ["corrected", "stands", "diverged"], "within for the run, more than 5 mm for the caller"
    would = walk.last("diverged")
    assert (would["would"], would["because"]) == (
        "tie-far",
        "at tie-far the walk went to senior-look, and would now go to tie-far",
    )


def test_a_correction_to_where_no_branch_fits_stops_the_walk_too() -> None:
    """Where the new value fits no branch at all, the walk would have gone nowhere, and stops."""
    data = procedure(
        """
readings:
  gap: {ask: Gap, unit: mm, possible: 0 .. 20}
steps:
  - step: measure
    record: [gap]
    branches:
      - {when: gap < 5 mm, because: Small, go: finish}
      - {when: gap > 6 mm, because: Large, go: finish}
  - step: finish
    do: Sweep.
    end: done
"""
    )
    walk = Walk(linked(data)).begin()
    walk.note("4")
    correct(walk, "gap", "5.5")
    assert (walk.last("diverged")["would"], walk.now().kind) == (None, "diverged")


# --- diverged ------------------------------------------------------------------------------------------------------


def diverged() -> Walk:
    """GAP at its second step, after a correction that would have led elsewhere."""
    walk = gap()
    walk.note("4")
    correct(walk, "gap", "8")
    return walk


def test_a_value_that_would_lead_elsewhere_stops_the_walk() -> None:
    """Until going back or acceptance nothing else is done, and the sentence says which two there are."""
    walk = diverged()
    assert walk.now().kind == "diverged"
    sentence = "a corrected value leads elsewhere: go back to that step, or have the walk accepted"
    for act in (
        acts.Done(),
        acts.Record("all"),
        acts.ReleaseJob(PLAYED),
        acts.Skip("x"),
        acts.Overrule(0, "x", PLAYED),
    ):
        assert walk.refused(act) == sentence
    assert walk.state.stale() == ["a corrected value leads elsewhere than the walk went"]
    for allowed in (acts.Note("so it is"), acts.Problem("cannot be"), acts.SettleProblem("can be")):
        walk.do(allowed)
    assert walk.now().kind == "diverged"


def test_going_back_to_the_step_settles_it() -> None:
    """Back at the step the value is measured again and leads where it leads."""
    walk = diverged()
    walk.do(acts.GoBack(1, "measure again"))
    assert walk.state.stale() == []
    walk.note("8")
    assert walk.at() == ("do", "set-again")


def test_going_back_not_far_enough_is_refused() -> None:
    """A stop after the one that would have led elsewhere does not cure it."""
    walk = diverged()
    sentence = walk.refused(acts.GoBack(2, "try here"))
    assert sentence == "the corrected value leads elsewhere from stop 1 on; go back to there or before"


def test_a_senior_accepts_the_walk_as_it_went() -> None:
    """Acceptance has a name, a role and a reason, and the walk goes on where it stood."""
    walk = diverged()
    walk.do(acts.Accept("the set is worn, 8 is fine", PLAYED))
    event = walk.last("accepted")
    assert (event["took"], event["reason"], event["sign"]["role"], event["job"]) == (
        event["covers"][0],
        "the set is worn, 8 is fine",
        "senior",
        "J-1",
    )
    assert walk.at() == ("reading", "look")
    assert walk.state.took[0].state == "accepted"
    assert walk.state.stale() == []


def test_an_accepted_way_is_asked_about_again_when_the_value_changes_again() -> None:
    """Acceptance speaks of the value it saw; a further correction that still leads elsewhere stops the walk again."""
    walk = diverged()
    walk.do(acts.Accept("fine", PLAYED))
    correct(walk, "gap", "9")
    assert walk.now().kind == "diverged"


def test_a_wrong_correction_is_corrected_back() -> None:
    """A correction that was itself a slip is corrected; where the way fits again, the walk is not stopped any more."""
    walk = diverged()
    assert correct(walk, "gap", "4.2") == ["corrected", "stands"]
    assert walk.at() == ("reading", "look")
    assert walk.state.took[0].state == "ok"


def several() -> Walk:
    """Three branches that rest on one reading, all walked."""
    data = procedure(
        """
readings:
  gap: {ask: Gap, unit: mm, possible: 0 .. 20}
  other: {ask: Other, unit: mm, possible: 0 .. 20}
steps:
  - step: first
    record: [gap, other]
    first_of:
      - {when: gap < 5 mm, because: Small, go: second}
      - {when: otherwise, because: Large, go: second}
  - step: second
    first_of:
      - {when: gap < 5 mm, because: Small, go: third}
      - {when: otherwise, because: Large, go: third}
  - step: third
    first_of:
      - {when: gap < 5 mm and other < 5 mm, because: Small, go: finish}
      - {when: otherwise, because: Large, go: finish}
  - step: finish
    do: Sweep.
    end: done
"""
    )
    walk = Walk(linked(data)).begin()
    walk.on("finish", gap="4", other="4")
    return walk


def test_several_branches_that_lead_elsewhere_are_gone_through_one_by_one() -> None:
    """Each way that no longer fits stops the walk for itself, the earliest first, and is accepted for itself."""
    walk = several()
    correct(walk, "gap", "8")
    stops = []
    while walk.now().kind == "diverged":
        stops.append(next(t.visit for t in walk.state.took if t.n == walk.state.diverged))
        walk.do(acts.Accept("fine", PLAYED))
    assert stops == [1, 2, 3]
    assert walk.at() == ("do", "finish")


def test_an_earlier_divergence_found_later_comes_first() -> None:
    """Stopped at a late step, a second correction that concerns an earlier one brings the earlier one up first."""
    walk = several()
    correct(walk, "other", "8")
    assert [t.visit for t in walk.state.took if t.state == "diverged"] == [3]
    correct(walk, "gap", "8")
    assert [t.visit for t in walk.state.took if t.state == "diverged"] == [1]
    for visit in (1, 2, 3):
        assert next(t.visit for t in walk.state.took if t.n == walk.state.diverged) == visit
        walk.do(acts.Accept("fine", PLAYED))
    assert walk.at() == ("do", "finish")


def test_a_divergence_waits_while_an_earlier_one_is_settled() -> None:
    """Two readings, each of one step: the earlier step is settled first, and the later one is not forgotten."""
    data = procedure(
        """
readings:
  gap: {ask: Gap, unit: mm, possible: 0 .. 20}
  other: {ask: Other, unit: mm, possible: 0 .. 20}
steps:
  - step: first
    record: [gap, other]
    first_of:
      - {when: gap < 5 mm, because: Small, go: second}
      - {when: otherwise, because: Large, go: second}
  - step: second
    first_of:
      - {when: other < 5 mm, because: Small, go: finish}
      - {when: otherwise, because: Large, go: finish}
  - step: finish
    do: Sweep.
    end: done
"""
    )
    walk = Walk(linked(data)).begin()
    walk.on("finish", gap="4", other="4")
    correct(walk, "other", "8")
    correct(walk, "gap", "8")
    for visit in (1, 2):
        assert [t.visit for t in walk.state.took if t.state == "diverged"] == [visit]
        walk.do(acts.Accept("fine", PLAYED))
    assert walk.at() == ("do", "finish")


def test_a_correction_before_the_divergence_is_gone_through_at_once() -> None:
    """While the walk is stopped at a late step, what rests on another corrected value before it is settled all the
    same, and going back to the late step does not lose it."""
    data = procedure(
        """
readings:
  long: {ask: Long, unit: mm, possible: 0 .. 100}
  wide: {ask: Wide, unit: mm, possible: 0 .. 100}
  gap: {ask: Gap, unit: mm, possible: 0 .. 20}
sums:
  apart: {use: difference, with: {a: long, b: wide}}
steps:
  - step: measure
    record: [long, wide]
    work_out: [apart]
  - step: look
    record: [gap]
    branches:
      - {when: gap < 5 mm, because: Small, go: finish}
      - {when: gap >= 5 mm, because: Large, go: finish}
  - step: finish
    do: Sweep.
    end: done
"""
    )
    walk = Walk(linked(data)).begin()
    walk.on("finish", long="10", wide="4", gap="4")
    correct(walk, "gap", "8")
    assert walk.now().kind == "diverged"
    correct(walk, "wide", "5")
    assert walk.state.last(1, "apart").outputs["by"] == "5"  # type: ignore[union-attr]
    assert walk.state.unsettled == []
    walk.do(acts.GoBack(2, "measure again"))
    assert walk.state.last(1, "apart").outputs["by"] == "5"  # type: ignore[union-attr]
    walk.check()


# --- sign-offs -----------------------------------------------------------------------------------------------------


def test_a_covered_sign_off_is_void_by_an_event_and_given_again() -> None:
    """A look that covered the corrected reading no longer stands; the job is not released before it is given again."""
    walk = outer(kind="customer")
    walk.do(acts.Account())
    signed = walk.last("released")["n"]
    assert "voided" in correct(walk, "gap", "4.5", path="far")
    assert walk.last("voided")["because"] == "a reading it covers was corrected"
    assert walk.state.stale() == ["the sign-off at senior-look is void: a reading it covers was corrected"]
    assert walk.at() == ("sign-again", "")
    assert "is void" in walk.refused(acts.ReleaseJob(BO))
    walk.do(acts.SignAgain(signed, BO))
    assert walk.last("released") | {"at": "", "sign": ""} == walk.of("released")[0] | {
        "n": walk.last("released")["n"],
        "at": "",
        "sign": "",
        "again": signed,
        "who": "ann",
    }
    assert walk.at() == ("ended", "")
    walk.do(acts.ReleaseJob(BO))
    assert walk.last("job_released")["covers"] == [walk.of("released")[1]["n"]]


def test_a_sign_off_that_covers_something_else_stands() -> None:
    """A correction of a reading nobody signed for voids nothing."""
    walk = outer()
    correct(walk, "gap", "4.5", path="butt")
    assert walk.of("voided") == []


def test_a_sign_off_given_again_can_become_void_again() -> None:
    """Every correction voids the latest look; every look is given anew."""
    walk = outer()
    for typed in ("4.5", "4.6", "4.7"):
        correct(walk, "gap", typed, path="far")
        void = walk.state.open_signs()
        assert len(void) == 1
        walk.do(acts.SignAgain(void[0].n, PLAYED))
    assert len(walk.of("released")) == 4
    assert [s.void is None for s in walk.state.signs] == [False, False, False, True]


LOOKED = procedure(
    """
readings:
  gap: {ask: Gap, unit: mm, possible: 0 .. 20, wanted: 3 .. 6}
steps:
  - step: measure
    record: [gap]
  - step: look
    hold: {by: senior, signs: checked, covers: [gap], because: Two looks}
    branches:
      - {when: hold is released, because: It was looked at, go: sweep}
      - {when: hold is refused, because: It was refused, go: give-up}
  - step: sweep
    do: Sweep.
  - step: finish
    end: done
  - step: give-up
    end: stopped
"""
)


def test_a_void_sign_off_can_be_given_again_before_the_end() -> None:
    """The void look need not wait for the end: the walk goes on, and whoever is there gives it again."""
    walk = Walk(linked(LOOKED)).begin()
    walk.on("sweep", gap="4")
    correct(walk, "gap", "5")
    assert walk.at() == ("do", "sweep")
    walk.do(acts.SignAgain(walk.state.open_signs()[0].n, PLAYED))
    walk.do(acts.Done())
    assert walk.at() == ("ended", "")


def test_going_back_past_the_reading_takes_its_void_sign_off_along() -> None:
    """A void look that the walk goes back over is not asked again by itself: the hold comes again."""
    walk = Walk(linked(LOOKED)).begin()
    walk.on("sweep", gap="4")
    correct(walk, "gap", "5")
    walk.do(acts.GoBack(1, "measure again"))
    assert walk.state.open_signs() == []
    walk.on("=hold", gap="4")
    assert walk.at() == ("hold", "look")


def test_going_back_does_not_lose_a_sign_off_that_is_still_to_be_voided() -> None:
    """A correction stops the walk at a step before it comes to a look given again after that step: going back to the
    step leaves the look standing in the record, and it is voided all the same."""
    judge = """
  - step: judge
    first_of:
      - {when: gap < 5 mm, because: Small, go: sweep}
      - {when: otherwise, because: Large, go: sweep}
  - step: sweep
"""
    data = LOOKED.replace(b"go: sweep", b"go: judge").replace(b"\n  - step: sweep\n", judge.encode())
    walk = Walk(linked(data)).begin()
    walk.on("sweep", gap="4")
    correct(walk, "gap", "4.5")
    walk.do(acts.SignAgain(walk.state.open_signs()[0].n, PLAYED))
    again = walk.last("released")["n"]
    correct(walk, "gap", "5.5")
    assert walk.now().kind == "diverged" and walk.state.unsettled == [again]
    walk.do(acts.GoBack(3, "judge again"))
    assert walk.last("voided")["sign_off"] == again
    assert [sign.n for sign in walk.state.open_signs()] == [again]


def test_the_correction_of_a_covered_sum_input_voids_the_look() -> None:
    """A look that covers a reading stays void also where everything else stands."""
    walk = outer()
    kinds = correct(walk, "clear", "340.5")
    assert "voided" in kinds and "diverged" not in kinds


# --- going back ----------------------------------------------------------------------------------------------------


def test_going_back_strikes_what_was_noted_since_and_keeps_it() -> None:
    """Readings since the stop gone back to no longer count, and are all still there."""
    walk = gap()
    walk.note("4")
    walk.do(acts.GoBack(1, "again"))
    view = view_of(walk.state, walk.state.visits[-1], walk.bench)
    assert view.value("gap") is None, "stale"
    assert [e.typed for e in walk.state.entries.values()] == ["4"], "and not absent"
    assert [e.typed for e in walk.state.readings[(1, "gap")]] == ["4"]
    assert not walk.state.live(1)


def test_counts_are_not_reset_by_going_back_and_none_is_consumed() -> None:
    """A bound counts what was gone back over too; the way back by hand itself counts for nothing."""
    walk = gap()
    walk.on(lambda here: here.visit is not None and here.visit.number == 3, gap="4", lie="some")
    before = dict(walk.state.counts)
    assert before[(1, "look:1")] == 1
    walk.do(acts.GoBack(1, "begin again"))
    assert walk.state.counts == before
    assert walk.last("entered")["pass"] == before[(1, "entered:measure")]
    walk.on("give-up", gap="4", lie="some")
    assert walk.route()[-2:] == ["look", "give-up"], "the one try is spent"


def test_going_back_to_a_bounded_step_consumes_no_entry() -> None:
    """A step that may be entered so often is entered by hand without counting."""
    walk = gap()
    walk.on("set-again", gap="9")
    for _ in range(5):
        walk.do(acts.GoBack(walk.state.visit, "again"))
    assert walk.state.counts[(1, "entered:set-again")] == 1
    assert walk.route()[-1] == "set-again"


def test_going_back_after_the_end_opens_the_walk_again() -> None:
    """Until the job is released the end can be gone back over; tools are then counted anew."""
    walk = Walk(linked(REST)).begin()
    walk.on(**RESTED)
    walk.do(acts.Account())
    walk.do(acts.GoBack(3, "show it again"))
    assert walk.state.ended is None
    assert walk.now().kind == "hold", "the look was gone back over"
    walk.on(**RESTED)
    assert walk.at() == ("account", "")


def test_a_sign_off_gone_back_over_is_void_and_not_asked_again() -> None:
    """The walk comes to the hold anew; the old look is void and nobody is asked to repeat it."""
    walk = outer()
    first = walk.last("released")["n"]
    walk.do(acts.GoBack(walk.state.visits[-2].number, "look again"))
    sign = next(s for s in walk.state.signs if s.n == first)
    assert sign.void == "the walk went back over it"
    assert walk.state.open_signs() == []
    assert walk.at() == ("hold", "senior-look")


def test_going_back_out_of_a_run_leaves_it() -> None:
    """From inside a run back to its caller's earlier step: the run is left, and a new one begins later."""
    walk = outer("far/pull")
    walk.do(acts.GoBack(1, "measure again"))
    assert [f.path for f in walk.state.frames] == [""]
    assert walk.at() == ("reading", "measure")
    walk.on("far/pull", **TIED)
    assert [e["run"] for e in walk.of("ran")] == [1, 2, 3, 4, 5]


def test_going_back_within_a_run_stays_in_it() -> None:
    """Inside a run the same run goes on, with its counts."""
    walk = outer("butt/pull")
    tie = next(v.number for v in walk.state.visits if v.step == "tie")
    walk.do(acts.GoBack(tie, "tie again"))
    assert [f.path for f in walk.state.frames] == ["", "butt"]
    assert walk.state.frames[-1].run == 2
    walk.on("=hold", **TIED)
    assert [e["run"] for e in walk.of("ran")] == [1, 2, 3]


def test_going_back_into_a_finished_run_opens_the_callers_step_again() -> None:
    """What the caller's step noted after the run is stale; the run goes on, and the caller's step is done anew."""
    walk = outer("=hold")
    caller = next(v.number for v in walk.state.visits if v.step == "tie-far")
    inside = next(v.number for v in walk.state.visits if (v.path, v.step) == ("far", "pull"))
    sound = walk.entry("sound").n
    assert walk.state.visits[caller - 1].closed
    walk.do(acts.GoBack(inside, "pull again"))
    assert walk.at() == ("reading", "far/pull")
    assert walk.state.visits[caller - 1].closed is None and not walk.state.visits[caller - 1].ran
    assert walk.states()["tie-far"] == "under way"
    assert not walk.state.live(caller, sound), "noted after the run"
    assert walk.state.result(1, "far") is None
    walk.note("holds")
    assert walk.at() == ("do", "far/tied")
    walk.do(acts.Done())
    assert walk.at() == ("reading", "tie-far"), "the sound is asked again"
    walk.note("buzz")
    assert walk.entry("sound").value == "buzz"
    view = view_of(walk.state, walk.state.visits[caller - 1], walk.bench)
    assert view.value("sound") == "buzz"
    assert [e.typed for e in walk.state.readings[(1, "sound")]] == ["clean", "buzz"]
    assert walk.at() == ("hold", "senior-look")
    walk.check()


def test_going_back_into_a_finished_run_leaves_old_states_as_they_were() -> None:
    """Opening the caller's step again writes into no state that anybody else holds."""
    walk = outer("=hold")
    inside = next(v.number for v in walk.state.visits if (v.path, v.step) == ("far", "pull"))
    kept, before = walk.state, copy.deepcopy(walk.state)
    walk.do(acts.GoBack(inside, "pull again"))
    middle, middle_before = walk.state, copy.deepcopy(walk.state)
    walk.on("=hold", **TIED)
    assert kept == before
    assert middle == middle_before


def test_going_back_into_a_run_for_an_event_and_out_of_it_again() -> None:
    """A run that an event began is gone back into like any other; the interrupted step goes on where it stood then."""
    walk = outer(lambda here: here.name == "grip")  # type: ignore[arg-type]
    walk.do(acts.Happens("strand-bends"))
    walk.on("=hold", **TIED)
    snipped = next(v.number for v in walk.state.visits if v.step == "snip")
    grips = [e.n for e in walk.state.entries.values() if e.name == "grip"]
    walk.do(acts.GoBack(snipped, "another strand"))
    assert [f.path for f in walk.state.frames] == ["", "butt", "snip"]
    assert walk.at() == ("hazard", "snip/snip")
    walk.on(lambda here: here.name == "grip", **TIED)
    assert walk.at() == ("reading", "butt/pull"), "the grip was noted after the event"
    assert not any(walk.state.live(walk.state.entries[n].visit, n) for n in grips)
    walk.on("=hold", **TIED)
    walk.check()


def test_a_correction_inside_a_run_gone_back_into_still_reaches_the_caller() -> None:
    """After going back into a run and out again, corrections, divergence and sign-offs work as before."""
    walk = outer("=hold")
    inside = next(v.number for v in walk.state.visits if (v.path, v.step) == ("far", "pull"))
    walk.do(acts.GoBack(inside, "pull again"))
    walk.on("=hold", **TIED)
    assert correct(walk, "gap", "5.4", path="far") == ["corrected", "stands", "diverged"]
    took = next(t for t in walk.state.took if t.n == walk.state.diverged)
    assert walk.state.live(took.visit, took.n)
    again = next(v.number for v in walk.state.visits if (v.path, v.step) == ("far", "pull") and not v.struck)
    walk.do(acts.GoBack(again, "this is before the caller's branch"))
    assert walk.state.diverged is None
    assert walk.at() == ("reading", "far/pull")


def test_a_divergence_inside_a_run_is_gone_back_to() -> None:
    """The branch that no longer fits lies inside a finished run: going back to its stop opens the run again."""
    walk = outer("=hold")
    correct(walk, "gap", "2", path="butt")
    took = next(t for t in walk.state.took if t.n == walk.state.diverged)
    assert walk.state.visits[took.visit - 1].path == "butt"
    walk.do(acts.GoBack(took.visit, "tie it again"))
    assert walk.at() == ("do", "butt/tie")
    assert walk.states()["tie-far"] == GONE_BACK
    walk.on("=hold", **TIED)
    assert walk.states()["tie-far"] == DONE


def test_what_the_walk_went_back_over_is_not_gone_through() -> None:
    """Only what still counts is settled: a correction touches nothing that was struck."""
    walk = gap()
    first = walk.note("4")
    walk.do(acts.GoBack(2, "look again"))
    events = walk.do(acts.Correct(first, "5", "misread"))
    assert events[0]["touches"] == [walk.of("took")[0]["n"]]


def test_a_place_is_not_looked_at_again_after_going_back() -> None:
    """Who finds the drum other than the log says goes back, and is not asked about the old place any more."""
    walk = Walk(linked(REST)).begin()
    walk.on("rest", **RESTED)
    walk.do(acts.Pause("it rests"))
    assert walk.refused(acts.GoBack(1, "x")) == "the work is put down; take it up again first"
    walk.do(acts.Resume())
    walk.do(acts.GoBack(1, "the lever is on"))
    assert walk.at() == ("hazard", "settle")


# --- nothing stale is released -------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["clear", "gap"])
def test_nothing_is_released_while_anything_is_stale(name: str) -> None:
    """Whatever a correction leaves open, the release of the job is refused until it is gone through."""
    walk = outer(kind="customer")
    walk.do(acts.Account())
    path = "far" if name == "gap" else ""
    correct(walk, name, {"clear": "341", "gap": "5.3"}[name], path)
    tries = 0
    while walk.at()[0] != "ended":
        walk.refused(acts.ReleaseJob(BO))
        tries += 1
        if walk.now().kind == "diverged":
            walk.do(acts.Accept("fine", BO))
        elif walk.now().kind == "sign-again":
            walk.do(acts.SignAgain(walk.state.open_signs()[0].n, BO))
    assert tries >= 1
    walk.do(acts.ReleaseJob(BO))


def test_a_log_cut_while_settling_goes_on_settling() -> None:
    """Cut between two events of a correction, the rest is gone through on reopening, and comes to the same."""
    walk = outer()
    start = len(walk.events)
    correct(walk, "clear", "341")
    for n in range(start, len(walk.events) + 1):
        half = replay(walk.events[:n])
        decision = proceed(half, "ann", walk.bench)
        if n > start:
            assert half.stale() or n == len(walk.events)
            assert list(decision.events) == walk.events[n:]
            assert decision.state == walk.state


def test_a_step_stands_as_its_latest_stay_that_counts() -> None:
    """A step come to twice, the second time gone back over, stands as the first stay left it."""
    walk = gap()
    walk.note("4")
    walk.note("some")
    assert walk.states()["measure"] == "current"
    walk.do(acts.GoBack(2, "look again"))
    assert (walk.states()["measure"], walk.states()["look"]) == (DONE, "current")
