"""What the keys of the writing screen begin: saving, mending, walking from here, names, and leaving."""

from __future__ import annotations

import asyncio
import os
import shlex
import shutil
import subprocess
import tempfile
from collections.abc import Awaitable, Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..authoring import recovery
from ..authoring.curing import Cure, cures, pasted
from ..authoring.edits import Edit, lines_apart
from ..authoring.judging import NOTHING_HELD, Held
from ..authoring.naming import renamed
from ..authoring.offering import offered
from ..authoring.preview import Led, led_to
from ..errors import BenchwalkError, Refused
from ..job.approvals import approvals
from ..job.people import Person, add_person, load_people
from ..job.shop import Shop
from ..library import Library
from ..procedure.linked import Linked
from ..proof.rules.vague import TO_BE_WORDED
from ..session import Session
from ..sums import compute
from ..walk import acts
from . import write_places
from .asking import AskLine, Pick
from .hand import Hand
from .keymap import with_keys
from .walk import WalkScreen

if TYPE_CHECKING:
    from .write import WriteScreen

Flow = Callable[["WriteScreen"], Awaitable[None]]
_WRITER, _SENIOR = Person("writer", "The writer", ("apprentice",)), Person("senior", "The senior", ("senior",))


async def save(screen: WriteScreen) -> None:
    """Write the text to its file; what somebody else wrote meanwhile is asked about first."""
    if screen.draft.changed_outside() and screen.draft.on_disk and not await _settled(screen):
        return
    judged = screen.judged
    if judged is not None and judged.errors and screen.draft.on_disk:
        choices = ["Write on", "Save it as it stands"]
        told = "While there are errors nobody can walk what is saved; your text is kept for you meanwhile."
        if await screen.app.push_screen_wait(Pick("There are errors", told, choices)) != 1:
            return
    text = screen.editor.text
    await asyncio.to_thread(screen.draft.save, text)
    await asyncio.to_thread(recovery.forget, screen.draft.path)
    screen.refresh_head()
    screen.say(f"saved: {screen.draft.path}")


async def _settled(screen: WriteScreen) -> bool:
    """Ask which of two texts stays, the one here or the file's, which somebody else wrote; whether to save this one."""
    text = screen.editor.text
    there = await asyncio.to_thread(screen.draft.there)
    choices = ["Look again first", "Put this text in its place", "Take the file's text"]
    if there is None:
        told = "The file is gone, or cannot be read any more."
        index = await screen.app.push_screen_wait(Pick("Changed elsewhere", told, choices[:2]))
        return bool(index == 1)
    if there == text:
        await asyncio.to_thread(screen.draft.read_again)
        screen.refresh_head()
        screen.say("somebody else has saved the same text already")
        return False
    apart = await asyncio.to_thread(lines_apart, text, there)
    count = f"{apart} line{'' if apart == 1 else 's'}" if apart else "no line, but in how its lines end"
    told = f"The file was written by somebody else since it was read here. The two texts differ in {count}."
    index = await screen.app.push_screen_wait(Pick("Changed elsewhere", told, choices))
    if index == 2:
        await asyncio.to_thread(recovery.keep, screen.draft.path, text)
        theirs, place = await asyncio.to_thread(screen.draft.read_again), screen.editor.cursor_location
        screen.editor.change([Edit((0, 0), screen.editor.document.end, theirs)])
        screen.editor.move_cursor(place)
        screen.refresh_head()
        screen.say("this is the file's text; Ctrl+Z brings back the one that was here")
    return bool(index == 1)


def shop_knows(root: Path | None) -> Held:
    """The approvals and the roles of the shop there; nothing where there is none, or it cannot be read."""
    if root is None or not root.is_dir():
        return NOTHING_HELD
    try:
        shop = Shop.open(root)
        people = load_people(shop).by_id.values()
        return Held(approvals(shop), frozenset(role for person in people for role in person.roles))
    except BenchwalkError:
        return NOTHING_HELD


async def left_unsaved(screen: WriteScreen) -> None:
    """Offer a text that was not saved when a program ended."""
    text = await asyncio.to_thread(recovery.kept, screen.draft.path)
    if text is None or text == screen.editor.text:
        return
    told = "A text of this file was not saved when the program ended last."
    index = await screen.app.push_screen_wait(Pick("Not saved last time", told, ["Take it up", "Throw it away"]))
    if index == 0:
        screen.editor.text = text
        screen.say("this is the text that was not saved")
    elif index == 1:
        await asyncio.to_thread(recovery.forget, screen.draft.path)


