"""Every stop of a job with all that came of it, each figure with the event it comes from."""

from __future__ import annotations

from collections.abc import Iterator

from ..daybook.entries import why_words
from ..procedure.linked import Linked
from ..procedure.showing import words_of
from ..quantities import decimal_text, with_unit
from ..walk.state import Entry, SignOff, Visit, Worked
from ..walk.view import View, fraction, range_from
from ..walk.worded import ACTION, action_text
from ..walk.wording import as_typed, before_answer, listed
from .common import meaning, who_and_role
from .evidence import finding
from .parts import Line, Piece, Point, Ref, Stop, Stops, Tinted
from .record import Record, stamp, stop_name
from .telling import outputs_plain, refs, told

BESIDE = frozenset(
    (
        *("paused", "resumed", "taken_on", "handed_over", "place_checked", "overruled", "accepted", "skipped"),
        *("went_back", "happened", "waiting", "waited", "late", "turned_away", "lock_taken_over", "acknowledged"),
        *("noted", "problem", "problem_settled", "told", "not_needed", "diverged", "stands", "rejudged", "voided"),
        *("given_again", "not_yet", "owner_removed"),
    )
)
"""Kinds of event that a stop tells in the words of the log."""


def stops(record: Record) -> Stops:
    """All stops in order; what the walk went back over is there and marked."""
    beside = _beside(record)
    entries: dict[int, list[Entry]] = {}
    for entry in sorted(record.state.entries.values(), key=lambda e: e.n):
        entries.setdefault(entry.visit, []).append(entry)
    found, stage = [], ""
    for visit in record.state.visits:
        new = record.stage(visit)
        points = [(n, point) for n, point in _points(record, visit, entries.get(visit.number, []))]
        points += beside.get(visit.number, [])
        found.append(
            Stop(
                visit.number,
                stop_name(visit),
                new if new != stage else "",
                _span(visit),
                listed(record.who(hand) for hand in visit.hands),
                visit.struck,
                why_words(record.state, visit),
                _done(record, visit),
                tuple(point for _, point in sorted(points, key=lambda pair: pair[0])),
            )
        )
        stage = new
    return Stops(tuple(found))


def before_the_first(record: Record) -> list[Point]:
    """What happened before the first stop, beside opening the job and getting ready."""
    return [point for _, point in _beside(record).get(0, [])]


def _beside(record: Record) -> dict[int, list[tuple[int, Point]]]:
    found: dict[int, list[tuple[int, Point]]] = {}
    stop = 0
    for event in record.events:
        if event["what"] == "entered":
            stop = event["visit"]
        if event["what"] in BESIDE and not (event["what"] == "waited" and not event["early"]):
            who = f" ({record.who(event['who'])}, {stamp(event['at'])})" if event["what"] != "acknowledged" else ""
            point = Point((*told(record, event), who, " ", Ref(event["n"])))
            found.setdefault(stop, []).append((event["n"], point))
    return found


def _span(visit: Visit) -> str:
    """`2026-03-03 08:47:25 +01:00 to 08:48:17 +01:00`: the day is said again only where it is another."""
    if not visit.closed_at:
        return stamp(visit.at)
    begun, ended = stamp(visit.at), stamp(visit.closed_at)
    return f"{begun} to {ended[11:] if ended[:11] == begun[:11] else ended}"


def _done(record: Record, visit: Visit) -> str:
    """The action as it was told when it was done; an action without values reads as the procedure has it."""
    told = [worded.text for worded in record.state.worded if (worded.visit, worded.part) == (visit.number, ACTION)]
    return told[-1] if told else action(record, visit) if visit.done else ""


def action(record: Record, visit: Visit) -> str:
    """The action of a stop with the values as they were when it was left."""
    linked = record.books(visit.text)
    return action_text(View(record.state, linked, visit.run, visit=visit.number, upto=visit.closed), visit)


def _points(record: Record, visit: Visit, entries: list[Entry]) -> Iterator[tuple[int, Point]]:
    """(event, what came of the stop), not yet in order."""
    for place, n in visit.confirmed.items():
        yield n, Point((f"Confirmed: {place} ", Ref(n)))
    for entry in entries:
        yield entry.n, reading_point(record, entry)
    for many in record.state.sums.values():
        for worked in many:
            if worked.visit == visit.number:
                yield worked.n, sum_point(record, worked)
    for sign in record.state.signs:
        if sign.visit == visit.number:
            yield sign.n, Point(sign_line(record, sign))
    for found in record.state.found:
        if found.visit == visit.number:
            point = finding(record, found, refs=True)
            yield found.n, Point((Tinted("Found: ", "strong"), *point.line), point.under)


