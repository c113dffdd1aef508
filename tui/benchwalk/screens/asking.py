"""Small pages laid over a screen where something is asked: a line, a text, one of several, a sign-off.

Escape always leaves without changing anything, and a page answers None then. Nothing that is typed is ever markup. The
last line of the screen names every key that ends a page.
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Sequence
from typing import ClassVar, Generic, TypeVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical, VerticalScroll
from textual.events import Key
from textual.screen import ModalScreen
from textual.widgets import Footer, Input, Static, TextArea

from ..daybook.ink import Line, Span, Tone, line
from ..errors import BenchwalkError
from ..procedure.showing import safe_text, sentence
from .actions import ASK
from .keymap import bindings
from .leaving import LeftOnce
from .listed import Rows
from .looks import plain
from .typed import Typed

T = TypeVar("T")
_MEASURE = 67
"""Cells of a choice with its number, in the narrowest terminal that will do."""


class Asking(LeftOnce, ModalScreen[T | None], Generic[T]):
    """What these pages share: a title, a sentence, a place to answer, a line for what was wrong."""

    BINDINGS: ClassVar[list[BindingType]] = bindings(ASK)

    def __init__(self, title: str, sentence: str = "") -> None:
        super().__init__()
        self.heading = title
        self.sentence = sentence
        self.warned = False

    def compose(self) -> ComposeResult:
        with Vertical(id="asking"):
            yield Static(plain(self.heading), id="asking-title")
            if self.sentence:
                yield Static(plain(self.sentence), id="asking-sentence")
            yield from self.answer()
            yield Static("", id="asking-wrong")
        yield Footer(show_command_palette=False, compact=True)

    def answer(self) -> ComposeResult:
        """The widgets that take the answer."""
        raise NotImplementedError

    def wrong(self, message: str) -> None:
        """Say what is wrong with the answer; the page stays."""
        said = sentence(message)
        self.query_one("#asking-wrong", Static).update(plain(said))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        return action not in ("keep", "up", "down", "so")

    def action_take(self) -> None:
        """Take the answer where the widget does not do it by itself."""

    def action_keep(self) -> None:
        """Keep a long text."""

    def written(self) -> str:
        """What would be thrown away by leaving."""
        return ""

    def action_close(self) -> None:
        """Leave; what is written is thrown away only by leaving twice."""
        if self.written() and not self.warned:
            self.warned = True
            self.wrong("Esc once more throws away what is written here")
        else:
            self.dismiss(None)


class AskLine(Asking[str]):
    """One line. `check` raises where it will not do; `secret` shows dots; `may_be_empty`: Enter alone answers "".

    `tell` says of what is typed so far how it is understood.
    """

    def __init__(
        self,
        title: str,
        sentence: str = "",
        *,
        value: str = "",
        hint: str = "",
        secret: bool = False,
        may_be_empty: bool = False,
        check: Callable[[str], object] | None = None,
        tell: Callable[[str], str] | None = None,
    ) -> None:
        super().__init__(title, sentence)
        self.tell = tell
        self.value, self.hint, self.secret, self.may_be_empty, self.check = value, hint, secret, may_be_empty, check

    def answer(self) -> ComposeResult:
        yield Typed(self.value, placeholder=self.hint, password=self.secret, id="asking-line")

    def on_mount(self) -> None:
        self.query_one(Input).focus()

    def action_take(self) -> None:
        value = self.query_one(Input).value
        typed = value if self.secret else value.strip()
        if not typed and not self.may_be_empty:
            self.wrong("nothing is typed; type it, or press Esc to leave this")
            return
        try:
            if self.check is not None and typed:
                self.check(typed)
        except BenchwalkError as error:
            self.wrong(error.message)
            line = self.query_one(Input)
            if self.secret:
                line.value = ""  # what cannot be seen is not mended
            else:
                line.action_select_all()
            return
        self.dismiss(typed)

    def on_input_changed(self, event: Input.Changed) -> None:
        if self.tell is not None:
            self.query_one("#asking-wrong", Static).update(plain(self.tell(event.value.strip())))


class AskText(Asking[str]):
    """A text of several lines."""

    def __init__(self, title: str, sentence: str = "", value: str = "") -> None:
        super().__init__(title, sentence)
        self.value = value

    def answer(self) -> ComposeResult:
        text = TextArea(self.value, id="asking-text", soft_wrap=True, tab_behavior="focus")
        text.cursor_blink = False
        yield text
        yield Static(plain("Enter begins a new line."), classes="asking-note")

    def on_mount(self) -> None:
        self.query_one(TextArea).focus()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        return action not in ("take", "up", "down", "so")

    def written(self) -> str:
        return self.query_one(TextArea).text.strip()

    def action_keep(self) -> None:
        typed = self.written()
        if typed:
            self.dismiss(typed)
        else:
            self.wrong("nothing is written; write it, or press Esc to leave this")


class Pick(Asking[int]):
    """One of several, by arrow and Enter or by its number; the answer is its place in the list, from 0.

    A choice that cannot be taken now is quiet, and says why (`off`: place -> reason); `details` are told of the marked.
    `start` is marked at first; None: nothing is, and Enter alone takes nothing.
    """

    def __init__(
        self,
        title: str,
        sentence: str,
        choices: Sequence[str],
        *,
        off: dict[int, str] | None = None,
        details: Sequence[str] = (),
        start: int | None = 0,
    ) -> None:
        super().__init__(title, sentence)
        self.choices = list(choices)
        self.off = off or {}
        self.details = details
        self.start = start

    def answer(self) -> ComposeResult:
        yield Rows(id="asking-list")
        if self.details:
            yield Static(id="asking-detail")

    def on_mount(self) -> None:
        rows = self.query_one(Rows)
        rows.show([self._lines(i) for i in range(len(self.choices))], self.start)
        rows.focus()

    def _lines(self, index: int) -> list[Line]:
        """A choice behind its number; what does not fit one line hangs below its words."""
        number = f"{index + 1}  " if index < 9 else "   "
        why = f" ({self.off[index]})" if index in self.off and not self.details else ""
        rows = textwrap.wrap(safe_text(self.choices[index] + why), _MEASURE - len(number)) or [""]
        tone: Tone = "quiet" if index in self.off else "plain"
        return [line(Span((number if at == 0 else "   ") + row, tone)) for at, row in enumerate(rows)]

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        return action not in ("keep", "so")

    def action_take(self) -> None:
        index = self.query_one(Rows).highlighted
        if index is None:
            self.wrong("first mark one, by its number or with the arrow keys")
        elif index in self.off:
            self.wrong(self.off[index])
        else:
            self.dismiss(index)

    def action_up(self) -> None:
        self.query_one(Rows).action_cursor_up()

    def action_down(self) -> None:
        self.query_one(Rows).action_cursor_down()

    def on_option_list_option_highlighted(self, event: Rows.OptionHighlighted) -> None:
        self.wrong("")
        if self.details:
            off = self.off.get(event.option_index)
            said = f"Not now: {off}." if off else self.details[event.option_index]
            self.query_one("#asking-detail", Static).update(plain(said))

    def on_key(self, event: Key) -> None:
        """A figure marks the line with that number; Enter takes it."""
        character = event.character or ""
        if character.isdigit() and 1 <= int(character) <= min(9, len(self.choices)):
            self.query_one(Rows).highlighted = int(character) - 1


class Reading(Asking[bool]):
    """A text to read, such as help; Escape or Enter closes it."""

    BINDINGS: ClassVar[list[BindingType]] = bindings(ASK, take="Close", close="Close")

    def __init__(self, title: str, text: Static) -> None:
        super().__init__(title)
        self.text = text

    def answer(self) -> ComposeResult:
        with VerticalScroll(id="asking-read"):
            yield self.text

    def on_mount(self) -> None:
        self.query_one("#asking-read").focus()

    def action_take(self) -> None:
        self.dismiss(None)


class Confirm(Asking[bool]):
    """Something that must be meant on purpose: y says yes, Escape says no."""

    BINDINGS: ClassVar[list[BindingType]] = bindings(ASK, close="Look again")

    def answer(self) -> ComposeResult:
        yield Static(plain("Esc goes back, and nothing is changed."), classes="asking-note")

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        return action not in ("take", "keep", "up", "down")

    def on_key(self, event: Key) -> None:
        if event.key == "enter":
            self.wrong("Enter alone does not say so; press y if it is so, or Esc to look again")

    def action_so(self) -> None:
        self.dismiss(True)
