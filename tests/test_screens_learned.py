"""What the logs say of a procedure, on the screen: the same page, and from each line to the jobs it comes from."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from textual.pilot import Pilot

from benchwalk.daybook.hanging import hung_text
from benchwalk.job.shop import Shop
from benchwalk.procedure.linked import Linked
from benchwalk.screens.app import BenchwalkApp
from benchwalk.screens.asking import Pick
from benchwalk.screens.learned import LearnedScreen
from benchwalk.screens.procedures import ProceduresScreen
from benchwalk.screens.record import JobPages
from benchwalk.walk import acts
from screen_helpers import NARROW, WIDE, part, shown
from shop_helpers import SENIOR, begin, command, drive, fresh_shop, tree
from test_screens_bench import HOSTILE, benched, over, press, rested
from walk_helpers import GAP, linked

pytestmark = pytest.mark.asyncio


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with two jobs of one procedure, and a problem that was reported in the second."""
    shop = fresh_shop(tmp_path)
    for gap in ("4", "9"):
        with begin(shop, linked(GAP), drum={}) as session:
            drive(session, "@measure")
            session.do(acts.Done())
            session.do(acts.Record(gap))
            if gap == "9":
                session.do(acts.Problem(f"how far is again? {HOSTILE}"))
    return shop


@asynccontextmanager
async def opened(
    shop: Shop, now: Linked | None = None, size: tuple[int, int] = NARROW, name: str = "look-over"
) -> AsyncIterator[tuple[Pilot[int], LearnedScreen]]:
    """The page on a screen of that size, once the logs are read."""
    app = BenchwalkApp(lambda: LearnedScreen(shop, name, now), quiet=0.0)
    async with app.run_test(size=size, notifications=True) as pilot:
        await rested(pilot)
        screen = app.screen_stack[-1]
        assert isinstance(screen, LearnedScreen)
        yield pilot, screen


async def mark(pilot: Pilot[int], screen: LearnedScreen, begins: str) -> None:
    """Go down to the first line that begins so."""
    await press(pilot, "home")
    for _ in range(200):
        if screen.marked_item is not None and screen.marked_item.text.startswith(begins):
            return
        await press(pilot, "down")
    raise AssertionError(f"{begins} is nowhere")


@pytest.mark.parametrize("size", [NARROW, WIDE])
async def test_screen_has_the_page_that_the_command_prints(shop: Shop, size: tuple[int, int]) -> None:
    """Line for line the same text, broken to the width of the screen, whatever stands in it."""
    printed = command("learned", "look-over", shop=shop.root).stdout.splitlines()
    async with opened(shop, size=size) as (pilot, screen):
        assert [row for item in screen.found for row in hung_text(item.inset, 80)] == printed
        assert HOSTILE in shown(pilot) and "2 jobs" in part(screen, "head")
        assert all(len(line) <= size[0] for line in shown(pilot).splitlines())
        await press(pilot, "end")
        assert "Never come to: finish, give up" in shown(pilot)


async def test_marked_line_leads_to_the_pages_of_its_job(shop: Shop) -> None:
    """Enter opens the job behind a line, asks which where there are more, and says so where there is none."""
    before = tree(shop.root)
    async with opened(shop) as (pilot, screen):
        await press(pilot, "enter")
        assert over(pilot) is screen and part(screen, "message") == "No job stands behind this line."
        await mark(pilot, screen, "set again, revision 1")
        assert part(screen, "message") == "" and part(screen, "told") == "From J-0002"
        await press(pilot, "enter")
        assert isinstance(over(pilot), JobPages) and "Job J-0002, its pages" in shown(pilot)
        assert "Tam Reyes" in shown(pilot)
        await press(pilot, "escape")
        assert over(pilot) is screen and screen.marked_item is not None
        await mark(pilot, screen, "measure: 2 visits")
        assert part(screen, "told") == "From J-0001, J-0002"
        await press(pilot, "enter")
        assert isinstance(over(pilot), Pick)
        await press(pilot, "escape")
        assert over(pilot) is screen
        await press(pilot, "enter", "1", "enter")
        assert isinstance(over(pilot), JobPages) and "Job J-0001, its pages" in shown(pilot)
    assert tree(shop.root) == before


