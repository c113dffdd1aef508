"""The bench, the book and what lies between: what they show, where their keys lead, and that nothing typed acts."""

from __future__ import annotations

import asyncio
import atexit
import shutil
import tempfile
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot
from textual.widgets import Footer, Input

from benchwalk.job.shop import Shop
from benchwalk.screens.actions import BENCH, BOOK, INTAKE, PEOPLE, PROCEDURES, RECORD, at
from benchwalk.screens.app import BenchwalkApp
from benchwalk.screens.asking import AskLine, Pick, Reading
from benchwalk.screens.bench import BenchScreen
from benchwalk.screens.book import BookScreen
from benchwalk.screens.intake import IntakeScreen
from benchwalk.screens.pages import PagesScreen
from benchwalk.screens.people import PeopleScreen
from benchwalk.screens.procedures import ProceduresScreen
from benchwalk.screens.record import JobPages
from benchwalk.screens.walk import WalkScreen
from benchwalk.shop.event_words import WHAT, event_words
from benchwalk.walk import acts
from benchwalk.walk.events import KINDS
from house import patiently
from screen_helpers import NARROW, WIDE, part, settled, shown
from shop_helpers import APPRENTICE, Clock, begin, command, drive, events, fresh_shop, make_shop, resume, tree
from walk_helpers import GAP, INNER, OUTER, REST, RESTED, SNIP, TIED, linked

pytestmark = pytest.mark.asyncio

HOSTILE = "[/b] [OK] $x \\ [red]x[/]"
SALT = b"s" * 16


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with three people and the flagship approved; no jobs."""
    return fresh_shop(tmp_path)


@cache
def busy_template() -> Path:
    """A shop with a job that rests, one at a look, one put down, and one finished; made once, and copied."""
    folder = tempfile.mkdtemp(prefix="benchwalk-busy-")
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    shop = fresh_shop(Path(folder))
    with begin(shop, linked(REST), drum={}, note={"instrument": "Field drum"}) as session:
        drive(session, "wait", **RESTED)
    with begin(shop, linked(OUTER, INNER, SNIP), drum={}, note={"instrument": "Side drum"}) as session:
        drive(session, "hold", **TIED)
    note = {"instrument": "Piccolo", "complaint": "sizzles"}
    with begin(shop, kind="customer", note=note, owner={"name": "Vesna Marchetti"}, salt=SALT) as session:
        session.do(acts.Ready())
        session.do(acts.Pause("waits for the owner"))
    with begin(shop, linked(GAP), drum={}, note={"instrument": "Old drum", "complaint": "choked"}) as session:
        drive(session, "ended", gap="4", lie="all")
        session.do(acts.ReleaseJob(acts.Sign("senior", "practice"), head=session.head))
    return shop.root


@pytest.fixture
def busy(tmp_path: Path) -> Shop:
    """That shop, of one's own."""
    shutil.copytree(busy_template(), tmp_path / "shop")
    return Shop.open(tmp_path / "shop")


@asynccontextmanager
async def benched(
    shop: Shop | None, size: tuple[int, int] = NARROW, **more: Any
) -> AsyncIterator[tuple[Pilot[int], BenchScreen]]:
    """The bench of a shop on a screen of that size, once all is read."""
    app = BenchwalkApp(lambda: BenchScreen(shop, **more), quiet=0.0)
    async with app.run_test(size=size, notifications=True) as pilot:
        await asyncio.sleep(0.1)
        await rested(pilot)
        screen = app.screen_stack[-1]
        assert isinstance(screen, BenchScreen)
        yield pilot, screen


async def rested(pilot: Pilot[int]) -> None:
    """Wait until nothing is being read or opened any more, and it is on screen."""
    for _ in patiently():
        if _at_rest(pilot):
            await asyncio.sleep(0.03)  # what is read begins only once the frame is drawn
            await pilot.pause()
            if _at_rest(pilot):
                if isinstance(pilot.app.screen, WalkScreen):
                    await settled(pilot)
                return
        await asyncio.sleep(0.005)
    raise AssertionError("the screen never comes to rest")


def _at_rest(pilot: Pilot[int]) -> bool:
    """Whether nothing is read or opened, and nothing goes on at the screen that is seen."""
    asked = isinstance(pilot.app.screen, Pick | AskLine | Reading)
    working = [w for w in pilot.app.workers if w.is_running and w.group in ("look", "open")]
    return not working and (asked or not _underway(pilot))


