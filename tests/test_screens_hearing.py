"""Notes heard in the walk: on the practice drum of a practice job, and by a real microphone; and the drum by itself."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from benchwalk.heard import lesson_for
from benchwalk.job.shop import Shop
from benchwalk.practice import kept
from benchwalk.practice.drum import random_drum
from benchwalk.practice.lesson import Lesson
from benchwalk.screens.app import BenchwalkApp
from benchwalk.screens.drum import DrumScreen
from benchwalk.screens.listening import ListenScreen
from benchwalk.screens.walk import WalkScreen
from benchwalk.session import Session
from benchwalk.sums import compute
from benchwalk.taps import read_sound
from benchwalk.taps.facts import MicrophoneOpened, TapRefused
from benchwalk.walk import acts
from house import patiently
from screen_helpers import NARROW, WIDE, part, settled, shown, walking
from shop_helpers import begin, drive, events, fresh_shop
from sound_server import SoundServer, in_a_room, sound_server, tap_sound
from walk_helpers import linked, procedure, shipped

__all__ = ["sound_server"]
pytestmark = pytest.mark.asyncio

GIVEN = {"head": "batter", "want": "220", "slack": "1.5"}


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop of one's own."""
    return fresh_shop(tmp_path)


def tapping(shop: Shop, **more: Any) -> Session:
    """A job that asks for the note beside the first rod."""
    session = begin(shop, shipped("even-rods"), drum={"rods": "6"}, given=GIVEN, **more)
    here = drive(session, "reading")
    while here.name != "rod_note":
        session.do(acts.Record("damped"))
        here = drive(session, "reading")
    return session


async def until(pilot: Pilot[int], comes: Callable[[], Any]) -> None:
    """Wait until something is so."""
    for _ in patiently():
        await pilot.pause()
        if comes():
            return
        await asyncio.sleep(0.05)
    raise AssertionError(f"it never comes to that:\n{shown(pilot)}")


def on(pilot: Pilot[int], kind: type) -> Callable[[], bool]:
    """Whether a screen of that kind is on top."""
    return lambda: isinstance(pilot.app.screen, kind)


# --- the practice drum in a walk ---


@pytest.mark.parametrize("size", [NARROW, pytest.param(WIDE, marks=pytest.mark.heavy)])
async def test_a_round_of_notes_is_taken_from_the_practice_drum(shop: Shop, size: tuple[int, int]) -> None:
    """One key opens the drum at the rod that is asked, Enter taps it, one key takes the note, and the next rod is asked
    at once until all are noted; the drum is kept with the job as it was left."""
    session = tapping(shop)
    folder = session.folder.path
    async with walking(session, size) as (pilot, screen):
        assert "Ctrl+S hears it" in part(screen, "press")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: "Where do you tap?" in shown(pilot))
        await pilot.press("enter")
        for rod in range(1, 7):
            await until(pilot, lambda: isinstance(pilot.app.screen, DrumScreen) and pilot.app.screen.asked == rod)  # noqa: B023
            drum = pilot.app.screen
            assert isinstance(drum, DrumScreen) and drum.lesson.head == "batter"
            for _try in range(4):
                said = len(drum.said)
                await pilot.press("enter")
                await until(pilot, lambda: len(drum.said) > said)  # noqa: B023
                if rod in drum.lesson.now:
                    break
            await pilot.press("f8")
        await until(pilot, on(pilot, WalkScreen))
        await until(pilot, lambda: session.now().name != "rod_note")
        await settled(pilot)
    noted = [e for e in events(shop, session.state.job) if e["what"] == "read" and e["name"] == "rod_note"]
    assert [e["place"] for e in noted] == ["1", "2", "3", "4", "5", "6"]
    assert all(" Hz ±" in e["typed"] for e in noted)
    lesson = kept.lesson_of(folder, session.state.job, 6)
    assert lesson.head == "batter"
    assert {str(rod): note.typed for rod, note in lesson.rounds[0].items()} == {e["place"]: e["typed"] for e in noted}


async def test_the_practice_drum_is_at_hand_where_no_note_is_asked(shop: Shop) -> None:
    """At any stop of a practice job the key opens its drum; Esc leaves it and nothing of the job changes."""
    session = begin(shop, shipped("even-rods"), drum={"rods": "6"}, given=GIVEN)
    drive(session, "do")
    async with walking(session) as (pilot, _screen):
        before = session.state.n
        await pilot.press("ctrl+s")
        await until(pilot, on(pilot, DrumScreen))
        assert "F8 Take" not in shown(pilot)
        await pilot.press("escape")
        await until(pilot, on(pilot, WalkScreen))
        assert session.state.n == before


