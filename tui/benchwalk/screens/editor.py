"""The text of a procedure in an editor: YAML in the colours of the look, and every fault marked where it stands."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from functools import lru_cache
from typing import Any, ClassVar, Self

from rich.style import Style
from rich.text import Text
from textual.binding import Binding, BindingType
from textual.cache import LRUCache
from textual.events import Key, Paste
from textual.geometry import Region
from textual.strip import Strip
from textual.theme import Theme
from textual.widgets import TextArea
from textual.widgets.text_area import Edit as TextEdit
from textual.widgets.text_area import EditResult, TextAreaTheme

from ..authoring.edits import Edit, Spot, applied, in_order
from ..procedure.findings import Finding

_KEYS: list[BindingType] = [
    bound for bound in TextArea.BINDINGS if isinstance(bound, Binding) and bound.key not in ("f6", "f7")
]
"""The keys of a text area; F6 and F7 are the screen's."""
_ACTIONS = {
    key: bound.action
    for bound in _KEYS
    if isinstance(bound, Binding) and bound.action.startswith(("cursor_", "delete_")) and "(" not in bound.action
    for key in bound.key.split(",")
}
_PARTS = re.compile(
    r"""(?P<comment>(?:^|(?<=\s))\#.*)
    | (?P<string>"(?:[^"\\]|\\.)*"|'(?:[^']|'')*')
    | (?P<field>(?:(?<=^)|(?<=[\s{,-]))[A-Za-z_][\w-]*(?=:(?:\s|$)))
    | (?P<sign>[\[\]{}])""",
    re.VERBOSE,
)
_SET_IN = re.compile(r"(?P<spaces> *)(?P<dash>- )?")
_PIECE = re.compile(r"[,}:]")

Mark = tuple[int, int | None, str]


class _Colours(dict[int, list[Mark]]):
    """What is coloured in each line, worked out when a line is drawn: a keystroke costs nothing for the others."""

    def __init__(self, of: Callable[[int], list[Mark]]) -> None:
        self._of = of

    def __bool__(self) -> bool:
        return True

    def __missing__(self, line: int) -> list[Mark]:
        self[line] = found = self._of(line)
        return found


