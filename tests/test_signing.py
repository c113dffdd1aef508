"""Sign-offs: whose, over what, and every one that may not be given, refused and kept as turned away."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest

from benchwalk.walk import acts
from benchwalk.walk.fold import replay
from benchwalk.walk.second_look import measured_again
from benchwalk.walk.signing import just_taken
from walk_helpers import (
    BO,
    GAP,
    INNER,
    NAMES,
    OUTER,
    PLAYED,
    REST,
    RESTED,
    RODS,
    ROLES,
    SNIP,
    TIED,
    Walk,
    linked,
    procedure,
)


def held(kind: str = "customer", who: str = "ann", **options: object) -> Walk:
    """OUTER at its hold, which covers the far gap and the clear length; a senior's to release."""
    walk = Walk(linked(OUTER, INNER, SNIP), kind=kind, who=who, **options).begin()
    walk.on("=hold", **TIED)
    return walk


def ended(kind: str = "customer", **options: object) -> Walk:
    """OUTER walked to its end and counted."""
    walk = held(kind, **options)
    walk.do(acts.Release(BO))
    walk.do(acts.Account())
    return walk


def voided() -> Walk:
    """OUTER at its end, its one sign-off void."""
    walk = ended()
    walk.do(acts.Correct(walk.entry("gap", "far").n, "4.5", "misread"))
    return walk


def diverged() -> Walk:
    """GAP stopped by a corrected value."""
    walk = Walk(linked(GAP), kind="customer").begin()
    walk.note("4")
    walk.do(acts.Correct(walk.entry("gap").n, "9", "misread"))
    return walk


def resting() -> Walk:
    """REST at its wait, which a senior may skip."""
    walk = Walk(linked(REST), kind="customer").begin()
    walk.on("=wait", **RESTED)
    return walk


# --- roles x acts --------------------------------------------------------------------------------------------------

SIGNED: dict[str, tuple[Callable[[], Walk], Callable[[Walk, acts.Sign], acts.Act]]] = {
    "release": (held, lambda walk, sign: acts.Release(sign)),
    "refuse": (held, lambda walk, sign: acts.Refuse(sign)),
    "sign again": (voided, lambda walk, sign: acts.SignAgain(walk.state.open_signs()[0].n, sign)),
    "skip": (resting, lambda walk, sign: acts.Skip("the band plays", sign)),
    "overrule": (
        lambda: Walk(linked(GAP), kind="customer").begin(),
        lambda walk, sign: acts.Overrule(0, "by ear", sign),
    ),
    "accept": (diverged, lambda walk, sign: acts.Accept("it is fine", sign)),
    "release the job": (ended, lambda walk, sign: acts.ReleaseJob(sign)),
}
"""Every act that carries a sign-off: where it can be done, and the act itself. All are a senior's here."""

SIGNERS = {
    "senior": (acts.Sign("bo", "pin"), None),
    "another senior": (acts.Sign("dot", "pin"), None),
    "journeyman": (acts.Sign("cy", "pin"), "this sign-off is a senior's; Cy Cedar is not one"),
    "apprentice": (acts.Sign("ann", "pin"), "this sign-off is a senior's; Ann Alder is not one"),
    "stranger": (acts.Sign("zed", "pin"), "nobody called 'zed' works in this shop"),
    "played": (PLAYED, "a sign-off on a customer's job needs a person of the shop and their PIN"),
    "no proof": (acts.Sign("bo", ""), "a sign-off is proved by a PIN"),
    "a word": (acts.Sign("bo", "promised"), "a sign-off is proved by a PIN"),
    "second look": (acts.Sign("bo", "second look"), "this shop has more than one person; another person must look"),
}
"""Every kind of signer, and the sentence they are turned away with (None: they may)."""


@pytest.mark.parametrize("act", SIGNED)
@pytest.mark.parametrize("signer", SIGNERS)
def test_every_cell_of_roles_and_acts(act: str, signer: str) -> None:
    """On a customer's job each act takes a senior's PIN and turns everybody else away with a sentence and an event."""
    begin, make = SIGNED[act]
    sign, sentence = SIGNERS[signer]
    walk = begin()
    before = walk.at()
    n = walk.state.n
    if sentence is None:
        walk.do(make(walk, sign))
        assert [e for e in walk.events[n:] if e["what"] == "turned_away"] == []
        event = next(e for e in walk.events[n:] if e.get("sign"))
        assert event["sign"] == {
            "who": sign.who,
            "name": NAMES[sign.who],
            "at": walk.bench.now.isoformat(),
            "how": "pin",
            "role": "senior",
        }
        return
    assert walk.refused(make(walk, sign)) == sentence
    assert [(e["what"], e["why"]) for e in walk.events[n:]] == [("turned_away", sentence)]
    assert walk.last("turned_away")["act"] == type(make(walk, sign)).__name__
    assert walk.at() == before, "the walk stands where it stood"


