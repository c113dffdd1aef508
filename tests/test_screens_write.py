"""The writing screen: what is wrong is told as one writes, what has a cure is mended, and nothing is lost."""

from __future__ import annotations

import asyncio
import os
import re
import signal
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import pytest
from textual.app import App
from textual.events import Paste
from textual.geometry import Region
from textual.pilot import Pilot
from textual.widgets import Static

from benchwalk.authoring.draft import Draft
from benchwalk.authoring.judging import judge
from benchwalk.authoring.skeleton import skeleton
from benchwalk.errors import Refused
from benchwalk.job.approvals import approvals
from benchwalk.library import Library
from benchwalk.screens.app import BenchwalkApp
from benchwalk.screens.editor import Editor
from benchwalk.screens.procedures import ProceduresScreen
from benchwalk.screens.walk import WalkScreen
from benchwalk.screens.write import WriteScreen
from benchwalk.shop.approvable import must_be_clean
from house import patiently
from screen_helpers import NARROW, WIDE, RealTerminal, shown
from shop_helpers import PINS, SENIOR, fresh_shop

TEXT = skeleton("fit-a-gate")


@asynccontextmanager
async def writing(
    path: Path, text: str = TEXT, size: tuple[int, int] = NARROW, **more: Any
) -> AsyncIterator[tuple[Pilot[int], WriteScreen]]:
    """A file with that text in the writing screen."""
    path.write_bytes(text.encode())
    app = BenchwalkApp(lambda: WriteScreen(Draft.open(path), Library([path.parent])), quiet=0.0, **more)
    async with app.run_test(size=size) as pilot:
        screen = app.screen
        assert isinstance(screen, WriteScreen)
        await known(pilot, screen)
        yield pilot, screen


async def known(pilot: Pilot[int], screen: WriteScreen, *, walked: bool = False) -> None:
    """Wait until what is wrong with the text as it stands is told."""
    for _ in range(1000):
        await pilot.pause()
        seen = screen._walked_version if walked else screen._judged_version
        if seen == screen._version:
            await pilot.pause()
            return
        await asyncio.sleep(0.01)
    raise AssertionError("the text is never judged")


def findings(screen: WriteScreen) -> str:
    """What is told at the foot."""
    return str(screen.query_one("#write-findings", Static).visual)


def message(screen: WriteScreen) -> str:
    """What is said above the keys."""
    return str(screen.query_one("#message", Static).visual)


def line_of(words: str, text: str = TEXT) -> int:
    """The line, from 0, in which those words stand first."""
    return text[: text.index(words)].count("\n")


@pytest.mark.asyncio
@pytest.mark.parametrize("size", [NARROW, WIDE])
async def test_fault_is_told_as_it_is_written(tmp_path: Path, size: tuple[int, int]) -> None:
    """A name that is not there is told with its line while one goes on writing, and is gone once it is mended."""
    async with writing(tmp_path / "a.yaml", size=size) as (pilot, screen):
        assert "no errors" in shown(pilot)
        row = line_of("go: hand-back")
        screen.editor.move_cursor((row, len(screen.editor.lines[row]) - 1))
        await pilot.press("x")
        await known(pilot, screen)
        assert "1 error" in shown(pilot) and f"> {row + 1}: error" in findings(screen)
        await pilot.press("backspace")
        await known(pilot, screen)
        assert "error  " not in findings(screen)


@pytest.mark.asyncio
async def test_keys_lead_from_fault_to_fault(tmp_path: Path) -> None:
    """The fault keys put the cursor where the next and the last fault stand."""
    text = TEXT.replace("go: ask-senior", "go: ask-nobody")
    async with writing(tmp_path / "a.yaml", text) as (pilot, screen):
        first, second = line_of("ask-nobody", text), line_of("ask-nobody", text) + 1
        await pilot.press("f3")
        assert screen.editor.cursor_location[0] == first
        await pilot.press("f3")
        assert screen.editor.cursor_location[0] == second
        await pilot.press("shift+f3")
        assert screen.editor.cursor_location[0] == first


