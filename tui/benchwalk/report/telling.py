"""Every event of a log as a sentence: the last pages of the shop's report, where every reference leads."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from ..daybook.entries import steps_named
from ..job.held import holder_words
from ..procedure.showing import in_words, words_of
from ..walk.places import step_name
from ..walk.wording import as_noted, as_typed
from .parts import Events, Line, Piece, Ref, Told
from .record import Record, stamp, when

Event = Mapping[str, Any]
_KEPT = re.compile(r"[0-9a-f]{64}\.[0-9a-z]+")  # the name of a picture or sound in the job's folder


def events(record: Record) -> Events:
    """All events in order. Where the clock went back, that is said; the order is that of the numbers."""
    rows: list[Told] = []
    before = None
    for event in record.events:
        at = when(event["at"])
        back = "; the clock went back" if at and before and at < before else ""
        before = at or before
        rows.append(Told(event["n"], stamp(event["at"]) + back, record.who(event["who"]), told(record, event)))
    return Events(tuple(rows))


def told(record: Record, event: Event) -> Line:
    """One event in words, with references to the events it rests on."""
    return tuple(piece for piece in TOLD[event["what"]](record, event) if piece != "")


def refs(numbers: Iterable[int], words: str = "") -> Iterator[Piece]:
    """References, with a space before each; where there are any, behind these words."""
    for n in numbers:
        if words:
            yield words
            words = ""
        yield " "
        yield Ref(n)


def _plain(text: str) -> Callable[[Record, Event], Iterator[Piece]]:
    """A sentence with the event's fields in it, for kinds that need no more."""

    def say(record: Record, event: Event) -> Iterator[Piece]:
        yield _filled(text, event)

    return say


def _filled(text: str, event: Event) -> str:
    """The text with the event's fields in its braces; what somebody wrote is not read for braces again."""
    return text.format_map({key: "none" if value is None else value for key, value in event.items()})


def _with(text: str | None) -> str:
    return f": {text}" if text else ""


def _signed(event: Event) -> str:
    sign = event.get("sign")
    if not sign:
        return ""
    role = f", {sign['role']}" if sign.get("role") else ""
    return f"; signed by {sign.get('name', sign.get('who', ''))}{role} ({sign.get('policy') or sign.get('how', '')})"


def _step(event: Event) -> str:
    return words_of(step_name(event.get("path") or "", event["step"]))


def _opened(record: Record, e: Event) -> Iterator[Piece]:
    note = "".join(f"; {key}: {value}" for key, value in e["note"].items())
    yield f"Job {e['job']} opened ({e['kind']}): {e['title']}, revision {e['revision']}{note}"


def _readied(record: Record, e: Event) -> Iterator[Piece]:
    yield "What is needed is at hand" + (f", but for: {e['waived']}" if e["waived"] else "")
    yield f"; hazards read: {'; '.join(e['hazards'])}" if e["hazards"] else ""


def _ran(record: Record, e: Event) -> Iterator[Piece]:
    under = f", as {words_of(e['path'])}" if e["path"] else ""
    yield f"Began {e['title']} ({e['procedure']}, revision {e['revision']}{under}), text {e['text'][:16]}"


def _entered(record: Record, e: Event) -> Iterator[Piece]:
    why = in_words(e["why"], steps_named(record.state))
    yield f"Came to stop {e['visit']}, {_step(e)}{_with(why)}{' (by hand)' if e['by_hand'] else ''}"


def _value(e: Event) -> str:
    by = f" by {e['by']} {e['unit']}".rstrip() if e.get("by") not in (None, "0") else ""
    verdict = f"; {e['verdict']}{by}" if e["verdict"] else ""
    kept = f", kept as {e['value']}" if _KEPT.fullmatch(str(e["value"])) else ""
    odd = "; outside what is possible, said twice" if e["odd"] else ""
    typed = str(e["typed"]).strip()
    told = as_noted(typed, e["value"], e["unit"])
    beside = "" if told.split(" ")[0] in typed or typed in told else f" (typed {typed})"  # a comma, no digit before it
    return f"{told}{beside}{kept}{verdict}{odd}"


def _read(record: Record, e: Event) -> Iterator[Piece]:
    place = f" at {e['place']}" if e["place"] else ""
    late = f"; late entry, taken {stamp(e['late_at'])}" if e["late_at"] else ""
    yield f"Noted {words_of(e['name'])}{place}: {_value(e)}{late}"
    yield from _judged_by(e)


