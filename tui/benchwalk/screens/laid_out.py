"""Laying out a page of the walk on its widgets. Everything is text of the shop or of a procedure: shown as typed."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Input, Static

from ..daybook.ink import Line, Span, line
from ..daybook.left import found_so_far, last_line
from ..daybook.page import Hazard
from ..daybook.page import Page as RightPage
from ..daybook.right import page_of
from ..daybook.rope import rope_line, route
from ..daybook.shown import drawing_of
from ..procedure.showing import safe_text
from ..quantities import with_unit
from ..walk.phase import Now
from ..walk.record import Understood
from ..walk.wording import as_typed
from .fitting import fit
from .looks import inked, plain
from .pressing import WIDE, lay_press, left_width, page_width

if TYPE_CHECKING:
    from .walk import WalkScreen

HIGH = 32
"""Lines from which there is room for the drawing of a place; F8 shows it on lower screens."""
_SUM, _FOUND = "Worked out", "Found: "
_HELD = "\u00a0"  # a blank at which no line is broken
_KINDS = {"practice": "practice", "customer": "customer's job", "rehearsal": "rehearsal"}


def lay_out(screen: WalkScreen, here: Now) -> None:
    """Show the whole page anew."""
    page = screen.shown
    _identity(screen)
    sums = [text for text in screen.just_now if text.startswith(_SUM)]
    told = [text for text in screen.just_now if not text.startswith((_SUM, _FOUND))]  # found stands on the left page
    _put(screen, "just-now", _paragraphs(told))
    on_the_left = screen.app.size.width >= WIDE or len(sums) < 2
    _put(screen, "worked-out", _paragraphs([] if on_the_left else sums))
    _put(screen, "place", plain(page.place + (f"   {page.stage}" if page.stage else "")))
    why = page.why and not (screen.said_again and page.background)  # the background says it too
    _put(screen, "why", plain(f"Why you are here: {page.why}." if why else ""))
    _hazards(screen, page)
    _put(screen, "action", Content(safe_text(page.action, newlines=True)))
    _put(screen, "lead", _paragraphs(page.lead))
    _put(screen, "expect", plain(f"You should see: {page.expect}" if page.expect else ""))
    _put(screen, "given", plain(page.given))
    _put(screen, "background", _paragraphs(page.background if screen.said_again else ()))
    _drawing(screen, here)
    _ask(screen, page)
    _rope(screen)
    _left(screen)
    reads = (here.visit.number if here.visit else 0, page.kind in ("hazard", "hold"), page.action, screen.said_again)
    if screen.reads != reads:  # at the next place of the same stop it is read on where it was left
        screen.reads = reads
        screen.query_one("#page", VerticalScroll).scroll_home(animate=False)
    screen.call_after_refresh(fit, screen)


def _put(screen: WalkScreen, name: str, content: Content) -> None:
    shown = screen.query_one(f"#{name}", Static)
    shown.display = bool(content.plain)
    shown.update(content)


def _paragraphs(texts: Sequence[str]) -> Content:
    return Content("\n").join([plain(text) for text in texts if text])


def _identity(screen: WalkScreen) -> None:
    state, session = screen.session.state, screen.session
    left = f" {state.title}, revision {state.revision}"
    right = f"{state.job}, {_KINDS.get(state.kind, state.kind)}, {session.names.get(session.who, session.who)} "
    room = screen.app.size.width
    right = safe_text(right)
    left = safe_text(left)
    gap = room - len(left) - len(right)
    if gap < 2:  # the job and the person are never cut; a long title is
        left, gap = left[: max(0, room - len(right) - 3)] + "…", 2
    screen.query_one("#identity", Static).update(Content.assemble((left, "bold"), " " * gap, (right, "$quiet")))


def _hazards(screen: WalkScreen, page: RightPage) -> None:
    box = screen.query_one("#hazards", Vertical)
    box.display = bool(page.hazards)
    kept = list(box.query(Static))
    for index, hazard in enumerate(page.hazards):
        if index >= len(kept):
            kept.append(Static())
            box.mount(kept[index])
        _hazard(kept[index], hazard, len(page.hazards) < 3)
    for extra in kept[len(page.hazards) :]:
        extra.remove()


def _hazard(shown: Static, hazard: Hazard, alone: bool) -> None:
    """Signal word, hazard, consequence, how to avoid it; the alert sign is for hazards to people only (ANSI Z535, from
    memory)."""
    sign = "" if hazard.grade == "notice" else "! "
    text = " ".join(part.rstrip(".") + "." for part in (hazard.hazard, hazard.consequence) if part)
    style = f"bold ${hazard.grade}"
    avoid = Content.assemble("\n" if alone else " ", ("Avoid it: ", "bold"), plain(hazard.avoid.rstrip(".") + "."))
    shown.set_classes(f"hazard -{hazard.grade}")
    word = (f"{sign}{hazard.grade.upper()}  ", style)
    shown.update(Content.assemble(word, plain(text), avoid if hazard.avoid else Content("")))


def _drawing(screen: WalkScreen, here: Now) -> None:
    state, bench, asked = screen.session.state, screen.session.bench, screen.shown.asked
    place = screen.said_again or screen.app.size.height >= HIGH
    lines = drawing_of(state, bench, here, asked, page_width(screen), place=place)
    _put(screen, "drawing", inked(lines) if lines else Content(""))


# --- what is asked -----------------------------------------------------------------------------------------------


def _ask(screen: WalkScreen, page: RightPage) -> None:
    _put(screen, "question", plain(page.question))
    lay_choices(screen)
    hints = [Span(hint, "quiet") for hint in page.hints]
    spaced = [part for hint in hints for part in (hint, Span("   "))][:-1]
    _put(screen, "hints", inked([tuple(spaced)]) if spaced else Content(""))
    row = screen.query_one("#entry-line")
    row.display = page.entry is not None
    entry = screen.query_one("#entry", Input)
    entry.placeholder = page.entry or ""
    if page.entry is not None:
        entry.focus()
    else:
        screen.set_focus(None)
    lay_understood(screen, *screen.understood())
    screen.say("")
    lay_press(screen)


def lay_choices(screen: WalkScreen) -> None:
    """The choices by number, the marked one and the wanted one named."""
    lines: list[Line] = []
    for index, choice in enumerate(screen.shown.choices):
        marked = index == screen.marked
        wanted = "   wanted" if choice.wanted and not screen.terse else ""
        rows = textwrap.wrap(choice.said + wanted.replace(" ", _HELD), page_width(screen) - 6) or [""]
        for number, row in enumerate(rows):
            text, tag = (row.removesuffix(wanted.replace(" ", _HELD)), wanted) if row.endswith("wanted") else (row, "")
            lead = f"{'>' if marked else ' '} {choice.number}  " if number == 0 else "     "
            lines.append(line(Span(lead + text, "brass" if marked else "plain"), Span(tag, "quiet")))
    _put(screen, "choices", inked(lines))


def lay_understood(screen: WalkScreen, meant: Understood | None, wrong: str) -> None:
    """What is typed as it is understood, before it counts."""
    if meant is not None:
        words = [Span("Understood: "), Span(as_typed(meant.shown, meant.unit), "loud")]
        if meant.odd:
            words.append(Span("   outside what is possible here", "outside"))
        elif meant.verdict:
            by = f" by {with_unit(meant.by, meant.unit)}" if meant.by and meant.by != "0" else ""
            words.append(Span(f"   {meant.verdict}{by}", "within" if meant.verdict == "within" else "outside"))
        _put(screen, "understood", inked([tuple(words)]))
    elif wrong:
        _put(screen, "understood", inked([(Span(f"Not clear yet: {wrong}", "quiet"),)]))
    else:
        shown = screen.query_one("#understood", Static)
        shown.update("")
        shown.display = screen.shown.asked is not None and screen.shown.entry is not None


def lay_time(screen: WalkScreen) -> None:
    """How long there is still to wait; the bell rings once when the time is up."""
    before = screen.shown.question
    session = screen.session
    screen.shown = page_of(session.state, session.now(), session.bench, session.who, screen.terse)
    _put(screen, "question", plain(screen.shown.question))
    if screen.shown.question != before and screen.shown.question.startswith("The time is up"):
        screen.app.bell()


# --- the foot and the left page ----------------------------------------------------------------------------------


def lay_refused(screen: WalkScreen) -> None:
    """What was typed was refused: say why once, and let the next key replace it."""
    if screen.shown.entry is not None and screen.typed:
        screen.query_one("#understood", Static).update("")
        screen.entry.action_select_all()


def _rope(screen: WalkScreen) -> None:
    state, bench = screen.session.state, screen.session.bench
    if not state.job:
        return
    drawn = rope_line(route(state, bench), screen.app.size.width - 2)
    screen.query_one("#rope", Static).update(inked([(Span(" "), *drawn)]))


def _left(screen: WalkScreen) -> None:
    session = screen.session
    if screen.app.size.width < WIDE:
        _put(screen, "last-left", inked([last_line(session.state, session.bench.books, session.names)]))
        return
    _put(screen, "last-left", Content(""))
    left = screen.query_one("#left", VerticalScroll)
    left.styles.width = left_width(screen.app.size.width)
    width = left_width(screen.app.size.width) - 6  # its edge, the room beside it, and a place to scroll
    lines = found_so_far(session.state, session.bench.books, session.names, width=width)
    screen.query_one("#left-page", Static).update(inked(lines))
    screen.call_after_refresh(left.scroll_end, animate=False)
