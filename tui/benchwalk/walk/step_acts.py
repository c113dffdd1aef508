"""Acts at a step: hazards read, actions done, readings noted, ways chosen, times waited, steps skipped."""

from __future__ import annotations

from datetime import datetime

from ..errors import Refused
from ..procedure.model import Whenever
from . import acts, signing
from .desk import Bench, Desk, Question
from .handing import run_path
from .phase import Now, countable, held, noted_places, now, parse_time, reading_places
from .record import note_value
from .state import State
from .worded import ACTION, WAY, keep_wording
from .wording import moment

NO_REASON = "no reason given"


def acknowledge(desk: Desk, here: Now, act: acts.Acknowledge) -> None:
    if here.kind != "hazard" or here.step is None:
        raise Refused("no hazards wait to be read here")
    hazards = [f"{grade}: {part.hazard}; {part.consequence or ''}; {part.avoid}" for grade, part in here.step.graded()]
    desk.emit("acknowledged", visit=desk.visit.number, hazards=hazards)


def done(desk: Desk, here: Now, act: acts.Done) -> None:
    if here.kind == "do":
        _do(desk)
    elif here.kind == "way":
        keep_wording(desk, WAY)
        desk.emit("confirmed", visit=desk.visit.number, place=WAY)
    elif here.kind == "each":
        desk.emit("confirmed", visit=desk.visit.number, place=here.place)
    else:
        raise Refused(f"nothing waits to be confirmed here; {asks(here)}")


def _do(desk: Desk) -> None:
    keep_wording(desk, ACTION)
    desk.emit("done", visit=desk.visit.number)


def asks(here: Now) -> str:
    """What is asked now, in a few words."""
    return {
        "hazard": "first read the hazards",
        "reading": "a reading is asked for",
        "choose": "one of the ways must be chosen",
        "hold": "somebody else must look",
        "wait": "the time is not up",
        "ready": "first confirm what is needed",
        "fact": "a fact of the drum is asked for",
        "recheck": "first look whether the drum is as the log says",
        "stuck": "no branch fits; the senior decides",
        "account": "the tools and loose parts are counted",
        "ended": "the walk has come to its end",
        "do": "an action waits to be done",
        "each": "each place is confirmed singly",
        "way": "the way chosen waits to be done",
    }.get(here.kind, "something else is asked")


def not_yet(desk: Desk, here: Now, act: acts.NotYet) -> None:
    if here.kind not in ("do", "way", "each"):
        raise Refused(f"there is nothing to see here yet; {asks(here)}")
    desk.emit("not_yet", visit=desk.visit.number)


def choose(desk: Desk, here: Now, act: acts.ChooseWay) -> None:
    if here.kind != "choose" or here.step is None or here.step.choose is None:
        raise Refused("no way is chosen here")
    way = next((w for w in here.step.choose.ways if w.way == act.way), None)
    if way is None:
        raise Refused(f"'{act.way}' is none of: {', '.join(w.way for w in here.step.choose.ways)}")
    desk.emit("chose", visit=desk.visit.number, name=here.step.choose.as_, way=way.way, say=way.say)


def record(desk: Desk, here: Now, act: acts.Record) -> None:
    if here.kind == "do" and here.step is not None and _reads_next(here):
        _do(desk)
        here = now(desk.state, desk.bench)
    if here.kind != "reading":
        raise Refused(f"no reading is asked for here; {asks(here)}")
    if act.late_at is not None:
        _earlier(desk, act)
    place = here.place if act.place is None else _opened(desk, here, act.place)
    note_value(desk, here.name, place, act.typed, sure=act.sure, late_at=act.late_at, file=act.file)


def _earlier(desk: Desk, act: acts.Record) -> None:
    """A late entry's time must be one, past, and not from before the job; one from before this stop is asked about."""
    at = act.late_at or ""
    taken_at(at, desk.state, desk.bench.now)
    came = desk.visit.at
    if parse_time(at) < parse_time(came) and not act.sure:
        stop = f"the walk came to this stop ({moment(came)})"
        raise Question(f"{moment(at)} is before {stop}; say it again if it is so")


def taken_at(at: str, state: State, time: datetime) -> None:
    """Refused where a reading of this job cannot have been taken at that time."""
    try:
        taken = parse_time(at)
        later = taken > time
    except (ValueError, TypeError):
        raise Refused(f"'{at[:40]}' is not a time with offset, such as 2026-11-25T09:30:00+00:00") from None
    if later:
        raise Refused("a late entry cannot be from the future")
    if taken < parse_time(state.opened_at):
        raise Refused(f"a late entry cannot be from before the job, which was opened {moment(state.opened_at)}")


def _opened(desk: Desk, here: Now, place: str) -> str:
    """Another place than the one asked: only where a sum names the places, and this one is still open."""
    if place == here.place:
        return place
    if here.reading.where is None:
        raise Refused(f"the places are asked one at a time; now it is {here.place or 'the only one'}")
    if place not in reading_places(here.reading, desk.view()):
        raise Refused(f"'{place[:40]}' is no place of this reading")
    if place in noted_places(desk.state, desk.visit, here.name):
        raise Refused(f"{place} is noted already; correct it if it was wrong")
    return place