def reading_point(record: Record, entry: Entry) -> Point:
    """A reading with its judgement, its event, and all its earlier values with who corrected them, when and why."""
    line: list[Piece] = [f"{before_answer(record.label(entry))} ", Tinted(record.said(entry), "strong")]
    word, tone = record.judgement(entry)
    line += ["; ", Tinted(word, tone)] if word else []
    line += ["; outside what is possible, said twice"] if entry.odd else []
    line += [f"; late entry, taken {stamp(entry.late_at)}, noted {stamp(entry.at)}"] if entry.late_at else []
    line += [" ", Ref(entry.n)]
    if not record.live(entry) and not record.state.visits[entry.visit - 1].struck:
        line.append(" gone back over, counts no more")
    return Point(tuple(line), tuple(_corrections(record, entry)))


def _corrections(record: Record, entry: Entry) -> Iterator[Line]:
    for typed, value, n in entry.before:
        event = record.event(n)
        who = f"{record.who(event['who'])}, {stamp(event['at'])}"
        was = record.earlier(entry, typed, value)
        yield ("Corrected ", Ref(n), f" from {was} by {who}: {event['reason']}")


def sum_point(record: Record, worked: Worked) -> Point:
    """A sum: what it gave, and under it what it was given."""
    linked = record.books(record.state.visits[worked.visit - 1].text)
    line: list[Piece] = [f"Worked out {words_of(worked.name)} ({words_of(worked.use)}, version {worked.version}): "]
    line += [Tinted(_outputs(worked, linked), "strong"), " ", Ref(worked.n)]
    line += [", again ", Ref(worked.latest)] if worked.latest != worked.n else []
    line += [" rests on a corrected value, not gone through yet"] if worked.n in record.state.unsettled else []
    given = tuple(_inputs(record, worked, linked))
    return Point(tuple(line), (given,) if given else ())


def _outputs(worked: Worked, linked: Linked) -> str:
    if worked.no_result is not None:
        return f"no result, {worked.no_result}"
    said = []
    for name, value in worked.outputs.items():
        variable = linked.variables.get(f"{worked.name}.{name}")
        if variable is None or value is None or (isinstance(value, dict) and "low" not in value):
            said.append(outputs_plain({name: value}))
        elif isinstance(value, dict):
            said.append(f"{words_of(name)} {range_from(value).text(variable.unit, variable.resolution)}")
        else:
            plain = with_unit(decimal_text(fraction(value)), variable.unit) if variable.is_number else str(value)
            said.append(f"{words_of(name)} {plain}")
    return ", ".join(said)


def _inputs(record: Record, worked: Worked, linked: Linked) -> Iterator[Piece]:
    """`from clear 338 mm [78], least 1 mm (least_gap)`: readings with their events, limits as they are set."""
    begun = False
    for key, argument in linked.arguments.get(worked.name, {}).items():
        names = (argument.name, argument.name.partition(".")[0], argument.name.partition(".")[2])
        sources = [n for n in worked.sources if _name_of(record, n) in names]
        values: list[Piece] = []
        for n in sources:
            values += [f" {_source(record, n)}", *refs([n])]
        if not values and argument.name in linked.limits:
            limit = linked.limits[argument.name]
            values = [f" {as_typed(limit.typed, limit.unit)} ({words_of(argument.name)})"]
        yield Tinted(f"{', ' if begun else 'from '}{words_of(key)}", "quiet")
        yield from values or [f" {argument.name if argument.how == 'literal' else words_of(argument.name)}"]
        begun = True


def _name_of(record: Record, n: int) -> str:
    event = record.event(n)
    return f"drum.{event['name']}" if event["what"] == "fact" else str(event.get("name", ""))


def _source(record: Record, n: int) -> str:
    if n in record.state.entries:
        entry = record.state.entries[n]
        return (f"{entry.place} " if entry.place else "") + record.said(entry)
    return outputs_plain(record.event(n).get("outputs", {}))


def sign_line(record: Record, sign: SignOff) -> Line:
    """A look: meaning, name and role, time, whether it stands, and the event."""
    words = meaning(record, sign)
    said: list[Piece] = [Tinted(f"{words[:1].upper()}{words[1:]}", "strong")]
    said += [f": {who_and_role(record, sign.n)}, {stamp(sign.at)}", f"; {sign.note}" if sign.note else "", " "]
    return (*said, Ref(sign.n))
