"""What a job in hand knows of hearing: where the asked note may lie, and the practice drum of a practice job.

Screens and lines share it; nothing here listens or draws.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from .errors import Failure, Misread, Refused
from .procedure.showing import shortened
from .quantities import parse_quantity
from .session import Session
from .walk.desk import view_of
from .walk.phase import Now, noted_places
from .walk.view import View

if TYPE_CHECKING:
    from .practice.lesson import Lesson
    from .taps import Tap

_HEADS = ("batter", "snare-side")
_OTHER, _STILL = "other_head", ("damped", "off")
"""What shipped procedures call the reading of the other head, and its choices in which that head does not ring."""


def can_hear(asked: Now | None) -> bool:
    """Whether something is asked for that a microphone can answer."""
    return asked is not None and asked.reading.heard


def practises(session: Session) -> bool:
    """Whether this job may have a practice drum."""
    return session.state.kind != "customer"


def band_of(session: Session, asked: Now) -> tuple[float, float] | None:
    """Where the note beside a rod lies (Hz), by what this round has noted already; None for the first of it."""
    assert asked.visit is not None
    if asked.reading.tapped_at != "rod" or not noted_places(session.state, asked.visit, asked.name):
        return None
    values = view_of(session.state, asked.visit, session.bench).value(asked.name)
    notes = [float(v) for v in values.values() if v is not None] if isinstance(values, dict) else []
    mean = sum(notes) / len(notes) if notes else 0.0
    return (0.8 * mean, 1.22 * mean) if mean else None


def asked_rod(asked: Now | None) -> int | None:
    """The rod whose note is asked for."""
    by_rod = asked is not None and asked.reading.sort == "note" and asked.reading.by_rod
    return int(asked.place) if by_rod and asked is not None and asked.place else None


def lesson_for(session: Session, asked: Now | None) -> Lesson:
    """The practice drum of this job, the head that is worked on before you. Raises Refused where there is none."""
    from .practice.kept import lesson_of

    if not practises(session):
        raise Refused("a customer's job has no practice drum")
    fact = session.state.facts.get("rods")
    known = session.state.drum.get("rods") or {}
    value = fact.value if fact is not None else known.get("value")
    if value is None:
        raise Refused("this procedure does not ask how many rods the drum has, so there is no practice drum for it")
    lesson = lesson_of(session.folder.path, session.state.job, int(float(value)), _head(session, asked))
    noted = _pad_noted(session)
    if noted is not None and noted[0] > lesson.followed:  # what the hand did to the drum since is left as it is
        lesson.followed, damped = noted
        lesson.damp(damped)
    return lesson


def damped_as_noted(session: Session) -> bool | None:
    """Whether the walk noted last that the other head is kept from ringing; None where it noted nothing of it here."""
    noted = _pad_noted(session)
    return None if noted is None else noted[1]


def _pad_noted(session: Session) -> tuple[int, bool] | None:
    """The latest reading `other_head` of the runs around this stop: its event, and whether that head is kept still."""
    here = session.now()
    found: dict[int, bool] = {}
    for frame in here.visit.frames if here.visit is not None else ():
        linked = session.books(frame.text)
        view = View(session.state, linked, frame.run)
        for name in (_OTHER, *(f"{run}.{_OTHER}" for run in linked.runs)):
            entry = view.entries(name).get(None)
            if entry is not None and entry.value is not None:
                found[entry.n] = entry.value in _STILL
    return max(found.items(), default=None)


def keep_lesson(session: Session, lesson: Lesson) -> None:
    """Keep the practice drum with the job as it stands. Raises Failure."""
    from .practice.kept import keep

    keep(session.folder.path, lesson)


def _head(session: Session, asked: Now | None) -> str | None:
    """The head that is worked on: as the reading says, or what the procedure takes; else where all that it runs, or
    all that the job's own procedure runs, is worked on one head."""
    if asked is not None and asked.reading.head is not None:
        return asked.reading.head
    here = session.now()
    if here.visit is None:
        return None
    view = view_of(session.state, here.visit, session.bench)
    head = str(view.given.get("head", {}).get("choice", "")).replace("_", "-")
    if head in _HEADS:
        return head
    for linked in (view.linked, session.books(session.state.text)):
        named = {step.run.with_.get("head", "").replace("_", "-") for step in linked.steps.values() if step.run}
        if len(named & set(_HEADS)) == 1:
            return (named & set(_HEADS)).pop()
    return None


