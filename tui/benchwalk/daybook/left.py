"""The left page of the daybook: what was found so far, in words, newest last, below the stop it was found at."""

from __future__ import annotations

from collections.abc import Iterator

from ..procedure.showing import safe_text, words_of
from ..walk.places import step_name
from ..walk.state import State
from .hanging import SET_IN, hung
from .ink import Line, Span, line
from .things import Books, Names, Thing, things

NOTHING_YET = "Nothing is noted yet."


def found_so_far(
    state: State, books: Books, names: Names, last: int | None = None, width: int | None = None
) -> list[Line]:
    """Everything found so far, or the `last` things only, set in below a quiet heading where the stop changes.

    Oldest first, as it came about; a heading says `again at` where something belongs to a stop that was passed already.
    What the walk went back over counts no more: such stops are only named. A corrected value stands where it was
    corrected, with what it was before. Each is one line, or (`width` cells) as many as it needs.
    """
    known = things(state, books, names)
    hidden = 0 if last is None else max(0, len(known) - last)
    after = known[hidden - 1].n if hidden else 0
    if not known:
        return [_quiet(NOTHING_YET)]
    gone = [(n, words) for n, words in _gone_back(state) if n > after]
    passed = max((thing.visit for thing in known[:hidden]), default=0)
    lines = list(_grouped(known[hidden:], gone, state, passed))
    if width is None:
        return [some for some, _hang in lines]
    return [row for some, hang in lines for row in hung(some, width, hang)]


def last_line(state: State, books: Books, names: Names) -> Line:
    """The newest of what was found."""
    known = things(state, books, names)
    return known[-1].line if known else _quiet(NOTHING_YET)


def _grouped(shown: list[Thing], gone: list[tuple[int, str]], state: State, passed: int) -> Iterator[tuple[Line, int]]:
    """(line, how far what is wrapped of it is set in); `passed` is the last stop that stood here before."""
    stop: int | None = None
    for thing in shown:
        while gone and gone[0][0] < thing.n:
            yield _quiet(gone.pop(0)[1]), SET_IN
            stop = None
        if thing.visit != stop:
            stop = thing.visit
            yield _quiet(_heading(state, stop, again=stop < passed)), SET_IN
            passed = max(passed, stop)
        yield (Span(" " * SET_IN), *thing.line), 2 * SET_IN
    yield from ((_quiet(words), SET_IN) for _n, words in gone)


def _gone_back(state: State) -> list[tuple[int, str]]:
    """The stops that were gone back over, runs of them together: (event they were left with, words)."""
    groups: list[list[int]] = []
    for visit in state.visits:
        if visit.struck:
            if groups and groups[-1][-1] == visit.number - 1:
                groups[-1].append(visit.number)
            else:
                groups.append([visit.number])
    told = []
    for numbers in groups:
        which = f"stops {numbers[0]} to {numbers[-1]}" if len(numbers) > 1 else f"stop {numbers[0]}"
        told.append((state.visits[numbers[-1] - 1].closed or 0, f"{which}: gone back over"))
    return told


def _heading(state: State, stop: int, *, again: bool) -> str:
    if stop == 0:
        return "before the first stop"
    visit = state.visits[stop - 1]
    return f"{'again at ' if again else ''}stop {stop}, {words_of(step_name(visit.path, visit.step))}"


def _quiet(text: str) -> Line:
    return line(Span(safe_text(text), "quiet"))
