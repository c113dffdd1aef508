"""Writing a procedure: its text, and beside it the same read aloud, what is wrong, and a step as it will be seen."""

from __future__ import annotations

import asyncio
import gc
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from time import monotonic
from typing import ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Footer, Static, TextArea

from ..authoring import recovery
from ..authoring.draft import Draft
from ..authoring.edits import Spot
from ..authoring.judging import NOTHING_HELD, Held, Judged, Stale, judge
from ..authoring.outline import Row, outline
from ..authoring.preview import preview
from ..authoring.spots import step_at
from ..daybook.hanging import fitted
from ..daybook.ink import Line, Span, Tone, line
from ..errors import BenchwalkError
from ..library import Library, lasting_name
from ..procedure.findings import Finding
from ..procedure.showing import sentence
from ..sums import compute
from .actions import WRITE
from .base import Fixed, Page
from .editor import Editor
from .keymap import bindings, with_keys
from .lines import Lines
from .looks import inked, plain

QUIET = 0.6
"""Seconds without a key after which the examples are walked."""
WIDE = 100
"""Columns from which text and outline stand side by side."""
TEXT, OUTLINE, STEP = "text", "outline", "step"
_NOT_YET = ("This cannot be read as", "a procedure yet; what is", "wrong stands below.")
COLLECT_AFTER = 20
"""Judgements without a rest after which the collector runs all the same."""
MOST_FINDINGS = 4
"""Lines for what is wrong, at the foot."""


def _begins(verb: str) -> Callable[[WriteScreen], None]:
    """The action that begins what `write_flows` has under that verb."""

    def action(screen: WriteScreen) -> None:
        screen._flow(verb)

    return action


