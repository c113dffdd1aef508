"""Folding the route: where the walk goes and what is confirmed on the way."""

from __future__ import annotations

from ..plaindata import changed
from .events import Event
from .fold_record import mark, settle
from .state import Frame, Result, State, Took, Visit, Worded


def _entered(s: State, e: Event) -> None:
    here = s.here()
    if here is not None and here.closed is None and here.run == e["run"]:
        here.closed, here.closed_at, here.broken = e["n"], e["at"], e["why"]
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
            hands=(s.person,),
        )
    )
    s.visit = e["visit"]
    s.pending = None
    s.counts[(e["run"], "entered:" + e["step"])] = e["pass"]


def _ran(s: State, e: Event) -> None:
    s.runs = e["run"]
    frame = Frame(e["run"], e["n"], e["path"], e["text"], "", s.visit, e["back"], e["event"])
    s.begun[frame.run] = frame
    s.given[frame.run] = e["given"]
    here = s.here()
    if here is not None:
        s.stood[frame.run] = changed(here, confirmed=dict(here.confirmed), worked=list(here.worked))
    s.frames = (*s.frames, frame)
    s.happened = None


def _given_again(s: State, e: Event) -> None:
    s.given[e["run"]] = e["given"]
    settle(s, s.begun[e["run"]].n)


def _returned(s: State, e: Event) -> None:
    gone = s.frames[-1]
    here = s.here()
    if here is not None and here.closed is None and here.run == gone.run:
        here.closed, here.closed_at = e["n"], e["at"]
        here.broken = e["why"] if s.pending is not None else None
    above, _, name = gone.path.rpartition("/")
    owner = next(f for f in s.frames if f.path == above)
    s.results.setdefault((owner.run, name), []).append(Result(e["n"], gone.caller, gone.run, e["outcome"]))
    s.frames = s.frames[:-1]
    s.visit = gone.caller
    visit = s.visits[gone.caller - 1]
    visit.who = s.person
    if s.person not in visit.hands:
        visit.hands = (*visit.hands, s.person)
    if gone.back:
        visit.acked = False
    else:
        visit.ran = True


def _acknowledged(s: State, e: Event) -> None:
    s.visits[e["visit"] - 1].acked = True


def _worded(s: State, e: Event) -> None:
    again = [w for w in s.worded if (w.visit, w.part) != (e["visit"], e["part"])]
    s.worded = [*again, Worded(e["n"], e["visit"], e["part"], e["text"], e["reads"])]


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
    visit: Visit = s.visits[e["visit"] - 1]
    visit.closed, visit.closed_at = e["n"], e["at"]
    return visit


def _late(s: State, e: Event) -> None:
    visit = _close(s, e)
    visit.broken = "the latest time has passed"
    s.pending = (visit.path, e["go"], visit.broken, False)
    s.took.append(Took(e["n"], e["visit"], None, e["go"], "the latest time has passed", e["reads"]))


def _skipped(s: State, e: Event) -> None:
    s.visits[e["visit"] - 1].skipped = e["reason"]


def _happened(s: State, e: Event) -> None:
    owner = next(f for f in s.frames if f.path == e["owner_path"])
    if e["count"]:
        s.counts[(owner.run, "event:" + e["event"])] = e["count"]
    if e["go"]:
        _close(s, e).broken = e["say"]
        s.pending = (e["owner_path"], e["go"], e["say"], False)
    else:
        s.happened = (e["owner_path"], e["event"])


def _took(s: State, e: Event) -> None:
    visit = _close(s, e)
    s.took.append(Took(e["n"], e["visit"], e["line"], e["go"], e["because"], e["reads"]))
    if e["at_most"]:
        s.counts[(visit.run, f"{visit.step}:{e['line']}")] = e["count"]
    s.pending = (visit.path, e["go"], e["because"], False)


def _overruled(s: State, e: Event) -> None:
    if e["undoes"]:
        s.took = [changed(t, state="overruled") if t.n == e["undoes"] else t for t in s.took]
        s.found = [f for f in s.found if f.n not in e["withdraws"]]
        _strike(s, e["n"], [v.number for v in s.visits if v.number > e["visit"] and not v.struck])
        s.frames = s.visits[e["visit"] - 1].frames
        s.visit = e["visit"]
    else:
        _close(s, e)
    s.took.append(Took(e["n"], e["visit"], e["line"], e["go"], e["because"], [], "accepted"))
    s.pending = (s.visits[e["visit"] - 1].path, e["go"], e["because"], False)


def _ended(s: State, e: Event) -> None:
    _close(s, e)
    s.ended = {k: e[k] for k in ("n", "at", "who", "outcome", "proposes", "say")}


def _went_back(s: State, e: Event) -> None:
    target = s.visits[e["visit"] - 1]
    _strike(s, e["n"], e["struck"])
    open_runs = {frame.run for frame in s.frames}
    for frame in target.frames[1:]:
        if frame.run not in open_runs:
            _reopen(s, frame, (target.entered, e["n"]))
    s.frames = target.frames
    s.signs = [
        sign if sign.void or s.live(sign.visit, sign.n) else changed(sign, void="the walk went back over it")
        for sign in s.signs
    ]
    if s.diverged is not None:
        mark(s, s.diverged, "ok")
    s.unsettled = [n for n in s.unsettled if s.still(n)]
    s.diverged = None
    s.ended, s.accounted, s.missing, s.recheck = None, False, "", False
    s.pending = (target.path, e["step"], e["reason"], True)


def _strike(s: State, n: int, numbers: list[int]) -> None:
    """What was noted in those visits no longer counts."""
    for number in numbers:
        visit = s.visits[number - 1]
        s.visits[number - 1] = changed(visit, struck=True, closed=visit.closed or n)


def _reopen(s: State, frame: Frame, cut: tuple[int, int]) -> None:
    """The visit that waited for a run waits again, as it stood when the run began; what it came to since is cut."""
    cuts = (*s.visits[frame.caller - 1].cuts, cut)
    stood = s.stood[frame.run]
    s.visits[frame.caller - 1] = changed(stood, confirmed=dict(stood.confirmed), worked=list(stood.worked), cuts=cuts)


PUT = {
    "entered": _entered,
    "ran": _ran,
    "given_again": _given_again,
    "returned": _returned,
    "acknowledged": _acknowledged,
    "worded": _worded,
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
