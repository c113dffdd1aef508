"""Where an act is worked through: a state of its own, the events it comes to, and what is handed in from outside."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import field
from datetime import datetime, timedelta
from typing import Any

from ..errors import Refused
from ..plaindata import Frozen
from ..procedure.linked import Linked
from .events import VERSION, Event
from .fold import copy, put
from .state import State, Visit
from .view import View

Compute = Callable[[str, dict[str, Any]], Any]


class Bench(Frozen):
    """What the walk needs and does not have of itself.

    `books` gives a procedure by the hash of its text; `compute` works a sum out; `roles` and `names` tell who people
    are; `now` is the time with offset. `overrules`, `releases`: the roles that may take another branch and release a
    job. `assumed` gives, in a rehearsal, the outputs (or the reason for none) that a sum is taken to have at a path and
    a visit. `one_person`: the shop's policy that the same hand may look a second time after `second_look`.
    """

    books: Callable[[str], Linked]
    compute: Compute
    now: datetime
    roles: Mapping[str, frozenset[str]] = field(default_factory=dict)
    names: Mapping[str, str] = field(default_factory=dict)
    overrules: str = "senior"
    releases: str = "senior"
    one_person: bool = False
    assumed: Callable[[str, str, int], dict[str, Any] | str | None] | None = None
    second_look: timedelta = timedelta(minutes=10)


class Question(Refused):
    """An act that is not refused but must be said again on purpose, such as a value outside the possible."""


class Desk:
    """One act being worked through by one person."""

    def __init__(self, state: State, who: str, bench: Bench) -> None:
        self.state = copy(state)
        self.who = who
        self.bench = bench
        self.events: list[Event] = []
        self.at = bench.now.isoformat(timespec="seconds")

    def emit(self, what: str, **fields: Any) -> int:
        """Let an event happen; its number."""
        event = {"v": VERSION, "n": self.state.n + 1, "at": self.at, "who": self.who, "what": what, **fields}
        put(self.state, event)
        self.events.append(event)
        return self.state.n

    @property
    def visit(self) -> Visit:
        """The visit the walk is at."""
        here = self.state.here()
        if here is None:
            raise Refused("the walk has not begun")
        return here

    def book(self, text: str) -> Linked:
        """The procedure whose text has that hash."""
        return self.bench.books(text)

    def view(self, upto: int | None = None, visit: Visit | None = None) -> View:
        """What the procedure of a visit (the one here) sees."""
        return view_of(self.state, visit or self.visit, self.bench, upto)


def view_of(state: State, visit: Visit, bench: Bench, upto: int | None = None) -> View:
    """What the procedure of that visit sees, now or as of an event."""
    frame = visit.frames[-1]
    return View(state, bench.books(visit.text), frame.run, visit=visit.number, upto=upto)
