"""Which actions of the walk make sense at a point, and why the others do not."""

from __future__ import annotations

from collections.abc import Callable

from ..daybook.page import Page
from ..session import Session
from ..walk.signing import just_taken
from ..walk.step_acts import happenings

Why = Callable[[Session, Page], str]


def _at_a_step(session: Session, page: Page) -> str:
    here = session.now()
    return "" if here.step is not None and here.kind != "recheck" else "no step is in hand here"


def _only(*kinds: str, because: str) -> Why:
    return lambda session, page: "" if page.kind in kinds else because


def _working(session: Session, page: Page) -> str:
    mine = page.kind not in ("paused", "handover", "others", "released")
    return "" if mine else "the work is not in your hand just now"


def _fix(session: Session, page: Page) -> str:
    if page.kind == "problem" or _working(session, page):
        return _working(session, page) or "a problem was reported here; it must be settled first"
    noted = [e for e in session.state.entries.values() if e.value is not None]
    return "" if noted else "nothing was noted yet that could be corrected"


def _back(session: Session, page: Page) -> str:
    if _working(session, page):
        return _working(session, page)
    return "" if session.state.visits else "no stop was walked yet"


def _skip(session: Session, page: Page) -> str:
    here = session.now()
    may = here.step is not None and here.step.may_skip is not None and here.kind != "recheck"
    return "" if may else "this step cannot be skipped; if it cannot be done, report it as a problem"


def _leave_out(session: Session, page: Page) -> str:
    asked = page.asked
    return "" if asked is not None and asked.reading.optional else "nothing is asked here that may be left out"


def _asked(session: Session, page: Page) -> str:
    return "" if page.asked is not None else "no reading is asked for here"


def _other_place(session: Session, page: Page) -> str:
    fits = page.asked is not None and page.asked.reading.where
    return "" if fits else "no reading is asked here whose places a sum names"


def _file(session: Session, page: Page) -> str:
    asked = page.asked
    fits = asked is not None and (asked.reading.sort in ("picture", "sound") or asked.reading.heard)
    if not fits or page.asked is None:
        return "no picture, no sound and nothing to be heard is asked for here"
    pictures = page.asked.reading.sort == "picture"
    folder = session.shop.pictures if pictures else session.shop.recordings
    return "" if folder else "the shop names no folder for this, in shop.yaml"


def _listen(session: Session, page: Page) -> str:
    if page.asked is not None and page.asked.reading.heard:
        return ""
    practice = session.state.kind != "customer" and _working(session, page) == ""
    return "" if practice else "nothing is asked for here that could be heard"


def _happened(session: Session, page: Page) -> str:
    if page.kind in ("paused", "handover", "others", "problem", "recheck", "released", "ended"):
        return "nothing can happen here while the work is not in hand"
    foreseen = happenings(session.state, session.bench)
    return "" if foreseen else "nothing is foreseen here; write a note, or report a problem"


def _other_branch(session: Session, page: Page) -> str:
    here = session.now()
    at_branches = here.step is not None and bool(here.step.lines) and here.kind != "recheck"
    return "" if at_branches or just_taken(session.state) else "no branches stand here to choose from"


def _hand_over(session: Session, page: Page) -> str:
    if len(session.bench.roles) < 2:
        return "nobody else works in this shop"
    return "" if page.kind not in ("handover", "released", "others") else "the work is not in your hand just now"


def _sign(session: Session, page: Page) -> str:
    if page.kind == "ended" and session.state.kind != "customer":
        return "a practice job is closed with Enter"
    if page.kind == "account":
        return "" if session.state.missing else "nothing was said to be missing"
    return "" if page.kind in ("hold", "sign-again", "ended") else "nothing waits for a sign-off here"


def _jump(session: Session, page: Page) -> str:
    if page.kind != "wait":
        return "nothing is waited for here"
    return "" if session.state.kind != "customer" else "on a customer's job the time runs in full"


_PUT_DOWN = "the work is not in your hand just now"

OFF: dict[str, Why] = {
    "walk.yes": _only("hazard", "account", because="nothing is asked here that takes a yes"),
    "walk.sign": _sign,
    "walk.missing": _only("account", because="nothing is counted here"),
    "walk.fix": _fix,
    "walk.happened": _happened,
    "walk.problem": _at_a_step,
    "walk.back": _back,
    "walk.skip": _skip,
    "walk.leave_out": _leave_out,
    "walk.late": _asked,
    "walk.other_place": _other_place,
    "walk.listen": _listen,
    "walk.newest": _file,
    "walk.other_branch": _other_branch,
    "walk.hand_over": _hand_over,
    "walk.leave_word": _working,
    "walk.way_out": _only("diverged", because="no corrected value leads elsewhere"),
    "walk.stand": _only("diverged", because="no corrected value leads elsewhere"),
    "walk.jump": _jump,
    "walk.report": _only("ended", "released", because="the walk is not at its end; its pages make one at any time"),
}
"""Actions that do not fit everywhere."""


def why_off(action: str, session: Session, page: Page) -> str:
    """Why an action cannot be done here; empty where it can."""
    why = OFF.get(action)
    return why(session, page) if why is not None else ""
