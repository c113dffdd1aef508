"""The figures of a job: what was taken more than once, first and last; and the others."""

from __future__ import annotations

from ..walk.state import Entry
from ..walk.wording import before_answer
from .parts import Figure, Figures, Line, Point, Ref, Tinted
from .record import Record


def by_question(record: Record, *, numbers: bool) -> list[list[Entry]]:
    """Entries that still count, those of one question and place together, in the order they were first taken.

    A question of a procedure that was run more than once under a name is the same question.
    """
    groups: dict[tuple[str, str, str | None], list[Entry]] = {}
    for entry in sorted(record.state.entries.values(), key=lambda e: e.n):
        if entry.visit and record.live(entry) and record.is_number(entry) == numbers:
            path = record.state.visits[entry.visit - 1].path
            groups.setdefault((path, entry.name, entry.place), []).append(entry)
    return list(groups.values())


def figures(record: Record, *, refs: bool) -> list[Figures]:
    """The figures taken more than once, first and last, and the others; a table is left out where it would be empty.

    Without `refs` a figure that came out the same at the last as at the first stands among the others.
    A table says first and last only: whatever came between stands at its stop.
    """
    changed: list[Figure] = []
    alike: list[Figure] = []
    for entries in by_question(record, numbers=True):
        first, last = record.taken(entries[0]), record.taken(entries[-1])
        under = _corrected(record, entries, refs)
        if len(entries) > 1 and (refs or first[:3] != last[:3]):
            changed.append(Figure(record.label(entries[-1]), first, last, under))
        else:
            alike.append(Figure(record.label(entries[-1]), None, last, under))
    tables = [Figures(tuple(changed), True, refs), Figures(tuple(alike), False, refs)]
    return [table for table in tables if table.rows]


def _corrected(record: Record, entries: list[Entry], refs: bool) -> Line:
    line: list[str | Ref | Tinted] = []
    for entry in entries:
        if entry.before and not refs:
            return (Tinted("corrected", "quiet"),)
        for typed, value, n in entry.before:
            line += ["; " if line else "", f"corrected from {record.earlier(entry, typed, value)} ", Ref(n)]
    return tuple(line)


def seen(record: Record) -> list[Point]:
    """What was seen and heard, where it changed between the first look and the last, or is not what is wanted.

    What proves a finding stands with the finding.
    """
    state = record.state
    proving = {n for found in state.found if state.live(found.visit, found.n) for n in found.evidence}
    points: list[Point] = []
    for entries in by_question(record, numbers=False):
        first, last = entries[0], entries[-1]
        reading = record.reading(last)
        if reading is None or reading.sort != "choice":
            continue
        word, tone = record.judgement(last)
        judged: Line = ("; ", Tinted(word, tone)) if word else ()
        now = f"{before_answer(record.label(last))} {record.said(last, outside=True)}"
        if first.value != last.value:
            points.append(Point((f"{now} (at first: {record.said(first, outside=True)})", *judged)))
        elif last.verdict == "outside" and last.n not in proving:
            points.append(Point((now, *judged)))
    return points