@pytest.mark.parametrize("act", SIGNED)
@pytest.mark.parametrize("kind", ["practice", "rehearsal"])
def test_the_senior_may_be_played_where_no_customer_is(act: str, kind: str) -> None:
    """In practice and rehearsal every sign-off can be played, and says so."""
    begin, make = SIGNED[act]
    walk = begin()
    walk.events[0] = walk.events[0] | {"kind": kind}
    walk.state = replay(walk.events)
    events = walk.do(make(walk, PLAYED))
    assert next(e for e in events if e.get("sign"))["sign"]["how"] == "practice"


def test_the_shop_names_who_overrules_and_who_releases() -> None:
    """The roles for another branch and for the job's release are the shop's to name."""
    walk = Walk(linked(GAP), kind="customer", overrules="journeyman", releases="journeyman").begin()
    assert walk.refused(acts.Overrule(0, "x", BO)) == "this sign-off is a journeyman's; Bo Birch is not one"
    walk.do(acts.Overrule(0, "by ear", acts.Sign("cy", "pin")))
    walk.on(gap="4", lie="all")
    assert walk.refused(acts.ReleaseJob(BO)) == "this sign-off is a journeyman's; Bo Birch is not one"
    walk.do(acts.ReleaseJob(acts.Sign("dot", "pin")))
    assert walk.last("job_released")["sign"]["role"] == "journeyman"


# --- another person ------------------------------------------------------------------------------------------------


def test_who_did_the_work_does_not_release_it() -> None:
    """A senior who has the work in hand is turned away from their own look; the attempt is kept."""
    walk = held(who="bo")
    assert walk.refused(acts.Release(BO)) == "Bo Birch did this work; another person must look at it"
    assert walk.last("turned_away") | {"n": 0, "at": ""} == {
        "v": 1,
        "n": 0,
        "at": "",
        "who": "bo",
        "what": "turned_away",
        "act": "Release",
        "why": "Bo Birch did this work; another person must look at it",
    }
    assert walk.at()[0] == "hold"
    walk.do(acts.Release(acts.Sign("dot", "pin")))


def test_who_noted_what_is_covered_does_not_release_it_after_handing_over() -> None:
    """Handing the work over does not make one's own measuring somebody else's."""
    walk = Walk(linked(OUTER, INNER, SNIP), kind="customer", who="bo").begin()
    walk.on("far/pull", **TIED)
    walk.do(acts.HandOver("ann", "pull and look"))
    walk.do(acts.TakeOn(), "ann")
    walk.on("=hold", **TIED)
    assert walk.refused(acts.Release(BO)) == "Bo Birch did this work; another person must look at it"
    walk.do(acts.Release(acts.Sign("dot", "pin")))


def test_who_noted_nothing_that_is_covered_may_release() -> None:
    """A senior who only noted what the look does not cover is another person for it."""
    walk = Walk(linked(REST), kind="customer", who="bo").begin()
    walk.on("=wait", **RESTED)
    walk.do(acts.HandOver("ann", "it rests"))
    walk.do(acts.TakeOn(), "ann")
    walk.on("=hold", **RESTED)
    walk.do(acts.Release(BO))


PLAIN_HOLD = procedure(
    """
steps:
  - step: first
    do: Do it.
  - step: look
    hold: {by: senior, signs: checked, because: Two looks}
    branches:
      - {when: hold is released, because: Looked at, go: second}
      - {when: hold is refused, because: Refused, go: first, at_most: 3, then: finish}
  - step: second
    do: Do more.
  - step: look-again
    hold: {by: senior, signs: checked, because: Two looks}
    branches:
      - {when: hold is released, because: Looked at, go: finish}
      - {when: hold is refused, because: Refused, go: second, at_most: 3, then: finish}
  - step: finish
    end: done
"""
)


def test_a_look_that_covers_no_reading_is_over_all_work_since_the_last_look() -> None:
    """Without readings to cover, everybody who had a hand in it since the last look is its worker, nobody before."""
    walk = Walk(linked(PLAIN_HOLD), kind="customer", who="bo").begin()
    walk.do(acts.Done())
    walk.do(acts.HandOver("ann", "look at it"))
    walk.do(acts.TakeOn(), "ann")
    walk.do(acts.CheckPlace())
    assert walk.refused(acts.Release(BO)) == "Bo Birch did this work; another person must look at it"
    walk.do(acts.Release(acts.Sign("dot", "pin")))
    walk.do(acts.Done())
    assert walk.at() == ("hold", "look-again")
    walk.do(acts.Release(BO))


