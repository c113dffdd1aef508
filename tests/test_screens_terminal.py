"""The full screen in a real terminal: keys as bytes, signals, a dropped line, colours as they are sent."""

from __future__ import annotations

import os
import random
import re
import shutil
import signal
import time
from pathlib import Path

import pytest

from benchwalk.job.audit import audit, audit_job
from benchwalk.job.shop import Shop
from house import PATIENCE
from screen_helpers import Finger, Follower, RealTerminal, walk_in_terminal
from shop_helpers import bare, begin, events, fresh_shop, resume, walked


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with three people."""
    return fresh_shop(tmp_path)


def opened(shop: Shop, *more: str, **environ: str) -> tuple[RealTerminal, Follower]:
    """A practice job of the flagship on the full screen of a real terminal."""
    job = f"J-{len(shop.jobs()) + 1:04}"
    terminal = RealTerminal(
        *("--shop", str(shop.root), "walk", "retie-snare-cords", "--practice", "--who", "tam"),
        *("--drum", "diameter=14 in", *more),
        **environ,
    )
    terminal.until("at hand")
    return terminal, Follower(shop, job)


def test_practice_walk_opens_on_the_full_screen_and_leaves_by_one_key(shop: Shop) -> None:
    """`walk` at a terminal is the full screen; F10 puts the work down, gives the terminal back, says how to go on."""
    terminal, follower = opened(shop)
    walk_in_terminal(terminal, follower, "@build")
    terminal.press("f10")
    assert terminal.end() == 0
    assert terminal.whole and "Go on with:" in terminal.text and "walk --job J-0001" in terminal.text
    assert follower.look()[0].paused is not None


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_signals_put_the_work_down_and_restore_the_terminal(shop: Shop, number: signal.Signals) -> None:
    """A polite kill or a lost line in mid-walk puts the work down with a word, gives the terminal back, ends 128+n."""
    terminal, follower = opened(shop)
    walk_in_terminal(terminal, follower, "@build")
    os.kill(terminal.child.pid, number)
    assert terminal.end() == 128 + number
    assert terminal.whole and "Traceback" not in terminal.raw
    assert "stopped from outside" in str(follower.look()[0].paused)
    assert audit_job(shop, "J-0001")["ok"]


def test_dropped_terminal_loses_nothing(shop: Shop) -> None:
    """Where the terminal itself goes away the program ends, the log is whole and the job goes on where it stood."""
    terminal, follower = opened(shop)
    walk_in_terminal(terminal, follower, "@build")
    n = follower.look()[0].n
    terminal.child.close(force=False)
    end = time.monotonic() + PATIENCE
    while _alive(terminal.child.pid) and time.monotonic() < end:
        time.sleep(0.05)
    assert not _alive(terminal.child.pid)
    state = follower.look()[0]
    assert state.n >= n and audit_job(shop, "J-0001")["ok"]
    resume(shop, "J-0001").close()


@pytest.mark.skipif(shutil.which("setsid") is None, reason="no setsid here to begin a session without a terminal")
def test_dropped_terminal_is_seen_where_no_signal_tells_of_it(shop: Shop) -> None:
    """A program that no signal reaches when its terminal goes away sees that it is gone, and gives the job up."""
    terminal = RealTerminal(
        *("--shop", str(shop.root), "walk", "retie-snare-cords", "--practice", "--who", "tam"),
        *("--drum", "diameter=14 in"),
        through=("setsid", "-w"),
    )
    terminal.until("at hand")
    follower = Follower(shop, "J-0001")
    walk_in_terminal(terminal, follower, "@build")
    terminal.child.close(force=True)
    end = time.monotonic() + PATIENCE
    while follower.look()[0].paused is None:
        assert time.monotonic() < end, "the job is still held"
        time.sleep(0.1)
    time.sleep(0.5)
    resume(shop, "J-0001").close()


def _alive(pid: int) -> bool:
    try:
        return os.waitpid(pid, os.WNOHANG) == (0, 0)
    except ChildProcessError:
        return False


def test_killed_in_mid_walk_it_goes_on_where_it_stood(shop: Shop) -> None:
    """kill -9 in mid-walk loses nothing that was shown as done; the job is taken up again at that stop, where the drum
    is looked at first."""
    terminal, follower = opened(shop)
    walk_in_terminal(terminal, follower, "@photo")
    before = events(shop, "J-0001")
    terminal.child.kill(signal.SIGKILL)
    terminal.end()
    assert events(shop, "J-0001") == before
    again = RealTerminal("--shop", str(shop.root), "walk", "--job", "J-0001", "--who", "tam")
    again.until("as the log says")
    assert events(shop, "J-0001")[len(before) :][0]["what"] == "resumed"
    again.press("enter")
    again.gone("as the log says")  # what is left takes no more keys
    again.press("f10")
    assert again.end() == 0
    with resume(shop, "J-0001") as session:
        assert session.state.visits[-1].step == "photo"


def test_ctrl_c_never_ends_the_program(shop: Shop) -> None:
    """Ctrl+C pressed again and again leaves the walk on the screen."""
    terminal, follower = opened(shop)
    for _ in range(4):
        terminal.press("ctrl+c")
        time.sleep(0.1)
    assert terminal.child.isalive()
    walk_in_terminal(terminal, follower, "do")
    terminal.press("ctrl+c")
    terminal.until("Nothing is selected")
    terminal.press("ctrl+q")
    assert terminal.end() == 0


COLOUR = re.compile(r"\x1b\[([0-9;]*)m")


def colours(raw: str) -> set[str]:
    """The colour codes that were sent."""
    found: set[str] = set()
    for codes in COLOUR.findall(raw):
        parts = codes.split(";")
        while parts:
            code = parts.pop(0)
            if code in ("38", "48"):
                found.add(f"{code};{parts[0] if parts else ''}")
                del parts[: 4 if parts and parts[0] == "2" else 2]
            else:
                found.add(code)
    return found


def test_sixteen_colours_send_only_sixteen_colours(shop: Shop) -> None:
    """A terminal of sixteen colours gets codes 30 to 37 and 90 to 97 (and their grounds), no more."""
    terminal, follower = opened(shop, TERM="xterm-16color", COLORTERM="")
    walk_in_terminal(terminal, follower, "hazard")
    terminal.until("WARNING")
    sent = colours(terminal.raw)
    assert not {code for code in sent if code.startswith(("38;", "48;"))}, sent
    assert sent & {str(code) for code in (*range(30, 38), *range(90, 98))}


@pytest.mark.parametrize("look", ["walnut", "own-dark"])
def test_no_color_sends_no_colour_and_says_everything(shop: Shop, look: str) -> None:
    """With NO_COLOR nothing coloured is sent, and signal word, judgement and marks are all there as words and signs."""
    terminal, follower = opened(shop, NO_COLOR="1", BENCHWALK_LOOK=look)
    walk_in_terminal(terminal, follower, "hazard")
    terminal.until("! WARNING")
    hues = set()
    for codes in COLOUR.findall(terminal.raw):
        for red, green, blue in re.findall(r"[34]8;2;(\d+);(\d+);(\d+)", codes):
            if len({red, green, blue}) > 1:
                hues.add(codes)
    plain = {code for code in colours(terminal.raw) if code in {str(c) for c in (*range(31, 37), *range(91, 97))}}
    assert not hues and not plain


@pytest.mark.parametrize("where", ["walk", "bench"])
def test_wrong_keys_file_is_one_sentence_with_its_place(shop: Shop, bare_machine: Path, where: str) -> None:
    """With a key that two actions want the program opens all the same, with its own keys; its first screen says what is
    wrong in a sentence with line and column."""
    folder = bare_machine / "config" / "benchwalk"
    folder.mkdir(parents=True)
    (folder / "keys.yaml").write_text("walk.note: f3\nbench.practise: z\n", encoding="utf-8")
    if where == "walk":
        terminal, follower = opened(shop)
    else:
        terminal = RealTerminal("--shop", str(shop.root))
    terminal.until("Your own keys do not hold this time.")
    said = " ".join(terminal.text.replace("\n", " ").split())
    assert "keys.yaml:1:12" in said.replace(" ", "") and "F3 is the key of walk.fix" in said
    if where == "walk":
        walk_in_terminal(terminal, follower, "@build")
        assert "do not hold" not in terminal.text
        terminal.press("f2")
        asked, last = "A note", "f10"
    else:
        terminal.press("z")
        terminal.rest()
        terminal.press("p")
        asked, last = "Which procedure?", "ctrl+q"
    terminal.until(asked)
    terminal.press("escape")
    terminal.gone(asked)
    terminal.press(last)
    assert terminal.end() == 0


def test_own_keys_do_what_they_say(shop: Shop, bare_machine: Path) -> None:
    """A key of the user's own does its action, and the foot of the screen names it."""
    folder = bare_machine / "config" / "benchwalk"
    folder.mkdir(parents=True)
    (folder / "keys.yaml").write_text("walk.note: f6\nwalk.happened: f2\n", encoding="utf-8")
    terminal, _follower = opened(shop)
    terminal.until("F6 Note")
    terminal.press("f6")
    terminal.until("A note")
    terminal.press("escape")
    terminal.gone("A note")
    terminal.press("f10")
    assert terminal.end() == 0


