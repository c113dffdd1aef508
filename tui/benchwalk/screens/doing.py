"""What going on means at each point of a walk: the act that Enter or a foot switch sends."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from ..daybook.page import Page
from ..daybook.told import told as told_by_events
from ..errors import Refused
from ..session import Session
from ..walk import acts
from ..walk.decide import Decision

if TYPE_CHECKING:
    from .walk import WalkScreen


@dataclass(frozen=True)
class Wish:
    """An act to be done, and what it needs first: `file`, a picture or sound (`sort`), is to be kept with the job.

    `then` names what is said after it.
    """

    act: acts.Act
    then: str = ""
    file: str = ""
    sort: str = ""
    first: acts.Act | None = None

    def do(self, session: Session) -> Decision:
        """Do it; in the thread that writes."""
        act = self.act
        if self.file and isinstance(act, acts.Record | acts.Correct):
            act = replace(act, file=session.keep(self.file, self.sort))
        if self.first is not None:
            before = session.do(self.first)
            if before.refusal is not None:
                return before
        return session.do(act)

    def sure(self) -> Wish | None:
        """The same, meant on purpose."""
        if isinstance(self.act, acts.Record | acts.Correct):
            return replace(self, act=replace(self.act, sure=True))
        return None


def going_on(screen: WalkScreen, *, foot: bool) -> Wish | None:
    """The act that going on sends from here; None where it opens something instead. Refused where it cannot."""
    page = screen.shown
    return _GOING_ON[page.kind](screen, page, foot)


def the_other(screen: WalkScreen) -> Wish | int | None:
    """What `not yet` does among choices, by foot: the other of two where one is wanted is noted, else the next of those
    not wanted is marked (its place). None where nothing is chosen."""
    choices, wanted = screen.shown.choices, _the_wanted(screen.shown)
    if not choices:
        return None
    if _of_two(screen.shown) and wanted is not None:
        return Wish(acts.Record(choices[1 - wanted].word))
    others = [i for i in range(len(choices)) if i != wanted]
    after = [i for i in others if screen.marked is not None and i > screen.marked]
    return after[0] if after else others[0]


def _the_wanted(page: Page) -> int | None:
    """Which choice is the wanted one, where exactly one is."""
    wanted = [i for i, choice in enumerate(page.choices) if choice.wanted]
    return wanted[0] if len(wanted) == 1 else None


def _of_two(page: Page) -> bool:
    """Whether there are two choices of a reading, one of them wanted: then each key of a foot switch takes one."""
    return len(page.choices) == 2 and _the_wanted(page) is not None and page.asked is not None


def foot_words(page: Page, marked: int | None) -> tuple[str, str] | None:
    """What next and not yet do by foot, among choices; said before they are pressed."""
    if not page.choices:
        return None
    wanted = _the_wanted(page)
    if _of_two(page):
        assert wanted is not None
        return f"takes {wanted + 1}", f"takes {2 - wanted}"
    taken = marked if marked is not None else wanted
    return f"takes {taken + 1}" if taken is not None else "takes the one that is marked", "marks another"


# --- kind by kind ------------------------------------------------------------------------------------------------


def _needs_text(screen: WalkScreen, what: str) -> str:
    if not screen.typed:
        raise Refused(what)
    return screen.typed


def _ready(screen: WalkScreen, page: Page, foot: bool) -> Wish:
    return Wish(acts.Ready(waived=screen.typed))


def _fact(screen: WalkScreen, page: Page, foot: bool) -> Wish:
    return Wish(acts.GiveFact(screen.session.now().name, _needs_text(screen, "type what is asked about the drum")))


def _recheck(screen: WalkScreen, page: Page, foot: bool) -> Wish:
    return Wish(acts.CheckPlace(said=screen.typed))


def _hazard(screen: WalkScreen, page: Page, foot: bool) -> Wish:
    if any(hazard.grade != "notice" for hazard in page.hazards):
        raise Refused(screen.keyed("{walk.next} alone does not pass a hazard; press {walk.yes} when you have read it"))
    return Wish(acts.Acknowledge())


def _do(screen: WalkScreen, page: Page, foot: bool) -> Wish:
    return _reading(screen, page, foot) if page.asked is not None else Wish(acts.Done())


def _done(screen: WalkScreen, page: Page, foot: bool) -> Wish:
    return Wish(acts.Done())


def _choose(screen: WalkScreen, page: Page, foot: bool) -> Wish:
    if screen.marked is None:
        raise Refused("first mark the way you take, by its number or with the arrow keys")
    return Wish(acts.ChooseWay(page.choices[screen.marked].word))


def _reading(screen: WalkScreen, page: Page, foot: bool) -> Wish:
    assert page.asked is not None
    if page.choices:
        marked = screen.marked
        if foot and (marked is None or _of_two(page)):
            marked = _the_wanted(page)
        if marked is None:
            raise Refused("first mark what fits, by its number or with the arrow keys")
        return Wish(acts.Record(page.choices[marked].word))
    pending = ", or press {walk.not_yet} if it is not yet so" if page.kind == "do" else ""
    asked = f"a reading is asked for here; type it{pending}"
    typed = screen.typed or page.advised or _needs_text(screen, screen.keyed(asked))
    sort = page.asked.reading.sort
    return Wish(acts.Record(typed), file=typed, sort=sort) if sort in ("picture", "sound") else Wish(acts.Record(typed))


def _wait(screen: WalkScreen, page: Page, foot: bool) -> Wish:
    return Wish(acts.Waited())


def _handover(screen: WalkScreen, page: Page, foot: bool) -> None:
    screen.flow("take_on")


def _problem(screen: WalkScreen, page: Page, foot: bool) -> Wish:
    return Wish(acts.SettleProblem(_needs_text(screen, "say how it was settled")))


def _paused(screen: WalkScreen, page: Page, foot: bool) -> Wish:
    return Wish(acts.Resume())


def _others(screen: WalkScreen, page: Page, foot: bool) -> Wish:
    note = _needs_text(screen, "say how you find the drum, to take this work on")
    return Wish(acts.Resume(), first=acts.Pause(note))


def _ended(screen: WalkScreen, page: Page, foot: bool) -> Wish:
    session = screen.session
    if session.state.kind == "customer":
        raise Refused(screen.keyed("{walk.next} alone does not release a job; whoever may signs with {walk.sign}"))
    return Wish(acts.ReleaseJob(acts.Sign("senior", "practice"), "practice closed", session.head))


def _released(screen: WalkScreen, page: Page, foot: bool) -> None:
    screen.flow("leave")


def _not_by_enter(sentence: str) -> Callable[[WalkScreen, Page, bool], Wish]:
    def refuse(screen: WalkScreen, page: Page, foot: bool) -> Wish:
        raise Refused(screen.keyed(sentence))

    return refuse


_GOING_ON: dict[str, Callable[[WalkScreen, Page, bool], Wish | None]] = {
    "ready": _ready,
    "fact": _fact,
    "recheck": _recheck,
    "hazard": _hazard,
    "do": _do,
    "way": _done,
    "each": _done,
    "choose": _choose,
    "reading": _reading,
    "wait": _wait,
    "hold": _not_by_enter("{walk.next} alone does not pass a look; whoever looks presses {walk.sign} and signs"),
    "stuck": _not_by_enter("no branch fits what was noted; correct it, or let a senior choose a branch"),
    "diverged": _not_by_enter("first go back to that stop, or let a senior have it stand"),
    "handover": _handover,
    "problem": _problem,
    "paused": _paused,
    "account": _not_by_enter("{walk.next} alone does not count; press {walk.yes} when every piece is here"),
    "sign-again": _not_by_enter("{walk.next} alone does not sign; whoever signs presses {walk.sign}"),
    "ended": _ended,
    "released": _released,
    "others": _others,
}


def told(session: Session, wish: Wish, decision: Decision) -> Iterator[str]:
    """What to say of an act that was done: what came of it by itself. What was noted stands on the left page."""
    if isinstance(wish.act, acts.Correct):
        yield "Corrected; the old value stays in the log."
    if wish.file and session.kept:
        yield f"Kept with the job: {session.kept}."
    yield from told_by_events(session.state, session.bench, decision.events)


def try_this(screen: WalkScreen) -> str:
    """What to try where it is not yet as it should be."""
    here = screen.session.now()
    hints = here.step.if_not if here.step is not None else None
    if hints:
        return "Try this: " + " ".join(hints)
    known = "Try this: look again at what you should see; {walk.again} tells more, {walk.problem} reports it"
    return screen.keyed(known)
