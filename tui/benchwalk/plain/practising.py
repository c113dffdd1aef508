"""The practice drum line by line: an order is typed, what the drum did is said."""

from __future__ import annotations

from ..errors import BenchwalkError
from ..practice.lesson import RATE, Lesson
from ..practice.orders import HELP, obey
from ..practice.speaker import Speaker
from ..practice.telling import Compute, finish
from ..procedure.showing import sentence
from .stopping import Broken, Stopped
from .talk import Gone, Talk

DONE = ("done", "/leave", "leave", "quit", "exit")


def practise(lesson: Lesson, talk: Talk, compute: Compute, speaker: Speaker) -> int:
    """Work on the drum until it is done; the exit code. What was hidden is told however it ends."""
    for line in introduction(lesson):
        talk.say(line)
    code = 0
    try:
        while True:
            typed = talk.ask(">")
            if typed.lower() in DONE:
                break
            for line in answer(lesson, typed, compute, speaker):
                talk.say(line)
    except Stopped as stopped:
        return 128 + stopped.number
    except (Gone, Broken):
        code = 0
    finally:
        speaker.close()
    for line in finish(lesson):
        talk.say(line)
    return code


def introduction(lesson: Lesson) -> list[str]:
    """What stands before one, and what is wanted."""
    drum = lesson.drum
    return [
        f"A practice drum: {drum.rods} rods, {drum.diameter_mm:g} mm across. Somebody brought both heads up and "
        f"something is not right with it. The {lesson.head} head is before you; the other rests on its pad, or ought "
        "to.",
        "Bring the notes beside its rods within 5 cents, and find out what no note tells.",
        "Type help for what you can do, done when you are; then you hear what was hidden.",
    ]


def answer(lesson: Lesson, typed: str, compute: Compute, speaker: Speaker) -> list[str]:
    """What comes of a line that was typed; a refusal is a sentence like any other."""
    if typed.lower() in ("help", "?", "h"):
        return [*HELP]
    if not typed:
        return ["Type what you do, as in: tap 3, or help."]
    lesson.sound = None
    try:
        lines = obey(lesson, typed, compute)
    except BenchwalkError as error:
        return [sentence(error.message)]
    if lesson.sound is not None:
        was = speaker.silent
        speaker.play(lesson.sound, RATE)
        if speaker.silent and not was:
            lines = [*lines, speaker.silent]
    return lines
