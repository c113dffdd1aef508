"""Listening at one rod: every tap as a line with its note or why it has none, and one key that takes them.

The ear works in a process of its own; what it hears arrives as messages. Nothing is noted here: the note goes to the
walk as it would have been typed, with its recording.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical, VerticalScroll
from textual.message import Message
from textual.widgets import Footer, Static

from ..daybook.ink import Line, Span, line
from ..heard import answers
from ..procedure.showing import many, sentence
from ..taps import Tap, together
from ..taps.facts import (
    SILENT_DB,
    Fact,
    ListeningEnded,
    ListeningFailed,
    MicrophoneOpened,
    Recording,
    TapHeard,
    TapRefused,
)
from ..taps.words import beside_words, note_words
from ..walk.phase import Now
from .actions import LISTEN
from .base import Page
from .keymap import bindings, with_keys
from .looks import inked, plain
from .rows import head_line

if TYPE_CHECKING:
    from ..taps.listening import Ear

LOUD_DB, FAINT_DB = -1.0, -60.0


class Came(Message):
    """The ear told something."""

    def __init__(self, fact: Fact) -> None:
        super().__init__()
        self.fact = fact


class Level(Message):
    """How loud it was just now, in dB below full scale."""

    def __init__(self, peak_db: float) -> None:
        super().__init__()
        self.peak_db = peak_db


class ListenScreen(Page):
    """Listens for taps at one place. `question` is the walk's; `taken` are the taps that were taken."""

    CSS_PATH: ClassVar = "drum.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings(LISTEN)

    def __init__(self, ear: Ear, question: str, asked: Now, band: tuple[float, float] | None = None) -> None:
        super().__init__()
        self.ear, self.question, self.asked, self.band = ear, question, asked, band
        self.heard: list[tuple[Tap, Recording]] = []
        self.told: list[Line] = []
        self.level = ""
        self.taken: list[Tap] = []
        self.recordings: list[Recording] = []
        self.leaving = False

    def page(self) -> ComposeResult:
        yield Static(id="head")
        with VerticalScroll(id="said", can_focus=False):
            yield Static(id="said-lines")
        with Vertical(id="ask"):
            yield Static(id="question")
            yield Static(id="stands")
            yield Static(id="press")
        yield Footer(show_command_palette=False, compact=True)

    def on_mount(self) -> None:
        self.told = [line(Span("The microphone is being opened.", "quiet"))]
        self.lay_out()
        self.listen()

    def resized(self) -> None:
        self.lay_out()

    def lay_out(self) -> None:
        """Show all of it anew."""
        self.query_one("#head", Static).update(
            inked([head_line("Listening", many(len(self.heard), "tap"), self.app.size.width - 2)])
        )
        self.query_one("#said-lines", Static).update(inked(self.told))
        self.query_one("#said", VerticalScroll).scroll_end(animate=False, immediate=True)
        self.query_one("#question", Static).update(plain(self.question))
        self.query_one("#stands", Static).update(plain(self.level))
        text = "{listen.close} goes back to typing."
        if told := self.tells():
            text = f"{{listen.next}} takes {told}; tap again, or {{listen.drop}} drops the last. " + text
        self.query_one("#press", Static).update(plain(with_keys(text, self.app.keys)))  # type: ignore[attr-defined]
        self.refresh_bindings()

    def tells(self) -> str:
        """What all taps together tell of what is asked; empty where they do not tell it."""
        taps = [tap for tap, _ in self.heard]
        both = together(taps)
        if both is not None and self.asked.reading.sort == "note":
            return note_words(both)
        found = answers(self.asked, taps)
        unit = self.asked.reading.unit or ""
        return ", ".join(f"{place or ''} {text} {unit}".strip() for place, text in found.items())

    # --- the ear ---

    @work(thread=True, exclusive=True, group="ear")
    def listen(self) -> None:
        """Listen, in a thread; nothing of the screen is touched here."""

        def level(peak_db: float) -> None:
            self.post_message(Level(peak_db))

        def fact(fact: Fact) -> None:
            self.post_message(Came(fact))

        if self.leaving:
            return
        reading = self.asked.reading
        full = reading.hears is not None and reading.per is not None
        self.ear.listen(on_level=level, on_fact=fact, band=self.band, place=reading.tapped_at, full=full)

    def on_level(self, event: Level) -> None:
        event.stop()
        word = level_word(event.peak_db)
        if word != self.level:
            self.level = word
            self.query_one("#stands", Static).update(plain(word))

    def on_came(self, event: Came) -> None:
        event.stop()
        fact = event.fact
        if isinstance(fact, MicrophoneOpened):
            self.told = [line(Span(f"Listening with {fact.name}. Tap when it is quiet.", "quiet"))]
        elif isinstance(fact, TapHeard):
            self.heard.append((fact.tap, fact.recording))
            self.told.append(line(f"{len(self.heard)}  {'; '.join([note_words(fact.tap), *beside_words(fact.tap)])}"))
        elif isinstance(fact, TapRefused):
            self.told.append(line(Span(f"No note. {sentence(fact.why)}", "outside")))
        elif isinstance(fact, ListeningFailed):
            self.told.append(line(Span(sentence(fact.sentence), "outside")))
            self.level = ""
        elif isinstance(fact, ListeningEnded) and not self.leaving:
            self.listen()
        self.lay_out()

    # --- what keys do ---

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        return bool(self.heard) if action == "drop" else bool(self.tells()) if action == "next" else True

    def action_next(self) -> None:
        if not self.app.gate.press():  # type: ignore[attr-defined]
            return
        self.taken = [tap for tap, _ in self.heard]
        self.recordings = [recording for _, recording in self.heard]
        self.action_close()

    def action_drop(self) -> None:
        if self.heard:
            self.heard.pop()
            self.told.append(line(Span("The last one was dropped.", "quiet")))
            self.lay_out()

    def action_close(self) -> None:
        self.leaving = True
        self.ear.stop()
        self.leave()

    def on_unmount(self) -> None:
        self.ear.stop()  # once more: listening may have begun just before this page was left


def level_word(peak_db: float) -> str:
    """How loud it is, in words that say what to do."""
    if peak_db <= SILENT_DB:
        return "The microphone sends nothing at all: is it switched on?"
    if peak_db >= LOUD_DB:
        return "Too loud: tap softer, or move the microphone away."
    return "Very faint: bring the microphone nearer." if peak_db < FAINT_DB else "It hears the room."
