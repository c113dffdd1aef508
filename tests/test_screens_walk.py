"""The walk on the full screen: what stands on the page, what keys do, and that the record is that of any other walk."""

from __future__ import annotations

import asyncio
import threading
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from textual.widgets import Input

from benchwalk.job.disk import OsDisk
from benchwalk.job.shop import Shop
from benchwalk.screens import doing, fits
from benchwalk.screens.actions import ACTIONS, WALK, at
from benchwalk.screens.asking import AskLine, Pick
from benchwalk.screens.flows import FLOWS
from benchwalk.screens.route import RouteScreen
from benchwalk.screens.walk import WalkScreen
from benchwalk.shop.waiting import waiting
from benchwalk.walk import acts
from benchwalk.walk.phase import AUTOMATIC
from scenes import stands_at
from screen_helpers import NARROW, WIDE, Finger, part, press, settled, shown, walk_to, walking
from shop_helpers import PINS, Clock, bare, begin, drive, events, fresh_shop, walked
from walk_helpers import GAP, OUTER, linked, procedure, shipped

pytestmark = pytest.mark.asyncio


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with three people."""
    return fresh_shop(tmp_path)


def gap_walk(shop: Shop, **more: Any) -> Any:
    """A practice job of the small procedure with a gap and a look."""
    return begin(shop, linked(GAP), drum={}, **more)


async def ready(pilot: Any) -> None:
    """Pass what must be at hand."""
    for _ in range(4):
        if pilot.app.screen.shown.kind != "ready":
            return
        await press(pilot, "enter")


# --- the whole -------------------------------------------------------------------------------------------------------


@pytest.mark.heavy
@pytest.mark.parametrize("size", [NARROW, WIDE])
async def test_whole_flagship_by_keys_has_the_record_of_plain_mode(tmp_path: Path, size: tuple[int, int]) -> None:
    """The flagship walked by keys leaves, event by event, the log that plain mode leaves."""
    screens, plain = fresh_shop(tmp_path / "a"), fresh_shop(tmp_path / "b")
    session = begin(screens)
    async with walking(session, size) as (pilot, screen):
        await walk_to(pilot, screen, "ended")
        await press(pilot, "enter")
        assert screen.shown.kind == "released"
    walked(begin(plain))
    assert bare(events(screens, "J-0001")) == bare(events(plain, "J-0001"))


# --- the page --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", [NARROW, WIDE])
async def test_identity_is_always_on_screen(shop: Shop, size: tuple[int, int]) -> None:
    """Procedure, revision, job, kind, person and stop are on the page at every size."""
    async with walking(stands_at(shop, "build"), size) as (pilot, _screen):
        said = shown(pilot)
        for words in ("Tie the snares anew", "revision 1", "J-0001", "practice", "Tam Reyes", "stop 2"):
            assert words.lower() in said.lower(), words


async def test_hazards_stand_before_the_action_and_again_beside_it(shop: Shop) -> None:
    """A step's hazard is read before its action is shown, and stands above the action after that."""
    async with walking(begin(shop)) as (pilot, screen):
        await walk_to(pilot, screen, "hazard")
        assert "WARNING" in shown(pilot) and part(screen, "action") == ""
        await press(pilot, "y")
        lines = shown(pilot).splitlines()
        warning = next(i for i, row in enumerate(lines) if "WARNING" in row)
        action = next(i for i, row in enumerate(lines) if part(screen, "action")[:20] in row)
        assert warning < action


async def test_enter_alone_passes_no_hazard_no_look_and_no_count(shop: Shop) -> None:
    """Hazards, looks and the count at the end take a key of their own; Enter says so and changes nothing."""
    async with walking(begin(shop)) as (pilot, screen):
        await walk_to(pilot, screen, "hazard")
        before = screen.session.state.n
        await press(pilot, "enter", "enter", "pagedown")
        assert screen.session.state.n == before
        assert "press y" in shown(pilot)


