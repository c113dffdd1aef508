"""What the tests of the screens share: walks opened in the program, a hand on the keys, and a real terminal."""

from __future__ import annotations

import asyncio
import os
import sys
import time
from collections.abc import AsyncIterator, Mapping
from contextlib import asynccontextmanager
from datetime import datetime
from pathlib import Path
from typing import Any

import pexpect
import pyte
import textual._wait
from textual.pilot import Pilot
from textual.widgets import Static

from benchwalk.job.log import read
from benchwalk.job.people import load_people
from benchwalk.job.shop import Shop
from benchwalk.procedure.model import Example
from benchwalk.proof.answers import MISSING, Answers
from benchwalk.screens.app import BenchwalkApp
from benchwalk.screens.hand import Hand
from benchwalk.screens.walk import WalkScreen
from benchwalk.session import Books, Session
from benchwalk.sums import compute
from benchwalk.walk.desk import Bench
from benchwalk.walk.fold import replay
from benchwalk.walk.phase import Now, now, reading_after
from benchwalk.walk.state import State
from house import PATIENCE, patiently
from shop_helpers import flagship

NARROW, WIDE = (80, 24), (120, 36)

# Pilot waits for the process to be idle three times a key, by the fiftieth of a second; `settled` knows better when the
# screen is at rest, so a shorter look will do.
textual._wait.SLEEP_GRANULARITY, textual._wait.SLEEP_IDLE = 0.004, 0.0004


class Finger:
    """Which keys to press for what the walk waits for, as an example of the procedure answers it."""

    def __init__(self, example: Mapping[str, Any] | None = None, linked: Any = None) -> None:
        self.answers = Answers.of(linked or flagship(), Example.of({"example": "keys", **(example or {})}))

    def keys(self, state: State, bench: Bench, here: Now) -> list[str]:
        """The keys, in order; a choice by its figure, a value typed."""
        asked = here if here.kind == "reading" else reading_after(state, here, bench)
        if asked is not None and asked.visit is not None:
            typed = self.answers.reading(asked.visit.path, asked.name, asked.visit.number, asked.place)
            if typed == MISSING:
                return ["ctrl+n", "enter"]
            if asked.reading.choices:
                return [str(list(asked.reading.choices).index(typed) + 1), "enter"]
            return [*typed, "enter"]
        if here.kind == "choose":
            assert here.visit is not None and here.step is not None and here.step.choose is not None
            word = self.answers.reading(here.visit.path, here.step.choose.as_, here.visit.number, None)
            return [str([way.way for way in here.step.choose.ways].index(word) + 1), "enter"]
        if here.kind == "fact":
            return [*self.answers.fact(here.name), "enter"]
        return {
            "hazard": ["y"],
            "account": ["y"],
            "wait": ["j"],
            "hold": ["s", "enter", "enter", "enter"],
        }.get(here.kind, ["enter"])


# --- in this process -------------------------------------------------------------------------------------------------


@asynccontextmanager
async def walking(
    session: Session, size: tuple[int, int] = NARROW, *, quiet: float = 0.0, **more: Any
) -> AsyncIterator[tuple[Pilot[int], WalkScreen]]:
    """A walk on a screen of that size; keys count at once unless `quiet` says otherwise."""
    look = more.pop("look", "")
    app = BenchwalkApp(lambda: WalkScreen(Hand(session), **more), quiet=quiet, look=look)
    async with app.run_test(size=size, notifications=True) as pilot:
        await settled(pilot)
        screen = app.screen
        assert isinstance(screen, WalkScreen)
        yield pilot, screen


async def settled(pilot: Pilot[int]) -> None:
    """Wait until the screen shows what came of the last key: its acts are written and laid out."""
    for _ in patiently():
        await pilot.pause()
        busy = [s for s in pilot.app.screen_stack if isinstance(s, WalkScreen) and s._busy]
        waits = isinstance(pilot.app.screen, WalkScreen) and pilot.app.workers
        if not busy and not [w for w in waits or () if w.group == "act" and w.is_running]:
            await pilot.pause()
            return
        await asyncio.sleep(0.005)
    raise AssertionError("the screen never comes to rest")


