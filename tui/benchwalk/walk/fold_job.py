"""Folding what happens to a job as a whole."""

from __future__ import annotations

from .events import Event
from .state import Entry, State


def _opened(s: State, e: Event) -> None:
    s.job, s.kind, s.procedure, s.revision = e["job"], e["kind"], e["procedure"], e["revision"]
    s.title, s.text, s.content = e["title"], e["text"], e["content"]
    s.texts, s.drum = dict(e["texts"]), dict(e["drum"])
    s.taken, s.note, s.owner = dict(e["given"]), dict(e["note"]), e["owner"]
    s.opened_at, s.opened_by, s.person = e["at"], e["who"], e["who"]
    s.people = [e["who"]]


def _readied(s: State, e: Event) -> None:
    s.readied = True


def _fact(s: State, e: Event) -> None:
    entry = Entry(e["n"], 0, 0, e["name"], None, e["typed"], e["value"], e["unit"], None, None, None, e["who"], e["at"])
    s.facts[e["name"]] = entry
    s.entries[e["n"]] = entry


def _paused(s: State, e: Event) -> None:
    s.paused = e["note"] or "put down"


def _resumed(s: State, e: Event) -> None:
    _taken_up(s)


def _taken_up(s: State) -> None:
    """Whoever takes work up looks at the place first, and reads its hazards again."""
    s.paused = None
    s.recheck = bool(s.visit) and not s.ended
    here = s.here()
    if here is not None and here.closed is None:
        here.acked = False
        here.who = s.person
        if s.person not in here.hands:
            here.hands = (*here.hands, s.person)


def _place_checked(s: State, e: Event) -> None:
    s.recheck = False


def _handed_over(s: State, e: Event) -> None:
    s.handed_to, s.hand_note = e["to"], e["note"]


def _taken_on(s: State, e: Event) -> None:
    s.person, s.handed_to, s.hand_note = e["who"], None, ""
    if e["who"] not in s.people:
        s.people.append(e["who"])
    _taken_up(s)


def _problem(s: State, e: Event) -> None:
    s.problem = e["n"]
    s.problems.append({k: e[k] for k in ("n", "at", "who", "visit", "path", "step", "text")} | {"settled": None})


def _problem_settled(s: State, e: Event) -> None:
    s.problem = None
    s.problems = [p | {"settled": e["text"]} if p["n"] == e["problem"] else p for p in s.problems]


def _noted(s: State, e: Event) -> None:
    s.notes.append((e["n"], e["visit"], e["who"], e["at"], e["text"]))


def _owner_removed(s: State, e: Event) -> None:
    s.owner_removed = {"at": e["at"], "who": e["who"]}


def _nothing(s: State, e: Event) -> None:
    """Kept for the record; changes nothing."""


def _accounted(s: State, e: Event) -> None:
    s.missing = e.get("missing", "")
    s.accounted = not s.missing or e["sign"] is not None


def _job_released(s: State, e: Event) -> None:
    s.released = {"n": e["n"], "at": e["at"], "meaning": e["meaning"], "who": e["sign"]["who"], "head": e["head"]}


PUT = {
    "opened": _opened,
    "readied": _readied,
    "fact": _fact,
    "paused": _paused,
    "resumed": _resumed,
    "place_checked": _place_checked,
    "handed_over": _handed_over,
    "taken_on": _taken_on,
    "problem": _problem,
    "problem_settled": _problem_settled,
    "noted": _noted,
    "owner_removed": _owner_removed,
    "lock_taken_over": _nothing,
    "turned_away": _nothing,
    "not_yet": _nothing,
    "accounted": _accounted,
    "job_released": _job_released,
}