async def test_a_hazard_that_does_not_fit_is_read_to_its_end_before_y_counts(shop: Shop) -> None:
    """Where the hazards of a step do not all fit, y first shows the rest of them."""
    long = "and so is what stands beside it on the bench; " * 5
    graded = "\n".join(
        f"    {grade}: {{hazard: 'It is sharp, {long}', consequence: 'It cuts, {long}', avoid: 'Gloves on, {long}'}}"
        for grade in ("danger", "warning", "caution")
    )
    body = f"steps:\n  - step: one\n{graded}\n    do: Turn it.\n  - step: two\n    end: done\n"
    async with walking(begin(shop, linked(procedure(body)), drum={})) as (pilot, screen):
        await ready(pilot)
        assert screen.shown.kind == "hazard"
        await press(pilot, "y")
        assert screen.shown.kind == "hazard" and "read on first" in shown(pilot).lower()
        for _ in range(6):
            await press(pilot, "y")
        assert screen.shown.kind == "do"


async def test_escape_throws_written_text_away_only_when_pressed_twice(shop: Shop) -> None:
    """The first Escape in a note that holds text says so and keeps it; the second leaves."""
    async with walking(gap_walk(shop)) as (pilot, screen):
        await ready(pilot)
        await press(pilot, "f2", *"a nick", "escape")
        assert pilot.app.screen is not screen and "Esc once more" in shown(pilot)
        await press(pilot, "escape")
        assert pilot.app.screen is screen and not screen.session.state.notes


async def test_what_is_typed_is_understood_before_it_counts(shop: Shop) -> None:
    """While a value is typed its meaning and judgement stand below it, and Enter notes exactly that."""
    async with walking(gap_walk(shop)) as (pilot, screen):
        await ready(pilot)
        await press(pilot, *"1/4 in")
        assert "6.35 mm" in part(screen, "understood") and "above by 0.35 mm" in part(screen, "understood")
        await press(pilot, "enter")
        entry = next(e for e in screen.session.state.entries.values() if e.name == "gap")
        assert (entry.typed, entry.value, entry.verdict) == ("1/4 in", "6.35", "above")


@pytest.mark.parametrize(("typed", "said"), [("1,000", "1,000"), ("nan", "nan"), ("6 Hz", "Hz"), ("[/x]", "[/x]")])
async def test_what_is_not_understood_is_said_and_kept_in_the_entry(shop: Shop, typed: str, said: str) -> None:
    """A value that is not clear is not noted: why is said, and it stays to be mended."""
    async with walking(gap_walk(shop)) as (pilot, screen):
        await ready(pilot)
        before = screen.session.state.n
        screen.entry.value = typed
        await press(pilot, "enter")
        assert screen.session.state.n == before and screen.entry.value == typed
        assert said in shown(pilot)


async def test_a_decimal_comma_is_a_comma(shop: Shop) -> None:
    """`4,5` is four and a half, key by key."""
    async with walking(gap_walk(shop)) as (pilot, screen):
        await ready(pilot)
        await press(pilot, "4", "comma", "5", "enter")
        assert [e.value for e in screen.session.state.entries.values()] == ["4.5"]


async def test_a_value_outside_the_possible_is_asked_about(shop: Shop) -> None:
    """What lies outside the possible is noted only after y; Escape leaves it unnoted and typed."""
    async with walking(gap_walk(shop)) as (pilot, screen):
        await ready(pilot)
        await press(pilot, *"900", "enter")
        assert "Look again" in shown(pilot)
        await press(pilot, "escape")
        assert not screen.session.state.entries and screen.entry.value == "900"
        await press(pilot, "enter", "y")
        assert [e.odd for e in screen.session.state.entries.values()] == [True]


async def test_a_choice_is_marked_first_and_noted_by_enter(shop: Shop) -> None:
    """A figure only marks; Enter without a mark says so; Enter with one notes it."""
    async with walking(gap_walk(shop)) as (pilot, screen):
        await ready(pilot)
        await press(pilot, "4", "enter")
        before = screen.session.state.n
        await press(pilot, "enter")
        assert screen.session.state.n == before and "first mark" in shown(pilot).lower()
        await press(pilot, "2")
        assert screen.session.state.n == before and "> 2" in shown(pilot)
        await press(pilot, "enter")
        assert [e.value for e in screen.session.state.entries.values()][-1] == "some"