def _reads_next(here: Now) -> bool:
    """Whether the step's action is nothing but what the reading needs, so that noting it says it is done."""
    step = here.step
    return step is not None and bool(step.record) and not (step.choose or step.run or step.each or step.wait)


def leave_out(desk: Desk, here: Now, act: acts.LeaveOut) -> None:
    if here.kind == "do" and _reads_next(here):
        _do(desk)
        here = now(desk.state, desk.bench)
    if here.kind != "reading":
        raise Refused(f"no reading is asked for here; {asks(here)}")
    optional = here.reading.optional
    if optional is None:
        raise Refused("this reading cannot be left out; if it cannot be taken, report a problem with this step")
    desk.emit(
        "left_out",
        visit=desk.visit.number,
        run=desk.visit.run,
        name=here.name,
        place=here.place,
        why=act.why.strip() or NO_REASON,
        allowed=optional.because,
    )


def waited(desk: Desk, here: Now, act: acts.Waited) -> None:
    visit, step = here.visit, here.step
    if here.kind != "wait" or visit is None or step is None or step.wait is None or visit.until is None:
        raise Refused("no time runs here")
    left = parse_time(visit.until) - desk.bench.now
    if left.total_seconds() > 0:
        if not act.early:
            minutes = -(-int(left.total_seconds()) // 60)
            raise Refused(f"the time is not up: {minutes} min left (until {visit.until[11:16]})")
        if desk.state.kind == "customer":
            raise Refused("the time cannot be cut short; skip the step if it may be skipped")
        desk.emit("waited", visit=visit.number, early=act.early)
        return
    if visit.latest and step.wait.late and desk.bench.now > parse_time(visit.latest):
        desk.emit("late", visit=visit.number, go=step.wait.late.go, reads=[])
        return
    desk.emit("waited", visit=visit.number, early="")


def skip(desk: Desk, here: Now, act: acts.Skip) -> None:
    step = here.step
    if step is None or here.visit is None:
        raise Refused("there is no step here to skip")
    if step.may_skip is None:
        raise Refused("this step cannot be skipped; if it cannot be done, report a problem with this step")
    if not act.reason.strip():
        raise Refused("say why the step is skipped")
    if here.visit.skipped is not None:
        raise Refused("this step is skipped already")
    if step.hold and held(here.visit, desk.book(here.visit.text), step):
        raise Refused("a look by another person cannot be skipped")
    sign: dict[str, object] | None = None
    if step.may_skip.by not in desk.bench.roles.get(desk.who, frozenset()):
        if act.sign is None:
            raise Refused(f"only a {step.may_skip.by} may skip this step: {step.may_skip.because}")
        sign = signing.signed(desk, act.sign, step.may_skip.by)
    because = step.may_skip.because
    desk.emit("skipped", visit=here.visit.number, because=because, reason=act.reason, sign=sign)


def happenings(state: State, bench: Bench) -> list[tuple[str, Whenever]]:
    """(path of the frame whose event it is, the event) of all that may happen at this step, innermost first.

    What is being seen to by a run of its own cannot happen again before that run is done.
    """
    found: list[tuple[str, Whenever]] = []
    going = {frame.path for frame in state.frames}
    for frame in reversed(state.frames):
        for event in bench.books(frame.text).events_at(frame.step) if frame.step else ():
            if event.run is None or run_path(frame, event.run) not in going:
                found.append((frame.path, event))
    return found


def happens(desk: Desk, here: Now, act: acts.Happens) -> None:
    if here.visit is None or here.step is None:
        raise Refused("no step is in hand")
    foreseen = happenings(desk.state, desk.bench)
    fits = [(path, e) for path, e in foreseen if e.event == act.event and act.path in (None, path)]
    if not fits:
        raise Refused(f"'{act.event}' is not foreseen at this step; write a note, or report a problem with this step")
    path, event = fits[0]
    owner = next(frame for frame in desk.state.frames if frame.path == path)
    count = desk.state.counts.get((owner.run, f"event:{event.event}"), 0) + 1
    go, then = event.go if event.run is None else None, False
    if event.at_most is not None and count > event.at_most:
        go, then, count = event.then, True, event.at_most
    desk.emit(
        "happened",
        visit=here.visit.number,
        event=event.event,
        say=event.say,
        owner_path=path,
        go=go,
        count=count,
        at_most=event.at_most,
        then=then,
    )


def account(desk: Desk, here: Now, act: acts.Account) -> None:
    if here.kind != "account" or here.linked is None:
        raise Refused("nothing waits to be counted")
    missing = act.missing.strip()
    if act.sign is not None and not (missing := missing or desk.state.missing):
        raise Refused("nothing was said to be missing; say first what is")
    sign = signing.signed(desk, act.sign, desk.bench.releases) if act.sign is not None else None
    desk.emit("accounted", items=countable(here.linked), missing=missing, sign=sign)
