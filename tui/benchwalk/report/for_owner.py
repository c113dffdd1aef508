"""The owner's report: a fair copy in plain words, one page."""

from __future__ import annotations

from collections.abc import Iterator

from ..walk.state import Visit
from ..walk.wording import listed
from .common import HEAD, banner, meaning, owner_line, release_line, rope, who_and_role
from .evidence import finding, live_findings
from .figures import figures, seen
from .parts import Block, Document, Facts, Line, Point, Points, Section, Table, Tinted, Words
from .record import Record, day, day_and_time, stop_name, when
from .stops import action

ENDS = {
    "done": "The work is done.",
    "stopped": "The work was stopped.",
    "referred": "Something else comes first.",
}


def for_owner(record: Record) -> Document:
    """The report for the drum's owner."""
    state = record.state
    sections = [Section(title, tuple(blocks)) for title, blocks in _sections(record) if blocks]
    title = state.note.get("instrument") or f"Job {state.job}"
    first = tuple(banner(record))
    return Document("owner", record.shop, title, "Report to the owner", state.job, first, tuple(sections))


def _sections(record: Record) -> Iterator[tuple[str, list[Block]]]:
    state = record.state
    yield "The drum", [Facts(tuple(_facts(record)))]
    mind = [finding(record, found, refs=False) for found in live_findings(record, "tell-owner")]
    yield "Please mind", [Points(tuple(mind))] if mind else []
    found = [finding(record, f, refs=False) for f in live_findings(record, "watch", "refer")]
    yield "What was found", [Points(tuple(found))] if found else []
    yield "What was done", [rope(record), *_done(record)] if state.visits else []
    now = [finding(record, f, refs=False).line for f in live_findings(record, "ok")]
    yield "How it is now", [Words((*now, *_end(record)))] if now or state.ended else []
    noted = seen(record)
    yield "What was measured and seen", [*figures(record, refs=False), *([Points(tuple(noted))] if noted else [])]
    proposed: list[Line] = [(title,) for title in record.proposed()]
    yield "What is proposed next", [Words(tuple(proposed))] if proposed else []
    yield "Who answers for it", [*_looks(record), Words(tuple(_answers(record)))]
    yield "Keep this sheet", [Words(tuple(_head(record)))]


def _facts(record: Record) -> Iterator[tuple[str, Line]]:
    state = record.state
    yield "Owner", owner_line(record, contact=False)
    if state.note.get("complaint"):
        yield "Complaint", (state.note["complaint"],)
    yield "Work", (state.title,)
    yield "Taken in", (f"{day(state.opened_at)}",)
    if state.ended:
        yield "Work ended", (day(state.ended["at"]),)


def _done(record: Record) -> Iterator[Block]:
    stretches: list[list[Visit]] = []
    for visit in record.state.visits:
        if visit.struck:
            continue
        title = record.stage(visit)
        if stretches and title in (record.stage(stretches[-1][0]), ""):
            stretches[-1].append(visit)
        else:
            stretches.append([visit])
    rows: list[tuple[Line, ...]] = []
    on = ""
    for title in dict.fromkeys(record.stage(stretch[0]) for stretch in stretches):
        again = [stretch for stretch in stretches if record.stage(stretch[0]) == title]
        visits = [visit for stretch in again for visit in stretch]
        begun, ended = visits[0].at, visits[-1].closed_at or visits[-1].at
        often = {1: "", 2: ", twice"}.get(len(again), f", {len(again)} times")
        runs = listed(dict.fromkeys(record.books(v.text).procedure.title for v in visits if v.path))
        under = Tinted(f"; in it: {runs}" if runs else "", "quiet")
        who = listed(record.who(hand) for hand in dict.fromkeys(hand for v in visits for hand in v.hands))
        rows.append(((f"{title or 'Before the first stage'}{often}", under), (_span(begun, ended, on),), (who,)))
        on = day(ended)
    yield Table(("Stage", "When", "By"), tuple(rows))
    left = [_left_out(record, v) for v in record.state.visits if v.skipped is not None and not v.struck]
    parts = _parts_used(record)
    if left or parts:
        yield Points((*left, *parts))


def _span(begun: str, ended: str, on: str) -> str:
    """`3 March 2026, 08:47 to 09:01`; the day is left out where it is the day said last."""
    first, last = when(begun), when(ended)
    if first is None or last is None:
        return f"{begun} to {ended}"
    said = "" if day(begun) == on else f"{day(begun)}, "
    if day_and_time(begun) == day_and_time(ended):
        return f"{said}{first:%H:%M}"
    return f"{said}{first:%H:%M} to {f'{last:%H:%M}' if day(begun) == day(ended) else day_and_time(ended)}"


def _parts_used(record: Record) -> list[Point]:
    """What was fitted: the parts the job's procedure calls for, where the work was done to its end."""
    if not record.state.ended or record.state.ended["outcome"] != "done":
        return []
    ready = [event["needs"].get(record.root.id, {}) for event in record.events if event["what"] == "readied"]
    parts = dict.fromkeys(part for needs in ready for part in needs.get("parts", ()))
    return [Point((Tinted("Parts: ", "strong"), ", ".join(parts)))] if parts else []


def _left_out(record: Record, visit: Visit) -> Point:
    what = action(record, visit) or stop_name(visit)
    return Point((Tinted("Left out: ", "strong"), f"{what} Reason: {visit.skipped}"))


def _end(record: Record) -> Iterator[Line]:
    ended, nothing = record.state.ended, "" if record.proposed() else " Nothing more is proposed."
    if ended and ended["outcome"] != "done":
        yield (ENDS.get(ended["outcome"], ended["outcome"]),)
        if ended["say"] and ended["say"] != ENDS.get(ended["outcome"]):
            yield (ended["say"],)
        if nothing:
            yield (nothing.strip(),)
    elif ended:
        yield ((ended["say"] or ENDS["done"]) + nothing,)


def _looks(record: Record) -> Iterator[Block]:
    rows: list[tuple[Line, ...]] = [
        ((who_and_role(record, s.n),), (day_and_time(s.at),), (meaning(record, s),))
        for s in record.state.signs
        if record.state.live(s.visit, s.n)
    ]
    if rows:
        yield Table(("Looked at by", "When", "What they say"), tuple(rows))


def _answers(record: Record) -> Iterator[Line]:
    work: Line = (f"Work by {record.everybody()}. ",)
    if record.state.released:
        yield (*work, "Released: ", *release_line(record, refs=False), ".")
    else:
        yield (*work, Tinted("Not released yet.", "strong"), " Nobody has answered for the whole of the work so far.")


def _head(record: Record) -> Iterator[Line]:
    yield (
        "Mark of the shop's record of this work: ",
        Tinted(record.head[:HEAD], "strong"),
        f" (job {record.state.job}). With these sixteen characters anybody can tell later whether what that record "
        "says today was changed since, or cut short.",
    )
