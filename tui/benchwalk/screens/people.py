"""Who works in the shop: names, roles and who has a PIN; to read. The command line changes it."""

from __future__ import annotations

from typing import ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.message import Message
from textual.widgets import Footer, Static

from ..daybook.ink import Line, Span, line
from ..errors import BenchwalkError
from ..job.people import People, load_people
from ..job.shop import Shop
from .actions import PEOPLE
from .keymap import bindings
from .lines import SIGN
from .listed import ListPage, Rows
from .looks import inked
from .rows import fitted, head_line

_CHANGED: tuple[Line, ...] = (
    line(Span("People are added and changed on the command line; a senior's PIN allows it:", "quiet")),
    line(Span('  benchwalk people add "NAME" --role technician', "plain")),
    line(Span("  benchwalk people change NAME --role senior", "plain")),
    line(Span("  benchwalk people pin NAME", "plain")),
)


class Known(Message):
    """Who works here, or why that cannot be read."""

    def __init__(self, people: People | None, why: str = "") -> None:
        super().__init__()
        self.people, self.why = people, why


class PeopleScreen(ListPage):
    """The people of a shop, to read."""

    CSS_PATH: ClassVar = "bench.tcss"
    BINDINGS: ClassVar[list[BindingType]] = bindings(PEOPLE)

    def __init__(self, shop: Shop) -> None:
        super().__init__()
        self.shop = shop
        self.people: People | None = None

    def page(self) -> ComposeResult:
        yield Static(id="head")
        yield Rows(id="rows")
        yield Static(inked(_CHANGED), id="told")
        yield Static(id="message")
        yield Footer(show_command_palette=False, compact=True)

    def on_mount(self) -> None:
        self.say("")
        self.fill()
        self.read()

    def resized(self) -> None:
        self.fill()

    def fill(self) -> None:
        """Show who is known."""
        width = self.app.size.width - 3 - SIGN
        people = list(self.people.by_id.values()) if self.people is not None else []
        count = f"{len(people)} work here" if people else ("nobody yet" if self.people is not None else "")
        self.query_one("#head", Static).update(inked([head_line("The people", count, self.app.size.width - 2)]))
        lines = [
            [
                line(
                    Span(fitted(person.name, 28), "plain"),
                    Span(fitted(person.id, 22), "quiet"),
                    Span(fitted("has a PIN" if person.pin else "no PIN yet", 13), "plain" if person.pin else "close"),
                    Span(fitted(", ".join(person.roles), width - 63, end=True), "quiet"),
                )
            ]
            for person in people
        ]
        self.query_one(Rows).show(lines, self.marked or 0)

    @work(thread=True, exclusive=True, group="look")
    def read(self) -> None:
        """Read the people's file, in a thread."""
        try:
            people = load_people(self.shop)
        except BenchwalkError as error:
            self.post_message(Known(None, error.message))
            return
        self.post_message(Known(people, "; ".join(people.notices)))

    def on_known(self, event: Known) -> None:
        event.stop()
        self.people = event.people
        self.fill()
        self.say(event.why)

    def on_option_list_option_highlighted(self, event: Rows.OptionHighlighted) -> None:
        event.stop()

    def action_close(self) -> None:
        self.dismiss(None)