async def mend(screen: WriteScreen) -> None:
    """Offer what can be done about the finding at the cursor, or the next one that something can be done about."""
    judged, lines = screen.judged, screen.editor.lines
    if judged is None:
        raise Refused("it is still being checked")
    linked = judged.linked
    here = screen.editor.cursor_location[0] + 1
    known = [(finding, cures(finding, lines, linked)) for finding in screen.nearest()]
    at_it = [(f, found) for f, found in known if f.pos.line == here and found]
    offers: list[Cure] = [cure for _f, found in (at_it or [(f, c) for f, c in known if c][:1]) for cure in found]
    if judged.walkable and any(f.rule in ("unwalked", "example") for f in judged.findings):
        offers.append(Cure("Add examples for the ways that none walks", []))
    if not offers:
        raise Refused("nothing here has a cure that could be put in for you")
    index = await screen.app.push_screen_wait(Pick("Mend", "What shall be done?", [cure.said for cure in offers]))
    if index is None:
        return
    chosen = offers[index]
    if chosen.leads:
        leads = await write_places.asked_step(screen, "Where does it lead?", chosen.leads)
        if leads is None:
            return
        chosen = chosen.to(leads)
    edits = chosen.edits or await _examples(screen, linked)
    screen.editor.change(edits)
    row, column = edits[0].start
    word = edits[0].text.find(TO_BE_WORDED)
    if word >= 0:  # what is to be worded stands marked, so that the next key replaces it
        row += edits[0].text[:word].count("\n")
        column = len(edits[0].text[:word].rpartition("\n")[2])
        screen.editor.move_cursor((row, column), center=True)
        screen.editor.move_cursor((row, column + len(TO_BE_WORDED)), select=True)
    else:
        screen.editor.move_cursor((row, column), center=True)
    screen.say(f"done: {chosen.said}; Ctrl+Z undoes it")


async def _examples(screen: WriteScreen, linked: Linked | None) -> list[Any]:
    """The edit that adds examples for what no example walks."""
    from ..proof.proposals import propose
    from ..proof.rehearse import rehearse

    assert linked is not None
    book = linked
    screen.say("examples are looked for; this takes a moment")
    made = await asyncio.to_thread(lambda: propose(book, compute, rehearse(book, compute)))
    if not made.proposals:
        raise Refused("no example was found for what is left")
    text = "".join(f"{proposal.text.rstrip()}\n" for proposal in made.proposals)
    return [pasted(screen.editor.lines, text)]


async def walk(screen: WriteScreen) -> None:
    """Walk the text as it stands from the step at the cursor, in a shop that is thrown away afterwards."""
    judged, step = screen.judged, screen.step
    if judged is None or judged.linked is None or not judged.walkable:
        raise Refused("while there are errors it cannot be walked; {write.next_fault} goes to the next")
    linked = judged.linked
    start = step if step in linked.steps else linked.procedure.steps[0].step
    assert start is not None
    found = await asyncio.to_thread(led_to, linked, start, compute)
    if found is None:
        raise Refused(f"no example comes to '{start}', so a walk cannot begin there; {{write.mend}} can add one")
    folder = Path(tempfile.mkdtemp(prefix="benchwalk-try-"))
    try:
        session = await asyncio.to_thread(_begun, folder, linked, found[0])
        told = (f"You try '{start}' here; nothing of it is kept.",)
        await screen.app.push_screen_wait(WalkScreen(Hand(session), told=told))
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    screen.editor.focus()


def _begun(folder: Path, linked: Linked, led: Led) -> Session:
    """A practice job in a scratch shop, walked as far as the example led."""

    def clock() -> datetime:
        return datetime.now(UTC).astimezone()

    shop = Shop.create(folder / "shop", "Trying out")
    for person in (_WRITER, _SENIOR):
        add_person(shop, person, clock())
    facts = {name: led.answers.fact(name) for name in linked.needed_facts()}
    given = {name: str(led.answers.given[name]) for name in linked.procedure.takes}
    session = Session.begin(shop, linked, _WRITER.id, clock, compute, kind="practice", drum=facts, given=given or None)
    for act in led.done:
        decision = session.do(_for_practice(act))
        if decision.refusal:
            break
    return session


def _for_practice(act: acts.Act) -> acts.Act:
    return acts.Waited(early="practice") if isinstance(act, acts.Waited) else act


async def rename(screen: WriteScreen) -> None:
    """Give the step at the cursor another name, everywhere."""
    judged, step = screen.judged, screen.step
    if judged is None or step is None:
        raise Refused("the cursor stands in no step")
    document = judged.document

    def check(name: str) -> None:
        renamed(document, step, name)

    sentence = f"'{step}' is called so in its ways, bounds, events and examples too; all of them change."
    name = await screen.app.push_screen_wait(AskLine("Another name", sentence, value=step, check=check))
    if name is not None and name != step:
        edits = renamed(document, step, name)
        screen.editor.change(edits)
        count = len(edits)
        screen.say(f"'{step}' is '{name}' now, in {count} place{'' if count == 1 else 's'}")


