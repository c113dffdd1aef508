"""Findings, each in the technician's sentence with the readings that prove it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ..walk.state import Entry, Found
from ..walk.wording import before_answer, listed
from .parts import Line, Piece, Point, Ref, Tinted
from .record import Record

GRADES = {"ok": "in order", "watch": "to be watched", "refer": "something else comes first", "tell-owner": "to be told"}


def live_findings(record: Record, *grades: str) -> list[Found]:
    """The findings of these grades that still count."""
    return [f for f in record.state.found if f.grade in grades and record.state.live(f.visit, f.n)]


def finding(record: Record, found: Found, *, refs: bool) -> Point:
    """The sentence, and under it what shows it."""
    line: list[Piece] = [found.sentence]
    if refs:
        line += [f" ({GRADES.get(found.grade, found.grade)}) ", Ref(found.n)]
        if found.latest != found.n:
            line += [", said again ", Ref(found.latest)]
        if not record.state.live(found.visit, found.n):
            line.append("; gone back over, counts no more")
    entries = [record.state.entries[n] for n in found.evidence if n in record.state.entries]
    shown = proof(record, entries, refs=refs)
    return Point(tuple(line), (shown,) if shown else ())


def proof(record: Record, entries: Sequence[Entry], *, refs: bool) -> Line:
    """`Shown by: ...`: readings at several places stand together."""
    groups: dict[tuple[int, str], list[Entry]] = {}
    for entry in entries:
        groups.setdefault((entry.visit, entry.name), []).append(entry)
    line: list[Piece] = []
    for group in groups.values():
        line += ["; " if line else Tinted("Shown by: ", "quiet"), *_group(record, group, refs)]
    return tuple(line)


def _group(record: Record, group: list[Entry], refs: bool) -> Iterable[Piece]:
    same = {(record.said(e, outside=not refs), record.judgement(e)) for e in group}
    if len(same) == 1:
        [(said, (word, tone))] = same
        places = [e.place for e in group if e.place]
        yield f"{before_answer(record.label(group[0], place=False))} {said}"
        if places:
            yield f" at all {len(places)} places" if len(places) > 2 else f" at {listed(places)}"
        yield from _judged(word, tone)
        if refs:
            yield from _refs(group)
        return
    yield f"{before_answer(record.label(group[0], place=False))} "
    for i, entry in enumerate(group):
        yield f"{', ' if i else ''}{entry.place} {record.said(entry, outside=not refs)}"
        yield from _judged(*record.judgement(entry))
        if refs:
            yield from _refs([entry])


def _judged(word: str, tone: str) -> Iterable[Piece]:
    if word and tone == "outside":
        yield ", "
        yield Tinted(word, "outside")


def _refs(entries: Iterable[Entry]) -> Iterable[Piece]:
    for entry in entries:
        yield " "
        yield Ref(entry.n)