async def test_the_drum_lies_with_the_head_that_is_worked_on(shop: Shop) -> None:
    """Where only what a procedure runs says which head that is, the practice drum lies so from its first stop on."""
    session = begin(shop, shipped("even-snare-side-head"), drum={"rods": "8"})
    now = drive(session, "reading")
    assert lesson_for(session, now).head == "snare-side"


@pytest.mark.parametrize("noted", ["damped", "rings"])
async def test_the_practice_drum_stands_as_the_walk_noted_of_its_other_head(shop: Shop, noted: str) -> None:
    """Whichever of them the walk noted, the drum opens so, once; what the hand does to the pad afterwards stays, and
    the page says that the walk noted otherwise."""
    session = begin(shop, shipped("even-rods"), drum={"rods": "6"}, given=GIVEN)
    drive(session, "reading")
    first = lesson_for(session, session.now())
    first.damp(noted == "rings")
    kept.keep(session.folder.path, first)
    session.do(acts.Record(noted))
    damped = noted == "damped"
    says = ("free to ring; the walk noted it damped", "rests on its pad; the walk noted it free")[not damped]
    async with walking(session) as (pilot, _screen):
        for round_ in (1, 2):
            await pilot.press("ctrl+s")
            await until(pilot, on(pilot, DrumScreen))
            page = pilot.app.screen
            assert isinstance(page, DrumScreen)
            assert page.lesson.drum.damped(page.lesson.other) is (damped if round_ == 1 else not damped)
            assert (says in " ".join(page.stands())) is (round_ == 2)
            if round_ == 1:
                await pilot.press("f6")
                await until(pilot, lambda: says in " ".join(page.stands()))  # noqa: B023
            await pilot.press("escape")
            await until(pilot, on(pilot, WalkScreen))
            await settled(pilot)


async def test_a_job_without_rods_has_no_practice_drum(shop: Shop) -> None:
    """Where the procedure asks for no rods it is said why there is no drum."""
    session = begin(shop)
    drive(session, "do")
    async with walking(session) as (pilot, screen):
        await pilot.press("ctrl+s")
        await until(pilot, lambda: "does not ask how many rods" in part(screen, "message"))


async def test_a_damaged_drum_is_said_and_the_walk_goes_on(shop: Shop) -> None:
    """A file that holds no drum is named in a sentence, and the note can be typed."""
    session = tapping(shop)
    (session.folder.path / kept.FILE).write_text("{")
    async with walking(session) as (pilot, screen):
        await pilot.press("ctrl+s")
        await until(pilot, lambda: "Where do you tap?" in shown(pilot))
        await pilot.press("enter")
        await until(pilot, lambda: "delete practice-drum.json" in part(screen, "message"))
        await pilot.press(*"220", "enter")
        await settled(pilot)
        assert session.now().place == "2"


# --- the microphone ---


async def test_a_note_is_heard_by_microphone_and_kept_with_its_recording(shop: Shop, sound_server: SoundServer) -> None:
    """Taps arrive as lines, Enter takes all of them together, the note stands in the log as if it was typed with its
    recording by hash, and the next rod is listened to at once; a dropped tap does not count."""
    session = tapping(shop)
    async with walking(session) as (pilot, _screen):
        await pilot.press("ctrl+s")
        await until(pilot, lambda: "Where do you tap?" in shown(pilot))
        await pilot.press("down", "enter")
        await until(pilot, lambda: "Listening with" in shown(pilot))
        page = pilot.app.screen
        assert isinstance(page, ListenScreen)
        sound_server.play(in_a_room(tap_sound(220.0), tap_sound(220.2), tap_sound(251.0)))
        await until(pilot, lambda: len(page.heard) == 3)
        assert "second note" in shown(pilot)
        await pilot.press("backspace")
        await until(pilot, lambda: len(page.heard) == 2)
        await pilot.press("enter")
        await until(pilot, lambda: session.now().place == "2")
        await until(pilot, on(pilot, ListenScreen))
        await pilot.press("escape")
        await until(pilot, on(pilot, WalkScreen))
        await settled(pilot)
    (noted,) = [e for e in events(shop, session.state.job) if e["what"] == "read" and e["name"] == "rod_note"]
    assert abs(float(noted["value"]) - 220.1) < 0.5
    assert " ±" in noted["typed"] and " second " in noted["typed"]
    file = next(session.folder.files.glob(f"{noted['recording'].partition('.')[0]}*"))
    assert read_sound(file).rate > 0


