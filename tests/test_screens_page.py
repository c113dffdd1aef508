"""The page of the walk on a low screen, and what it says of keys: no half drawings, one meaning of Enter at a time."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot

from benchwalk.job.shop import Shop
from benchwalk.screens import fitting
from benchwalk.screens.app import BenchwalkApp
from benchwalk.screens.doing import Wish
from benchwalk.screens.hand import Hand
from benchwalk.screens.walk import WalkScreen
from benchwalk.walk import acts
from house import patiently
from scenes import stands_at
from screen_helpers import NARROW, WIDE, part, press, settled, shown, walk_to, walking
from shop_helpers import begin, drive, fresh_shop
from walk_helpers import GAP, REST, linked, shipped

pytestmark = pytest.mark.asyncio

WRONG, RIGHT = "Wrong: one knot, too thin", "tail -----(@)========== cord"
"""The first and the last but one line of the drawing at the stopper knot."""


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with three people."""
    return fresh_shop(tmp_path)


async def test_no_half_of_a_drawing_is_shown(shop: Shop) -> None:
    """Where a drawing has no room it stands back, a line says which key shows it, and that key shows all of it."""
    async with walking(stands_at(shop, "stop-knot")) as (pilot, screen):
        assert WRONG not in shown(pilot) and "F8 shows the drawing" in shown(pilot)
        await press(pilot, "f8")
        assert WRONG in shown(pilot) and RIGHT in shown(pilot)
        assert "two overhand knots one on the other" not in part(screen, "choices")


async def test_from_all_the_words_back_to_the_question(shop: Shop) -> None:
    """With the choices standing back, Enter reads on and then goes back to them, and a figure marks its choice."""
    async with walking(stands_at(shop, "stop-knot")) as (pilot, screen):
        before = screen.session.state.n
        await press(pilot, "f8")
        for _ in patiently():  # what fits is known only once the page was laid out
            if "Enter reads on" in part(screen, "press"):
                break
            await pilot.pause(0.02)
        assert "Enter reads on" in part(screen, "press")
        for _ in range(6):
            if "goes back to the question" in part(screen, "press"):
                break
            await press(pilot, "enter")
        await press(pilot, "enter")
        assert "two overhand knots" in part(screen, "choices") and not screen.said_again
        await press(pilot, "f8", "2")
        assert screen.marked == 1 and "> 2" in part(screen, "choices")
        assert screen.session.state.n == before


async def test_again_pressed_twice_is_back_at_the_question(shop: Shop) -> None:
    """The key that shows all the words takes them away again where they hide the choices."""
    async with walking(stands_at(shop, "stop-knot")) as (pilot, screen):
        await press(pilot, "f8", "f8")
        assert "two overhand knots" in part(screen, "choices")


async def test_drawing_stands_on_the_page_where_there_is_room(shop: Shop) -> None:
    """On a wide and high screen the drawing is on the page at once."""
    async with walking(stands_at(shop, "stop-knot"), WIDE) as (pilot, _screen):
        assert WRONG in shown(pilot) and RIGHT in shown(pilot) and "shows the drawing" not in shown(pilot)


async def test_enter_has_one_meaning_at_a_time(shop: Shop) -> None:
    """Where more of the page stands below Enter reads on; what it does at the end is said before it does it."""
    async with walking(begin(shop)) as (pilot, screen):
        said = []
        before = screen.session.state.n
        while screen.session.state.n == before:
            said.append(part(screen, "press"))
            await press(pilot, "enter")
        assert said[-1] == "Enter when all is at hand" and len(said) > 1
        assert set(said[:-1]) == {"Enter reads on"}


async def test_what_is_missing_at_the_start_is_not_noted_by_a_slip(shop: Shop) -> None:
    """Something typed before the first stop does not pass the rest of the page, and the keys say that it is noted."""
    async with walking(begin(shop)) as (pilot, screen):
        before = screen.session.state.n
        await press(pilot, *"no glue")
        assert part(screen, "press") == "Enter reads on"
        while part(screen, "press") == "Enter reads on":
            await press(pilot, "enter")
        assert screen.session.state.n == before
        assert part(screen, "press") == "Enter goes on without it, and notes why"