async def test_why_you_are_here_stands_above_the_action(shop: Shop) -> None:
    """After a branch its reason is on the page, in the technician's words."""
    async with walking(gap_walk(shop)) as (pilot, screen):
        await ready(pilot)
        await press(pilot, "9", "enter")
        assert part(screen, "why") == "Why you are here: The gap is 9 mm."


async def test_left_page_tells_what_was_found(shop: Shop) -> None:
    """Wide, the left page has what was noted with its judgement; narrow, its last line stands on top."""
    for size in (WIDE, NARROW):
        async with walking(begin(shop, linked(GAP), drum={}), size) as (pilot, _screen):
            await ready(pilot)
            await press(pilot, "9", "enter")
            assert "9 mm; above by 3 mm" in " ".join(shown(pilot).split())


async def test_long_page_is_read_to_its_end_before_it_counts(shop: Shop) -> None:
    """Where a page does not fit, Enter reads on first, and says that there is more."""
    async with walking(begin(shop)) as (pilot, screen):
        assert "more of this page below" in shown(pilot)
        before = screen.session.state.n
        await press(pilot, "enter")
        assert screen.session.state.n == before
        for _ in range(6):
            await press(pilot, "enter")
        assert screen.session.state.readied


# --- the foot switch and the gate ------------------------------------------------------------------------------------


async def test_foot_switch_takes_the_wanted_or_the_other_of_two(shop: Shop) -> None:
    """Of two choices next notes the wanted one and not yet the other, and both are said first."""
    for key, value in (("pagedown", "all"), ("pageup", "some")):
        async with walking(gap_walk(shop)) as (pilot, screen):
            await ready(pilot)
            await press(pilot, "4", "enter")
            assert "PgDn takes 1" in shown(pilot) and "PgUp takes 2" in shown(pilot)
            await press(pilot, key)
            assert [e.value for e in screen.session.state.entries.values()][-1] == value


async def test_not_yet_says_what_to_try_and_is_noted(shop: Shop) -> None:
    """Not yet at an action says what to try, and the walk stays."""
    async with walking(stands_at(shop, "lay-drum")) as (pilot, screen):
        await press(pilot, "pageup")
        assert screen.session.state.visits[-1].step == "lay-drum"
        assert "Try this" in shown(pilot)


async def test_bounce_confirms_at_most_one_stop(shop: Shop) -> None:
    """Enter held for two seconds goes on by one stop at most."""
    async with walking(begin(shop), quiet=0.4) as (pilot, screen):
        screen.session.do(acts.Ready())
        while screen.session.now().kind != "do" or screen.session.now().step.record:  # type: ignore[union-attr]
            drive(screen.session, "@lay-drum", **_answers(screen.session))
        screen.refresh_page()
        await asyncio.sleep(0.5)
        stop = screen.session.state.visit
        for _ in range(60):
            await pilot.press("enter")
            await asyncio.sleep(2 / 60)
        await settled(pilot)
        assert screen.session.state.visit - stop <= 1


def _answers(session: Any) -> dict[str, str]:
    usual = session.books(session.state.text).procedure.usual.given
    return {name: str(value) for name, value in usual.items() if isinstance(value, str | int | float)} | {
        "plate_bow": "0.1",
        "cord_height": "0",
    }


# --- keys at any stop ------------------------------------------------------------------------------------------------


async def test_a_note_can_be_written_at_any_moment(shop: Shop) -> None:
    """F2 takes a text of several lines; it stands in the job as written, and what was typed in the entry stays."""
    async with walking(gap_walk(shop)) as (pilot, screen):
        await ready(pilot)
        await press(pilot, "5", "f2", *"cord [b]frays[/b]", "enter", *"ends", "ctrl+s")
        assert [note[4] for note in screen.session.state.notes] == ["cord [b]frays[/b]\nends"]
        assert screen.entry.value == "5"