async def press(pilot: Pilot[int], *keys: str) -> None:
    """Press keys one after the other, each once the screen is at rest."""
    for key in keys:
        await pilot.press(key)
        await settled(pilot)


async def walk_to(pilot: Pilot[int], screen: WalkScreen, until: str, finger: Finger | None = None) -> Now:
    """Press the keys of an example until a kind of question (`hold`) or a step (`@measure`) is reached."""
    finger = finger or Finger()
    session = screen.session
    stuck = 0
    while stuck < 12:
        here = session.now()
        if here.kind == until or (here.visit is not None and f"@{here.visit.step}" == until):
            return here
        before = session.state.n
        await press(pilot, *finger.keys(session.state, session.bench, here))
        stuck = 0 if session.state.n != before else stuck + 1
    raise AssertionError(f"{until} is never reached; it stands at {session.now().kind}: {shown(pilot)}")


def part(screen: Any, name: str) -> str:
    """The text of one part of a page; empty where it is not shown."""
    widget = screen.query_one(f"#{name}", Static)
    return str(widget.visual) if widget.display else ""


def shown(pilot: Pilot[int]) -> str:
    """All the text on the screen, line by line, as a person sees it."""
    width, height = pilot.app.size
    lines = pilot.app.screen._compositor.render_strips(None)  # type: ignore[arg-type]
    assert len(lines) <= height and width
    return "\n".join(strip.text.rstrip() for strip in lines)


# --- a real terminal -------------------------------------------------------------------------------------------------

_BYTES = {
    "enter": "\r",
    "escape": "\x1b",
    "pagedown": "\x1b[6~",
    "pageup": "\x1b[5~",
    "up": "\x1b[A",
    "down": "\x1b[B",
    "f1": "\x1bOP",
    "f2": "\x1bOQ",
    "f3": "\x1bOR",
    "f4": "\x1bOS",
    "f5": "\x1b[15~",
    "f6": "\x1b[17~",
    "f8": "\x1b[19~",
    "f9": "\x1b[20~",
    "f10": "\x1b[21~",
    "f12": "\x1b[24~",
    "tab": "\t",
}