async def test_without_a_microphone_typing_goes_on(shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where nothing can be listened with one sentence says so, and Esc leads back to a line that takes the note."""
    monkeypatch.setenv("ALSA_CONFIG_PATH", str(tmp_path / "nothing"))
    monkeypatch.setenv("PULSE_SERVER", f"unix:{tmp_path}/nothing")
    session = tapping(shop)
    async with walking(session) as (pilot, _screen):
        await pilot.press("ctrl+s")
        await until(pilot, lambda: "Where do you tap?" in shown(pilot))
        await pilot.press("down", "enter")
        await until(pilot, lambda: "type the note, or say it by ear" in shown(pilot).replace("\n", " "))
        await pilot.press("escape")
        await until(pilot, on(pilot, WalkScreen))
        await pilot.press(*"220", "enter")
        await settled(pilot)
        assert session.now().place == "2"


HOSTILE_TAP = procedure(
    r"""
drum: [rods]
readings:
  pitch: {ask: 'Note [/b] [red]x[/] \\ \$y', kind: note, possible: 50 .. 500, per: rod}
steps:
  - step: listen
    do: 'Tap [/i] beside each rod.'
    record: [pitch]
  - step: finish
    end: done
"""
)
"""A reading whose question would be markup, if it were taken for any."""


async def test_hostile_question_is_shown_as_written_on_the_drum(shop: Shop) -> None:
    """What a procedure asks stands on the practice drum's page as it is written, and the note is taken from there."""
    session = begin(shop, linked(HOSTILE_TAP), drum={"rods": "6"})
    drive(session, "reading")
    question = session.now().reading.ask  # type: ignore[union-attr]
    assert "[red]" in question
    async with walking(session) as (pilot, _screen):
        await pilot.press("ctrl+s")
        await until(pilot, lambda: "Where do you tap?" in shown(pilot))
        await pilot.press("enter")
        await until(pilot, on(pilot, DrumScreen))
        assert question in " ".join(shown(pilot).split())


class Elsewhere:
    """An ear whose microphone and complaints bear hostile names; it hears nothing."""

    def listen(self, *, on_fact: Callable[[object], None], **_how: object) -> None:
        on_fact(MicrophoneOpened("[/b] [red]mic[/]", 44100))
        on_fact(TapRefused("no tap in [/x] \\[y]"))

    def stop(self) -> None:
        """There is nothing to stop."""


async def test_hostile_microphone_and_question_are_shown_as_they_are(shop: Shop) -> None:
    """A microphone's name, why there is no note, and what is asked stand on the listening page as they are."""
    session = begin(shop, linked(HOSTILE_TAP), drum={"rods": "6"})
    now = drive(session, "reading")
    async with walking(session) as (pilot, _screen):
        page = ListenScreen(Elsewhere(), now.reading.ask, now)  # type: ignore[arg-type, union-attr]
        pilot.app.push_screen(page)
        await until(pilot, lambda: "No note." in shown(pilot))
        said = " ".join(shown(pilot).split())
        assert "Listening with [/b] [red]mic[/]." in said and "No tap in [/x] \\[y]" in said
        assert now.reading.ask in said  # type: ignore[union-attr]
        await pilot.press("escape")
        await until(pilot, on(pilot, WalkScreen))


# --- the drum by itself ---


@asynccontextmanager
async def drum(size: tuple[int, int] = NARROW, rods: int = 6) -> AsyncIterator[tuple[Pilot[int], DrumScreen]]:
    """A practice drum on a screen of that size."""
    lesson = Lesson.begin(random_drum(rods=rods, seed=5))
    app = BenchwalkApp(lambda: DrumScreen(lesson, compute), quiet=0.0)
    async with app.run_test(size=size, notifications=True) as pilot:
        await pilot.pause()
        screen = app.screen_stack[-1]
        assert isinstance(screen, DrumScreen)
        yield pilot, screen


async def ordered(pilot: Pilot[int], screen: DrumScreen, *keys: str) -> str:
    """Press keys and wait for what is said to them; all of it."""
    before = len(screen.said)
    for key in keys:
        if key.startswith("="):
            screen.query_one(Input).insert_text_at_cursor(key[1:])
        else:
            await pilot.press(key)
    await until(pilot, lambda: len(screen.said) > before)
    return "\n".join(screen.said[before:])


@pytest.mark.parametrize(("size", "rods"), [(NARROW, 6), (NARROW, 12), (WIDE, 7)])
async def test_the_drum_is_worked_on_by_keys_and_by_orders(size: tuple[int, int], rods: int) -> None:
    """Enter taps the marked rod, an amount alone turns it, keys press, read the gauge, advise and lay the pad; every
    key is named at the foot, and the end tells what was hidden."""
    async with drum(size, rods) as (pilot, screen):
        await until(pilot, lambda: "Esc Leave" in shown(pilot))
        foot = shown(pilot).splitlines()[-1]
        for words in ("Enter Tap", "F2 All", "F3 Press", "F4 Advice", "F5 Depth", "F6 Pad", "F10 Done", "Esc Leave"):
            assert words in foot.replace("  ", " "), foot
        assert (await ordered(pilot, screen, "enter")).startswith("Rod 1:")
        await pilot.press("down")
        assert screen.marked == (4 if rods == 6 else 7 if rods == 12 else 4)
        assert "done. The film follows" in await ordered(pilot, screen, "=1/8", "enter")
        assert "not pressed home since" in shown(pilot)
        assert "pressed home" in await ordered(pilot, screen, "f3")
        assert "advice needs a whole round" in (await ordered(pilot, screen, "f4")).lower()
        assert "mm." in await ordered(pilot, screen, "f5")
        pad = screen.lesson.drum.damped(screen.lesson.other)
        await ordered(pilot, screen, "f6")
        assert screen.lesson.drum.damped(screen.lesson.other) is not pad
        await ordered(pilot, screen, "=damp", "enter")
        await ordered(pilot, screen, f"={screen.lesson.other}", "enter")
        assert f"The {screen.lesson.other} head is free to ring, and the pad lies on this one." in screen.stands()
        assert "is nothing to do with a drum" in await ordered(pilot, screen, "=[bold]x[/]", "enter")
        await pilot.press("escape")  # what is typed goes first, and what was hidden is not told yet
        await until(pilot, lambda: "once more leaves without it" in " ".join(screen.said))
        await pilot.press("f10")
        await until(pilot, lambda: "finger-tight was not the same" in " ".join(screen.said))
        assert screen.said[0].endswith(" of a rod.")
        await until(pilot, lambda: "F2 All" not in shown(pilot))
        await pilot.press("escape")
        await pilot.pause()
    assert pilot.app.return_code == 0


async def test_orders_given_while_the_drum_sounds_are_done_one_after_the_other() -> None:
    """A turn typed into a round of taps comes after it: every tap is said, none is mixed with notes after the turn, and
    what finds no room stays in its line."""
    async with drum() as (pilot, screen):
        screen.lesson.damp(True)
        screen.action_all()
        screen.order.value = "turn 2 1/8"
        screen.action_next()
        for _ in range(9):
            screen.order.value = "depth"
            screen.action_next()
        assert screen.order.value == "depth"
        await until(pilot, lambda: sum("Depth by rod" in each for each in screen.said) == 2)
        rods = [each[:5] for each in screen.said if each.startswith("Rod ") and ": done." not in each]
        assert sorted(rods) == [f"Rod {n}" for n in range(1, 7)]
        assert next(n for n, each in enumerate(screen.said) if ": done." in each) > len(rods)
        assert screen.lesson.taps == 6 and list(screen.lesson.turned[-1]) == [2]


async def test_help_is_read_from_its_first_line() -> None:
    """However much was said before, the list of orders begins at the top of its page, and reads on by a key."""
    async with drum() as (pilot, screen):
        screen.tell(["Said before."] * 30)
        await ordered(pilot, screen, "=help", "enter")
        await until(pilot, lambda: "tap 3: tap beside" in shown(pilot))
        assert "Said before." not in shown(pilot) and "done: hear how it went" not in shown(pilot)
        for _ in range(9):
            await pilot.press("pagedown")
        await until(pilot, lambda: "done: hear how it went" in " ".join(shown(pilot).split()))


async def test_done_breaks_a_round_off_and_then_asks_for_no_order() -> None:
    """Told to end within a round, the rods that are left are not tapped, what waits is not done, the end stands alone
    on its page, and no line is there that an order could be typed in."""
    async with drum(rods=12) as (pilot, screen):
        screen.action_all()
        screen.do("depth")
        screen.action_done()
        await until(pilot, lambda: screen.over)
        await pilot.pause()
        assert screen.lesson.taps < 12
        assert not any("Depth by rod" in each or each.startswith("Rod ") for each in screen.said)
        assert "tap" in screen.said[0] and "of a rod." in screen.said[0]
        await until(pilot, lambda: "Enter taps" not in shown(pilot) and "or an order" not in shown(pilot))
        await pilot.press("enter", *"depth", "enter")
        await pilot.pause()
        assert not any("Depth by rod" in each for each in screen.said)


async def test_a_drum_that_cannot_be_kept_is_said_and_the_lesson_goes_on(shop: Shop) -> None:
    """Where the folder of the job cannot be written, each act says so; nothing else happens to the walk."""
    session = begin(shop, shipped("even-rods"), drum={"rods": "6"}, given=GIVEN)
    drive(session, "do")
    async with walking(session) as (pilot, _screen):
        await pilot.press("ctrl+s")
        await until(pilot, on(pilot, DrumScreen))
        page = pilot.app.screen
        assert isinstance(page, DrumScreen)
        page.kept = lambda lesson: kept.keep(session.folder.path / "gone", lesson)
        await pilot.press("f3")
        await until(pilot, lambda: any("could not be kept" in each for each in page.said))
        assert any("The film is pressed home" in each for each in page.said)
        await pilot.press("escape")
        await until(pilot, on(pilot, WalkScreen))