def _underway(pilot: Pilot[int]) -> bool:
    """Whether a key's work goes on at the screen that is seen; below another one it only waits for that."""
    return any(w.is_running and w.group == "flow" and w.node is pilot.app.screen for w in pilot.app.workers)


async def press(pilot: Pilot[int], *keys: str) -> None:
    """Press keys one after the other, each once the screen is at rest; `=text` is typed."""
    for key in keys:
        if key.startswith("="):
            pilot.app.screen.query_one("Input:focus", Input).insert_text_at_cursor(key[1:])
        else:
            await pilot.press(key)
        await rested(pilot)


def over(pilot: Pilot[int]) -> Any:
    """The screen on top."""
    return pilot.app.screen


# --- what the bench shows --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", [NARROW, WIDE])
async def test_bench_shows_the_next_look_first_and_what_each_waits_for(busy: Shop, size: tuple[int, int]) -> None:
    """One line a job in hand, what wants somebody first; finished ones are not there; more of the marked one below."""
    async with benched(busy, size, now=Clock()) as (pilot, screen):
        lines = [line for line in shown(pilot).splitlines() if " J-0" in line]
        assert [line.split("J-")[1][:4] for line in lines[:3]] == ["0002", "0001", "0003"]
        assert "now" in lines[0] and "a senior's look" in lines[0] and "rest, ends in" in lines[1]
        assert "put by" in lines[2] and "waits for the owner" in lines[2] and "Vesna" in lines[2]
        assert "J-0004" not in shown(pilot) and "3 in hand" in part(screen, "head")
        assert "J-0002" in part(screen, "told")
        await press(pilot, "end")
        assert "Piccolo, Vesna Marchetti" in part(screen, "told") and "Sizzles" in part(screen, "told")


