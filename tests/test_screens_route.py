"""The screens to look along and to read: the route, the pages of a job, the book; they change nothing and they hang."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from textual.geometry import Offset
from textual.selection import Selection

from benchwalk.job.shop import Shop
from benchwalk.screens.book import BookScreen
from benchwalk.screens.pages import PagesScreen, PageText
from benchwalk.screens.record import JobPages
from benchwalk.screens.route import RouteScreen
from scenes import stands_at
from screen_helpers import NARROW, WIDE, part, press, settled, shown, walking
from shop_helpers import begin, fresh_shop
from test_screens_bench import benched, busy_template, over
from test_screens_bench import press as tap
from walk_helpers import GAP, linked

pytestmark = pytest.mark.asyncio


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with three people and the flagship approved; no jobs."""
    return fresh_shop(tmp_path)


@pytest.mark.parametrize("size", [NARROW, WIDE])
async def test_the_route_stands_in_columns_under_its_stages(shop: Shop, size: tuple[int, int]) -> None:
    """How steps stand ends in one column, stages stand above their steps, and the step in hand is in the middle."""
    async with walking(stands_at(shop, "measure"), size) as (pilot, _screen):
        await press(pilot, "f5")
        lines = [line.partition("│")[0] for line in shown(pilot).splitlines()[1:-1]]
        ends = {
            len(line.rstrip()) for line in lines if line.rstrip(" ▁▂▃▄▅▆▇█").endswith(("done", "started", "current"))
        }
        assert max(ends) - min(ends) <= 1, "at most the scroll bar stands after it"
        assert any(line.strip().startswith("Take the snares off and measure") for line in lines)
        at = next(i for i, line in enumerate(lines) if "measure" in line and "current" in line)
        assert 3 < at < len(lines) - 3
        assert "nothing is changed here" in shown(pilot) and "Esc Back to the walk" in shown(pilot)


async def test_headings_are_never_marked(shop: Shop) -> None:
    """Up and down, page by page and to the ends, only steps are marked, each is told beside, and all are reached."""
    async with walking(stands_at(shop, "photo")) as (pilot, _screen):
        await press(pilot, "f5", "home")
        route = pilot.app.screen
        assert isinstance(route, RouteScreen)
        assert shown(pilot).splitlines()[1].strip().startswith("Look and listen ──")
        seen = set()
        for _ in range(len(route.rows)):
            at = route.steps.highlighted
            assert at is not None and route.rows[at].name
            seen.add(at)
            await pilot.press("down")
        await settled(pilot)
        assert seen == {i for i, row in enumerate(route.rows) if row.name}
        for key in ("end", "pageup", "pageup", "home", "pagedown", "up", "up"):
            await press(pilot, key)
            at = route.steps.highlighted
            assert at is not None and route.rows[at].name
            told = part(route, "route-step")
            assert told.startswith(route.rows[at].words) or f": {route.rows[at].words}" in told


async def test_what_a_step_says_is_read_to_its_end(shop: Shop) -> None:
    """Where it does not fit, that is said, Enter reads on to the last line, and then begins again."""
    async with walking(stands_at(shop, "gaps")) as (pilot, screen):
        before = screen.session.state.n
        await press(pilot, "f5")
        assert "more of it below; Enter reads on" in shown(pilot)
        assert "A gap read with the lever off hides it." not in shown(pilot)
        for _ in range(3):
            await press(pilot, "enter")
            if "more of it below" not in shown(pilot):
                break
        assert "A gap read with the lever off hides it." in shown(pilot)
        await press(pilot, "enter")
        assert "Lay the drum back on its pad" in shown(pilot)
        await press(pilot, "escape")
        assert pilot.app.screen is screen and screen.session.state.n == before


async def test_the_route_fits_another_width_and_keeps_its_mark(shop: Shop) -> None:
    """A terminal made wider or narrower shows the same step marked, its list and its text as wide as there is room."""
    async with walking(stands_at(shop, "photo")) as (pilot, _screen):
        await press(pilot, "f5", "down", "down")
        route = pilot.app.screen
        assert isinstance(route, RouteScreen)
        marked = route.steps.highlighted
        widths = []
        for size in (WIDE, NARROW):
            await pilot.resize_terminal(*size)
            await settled(pilot)
            widths.append(route.width)
            assert route.steps.highlighted == marked
            assert all(len(line) <= size[0] for line in shown(pilot).splitlines())
        assert widths[0] > widths[1]