def test_ones_own_work_may_be_refused() -> None:
    """Saying that one's own work is not good enough needs no second person."""
    walk = held(who="bo")
    walk.do(acts.Refuse(BO))
    assert walk.last("refused")["sign"]["who"] == "bo"


def test_signing_again_needs_another_person_too() -> None:
    """Neither who has the work in hand nor who noted what is covered gives the void look again."""
    walk = Walk(linked(OUTER, INNER, SNIP), kind="customer", who="bo").begin()
    walk.on("=hold", **TIED)
    walk.do(acts.HandOver("cy", "it is to be looked at"))
    walk.do(acts.TakeOn(), "cy")
    walk.do(acts.CheckPlace())
    walk.do(acts.Release(acts.Sign("dot", "pin")))
    walk.do(acts.Correct(walk.entry("gap", "far").n, "4.5", "misread"))
    void = walk.state.open_signs()[0].n
    assert walk.refused(acts.SignAgain(void, BO)) == "Bo Birch did this work; another person must look at it"
    walk.do(acts.SignAgain(void, acts.Sign("dot", "pin")))


def test_a_sign_off_names_job_step_text_and_what_it_covers() -> None:
    """So that it cannot be moved: the look carries the job, the step, the visit, the text's hash and the events."""
    walk = held()
    walk.do(acts.Release(BO))
    event = walk.last("released")
    assert (event["job"], event["step"], event["text"]) == ("J-1", "senior-look", walk.book.text)
    assert walk.state.visits[event["visit"] - 1].step == "senior-look"
    assert [walk.state.entries[n].name for n in event["covers"]] == ["gap", "clear"]


def test_what_was_left_out_is_not_covered() -> None:
    """A look speaks for what was noted; a reading that was left out is none of it."""
    walk = resting()
    walk.do(acts.Skip("no time", BO))
    walk.on("=hold", **RESTED)
    walk.do(acts.Release(BO))
    assert walk.last("released")["covers"] == []


def test_each_rod_that_is_covered_is_named() -> None:
    """A look over a reading at every rod covers each of its entries, and a correction of one voids it."""
    data = RODS.replace(
        b"  - step: edges\n",
        b"  - step: look\n    hold: {by: senior, signs: even, covers: [note], because: Two looks}\n"
        b"    branches:\n      - {when: hold is released, because: Looked at, go: edges}\n"
        b"      - {when: hold is refused, because: Refused, go: stop-here}\n  - step: edges\n",
    ).replace(b"because: Even, go: edges", b"because: Even, go: look")
    walk = Walk(linked(data), kind="customer").begin({"rods": "4"})
    walk.on("edges", runs="free", note="220", edge="smooth")
    assert len(walk.last("released")["covers"]) == 4
    walk.do(acts.Correct(walk.entry("note", place="3").n, "221", "misheard"))
    assert len(walk.state.open_signs()) == 1


# --- the one-person shop -------------------------------------------------------------------------------------------

ALONE = {"roles": {"bo": ROLES["bo"]}, "one_person": True}


def alone() -> Walk:
    """OUTER at its hold in a shop of one."""
    return held(who="bo", **ALONE)


def look(**again: str) -> acts.Sign:
    """A second look by the same hand, with what was measured again."""
    return acts.Sign("bo", "second look", {key.replace("_", "."): typed for key, typed in again.items()})


def test_one_person_looks_again_after_a_time_and_measures_blind() -> None:
    """Ten minutes later, every covered number measured anew and in agreement: the look counts, and is marked."""
    walk = alone()
    assert walk.refused(acts.Release(BO)) == "Bo Birch did this work; another person must look at it"
    walk.wait(minutes=10)
    walk.do(acts.Release(look(far_gap="4.2", clear="340.5")))
    sign = walk.last("released")["sign"]
    assert sign["how"] == "second look"
    assert sign["again"] == {"far.gap": "4.2", "clear": "340.5"}
    assert sign["policy"] == "second look by the same hand"


@pytest.mark.parametrize(("minutes", "left"), [(0, 10), (4, 6), (9.5, 1)])
def test_the_second_look_does_not_come_at_once(minutes: float, left: int) -> None:
    """Before the time is up the look is refused, and says how long is left."""
    walk = alone()
    walk.wait(minutes=minutes)
    sentence = walk.refused(acts.Release(look(far_gap="4", clear="340")))
    assert sentence == f"the second look comes 10 min after the first; {left} min left"
    assert walk.of("turned_away") == [], "it is early, not forbidden"