async def test_first_frame_shows_what_the_index_knows(busy: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """With an index that was kept, the rows stand there before any log is read."""
    async with benched(busy) as (pilot, screen):
        assert screen.shown
    fresh = BenchScreen(busy)
    assert fresh.shelf is not None and len(fresh.shelf.rows) == 4 and fresh.shelf.left == 0
    monkeypatch.setattr(BenchScreen, "look", lambda self: None)
    app = BenchwalkApp(lambda: BenchScreen(busy), quiet=0.0)
    async with app.run_test(size=NARROW) as pilot:
        await pilot.pause()
        assert "J-0001" in shown(pilot) and "a senior's look" in shown(pilot)


async def test_three_hundred_jobs_are_shown_as_they_are_read(shop: Shop) -> None:
    """A long list is moved in with the keys, the marked job stays marked when others come in, all are read at last."""
    begin(shop, linked(GAP), drum={}, note={"instrument": "Field drum"}).close()
    for number in range(2, 301):
        shutil.copytree(shop.jobs_folder / "J-0001", shop.jobs_folder / f"J-{number:04}")
    async with benched(shop) as (pilot, screen):
        assert len(screen.shown) == 300 and screen.shelf is not None and screen.shelf.left == 0
        await press(pilot, "pagedown", "down", "end", "up")
        assert screen.marked_row is not None and screen.marked_row["job"] == screen.shown[298]["job"]
        job = screen.marked_row["job"]
        with begin(shop, linked(OUTER, INNER, SNIP), drum={}) as session:
            drive(session, "hold", **TIED)
        await press(pilot, "f5")
        assert screen.shown[0]["job"] == "J-0301" and screen.marked_row["job"] == job
        assert job in shown(pilot)


async def test_damaged_log_is_a_line_that_says_so(busy: Shop) -> None:
    """A log that cannot be read stands first, with why; taking it up is refused in a sentence, and the bench stays."""
    log = busy.job("J-0001").log
    log.write_bytes(log.read_bytes().replace(b'"job"', b'"jab"', 1))
    async with benched(busy, who=APPRENTICE) as (pilot, screen):
        assert "somebody to look at its log" in shown(pilot) and "line 1 is damaged" in part(screen, "told")
        assert screen.marked_row is not None
        while screen.marked_row["job"] != "J-0001":
            await press(pilot, "down")
        await press(pilot, "enter")
        assert over(pilot) is screen and "line 1 is damaged" in part(screen, "message").lower()


async def test_read_only_shop_is_read(busy: Shop) -> None:
    """Looking at the bench, the book and a job's pages changes nothing in the shop."""
    before = tree(busy.root)
    async with benched(busy) as (pilot, screen):
        await press(pilot, "f4", "escape", "b", "enter", "right", "enter", "escape", "escape", "escape", "e", "escape")
        assert over(pilot) is screen
    assert tree(busy.root) == before


# --- a newcomer ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", [NARROW, WIDE])
async def test_newcomer_is_told_what_to_do(tmp_path: Path, size: tuple[int, int]) -> None:
    """Without a shop, in a shop of nobody and on an empty bench, plain sentences say which key does what."""
    async with benched(None, size, folder=tmp_path / "shop") as (pilot, screen):
        assert "There is no shop here yet." in shown(pilot) and "Press p to practise" in shown(pilot)
        await press(pilot, "t")
        assert part(screen, "message") == "There is no shop yet." and over(pilot) is screen
        await press(pilot, "enter", "b", "e", "w", "slash", "f5", "f4")
        assert over(pilot) is screen and not (tmp_path / "shop").exists()
    async with benched(make_shop(tmp_path / "nobody", people=False), size) as (pilot, screen):
        assert "nobody is known to work here yet" in shown(pilot) and "benchwalk people add" in shown(pilot)
        await press(pilot, "t")
        assert "nobody works in this shop yet" in part(screen, "message").lower()
    async with benched(fresh_shop(tmp_path), size) as (pilot, _screen):
        assert "Press t to take a drum in, p to practise" in " ".join(shown(pilot).split())


async def test_practice_without_a_shop_begins_one(tmp_path: Path) -> None:
    """One key and a choice are enough to practise: a shop begins, the guest walks, the job is on the bench after."""
    async with benched(None, folder=tmp_path / "shop") as (pilot, screen):
        await press(pilot, "p", "enter")
        assert isinstance(over(pilot), WalkScreen) and over(pilot).session.state.kind == "practice"
        await press(pilot, "f10")
        assert over(pilot) is screen and "J-0001" in shown(pilot)
    assert events(Shop.open(tmp_path / "shop"), "J-0001")[0]["who"] == "guest"


@pytest.mark.parametrize("there", [False, True])
async def test_shop_that_begins_elsewhere_is_seen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, there: bool) -> None:
    """A bench of no folder or of an empty one shows the shop, its people and its jobs once they are made elsewhere."""
    monkeypatch.setattr("benchwalk.screens.bench.LOOKS_FOR_A_SHOP", 0.05)
    folder = tmp_path / "shop"
    if there:
        folder.mkdir()
    async with benched(None, folder=folder) as (pilot, screen):
        assert "There is no shop here yet." in shown(pilot)
        made = make_shop(folder, people=False)
        await until(pilot, "nobody is known to work here yet")
        assert screen.shelf is not None and screen.shelf.shop == made
        shutil.copytree(busy_template(), folder, dirs_exist_ok=True)
        await until(pilot, "J-0002")
        await until(pilot, "who works?")


async def test_shop_that_begins_elsewhere_is_seen_by_a_key(tmp_path: Path) -> None:
    """The key that looks again finds the shop at once; a key that begins one takes the one that is there."""
    async with benched(None, folder=tmp_path / "shop") as (pilot, screen):
        fresh_shop(tmp_path)
        await press(pilot, "f5")
        assert "Nothing is in hand." in shown(pilot) and screen.shelf is not None
    async with benched(None, folder=tmp_path / "shop") as (pilot, screen):
        await press(pilot, "p", "enter")
        assert isinstance(over(pilot), Pick) and "Tam Reyes" in shown(pilot)


async def until(pilot: Pilot[int], words: str) -> None:
    """Wait until the screen says that."""
    for _ in patiently():
        if words in shown(pilot):
            return
        await asyncio.sleep(0.02)
        await pilot.pause()
    raise AssertionError(f"never said: {words}\n{shown(pilot)}")


async def test_what_was_wrong_with_ones_keys_is_said_first(busy: Shop) -> None:
    """What the bench has to say first stays until somebody moves, however many jobs come in meanwhile."""
    async with benched(busy, told="Your own keys do not hold this time.") as (pilot, screen):
        await press(pilot, "f5")
        assert part(screen, "message") == "Your own keys do not hold this time."
        await press(pilot, "down")
        assert part(screen, "message") == ""


