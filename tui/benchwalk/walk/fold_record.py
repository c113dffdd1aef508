"""Folding the record: readings, sums, findings, corrections and sign-offs."""

from __future__ import annotations

from .events import Event
from .state import Entry, Found, SignOff, State, Worked


def _chose(s: State, e: Event) -> None:
    visit = s.visits[e["visit"] - 1]
    visit.way = e["way"]
    _note_entry(
        s,
        Entry(
            e["n"],
            e["visit"],
            visit.run,
            e["name"],
            None,
            e["say"],
            e["way"],
            "",
            None,
            None,
            None,
            e["who"],
            e["at"],
        ),
    )


def _note_entry(s: State, entry: Entry) -> None:
    s.entries[entry.n] = entry
    s.readings.setdefault((entry.run, entry.name), []).append(entry)


def _read(s: State, e: Event) -> None:
    _note_entry(
        s,
        Entry(
            e["n"],
            e["visit"],
            e["run"],
            e["name"],
            e["place"],
            e["typed"],
            e["value"],
            e["unit"],
            e["verdict"],
            e["by"],
            e["against"],
            e["who"],
            e["at"],
            e["odd"],
            None,
            e["late_at"],
        ),
    )


def _left_out(s: State, e: Event) -> None:
    _note_entry(
        s,
        Entry(
            e["n"],
            e["visit"],
            e["run"],
            e["name"],
            e["place"],
            "",
            None,
            "",
            None,
            None,
            None,
            e["who"],
            e["at"],
            False,
            e["why"],
        ),
    )


def _settle(s: State, n: int) -> None:
    if n in s.unsettled:
        s.unsettled.remove(n)


def _worked(s: State, e: Event) -> None:
    if e["again"]:
        for worked in s.sums[(e["run"], e["name"])]:
            if worked.n == e["again"]:
                worked.outputs, worked.no_result, worked.latest = e["outputs"], e["no_result"], e["n"]
        _settle(s, e["again"])
        return
    s.sums.setdefault((e["run"], e["name"]), []).append(
        Worked(
            e["n"],
            e["visit"],
            e["run"],
            e["name"],
            e["use"],
            e["version"],
            e["sources"],
            e["outputs"],
            e["no_result"],
            e["n"],
        )
    )
    s.visits[e["visit"] - 1].worked.append(e["name"])


def _found(s: State, e: Event) -> None:
    if e["again"]:
        for found in s.found:
            if found.n == e["again"]:
                found.sentence, found.latest = e["sentence"], e["n"]
        _settle(s, e["again"])
        return
    s.found.append(
        Found(
            e["n"],
            e["visit"],
            e["run"],
            e["finding"],
            e["sentence"],
            e["grade"],
            e["evidence"],
            e["proposes"],
            e["n"],
        )
    )


def _corrected(s: State, e: Event) -> None:
    entry = s.entries[e["of"]]
    entry.before.append((entry.typed, entry.value or "", e["n"]))
    entry.typed, entry.value, entry.unit, entry.odd = e["typed"], e["value"], e["unit"], e["odd"]
    entry.verdict, entry.by, entry.against = e["verdict"], e["by"], e["against"]
    entry.why = None
    s.unsettled = sorted({*s.unsettled, *e["touches"]})


def _rejudged(s: State, e: Event) -> None:
    entry = s.entries[e["of"]]
    entry.verdict, entry.by = e["verdict"], e["by"]
    _settle(s, e["of"])


def _stands(s: State, e: Event) -> None:
    _settle(s, e["took"])


def _diverged(s: State, e: Event) -> None:
    s.diverged = e["took"]
    for took in s.took:
        if took.n == e["took"]:
            took.state = "diverged"
    _settle(s, e["took"])


def _accepted(s: State, e: Event) -> None:
    for took in s.took:
        if took.n == e["took"]:
            took.state = "accepted"
    s.diverged = None


def _signed(s: State, e: Event) -> None:
    visit = s.visits[e["visit"] - 1]
    refused = e["what"] == "refused"
    sign = SignOff(
        e["n"],
        e["visit"],
        e["what"],
        e["step"],
        visit.path,
        e["sign"]["who"],
        e["sign"]["at"],
        e["meaning"],
        e["covers"],
        e["note"] if refused else "",
    )
    s.signs.append(sign)
    if not refused and e["again"]:
        for old in s.signs:
            if old.n == e["again"]:
                old.renewed = e["n"]
        return
    visit.hold = f"refused for {e['refused_for']}" if refused and e["refused_for"] else e["what"]


def _not_needed(s: State, e: Event) -> None:
    s.visits[e["visit"] - 1].hold = "not needed"


def _told(s: State, e: Event) -> None:
    s.visits[e["visit"] - 1].told = True


def _voided(s: State, e: Event) -> None:
    for sign in s.signs:
        if sign.n == e["sign_off"]:
            sign.void = e["because"]
    _settle(s, e["sign_off"])


PUT = {
    "chose": _chose,
    "read": _read,
    "left_out": _left_out,
    "worked": _worked,
    "found": _found,
    "corrected": _corrected,
    "rejudged": _rejudged,
    "stands": _stands,
    "diverged": _diverged,
    "released": _signed,
    "refused": _signed,
    "not_needed": _not_needed,
    "told": _told,
    "voided": _voided,
    "accepted": _accepted,
}