@pytest.mark.asyncio
async def test_nothing_is_called_right_before_all_is_looked_at(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While the examples are still to be walked the fault key says so; afterwards it says that nothing is wrong."""
    async with writing(tmp_path / "fit-a-gate.yaml") as (pilot, screen):
        await known(pilot, screen, walked=True)
        await pilot.press("f3")
        assert message(screen) == "Nothing is wrong here."
        monkeypatch.setattr("benchwalk.screens.write.QUIET", 60.0)
        await pilot.press("ctrl+end", "enter", "f3")
        assert message(screen) == "Nothing is wrong so far; it is still being looked at."


@pytest.mark.asyncio
async def test_narrower_terminal_keeps_the_text_in_sight(tmp_path: Path) -> None:
    """Made narrow it shows the text somebody was writing; what was chosen in its place on a narrow one stays."""

    async def sized(width: int, height: int) -> tuple[str, bool]:
        await pilot.resize_terminal(width, height)
        for _ in patiently():
            await pilot.pause(0.02)
            if screen.query_one("#write-head").size.width == width:
                break
        await pilot.pause()
        return screen.side, screen.editor.display

    async with writing(tmp_path / "a.yaml", size=WIDE) as (pilot, screen):
        assert await sized(*NARROW) == ("text", True) and screen.editor.has_focus
        await pilot.press("f6")
        assert await sized(NARROW[0] + 5, NARROW[1]) == ("outline", False)
        assert await sized(*WIDE) == ("outline", True)


@pytest.mark.asyncio
async def test_too_small_a_terminal_takes_nothing_into_the_text(tmp_path: Path) -> None:
    """While the sentence about the size stands over the text, no sign, key or paste changes it; afterwards they do."""
    async with writing(tmp_path / "a.yaml", size=(60, 20)) as (pilot, screen):
        assert screen.too_small
        await pilot.press("x", "enter", "delete", "tab", "ctrl+k")
        pilot.app.post_message(Paste("from elsewhere"))
        await pilot.pause()
        assert screen.editor.text == TEXT
        await pilot.resize_terminal(*NARROW)
        await pilot.pause()
        pilot.app.post_message(Paste("from elsewhere"))
        await pilot.pause()
        await pilot.press("x")
        assert screen.editor.text == "from elsewherex" + TEXT


@pytest.mark.asyncio
async def test_missing_branch_is_mended_by_key_and_undone_by_key(tmp_path: Path) -> None:
    """The mending key asks where the missing branch leads and puts it in, nothing is wrong then, and undo takes it out
    again; leaving the question puts nothing in."""
    text = TEXT.replace("      - {when: gap is above, because: The plate is too far, go: ask-senior}\n", "")
    text = text.split("  - example: the plate is too far")[0]
    async with writing(tmp_path / "a.yaml", text) as (pilot, screen):
        await pilot.press("f4")
        await pilot.pause()
        assert "Add a branch for gap is above" in shown(pilot)
        await pilot.press("enter")
        await until(pilot, "Where does it lead?")
        assert "> ask-senior" in shown(pilot)
        await pilot.press("escape")
        await pilot.pause()
        assert screen.editor.text == text
        await pilot.press("f4", "enter")
        await until(pilot, "Where does it lead?")
        await pilot.press(*"senior", "enter")
        await known(pilot, screen)
        assert "{when: gap is above, because: Say why, go: ask-senior}\n" in screen.editor.text
        assert screen.judged is not None and screen.judged.errors == 0
        assert "gap is above, to ask-senior" in message(screen) and screen.editor.selected_text == "Say why"
        await pilot.press("ctrl+z")
        assert screen.editor.text == text


@pytest.mark.asyncio
async def test_lines_are_broken_anew_at_another_width(tmp_path: Path) -> None:
    """Made wider, so that the outline takes its place beside it, the text is whole, and its head ends at the edge."""
    async with writing(tmp_path / "a.yaml") as (pilot, screen):
        await pilot.resize_terminal(*WIDE)
        for _ in patiently():
            await pilot.pause(0.02)
            if "│" in shown(pilot) and screen.editor.wrapped_document._width == screen.editor.wrap_width:
                break
        await pilot.pause(0.1)
        rows = [row.partition("│")[0] for row in shown(pilot).splitlines()]
        assert "wanted:3..6" in "".join("".join(rows).split())
        head = shown(pilot).splitlines()[0].rstrip()
        assert head.endswith("saved") and len(head) > 110
        assert screen.editor.display


@pytest.mark.asyncio
async def test_side_shows_the_outline_and_the_step_at_the_cursor(tmp_path: Path) -> None:
    """On a narrow screen the key leads from the text to the outline, to the step as it is walked, and back."""
    async with writing(tmp_path / "a.yaml") as (pilot, screen):
        screen.editor.move_cursor((line_of("step: measure") + 1, 0))
        await pilot.press("f6")
        await pilot.pause()
        assert "The gap is right: hand-back" in shown(pilot)
        await pilot.press("f6")
        for _ in patiently():
            await pilot.pause(0.02)
            if "Wanted: 3 to 6 mm" in shown(pilot):
                break
        assert "Stop 1, measure" in shown(pilot) and "Wanted: 3 to 6 mm" in shown(pilot)
        await pilot.press("f6")
        assert screen.editor.display and "procedure: fit-a-gate" in screen.editor.text


@pytest.mark.asyncio
async def test_walk_begins_at_the_cursor_and_leaves_nothing(tmp_path: Path) -> None:
    """The walking key opens a walk at the step of the cursor; leaving comes back to the text, and no file is left."""
    async with writing(tmp_path / "a.yaml") as (pilot, screen):
        screen.editor.move_cursor((line_of("step: hand-back") + 1, 0))
        await pilot.press("f5")
        for _ in patiently():
            await pilot.pause(0.02)
            if isinstance(pilot.app.screen, WalkScreen):
                break
        walk = pilot.app.screen
        assert isinstance(walk, WalkScreen)
        assert walk.session.state.visits[-1].step == "hand-back"
        folder = walk.session.shop.root.parent
        assert folder.exists()
        await pilot.press("f10")
        for _ in patiently():
            await pilot.pause(0.02)
            if pilot.app.screen is screen and not folder.exists():
                break
        assert pilot.app.screen is screen and not folder.exists()
        assert sorted(p.name for p in tmp_path.iterdir() if p.is_file()) == ["a.yaml"]


@pytest.mark.asyncio
async def test_text_with_errors_is_not_walked(tmp_path: Path) -> None:
    """While something is wrong the walking key says so, and no walk begins."""
    async with writing(tmp_path / "a.yaml", TEXT.replace("go: hand-back", "go: hand-bak")) as (pilot, screen):
        await pilot.press("f5")
        await pilot.pause()
        assert pilot.app.screen is screen and "cannot be walked" in message(screen)


@pytest.mark.asyncio
async def test_step_is_renamed_everywhere_by_key(tmp_path: Path) -> None:
    """The renaming key asks for the name and changes every place at once; undo brings all of them back."""
    async with writing(tmp_path / "a.yaml") as (pilot, screen):
        screen.editor.move_cursor((line_of("step: ask-senior"), 0))
        await pilot.press("f7")
        await pilot.pause()
        await pilot.press(*["backspace"] * 10, *"show-it", "enter")
        await known(pilot, screen)
        assert "ask-senior" not in screen.editor.text and screen.editor.text.count("show-it") == 3
        assert "in 3 places" in message(screen)


@pytest.mark.asyncio
async def test_names_are_offered_where_they_fit(tmp_path: Path) -> None:
    """The names key completes what is begun where one name fits, and lets one of several be picked."""
    async with writing(tmp_path / "a.yaml") as (pilot, screen):
        row = line_of("go: ask-senior")
        line = screen.editor.lines[row]
        screen.editor.replace("ha}", (row, line.index("ask-senior")), (row, len(line)))
        screen.editor.move_cursor((row, line.index("ask-senior") + 2))
        await pilot.press("f8")
        await pilot.pause()
        assert screen.editor.lines[row].endswith("go: hand-back}")


@pytest.mark.asyncio
async def test_saving_keeps_every_byte_that_was_not_written(tmp_path: Path) -> None:
    """A word typed into a file of another system changes that word only: line ends, spaces and comments stay."""
    text = TEXT.replace("\n", "\r\n") + "# the end, without a line end"
    path = tmp_path / "a.yaml"
    async with writing(path, text) as (pilot, screen):
        screen.editor.move_cursor((1, len("title: Fit a gate")))
        await pilot.press("s", "f2")
        await known(pilot, screen)
        for _ in range(50):
            await pilot.pause(0.02)
            if not screen.unsaved:
                break
        assert path.read_bytes() == text.replace("Fit a gate", "Fit a gates", 1).encode()
        assert "saved" in shown(pilot)


@pytest.mark.asyncio
async def test_unsaved_text_is_asked_about(tmp_path: Path) -> None:
    """Leaving with something unsaved asks; staying keeps the text, and leaving without it leaves the file alone."""
    path = tmp_path / "a.yaml"
    async with writing(path) as (pilot, screen):
        await pilot.press("#", "f10")
        await pilot.pause()
        assert "Not saved yet" in shown(pilot)
        await pilot.press("3", "enter")
        await pilot.pause()
        assert pilot.app.screen is screen and screen.editor.text.startswith("#")
        await pilot.press("f10")
        await pilot.pause()
        await pilot.press("2", "enter")
        await pilot.pause()
    assert path.read_text(encoding="utf-8") == TEXT


@pytest.mark.asyncio
async def test_file_changed_elsewhere_is_followed_or_asked_about(tmp_path: Path) -> None:
    """A text with nothing unsaved follows the file; one with something unsaved is kept, and saving asks first."""
    path = tmp_path / "a.yaml"
    async with writing(path) as (pilot, screen):
        path.write_text(TEXT.replace("Fit a gate", "Fit two gates"), encoding="utf-8")
        screen.look_outside()
        await pilot.pause()
        assert "Fit two gates" in screen.editor.text
        await pilot.press("#")
        path.write_text(TEXT, encoding="utf-8")
        screen.look_outside()
        await pilot.pause()
        assert screen.editor.text.startswith("#") and "changed elsewhere" in message(screen)
        await pilot.press("f2")
        await pilot.pause()
        assert "Changed elsewhere" in shown(pilot)
        await pilot.press("enter")
        await pilot.pause()
    assert path.read_text(encoding="utf-8") == TEXT


@pytest.mark.asyncio
@pytest.mark.parametrize(
    "hostile", ["[b]x[/b] \\[", "\x1b[31mred", "\u202eabc", "[@click=app.quit]q[/]", "日本語" * 20]
)
async def test_hostile_text_is_only_text(tmp_path: Path, hostile: str) -> None:
    """Brackets, escapes, marks and wide signs in a procedure do nothing in the editor, the outline or the findings."""
    text = TEXT.replace("Lay the rule between plate and hoop.", '"' + hostile.replace("\\", "\\\\") + '"')
    async with writing(tmp_path / "a.yaml", text, WIDE) as (pilot, screen):
        await pilot.press("f6", "f6")
        await pilot.pause()
        assert "\x1b" not in shown(pilot) and "\u202e" not in shown(pilot)
        assert screen.editor.text == text


@pytest.mark.asyncio
@pytest.mark.parametrize("size", [NARROW, WIDE])
async def test_a_key_draws_what_drawing_all_would(size: tuple[int, int]) -> None:
    """Whatever is typed, taken out, undone or broken, and wherever brackets match, the rows that were left as they
    were are those that a fresh drawing of all rows has."""
    keys = [*"(a b)", "left", "backspace", "backspace", "x", "home", *"# ", "end", *" and so on until the row is full,"]
    keys += [*" and on in the next one", *["backspace"] * 30, "enter", "y", "ctrl+z", "ctrl+z", "up", "delete", "down"]
    keys += ["shift+end", "q", "ctrl+y", "home", "backspace", "(", "enter", "x", ")", "left", "y", "delete", "z"]
    app: App[None] = App()
    async with app.run_test(size=size) as pilot:
        editor = Editor(TEXT, id="text")
        await app.mount(editor)
        editor.focus()
        for key in ["down", "down", "end", *keys]:
            await pilot.press({" ": "space", ",": "comma", "#": "number_sign"}.get(key, key))
            await pilot.pause()
            drawn = editor.render_lines(Region(0, 0, *editor.size))
            editor.refresh()
            assert editor.render_lines(Region(0, 0, *editor.size)) == drawn, key


def test_written_in_a_real_terminal_with_the_users_own_editor(tmp_path: Path) -> None:
    """`benchwalk write --new` opens a file that works; $EDITOR is run on it, and what it saved is shown; nothing is
    left behind but the file."""
    shop = fresh_shop(tmp_path)
    editor = tmp_path / "editor.sh"
    editor.write_text('#!/bin/sh\nsed -i "s/Fit a gate/Fit a new gate/" "$1"\n', encoding="utf-8")
    editor.chmod(0o755)
    terminal = RealTerminal("--shop", str(shop.root), "write", "--new", "fit-a-gate", EDITOR=str(editor), VISUAL="")
    terminal.until("no errors")
    terminal.press("f9")
    terminal.until("Open the file in your own editor")
    terminal.press("enter")
    terminal.until("Fit a new gate")
    terminal.press("f10")
    assert terminal.end() == 0 and terminal.whole
    path = shop.root / "procedures" / "fit-a-gate.yaml"
    assert "title: Fit a new gate" in path.read_text(encoding="utf-8")
    assert [p.name for p in path.parent.iterdir() if p.name != "approvals.jsonl"] == ["fit-a-gate.yaml"]


@pytest.mark.asyncio
async def test_what_is_wrong_is_drawn_in_one_frame(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What was judged goes to the terminal before anything else is done: the head, the marked line, the sentence."""
    frames: list[str] = []

    def drawn(app: BenchwalkApp, _screen: object, frame: Any) -> None:
        if frame is not None:
            frames.append(re.sub(r"\x1b\[[0-9;:]*m", "", frame.render_segments(app.console)))

    async with writing(tmp_path / "fit.yaml") as (pilot, screen):
        await known(pilot, screen, walked=True)
        judged = judge(TEXT.replace("procedure:", "xprocedure:"), "x.yaml", lambda name: None, [])
        monkeypatch.setattr(BenchwalkApp, "_display", drawn)
        screen._show(judged)
        assert len(frames) == 1
        assert all(words in frames[0] for words in (f"{judged.errors} errors", "procedure: fit-a-gate", "'xprocedure'"))


def test_shipped_procedure_becomes_the_shops_own(tmp_path: Path) -> None:
    """Writing a procedure that came with the program writes a copy in the shop, which then goes before it."""
    shop = fresh_shop(tmp_path)
    terminal = RealTerminal("--shop", str(shop.root), "write", "tie-one-side")
    terminal.until("as it came with the program")
    terminal.press("#", "f2")
    terminal.until("Saved:")
    terminal.press("f10")
    assert terminal.end() == 0
    own = shop.root / "procedures" / "tie-one-side.yaml"
    assert own.read_text(encoding="utf-8").startswith("#")
    assert Library.of(shop.root).path_of("tie-one-side") == own


def test_writing_needs_a_terminal(tmp_path: Path) -> None:
    """Without a terminal one sentence says what to do instead."""
    import subprocess
    import sys

    done = subprocess.run(
        [sys.executable, "-m", "benchwalk", "write", "tie-one-side"], capture_output=True, text=True, check=False
    )
    assert done.returncode == 2 and "benchwalk check" in done.stderr and "Traceback" not in done.stderr


async def until(pilot: Pilot[int], words: str, seconds: float = 30) -> None:
    """Wait until the screen says that."""
    for _ in range(int(seconds / 0.02)):
        await pilot.pause(0.02)
        if words in shown(pilot):
            return
    raise AssertionError(f"never said: {words}\n{shown(pilot)}")


@pytest.mark.asyncio
async def test_missing_examples_are_found_and_put_in_by_key(tmp_path: Path) -> None:
    """Where ways are walked by no example the mending key finds examples that walk them, and puts them in."""
    text = TEXT.split("  - example: the plate is too near")[0]
    async with writing(tmp_path / "fit-a-gate.yaml", text) as (pilot, screen):
        await known(pilot, screen, walked=True)
        assert "No example walks 3 of 5 ways" in findings(screen)
        await pilot.press("f4")
        await until(pilot, "Add examples for the ways that none walks")
        await pilot.press("enter")
        await until(pilot, "Done:")
        await known(pilot, screen, walked=True)
        assert screen.judged is not None and not screen.judged.findings
        assert screen.editor.text.startswith(text.rstrip("\n")) and "ends: referred" in screen.editor.text


@pytest.mark.usefixtures("library_walked")
@pytest.mark.asyncio
async def test_second_person_approves_at_the_screen(tmp_path: Path) -> None:
    """Among the procedures a senior who gives the right PIN approves the marked one; a wrong PIN is asked again."""
    shop = fresh_shop(tmp_path)
    app = BenchwalkApp(lambda: ProceduresScreen(shop))
    async with app.run_test(size=NARROW) as pilot:
        await until(pilot, "3 in the library")
        await pilot.press("end")
        before = approvals(shop)
        await pilot.press("f3")
        await until(pilot, "Who approves it?")
        await pilot.press("1", "enter")
        await until(pilot, "You sign: tie-one-side revision 1 as approved")
        await pilot.press(*"0000", "enter")
        await pilot.pause(0.3)
        assert approvals(shop) == before
        await pilot.press(*["backspace"] * 4, *PINS[SENIOR], "enter")
        await until(pilot, "is approved by")
        assert [a.procedure for a in approvals(shop)][-1] == "tie-one-side"


@pytest.mark.usefixtures("library_walked")
@pytest.mark.asyncio
async def test_procedure_is_written_from_the_list(tmp_path: Path) -> None:
    """The writing key among the procedures opens the marked one, and leaving comes back to the list."""
    shop = fresh_shop(tmp_path)
    app = BenchwalkApp(lambda: ProceduresScreen(shop))
    async with app.run_test(size=NARROW) as pilot:
        await until(pilot, "bring-up-head")
        await pilot.press("home", "f2")
        await until(pilot, "procedure: bring-up-head")
        await pilot.press("f10")
        await until(pilot, "The procedures")
        assert not (shop.root / "procedures" / "bring-up-head.yaml").exists()


@pytest.mark.asyncio
async def test_new_line_stands_under_the_one_before(tmp_path: Path) -> None:
    """Enter keeps the spaces of the line, and sets in further below a colon and below the dash of a list."""
    async with writing(tmp_path / "a.yaml", "") as (pilot, screen):
        await pilot.press(*"steps:", "enter", *"- step: a", "enter", *"do: b", "enter", *"record: [c]", "enter")
        assert screen.editor.text == "steps:\n  - step: a\n    do: b\n    record: [c]\n    "


@pytest.mark.asyncio
async def test_renaming_is_undone_at_once(tmp_path: Path) -> None:
    """A step renamed in many places has its old name back in all of them by one undoing."""
    async with writing(tmp_path / "a.yaml") as (pilot, screen):
        screen.editor.move_cursor((line_of("step: ask-senior"), 0))
        await pilot.press("f7")
        await pilot.pause()
        await pilot.press(*["backspace"] * 10, *"show-it", "enter")
        await known(pilot, screen)
        await pilot.press("ctrl+z")
        assert screen.editor.text == TEXT


@pytest.mark.asyncio
async def test_text_with_errors_is_saved_only_on_purpose(tmp_path: Path) -> None:
    """Saving over a file while something is wrong asks first; writing on leaves the file as it was."""
    path = tmp_path / "a.yaml"
    async with writing(path) as (pilot, screen):
        await pilot.press("x")
        await known(pilot, screen)
        await pilot.press("f2")
        await until(pilot, "There are errors")
        await pilot.press("1", "enter")
        await pilot.pause(0.2)
        assert path.read_text(encoding="utf-8") == TEXT
        await pilot.press("f2")
        await until(pilot, "There are errors")
        await pilot.press("2", "enter")
        await until(pilot, "Saved:")
        assert path.read_text(encoding="utf-8") == "x" + TEXT


def test_unsaved_text_outlives_the_program(tmp_path: Path) -> None:
    """After kill -9 the text is offered when the file is opened again; taken up and saved, it is offered no more."""
    shop = fresh_shop(tmp_path)
    path = shop.root / "procedures" / "fit-a-gate.yaml"
    path.write_text(TEXT, encoding="utf-8")
    command = ("--shop", str(shop.root), "write", "fit-a-gate")
    terminal = RealTerminal(*command)
    terminal.until("no errors")
    terminal.press(*"# mine", "enter")
    terminal.until("not saved")
    kept = Path(os.environ["XDG_STATE_HOME"]) / "benchwalk" / "unsaved"
    latest = time.monotonic() + 15
    while not any("# mine" in file.read_text(encoding="utf-8") for file in kept.glob("*.yaml")):
        assert time.monotonic() < latest, "the text is never kept"
        terminal.read()
        time.sleep(0.05)
    terminal.child.kill(signal.SIGKILL)
    terminal.end()
    assert path.read_text(encoding="utf-8") == TEXT
    again = RealTerminal(*command)
    again.until("Not saved last time")
    again.press("1", "enter")
    again.until("# mine")
    again.press("f2")
    again.until("Saved:")
    again.press("f10")
    assert again.end() == 0
    assert path.read_text(encoding="utf-8") == "# mine\n" + TEXT and not list(kept.glob("*.yaml"))


@pytest.mark.asyncio
async def test_text_changed_under_an_approved_revision_is_told_and_not_approved(tmp_path: Path) -> None:
    """Another text under a revision that was approved is an error as it is written, and nobody can approve it."""
    shop = fresh_shop(tmp_path)
    path = shop.root / "procedures" / "retie-snare-cords.yaml"
    text = Library.of(shop.root).path_of("retie-snare-cords").read_text(encoding="utf-8")
    path.write_text(text.replace("Push strainer and butt by hand", "Press strainer and butt by hand"), encoding="utf-8")
    app = BenchwalkApp(lambda: WriteScreen(Draft.open(path), Library.of(shop.root), shop.root))
    async with app.run_test(size=WIDE) as pilot:
        await until(pilot, "says something else now; raise it to 2")
    with pytest.raises(Refused, match="says something else now"):
        must_be_clean(shop, Library.of(shop.root).get("retie-snare-cords"), Library.of(shop.root))