# --- work ------------------------------------------------------------------------------------------------------------


async def test_who_works_is_asked_once_and_stays(busy: Shop) -> None:
    """Who works is asked when something needs it, stands in the head from then on, and a key changes it. Enter alone
    makes nobody of whoever sits there, and leaves whoever works."""
    async with benched(busy) as (pilot, screen):
        assert "who works? (w)" in part(screen, "head")
        await press(pilot, "end", "enter")
        assert isinstance(over(pilot), Pick) and "> 1" not in shown(pilot)
        await press(pilot, "enter", "enter")
        assert isinstance(over(pilot), Pick) and screen.who is None
        assert "First mark one, by its number or with the arrow keys." in shown(pilot)
        await press(pilot, "down", "escape")
        assert over(pilot) is screen and screen.who is None
        await press(pilot, "enter", "3", "enter")
        assert isinstance(over(pilot), WalkScreen) and over(pilot).session.who == APPRENTICE
        await press(pilot, "f10")
        assert "Tam Reyes works here" in part(screen, "head")
        await press(pilot, "enter")
        assert isinstance(over(pilot), WalkScreen)
        await press(pilot, "f10", "w")
        assert "> 3  Tam Reyes" in shown(pilot)
        await press(pilot, "enter")
        assert screen.who == APPRENTICE
        await press(pilot, "w", "1", "enter")
        assert "Mara Quill works" in part(screen, "head")


async def test_job_held_by_somebody_else_is_refused_in_a_sentence(busy: Shop) -> None:
    """A job that another program writes is not taken up; who writes it is said, and the log is as it was."""
    with resume(busy, "J-0003"):
        before = busy.job("J-0003").log.read_bytes()
        async with benched(busy, who=APPRENTICE) as (pilot, screen):
            await press(pilot, "end", "enter")
            said = part(screen, "message").lower()
            assert over(pilot) is screen and "this is being written by tam reyes on" in said
            assert "since 2026-03-02 11:00" in said and APPRENTICE not in said
        assert busy.job("J-0003").log.read_bytes() == before


async def test_job_of_another_machine_is_taken_over_with_a_reason(busy: Shop) -> None:
    """A note of another machine asks for a reason; Escape leaves it, a reason takes it over and is in the log."""
    note = busy.job("J-0003").path / "writer.json"
    note.write_text('{"who": "ode", "host": "other", "machine": "abc", "pid": 7, "since": "2026-03-02T09:00:00+00:00"}')
    async with benched(busy, who=APPRENTICE) as (pilot, screen):
        await press(pilot, "end", "enter")
        assert isinstance(over(pilot), AskLine)
        assert "This is held by ode on other (process 7) since 2026-03-02 09:00" in " ".join(shown(pilot).split())
        await press(pilot, "escape")
        assert over(pilot) is screen
        await press(pilot, "enter", "=the other machine is off", "enter")
        assert isinstance(over(pilot), WalkScreen)
        await press(pilot, "f10")
    assert any(e["what"] == "lock_taken_over" and "is off" in e["reason"] for e in events(busy, "J-0003"))


async def test_drum_is_taken_in_on_one_page(shop: Shop) -> None:
    """The page asks what the command asks, refuses what it cannot understand, and opens the same job."""
    async with benched(shop, who=APPRENTICE) as (pilot, _screen):
        await press(pilot, "t")
        assert isinstance(over(pilot), Pick) and "not approved in this shop" in shown(pilot)
        await press(pilot, "enter")
        form = over(pilot)
        assert isinstance(form, IntakeScreen) and form.at == 0
        await press(pilot, "enter")
        assert "is not answered yet" in part(form, "message") and form.at == 0
        await press(
            pilot, f"={HOSTILE}", "enter", "enter", "=Field drum", "enter", "=buzzes", "down", "=Friday", "down"
        )
        assert form.at == 5
        await press(pilot, "up", "enter", "enter", "=14 ells", "enter")
        assert isinstance(over(pilot), IntakeScreen) and form.at == 6 and part(form, "message")
        form.entries[6].value = "14 in"
        await press(pilot, "ctrl+s")
        assert isinstance(over(pilot), WalkScreen)
        await press(pilot, "f10")
        assert "Field drum" in shown(pilot) and HOSTILE in part(over(pilot), "told")
    opened = events(shop, "J-0001")[0]
    noted = {"instrument": "Field drum", "complaint": "buzzes", "promised": "Friday"}
    assert opened["kind"] == "customer" and opened["note"] == noted
    assert opened["drum"]["diameter"]["typed"] == "14 in" and opened["owner"]