class Editor(TextArea, inherit_bindings=False):
    """A text area for YAML. `mark` shows findings in it; `change` does edits that can be undone together. `sought` are
    the words that were looked for last."""

    BINDINGS: ClassVar[list[BindingType]] = _KEYS

    def __init__(self, text: str, *, id: str) -> None:
        self._faults: dict[int, list[Finding]] = {}
        self._within = False
        self.sought = ""
        self._strips: LRUCache[Any, Strip] = LRUCache(2000)
        super().__init__(
            text, soft_wrap=True, tab_behavior="indent", show_line_numbers=True, id=id, max_checkpoints=500
        )
        self._highlights = _Colours(self._marks)
        self.indent_width = 2
        self.cursor_blink = False

    def dress(self, theme: Theme) -> None:
        """Take the colours of the program's look."""
        self.register_theme(_theme(theme))
        self.theme = theme.name

    def mark(self, findings: Iterable[Finding]) -> None:
        """Show these findings where they stand; only lines in which something else stands than before are drawn."""
        before, self._faults = self._faults, {}
        for finding in findings:
            self._faults.setdefault(finding.pos.line - 1, []).append(finding)
        self._build_highlight_map()
        for line in before.keys() | self._faults.keys():
            if line < self.document.line_count and before.get(line) != self._faults.get(line):
                self._draw(line)

    def _draw(self, line: int) -> None:
        """Draw the rows of one line anew."""
        rows, top = self.wrapped_document, self.scroll_offset.y
        first = rows.location_to_offset((line, 0)).y - top
        last = rows.location_to_offset((line, len(self.document.get_line(line)))).y - top
        if last >= 0 and first < self.size.height:
            self.refresh(Region(0, first, self.size.width, last - first + 1))

    def edit(self, edit: TextEdit) -> EditResult:
        """Do an edit. What is typed within the cursor's line draws that line anew, and not the whole screen."""
        line = edit.top[0]
        self._within = self.selection.is_empty and {line, edit.bottom[0], self.selection.end[0]} == {line}
        self._within = self._within and "\n" not in edit.text and "\r" not in edit.text
        before = self._stands
        try:
            result = super().edit(edit)
        finally:
            within, self._within = self._within, False
        if within and self._stands == before:
            self._draw(line)
        elif within:
            self.refresh()
        return result

    @property
    def _stands(self) -> tuple[object, ...]:
        """What moves or colours other rows where it is another one."""
        rows = len(self.wrapped_document._offset_to_line_info)
        return rows, self.scroll_offset, self.gutter_width, self._matching_bracket_location

    def refresh(
        self, *regions: Region, repaint: bool = True, layout: bool = False, recompose: bool = False
    ) -> Self:
        """As Textual has it, but that within a line `edit` says what is drawn."""
        if self._within and not regions and not layout and not recompose:
            return self
        return super().refresh(*regions, repaint=repaint, layout=layout, recompose=recompose)

    def change(self, edits: Iterable[Edit]) -> None:
        """Do all these edits as one, which one undoing takes back."""
        made = in_order(edits)
        if not made:
            return
        start, end = made[-1].start, max(edit.end for edit in made)
        lines = self.document.get_text_range(start, end).split("\n")
        moved = [edit._replace(start=_from(edit.start, start), end=_from(edit.end, start)) for edit in made]
        self.history.checkpoint()
        self.replace(applied("\n".join(lines), moved), start, end, maintain_selection_offset=True)
        self.history.checkpoint()

    @property
    def lines(self) -> list[str]:
        """The lines of the text."""
        return list(self.document.lines)

    async def _on_key(self, event: Key) -> None:
        """Do the editing keys here and now, so that none is done after signs that were typed behind it."""
        own = {"enter": self._new_line, "end": self._line_end, "ctrl+home": self._start, "ctrl+end": self._end}
        own |= {"ctrl+x": self.action_cut, "ctrl+v": self.action_paste}
        action = own.get(event.key) or (
            getattr(self, f"action_{_ACTIONS[event.key]}") if event.key in _ACTIONS else None
        )
        unseen = self._unseen and (action is not None or event.is_printable or event.key == "tab")
        if action is None and not unseen:
            await super()._on_key(event)
            return
        event.stop()
        event.prevent_default()
        if action is not None and not unseen:
            action()

    async def _on_paste(self, event: Paste) -> None:
        """Nothing is put where nobody sees it."""
        if self._unseen:
            event.stop()
            event.prevent_default()

    @property
    def _unseen(self) -> bool:
        """Whether a sentence about the size of the terminal stands over the text."""
        return bool(getattr(self.screen, "too_small", False))

    def _new_line(self) -> None:
        """Begin a line, set in as the one above, and further where that one opens something."""
        line, column = self.selection.end
        before = self.document.get_line(line)[:column]
        found = _SET_IN.match(before)
        assert found is not None
        spaces = " " * len(found["spaces"])
        if before.rstrip().endswith(":"):
            spaces += "  "
        if found["dash"]:
            spaces += "  "
        self.replace(f"\n{spaces}", *self.selection, maintain_selection_offset=False)
        self.scroll_cursor_visible()

    def _line_end(self) -> None:
        """To the end of the line, and not of the row it is broken into."""
        line, _column = self.selection.end
        self.move_cursor((line, len(self.document.get_line(line))))

    def _start(self) -> None:
        self.move_cursor((0, 0))

    def _end(self) -> None:
        self.move_cursor(self.document.end)

    def get_line(self, line_index: int) -> Text:
        """A line to be drawn: a sign that would act on the terminal, or hide or turn others, is drawn as `�`."""
        line = super().get_line(line_index)
        if not line.plain.isprintable():
            line.plain = "".join(sign if sign.isprintable() or sign == "\t" else "�" for sign in line.plain)
        return line

    def render_line(self, y: int) -> Strip:
        """A row as it is drawn. Rows away from the cursor are kept: with lines broken at the edge, textual's own cache
        holds for one place of the cursor only, and each key would draw the whole screen anew; and it puts the whole
        text together before it looks there."""
        rows = self.wrapped_document._offset_to_line_info
        at = y + self.scroll_offset.y
        if at >= len(rows):
            return super().render_line(y)
        line, section = rows[at]
        bracket = self._matching_bracket_location
        if not self.selection.is_empty or line == self.selection.end[0] or (bracket and bracket[0] == line):
            return super().render_line(y)
        text, marks = self.document.get_line(line), tuple(self._highlights[line])
        broken = tuple(self.wrapped_document.get_offsets(line))  # as it is broken now: a new width comes a frame sooner
        key = (line, section, text, marks, broken, self.size.width, self.gutter_width, self.theme)
        strip = self._strips.get(key)
        if strip is None:
            strip = self._strips[key] = self._render_line(y)
        return strip

    def _build_highlight_map(self) -> None:
        self._line_cache.clear()
        self._highlights.clear()

    def _marks(self, line: int) -> list[Mark]:
        """What is coloured in a line, and the faults that stand in it; in bytes."""
        text = self.document.get_line(line) if line < self.document.line_count else ""
        found: list[Mark] = [*_parts_of(text)]
        for finding in self._faults.get(line, ()):
            start = min(finding.pos.column - 1, max(0, len(text) - 1))
            end = start + max(1, len(_PIECE.split(text[start:])[0].rstrip()))
            found.append((start, end, "fault" if finding.severity == "error" else "advice"))
        if text.isascii():
            return found
        return [(len(text[:start].encode()), len(text[:end].encode()), name) for start, end, name in found]


@lru_cache(maxsize=2000)
def _parts_of(text: str) -> tuple[tuple[int, int, str], ...]:
    """What is coloured in a line by itself."""
    return tuple((m.start(), m.end(), str(m.lastgroup)) for m in _PARTS.finditer(text))


def _from(spot: Spot, start: Spot) -> Spot:
    """A place as seen from another one before it."""
    return spot[0] - start[0], spot[1] - (start[1] if spot[0] == start[0] else 0)


def _theme(theme: Theme) -> TextAreaTheme:
    """The editor's colours out of those of a look; faults are underlined, so that they need no colour."""
    inks: dict[str, Any] = theme.variables

    def ink(name: str, **more: Any) -> Style:
        return Style(color=str(inks[name]).removeprefix("ansi_"), **more)

    return TextAreaTheme(
        name=theme.name,
        gutter_style=ink("quiet"),
        syntax_styles={
            "field": ink("brass"),
            "comment": ink("quiet", italic=True),
            "sign": ink("quiet"),
            "fault": ink("outside", underline=True, bold=True),
            "advice": ink("close", underline=True),
        },
    )