def _judged_by(e: Event) -> Iterator[Piece]:
    if e.get("against"):
        yield ", judged by"
        yield from refs([e["against"]])


def _left_out(record: Record, e: Event) -> Iterator[Piece]:
    place = f" at {e['place']}" if e["place"] else ""
    yield f"Left out {words_of(e['name'])}{place}: {e['why']}"


def _corrected(record: Record, e: Event) -> Iterator[Piece]:
    yield "Corrected "
    yield Ref(e["of"])
    yield f" to {_value(e)}: {e['reason']}"
    yield from refs(e["touches"], "; rests on it:")


def _worked(record: Record, e: Event) -> Iterator[Piece]:
    again = " again" if e["again"] else ""
    result = f"no result, {e['no_result']}" if e["no_result"] is not None else outputs_plain(e["outputs"])
    yield f"Worked out {words_of(e['name'])}{again} ({words_of(e['use'])}, version {e['version']}): {result}"
    yield from refs(e["sources"], "; from")


def _taken_over(record: Record, e: Event) -> Iterator[Piece]:
    yield f"Taken over from {holder_words(e['holder'], record.names)}: {e['reason']}"


def outputs_plain(outputs: Mapping[str, Any]) -> str:
    """What a sum gave, as the log has it."""
    return ", ".join(f"{words_of(name)} {_output(value)}" for name, value in outputs.items())


def _output(value: Any) -> str:
    if isinstance(value, Mapping) and "low" in value:
        low, high = value["low"], value["high"]
        return f"{'any' if low is None else low} to {'any' if high is None else high}"
    if isinstance(value, Mapping):
        return "; ".join(f"{place}: {_output(each)}" for place, each in value.items())
    return "none" if value is None else str(value)


def _found(record: Record, e: Event) -> Iterator[Piece]:
    yield f"Found{' again' if e['again'] else ''} {words_of(e['finding'])} ({words_of(e['grade'])}): {e['sentence']}"
    yield from refs(e["evidence"], " Shown by")


def _took(record: Record, e: Event) -> Iterator[Piece]:
    yield f"On to {words_of(e['go'])}{_with(e['because'])}"
    if e.get("at_most"):
        yield f" (time {e['count']} of at most {e['at_most']})"
    yield from refs(e["reads"], "; rests on")


def _worded(record: Record, e: Event) -> Iterator[Piece]:
    yield f"The action read: {e['text']}"
    yield from refs(e["reads"], "; rests on")


def _of(before: str, key: str, after: str) -> Callable[[Record, Event], Iterator[Piece]]:
    """A sentence about another event."""

    def say(record: Record, event: Event) -> Iterator[Piece]:
        yield f"{before} "
        yield Ref(event[key])
        yield _filled(after, event) + _signed(event)

    return say


def _look(record: Record, e: Event) -> Iterator[Piece]:
    yield f"Looked at {words_of(e['step'])}: {e['meaning']}{_signed(e)}{_with(e.get('note'))}"
    if e.get("again"):
        yield "; in place of"
        yield from refs([e["again"]])
    yield from refs(e["covers"], "; covers")


def _job_released(record: Record, e: Event) -> Iterator[Piece]:
    yield f"Job released: {e['meaning']}{_signed(e)}; head {e['head'][:16]}"
    yield from refs(e["covers"], "; covers")


def _overruled(record: Record, e: Event) -> Iterator[Piece]:
    yield f"Went on to {words_of(e['go'])} {e['because']}{_signed(e)}"
    if e["undoes"]:
        yield "; in place of"
        yield from refs([e["undoes"]])
    yield from refs(e["withdraws"], "; withdraws")


def _accepted(record: Record, e: Event) -> Iterator[Piece]:
    yield from _of("What was done at", "took", " stands all the same: {reason}")(record, e)
    yield from refs(e.get("withdraws") or (), "; withdraws")


def _diverged(record: Record, e: Event) -> Iterator[Piece]:
    because = in_words(e["because"], steps_named(record.state, e["would"]))
    yield from _of("What was done at", "took", " would be otherwise now: {because}")(record, {**e, "because": because})


def _went_back(record: Record, e: Event) -> Iterator[Piece]:
    stops = f"{'stop' if len(e['struck']) == 1 else 'stops'} {', '.join(map(str, e['struck']))}"
    yield f"Went back to stop {e['visit']}: {e['reason']}; no longer counts: {stops}"


