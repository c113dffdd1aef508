"""The shop's report: the whole record, every figure with the event it comes from, and every event at its end."""

from __future__ import annotations

from collections.abc import Iterator

from ..daybook.entries import stale_words
from ..procedure.showing import words_of
from .common import banner, meaning, owner_line, release_line, rope, who_and_role
from .evidence import GRADES, finding, live_findings
from .figures import figures
from .parts import Block, Document, Facts, Line, Piece, Point, Points, Ref, Section, Table, Tinted, Words
from .record import Record, stamp, stop_name
from .stops import before_the_first, stops
from .telling import Event, events, refs

NEEDS = {"tools": "Tools", "parts": "Parts", "supplies": "Supplies", "before": "Before the work"}


def for_shop(record: Record) -> Document:
    """The report for the shop's own files."""
    state = record.state
    sections = [Section(title, tuple(blocks)) for title, blocks in _sections(record) if blocks]
    title = state.note.get("instrument") or f"Job {state.job}"
    return Document("shop", record.shop, title, "The whole record", state.job, tuple(banner(record)), tuple(sections))


def _sections(record: Record) -> Iterator[tuple[str, list[Block]]]:
    state = record.state
    yield "The job", [Facts(tuple(_job(record)))]
    open_ = stale_words(state)
    yield "Stands open", [Points(tuple(Point((words,)) for words in open_))] if open_ else []
    yield "Worked to", [_texts(record)]
    ready = [row for event in record.events if event["what"] == "readied" for row in _needs(event)]
    yield "At hand", [Facts(tuple(ready))] if ready else []
    yield "The route", [rope(record)] if state.visits else []
    found = [finding(record, f, refs=True) for f in live_findings(record, *GRADES)]
    yield "Findings", [Points(tuple(found))] if found else []
    yield "Figures", [*figures(record, refs=True)]
    yield "Looks and release", [*_signs(record), Words((("Released: ", *release_line(record, refs=True)),))]
    problems = [_problem(problem, record) for problem in state.problems]
    yield "Problems reported", [Points(tuple(problems))] if problems else []
    proposed = record.proposed()
    yield "Proposed next", [Words(tuple((title,) for title in proposed))] if proposed else []
    yield "Who did which part", [_parts(record)] if state.visits else []
    yield "Head of the log", [Words(tuple(_head(record)))]
    early = before_the_first(record)
    yield "Every stop", [*([Points(tuple(early))] if early else []), stops(record)] if state.visits or early else []
    yield "Every event", [events(record)]


def _job(record: Record) -> Iterator[tuple[str, Line]]:
    state = record.state
    yield "Job", (f"{state.job} ({state.kind})",)
    yield "Owner", owner_line(record, contact=True)
    for key, value in state.note.items():
        yield key.capitalize(), (value,)
    for name, data in state.drum.items():
        if name not in state.facts:
            yield f"Drum, {words_of(name)}", (str(data["typed"]),)
    for name, entry in state.facts.items():
        line: list[Piece] = [entry.typed, " ", Ref(entry.n)]
        for typed, _value, n in entry.before:
            line += [f"; corrected from {typed} ", Ref(n)]
        yield f"Drum, {words_of(name)}", tuple(line)
    yield "Work", (f"{state.title} ({state.procedure}, revision {state.revision})",)
    yield "Opened", (f"{stamp(state.opened_at)} by {record.who(state.opened_by)} ", Ref(1))
    yield "Work by", (record.everybody(),)
    yield "Completed", _completed(record)
    yield "Released", release_line(record, refs=True)


def _completed(record: Record) -> Line:
    ended = record.state.ended
    if not ended:
        return (Tinted("not yet", "strong"),)
    say = f"; {ended['say']}" if ended["say"] else ""
    return (f"{stamp(ended['at'])}, {ended['outcome']}{say} ", Ref(ended["n"]))


def _texts(record: Record) -> Table:
    rows: list[tuple[Line, ...]] = []
    for linked in record.root.family():
        title = linked.procedure.title
        rows.append(((title,), (linked.id,), (str(linked.procedure.revision),), (Tinted(linked.text, "quiet"),)))
    return Table(("Procedure", "Id", "Revision", "Hash of its text"), tuple(rows))


def _needs(event: Event) -> Iterator[tuple[str, Line]]:
    for key, title in NEEDS.items():
        items = dict.fromkeys(item for needs in event["needs"].values() for item in needs.get(key, ()))
        if items:
            yield title, (", ".join(items), " ", Ref(event["n"]))
    if event["waived"]:
        yield "Done without", (event["waived"], " ", Ref(event["n"]))
    if event["hazards"]:
        yield "Hazards read", ("; ".join(event["hazards"]), " ", Ref(event["n"]))


def _signs(record: Record) -> Iterator[Block]:
    rows: list[tuple[Line, ...]] = []
    for sign in record.state.signs:
        gone = "" if record.state.live(sign.visit, sign.n) else "; gone back over"
        stop = f"stop {sign.visit}, {stop_name(sign)}"
        said: Line = (f"{meaning(record, sign)}{gone}", f"; {sign.note}" if sign.note else "", " ", Ref(sign.n))
        rows.append(((who_and_role(record, sign.n),), (stamp(sign.at),), said, (stop,), tuple(refs(sign.covers))))
    if rows:
        yield Table(("Looked at by", "When", "Meaning", "Where", "Covers"), tuple(rows))


def _problem(problem: Event, record: Record) -> Point:
    signed = f"{record.who(problem['who'])}, {stamp(problem['at'])}"
    settled = f"settled: {problem['settled']}" if problem["settled"] else "open"
    where = f"Stop {problem['visit']}, {words_of(problem['step'])}"
    return Point((f"{where}: {problem['text']} ({signed}); {settled} ", Ref(problem["n"])))


def _parts(record: Record) -> Table:
    parts: list[tuple[str, int, int, str, str]] = []
    for visit in record.state.visits:
        for hand in visit.hands:
            end = visit.closed_at or visit.at
            if parts and parts[-1][0] == hand:
                parts[-1] = (hand, parts[-1][1], visit.number, parts[-1][3], end)
            else:
                parts.append((hand, visit.number, visit.number, visit.at, end))
    rows = []
    for who, first, last, begun, end in parts:
        stops_ = f"stop {first}" if first == last else f"stops {first} to {last}"
        rows.append(((record.who(who),), (stops_,), (f"{stamp(begun)} to {stamp(end)}",)))
    return Table(("Who", "Which", "When"), tuple(rows))


def _head(record: Record) -> Iterator[Line]:
    yield (f"{len(record.events)} events; head ", Tinted(record.head, "strong"))
    yield (
        f"With a head kept outside, benchwalk audit {record.state.job} --head HEAD tells whether this log still is the "
        "one it was taken from. The log alone cannot show that its end is missing, or that all of it was made anew.",
    )
