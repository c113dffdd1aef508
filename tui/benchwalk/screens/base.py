"""What every full screen shares: its keys, and one sentence where the terminal is too small."""

from __future__ import annotations

from collections.abc import Callable

from textual.app import ComposeResult
from textual.content import Content
from textual.geometry import Size
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import Static

from ..procedure.collector import collector_wakes
from .leaving import LeftOnce

_WIDTHS = [(0, "-tiny"), (80, "-narrow"), (100, "-wide")]
_HEIGHTS = [(0, "-flat"), (24, "-low"), (32, "-high")]


class Page(LeftOnce, Screen[None]):
    """A full screen. Subclasses give `page`; below the least size only a sentence is seen, and nothing takes keys."""

    HORIZONTAL_BREAKPOINTS = _WIDTHS
    VERTICAL_BREAKPOINTS = _HEIGHTS

    def compose(self) -> ComposeResult:
        yield from self.page()
        yield Static(
            "This terminal is too small: 80 columns by 24 lines are needed. Make it larger; nothing is lost.",
            id="too-small",
        )

    _sized: Size | None = None

    def on_resize(self) -> None:
        """Lay out anew what depends on the size. A terminal that names no size of its own is told of the same one again
        each time something is laid out, and would be busy with that for ever."""
        before, self._sized = self._sized, self.app.size
        if self._sized != before:
            self.resized()

    def resized(self) -> None:
        """The terminal has another size than before, or its first."""

    def on_screen_resume(self) -> None:
        """Once the first screen is drawn, what the start has put off is caught up with."""
        self.when_drawn(collector_wakes)

    def when_drawn(self, do: Callable[[], object]) -> None:
        """Do something once this screen has been drawn, and not beside its first frame."""
        self.app.call_later(self.call_after_refresh, do)  # while the program starts, its own messages still wait

    def draw_now(self, *parts: Widget) -> None:
        """Draw these parts now, in one frame. Left alone each tells the screen in a turn of its own, and what is told
        after the first has been drawn waits for the next tick."""
        self._dirty_widgets.update(parts)
        self._on_timer_update()

    def page(self) -> ComposeResult:
        """The widgets of the screen."""
        raise NotImplementedError

    def leave(self) -> None:
        """Go back to the screen below; where there is none, the program ends."""
        if self.is_left:
            return
        if self.app.screen_stack[0] is not self:
            self.dismiss(None)
        else:
            self.app.exit(0)

    @property
    def too_small(self) -> bool:
        """Whether the terminal is below the least size."""
        width, height = self.app.size
        return width < 80 or height < 24


class Fixed(Static):
    """A part whose size does not hang on its words: others lay nothing out anew, and the same cost nothing."""

    _said: Content | None = None

    def say(self, words: Content) -> None:
        """Show these words."""
        if self._said is None or not words.is_same(self._said):
            self._said = words
            self.update(words, layout=False)
