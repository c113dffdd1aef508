"""Hearing in plain mode: `/hear` listens by microphone or takes a recording, `/drum` works on the practice drum.

One tap at a time is said and then asked about, so that nothing is said while a line is being typed.
"""

from __future__ import annotations

import os
import threading
from pathlib import Path
from queue import Empty, Queue
from typing import TYPE_CHECKING

from ..errors import Refused
from ..heard import answers, asked_rod, band_of, can_hear, in_recording, keep_lesson, lesson_for
from ..procedure.showing import sentence
from ..walk import acts
from ..walk.phase import Now
from .asides import asked_reading
from .picking import YES

if TYPE_CHECKING:
    from ..taps import Tap
    from ..taps.facts import Fact, Recording
    from ..taps.listening import Ear
    from .walk import PlainWalk

_PATIENCE_S = 30.0


def hear(walk: PlainWalk, here: Now, rest: str) -> None:
    """Hear what is asked for: out of the recording that is named, else by microphone."""
    asked = asked_reading(walk, here)
    if asked is None or not can_hear(asked):
        raise Refused("nothing is asked for here that could be heard")
    if rest:
        _from_file(walk, asked, rest)
    else:
        _by_microphone(walk, asked)


def _from_file(walk: PlainWalk, asked: Now, typed: str) -> None:
    from ..taps.words import tap_words

    path = Path(os.path.expanduser(typed))  # a user who is not there stays as typed
    taps = in_recording(walk.session, asked, path)
    for tap in taps:
        walk.talk.say(sentence(tap_words(tap, asked.reading.tapped_at)))
    _note(walk, asked, taps, str(path))


def _by_microphone(walk: PlainWalk, asked: Now) -> None:
    from ..taps.listening import Ear
    from ..taps.take import take_file
    from ..taps.words import tap_words

    taps: list[Tap] = []
    recordings: list[Recording] = []
    with Ear() as ear:
        while True:
            got = _one_tap(walk, asked, ear)
            if got is not None:
                taps.append(got[0])
                recordings.append(got[1])
                walk.talk.say(sentence(tap_words(got[0], asked.reading.tapped_at)))
            if not taps:
                answer = walk.more("Enter to listen again, or no to type it:")
                if answer.lower() in ("", "again", *YES):
                    continue
                return
            answer = walk.more(f"Enter takes {_told(asked, taps)}; again taps once more, drop leaves the last out, no:")
            if answer.lower() in ("", *YES):
                break
            if answer.lower() == "drop":
                taps.pop()
                recordings.pop()
            elif answer.lower() != "again":
                return
    with take_file(recordings) as path:
        _note(walk, asked, taps, str(path))


def _one_tap(walk: PlainWalk, asked: Now, ear: Ear) -> tuple[Tap, Recording] | None:
    """Listen for one tap; what gives no note is said. None where it came to none."""
    from ..taps.facts import ListeningEnded, ListeningFailed, MicrophoneOpened, TapHeard, TapRefused

    facts: Queue[Fact] = Queue()
    reading = asked.reading
    thread = threading.Thread(
        target=ear.listen,
        args=(_PATIENCE_S,),
        kwargs={
            "on_fact": facts.put,
            "band": band_of(walk.session, asked),
            "place": reading.tapped_at,
            "full": bool(reading.hears),
        },
        daemon=True,
    )
    thread.start()
    try:
        while True:
            try:
                fact = facts.get(timeout=2 * _PATIENCE_S)
            except Empty:
                return None
            if isinstance(fact, MicrophoneOpened):
                walk.talk.say(f"Listening with {fact.name}. Tap once.")
            elif isinstance(fact, TapHeard):
                return fact.tap, fact.recording
            elif isinstance(fact, TapRefused):
                walk.talk.say(f"No note. {sentence(fact.why)}")
                return None
            elif isinstance(fact, ListeningFailed):
                raise Refused(fact.sentence)
            elif isinstance(fact, ListeningEnded):
                walk.talk.say("Nothing was heard.")
                return None
    finally:
        ear.stop()
        thread.join(2)


def _told(asked: Now, taps: list[Tap]) -> str:
    """What would be noted, in short."""
    found = answers(asked, taps)
    many = len(found) > 1
    return ", ".join(f"{place} {text}" if many else text for place, text in found.items()) or "nothing"


def _note(walk: PlainWalk, asked: Now, taps: list[Tap], file: str) -> None:
    """Note what was heard, place after place as each is asked for, with its recording."""
    found = answers(asked, taps)
    if asked.place not in found:
        raise Refused("these taps do not tell what is asked for here; type it")
    kept = walk.session.keep(file, "sound")
    now: Now | None = asked
    while now is not None and now.name == asked.name and now.place in found:
        decision = walk.do(acts.Record(found[now.place], file=kept), f"Noted: {found[now.place]}.")
        if decision.question or decision.refusal:
            return
        now = asked_reading(walk, walk.session.now())
        if now is not None and now.visit is not None and asked.visit is not None:
            now = now if now.visit.number == asked.visit.number else None


def drum(walk: PlainWalk, here: Now, rest: str) -> None:
    """Do something to the practice drum of this job, or take the note of the rod that is asked for."""
    from ..practice.orders import HELP, obey

    asked = asked_reading(walk, here)
    lesson = lesson_for(walk.session, asked)
    if rest.lower() in ("", "help"):
        for line in (*HELP[:-1], "take: take the note of the rod that is asked for into the walk"):
            walk.talk.say(f"/drum {line}")
        return
    if rest.lower() == "take":
        rod = asked_rod(asked)
        note = lesson.now.get(rod) if rod is not None else None
        if rod is None or asked is None:
            raise Refused("no note beside a rod is asked for here")
        if note is None:
            raise Refused(f"rod {rod} has no note since the last turn; tap it first: /drum tap {rod}")
        walk.do(acts.Record(note.typed), f"Noted: {note.typed}.")
        return
    for line in obey(lesson, rest, walk.session.bench.compute):
        walk.talk.say(line)
    keep_lesson(walk.session, lesson)