async def offer(screen: WriteScreen) -> None:
    """Offer the names that fit where the cursor stands."""
    row, column = screen.editor.cursor_location
    linked = screen.last_linked.linked if screen.last_linked is not None else None
    found = offered(screen.editor.lines, row, column, linked, screen.library.ids())
    if not found.words:
        raise Refused("no name is known that fits here")
    index: int | None = 0
    if len(found.words) > 1:
        index = await screen.app.push_screen_wait(Pick("Names", "Which fits here?", found.words))
    if index is not None:
        screen.editor.replace(found.words[index], (row, found.start), (row, column))


async def edit_elsewhere(screen: WriteScreen) -> None:
    """Hand the file to the editor of $VISUAL or $EDITOR, and show what came of it."""
    wanted = os.environ.get("VISUAL") or os.environ.get("EDITOR")
    if not wanted:
        raise Refused("no editor is named in $VISUAL or $EDITOR")
    if screen.unsaved:
        await save(screen)
    with screen.app.suspend():
        try:
            subprocess.run([*shlex.split(wanted), str(screen.draft.path)], check=False)
        except (OSError, ValueError) as error:
            raise Refused(f"'{wanted}' cannot be run: {error}") from None
    screen.look_outside()
    screen.refresh()


async def leave(screen: WriteScreen) -> None:
    """Leave; what is not saved is asked about."""
    if screen.unsaved:
        choices = ["Save, and leave", "Leave without saving", "Stay here"]
        index = await screen.app.push_screen_wait(Pick("Not saved yet", "What you wrote is not saved.", choices))
        if index not in (0, 1):
            return
        if index == 0:
            await save(screen)
            if screen.unsaved:
                return
    await asyncio.to_thread(recovery.forget, screen.draft.path)
    screen.leave()


async def learned(screen: WriteScreen) -> None:
    """What the shop's logs say of this procedure."""
    from .learned import LearnedScreen

    if screen.shop_root is None:
        raise Refused("there is no shop here whose logs could be read")
    judged = screen.last_linked
    if judged is None or judged.linked is None:
        raise Refused("it cannot be read as a procedure yet")
    shop = Shop.open(screen.shop_root)
    await screen.app.push_screen_wait(LearnedScreen(shop, judged.linked.id, judged.linked))


async def approve(screen: WriteScreen) -> None:
    """Have what is saved approved by a second person."""
    from .approving import have_approved

    if screen.shop_root is None or not screen.shop_root.is_dir():
        raise Refused("there is no shop here that could approve it")
    judged = screen.last_linked
    if screen.unsaved or judged is None or judged.linked is None:
        raise Refused("first save it, with nothing wrong in it; what stands in the file is approved")
    shop = Shop.open(screen.shop_root)
    if Library.of(shop.root).path_of(judged.linked.id).resolve() != screen.draft.path.resolve():
        raise Refused(f"the shop uses another file of '{judged.linked.id}'; save this one among its procedures first")
    told = await have_approved(screen.app, shop, judged.linked.id, screen.say)
    if told is not None:
        screen.say(told)


async def cut(screen: WriteScreen) -> None:
    """Take out what is marked, or the whole line of the cursor."""
    screen.action_cut()


async def more(screen: WriteScreen) -> None:
    """What is needed more rarely."""
    keys: dict[str, str] = getattr(screen.app, "keys", {})
    offers: list[tuple[str, str, Flow]] = [
        (
            "Open the file in your own editor",
            "The one that $VISUAL or $EDITOR names; what it saves is shown here.",
            edit_elsewhere,
        ),
        (
            "What the shop's logs say of it",
            "Problems that were reported, ways taken and never taken, readings outside, time at each step.",
            learned,
        ),
        (
            "Have it approved",
            "A second person looks through it and signs; then customers' jobs can be worked to it.",
            approve,
        ),
        ("Find words ({write.find})", "The next place where they stand, from the cursor on.", write_places.find),
        ("Go to a step ({write.steps})", "Found by a part of its name.", write_places.steps),
        (
            "Take out this line ({write.cut})",
            "Or what is marked with Shift and the arrow keys. Ctrl+V puts it in elsewhere, Ctrl+Z takes it back.",
            cut,
        ),
    ]
    texts, details = [with_keys(text, keys) for text, _told, _do in offers], [told for _text, told, _do in offers]
    index = await screen.app.push_screen_wait(Pick("More", "What can be done here.", texts, details=details))
    if index is not None:
        await offers[index][2](screen)


FLOWS: dict[str, Flow] = {
    "save": save,
    "mend": mend,
    "walk": walk,
    "rename": rename,
    "offer": offer,
    "find": write_places.find,
    "steps": write_places.steps,
    "more": more,
    "leave": leave,
}
"""By the verb of the action."""