def test_every_covered_number_is_measured_again() -> None:
    """A number left unmeasured, also one inside a run, is asked for in the procedure's words."""
    walk = alone()
    walk.wait(minutes=11)
    assert walk.refused(acts.Release(look(clear="340"))) == "measure again without looking at the first value: Gap"
    sentence = walk.refused(acts.Release(look(far_gap="4", clear=" ")))
    assert sentence == "measure again without looking at the first value: Clear length"
    covers = [walk.entry("gap", "far").n, walk.entry("clear").n]
    asks = measured_again(walk.state, covers, walk.state.here(), walk.bench)
    assert asks == {"far.gap": "Gap", "clear": "Clear length"}


def test_a_second_look_that_does_not_agree_is_refused() -> None:
    """Another verdict than the first means measuring properly and correcting, not releasing."""
    walk = alone()
    walk.wait(minutes=11)
    sentence = walk.refused(acts.Release(look(far_gap="7", clear="340")))
    assert sentence == "the second look at 'Gap' does not agree with the first; measure and correct it"
    walk.refused(acts.Release(look(far_gap="wide", clear="340")))


def test_after_a_correction_the_time_runs_anew() -> None:
    """A look at a corrected value comes ten minutes after the correction, not after the first reading."""
    walk = alone()
    walk.wait(minutes=11)
    walk.do(acts.Release(look(far_gap="4.2", clear="340")))
    walk.do(acts.Correct(walk.entry("gap", "far").n, "4.6", "misread"))
    again = acts.SignAgain(walk.state.open_signs()[0].n, look(far_gap="4.5", clear="340"))
    assert walk.refused(again) == "the second look comes 10 min after the first; 10 min left"
    walk.wait(minutes=10)
    walk.do(again)


def test_every_place_of_a_covered_number_is_measured_again() -> None:
    """A reading at several places is measured again at each."""
    data = procedure(
        """
readings:
  skew: {ask: Skew, unit: mm, possible: 0 .. 20, wanted: at most 1, per: [butt side, strainer side]}
  lie: {ask: How they lie, choices: {all: all, some: some}}
steps:
  - step: measure
    record: [skew, lie]
  - step: look
    hold: {by: senior, signs: checked, covers: [skew, lie], because: Two looks}
    branches:
      - {when: hold is released, because: Looked at, go: finish}
      - {when: hold is refused, because: Refused, go: finish}
  - step: finish
    end: done
"""
    )
    walk = Walk(linked(data), kind="customer", who="bo", **ALONE).begin()
    walk.on("=hold", skew="0.5", lie="all")
    walk.wait(minutes=10)
    sentence = walk.refused(acts.Release(acts.Sign("bo", "second look", {"skew at butt side": "0.4"})))
    assert sentence == "measure again without looking at the first value: Skew, at strainer side"
    good = {"skew at butt side": "0.4", "skew at strainer side": "0.6"}
    walk.do(acts.Release(acts.Sign("bo", "second look", good)))
    assert walk.last("released")["sign"]["again"] == good


def test_refusing_ones_own_work_needs_no_waiting() -> None:
    """The policy guards a release; a refusal is taken at once."""
    walk = alone()
    walk.do(acts.Refuse(acts.Sign("bo", "second look")))
    assert walk.last("refused")["sign"]["who"] == "bo"


def test_the_shop_sets_the_time_of_the_second_look() -> None:
    """The time between the looks is the shop's policy."""
    walk = held(who="bo", **ALONE, second_look=timedelta(hours=1))
    walk.wait(minutes=20)
    sentence = walk.refused(acts.Release(look(far_gap="4", clear="340")))
    assert sentence == "the second look comes 60 min after the first; 40 min left"


# --- after the fact ------------------------------------------------------------------------------------------------


def test_only_the_last_branch_can_be_overruled_afterwards() -> None:
    """`just_taken` names the branch that can still be overruled, and none once anything was done or the walk ended."""
    walk = Walk(linked(GAP)).begin()
    assert just_taken(walk.state) is None
    walk.note("9")
    took = just_taken(walk.state)
    assert took is not None and (took.visit, took.go) == (1, "set-again")
    walk.do(acts.Done())
    assert just_taken(walk.state) is None, "the step after it was done, and led on without a branch"
    walk.on(gap="4", lie="all")
    assert just_taken(walk.state) is None