def test_unforeseen_failure_leaves_a_report_and_a_whole_terminal(
    shop: Shop, bare_machine: Path, tmp_path: Path
) -> None:
    """A fault of the program ends it with one sentence and code 3; the report has no text of the shop and no traceback
    reaches the terminal."""
    (tmp_path / "sitecustomize.py").write_text(
        "import benchwalk.daybook.right as right\n"
        "def broken(state, here, bench, who, terse=False):\n"
        "    secret = 'Hazel Quince owns this drum'\n"
        "    raise KeyError(secret)\n"
        "import benchwalk.screens.walk as walk\n"
        "walk.page_of = broken\n",
        encoding="utf-8",
    )
    terminal = RealTerminal(
        *("--shop", str(shop.root), "walk", "retie-snare-cords", "--practice", "--who", "tam"),
        *("--drum", "diameter=14 in"),
        PYTHONPATH=str(tmp_path),
    )
    assert terminal.end() == 3
    said = " ".join(terminal.text.split())
    assert "fault of Benchwalk itself" in said and "Traceback" not in terminal.raw and "Quince" not in terminal.raw
    assert terminal.whole
    reports = list((bare_machine / "state" / "benchwalk" / "faults").glob("fault-*.txt"))
    assert len(reports) == 1
    text = reports[0].read_text(encoding="utf-8")
    assert "builtins.KeyError" in text and "in broken" in text and "Quince" not in text
    assert audit_job(shop, "J-0001")["ok"]


