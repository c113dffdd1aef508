"""Hearing a note instead of typing it: with the microphone, or on the practice drum of a practice job.

As long as the walk asks for notes, one rod after the other, the page stays: its key notes one and the next is asked.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import TYPE_CHECKING

from ..errors import Refused
from ..heard import (
    answers,
    asked_rod,
    band_of,
    can_hear,
    damped_as_noted,
    in_recording,
    keep_lesson,
    lesson_for,
    practises,
)
from ..walk import acts
from ..walk.desk import view_of
from ..walk.phase import Now
from .asking import Pick
from .doing import Wish

if TYPE_CHECKING:
    from .walk import WalkScreen


async def listen(screen: WalkScreen) -> None:
    """Hear the note that is asked for; a practice job has its practice drum, whatever is asked."""
    practice, asks = practises(screen.session), can_hear(screen.shown.asked)
    if practice and asks:
        ways = ["On the practice drum", "With the microphone, on a real drum"]
        which = await screen.app.push_screen_wait(Pick("Hear it", "Where do you tap?", ways))
        if which is None:
            return
        await (_with_the_drum(screen) if which == 0 else _with_the_microphone(screen))
    elif practice:
        await _with_the_drum(screen)
    elif asks:
        await _with_the_microphone(screen)
    else:
        raise Refused("no note is asked for here")


async def _with_the_microphone(screen: WalkScreen) -> None:
    from ..taps.take import take_file
    from .listening import ListenScreen

    while (asked := screen.shown.asked) is not None and can_hear(asked):
        page = ListenScreen(screen.ear(), screen.shown.question, asked, band_of(screen.session, asked))
        await screen.app.push_screen_wait(page)
        if not page.taken:
            return
        with take_file(page.recordings) as path:
            noted = await _note(screen, asked, answers(asked, page.taken), str(path))
        if not noted or not _goes_on(screen, asked):
            return


async def out_of_the_newest(screen: WalkScreen) -> None:
    """Note what the newest of the shop's recordings tells of what is asked for."""
    asked = screen.shown.asked
    assert asked is not None
    session = screen.session
    path = await screen.hand.call(lambda: session.newest("sound"))
    taps = await screen.hand.call(lambda: in_recording(session, asked, path))
    found = answers(asked, taps)
    if asked.place not in found:
        raise Refused(f"the newest recording, {path.name}, does not tell what is asked for here; type it")
    await _note(screen, asked, found, str(path))


async def _note(screen: WalkScreen, asked: Now, found: Mapping[str | None, str], file: str) -> bool:
    """Note what was heard, place after place as each is asked for; whether all of it was taken."""
    while (now := screen.shown.asked) is not None and _same(now, asked) and now.place in found:
        wish = Wish(acts.Record(found[now.place]), file=file, sort="sound")
        if await screen.do(wish) is None:
            return False
    return True


async def _with_the_drum(screen: WalkScreen) -> None:
    from ..practice.speaker import Speaker
    from .drum import DrumScreen

    session = screen.session
    lesson = await screen.hand.call(lambda: lesson_for(session, screen.shown.asked))
    said: list[str] = []
    speaker = Speaker()
    while True:
        asked = screen.shown.asked
        page = DrumScreen(
            lesson,
            session.bench.compute,
            asked=asked_rod(asked),
            question=_question(screen),
            wanted=asked is not None and asked.reading.sort == "note",
            advised=_advised(screen),
            damped=damped_as_noted(session),
            kept=lambda lesson: keep_lesson(session, lesson),
            said=said,
            speaker=speaker,
        )
        await screen.app.push_screen_wait(page)
        said = page.said
        if not page.taken or asked is None:
            return
        if await screen.do(Wish(acts.Record(page.taken))) is None or not _goes_on(screen, asked):
            return


def _question(screen: WalkScreen) -> str:
    """What the walk wants just now: what is asked, behind what a sum advises to do."""
    page = screen.shown
    return f"{page.action} {page.question}".strip() if page.advised or not page.question else page.question


def _advised(screen: WalkScreen) -> dict[int, float]:
    """What the walk advises to turn each rod by, where it asks for turns that a sum advises."""
    here = screen.session.now()
    if here.step is None or here.visit is None:
        return {}
    view = view_of(screen.session.state, here.visit, screen.session.bench)
    readings = (view.linked.procedure.readings.get(name) for name in here.step.record)
    where = next((reading.where for reading in readings if reading is not None and reading.where), None)
    found = view.value(where) if where is not None else None
    moves = found if isinstance(found, dict) else {}
    return {int(rod): float(turn) for rod, turn in moves.items() if isinstance(turn, Fraction) and turn}


def _goes_on(screen: WalkScreen, before: Now) -> bool:
    """Whether the same reading is asked for at another place now."""
    now = screen.shown.asked
    return now is not None and _same(now, before) and now.place != before.place


def _same(now: Now, before: Now) -> bool:
    """Whether the same reading is asked for in the same visit."""
    assert now.visit is not None and before.visit is not None
    return (now.visit.number, now.name) == (before.visit.number, before.name)
