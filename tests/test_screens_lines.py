"""The long list of single lines, and what the first screen does: drawn only where seen, and left to end the program."""

from __future__ import annotations

import gc
from collections.abc import Iterator

import pytest
from textual.app import ComposeResult

from benchwalk.daybook.ink import Line, Span, line
from benchwalk.procedure.collector import collector_rests
from benchwalk.screens.app import BenchwalkApp
from benchwalk.screens.base import Page
from benchwalk.screens.lines import Lines
from screen_helpers import NARROW, shown

pytestmark = pytest.mark.asyncio


class Listing(Page):
    """A screen of many lines; it notes which were made."""

    def __init__(self, count: int) -> None:
        super().__init__()
        self.count = count
        self.made: list[int] = []
        self.marked: list[bool] = []

    def page(self) -> ComposeResult:
        yield Lines(id="rows")

    def on_mount(self) -> None:
        self.query_one(Lines).show(self.count, self.line, 0)

    def line(self, index: int) -> Line:
        self.made.append(index)
        return line(Span(f"[b]line[/] {index}", "quiet"))

    def on_lines_marked(self, event: Lines.Marked) -> None:
        self.marked.append(event.clicked)


async def test_only_lines_that_are_seen_are_made() -> None:
    """Of a hundred thousand lines those on the screen are made, wherever in the list that is."""
    screen = Listing(100_000)
    async with BenchwalkApp(lambda: screen).run_test(size=NARROW) as pilot:
        await pilot.pause()
        assert "[b]line[/] 0" in shown(pilot) and max(screen.made) < 30
        screen.query_one(Lines).action_last()
        await pilot.pause()
        assert "[b]line[/] 99999" in shown(pilot)
        assert set(screen.made) <= set(range(30)) | set(range(99_970, 100_000))


async def test_keys_move_the_mark_and_keep_it_on_the_screen() -> None:
    """Up and down go round at the ends; a page goes a screen and stops at the ends."""
    screen = Listing(60)
    async with BenchwalkApp(lambda: screen).run_test(size=NARROW) as pilot:
        await pilot.pause()
        rows = screen.query_one(Lines)
        moves = [
            (rows.action_cursor_up, 59),
            (rows.action_cursor_down, 0),
            (rows.action_cursor_down, 1),
            (rows.action_page_down, 1 + rows.size.height),
            (rows.action_page_up, 1),
            (rows.action_page_up, 0),
            (rows.action_last, 59),
            (rows.action_page_down, 59),
            (rows.action_first, 0),
        ]
        for move, place in moves:
            move()
            await pilot.pause()
            assert rows.highlighted == place
            assert f"[b]line[/] {place}" in shown(pilot)


async def test_a_click_marks_the_line_under_it() -> None:
    """A click marks and says that it was a click; below the last line it does nothing."""
    screen = Listing(3)
    async with BenchwalkApp(lambda: screen).run_test(size=NARROW) as pilot:
        await pilot.pause()
        await pilot.click(Lines, offset=(4, 2))
        await pilot.pause()
        assert screen.query_one(Lines).highlighted == 2 and screen.marked[-1] is True
        before = len(screen.marked)
        await pilot.click(Lines, offset=(4, 9))
        await pilot.pause()
        assert screen.query_one(Lines).highlighted == 2 and len(screen.marked) == before


async def test_a_list_of_nothing_has_no_mark() -> None:
    """Where there are no lines none is marked, whatever key is pressed."""
    screen = Listing(0)
    async with BenchwalkApp(lambda: screen).run_test(size=NARROW) as pilot:
        await pilot.pause()
        rows = screen.query_one(Lines)
        for move in (rows.action_cursor_down, rows.action_cursor_up, rows.action_last, rows.action_page_up):
            move()
            assert rows.highlighted is None
        assert screen.made == []


async def test_first_screen_is_left_to_end_the_program() -> None:
    """Nothing lies below the first screen: leaving it ends the program, leaving a later one does not."""
    first, second = Listing(1), Listing(2)
    app = BenchwalkApp(lambda: first)
    async with app.run_test(size=NARROW) as pilot:
        await pilot.pause()
        assert app.screen is first
        await app.push_screen(second)
        second.leave()
        await pilot.pause()
        assert app.screen is first and app.return_code is None
        first.leave()
        await pilot.pause()
    assert app.return_code == 0


@pytest.fixture
def thawed() -> Iterator[None]:
    """What the collector was told to leave alone is looked at again afterwards."""
    yield
    gc.unfreeze()


@pytest.mark.usefixtures("thawed")
async def test_collector_rests_no_longer_than_to_the_first_frame() -> None:
    """A start that lets the garbage collector rest wakes it once the first screen is drawn."""
    with collector_rests():
        assert not gc.isenabled()
        async with BenchwalkApp(lambda: Listing(5)).run_test(size=NARROW) as pilot:
            await pilot.pause(0.1)
            assert gc.isenabled() and "[b]line[/] 4" in shown(pilot)
    assert gc.isenabled()
