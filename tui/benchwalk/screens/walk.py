"""The walk as an open daybook: what was found on the left, what to do now on the right, the route at the foot."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar, cast

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.widgets import Footer, Input, Static

from ..daybook.page import Page as RightPage
from ..daybook.right import page_of
from ..errors import BenchwalkError, Failure, Misread
from ..procedure.showing import sentence
from ..walk import acts
from ..walk.decide import Decision
from ..walk.desk import view_of
from ..walk.record import Understood, understand
from . import doing, fits, fitting, laid_out, pressing
from .actions import WALK, at
from .base import Page
from .hand import Hand
from .keymap import bindings, with_keys
from .looks import plain
from .typed import Typed

if TYPE_CHECKING:
    from ..taps.listening import Ear
    from .app import BenchwalkApp
    from .gate import Gate


class WalkScreen(Page):
    """One person walking one job. It reads the session and sends acts; all that it keeps is what is marked or typed.

    `told` are sentences about how the job was opened, shown once. `said_again`: this stop is shown with all its words;
    `only_page`: so much of them that the choices stand back until the page was read.
    """

    CSS_PATH: ClassVar = "walk.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings(WALK)
    AUTO_FOCUS: ClassVar[str | None] = ""

    def __init__(self, hand: Hand, *, terse: bool = False, told: tuple[str, ...] = ()) -> None:
        super().__init__()
        self.hand = hand
        self.session = hand.session
        self.terse = terse
        self.just_now: tuple[str, ...] = told
        self.shown = RightPage("")
        self.marked: int | None = None
        self.said_again = False
        self.only_page = False
        self.reads: object = None
        self.unsaved = False
        self._busy = False
        self._ear: Ear | None = None
        self._at = -1

    # --- layout ---

    def page(self) -> ComposeResult:
        yield Static(id="identity")
        with Horizontal(id="spread"):
            with VerticalScroll(id="left", can_focus=False):
                yield Static(id="left-page")
            with Vertical(id="right"):
                with VerticalScroll(id="page", can_focus=False):
                    for name in ("last-left", "just-now", "place", "why"):
                        yield Static(id=name)
                    yield Vertical(id="hazards")
                    for name in ("action", "lead", "expect", "given", "drawing", "background", "worked-out"):
                        yield Static(id=name)
                yield Static(id="below")
                with Vertical(id="ask"):
                    for name in ("question", "choices", "hints"):
                        yield Static(id=name)
                    with Horizontal(id="entry-line"):
                        yield Static(">", id="entry-sign")
                        yield Typed(id="entry")
                    for name in ("understood", "message", "press"):
                        yield Static(id=name)
        yield Static(id="rope")
        yield Footer(show_command_palette=False, compact=True)

    def on_mount(self) -> None:
        self.set_interval(15, self._time_goes_on)
        self.refresh_page()

    @property
    def entry(self) -> Input:
        """The line where something is typed."""
        return self.query_one("#entry", Input)

    @property
    def typed(self) -> str:
        """What is typed and not noted yet."""
        return self.entry.value.strip() if self.shown.entry is not None else ""

    def refresh_page(self) -> None:
        """Lay out the page for where the walk stands now."""
        state = self.session.state
        terse = self.terse and not self.said_again
        here = self.session.now()
        self.shown = page_of(state, here, self.session.bench, self.session.who, terse)
        if self._at != state.n:
            self._at = state.n
            self.marked = None
            self.entry.value = ""
        self.only_page = False
        laid_out.lay_out(self, here)
        self.gate.shown()
        self.refresh_bindings()

    def say(self, message: str) -> None:
        """Say one sentence above the keys; it stays until something else happens."""
        said = sentence(message)
        shown = self.query_one("#message", Static)
        shown.update(plain(said))
        shown.display = bool(said)

    def keyed(self, text: str) -> str:
        """A sentence of ours with `{walk.yes}` and the like said as the key that does it here."""
        return with_keys(text, cast("BenchwalkApp", self.app).keys)

    def _time_goes_on(self) -> None:
        if self.shown.kind == "wait" and not self._busy:
            laid_out.lay_time(self)

    def resized(self) -> None:
        if self._at >= 0:
            laid_out.lay_out(self, self.session.now())

    # --- what keys do ---

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if f"walk.{action}" not in fits.OFF:
            return True
        return None if self.off(action) else True

    def off(self, verb: str) -> str:
        """Why an action cannot be done here; empty where it can."""
        if self.too_small:
            return "the terminal is too small"
        return fits.why_off(f"walk.{verb}", self.session, self.shown)

    @property
    def gate(self) -> Gate:
        """The bounce gate; one for the whole program, so that a held key does not count on the next screen either."""
        return cast("BenchwalkApp", self.app).gate

    def _counts(self) -> bool:
        return self.gate.press() and not self._busy and not self.too_small

    def action_next(self) -> None:
        if self._counts():
            self._go_on(foot=False)

    def action_foot(self) -> None:
        if self._counts():
            self._go_on(foot=True)

    def action_not_yet(self) -> None:
        if self._counts():
            self._not_yet()

    def _go_on(self, *, foot: bool) -> None:
        unread = self.shown.kind == "ready" or (not self.typed and self.marked is None)
        if unread and self.read_on():
            return
        if self.only_page:
            self._to_the_question()
            return
        try:
            act = doing.going_on(self, foot=foot)
        except BenchwalkError as error:
            self.say(error.message)
            return
        if act is not None:
            self.run(act)

    def read_on(self) -> bool:
        """Show the next part of a page that does not all fit; whether there was more of it."""
        page = self.query_one("#page", VerticalScroll)
        if not pressing.more_below(page):
            return False
        page.scroll_to(y=page.scroll_offset.y + page.size.height, animate=False, immediate=True)
        fitting.lay_below(self)
        return True

    def _to_the_question(self) -> None:
        """From the page with all its words back to what is asked."""
        self.said_again = False
        self.refresh_page()

    def _not_yet(self) -> None:
        other = doing.the_other(self)
        if isinstance(other, int):
            self.mark(other)
        elif other is not None:
            self.run(other)
        elif self.shown.kind in ("do", "way", "each"):
            self.run(doing.Wish(acts.NotYet(), "not-yet"))
        else:
            self.say("nothing is waited for here that could be not yet so")

    @work(group="act")
    async def run(self, wish: doing.Wish) -> None:
        """Do what is wished: keep a file if there is one, decide, write, and show what came of it."""
        await self.do(wish)

    async def do(self, wish: doing.Wish) -> Decision | None:
        """The same, for flows that go on afterwards; None where it was refused or left."""
        if self._busy:
            return None
        self._busy = True
        try:
            decision = await self.hand.call(lambda: wish.do(self.session))
            if decision.question:
                self._busy = False
                from .asking import Confirm

                sure = wish.sure()
                asked = Confirm("Look again", (decision.refusal or "").partition(";")[0] + ".")
                if sure is None or not await self.app.push_screen_wait(asked):
                    return None
                self._busy = True
                decision = await self.hand.call(lambda: sure.do(self.session))
        except Failure as failure:
            self._failed(failure)
            return None
        except BenchwalkError as error:
            self.say(error.message)
            laid_out.lay_refused(self)
            return None
        finally:
            self._busy = False
        if decision.refusal is not None:
            self.refresh_page()
            self.say(decision.refusal)
            laid_out.lay_refused(self)
            return None
        self.said_again = self.unsaved = False
        self.just_now = tuple(doing.told(self.session, wish, decision))
        self.refresh_page()
        if wish.then == "not-yet":
            self.say(doing.try_this(self))
        return decision

    def _failed(self, failure: Failure) -> None:
        """What could not be kept is said at once, and work stops: nothing after it would rest on the log."""
        self.refresh_page()
        self.say(f"NOT SAVED: {failure.message}. " + self.keyed("Stop here, and put the work down with {walk.leave}"))

    def on_input_changed(self, event: Input.Changed) -> None:
        laid_out.lay_understood(self, *self.understood())
        self.say("")
        if self.shown.kind in ("ready", "recheck") or pressing.more_below(self.query_one("#page", VerticalScroll)):
            pressing.lay_press(self)  # with something typed, going on does something else

    def understood(self) -> tuple[Understood | None, str]:
        """What is typed as it is understood, or what is wrong with it."""
        asked = self.shown.asked
        if asked is None or not self.typed or asked.visit is None:
            return None, ""
        reading = asked.reading
        if reading.sort in ("words", "picture", "sound"):
            return None, ""
        try:
            view = view_of(self.session.state, asked.visit, self.session.bench)
            return understand(reading, asked.name, self.typed, view), ""
        except Misread as misread:
            return None, misread.message

    # --- choosing ---

    def on_key(self, event: Any) -> None:
        """A figure marks the choice with that number, where nothing is typed."""
        character = event.character or ""
        figure = int(character) if character.isdecimal() and not self.too_small else 0
        if 1 <= figure <= len(self.shown.choices):
            self.mark(figure - 1)
            event.stop()

    def mark(self, index: int) -> None:
        """Mark a choice; it is noted only when one goes on."""
        if self.only_page:
            self._to_the_question()
        self.marked = index
        self.say("")
        laid_out.lay_choices(self)
        pressing.lay_press(self)

    def action_up(self) -> None:
        self._step(-1)

    def action_down(self) -> None:
        self._step(1)

    def _step(self, by: int) -> None:
        count = len(self.shown.choices)
        if count:
            start = -1 if by > 0 else count
            self.mark(max(0, min(count - 1, (self.marked if self.marked is not None else start) + by)))
        else:
            self.query_one("#page", VerticalScroll).scroll_relative(y=by, animate=False, immediate=True)
            fitting.lay_below(self)

    # --- the rest, each a flow of its own ---

    def action_again(self) -> None:
        self.said_again = not self.said_again
        self.refresh_page()
        self.query_one("#page", VerticalScroll).scroll_home(animate=False)

    def action_terse(self) -> None:
        self.terse = not self.terse
        self.said_again = False
        self.refresh_page()
        self.say("Fewer words from here." if self.terse else "All words from here.")

    def flow(self, verb: str) -> None:
        """Begin what a key asks for, or say why it cannot be done here."""
        off = self.off(verb)
        if off:
            self.say(off)
        elif not self._busy:
            self._flow(verb)

    @work(group="flow", exclusive=True)
    async def _flow(self, verb: str) -> None:
        from .flows import FLOWS  # only now: the first stop is on screen sooner without what they need

        try:
            await FLOWS[verb](self)
        except BenchwalkError as error:
            self.say(error.message)

    def stopped(self, number: int) -> None:
        """The program is ended from outside: the work is put down as far as that can still be done."""
        self.hand.leave(f"stopped from outside (signal {number})")

    def ear(self) -> Ear:
        """What hears taps; begun when it is first asked for, and kept for the next rod."""
        from ..taps.listening import Ear

        if self._ear is None:
            self._ear = Ear()
        return self._ear

    def on_unmount(self) -> None:
        if self._ear is not None:
            self._ear.close()
        self.hand.close()


def _flowing(verb: str) -> Any:
    def action(self: WalkScreen) -> None:
        self.flow(verb)

    return action


for _verb in [action.verb for action in at(WALK)]:
    if not hasattr(WalkScreen, f"action_{_verb}"):
        setattr(WalkScreen, f"action_{_verb}", _flowing(_verb))