async def test_correction_says_how_it_is_understood(shop: Shop) -> None:
    """While a corrected value is typed its unit stands there, and how it is understood and judged."""
    async with walking(stands_at(shop, "lever-off")) as (pilot, _screen):
        await press(pilot, "f3", "enter")
        assert "in mm" in shown(pilot)
        await press(pilot, *"1/8 in")
        assert "Understood: 3.175 mm" in shown(pilot)


async def test_what_may_happen_is_named_where_it_may(shop: Shop) -> None:
    """At a stop where something is foreseen the keys name the one for it."""
    async with walking(stands_at(shop, "stop-knot")) as (_pilot, screen):
        assert "F6 if something happened" in part(screen, "press")
    async with walking(stands_at(shop, "rest", "wait")) as (_pilot, screen):
        assert "F6 if something happened" in part(screen, "press"), "a cord may slip while it rests"


async def test_action_beside_a_hazard_is_seen_after_a_correction(shop: Shop) -> None:
    """Where a correction leaves no room for the action, what was found last and why one is here stand back."""
    async with walking(stands_at(shop, "seal", "do")) as (pilot, screen):
        why = part(screen, "why")
        assert why and part(screen, "last-left")
        length = next(n for n, entry in screen.session.state.entries.items() if entry.name == "clear_length")
        await screen.do(Wish(acts.Correct(length, "341", "misread")))
        await seen(pilot, "Corrected; the old value stays", "! WARNING", "it set.")
        assert not part(screen, "why") and not part(screen, "last-left")
        await press(pilot, "1", "enter")
        assert part(screen, "why") and part(screen, "last-left")


async def test_a_page_with_room_for_it_is_whole_where_a_scroll_bar_came_and_went(shop: Shop) -> None:
    """A hazard that just fits a line was broken into another by the scroll bar of the page before: the page then takes
    the room that there is, and no edge of the hazard is cut off."""
    session = begin(shop, shipped("even-snare-side-head"), drum={"rods": "5"})
    while (here := drive(session, "reading")).name != "gates":
        given = {"bed_depth": "1.5", "bed_off": "1.5", "want": "280"}
        word = given.get(here.name) or next(iter(here.reading.choices))
        assert session.do(acts.Record(word)).refusal is None
    async with walking(session, size=WIDE) as (pilot, screen):
        await press(pilot, "2", "enter")
        page = screen.query_one("#page")
        for _ in patiently():
            if screen.shown.kind == "hazard" and not page.show_vertical_scrollbar:
                break
            await pilot.pause(0.02)
        assert "a quarter turn a rod and pass. ┃" in shown(pilot)
        assert page.max_scroll_y == 0