async def test_escape_leaves_every_question_without_a_change(shop: Shop) -> None:
    """Whatever a key asks, Escape leaves it, and the log is as it was."""
    async with walking(stands_at(shop, "try-mounts")) as (pilot, screen):
        before = screen.session.state.n
        for action in at(WALK):
            if action.verb in FLOWS and action.verb not in ("leave", "pages", "route", "yes", "jump", "way_out"):
                await press(pilot, action.keys[0])
                for _ in range(3):
                    await press(pilot, "escape")
                assert pilot.app.screen is screen, action.id
                assert screen.session.state.n == before, action.id


async def test_browsing_changes_nothing_and_one_key_returns(shop: Shop) -> None:
    """Looking along the route leaves the log byte for byte, and Escape is back at the stop in hand."""
    async with walking(stands_at(shop, "photo")) as (pilot, screen):
        log = screen.session.folder.log
        before = log.read_bytes()
        await press(pilot, "f5")
        await pilot.press(*["down"] * 30, *["up"] * 10)
        await settled(pilot)
        assert "nothing is changed here" in shown(pilot)
        await press(pilot, "escape")
        assert pilot.app.screen is screen and log.read_bytes() == before
        assert screen.session.state.visits[-1].step == "photo"


async def test_correction_keeps_the_old_value(shop: Shop) -> None:
    """F3 corrects the last reading with a reason; the pages have both values."""
    async with walking(gap_walk(shop)) as (pilot, screen):
        await ready(pilot)
        await press(pilot, "4", "enter", "f3", "enter", *"5", "enter", *"misread", "enter")
        entry = next(e for e in screen.session.state.entries.values() if e.name == "gap")
        assert entry.value == "5" and [b[0] for b in entry.before] == ["4"]
        await press(pilot, "f4")
        assert "corrected, before: 4" in " ".join(shown(pilot).split())


async def test_a_correction_that_leads_elsewhere_stops_the_walk(shop: Shop) -> None:
    """After it only going back or a senior's word go on, each by its own key."""
    async with walking(gap_walk(shop)) as (pilot, screen):
        await ready(pilot)
        await press(pilot, "4", "enter", "f3", "enter", *"9", "enter", *"misread", "enter")
        assert screen.shown.kind == "diverged"
        await press(pilot, "enter")
        assert screen.shown.kind == "diverged"
        await press(pilot, "b")
        assert screen.session.state.visits[-1].step == "measure"


async def test_leaving_is_one_key_and_coming_back_looks_again(shop: Shop) -> None:
    """F10 inside a stage puts the work down at once; taken up again, the place is looked at before anything else."""
    async with walking(stands_at(shop, "try-mounts")) as (pilot, screen):
        await press(pilot, "f10")
    from shop_helpers import resume

    session = resume(shop, "J-0001")
    waits = waiting(session.state, session.bench.books)
    assert waits.what == "goes on at try mounts", "that nobody said how it stands is nothing it waits for"
    async with walking(session) as (pilot, screen):
        assert screen.shown.kind == "paused"
        await press(pilot, "enter")
        assert screen.shown.kind == "recheck" and "as the log says" in shown(pilot)
        await press(pilot, "enter")
        assert screen.session.state.visits[-1].step == "try-mounts"


async def test_leaving_with_something_typed_asks_first(shop: Shop) -> None:
    """What is typed and not noted is not thrown away by one key."""
    async with walking(gap_walk(shop)) as (pilot, screen):
        await ready(pilot)
        await press(pilot, "5", "f10")
        assert "Not noted yet" in shown(pilot)
        await press(pilot, "enter")
        assert pilot.app.screen is screen and screen.entry.value == "5"