async def test_intake_in_a_shop_that_takes_no_job_is_refused_before_anything_is_asked(shop: Shop) -> None:
    """Where no job can be begun that is said at once, by the bench and by the command, and nothing is asked."""
    shop.jobs_folder.rmdir()
    shop.jobs_folder.write_text("not a folder that can be written in")
    async with benched(shop, who=APPRENTICE) as (pilot, screen):
        for key in ("t", "p"):
            await press(pilot, key)
            assert over(pilot) is screen and "no job can be begun in it" in part(screen, "message")
    ran = command("intake", "retie-snare-cords", "--who", "tam", shop=shop.root)
    assert ran.returncode == 3 and "no job can be begun in it" in ran.stderr and "Whose drum" not in ran.stderr


async def test_intake_is_left_without_a_job(shop: Shop) -> None:
    """Escape leaves the page, whatever was typed, and no job is opened."""
    async with benched(shop, who=APPRENTICE) as (pilot, screen):
        await press(pilot, "t", "enter", "=somebody", "escape")
        assert over(pilot) is screen and shop.jobs() == []


# --- finding ---------------------------------------------------------------------------------------------------------


async def test_words_are_found_as_they_are_typed(busy: Shop) -> None:
    """Typing after / leaves the jobs that have the words, of an owner too; letters act on nothing; Escape shows all."""
    async with benched(busy, who=APPRENTICE) as (pilot, screen):
        await press(pilot, "slash", "v", "e", "=sna")
        assert [row["job"] for row in screen.shown] == ["J-0003"] and over(pilot) is screen
        await press(pilot, "space", "t", "b", "p")
        assert screen.shown == [] and "No job in hand has all these words" in shown(pilot)
        await press(pilot, "enter")
        assert over(pilot) is screen and part(screen, "message")
        await press(pilot, "escape")
        assert len(screen.shown) == 3
        await press(pilot, "slash", "=drum", "down", "enter")
        assert isinstance(over(pilot), WalkScreen) and over(pilot).session.state.job == "J-0001"
        await press(pilot, "f10")
        assert len(screen.shown) == 3 and screen.marked_row is not None and screen.marked_row["job"] == "J-0001"
        await press(pilot, "b", "slash", "=choked")
        assert [row["job"] for row in over(pilot).shown] == ["J-0004"]
        await press(pilot, "escape", "escape")
        assert over(pilot) is screen


