"""Going about in a text that is written: words are found, steps are gone to, lines are taken out."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Input

from benchwalk.authoring.finding import next_place
from benchwalk.library import Library
from screen_helpers import NARROW, WIDE, shown
from test_screens_write import TEXT, known, line_of, message, until, writing


def test_words_are_found_from_a_place_on_and_round() -> None:
    """The first place at the spot or behind it is the next; behind the last it is the first again, and that is told."""
    lines = ["a gap and a Gap", "no", "gap"]
    first, second = next_place(lines, "gap", (0, 0)), next_place(lines, "gap", (0, 3))
    assert first is not None and (first.start, first.end, first.number, first.among) == ((0, 2), (0, 5), 1, 3)
    assert second is not None and second.start == (0, 12) and not second.round
    last = next_place(lines, "gap", (2, 1))
    assert last is not None and last.start == (0, 2) and last.round
    assert next_place(lines, "g.p", (0, 0)) is None


def test_a_capital_stands_for_itself() -> None:
    """Small letters find capitals too; words with a capital find only what is written so."""
    lines = ["gap", "GAP", "Gap"]
    small, capital = next_place(lines, "gap", (0, 1)), next_place(lines, "Gap", (0, 0))
    assert small is not None and small.start == (1, 0)
    assert capital is not None and capital.start == (2, 0) and capital.among == 1


@pytest.mark.asyncio
@pytest.mark.parametrize("size", [NARROW, WIDE])
async def test_words_are_found_by_key_and_once_more(tmp_path: Path, size: tuple[int, int]) -> None:
    """Ctrl+F asks for words and marks the next place; the same key and Enter go on from there, round and with a word
    about it, also when the outline stands in place of the text."""
    text = TEXT + "# ask-senior"
    rows = [row for row, line in enumerate(text.split("\n")) if "ask-senior" in line]
    async with writing(tmp_path / "a.yaml", text, size) as (pilot, screen):
        if size == NARROW:
            await pilot.press("f6")
        await pilot.press("ctrl+f")
        await pilot.pause()
        await pilot.press(*"Ask-", *["backspace"] * 4, *"ask-sen", "enter")
        await pilot.pause()
        for number, row in enumerate(rows, 1):
            assert screen.editor.display and screen.editor.selected_text == "ask-sen"
            assert screen.editor.cursor_location[0] == row
            assert message(screen) == f"Line {row + 1}, place {number} of {len(rows)}."
            await pilot.press("ctrl+f")
            await pilot.pause()
            assert pilot.app.screen.query_one(Input).value == "ask-sen"
            await pilot.press("enter")
            await pilot.pause()
        assert message(screen) == f"On from the top: line {rows[0] + 1}, place 1 of {len(rows)}."


@pytest.mark.asyncio
async def test_words_that_stand_nowhere_are_told_and_asked_again(tmp_path: Path) -> None:
    """One sentence says that they stand nowhere; the question stays, its words marked, and leaving moves nothing."""
    async with writing(tmp_path / "a.yaml") as (pilot, screen):
        screen.editor.move_cursor((3, 2))
        await pilot.press("ctrl+f")
        await pilot.pause()
        await pilot.press(*"xyzzy", "enter")
        await pilot.pause()
        assert "'xyzzy' stands nowhere in this text" in shown(pilot)
        await pilot.press(*"tools", "enter")
        await pilot.pause()
        assert screen.editor.selected_text == "tools"
        await pilot.press("ctrl+f")
        await pilot.pause()
        await pilot.press("escape")
        await pilot.pause()
        assert screen.editor.selected_text == "tools" and screen.editor.text == TEXT


@pytest.mark.asyncio
async def test_what_is_marked_is_looked_for(tmp_path: Path) -> None:
    """Words that are marked in the text stand in the question, ready to be looked for."""
    async with writing(tmp_path / "a.yaml") as (pilot, screen):
        row = line_of("step: hand-back")
        start = screen.editor.lines[row].index("hand-back")
        screen.stand_at((row, start), (row, start + 9))
        await pilot.press("ctrl+f", "enter")
        await pilot.pause()
        assert screen.editor.cursor_location[0] == line_of("go: hand-back")
        assert message(screen).startswith("On from the top: ")


@pytest.mark.asyncio
@pytest.mark.parametrize("size", [NARROW, WIDE])
async def test_step_is_gone_to_by_a_part_of_its_name(tmp_path: Path, size: tuple[int, int]) -> None:
    """Ctrl+G lists the steps in the order of the file, marks the one the cursor is in, and goes to the one typed."""
    text = Library.of(None).path_of("retie-snare-cords").read_text(encoding="utf-8")
    async with writing(tmp_path / "a.yaml", text, size) as (pilot, screen):
        names = [line[len("  - step: ") :] for line in text.split("\n") if line.startswith("  - step: ")]
        here = names[len(names) // 2]
        screen.editor.move_cursor((line_of(f"  - step: {here}\n", text) + 1, 0))
        await pilot.press("ctrl+g")
        await until(pilot, "Go to a step")
        assert f"> {here}" in shown(pilot) and "you are here" in shown(pilot)
        wanted = names[-1]
        await pilot.press(*wanted)
        await until(pilot, f"> {wanted}")
        await pilot.press("enter")
        await pilot.pause()
        row = line_of(f"  - step: {wanted}\n", text)
        assert screen.editor.cursor_location == (row, 0) and f"line {row + 1}" in message(screen)


@pytest.mark.asyncio
async def test_steps_are_listed_while_the_text_cannot_be_read(tmp_path: Path) -> None:
    """Steps can be gone to in a text with errors; where there are none, a sentence says so."""
    async with writing(tmp_path / "a.yaml", TEXT.replace("title:", "titel:")) as (pilot, screen):
        await pilot.press("ctrl+g")
        await until(pilot, "Go to a step")
        await pilot.press("down", "down", "enter")
        await pilot.pause()
        assert screen.editor.cursor_location == (line_of("step: hand-back"), 0)
        screen.editor.text = "title: nothing yet\n"
        await pilot.press("ctrl+g")
        await until(pilot, "No step stands here yet")


@pytest.mark.asyncio
async def test_line_of_the_cursor_is_taken_out_and_put_in_elsewhere(tmp_path: Path) -> None:
    """Ctrl+X takes the whole line of the cursor out before the next sign is typed; Ctrl+V puts it in again, and undo
    brings it back."""
    async with writing(tmp_path / "a.yaml") as (pilot, screen):
        row = line_of("title:")
        screen.editor.move_cursor((row, 4))
        await pilot.press("ctrl+x", "home", "x")
        lines = TEXT.split("\n")
        assert screen.editor.lines[row] == f"x{lines[row + 1]}"
        await pilot.press("backspace", "up", "home", "ctrl+v")
        assert screen.editor.lines[:2] == [lines[1], lines[0]]
        await pilot.press("ctrl+z", "ctrl+z", "ctrl+z", "ctrl+z")
        assert screen.editor.text == TEXT


@pytest.mark.asyncio
async def test_more_names_the_keys_for_words_steps_and_lines(tmp_path: Path) -> None:
    """F9 offers finding words, going to a step and taking out a line, each with its key, and does it."""
    async with writing(tmp_path / "a.yaml") as (pilot, screen):
        screen.editor.move_cursor((line_of("title:"), 0))
        await pilot.press("f9")
        await until(pilot, "Find words (Ctrl+F)")
        assert "Go to a step (Ctrl+G)" in shown(pilot) and "Take out this line (Ctrl+X)" in shown(pilot)
        await pilot.press("6", "enter")
        await known(pilot, screen)
        assert "title:" not in screen.editor.text
        await pilot.press("f9")
        await until(pilot, "Find words")
        await pilot.press("4", "enter")
        await until(pilot, "Small letters find capitals too")


@pytest.mark.asyncio
async def test_too_small_a_terminal_takes_no_line_out(tmp_path: Path) -> None:
    """While the sentence about the size stands over the text, no line is taken out and nothing is put in."""
    async with writing(tmp_path / "a.yaml", size=(60, 20)) as (pilot, screen):
        pilot.app.copy_to_clipboard("from elsewhere")
        await pilot.press("ctrl+x", "ctrl+v")
        await pilot.pause()
        assert screen.editor.text == TEXT