async def test_a_page_that_something_lies_over_is_given_its_lines_once(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Below a help page nothing is laid out, so a page there stays as short as it is; asked for ever, the program could
    not even be ended from outside."""
    asked: list[object] = []
    monkeypatch.setattr(fitting, "_grown", lambda screen, page: asked.append(page) or True)
    async with walking(begin(shop, linked(GAP), drum={})) as (pilot, screen):
        await press(pilot, "f1")
        await settled(pilot)
        asked.clear()
        fitting.lay_below(screen)
        for _ in range(20):
            await pilot.pause()
        assert len(asked) == 1


async def test_what_was_found_last_is_whole_where_there_is_room_and_marked_where_it_is_cut(shop: Shop) -> None:
    """A long note stands whole above a short page; where there is no room its beginning stands with a sign."""
    session = begin(shop, linked(GAP), drum={})
    session.do(acts.Ready())
    session.do(acts.Note("the hoop was bent by somebody " * 9 + "lately"))
    async with walking(session) as (pilot, screen):
        await seen(pilot, "lately")
        session.do(acts.Note("the hoop was bent by somebody " * 60 + "lately"))
        screen.refresh_page()
        await seen(pilot, " …", "Measure the gap.")
        assert "lately" not in shown(pilot)


async def seen(pilot: Pilot[int], *words: str) -> None:
    """Wait until all of that stands on the screen; what fits is known only once the page was laid out."""
    for _ in patiently():
        if all(each in shown(pilot) for each in words):
            return
        await pilot.pause(0.02)
    raise AssertionError(f"never seen: {words}\n{shown(pilot)}")


async def test_refused_value_is_said_once_and_replaced_by_the_next_key(shop: Shop) -> None:
    """What was refused stands selected with one sentence why; typing puts the new value in its place."""
    async with walking(stands_at(shop, "lever-off")) as (pilot, screen):
        await press(pilot, *"12x", "enter")
        assert shown(pilot).count("is no unit that fits here") == 1
        await press(pilot, *"9.5")
        assert screen.entry.value == "9.5" and "Understood: 9.5 mm" in shown(pilot)


async def test_sentences_name_the_users_own_keys(shop: Shop) -> None:
    """A sentence that tells of a key tells of the key the user gave that action."""
    app = BenchwalkApp(lambda: WalkScreen(Hand(begin(shop))), quiet=0.0, keys={"walk.yes": "j", "walk.jump": "y"})
    async with app.run_test(size=NARROW) as pilot:
        await settled(pilot)
        screen = app.screen
        assert isinstance(screen, WalkScreen)
        await walk_to(pilot, screen, "hazard")
        await press(pilot, "enter")
        assert "press j when you have read it" in shown(pilot)


async def test_two_choices_are_marked_by_one_key_or_the_other(shop: Shop) -> None:
    """Where there are two choices the keys are told as one or the other, and where there are more as a row of them."""
    async with walking(stands_at(shop, "try-mounts")) as (_pilot, screen):
        assert len(screen.shown.choices) == 2 and part(screen, "press").startswith("1 or 2 marks, then Enter takes it")
    async with walking(stands_at(shop, "stop-knot")) as (_pilot, screen):
        assert part(screen, "press").startswith(f"1 to {len(screen.shown.choices)} marks, then Enter takes it")


async def test_what_should_be_seen_is_told_only_of_what_is_to_be_done_or_was(shop: Shop) -> None:
    """Taken up at a stop whose action waits, the page says nothing of what comes of it before it is looked at."""
    session = begin(shop, linked(REST), drum={})
    session.do(acts.Ready())
    session.do(acts.Acknowledge())
    session.do(acts.Pause("lever on"))
    session.do(acts.Resume())
    async with walking(session) as (pilot, screen):
        assert screen.shown.kind == "recheck" and part(screen, "expect") == ""
        await press(pilot, "enter", "y")
        assert screen.shown.kind == "do" and part(screen, "expect") == "You should see: It lies off."
        session.do(acts.Done())
        session.do(acts.Pause("lever off"))
        session.do(acts.Resume())
        screen.refresh_page()
        assert screen.shown.kind == "recheck" and part(screen, "expect") == "You should see: It lies off."


async def test_rest_is_told_before_it_begins(shop: Shop) -> None:
    """The time that must pass after a step is said on its page before it is done."""
    async with walking(stands_at(shop, "rest")) as (pilot, _screen):
        assert "30 min must pass" in shown(pilot)


async def test_a_note_leaves_on_the_page_what_a_correction_said(shop: Shop) -> None:
    """What came of a correction stays on the page through a note, until the walk goes on."""
    async with walking(stands_at(shop, "tag-edges"), WIDE) as (pilot, screen):
        await press(pilot, "f3", "enter", "2", "enter", *"seen anew", "enter")
        assert "Corrected; the old value stays in the log." in shown(pilot)
        await press(pilot, "f2", *"by lamp", "ctrl+s")
        assert "Corrected; the old value stays in the log." in shown(pilot)
        assert [note[4] for note in screen.session.state.notes] == ["by lamp"]
