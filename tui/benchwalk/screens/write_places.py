"""Going about in the text that is written: to the next place of some words, and to a step."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING

from ..authoring.finding import Place, next_place
from ..authoring.spots import step_at, step_lines
from ..errors import Refused
from ..procedure.showing import shortened
from ..procedure.tree import Document, Map, Seq, parse
from .among import Among, Entry
from .asking import AskLine

if TYPE_CHECKING:
    from .write import WriteScreen


async def find(screen: WriteScreen) -> None:
    """Ask for words, and mark the next place where they stand; the words of the last time stand there to go on with."""
    editor = screen.editor
    marked = editor.selected_text
    again = marked.lower() == editor.sought.lower()
    sentence = "Small letters find capitals too. Enter goes to the next place from the cursor on."
    value = editor.sought if again or not marked.strip() or "\n" in marked else marked.strip()
    words = await screen.app.push_screen_wait(
        AskLine("Find words", sentence, value=value, check=lambda typed: _next(screen, typed))
    )
    if words is None:
        return
    editor.sought = words
    place = _next(screen, words)
    screen.stand_at(place.start, place.end)
    lead = "on from the top: " if place.round else ""
    which = f"place {place.number} of {place.among}" if place.among > 1 else "the only place"
    screen.say(f"{lead}line {place.start[0] + 1}, {which}")


def _next(screen: WriteScreen, words: str) -> Place:
    """The next place of the words from the cursor on; Refused where they stand nowhere."""
    place = next_place(screen.editor.lines, words, max(screen.editor.selection))
    if place is None:
        raise Refused(f"'{shortened(words)}' stands nowhere in this text")
    return place


async def steps(screen: WriteScreen) -> None:
    """Go to a step, chosen among all of them in the order of the file."""
    name = await asked_step(screen, "Go to a step")
    if name is not None:
        row = next(first for step, first, _after in step_lines(await _tree(screen)) if step == name)
        screen.stand_at((row, 0))
        screen.say(f"'{name}', line {row + 1}")


async def asked_step(screen: WriteScreen, title: str, marked: str | None = None) -> str | None:
    """Ask for one of the steps, in the order of the file; `marked` or else the one of the cursor is marked first.

    Refused where there is none.
    """
    document = await _tree(screen)
    known = step_lines(document)
    if not known:
        raise Refused("no step stands here yet that could be gone to")
    here = step_at(document, screen.editor.cursor_location[0])
    names = [name for name, _first, _after in known]
    first = marked or here
    told = _done(document)
    entries = [
        Entry(name, f"line {row + 1}{', you are here' if name == here else ''}", told.get(name, ""))
        for name, row, _after in known
    ]
    sentence = "Type a part of its name, or of what is done there."
    start, wide = names.index(first) if first in names else 0, max(map(len, names)) + 2
    index = await screen.app.push_screen_wait(Among(title, sentence, entries, start=start, wide=wide))
    return names[index] if index is not None else None


async def _tree(screen: WriteScreen) -> Document:
    """The text as it stands now, also where it cannot be read as a procedure."""
    return await asyncio.to_thread(parse, screen.editor.text.encode(), screen.draft.path.name)


def _done(document: Document) -> dict[str, str]:
    """What is done at each step, or which procedure it walks, as far as it can be read."""
    root = document.partial
    entries = root.get("steps") if isinstance(root, Map) else None
    told = {}
    for each in entries if isinstance(entries, Seq) else ():
        if isinstance(each, Map):
            run = each.get("run")
            walks = f"Walks {run.get('procedure')}." if isinstance(run, Map) else ""
            told[str(each.get("step"))] = str(each.get("do") or walks)
    return told