def _happened(record: Record, e: Event) -> Iterator[Piece]:
    yield f"Happened: {e['say']}" + (f"; on to {words_of(e['go'])}" if e["go"] else "")


def _handed(record: Record, e: Event) -> Iterator[Piece]:
    yield f"Handed over to {record.who(e['to'])}{_with(e['note'])}"


def _taken_on(record: Record, e: Event) -> Iterator[Piece]:
    how = {"name": ", by name", "pin": ", by PIN"}.get(e.get("how", ""), "")
    yield f"Taken on{how}{_with(e['note'])}"


def _skipped(record: Record, e: Event) -> Iterator[Piece]:
    yield f"Skipped stop {e['visit']}: {e['reason']}{_signed(e)}"


def _accounted(record: Record, e: Event) -> Iterator[Piece]:
    yield "Tools and loose parts counted" + _with(", ".join(e["items"]))
    if e.get("missing"):
        yield f"; missing: {e['missing']}" + (f"; the job may close with it{_signed(e)}" if e["sign"] else "")


def _noting(text: str, key: str) -> Callable[[Record, Event], Iterator[Piece]]:
    """Fixed words, then what somebody wrote."""

    def say(record: Record, event: Event) -> Iterator[Piece]:
        yield text + _with(event[key])

    return say


def _fact(record: Record, e: Event) -> Iterator[Piece]:
    yield f"Known of the drum: {words_of(e['name'])} {as_typed(str(e['typed']), e['unit'])}"


def _acknowledged(record: Record, e: Event) -> Iterator[Piece]:
    yield f"Hazards read: {'; '.join(e['hazards'])}".replace("; ; ", "; ")  # a notice names no consequence


def _waiting(record: Record, e: Event) -> Iterator[Piece]:
    latest = f", at the latest {stamp(e['latest'])}" if e["latest"] else ""
    yield f"Waiting until {stamp(e['until'])}{latest}"


TOLD: dict[str, Callable[[Record, Event], Iterator[Piece]]] = {
    "opened": _opened,
    "readied": _readied,
    "fact": _fact,
    "paused": _noting("Put down", "note"),
    "resumed": _plain("Taken up again"),
    "place_checked": _noting("Looked at the drum again", "said"),
    "handed_over": _handed,
    "taken_on": _taken_on,
    "owner_removed": _plain("The owner's facts were removed from beside the log"),
    "problem": _noting("Problem with this step", "text"),
    "problem_settled": _of("Problem", "problem", " settled: {text}"),
    "noted": _noting("Note", "text"),
    "lock_taken_over": _taken_over,
    "turned_away": _noting("A sign-off was turned away", "why"),
    "entered": _entered,
    "ran": _ran,
    "given_again": _plain("Handed on anew: {because}"),
    "returned": lambda record, e: iter([f"Came back from {words_of(e['path'])}: {e['outcome']}"]),
    "acknowledged": _acknowledged,
    "worded": _worded,
    "done": _plain("Done"),
    "not_yet": _plain("Not yet"),
    "chose": lambda record, e: iter([f"Chose {words_of(e['name'])}: {e['say']}"]),
    "confirmed": _plain("Confirmed: {place}"),
    "waiting": _waiting,
    "waited": lambda record, e: iter(["Waited" + (f", cut short: {e['early']}" if e["early"] else "")]),
    "late": lambda record, e: iter([f"The latest time had passed; on to {words_of(e['go'])}"]),
    "skipped": _skipped,
    "happened": _happened,
    "took": _took,
    "overruled": _overruled,
    "ended": lambda record, e: iter([f"Ended {e['outcome']}{_with(e['say'])}"]),
    "read": _read,
    "left_out": _left_out,
    "worked": _worked,
    "found": _found,
    "corrected": _corrected,
    "rejudged": _of("Judged", "of", " anew: {verdict}"),
    "stands": _of("What was done at", "took", " stands: {because}"),
    "diverged": _diverged,
    "went_back": _went_back,
    "released": _look,
    "refused": _look,
    "not_needed": _noting("No look needed", "because"),
    "told": _plain("The {role} was told: {because}"),
    "voided": _of("Sign-off", "sign_off", " is void: {because}"),
    "accepted": _accepted,
    "accounted": _accounted,
    "job_released": _job_released,
}
"""Kind of event to its sentence; every kind there is."""