async def test_damaged_log_is_shown_and_its_pages_open_as_far_as_they_verify(shop: Shop) -> None:
    """The line that names it leads to what can be read of it; a log of which nothing can be read is said."""
    log = shop.job("J-0002").log
    log.write_bytes(log.read_bytes().replace(b'"what":"done"', b'"what":"dune"', 1))
    async with opened(shop) as (pilot, screen):
        await mark(pilot, screen, "J-0002: line")
        await press(pilot, "enter")
        assert isinstance(over(pilot), JobPages) and "THIS LOG IS DAMAGED" in shown(pilot)
        await press(pilot, "escape")
        log.unlink()
        await press(pilot, "enter")
        assert over(pilot) is screen and "the log cannot be read" in part(screen, "message").lower()


async def test_parts_of_the_page_are_gone_through_with_two_keys(shop: Shop) -> None:
    """One key marks the next heading or step, the other the one before; beyond the last nothing happens."""
    async with opened(shop) as (pilot, screen):
        seen = []
        for _ in range(12):
            await press(pilot, "right")
            assert screen.marked_item is not None
            seen.append(screen.marked_item.text.split(" (")[0].split(":")[0])
        parts = ["Problems that were reported", "My hand says otherwise", "Gone back", "Revision 1"]
        assert seen[:7] == [*parts, "measure", "set again", "look"] and set(seen[7:]) == {"look"}
        await press(pilot, "left", "left")
        assert screen.marked_item is not None and screen.marked_item.text.startswith("measure")


async def test_page_stays_where_it_is_when_the_terminal_is_made_wider(shop: Shop) -> None:
    """The marked line stays marked, however its rows are broken."""
    async with opened(shop) as (pilot, screen):
        await mark(pilot, screen, "to set again, 1 of 2")
        await pilot.resize_terminal(*WIDE)
        await pilot.pause()
        assert screen.marked_item is not None and screen.marked_item.text.startswith("to set again, 1 of 2")
        assert "> " in next(line for line in shown(pilot).splitlines() if "to set again, 1 of 2" in line)


@pytest.mark.usefixtures("library_walked")
async def test_procedures_lead_to_what_the_logs_say(shop: Shop) -> None:
    """A key among the procedures opens the page of the marked one; Escape leads back; without a shop that is said."""
    (shop.procedures / "look-over.yaml").write_bytes(GAP.replace(b"Set the gap again.", b"Set it again, by a hair."))
    async with benched(shop, who=SENIOR) as (pilot, screen):
        await press(pilot, "l")
        procedures = over(pilot)
        assert isinstance(procedures, ProceduresScreen)
        while procedures.entries[procedures.marked or 0].name != "look-over":
            await press(pilot, "down")
        await press(pilot, "f4")
        page = over(pilot)
        assert isinstance(page, LearnedScreen) and page.procedure == "look-over" and page.now is not None
        assert "The text of this step has changed since." in " ".join(shown(pilot).split())
        await press(pilot, "escape")
        assert over(pilot) is procedures
        await press(pilot, "escape")
        assert over(pilot) is screen


@pytest.mark.usefixtures("library_walked")
async def test_without_a_shop_no_logs_are_looked_for() -> None:
    """The library alone has no logs, and says so."""
    app = BenchwalkApp(lambda: ProceduresScreen(None), quiet=0.0)
    async with app.run_test(size=NARROW) as pilot:
        await rested(pilot)
        await press(pilot, "f4")
        assert "There is no shop yet whose logs could be read." in shown(pilot)


async def test_logs_that_cannot_be_listed_are_said(shop: Shop) -> None:
    """Where the jobs cannot be listed the page says why, and nothing is shown as if it were all."""
    for each in shop.jobs_folder.iterdir():
        each.rename(shop.root / each.name)
    shop.jobs_folder.rmdir()
    shop.jobs_folder.write_text("not a folder")
    async with opened(shop) as (_pilot, screen):
        assert "The jobs cannot be listed" in part(screen, "message") and screen.found == []
