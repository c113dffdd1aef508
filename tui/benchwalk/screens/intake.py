"""Taking a drum in, on one page: a line for each question, and the job is opened from the last."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.widgets import Footer, Input, Static

from ..errors import BenchwalkError
from ..procedure.showing import sentence
from ..session import Session
from ..shop.intake import Asked
from .actions import INTAKE
from .base import Page
from .keymap import bindings
from .looks import plain
from .typed import Typed


class IntakeScreen(Page):
    """Asks everything at once. `begin` opens the job from the answers by name, and raises where it cannot.

    `session` is the job in hand once it is open, None where this was left.
    """

    CSS_PATH: ClassVar = "bench.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings(INTAKE)

    def __init__(self, title: str, asked: list[Asked], begin: Callable[[dict[str, str]], Session]) -> None:
        super().__init__()
        self.heading = title
        self.asked = asked
        self.begin = begin
        self.session: Session | None = None
        self._busy = False

    def page(self) -> ComposeResult:
        yield Static(plain(f" A drum comes in: {self.heading}"), id="head")
        with VerticalScroll(id="form", can_focus=False):
            for index, each in enumerate(self.asked):
                with Horizontal(classes="asked"):
                    yield Static(plain(each.ask.partition(" (Enter")[0]), classes="ask")
                    yield Typed(id=f"answer-{index}", placeholder="may stay empty" if each.may_be_empty else "")
        yield Static(
            plain("The name and how they are reached lie beside the log, and can be removed from there."),
            id="form-note",
        )
        yield Static(id="message")
        yield Footer(show_command_palette=False, compact=True)

    def on_mount(self) -> None:
        self.entries[0].focus()
        self.say("")

    @property
    def entries(self) -> list[Input]:
        """The lines to type in, in order."""
        return list(self.query(Input))

    @property
    def at(self) -> int:
        """Which line is typed in."""
        return next((index for index, entry in enumerate(self.entries) if entry.has_focus), 0)

    def say(self, message: str) -> None:
        """Say one sentence above the keys."""
        shown = self.query_one("#message", Static)
        shown.update(plain(sentence(message)))
        shown.display = bool(message)

    def on_input_changed(self, event: Input.Changed) -> None:
        self.say("")

    def action_next(self) -> None:
        """Check this line and go on to the next; the last one opens the job."""
        if not self._sound(self.at):
            return
        if self.at == len(self.asked) - 1:
            self.action_keep()
        else:
            self.entries[self.at + 1].focus()

    def action_up(self) -> None:
        self.entries[max(0, self.at - 1)].focus()

    def action_down(self) -> None:
        self.entries[min(len(self.asked) - 1, self.at + 1)].focus()

    def action_keep(self) -> None:
        """Open the job, if every line can be understood; else say which cannot."""
        for index in range(len(self.asked)):
            if not self._sound(index):
                self.entries[index].focus()
                return
        if not self._busy:
            self._busy = True
            self._open({each.name: entry.value.strip() for each, entry in zip(self.asked, self.entries, strict=True)})

    @work(group="open")
    async def _open(self, answers: dict[str, str]) -> None:
        try:
            self.session = await asyncio.to_thread(self.begin, answers)
        except BenchwalkError as error:
            self.say(error.message)
        else:
            self.dismiss(None)
        finally:
            self._busy = False

    def action_close(self) -> None:
        if not self._busy:
            self.dismiss(None)

    def _sound(self, index: int) -> bool:
        """Whether a line can be understood; what is wrong with it is said."""
        each, typed = self.asked[index], self.entries[index].value.strip()
        if not typed:
            if not each.may_be_empty:
                self.say(f"'{each.ask}' is not answered yet")
            return each.may_be_empty
        try:
            each.check(typed)
        except BenchwalkError as error:
            self.say(error.message)
            return False
        return True
