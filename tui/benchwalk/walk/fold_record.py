"""Folding the record: readings, sums, findings, corrections and sign-offs."""

from __future__ import annotations

from typing import Any

from ..plaindata import changed
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
            recording=e.get("recording"),
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
            allowed=e.get("allowed", ""),
        ),
    )


def settle(s: State, n: int) -> None:
    """The thing noted at event `n` is gone through."""
    if n in s.unsettled:
        s.unsettled.remove(n)


def _worked(s: State, e: Event) -> None:
    if e["again"]:
        many = s.sums[(e["run"], e["name"])]
        again = {key: e[key] for key in ("version", "sources", "outputs", "no_result")}
        for i, worked in enumerate(many):
            if worked.n == e["again"]:
                many[i] = changed(worked, latest=e["n"], **again)
        settle(s, e["again"])
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
        for i, found in enumerate(s.found):
            if found.n == e["again"]:
                s.found[i] = changed(found, sentence=e["sentence"], latest=e["n"])
        settle(s, e["again"])
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


def _change(s: State, of: int, **fields: Any) -> None:
    """Put a changed entry where the old one stood."""
    old = s.entries[of]
    entry = changed(old, **fields)
    s.entries[of] = entry
    if entry.visit == 0:
        s.facts[entry.name] = entry
        return
    many = s.readings[(entry.run, entry.name)]
    many[next(i for i, e in enumerate(many) if e.n == of)] = entry


def _corrected(s: State, e: Event) -> None:
    old = s.entries[e["of"]]
    kept = {key: e[key] for key in ("typed", "value", "unit", "odd", "verdict", "by", "against")}
    before = (*old.before, (old.typed, old.value or "", e["n"]))
    _change(s, e["of"], **kept, why=None, allowed="", before=before, corrected_at=e["at"], recording=e.get("recording"))
    s.unsettled = sorted({*s.unsettled, *e["touches"]})
    if s.diverged in s.unsettled:
        mark(s, s.diverged, "ok")
        s.diverged = None


def _rejudged(s: State, e: Event) -> None:
    _change(s, e["of"], verdict=e["verdict"], by=e["by"])
    settle(s, e["of"])


def _stands(s: State, e: Event) -> None:
    settle(s, e["took"])


def mark(s: State, n: int | None, state: str) -> None:
    """Mark the way taken, or the action done, at event `n`."""
    s.took = [changed(t, state=state) if t.n == n else t for t in s.took]
    s.worded = [changed(w, state=state) if w.n == n else w for w in s.worded]


def _diverged(s: State, e: Event) -> None:
    settle(s, e["took"])
    for n in e.get("keeps", ()):  # what that branch found stays as it was said, until it is known whether it stands
        settle(s, n)
    if s.diverged is not None:  # a later way that was known to lead elsewhere is looked at again after this one
        mark(s, s.diverged, "ok")
        s.unsettled = sorted({*s.unsettled, s.diverged})
    s.diverged = e["took"]
    mark(s, e["took"], "diverged")


def _accepted(s: State, e: Event) -> None:
    mark(s, e["took"], "accepted")
    s.found = [f for f in s.found if f.n not in e.get("withdraws", ())]
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
    if refused and e.get("again"):
        return  # a look given again that was refused: what was void stays void
    if not refused and e["again"]:
        s.signs = [changed(old, renewed=e["n"]) if old.n == e["again"] else old for old in s.signs]
        return
    visit.hold = f"refused for {e['refused_for']}" if refused and e["refused_for"] else e["what"]


def _not_needed(s: State, e: Event) -> None:
    s.visits[e["visit"] - 1].hold = "not needed"


def _told(s: State, e: Event) -> None:
    s.visits[e["visit"] - 1].told = True


def _voided(s: State, e: Event) -> None:
    s.signs = [changed(sign, void=e["because"]) if sign.n == e["sign_off"] else sign for sign in s.signs]
    settle(s, e["sign_off"])


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