async def test_ctrl_c_never_ends_anything(shop: Shop) -> None:
    """Ctrl+C is for copying, wherever it is pressed."""
    async with walking(gap_walk(shop)) as (pilot, screen):
        await press(pilot, "ctrl+c", "ctrl+c", "ctrl+c")
        assert pilot.app.screen is screen and pilot.app.is_running


async def test_problem_stops_work_until_it_is_settled(shop: Shop) -> None:
    """F7 reports a problem with the step; work rests, and goes on once somebody said how it was settled."""
    async with walking(gap_walk(shop)) as (pilot, screen):
        await ready(pilot)
        await press(pilot, "f7", *"no rule here", "enter")
        assert screen.shown.kind == "problem" and "no rule here" in shown(pilot)
        await press(pilot, *"rule found", "enter")
        assert screen.shown.kind == "do"


async def test_what_may_happen_is_reachable_where_it_is_foreseen(shop: Shop) -> None:
    """F6 lists what the procedure foresees at this stop, and takes the walk there."""
    inner = [linked(OUTER, *_parts())]
    async with walking(begin(shop, inner[0], drum={})) as (pilot, screen):
        await ready(pilot)
        await press(pilot, "f6", "enter")
        assert screen.session.state.visits[-1].step == "snip"


def _parts() -> tuple[bytes, ...]:
    from walk_helpers import INNER, SNIP

    return (INNER, SNIP)


async def test_more_lists_everything_and_why_the_rest_is_off(shop: Shop) -> None:
    """F9 names every act of the walk; those that do not fit say why."""
    async with walking(gap_walk(shop), WIDE) as (pilot, _screen):
        await ready(pilot)
        await press(pilot, "f9")
        await pilot.press(*["down"] * 4)
        said = shown(pilot)
        assert "Hand over" in said and "Go back" in said


# --- other people ----------------------------------------------------------------------------------------------------


async def test_a_look_needs_another_person_and_their_pin(shop: Shop) -> None:
    """On a customer's job the senior picks their name and types a PIN that is not shown; a wrong one is said."""
    from shop_helpers import reach_hold

    clock = Clock()
    session = begin(shop, kind="customer", clock=clock)
    reach_hold(session)
    async with walking(session) as (pilot, screen):
        assert screen.shown.kind == "hold"
        await press(pilot, "s", "enter", *"000111", "enter")
        assert screen.shown.kind == "hold" and "000111" not in shown(pilot)
        clock.wait(minutes=5)
        await press(pilot, "escape", "s", "enter", *PINS["mara-quill"], "enter", "enter", "enter")
        assert screen.shown.kind != "hold"
        sign = screen.session.state.signs[-1]
        assert (sign.who, sign.kind) == ("mara-quill", "released")


async def test_handed_over_work_is_taken_on_by_whom_it_was_handed_to(shop: Shop) -> None:
    """Ctrl+G hands the work over in writing; nothing else goes until it is taken on."""
    async with walking(gap_walk(shop)) as (pilot, screen):
        await ready(pilot)
        await press(pilot, "ctrl+g", "enter", *"gap is open", "enter")
        assert screen.shown.kind == "handover" and "gap is open" in shown(pilot)
        await press(pilot, "enter", "enter")
        assert screen.shown.kind != "handover"
        assert screen.session.state.person != "tam-reyes"


async def test_work_handed_over_before_its_first_stop_names_its_job(shop: Shop) -> None:
    """A page of a job that has no stop yet says the job's number as it is written everywhere."""
    session = gap_walk(shop)
    session.do(acts.HandOver("mara-quill", "nothing is begun"))
    async with walking(session) as (_pilot, screen):
        assert part(screen, "place") == "Job J-0001, before its first stop"


# --- a disk that fails ----------------------------------------------------------------------------------------------


class FullDisk(OsDisk):
    """A disk that is full when told so."""

    full = False

    def write(self, fd: int, data: bytes) -> int:
        """Write, or find no room."""
        if self.full:
            raise OSError(28, "No space left on device")
        return super().write(fd, data)


