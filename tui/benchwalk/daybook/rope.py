"""The route at the foot of the page, as a rope: tight behind, hitched where you are, loose ahead, clamped at a look."""

from __future__ import annotations

from dataclasses import dataclass

from ..procedure.showing import display_width, many
from ..walk.desk import Bench
from ..walk.phase import held
from ..walk.state import Frame, State
from .ahead import NOTHING, Ahead, Goal, ahead, from_start, run_of
from .ink import Line, Span, Tone

LEAST_ROPE = 12
"""Cells below which a rope beside words is no rope any more."""
MOST_ROPE = 56
"""Cells of the longest rope."""
CLAMP = "[=]"
"""Somebody else must look there."""

_ENDED = {"done": "ended sound", "stopped": "stopped, and waits", "referred": "referred; something else comes first"}


@dataclass(frozen=True)
class Route:
    """Where the walk stands on its way.

    `stop` is the number of the stop as the pages have it, 0 before the first; `behind` how many stops before it still
    count (all of them once it has ended). `least` and `most` are the stops that can still come on the shortest and on
    the longest way, to a good end where one can still be reached, else to any; `most` is None where that is not known.
    `clamps` says how many stops ahead somebody else must look, 0 for here, on the shortest way. `words` says it all.
    """

    stop: int
    behind: int
    least: int
    most: int | None
    clamps: tuple[int, ...]
    words: str
    ended: bool = False


def route(state: State, bench: Bench) -> Route:
    """The route of a job as it stands."""
    counted = [visit for visit in state.visits if not visit.struck]
    if not state.job:
        return Route(0, 0, 0, None, (), "not begun")
    if state.ended:
        words = f"{_ENDED.get(state.ended['outcome'], 'ended')}; {stops_walked(state)}"
        return Route(state.visit, len(counted), 0, 0, (), words, True)
    left = _left(state, bench) if state.frames else from_start(bench.books(state.text), "done")
    if left is None and not state.frames:
        left = from_start(bench.books(state.text), "any")
    least, most = (left.least, left.most) if left is not None else (0, None)
    clamps = tuple(sorted({stops for stops, roles in left.looks if _needed(roles, state, bench)})) if left else ()
    if not state.visits:
        return Route(0, 0, least, most, clamps, f"not begun; {_count(least, most)} to go")
    behind = sum(visit.number != state.visit for visit in counted)
    to_go = "the last" if most == 0 else f"{_count(least, most)} to go"
    return Route(state.visit, behind, least, most, clamps, f"stop {state.visit}; {to_go}")


def _left(state: State, bench: Bench) -> Ahead | None:
    """What may still come in the procedure in hand and, after it, in those that wait for it."""
    left, good, inner = NOTHING, True, None
    for frame in reversed(state.frames):
        rest = _left_in(state, bench, frame, inner, "done") if good else None
        if rest is None:
            good = False
            rest = _left_in(state, bench, frame, inner, "any")
        if rest is None:
            return None
        left = left.then(rest)
        good = good or frame.back  # what was interrupted goes on however the interruption ended
        inner = frame
    return left


def _left_in(state: State, bench: Bench, frame: Frame, inner: Frame | None, goal: Goal) -> Ahead | None:
    """What may still come in one of the procedures; `inner` is the one that was begun from where it stands."""
    linked = bench.books(frame.text)
    if not frame.step:
        return from_start(linked, goal)
    step = linked.steps[frame.step]
    visit = state.visits[(inner.caller if inner else state.visit) - 1]
    rest = ahead(linked, frame.step, goal)
    if rest is None:
        return None
    begun = visit.ran or (inner is not None and not inner.back)
    here = NOTHING if begun else run_of(linked, step, goal)
    if step.hold and held(visit, linked, step):
        here = here.then(Ahead(0, 0, ((0, tuple(step.hold.for_work_by)),)))
    return here.then(rest)


def _needed(roles: tuple[str, ...], state: State, bench: Bench) -> bool:
    """Whether anybody who has worked here makes the look needed."""
    if not roles:
        return True
    return any(bench.roles.get(who, frozenset()) & set(roles) for who in {*state.people, state.person})


# --- in words ----------------------------------------------------------------------------------------------------


def stops_walked(state: State) -> str:
    """How many stops count, and how many were gone back over: together the number that the last one has."""
    gone = sum(visit.struck for visit in state.visits)
    return many(len(state.visits) - gone, "stop") + (f", {gone} gone back over" if gone else "")


def _count(least: int, most: int | None) -> str:
    if most is None:
        return f"at least {least}"
    return str(least) if least == most else f"{least} to {most}"


# --- drawn -------------------------------------------------------------------------------------------------------


def rope_line(found: Route, width: int) -> Line:
    """Rope and words in one line of at most `width` cells; the words are left out where they leave no rope."""
    room = width - display_width(found.words) - 2
    if room < LEAST_ROPE:
        return rope(found, width)
    return (*rope(found, room), Span("  "), Span(found.words))


def rope(found: Route, width: int) -> Line:
    """The rope alone, at most `width` cells: `====` walked, `=8=` here, `~ ~` to come, `. .` may come, `[=]` a look."""
    knot = "[8]" if 0 in found.clamps else "=8="
    hitch = Span(knot, "plain" if found.ended else "caution" if 0 in found.clamps else "brass")
    cells = min(width, MOST_ROPE) - len(knot)
    if cells < 0:
        return (hitch._replace(text="8"),) if width > 0 else ()
    most = found.least if found.most is None else found.most
    each = min(2.0, cells / max(1, found.behind + most))  # cells a stop
    room = len(CLAMP) if any(found.clamps) and cells >= len(CLAMP) else 0  # a look is never squeezed out
    behind = min(cells - room, max(round(found.behind * each), found.behind > 0))
    loose = _loose(found, most, each, cells - behind)
    tight = (Span("=" * behind, "quiet"),) if behind else ()
    return (*tight, hitch, *loose)


def _loose(found: Route, most: int, each: float, cells: int) -> Line:
    """What lies ahead, clamps in it."""
    looks = [stops for stops in found.clamps if stops > 0]
    length = min(cells, max(round(most * each), most > 0, len(CLAMP) if looks else 0))
    sure = max(round(found.least * each), 1)
    signs: list[tuple[str, Tone]] = []
    for cell in range(length):
        signs.append((" " if cell % 2 else "~" if cell < sure else ".", "quiet"))
    free = 0
    for stops in looks:
        start = max(free, min(round(stops * each) - 2, length - len(CLAMP)))
        if start + len(CLAMP) <= length:
            signs[start : start + len(CLAMP)] = [(sign, "caution") for sign in CLAMP]
            free = start + len(CLAMP)
    return _joined(signs)


def _joined(signs: list[tuple[str, Tone]]) -> Line:
    while signs and signs[-1][0] == " ":
        signs.pop()
    spans: list[Span] = []
    for sign, tone in signs:
        if spans and spans[-1].tone == tone:
            spans[-1] = Span(spans[-1].text + sign, tone)
        else:
            spans.append(Span(sign, tone))
    return tuple(spans)