class RealTerminal:
    """The program in a pseudo-terminal, its output read by a terminal emulator."""

    def __init__(
        self, *arguments: str, size: tuple[int, int] = NARROW, through: tuple[str, ...] = (), **environ: str
    ) -> None:
        program, *command = [*through, sys.executable, "-m", "benchwalk", *arguments]
        env = {**os.environ, "COLORTERM": "truecolor", "BENCHWALK_QUIET": "0", **environ}
        self.raw = ""
        self.screen = pyte.Screen(*(size if all(size) else NARROW))
        self.stream = pyte.Stream(self.screen)
        self.child = pexpect.spawn(
            program,
            command,
            encoding="utf-8",
            timeout=PATIENCE,
            dimensions=size[::-1],
            env=env,
            codec_errors="replace",
        )
        self.child.delaybeforesend = None

    def read(self) -> None:
        """Take in what the program has written so far, for two seconds if it never stops."""
        latest = time.monotonic() + 2
        while time.monotonic() < latest:
            try:
                data = self.child.read_nonblocking(65536, timeout=0.02)
            except (pexpect.TIMEOUT, pexpect.EOF, ValueError):  # nothing new, or it has ended
                return
            self.raw += data
            self.stream.feed(data)

    @property
    def text(self) -> str:
        """What stands on the screen."""
        self.read()
        return "\n".join(row.rstrip() for row in self.screen.display)

    def press(self, *keys: str) -> None:
        """Send keys."""
        for key in keys:
            data = _BYTES.get(key) or (chr(ord(key[-1]) - 96) if key.startswith("ctrl+") else key)
            self.child.send(data)

    def rest(self, quiet: float = 0.08) -> None:
        """Wait until nothing more is written to the screen, for that many seconds."""
        since, written = time.monotonic(), len(self.raw)
        while time.monotonic() - since < quiet:
            self.read()
            if len(self.raw) != written:
                since, written = time.monotonic(), len(self.raw)

    def until(self, words: str, seconds: float = PATIENCE) -> None:
        """Wait until the screen says that."""
        end = time.monotonic() + seconds
        while words not in self.text:
            assert time.monotonic() < end and self.child.isalive(), f"never said: {words}\n{self.text}"
            time.sleep(0.02)

    def gone(self, words: str, seconds: float = PATIENCE) -> None:
        """Wait until the screen says that no more; a key right behind Escape would be taken as one with it."""
        end = time.monotonic() + seconds
        while words in self.text:
            assert time.monotonic() < end and self.child.isalive(), f"still said: {words}\n{self.text}"
            time.sleep(0.02)

    def end(self, seconds: float = PATIENCE) -> int:
        """Wait for the end; the exit code as a shell has it."""
        end = time.monotonic() + seconds
        while self.child.isalive():
            self.read()
            assert time.monotonic() < end, f"it does not end\n{self.text}"
            time.sleep(0.02)
        self.read()
        self.child.close()
        signalled = self.child.signalstatus
        return 128 + signalled if signalled is not None else int(self.child.exitstatus or 0)

    @property
    def whole(self) -> bool:
        """Whether the terminal was given back: the other screen left, the cursor shown."""
        left = self.raw.rfind("\x1b[?1049l") > self.raw.rfind("\x1b[?1049h")
        return left and self.raw.rfind("\x1b[?25h") > self.raw.rfind("\x1b[?25l")


class Follower:
    """A job followed from outside, by its log alone."""

    def __init__(self, shop: Shop, job: str) -> None:
        self.shop, self.folder = shop, shop.job(job)

    def look(self) -> tuple[State, Bench, Now]:
        """Where the job stands on disk."""
        state = replay(read(self.folder.log).events)
        roles = {person.id: frozenset(person.roles) for person in load_people(self.shop).by_id.values()}
        bench = Bench(Books(self.folder, state.texts), compute, datetime.now().astimezone(), roles)
        return state, bench, now(state, bench)


def walk_in_terminal(terminal: RealTerminal, follower: Follower, until: str, finger: Finger | None = None) -> Now:
    """Press the keys of an example in a real terminal until a kind of question, or a step, is reached.

    However slow the machine is, a key is sent only once the screen shows what came of the one before.
    """
    finger = finger or Finger()
    latest = time.monotonic() + 240
    while time.monotonic() < latest and terminal.child.isalive():
        state, bench, here = follower.look()
        if here.kind == until or (here.visit is not None and f"@{here.visit.step}" == until):
            return here
        before = terminal.text
        if here.kind == "hold":
            _sign_in_terminal(terminal)
        else:
            for key in finger.keys(state, bench, here):
                terminal.press(key)
                time.sleep(0.03)
        end = time.monotonic() + 10  # a key that does nothing is pressed again
        while terminal.text == before and time.monotonic() < end:
            time.sleep(0.02)
        terminal.rest()
        # A screen that has changed while the log has not shows a page that was read on: the same keys are due again.
    raise AssertionError(f"{until} is never reached\n{terminal.text}")


def _sign_in_terminal(terminal: RealTerminal) -> None:
    """Play the senior of a practice job, question by question, and release the work without a word."""
    for key, asked in (("s", "Play the"), ("enter", "The look of"), ("enter", "A word about it")):
        terminal.press(key)
        terminal.until(asked)
    terminal.press("enter")


def log_file(shop: Shop, job: str) -> Path:
    """The log of a job."""
    return shop.job(job).log
