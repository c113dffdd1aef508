"""The shipped procedures: what they need, what is typed in them, and that figures that cannot be are never believed."""

from __future__ import annotations

from collections.abc import Callable
from itertools import permutations, product

import pytest

from benchwalk.library import Library
from benchwalk.procedure.model import Example
from benchwalk.proof.check import check_source, telling
from benchwalk.proof.rehearse import Player
from benchwalk.sums import compute
from benchwalk.walk.phase import now

LIBRARY = Library.of()
NAMES = LIBRARY.ids()
KINDS = ("tools", "parts", "supplies")
MOST = 2000  # acts; a walk that has not stopped by then does not stop


def walked(stop: Callable[[list[str]], bool], **given: object) -> Player:
    """The re-tie walked as usual but for `given`, until `stop` says so of the steps visited, or it has ended."""
    example = Example.of({"example": "a try", "given": given})
    player = Player(LIBRARY.get("retie-snare-cords"), example, compute)
    player.begin()
    for _ in range(MOST):
        here = now(player.state, player.bench)
        if here.kind == "account" or stop(player.visits()):
            return player
        player.act(player.answer(here))
    raise AssertionError(f"the walk did not stop: {player.visits()[-5:]}")


def after(step: str, **given: object) -> str:
    """The step that follows the first stop at `step`, where the rest is as usual but for `given`."""
    return walked(lambda visits: visits[-2:-1] == [step], **given).visits()[-1]


@pytest.mark.parametrize("name", NAMES)
def test_shipped_procedure_has_nothing_but_procedures_still_to_be_written(name: str) -> None:
    """Checked with its examples walked, a shipped procedure is told at most that a proposal is not in the library."""
    source, linked = LIBRARY.open(LIBRARY.path_of(name))
    found = check_source(source, linked, known=NAMES, tell=telling(compute))
    assert {finding.rule for finding in found} <= {"unknown-proposal"}


@pytest.mark.parametrize("name", NAMES)
def test_needs_take_in_what_every_run_needs(name: str) -> None:
    """What a run procedure wants on the bench stands in the same words in the needs of whoever runs it."""
    linked = LIBRARY.get(name)
    for run in linked.runs.values():
        for kind in KINDS:
            inner, outer = getattr(run.procedure.needs, kind) or [], getattr(linked.procedure.needs, kind) or []
            assert set(inner) <= set(outer), f"{run.procedure.procedure}: {kind}"


def test_nothing_needed_has_two_names() -> None:
    """No tool, part or supply is another one with more words: a `small steel rule` is counted as a steel rule."""
    for kind in KINDS:
        words = {word for name in NAMES for word in getattr(LIBRARY.get(name).procedure.needs, kind) or []}
        assert [(a, b) for a, b in permutations(words, 2) if a.endswith(f" {b}") or a.startswith(f"{b} ")] == []


@pytest.mark.parametrize("name", NAMES)
def test_reasons_are_no_actions(name: str) -> None:
    """No branch says in its reason that something is to be done and tried again: what is done stands in a step."""
    for step in LIBRARY.get(name).procedure.steps:
        for line in step.lines:
            told = f"{line.because} "
            assert not any(f"and {verb} again " in told for verb in ("try", "measure", "push", "count", "nip", "start"))


def test_knob_set_beyond_the_whole_is_counted_again() -> None:
    """First speech 3, choke 2.2 and set at 9 of a whole of 3 turns: one is miscounted, and the whole is counted."""
    knob = {"knob_total": "3", "knob_found": "2", "knob_mid": "1.5"}
    places = {"knob_speech": "3", "knob_choke": "2.2", "knob_set": "9"}
    player = walked(lambda visits: visits[-2:-1] == ["set-knob"], **knob, **places)
    assert player.visits()[-1] == "count-travel"
    assert "9 turns is more than the whole, 3 turns" in player.state.visits[-1].why


@pytest.mark.parametrize(("speech", "choke", "at"), product((1, 5, 9, 13), (1, 5, 9, 13), (2, 7, 14)))
def test_only_a_place_of_the_knob_that_can_be_is_judged(speech: int, choke: int, at: int) -> None:
    """Of 12 turns, only a place between first speech and choke is told as good, long or short, and no other."""
    went = after("set-knob", knob_speech=str(speech), knob_choke=str(choke), knob_set=str(at))
    can_be = speech < choke <= 12 and speech <= at <= choke
    assert (went in ("gaps", "free-strainer")) == can_be
    assert (went == "gaps") == (can_be and 4 <= at <= 8)


@pytest.mark.parametrize(("butt", "strainer"), product((-4, 1, 4, 6, 9), repeat=2))
def test_gaps_that_do_not_make_up_the_room_are_measured_again(butt: int, strainer: int) -> None:
    """With a room of 8 mm, two gaps more than 2 mm off it lead back to the rule and never to the cords."""
    went = after("gaps", butt_gap=str(butt), strainer_gap=str(strainer))
    assert (went == "gaps") == (abs(butt + strainer - 8) > 2)


@pytest.mark.parametrize(
    ("given", "found"),
    [
        ({"knob_feel": "seized"}, "knob-stuck"),
        ({"knob_feel": "seized", "knob_total": "missing", "knob_found": "missing"}, "knob-stuck"),
        ({"knob_total": "missing"}, "knob-uncounted"),
        ({"knob_found": "missing"}, "knob-uncounted"),
        ({"knob_total": "5"}, "knob-uncounted"),
        ({"knob_total": "0"}, "knob-no-travel"),
    ],
)
def test_why_the_knob_sends_the_drum_on_is_told_apart(given: dict[str, str], found: str) -> None:
    """A knob that turns by hand is never referred as seized; each of the reasons has a finding of its own."""
    player = walked(lambda visits: False, **given)
    assert player.visits()[-1] == "refer"
    assert [f.finding for f in player.state.found] == [found]
