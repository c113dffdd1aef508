"""What comes of an act: events, or a refusal that says why. The one interpreter of procedures.

`decide` is pure: it is handed the state, the act, who acts and the bench (procedures, sums, people, time), and answers
with the events to be written. Whoever calls it writes them, and only then are they so.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from ..errors import Refused
from ..plaindata import Frozen
from . import acts, correcting, job_acts, signing, step_acts
from .advance import advance
from .desk import Bench, Desk, Question
from .events import Event
from .phase import Now, now
from .state import State


class Decision(Frozen):
    """The events an act comes to, and the refusal if it is refused (some refusals are events too).

    `question` says that the act may be done again on purpose. `state` is what the job is once the events are written.
    """

    events: tuple[Event, ...]
    state: State
    refusal: str | None = None
    question: bool = False


def decide(state: State, act: acts.Act, who: str, bench: Bench) -> Decision:
    """What comes of `act` by `who`. `state` is not changed."""
    desk = Desk(state, who, bench)
    try:
        here = now(desk.state, bench)
        _permitted(desk, here, act)
        _DO[type(act)](desk, here, act)
        if not isinstance(act, acts.Note | acts.Pause | acts.Problem | acts.HandOver):
            advance(desk)
    except signing.NotAllowed as refused:
        kept = Desk(state, who, bench)
        kept.emit("turned_away", act=type(act).__name__, why=refused.message)
        return Decision(tuple(kept.events), kept.state, refused.message)
    except Question as question:
        return Decision((), state, question.message, question=True)
    except Refused as refused:
        return Decision((), state, refused.message)
    return Decision(tuple(desk.events), desk.state)


def proceed(state: State, who: str, bench: Bench) -> Decision:
    """What happens by itself where a log was cut between two events of one act; nothing where it was not."""
    desk = Desk(state, who, bench)
    try:
        advance(desk)
    except Refused as refused:
        return Decision((), state, refused.message)
    return Decision(tuple(desk.events), desk.state)


_ANYBODY = (
    *(acts.Open, acts.TakeOn, acts.Note, acts.Pause, acts.Resume, acts.SettleProblem, acts.ReleaseJob),
    acts.SignAgain,
)


def _permitted(desk: Desk, here: Now, act: acts.Act) -> None:
    """Whether this person may act now at all."""
    state = desk.state
    if isinstance(act, acts.Open):
        if state.job:
            raise Refused("this job is open already")
        return
    if not state.job:
        raise Refused("the job is not open yet")
    if state.released and not isinstance(act, acts.Note):
        raise Refused("the job is released; only notes can be added")
    if state.handed_to and not isinstance(act, acts.TakeOn | acts.Note):
        name = desk.bench.names.get(state.handed_to, state.handed_to)
        raise Refused(f"the work was handed to {name}, who has not taken it on yet")
    if desk.who != state.person and not isinstance(act, _ANYBODY):
        name = desk.bench.names.get(state.person, state.person)
        raise Refused(f"{name} has this work in hand; it must be handed over first")
    still = (acts.Note, acts.HandOver, acts.TakeOn, acts.Pause)
    if here.kind == "problem" and not isinstance(act, (*still, acts.SettleProblem)):
        raise Refused("a problem was reported at this step; it must be settled before work goes on")
    if here.kind == "paused" and not isinstance(act, (*still, acts.Resume)):
        raise Refused("the work is put down; take it up again first")
    if here.kind == "diverged" and not isinstance(act, (*still, acts.GoBack, acts.Accept, acts.Problem, acts.Correct)):
        raise Refused("a corrected value leads elsewhere: go back to that step, or have the walk accepted")
    looking = (*still, acts.GoBack, acts.CheckPlace, acts.Problem, acts.Correct, acts.Resume)
    if here.kind == "recheck" and not isinstance(act, looking):
        raise Refused("first look whether the drum is as the log says")


_DO: dict[type, Callable[[Desk, Now, Any], None]] = {
    acts.Open: job_acts.open_job,
    acts.Ready: job_acts.ready,
    acts.GiveFact: job_acts.fact,
    acts.Acknowledge: step_acts.acknowledge,
    acts.Done: step_acts.done,
    acts.NotYet: step_acts.not_yet,
    acts.ChooseWay: step_acts.choose,
    acts.Record: step_acts.record,
    acts.LeaveOut: step_acts.leave_out,
    acts.Waited: step_acts.waited,
    acts.Release: signing.release,
    acts.Refuse: signing.refuse,
    acts.SignAgain: signing.sign_again,
    acts.Skip: step_acts.skip,
    acts.Happens: step_acts.happens,
    acts.Overrule: signing.overrule,
    acts.Correct: correcting.correct,
    acts.GoBack: correcting.go_back,
    acts.Accept: signing.accept,
    acts.Note: job_acts.note,
    acts.Pause: job_acts.pause,
    acts.Resume: job_acts.resume,
    acts.CheckPlace: job_acts.check_place,
    acts.HandOver: job_acts.hand_over,
    acts.TakeOn: job_acts.take_on,
    acts.Problem: job_acts.problem,
    acts.SettleProblem: job_acts.settle_problem,
    acts.Account: step_acts.account,
    acts.ReleaseJob: signing.release_job,
}