async def test_a_short_procedure_can_be_looked_along(shop: Shop) -> None:
    """A procedure of few steps is shown whole, from its beginning."""
    async with walking(begin(shop, linked(GAP), drum={})) as (pilot, _screen):
        await press(pilot, "enter", "f5")
        said = shown(pilot)
        assert "Measure ──" in said and "set again" in said and "set-again" not in said
        assert "to set again, because: The gap is (gap: not known yet)" in " ".join(
            part(pilot.app.screen, "route-step").split()
        )


@pytest.mark.parametrize("size", [NARROW, WIDE])
async def test_pages_hang(shop: Shop, size: tuple[int, int]) -> None:
    """What is wrapped of a line of the pages stands further in than the line, at every size."""
    async with walking(stands_at(shop, "measure"), size) as (pilot, _screen):
        await press(pilot, "f4")
        pages = pilot.app.screen
        assert isinstance(pages, PagesScreen)
        assert len(pages.rows) > len(pages.lines)
        rows = iter(pages.rows)
        for line in pages.lines:
            first = next(rows)
            assert line.startswith(first)
            said = first
            while len(said.replace(" ", "")) < len(line.replace(" ", "")):
                row = next(rows)
                assert len(row) - len(row.lstrip()) == len(line) - len(line.lstrip()) + 2
                said += row
        assert all(len(row) <= min(96, size[0] - 5) for row in pages.rows)


async def test_marked_number_stays_marked_at_another_width(tmp_path: Path) -> None:
    """Made wider, a job's pages have the same number marked, and Enter still shows its event."""
    shop = Shop.open(shutil.copytree(busy_template(), tmp_path / "busy"))
    async with benched(shop) as (pilot, _screen):
        await tap(pilot, "b", "enter", "right", "right")
        pages = over(pilot)
        assert isinstance(pages, JobPages)
        n = pages.numbers[pages.at or 0][3]
        await pilot.resize_terminal(*WIDE)
        await tap(pilot, "enter")
        assert f"Event {n} of {len(pages.events)}" in shown(pilot)


async def test_the_columns_of_the_book_say_what_they_hold(tmp_path: Path) -> None:
    """Above the finished jobs stands what each column is; where nothing is listed there are no columns."""
    shop = Shop.open(shutil.copytree(busy_template(), tmp_path / "busy"))
    async with benched(shop) as (pilot, _screen):
        await tap(pilot, "b")
        assert isinstance(over(pilot), BookScreen)
        lines = shown(pilot).splitlines()
        head = next(i for i, line in enumerate(lines) if line.split()[:2] == ["finished", "job"])
        job = lines[head + 1]
        assert lines[head].index("job") == job.index("J-") and lines[head].index("drum") == job.index("practice")
        assert lines[head].index("how it ended") == job.index("done;")
        await tap(pilot, "slash", "=nothing of the kind")
        assert "finished    job" not in shown(pilot)


async def test_what_is_copied_of_broken_lines_is_whole(tmp_path: Path) -> None:
    """A part of the pages that is selected is copied without the blanks and breaks that the screen put into it."""
    line = "  Done: Search first speech again, set the knob where   the snares speak, " + "x" * 200 + " end"
    async with benched(Shop.open(shutil.copytree(busy_template(), tmp_path / "busy"))) as (pilot, screen):
        pages = PagesScreen("Pages", ["Stop 1, measure", line, "Ended done"], at_end=False)
        await pilot.app.push_screen(pages)
        await tap(pilot, "home")
        text = pages.query_one(PageText)
        last = len(pages.rows) - 1
        pages.selections = {text: Selection.from_offsets(Offset(8, 1), Offset(5, last))}
        assert len(pages.rows) == 6
        assert pages.get_selected_text() == f"{line[8:]}\nEnded"
        await tap(pilot, "escape")
        assert over(pilot) is screen