async def test_what_cannot_be_kept_is_said_at_once(shop: Shop) -> None:
    """On a full disk nothing counts as done: it is said, what was typed stays, and once there is room it is noted."""
    disk = FullDisk()
    async with walking(gap_walk(shop, disk=disk)) as (pilot, screen):
        await ready(pilot)
        disk.full = True
        before = screen.session.state.n
        await press(pilot, "4", "enter")
        assert "NOT SAVED" in shown(pilot) and screen.entry.value == "4"
        assert screen.session.state.n == before
        disk.full = False
        await press(pilot, "enter")
        assert [e.value for e in screen.session.state.entries.values()] == ["4"]


async def test_a_full_disk_keeps_nobody_in_the_walk(shop: Shop) -> None:
    """Where putting down cannot be kept, that is said; asked for once more, the walk is left as it was noted last."""
    disk = FullDisk()
    async with walking(gap_walk(shop, disk=disk)) as (pilot, screen):
        await ready(pilot)
        await press(pilot, "4", "enter")
        disk.full = True
        before = screen.session.state.n
        await press(pilot, "f10")
        assert "NOT SAVED" in shown(pilot) and pilot.app.is_running
        await press(pilot, "f10")
        assert not screen.is_running or pilot.app.screen is not screen or pilot.app._exit
    assert len(events(shop, "J-0001")) == before


async def test_acts_are_written_in_one_thread_that_is_not_the_screens(shop: Shop) -> None:
    """The event loop never waits for the disk: every write of a walk comes from the log's own thread."""
    seen = []

    class Watching(OsDisk):
        def write(self, fd: int, data: bytes) -> int:
            seen.append(threading.current_thread().name)
            return super().write(fd, data)

    session = gap_walk(shop, disk=Watching())
    seen.clear()
    async with walking(session) as (pilot, _screen):
        await ready(pilot)
        await press(pilot, "4", "enter", "1", "enter")
    assert seen and {name.rpartition("_")[0] for name in seen} == {"benchwalk-log"}


# --- reading and copying ---------------------------------------------------------------------------------------------


async def test_text_copied_out_of_the_pages_is_their_plain_print(shop: Shop) -> None:
    """What is selected on the pages of a job, however it was wrapped, is copied as `show` prints it."""
    from benchwalk.shop.pages import pages

    session = begin(shop)
    drive(session, "@photo", **_answers(session))
    async with walking(session, NARROW) as (pilot, _screen):
        await press(pilot, "f4")
        pilot.app.screen.query_one("#pages-text").text_select_all()
        expected = pages(session.state, session.books, session.names, session.events)
        assert pilot.app.screen.get_selected_text() == "\n".join(expected)


@pytest.mark.parametrize("size", [NARROW, WIDE])
async def test_every_page_of_the_walk_is_reached_and_left_by_keys(shop: Shop, size: tuple[int, int]) -> None:
    """Help, pages, route, the list of commands and everything more open by a key, and one key returns to the stop."""
    async with walking(gap_walk(shop), size) as (pilot, screen):
        await ready(pilot)
        for key, back in (("f1", "escape"), ("f4", "f4"), ("f5", "f5"), ("f9", "escape"), ("ctrl+p", "escape")):
            await press(pilot, key)
            assert pilot.app.screen is not screen, key
            await press(pilot, back)
            assert pilot.app.screen is screen, key


async def test_commands_are_found_by_typing_and_done_by_enter(shop: Shop) -> None:
    """Words of the name or of what it does lead to a command; what cannot be done now is not there; Enter does it."""
    async with walking(gap_walk(shop)) as (pilot, screen):
        await ready(pilot)
        await press(pilot, "ctrl+p", *"pages")
        said = shown(pilot)
        assert "> Pages" in said and "F4" in said and "as the job's pages have it" in said
        await press(pilot, *["backspace"] * 5, *"quite nothing", "enter")
        assert "Nothing here has those words" in shown(pilot)
        await press(pilot, *["backspace"] * 13, *"sign", "down", "up", *["backspace"] * 4, *"route", "enter")
        await settled(pilot)
        assert isinstance(pilot.app.screen, RouteScreen)
        await press(pilot, "escape")
        assert pilot.app.screen is screen


