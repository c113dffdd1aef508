"""A screen is left once: a second key of the same burst finds it gone, and takes nothing away from the one below."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from textual.await_complete import AwaitComplete
from textual.css.query import NoMatches
from textual.events import Event, Key, Mount
from textual.screen import Screen

if TYPE_CHECKING:
    _Screen = Screen[Any]
else:
    _Screen = object  # Textual takes style and keys from a screen's first base alone


class LeftOnce(_Screen):
    """Textual takes the uppermost screen away, whichever asks for it; two keys that leave can both be on their way."""

    @property
    def is_left(self) -> bool:
        """Whether it was left already."""
        return self not in self.app.screen_stack

    async def on_event(self, event: Event) -> None:
        """As Textual has it; what is left, or was before its widgets were there, begins nothing and takes no keys."""
        if isinstance(event, Mount) and not self.children:
            return
        if isinstance(event, Key) and (self.is_left or not self.is_mounted):
            return
        try:
            await super().on_event(event)
        except NoMatches:  # its widgets were on their way when it was left, or the program was
            if not self.is_left and self.app.return_code is None:
                raise

    def call_after_refresh(self, callback: Callable[..., Any], *args: Any, **kwargs: Any) -> bool:
        """As Textual has it; on a screen that was left by then nothing is laid out any more."""
        return super().call_after_refresh(lambda: None if self.is_left else callback(*args, **kwargs))

    def dismiss(self, result: Any = None) -> AwaitComplete:
        """Leave, once; what another key has laid over it meanwhile goes first, unanswered."""
        if self.is_left:
            return AwaitComplete()
        while (above := self.app.screen) is not self:
            above.dismiss(None)
        return super().dismiss(result)
