"""A line to type in that leaves Enter to the keys of its screen, so that the foot of the screen names it."""

from __future__ import annotations

from typing import ClassVar, cast

from textual.binding import Binding, BindingType
from textual.events import Key
from textual.widgets import Input

_EDITING = {
    key: bound.action
    for bound in Input.BINDINGS
    if isinstance(bound, Binding) and bound.action.startswith(("cursor_", "delete_", "home", "end"))
    for key in bound.key.split(",")
    if "(" not in bound.action
}


class Typed(Input, inherit_bindings=False):
    """What is typed. Enter is its screen's, by whatever key the user has put it on; the cursor does not blink."""

    BINDINGS: ClassVar[list[BindingType]] = [each for each in Input.BINDINGS if cast(Binding, each).key != "enter"]

    def on_mount(self) -> None:
        self.cursor_blink = False

    async def _on_key(self, event: Key) -> None:
        """Do the editing keys here and now: as bindings they would be done after signs that were typed behind them,
        where keys come quicker than one by one."""
        if event.key in _EDITING:
            event.stop()
            event.prevent_default()
            getattr(self, f"action_{_EDITING[event.key]}")()
        else:
            await super()._on_key(event)