STORM = (
    *("enter",) * 8,
    *("escape", "pagedown", "pageup", "up", "down", "f1", "f2", "f3", "f4", "f5", "f6", "f8", "f9", "f12"),
    *("ctrl+p", "ctrl+s", "tab", "y", "n", "o", "s", "b", "w", "1", "2", "3", "0.1", "340", "/"),
)


@pytest.mark.heavy
@pytest.mark.parametrize("seed", range(4))
def test_keys_in_a_storm_break_nothing(
    tmp_path: Path, bare_machine: Path, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever keys come, quicker than any page can follow, nothing fails, and the log is whole."""
    monkeypatch.chdir(tmp_path)  # reports are written where one is
    chance, shop = random.Random(seed), fresh_shop(tmp_path)
    if seed % 2:
        terminal, _follower = opened(shop)
    else:
        begin(shop).close()
        terminal = RealTerminal("--shop", str(shop.root))
        terminal.until("J-0001")
    for _ in range(700):
        if not terminal.child.isalive():  # put down by its keys: that is their right
            break
        terminal.press(chance.choice(STORM))
        if chance.random() < 0.3:
            terminal.read()
        if chance.random() < 0.02:
            time.sleep(chance.random() / 2)
    terminal.read()
    assert not list((bare_machine / "state").rglob("fault-*")), terminal.text
    if terminal.child.isalive():
        terminal.child.kill(signal.SIGHUP)
    assert terminal.end() in (0, 128 + signal.SIGHUP), terminal.text
    assert all(found["ok"] for found in audit(shop))


@pytest.mark.heavy
def test_whole_flagship_by_key_presses_in_a_real_terminal(tmp_path: Path) -> None:
    """The flagship walked by bytes from a keyboard leaves the log that plain mode leaves."""
    shop, plain = fresh_shop(tmp_path / "a"), fresh_shop(tmp_path / "b")
    terminal, follower = opened(shop)
    walk_in_terminal(terminal, follower, "ended")
    terminal.press("enter")
    terminal.until("The job is released")
    terminal.press("f10")
    assert terminal.end() == 0
    walked(begin(plain))
    assert bare(events(shop, "J-0001")) == bare(events(plain, "J-0001"))


@pytest.mark.heavy
def test_tying_part_by_foot_switch_alone(shop: Shop) -> None:
    """From the first cord threaded to both sides tied, only the keys of a foot switch are pressed."""
    terminal, follower = opened(shop)
    walk_in_terminal(terminal, follower, "@thread")
    pressed: list[str] = []
    idle = 0
    for _ in range(120):
        state, _bench, here = follower.look()
        assert here.visit is not None
        if not here.visit.path and here.visit.step not in ("tie-butt", "pick-way", "tie-strainer"):
            break
        key = "pagedown"
        if here.kind == "choose" or (
            here.kind in ("do", "reading") and "takes the one that is marked" in terminal.text
        ):
            terminal.press("pageup")
            pressed.append("pageup")
            time.sleep(0.05)
        terminal.press(key)
        pressed.append(key)
        end = time.monotonic() + 2
        while follower.look()[0].n == state.n and time.monotonic() < end:
            terminal.read()
            time.sleep(0.02)
        idle = idle + 1 if follower.look()[0].n == state.n else 0
        assert idle < 5, terminal.text
    assert here.visit.step not in ("thread",) and set(pressed) <= {"pagedown", "pageup", "f8"}
    taken = {(v.path, v.step) for v in follower.look()[0].visits}
    assert {path for path, step in taken if step == "tied"} == {"butt", "strainer"}, sorted(taken)


def test_finger_knows_the_flagship() -> None:
    """The hand of these tests answers from the procedure's own usual example."""
    assert Finger().answers.fact("diameter") == "14 in"


def test_terminal_that_names_no_size_is_not_written_to_for_ever(shop: Shop) -> None:
    """A terminal whose size is told as nothing gets the page once, and then quiet."""
    terminal = RealTerminal(
        *("--shop", str(shop.root), "walk", "retie-snare-cords", "--practice", "--who", "tam"),
        *("--drum", "diameter=14 in"),
        size=(0, 0),
    )
    terminal.until("at hand")
    written = len(terminal.raw)
    time.sleep(2)
    terminal.read()
    assert len(terminal.raw) - written < 50_000


def test_keys_that_come_in_a_burst_are_taken_in_their_order(shop: Shop) -> None:
    """Signs and corrections sent at once, as by a scanner or a held key, come out as one by one."""
    terminal, follower = opened(shop)
    walk_in_terminal(terminal, follower, "@photo")
    terminal.child.send("on paper\x7f\x7f\x7fXY")
    terminal.until("> on paXY")
