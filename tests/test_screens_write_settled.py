"""Two texts of one file: what somebody else wrote, and what is not saved here; whichever stays, none is lost."""

from __future__ import annotations

from pathlib import Path

import pytest

from benchwalk.authoring import recovery
from benchwalk.authoring.edits import lines_apart
from screen_helpers import shown
from test_screens_write import TEXT, known, message, until, writing

THEIRS = TEXT.replace("Fit a gate", "Fit two gates").replace("time: 10 min", "time: 12 min\n# slowly")
MINE = "# mine\n" + TEXT


def test_lines_apart_are_counted() -> None:
    """Lines that were changed, put in or taken out are counted once each; line ends count for nothing."""
    assert lines_apart("a\nb\nc", "a\nb\nc") == 0 == lines_apart("a\r\nb", "a\nb\n")
    assert lines_apart("a\nb\nc", "a\nx\ny\nc") == 2 == lines_apart("a\nb\nc\nd", "a\nd")
    assert lines_apart(TEXT, THEIRS) == 3


@pytest.mark.asyncio
async def test_file_is_taken_and_one_undo_takes_it_back(tmp_path: Path) -> None:
    """Saving over what somebody else wrote says in how many lines the texts differ; taking theirs shows it as saved,
    keeps what was here, and one undo brings that back, unsaved."""
    path = tmp_path / "a.yaml"
    async with writing(path) as (pilot, screen):
        await pilot.press(*"# mine", "enter")
        path.write_text(THEIRS, encoding="utf-8")
        screen.look_outside()
        await pilot.pause()
        assert message(screen) == "The file was changed elsewhere; F2 asks which of the two texts stays."
        await pilot.press("f2")
        await until(pilot, "Take the file's text")
        assert "differ in 4 lines" in " ".join(shown(pilot).split())
        await pilot.press("3", "enter")
        await until(pilot, "Ctrl+Z brings back")
        assert screen.editor.text == THEIRS and not screen.unsaved
        assert recovery.kept(path) == MINE
        await pilot.press("ctrl+z")
        assert screen.editor.text == MINE and screen.unsaved
        await pilot.press("f2")  # what was seen of the file is known now: nothing is asked of it again
        await known(pilot, screen)
        await until(pilot, "Saved:")
    assert path.read_text(encoding="utf-8") == MINE


@pytest.mark.asyncio
async def test_the_same_text_is_not_asked_about(tmp_path: Path) -> None:
    """Where somebody else saved just what stands here nothing is asked, and it counts as saved."""
    path = tmp_path / "a.yaml"
    async with writing(path) as (pilot, screen):
        await pilot.press(*"# mine", "enter")
        path.write_text(MINE, encoding="utf-8")
        await pilot.press("f2")
        await until(pilot, "saved the same text already")
        assert not screen.unsaved


@pytest.mark.asyncio
async def test_file_that_is_gone_is_not_taken(tmp_path: Path) -> None:
    """Where the file was taken away saving says so, and offers to put the text in its place again."""
    path = tmp_path / "a.yaml"
    async with writing(path) as (pilot, _screen):
        await pilot.press(*"# mine", "enter")
        path.unlink()
        await pilot.press("f2")
        await until(pilot, "The file is gone")
        assert "Take the file's text" not in shown(pilot)
        await pilot.press("2", "enter")
        await until(pilot, "Saved:")
    assert path.read_text(encoding="utf-8") == MINE
