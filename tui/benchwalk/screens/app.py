"""The program on a full screen: its looks, signals, help, and what happens when something goes wrong."""

from __future__ import annotations

import asyncio
import contextlib
import select
import signal
import time
from collections.abc import Callable, Mapping
from functools import partial
from typing import ClassVar

from textual.actions import ActionParseResult
from textual.app import App
from textual.binding import Binding, BindingType
from textual.css.query import NoMatches
from textual.dom import DOMNode
from textual.screen import Screen
from textual.widgets import Static

from . import keymap
from .actions import EVERYWHERE, key_text
from .fault import write_report
from .gate import QUIET, Gate
from .looks import LOOKS, THEMES, first_look, keep_look


class BenchwalkApp(App[int]):
    """The full-screen program. `first` makes the screen it begins with, and when that is left the program ends.

    `keys` are the user's own (action -> keys), `look` the one that was kept, `quiet` the bounce gate's time in seconds.
    The result is the exit code: 0, or 128+n where signal n ended it. `fault` is the report file of a failure nobody
    foresaw, else None.
    """

    TITLE = "Benchwalk"
    CSS_PATH: ClassVar = "app.tcss"
    BINDINGS: ClassVar[list[BindingType]] = keymap.bindings(EVERYWHERE)
    ENABLE_COMMAND_PALETTE = False  # ours is made from the one list of actions, and bears keys that come in a burst

    def __init__(
        self,
        first: Callable[[], Screen[None]],
        *,
        look: str = "",
        keys: dict[str, str] | None = None,
        quiet: float = QUIET,
    ) -> None:
        super().__init__()
        self.animation_level = "none"  # nothing moves unless somebody did something
        self.first = first
        self.keys = keys or {}
        self.gate = Gate(time.monotonic, quiet)
        self.fault: str | None = None
        for theme in THEMES:
            self.register_theme(theme)
        self.theme = first_look(kept=look)
        self.set_keymap(self.keys)

    def get_default_screen(self) -> Screen[None]:
        """The screen to begin with; there is none below it that would have to be drawn first."""
        screen = self.first()
        self.stylesheet.read_all(screen.css_path)
        return screen

    def on_mount(self) -> None:
        loop = asyncio.get_running_loop()
        for number in (signal.SIGTERM, signal.SIGHUP):
            with contextlib.suppress(NotImplementedError, RuntimeError, ValueError):
                loop.add_signal_handler(number, self.stopped, number)
        if not self.is_headless:
            self.set_interval(1, self._see_terminal)

    def _see_terminal(self) -> None:
        """A terminal that is gone ends the program even where no signal says so; its job would be held for ever."""
        looked = select.poll()
        looked.register(0, 0)
        if any(state & (select.POLLHUP | select.POLLERR | select.POLLNVAL) for _fd, state in looked.poll(0)):
            self.stopped(signal.SIGHUP)

    def stopped(self, number: int) -> None:
        """A signal asks the program to end: work is put down, the terminal given back."""
        for screen in self.screen_stack:
            stop = getattr(screen, "stopped", None)
            if stop is not None:
                stop(number)
        self.exit(128 + number)

    def get_key_display(self, binding: Binding) -> str:
        """A key as this program writes keys everywhere, the user's own too."""
        return key_text(binding.key)

    async def run_action(
        self,
        action: str | ActionParseResult,
        default_namespace: DOMNode | None = None,
        namespaces: Mapping[str, DOMNode] | None = None,
    ) -> bool:
        """Do what a key is for; nothing where its page is not there in whole, yet or any more: it was pressed for the
        one before."""
        screen = self.screen
        if not screen.is_mounted:
            return False
        try:
            return await super().run_action(action, default_namespace, namespaces)
        except NoMatches:
            if screen in self.screen_stack and self.return_code is None:
                raise
            return False

    # --- keys that work on every screen ---

    def action_help(self) -> None:
        from .asking import Reading
        from .helping import keys_of

        self.push_screen(Reading("What the keys do here", Static(keys_of(self.screen, self.keys))))

    def action_commands(self) -> None:
        from .helping import Commands, commands

        if isinstance(self.screen, Commands):
            return
        screen = self.screen
        rows = commands(screen, self.keys)

        def taken(index: int | None) -> None:
            if index is not None:
                self.call_later(self.run_action, rows[index].action, screen)

        self.push_screen(Commands(rows), taken)

    def action_look(self) -> None:
        self.theme = LOOKS[(LOOKS.index(self.theme) + 1) % len(LOOKS)] if self.theme in LOOKS else LOOKS[0]
        keep_look(self.theme)
        self.notify(f"The look is now {self.theme}.", markup=False)

    def action_copy(self) -> None:
        """Copy what is selected; ctrl+c never ends the program."""
        selected = self.screen.get_selected_text()
        if selected:
            self.copy_to_clipboard(selected)
            self.notify("Copied.", markup=False)
        else:
            say = getattr(self.screen, "say", None) or partial(self.notify, markup=False)
            say("Nothing is selected, and nothing is lost. Ctrl+Q puts the work down and leaves.")

    async def action_quit(self) -> None:
        """Leave the program: a walk is put down as by its own key, which asks where something typed is not noted."""
        leave = getattr(self.screen, "action_leave", None)
        if leave is not None:
            leave()
        elif len(self.screen_stack) > 1:
            self.screen.dismiss(None)
        else:
            self.exit(0)

    # --- what nobody foresaw ---

    def _fatal_error(self) -> None:
        """Leave a report file without any text of the shop, and no traceback on the terminal."""
        if self._exception is not None and not self.is_headless:
            self.fault = write_report(self._exception)
            self._close_messages_no_wait()
        else:
            super()._fatal_error()