async def test_two_keys_that_leave_take_one_screen_away(shop: Shop) -> None:
    """Where a second key that leaves comes before the first has, the screen below stays, and what it asks too."""
    async with walking(gap_walk(shop)) as (pilot, screen):
        await ready(pilot)
        for key in ("f1", "f4", "f5", "f9", "ctrl+p"):
            await press(pilot, key)
            upper = pilot.app.screen
            for _ in range(3):
                await upper.run_action("close")
            await settled(pilot)
            assert pilot.app.screen is screen and pilot.app.is_running, key


async def test_help_lists_every_key_of_the_screen_once_with_why_it_is_off(shop: Shop) -> None:
    """F1 has each action of the walk and of every screen once, by its key, and says why those are off that are."""
    from benchwalk.screens.helping import keys_of

    async with walking(gap_walk(shop)) as (_pilot, screen):
        said = " ".join(keys_of(screen, {}).plain.split())
        for action in (*at(WALK), *at("everywhere")):
            assert said.count(action.help) == 1, action.id
        assert "Not now: nothing waits for a sign-off here." in said


# --- the registry ----------------------------------------------------------------------------------------------------


async def test_every_action_of_the_walk_can_be_done(shop: Shop) -> None:
    """Each action of the list has a method on the screen, and every reason it is off belongs to one."""
    for action in at(WALK):
        assert hasattr(WalkScreen, f"action_{action.verb}"), action.id
    assert set(fits.OFF) <= {action.id for action in ACTIONS}


async def test_every_kind_of_question_can_be_gone_on_from() -> None:
    """Whatever the walk can wait for, going on knows what it means."""
    from benchwalk.daybook.points import PAGES

    kinds = set(PAGES) | {"others"}
    assert kinds == set(doing._GOING_ON)
    assert not kinds & AUTOMATIC


@given(text=st.text(st.sampled_from("[]\\/$ab()@=#") | st.characters(codec="utf-8"), min_size=1, max_size=30))
async def test_shop_text_is_shown_as_typed(text: str) -> None:
    """Brackets, backslashes, dollar signs, control and turning characters are shown, and act on nothing."""
    from benchwalk.daybook.ink import Span
    from benchwalk.procedure.showing import safe_text
    from benchwalk.screens.looks import inked, plain

    assert plain(text).plain == safe_text(text, newlines=True)
    assert inked([(Span(text, "loud"),)]).plain == safe_text(text)


async def test_hostile_note_and_procedure_text_do_not_harm_the_screen(shop: Shop) -> None:
    """Markup, escape sequences and turning marks in texts and notes are shown written out on the pages of the walk."""
    body = (
        'readings: {w: {ask: "see [/x] $y", kind: words}}\n'
        'steps: [{step: one, do: "do [b]it[/b] [OK] $x", record: [w]}, {step: two, end: done}]\n'
    )
    async with walking(begin(shop, linked(procedure(body)), drum={}), WIDE) as (pilot, screen):
        await ready(pilot)
        assert "do [b]it[/b] [OK] $x" in shown(pilot) and "[/x] $y" in shown(pilot)
        screen.entry.value = "[@click=app.quit]x[/] \u202e \x1b[31m"
        await press(pilot, "enter", "f4")
        said = " ".join(shown(pilot).split())
        assert "[@click=app.quit]x[/] \\u202e \\x1b[31m" in said and "\x1b" not in said


async def test_too_small_a_terminal_says_one_sentence_and_comes_back(shop: Shop) -> None:
    """Below 80 by 24 only a sentence is seen and no key counts; made larger, the page is there again."""
    async with walking(gap_walk(shop), (60, 20)) as (pilot, screen):
        before = screen.session.state.n
        assert "This terminal is too small" in shown(pilot)
        await press(pilot, "enter", "enter")
        assert screen.session.state.n == before
        await pilot.resize_terminal(80, 24)
        await settled(pilot)
        assert "This terminal is too small" not in shown(pilot) and "at hand" in shown(pilot)


