"""What the checker says of hidden events and idle skips is what the walk does."""

from __future__ import annotations

import pytest

from benchwalk.procedure.linked import Linked
from benchwalk.proof.rehearse import Player
from benchwalk.proof.rules import hidden_event, may_skip
from benchwalk.sums import compute
from benchwalk.walk import acts
from benchwalk.walk.decide import decide
from benchwalk.walk.phase import now
from benchwalk.walk.step_acts import happenings
from samples import linked

EVENT = """
whenever:
  - {{event: drips, say: Oil drips, during: [{during}], run: {{procedure: wipe-the-film, as: {name}}}, then_back: true}}
steps:
  - {{step: wipe, stage: {{id: first, title: First}}, do: Begin., run: {{procedure: wipe-the-film, as: wiped}}}}
  - {{step: leave, stage: {{id: last, title: Last}}, do: Put it by., end: done}}
examples:
  - example: as it comes
"""


def played(book: Linked) -> list[tuple[str, bool]]:
    """(path and step, whether the event can be picked) wherever the one example's walk asks somebody."""
    player = Player(book, book.procedure.examples[0], compute)
    player.begin()
    found: list[tuple[str, bool]] = []
    while not player.state.ended:
        here = now(player.state, player.bench)
        if here.visit is not None and here.step is not None:
            path = player.state.frames[-1].path
            found.append((f"{path}/{here.step.step}", bool(happenings(player.state, player.bench))))
        player.act(player.answer(here))
    return found


@pytest.mark.parametrize("name", ["wiped", "again"])
@pytest.mark.parametrize("during", ["wipe", "leave", "everywhere", "stage first", "stage last"])
def test_event_is_told_as_hidden_exactly_where_the_walk_hides_it(name: str, during: str) -> None:
    """The rule speaks when the event, though foreseen at the step, cannot be picked inside the step's run."""
    book = linked(EVENT.format(name=name, during=during))
    can = dict(played(book))
    assert set(can) == {"/wipe", "wiped/wipe", "/leave"}
    hidden = can["/wipe"] and not can["wiped/wipe"]
    assert hidden == (name == "wiped" and during not in ("leave", "stage last"))
    assert [f.rule for f in hidden_event.check(book)] == ["hidden-event"] * hidden


HOLD = """
readings:
  gap: {{ask: Gap, unit: mm}}
steps:
  - step: look
    caution: {{hazard: Sharp, consequence: Pricks, avoid: Gloves}}
    do: Look at it.
    record: [gap]
    may_skip: {{because: It is wanted, by: senior}}
    hold: {{by: senior, signs: checked, {more}because: It comes back}}
{lines}  - {{step: leave, do: Put it by., end: done}}
examples:
  - {{example: looked at, given: {{gap: 3}}, acts: {{look: {{visits: [{act}, released]}}}}}}
"""
ASKED = """    branches:
      - {when: hold is released, because: Good, go: leave}
      - {when: hold is refused, because: Bad, go: leave}
"""


@pytest.mark.parametrize("more", ["", "for_work_by: [apprentice], ", "for_work_by: [trainee], "])
@pytest.mark.parametrize("lines", ["", ASKED])
@pytest.mark.parametrize("act", ["released", "refused"])
def test_skip_of_a_step_with_a_hold_is_refused_at_every_question(more: str, lines: str, act: str) -> None:
    """Whatever the step asks, whoever must look and however it comes out, the walk never takes the skip."""
    book = linked(HOLD.format(more=more, lines=lines, act=act))
    assert [f.rule for f in may_skip.check(book)] == ["may-skip"]
    player = Player(book, book.procedure.examples[0], compute)
    player.begin()
    asked: list[str] = []
    while not player.state.ended and len(asked) < 20:
        here = now(player.state, player.bench)
        if here.step is not None and here.step.step == "look":
            asked.append(here.kind)
            skip = acts.Skip("it is wanted", acts.Sign("senior", "practice"))
            tried = decide(player.state, skip, player.who, player.bench)
            assert tried.refusal == "a look by another person cannot be skipped" and not tried.events
        if here.kind == "hold" and "hold" in asked[:-1]:
            break  # refused, and no branch asks: it waits to be released
        player.act(player.answer(here))
    assert asked[:3] == ["hazard", "do", "reading"] and ("hold" in asked) == ("trainee" not in more)