# --- what taps say ------------------------------------------------------------------------------------------------


def answers(asked: Now, taps: Sequence[Tap]) -> dict[str | None, str]:
    """What is to be noted of taps for the reading asked for, as it would be typed, by place (None: it has no places).

    A note is of the place asked alone; figures of third octaves come for every place that has one. Empty where these
    taps do not tell it.
    """
    if asked.reading.sort == "note":
        return {asked.place: note_of(taps)} if taps else {}
    figure = _FIGURES[asked.reading.hears or ""]
    places: Sequence[str | None] = asked.reading.per or [None]
    found = {place: [value for tap in taps if (value := figure(tap, place)) is not None] for place in places}
    decimals = 0 if asked.reading.sort == "whole" else 2
    return {place: f"{sum(some) / len(some):.{decimals}f}" for place, some in found.items() if some}


def in_recording(session: Session, asked: Now, path: Path) -> list[Tap]:
    """The taps of a recording, for the reading asked for. Raises Refused, with the cure, where none gives a note."""
    from .taps import hear, read_sound
    from .taps.repeated import too_far_apart
    from .taps.words import apart_words

    reading = asked.reading
    full = reading.hears is not None
    try:
        sound = read_sound(path)
    except (Failure, Misread) as error:
        raise Refused(f"no note out of {shortened(path.name, 60)}: {error.message}") from None
    found = hear(sound, band=band_of(session, asked), place=reading.tapped_at, full=full)
    if not found.taps:
        raise Refused(found.refused or "no tap is in that recording")
    if reading.sort == "note" and (apart := too_far_apart(found.taps)) is not None:
        at = "at one rod" if reading.tapped_at == "rod" else "at one place"
        raise Refused(f"no note out of {shortened(path.name, 60)}: {apart_words(apart)}; record taps {at} alone")
    return found.taps


def note_of(taps: Sequence[Tap]) -> str:
    """Taps at one place as one note, with the second note as it was heard last."""
    from .taps import together
    from .taps.take import as_typed

    if len(taps) == 1:
        return as_typed(taps[0])
    both = together(taps)
    assert both is not None
    second = next((tap.second_hz for tap in reversed(taps) if tap.second_hz is not None), None)
    return as_typed(both) + (f" second {second:.2f} Hz" if second is not None else "")


def _ring(tap: Tap, place: str | None) -> float | None:
    """Seconds for 60 dB: of the note (amplitude exp(-d t), so ln 1000 / d), or of a third octave."""
    if place is None:
        return math.log(1000) / tap.decay_per_s if tap.decay_per_s > 0 else None
    return _of_band(tap.rings or {}, place)


def _level(tap: Tap, place: str | None) -> float | None:
    level = _of_band(tap.levels or {}, place) if place is not None else None
    return None if level is None else abs(level)


def _of_band(bands: Mapping[float, float | None], place: str) -> float | None:
    """The figure of the third octave called so: `160 Hz` is the nominal name of 158.49 Hz."""
    try:
        centre = float(parse_quantity(place, "Hz").value)
    except Misread:
        return None
    near = min(bands, key=lambda band: abs(math.log(band / centre)), default=None)
    return bands[near] if near is not None and abs(math.log2(near / centre)) < 1 / 6 else None


_FIGURES: dict[str, Callable[[Tap, str | None], float | None]] = {
    "split": lambda tap, place: tap.split_hz or 0.0,
    "ring": _ring,
    "level": _level,
}
"""A figure of a tap at a place, by the reading's `hears`; of one note there is no second, so its split is 0."""