@pytest.mark.parametrize(
    "size", [(1, 1), (20, 5), *(pytest.param(size, marks=pytest.mark.heavy) for size in ((7, 3), (40, 90), (500, 2)))]
)
async def test_a_terminal_of_any_size_breaks_nothing(shop: Shop, size: tuple[int, int]) -> None:
    """Where choices stand, along the route and in the pages, the oddest terminals are laid out without a fault."""
    given = {"head": "batter", "want": "220", "slack": "1.5"}
    session = begin(shop, shipped("even-rods"), drum={"rods": "6"}, given=given)
    drive(session, "reading")
    async with walking(session) as (pilot, _screen):
        for pages in ((), ("f5", "end", "up"), ("escape", "f4", "down", "down", "n")):
            await press(pilot, *pages)
            await pilot.resize_terminal(*size)
            await pilot.pause()
            await pilot.resize_terminal(*NARROW)
            await settled(pilot)
            assert "too small" not in shown(pilot) and len(shown(pilot).split()) > 20


async def test_a_key_that_comes_before_its_page_does_nothing(shop: Shop) -> None:
    """Enter behind a key that opens a page may come before that page is there; it was pressed for the one before."""
    async with walking(begin(shop)) as (pilot, _screen):
        for page in (Pick("One of these", "", ["first", "second"]), AskLine("A line", may_be_empty=True)):
            pilot.app.push_screen(page)
            assert not await pilot.app.run_action("take", page)
            await pilot.pause()
            assert pilot.app.screen is page
            assert await pilot.app.run_action("take", page)
            await pilot.pause()
            assert pilot.app.screen is not page


async def test_nothing_that_takes_input_is_hidden_at_80_by_24(shop: Shop) -> None:
    """At every stop of the flagship the entry, the choices and the keys lie on the screen in full."""
    session = begin(shop)
    async with walking(session) as (pilot, screen):
        finger = Finger()
        for _ in range(24):
            for name in ("question", "choices", "press"):
                widget = screen.query_one(f"#{name}")
                if widget.display:
                    assert screen.region.contains_region(widget.region), (name, session.now().kind)
            if screen.shown.entry is not None:
                assert screen.region.contains_region(screen.query_one(Input).region)
            await press(pilot, *finger.keys(session.state, session.bench, session.now()))


RODS = procedure(
    """
drum: [rods]
readings:
  pitch: {ask: Pitch beside the rod, kind: note, possible: 50 .. 500, per: rod}
steps:
  - step: listen
    do: Tap beside each rod.
    record: [pitch]
  - step: turn
    do: Turn each rod by an eighth.
    each: rod in pairs
  - step: finish
    end: done
"""
)
"""A reading at each rod, and something done at each."""


@pytest.mark.parametrize("size", [NARROW, pytest.param(WIDE, marks=pytest.mark.heavy)])
async def test_rods_stand_as_pairs_and_the_ring_shows_which(shop: Shop, size: tuple[int, int]) -> None:
    """Rods stand as opposite pairs, and a ring shows which is asked: at once on a high screen, by F8 on a low one."""
    async with walking(begin(shop, linked(RODS), drum={"rods": "8"}), size) as (pilot, screen):
        await ready(pilot)
        await press(pilot, *"220", "enter", *"A3 -12c", "enter")
        said = shown(pilot)
        assert "220.0" in said.replace("220 ", "220.0 ") and "218.5" in said
        assert ("3" in said) and (("Clockwise" in said) == (size == WIDE))
        await press(pilot, "f8")
        assert "(3)" in "".join(part(screen, "drawing").split("\n"))
        for _ in range(6):
            await press(pilot, *"220", "enter")
        assert screen.session.state.visits[-1].step == "turn"
        await press(pilot, "enter")
        for n in range(8):
            assert screen.session.now().kind == "each", n
            await press(pilot, "enter")
        assert screen.session.now().kind in ("ended", "account")