# --- the other screens -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "kind"),
    [("b", BookScreen), ("l", ProceduresScreen), ("e", PeopleScreen), ("f4", JobPages), ("w", Pick), ("f1", Reading)],
)
async def test_each_screen_is_reached_and_left_by_the_keyboard(
    busy: Shop, key: str, kind: type, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A key opens it, help opens over it, Escape comes back; its foot fits."""
    monkeypatch.setattr(ProceduresScreen, "_found", lambda self, name: "nothing")
    async with benched(busy) as (pilot, screen):
        assert screen.query_one(Footer).max_scroll_x == 0
        await press(pilot, key)
        assert isinstance(over(pilot), kind)
        assert over(pilot).query_one(Footer).max_scroll_x == 0
        await press(pilot, "down", "f1", "escape", "escape")
        if over(pilot) is not screen:
            await press(pilot, "escape")
        assert over(pilot) is screen


async def test_every_action_of_these_screens_is_there() -> None:
    """Each action of the list has a method on its screen."""
    screens = {
        BENCH: BenchScreen,
        BOOK: BookScreen,
        RECORD: JobPages,
        PROCEDURES: ProceduresScreen,
        PEOPLE: PeopleScreen,
        INTAKE: IntakeScreen,
    }
    for place, screen in screens.items():
        for action in at(place):
            assert callable(getattr(screen, f"action_{action.verb}", None)), action.id


@pytest.mark.usefixtures("library_walked")
async def test_procedures_say_how_they_stand(shop: Shop) -> None:
    """Each procedure stands there with its revision, its approval and what `check` finds; Enter shows its steps."""
    (shop.procedures / "broken.yaml").write_text("procedure: broken\ntitle: [oops\n")
    async with benched(shop, WIDE) as (pilot, screen):
        await press(pilot, "l")
        rows = [line.removeprefix(" > ") for line in shown(pilot).splitlines() if "rev." in line or " error" in line]
        lines = {row.split()[0]: row for row in rows}
        assert "in the library" in part(over(pilot), "head")
        assert "approved" in lines["retie-snare-cords"] and "not approved" not in lines["retie-snare-cords"]
        assert "not approved" in lines["tie-one-side"] and "no errors" in lines["tie-one-side"]
        assert "cannot be walked" in lines["broken"] and "1 error" in lines["broken"]
        await press(pilot, "down", "enter")
        assert over(pilot).__class__ is ProceduresScreen and part(over(pilot), "message")
        await press(pilot, "end", "enter")
        assert isinstance(over(pilot), PagesScreen) and "stop" in shown(pilot).lower()
        await press(pilot, "escape", "escape")
        assert over(pilot) is screen


async def test_number_leads_to_its_event_and_back(busy: Shop) -> None:
    """In a job's pages the numbers are gone through by key; one more shows the event in words, one more goes back."""
    async with benched(busy) as (pilot, screen):
        await press(pilot, "b", "enter")
        pages = over(pilot)
        assert isinstance(pages, JobPages) and len(pages.numbers) >= 2
        await press(pilot, "right", "right", "left", "right")
        n = pages.numbers[1][3]
        await press(pilot, "enter")
        assert isinstance(over(pilot), Reading) and f"Event {n} of {len(pages.events)}" in shown(pilot)
        assert "A reading was noted." in shown(pilot) and "By Tam Reyes" in shown(pilot)
        await press(pilot, "escape")
        assert over(pilot) is pages
        await press(pilot, "n", "=999", "enter")
        assert isinstance(over(pilot), AskLine) and "a number from 1 to" in shown(pilot).lower()
        await press(pilot, "backspace", "backspace", "backspace", "=1", "enter")
        assert "The job was opened." in shown(pilot)
        await press(pilot, "escape", "escape", "escape")
        assert over(pilot) is screen


async def test_too_small_a_terminal_takes_no_keys(busy: Shop) -> None:
    """Below the least size only a sentence stands there, no scrollbar beside it, and no job is taken up."""
    async with benched(busy, (70, 10), who=APPRENTICE) as (pilot, screen):
        assert "too small" in shown(pilot) and not screen.show_vertical_scrollbar
        await press(pilot, "enter")
        assert over(pilot) is screen


# --- whatever the text holds -----------------------------------------------------------------------------------------


async def test_hostile_text_is_shown_as_typed_everywhere(tmp_path: Path) -> None:
    """Brackets, dollars and backslashes in every field are shown as they are, and act on nothing."""
    shop = fresh_shop(tmp_path)
    people = shop.root / "people.yaml"
    people.write_text(people.read_text().replace("Mara Quill", HOSTILE.replace("\\", "\\\\")))
    note = {"instrument": HOSTILE, "complaint": HOSTILE}
    with begin(shop, kind="customer", note=note, owner={"name": HOSTILE}, salt=SALT) as session:
        session.do(acts.Ready())
        session.do(acts.Note(f"{HOSTILE} [2]"))
        session.do(acts.Pause(HOSTILE))
    async with benched(shop, WIDE) as (pilot, screen):
        text = shown(pilot)
        assert text.count(HOSTILE) >= 4 and HOSTILE in part(screen, "told")
        await press(pilot, "slash", f"={HOSTILE}")
        assert len(screen.shown) == 1
        await press(pilot, "escape", "f4")
        assert shown(pilot).count(HOSTILE) >= 4
        await press(pilot, "n", "=4", "enter")
        assert HOSTILE in shown(pilot)
        await press(pilot, "escape", "escape", "e")
        assert HOSTILE in shown(pilot)
        await press(pilot, "escape", "w")
        assert HOSTILE in shown(pilot)


async def test_every_kind_of_event_has_words(busy: Shop) -> None:
    """No kind of event is shown by its name in the log; every event of a job can be told, and none beyond it."""
    assert set(WHAT) == set(KINDS)
    found = events(busy, "J-0004")
    for event in found:
        said = "\n".join(event_words(found, event["n"], {}))
        assert f"Event {event['n']} of {len(found)}" in said and event["hash"][:16] in said
    assert event_words(found, 0, {}) == [f"There is no event 0; this log has {len(found)}."]
