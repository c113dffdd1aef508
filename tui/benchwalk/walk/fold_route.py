"""Folding the route: where the walk goes and what is confirmed on the way."""

from __future__ import annotations

from dataclasses import replace

from .events import Event
from .state import Frame, Result, State, Took, Visit


def _entered(s: State, e: Event) -> None:
    here = s.here()
    if here is not None and here.closed is None and here.run == e["run"]:
        here.closed, here.closed_at = e["n"], e["at"]
    top = s.frames[-1]
    s.frames = (*s.frames[:-1], top._replace(step=e["step"]))
    s.visits.append(
        Visit(
            e["visit"],
            e["run"],
            e["path"],
            e["text"],
            e["step"],
            e["n"],
            e["at"],
            s.frames,
            e["why"],
            e["by_hand"],
            s.person,
            e["stage"],
        )
    )
    s.visit = e["visit"]
    s.pending = None
    if not e["by_hand"]:
        s.counts[(e["run"], "entered:" + e["step"])] = e["pass"]


def _ran(s: State, e: Event) -> None:
    s.runs = e["run"]
    s.frames = (*s.frames, Frame(e["run"], e["path"], e["text"], "", e["given"], s.visit, e["back"]))


def _returned(s: State, e: Event) -> None:
    gone = s.frames[-1]
    here = s.here()
    if here is not None and here.closed is None and here.run == gone.run:
        here.closed, here.closed_at = e["n"], e["at"]
    name = gone.path.rpartition("/")[2]
    s.results.setdefault((s.frames[-2].run, name), []).append(Result(e["n"], gone.caller, gone.run, e["outcome"]))
    s.frames = s.frames[:-1]
    s.visit = gone.caller
    visit = s.visits[gone.caller - 1]
    if gone.back:
        visit.acked = False
    else:
        visit.ran = True


def _acknowledged(s: State, e: Event) -> None:
    s.visits[e["visit"] - 1].acked = True


def _done(s: State, e: Event) -> None:
    s.visits[e["visit"] - 1].done = True


def _confirmed(s: State, e: Event) -> None:
    s.visits[e["visit"] - 1].confirmed[e["place"]] = e["n"]


def _waiting(s: State, e: Event) -> None:
    visit = s.visits[e["visit"] - 1]
    visit.until, visit.latest = e["until"], e["latest"]


def _waited(s: State, e: Event) -> None:
    s.visits[e["visit"] - 1].waited = e["n"]


def _close(s: State, e: Event) -> Visit:
    visit = s.visits[e["visit"] - 1]
    visit.closed, visit.closed_at = e["n"], e["at"]
    return visit


def _late(s: State, e: Event) -> None:
    visit = _close(s, e)
    s.pending = (visit.path, e["go"], "the latest time has passed", False)
    s.took.append(Took(e["n"], e["visit"], None, e["go"], "the latest time has passed", e["reads"]))


def _skipped(s: State, e: Event) -> None:
    s.visits[e["visit"] - 1].skipped = e["reason"]


def _happened(s: State, e: Event) -> None:
    owner = next(f for f in s.frames if f.path == e["owner_path"])
    if e["count"]:
        s.counts[(owner.run, "event:" + e["event"])] = e["count"]
    if e["go"]:
        _close(s, e)
        s.pending = (e["owner_path"], e["go"], e["say"], False)


def _took(s: State, e: Event) -> None:
    visit = _close(s, e)
    s.took.append(Took(e["n"], e["visit"], e["line"], e["go"], e["because"], e["reads"]))
    if e["at_most"]:
        s.counts[(visit.run, f"{visit.step}:{e['line']}")] = e["count"]
    s.pending = (visit.path, e["go"], e["because"], False)


def _overruled(s: State, e: Event) -> None:
    visit = _close(s, e)
    s.took.append(Took(e["n"], e["visit"], e["line"], e["go"], e["because"], [], "accepted"))
    s.pending = (visit.path, e["go"], e["because"], False)


def _ended(s: State, e: Event) -> None:
    _close(s, e)
    s.ended = {k: e[k] for k in ("n", "at", "who", "outcome", "proposes", "say")}


def _went_back(s: State, e: Event) -> None:
    struck = set(e["struck"])
    for number in struck:
        s.visits[number - 1] = replace(s.visits[number - 1], struck=True)
    target = s.visits[e["visit"] - 1]
    s.frames = target.frames
    s.signs = [
        replace(sign, void="the walk went back over it") if sign.visit in struck and sign.void is None else sign
        for sign in s.signs
    ]
    s.unsettled = []
    s.diverged = None
    s.ended, s.accounted = None, False
    s.pending = (target.path, e["step"], e["reason"], True)


PUT = {
    "entered": _entered,
    "ran": _ran,
    "returned": _returned,
    "acknowledged": _acknowledged,
    "done": _done,
    "confirmed": _confirmed,
    "waiting": _waiting,
    "waited": _waited,
    "late": _late,
    "skipped": _skipped,
    "happened": _happened,
    "took": _took,
    "overruled": _overruled,
    "ended": _ended,
    "went_back": _went_back,
}
