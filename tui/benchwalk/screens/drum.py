"""The practice drum: its rods as opposite pairs with what was heard beside each, and what the hands did so far.

Enter taps the marked rod, or does what is typed. An amount typed alone turns the marked rod. From a walk it is opened
for the rod that is asked for, and gives the note back.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from typing import ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.widgets import Footer, Input, Static

from ..daybook.heads import Head, Rod
from ..daybook.ink import line
from ..daybook.pairs import pair_lines
from ..errors import BenchwalkError, Misread
from ..practice.drum import across
from ..practice.lesson import RATE, Lesson
from ..practice.orders import HELP, obey
from ..practice.speaker import Speaker
from ..practice.telling import Compute, finish
from ..procedure.showing import sentence
from ..quantities import decimal_text, parse_quantity
from .actions import DRUM
from .base import Page
from .keymap import bindings, with_keys
from .looks import inked, plain
from .rows import head_line
from .typed import Typed

WANTED = "Bring the notes beside the rods within 5 cents, and find out what no note tells."
_AS_ADVISED, _DONE = "as advised", "done"
_KEPT = 200
_WAITING = 4


class DrumScreen(Page):
    """One practice drum. `asked` is the rod a walk wants a note of (`wanted`: of whichever is marked), `question` what
    it asks, `advised` what it advises to turn, `damped` whether it noted that the other head is kept still (None: not
    noted); `taken` what it was given.

    `kept` is called with the lesson whenever something was done to the drum.
    """

    CSS_PATH: ClassVar = "drum.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings(DRUM)
    AUTO_FOCUS: ClassVar[str | None] = "#order"

    def __init__(
        self,
        lesson: Lesson,
        compute: Compute,
        *,
        speaker: Speaker | None = None,
        asked: int | None = None,
        question: str = "",
        kept: Callable[[Lesson], None] | None = None,
        said: Sequence[str] = (),
        wanted: bool = False,
        advised: Mapping[int, float] | None = None,
        damped: bool | None = None,
    ) -> None:
        super().__init__()
        self.lesson, self.compute, self.speaker = lesson, compute, speaker or Speaker()
        self.asked, self.question, self.kept = asked, question, kept
        self.wanted, self.advised = wanted or asked is not None, dict(advised or {})
        self.damped = damped
        self.warned = False
        self.marked = asked or 1
        self.taken = ""
        self.said = list(said)
        self.over = False
        self._last = 0
        self._busy = False
        self._orders: list[str] = []

    # --- layout ---

    def page(self) -> ComposeResult:
        yield Static(id="head")
        with Horizontal(id="spread"):
            with VerticalScroll(id="said", can_focus=False):
                yield Static(id="said-lines")
                yield Static(id="said-last")
            with Vertical(id="before-you"):
                yield Static(id="rods")
                yield Static(id="stands")
        with Vertical(id="ask"):
            yield Static(id="question")
            with Horizontal(id="order-line"):
                yield Static(">", id="order-sign")
                yield Typed(id="order", placeholder="Enter taps the marked rod; 1/8 turns it; or an order")
            yield Static(id="press")
        yield Footer(show_command_palette=False, compact=True)

    def on_mount(self) -> None:
        begins = [WANTED, "Somebody brought it up in a hurry. Listen before you turn; help lists all you can do."]
        self.tell([] if self.said else begins)

    def resized(self) -> None:
        self.call_after_refresh(self.lay_out)  # only then is it known how wide the rods may be

    def tell(self, lines: list[str]) -> None:
        """Add what was said, and show how the drum stands."""
        self.said = [*self.said, *lines][-_KEPT:]
        self._last = len(lines)
        self.lay_out()

    def lay_out(self) -> None:
        """Show all of it anew."""
        if not self.query("#press"):  # the page was left, or is not there yet
            return
        lesson = self.lesson
        drum = lesson.drum
        head = head_line(f"A practice drum, {lesson.head} head", f"{drum.rods} rods", self.app.size.width - 2)
        self.query_one("#head", Static).update(inked([head]))
        before = max(0, len(self.said) - self._last)
        for name, lines in (("#said-lines", self.said[:before]), ("#said-last", self.said[before:])):
            said = self.query_one(name, Static)
            said.update(inked([line(each) for each in lines]))
            said.display = bool(lines)
        self.query_one("#order-line").display = not self.over
        self.call_after_refresh(self._to_the_last)
        width = self.query_one("#before-you").content_size.width or self.app.size.width // 2
        self.query_one("#rods", Static).update(inked(pair_lines(self.rods(), width)))
        self.query_one("#stands", Static).update(inked([line(each) for each in self.stands()]))
        over = "This is how it went, and what was hidden."
        asks = over if self.over else self.question or f"Rod {self.marked} is marked."
        self.query_one("#question", Static).update(plain(asks))
        self.query_one("#press", Static).update(plain(self.presses()))
        self.refresh_bindings()

    def _to_the_last(self) -> None:
        """Show what was said last, from its beginning where it is longer than the page."""
        if self.query("#said"):
            last = self.query_one("#said-last").virtual_region.y
            self.query_one("#said", VerticalScroll).scroll_to(y=last, animate=False)

    def rods(self) -> Head:
        """The rods as the daybook shows them: noted since the last turn, the marked one, and those not heard yet."""
        notes = self.lesson.now

        def rod(number: int) -> Rod:
            note = notes.get(number)
            if number == self.marked and note is None:
                return Rod(number, "now")
            if note is None:
                return Rod(number, "open")
            value = Fraction(f"{note.hz:.1f}")
            return Rod(number, "noted", note.typed, value, here=number == self.marked)

        return Head(tuple(map(rod, range(1, self.lesson.drum.rods + 1))), "note", "Hz", 1, from_strainer=True)

    def stands(self) -> list[str]:
        """How everything but the rods stands."""
        lesson = self.lesson
        damped = lesson.drum.damped(lesson.other)
        other = "rests on its pad" if damped else "is free to ring"
        if lesson.drum.damped(lesson.head):
            other += ", and the pad lies on this one"
        if self.damped is not None and self.damped is not damped:
            other += "; the walk noted it " + ("damped" if self.damped else "free")
        mic = "over the rod you tap" if lesson.mic == "over" else "over rod 1"
        pressed = "pressed home" if lesson.drum.pressed(lesson.head) else "not pressed home since the last turn"
        counted = lesson.drum.counted(lesson.head)
        up = f"Up from finger-tight: {sum(counted) / len(counted):.2f} turns a rod."
        return [f"The film is {pressed}.", f"The {lesson.other} head {other}.", f"The microphone hangs {mic}.", up]

    def presses(self) -> str:
        """What Enter does, and what else ends it."""
        text = "{drum.next} taps the marked rod; {drum.up} and {drum.down} mark another."
        if self.over:
            text = "{drum.page_down} reads on; {drum.close} leaves."
        elif self.wanted and self.lesson.now.get(self.asked or self.marked):
            text = "{drum.take} takes this note into the walk; {drum.next} taps again."
        elif self.advised:
            text = "{drum.advised} turns the rods as the walk advises. " + text
        return with_keys(text, self.app.keys)  # type: ignore[attr-defined]

    # --- what keys do ---

    @property
    def order(self) -> Input:
        """The line where an order is typed."""
        return self.query_one("#order", Input)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if self.over:
            return action in ("close", "page_up", "page_down")
        fits = {"take": self.wanted, "advised": bool(self.advised), "done": self.kept is None}
        return fits.get(action, True)

    def action_next(self) -> None:
        typed = self.order.value.strip()
        if self._busy and (not typed or len(self._orders) >= _WAITING):
            return  # what was typed stays in its line until there is room for it
        self.order.value = ""
        if typed.lower() in ("done", "leave"):
            self.action_done()
        elif typed.lower() in ("help", "?"):
            self.tell(list(HELP))
        else:
            self.do(self._meant(typed))

    def _meant(self, typed: str) -> str:
        """An amount alone is for the marked rod; nothing at all taps it."""
        if not typed:
            return f"tap {self.marked}"
        try:
            turns = parse_quantity(typed, "turns").value
        except Misread:
            return typed
        return f"turn {self.marked} {decimal_text(turns)}"

    def action_all(self) -> None:
        self.do("tap")

    def action_advised(self) -> None:
        """Turn the rods as the walk advises; once, for it is what is advised after this round."""
        if self.advised:
            self.do(_AS_ADVISED)
        else:
            self.tell(["No walk advises any turns here; the order advice asks the sums."])

    def action_page_up(self) -> None:
        self.query_one("#said", VerticalScroll).scroll_page_up(animate=False)

    def action_page_down(self) -> None:
        self.query_one("#said", VerticalScroll).scroll_page_down(animate=False)

    def action_press(self) -> None:
        self.do("press")

    def action_advice(self) -> None:
        self.do("advice")

    def action_depth(self) -> None:
        self.do("depth")

    def action_pad(self) -> None:
        self.do("free" if self.lesson.drum.damped(self.lesson.other) else "damp")

    def do(self, order: str) -> None:
        """Do an order, after those that were given before it; a held key may not heap up more than a few."""
        if self.over or len(self._orders) >= _WAITING or _DONE in self._orders:
            return
        self._orders.append(order)
        if not self._busy:
            self._busy = True
            self._work_off()

    @work(group="drum")
    async def _work_off(self) -> None:
        """Do the orders that wait, one after the other: there is one drum, and it is in two hands at no time."""
        try:
            while self._orders and not self.over:
                order = self._orders.pop(0)
                if order == _DONE:
                    self._end()
                else:
                    self.tell(await self._one(order))
        finally:
            self._busy = False

    async def _one(self, order: str) -> list[str]:
        """Do an order; what takes long is done in a thread, so that keys are heard meanwhile."""
        import asyncio

        self.lesson.sound = None
        try:
            if order == _AS_ADVISED:
                turns, self.advised = self.advised, {}
                lines = await asyncio.to_thread(self.lesson.turn, turns)
            elif order == "tap":
                lines = []
                for rod in across(self.lesson.drum.rods):
                    if _DONE not in self._orders:
                        lines += await asyncio.to_thread(self.lesson.tap, rod)
            else:
                lines = await asyncio.to_thread(obey, self.lesson, order, self.compute)
        except BenchwalkError as error:
            lines = [sentence(error.message)]
        if self.lesson.sound is not None:
            was = self.speaker.silent
            await asyncio.to_thread(self.speaker.play, self.lesson.sound, RATE)
            lines += [self.speaker.silent] if self.speaker.silent and not was else []
        if self.kept is not None:
            try:
                self.kept(self.lesson)
            except BenchwalkError as error:  # a full disk, a folder that may not be written: the lesson goes on
                lines = [*lines, sentence(error.message)]
        return lines

    def action_up(self) -> None:
        self._mark(-1)

    def action_down(self) -> None:
        self._mark(1)

    def _mark(self, by: int) -> None:
        """Mark the next rod in the order a hand goes: across and across."""
        order = across(self.lesson.drum.rods)
        self.marked = order[(order.index(self.marked) + by) % len(order)]
        self.lay_out()

    def action_take(self) -> None:
        """Give the note of the rod that is asked for, or of the marked one, to the walk."""
        rod = self.asked or self.marked
        note = self.lesson.now.get(rod)
        if note is None:
            self.tell([f"Rod {rod} has no note since the last turn; tap it first."])
            return
        self.taken = note.typed
        self.leave()

    def action_done(self) -> None:
        """Tell how it went and what was hidden; the page stays to be read. What is being done is broken off first."""
        if self._busy:
            self._orders = [_DONE]
        elif not self.over:
            self._end()

    def _end(self) -> None:
        self.over = True
        self.said = []
        self.tell(finish(self.lesson))

    def action_close(self) -> None:
        """Leave; what is typed goes first, and a lesson by itself says once that it has not told yet what it hid."""
        if self.order.value:
            self.order.value = ""
            return
        if self.kept is None and not (self.over or self.warned):
            self.warned = True
            words = "{drum.done} tells what was hidden; {drum.close} once more leaves without it."
            self.tell([with_keys(words, self.app.keys)])  # type: ignore[attr-defined]
            return
        self.speaker.close()
        self.leave()