class WriteScreen(Page):
    """One file. `side` is what stands beside the text (or, on a narrow terminal, in its place)."""

    CSS_PATH: ClassVar = "write.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings(WRITE)
    AUTO_FOCUS: ClassVar[str | None] = "#text"

    def __init__(self, draft: Draft, library: Library, shop_root: Path | None = None, told: str = "") -> None:
        super().__init__()
        self.draft = draft
        self.library = library
        self.shop_root = shop_root
        self.told = told
        self.shop = NOTHING_HELD
        self.judged: Judged | None = None
        self.last_linked: Judged | None = None
        self.side = TEXT
        self._version = self._judged_version = self._walked_version = 0
        self._judging, self._file = False, lasting_name(draft.path)
        self._written = asyncio.Event()
        self._step: str | None = None
        self._rows: list[Row] = []
        self._said = 0.0
        self._parts: list[Widget] = []

    # --- layout ---

    def page(self) -> ComposeResult:
        yield Fixed(id="write-head")
        with Horizontal(id="write-spread"):
            yield Editor(self.draft.saved, id="text")
            yield Lines(id="write-outline")
            with VerticalScroll(id="write-side", can_focus=False):
                yield Static(id="write-told")
        yield Fixed(id="write-findings")
        yield Static(id="message")
        yield Footer(show_command_palette=False, compact=True)

    def on_mount(self) -> None:
        self._parts = [*self.query("#text, #message, #write-head, #write-findings, #write-outline, #write-told")]
        self.editor.dress(self.app.current_theme)
        self.watch(self.app, "theme", lambda: self.editor.dress(self.app.current_theme), init=False)
        self.set_interval(1, self.look_outside)
        self.show_side(OUTLINE if self.app.size.width >= WIDE else TEXT)
        self.say(self.told)
        self._begin()
        self.refresh_head()
        self._changed()

    @work(group="flow")
    async def _begin(self) -> None:
        """Look what the shop knows, and whether a text was left unsaved when a program ended."""
        from .write_flows import left_unsaved, shop_knows

        self.shop = await asyncio.to_thread(shop_knows, self.shop_root)
        if self._there:
            self._changed()
            await left_unsaved(self)

    @property
    def editor(self) -> Editor:
        """The text."""
        return self.query_one("#text", Editor)

    @property
    def unsaved(self) -> bool:
        """Whether something was written that is in no file."""
        return self.editor.text != self.draft.saved or not (self.draft.on_disk or self.draft.origin)

    @property
    def step(self) -> str | None:
        """The step the cursor stands in."""
        judged = self.judged
        return step_at(judged.document, self.editor.cursor_location[0]) if judged is not None else None

    def say(self, message: str) -> None:
        """Say one sentence above the keys; it goes once somebody writes on."""
        self._said = monotonic()
        said = with_keys(sentence(message), getattr(self.app, "keys", {}))
        shown = self.query_one("#message", Static)
        shown.update(plain(said))
        shown.display = bool(said)

    def refresh_head(self) -> None:
        """Say anew whether it is saved, and how much is wrong."""
        state = "not saved" if self.unsaved else "saved" if self.draft.on_disk else "as it came with the program"
        found = "being checked" if self.judged is None else self.judged.said
        left, right = f" {self.draft.path.name}", f"{found}; {state} "
        gap = max(1, self.app.size.width - len(left) - len(right))
        self.query_one("#write-head", Fixed).say(Content.assemble((left, "bold"), " " * gap, (right, "$quiet")))

    def resized(self) -> None:
        both, wide = self.editor.display and self.side != TEXT, self.app.size.width >= WIDE
        self.show_side(TEXT if both and not wide else OUTLINE if wide and self.side == TEXT else self.side)
        self._rows = []
        for anew in (self.refresh_head, self._findings, self._beside):
            anew()

    def show_side(self, side: str) -> None:
        """Show the text alone, or the outline or the step beside it (in its place on a narrow terminal)."""
        self.side = side
        wide = self.app.size.width >= WIDE
        self.editor.display = wide or side == TEXT
        self.query_one("#write-outline").display = side == OUTLINE
        self.query_one("#write-side").display = side == STEP
        if self.editor.display:
            self.editor.focus()
        self._beside()

    # --- judging ---

    def on_text_area_changed(self, event: TextArea.Changed) -> None:
        event.stop()
        self._changed()

    def _changed(self) -> None:
        self._version += 1
        self._written.set()
        if self._said and monotonic() - self._said > 1:
            self.say("")
            self._said = 0.0
        self.refresh_head()
        self.draw_now(*self._parts)
        if not self._judging:
            self._judge()

    @work(group="judge")
    async def _judge(self) -> None:
        """Judge the text until the last of it is judged; then, when the keys rest, with its examples."""
        self._judging, burst = True, 0
        try:
            while self._walked_version != self._version and self._there:
                version, text = self._version, self.editor.text
                rests = self._judged_version == version
                burst = 0 if rests else burst + 1
                if burst % COLLECT_AFTER == 0:
                    gc.enable()
                else:  # what a judgement leaves behind is cleared away while the keys rest, not before the next frame
                    gc.disable()
                if rests:
                    if not await self._quiet(QUIET / 3):
                        continue
                    self._beside()
                    if text != self.draft.saved:
                        await asyncio.to_thread(recovery.keep, self.draft.path, text)
                    if not await self._quiet(QUIET):
                        continue
                known, name, sums = self.library.ids(), self.draft.path.name, compute if rests else None
                find, held = self.library.find, self._held
                before = self.last_linked.linked if self.last_linked is not None else None
                try:
                    fresh = lambda: version == self._version  # noqa: B023, E731 (awaited before version is another)
                    judged = await asyncio.to_thread(judge, text, name, find, known, sums, fresh, held, before)
                except Stale:
                    continue
                self._judged_version = version
                if rests:
                    self._walked_version = version
                if version == self._version and self._there:
                    self._show(judged)
        finally:
            self._judging = False
            gc.enable()

    @property
    def _there(self) -> bool:
        """Whether all that is told is shown somewhere still: while the program ends its parts go one by one."""
        return all(part.is_attached for part in self._parts)

    @property
    def _held(self) -> Held:
        """What the text is held against: approvals only where the shop uses this very file."""
        folder = (self.shop_root / "procedures").resolve() if self.shop_root is not None else None
        held = self.shop if self.draft.path.resolve().parent == folder else Held(roles=self.shop.roles)
        return held._replace(file=self._file)

    async def _quiet(self, seconds: float) -> bool:
        """Wait that long for the keys to rest; whether they did."""
        self._written.clear()
        with suppress(TimeoutError):
            return not await asyncio.wait_for(self._written.wait(), seconds)
        return self._there

    def _show(self, judged: Judged) -> None:
        if self.judged is None or judged.linked is not None or self.judged.linked is not None:
            self._rows = []
        self.judged = judged
        if judged.linked is not None:
            self.last_linked = judged
        self.editor.mark(judged.findings)
        self.refresh_head()
        self._findings()
        self.draw_now(*self._parts)
        self._step = self.step

    def on_text_area_selection_changed(self, event: TextArea.SelectionChanged) -> None:
        event.stop()
        self._findings()
        step = self.step
        if step != self._step:
            self._step = step
            self._beside()

    def nearest(self) -> list[Finding]:
        """What is wrong: in the cursor's line, then errors before advice, each from there on and from the top."""
        found = list(self.judged.findings) if self.judged is not None else []
        here = self.editor.cursor_location[0] + 1
        return sorted(found, key=lambda f: (f.pos.line != here, f.severity != "error", f.pos.line < here))

    def _findings(self) -> None:
        here = self.editor.cursor_location[0] + 1
        rows: list[Line] = []
        for finding in self.nearest():
            word = "error" if finding.severity == "error" else "advice"
            at_it = finding.pos.line == here
            mark = "> " if at_it else "  "
            tone: Tone = "outside" if word == "error" else "close"
            lead = line(Span(f"{mark}{finding.pos.line}: "), Span(f"{word}  ", tone))
            rows += fitted(lead, sentence(finding.message), self.app.size.width - 2, whole=at_it)
            if len(rows) >= MOST_FINDINGS:
                break
        self.query_one("#write-findings", Fixed).say(inked(rows[:MOST_FINDINGS]))

    def _beside(self) -> None:
        """Show beside the text what stands there, as the text is now."""
        if self.side == OUTLINE:
            self._read_aloud()
        elif self.side == STEP:
            self._preview()

    def _read_aloud(self) -> None:
        told = self.query_one("#write-outline", Lines)
        linked = self.last_linked.linked if self.last_linked is not None else None
        if linked is None:
            self._rows = [Row(line(Span(words, "quiet")), "") for words in _NOT_YET]
        elif not self._rows:
            width = self.app.size.width
            old = self.judged is not None and self.judged.linked is None
            before = [Row(line(Span("As it was when it could last be read:", "outside")), "")] if old else []
            self._rows = before + outline(linked, width - 4 if width < WIDE else width * 2 // 5 - 6)
        first = next((at for at, row in enumerate(self._rows) if row.step and row.step == self._step), None)
        rows = self._rows
        told.show(len(rows), lambda index: rows[index].words, first)

    @work(group="preview", exclusive=True)
    async def _preview(self) -> None:
        judged, step = self.last_linked, self._step
        if judged is None or judged.linked is None or step is None or step not in judged.linked.steps:
            lines: list[Line] = [line(Span("The cursor stands in no step that could be shown.", "quiet"))]
        elif not judged.walkable:
            lines = [line(Span("While there are errors no step can be shown as it will be walked.", "quiet"))]
        else:
            lines = await asyncio.to_thread(preview, judged.linked, step, compute)
        self.query_one("#write-told", Static).update(inked(lines))

    # --- the file ---

    def look_outside(self) -> None:
        """See whether the file was written elsewhere; a text with nothing unsaved follows it."""
        if not self.draft.on_disk or not self.draft.changed_outside():
            return
        if self.editor.text != self.draft.saved:
            self.say("the file was changed elsewhere; {write.save} asks which of the two texts stays")
            return
        try:
            text = self.draft.read_again()
        except BenchwalkError as error:
            self.say(error.message)
            return
        place = self.editor.cursor_location
        self.editor.load_text(text)
        self.editor.move_cursor(place)
        self.say("the file was changed elsewhere, and is shown as it is now")

    def stopped(self, number: int) -> None:
        """The program is ended from outside: what is not saved is kept."""
        if self.editor.text != self.draft.saved:
            recovery.keep(self.draft.path, self.editor.text)

    # --- keys; what needs more than a line is in write_flows ---

    action_save = _begins("save")
    action_mend = _begins("mend")
    action_walk = _begins("walk")
    action_rename = _begins("rename")
    action_offer = _begins("offer")
    action_find = _begins("find")
    action_steps = _begins("steps")
    action_more = _begins("more")
    action_leave = _begins("leave")

    def action_next_fault(self) -> None:
        found, here = self._faults(), self.editor.cursor_location
        ahead = [f for f in found if (f.pos.line - 1, f.pos.column - 1) > here] or found
        self._go_to(ahead[0] if ahead else None)

    def action_fault_before(self) -> None:
        found, here = self._faults(), self.editor.cursor_location
        behind = [f for f in found if (f.pos.line - 1, f.pos.column - 1) < here] or found
        self._go_to(behind[-1] if behind else None)

    def _faults(self) -> list[Finding]:
        """What the keys go through: errors as long as there are any, then advice."""
        found = list(self.judged.findings) if self.judged is not None else []
        return [finding for finding in found if finding.severity == "error"] or found

    def _go_to(self, finding: Finding | None) -> None:
        if finding is None:
            walked = self._walked_version == self._version
            self.say("nothing is wrong here" if walked else "nothing is wrong so far; it is still being looked at")
            return
        self.stand_at((finding.pos.line - 1, finding.pos.column - 1))
        self.say("")

    def stand_at(self, spot: Spot, end: Spot | None = None) -> None:
        """Put the cursor there, and mark what stands from there to `end`; the text comes back into sight."""
        if self.side != TEXT and self.app.size.width < WIDE:
            self.show_side(TEXT)
        self.editor.move_cursor(spot, center=True)
        if end is not None:
            self.editor.move_cursor(end, select=True)

    def action_side(self) -> None:
        order = (OUTLINE, STEP) if self.app.size.width >= WIDE else (TEXT, OUTLINE, STEP)
        self.show_side(order[(order.index(self.side) + 1) % len(order)])

    def action_cut(self) -> None:
        self.editor.action_cut()

    @work(group="flow", exclusive=True)
    async def _flow(self, verb: str) -> None:
        from .write_flows import FLOWS  # only now: the text is on screen sooner without what they need

        try:
            await FLOWS[verb](self)
        except BenchwalkError as error:
            self.say(error.message)
