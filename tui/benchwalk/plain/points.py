"""What is asked at each point of a walk. `POINTS` has every kind of question that `now` can come to."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..daybook import lines
from ..procedure.showing import words_of
from ..walk import acts
from ..walk.desk import view_of
from ..walk.job_acts import bare_word
from ..walk.phase import Now, reading_after
from ..walk.places import step_name
from ..walk.worded import WAY, action_text
from .looks import accept_walk, account, look, release_job, sign_again, take_other
from .picking import NO, only, pick
from .proving import prove
from .readings import ask_reading

if TYPE_CHECKING:
    from .walk import PlainWalk


@dataclass(frozen=True)
class Point:
    """One kind of question: who asks it, and what `?` says of its answers."""

    ask: Callable[[PlainWalk, Now], None]
    help: str


def others_work(walk: PlainWalk, here: Now) -> None:
    """Somebody else has the work in hand and did not put it down: it can be taken over as it is found."""
    state = walk.session.state
    name = walk.session.names.get(state.person, state.person)
    if walk.once("others", state.n):
        walk.talk.say(lines.place_line(state, here.visit))
        walk.talk.say(f"{name} has this work in hand and did not put it down.")
    answer = walk.ask("To take it on, say how you find the drum; /leave leaves it as it is:", here)
    if answer:
        walk.do(acts.Pause(answer))
        walk.do(acts.Resume())
        walk.say_again()


def _ready(walk: PlainWalk, here: Now) -> None:
    if walk.once("ready"):
        for line in lines.hazard_lines(here) if walk.terse else lines.ready_lines(here):
            walk.talk.say(line)
        walk.hint()
    answer = walk.ask("Enter when all is at hand, or say what is missing and why you go on without it:", here)
    while answer:
        if bare_word(answer):
            break  # refused, with a sentence
        walk.talk.say(f"Going on without: {answer.rstrip('.')}.")
        again = walk.more("Enter to go on like this, no to think again, or say it anew:")
        if again.lower() in NO:
            return
        if again in ("", answer):
            break
        answer = again
    if answer is not None:
        walk.do(acts.Ready(waived=answer))


def _fact(walk: PlainWalk, here: Now) -> None:
    answer = walk.ask(lines.fact_line(here.name), here)
    if answer is not None:
        walk.do(acts.GiveFact(here.name, answer))


def _recheck(walk: PlainWalk, here: Now) -> None:
    if walk.once("recheck", walk.session.state.n):
        walk.talk.say(lines.place_line(walk.session.state, here.visit))
        last = lines.last_line(walk.session.state, walk.session.bench)
        walk.talk.say(f"Look at the drum: is it as the log says? {last}")
    answer = walk.ask("Enter when it is, or say how it is; /back goes back to an earlier stop:", here)
    if answer is not None:
        walk.do(acts.CheckPlace(said=answer))


def _begin_step(walk: PlainWalk, here: Now) -> None:
    """Say where this is, why, and the hazards: once a visit."""
    assert here.visit is not None
    if not walk.once("step", here.visit.number):
        return
    state, bench = walk.session.state, walk.session.bench
    walk.talk.say()
    walk.talk.say(lines.place_line(state, here.visit))
    stage = lines.stage_line(here)
    if stage and walk.once("stage", (here.visit.run, here.visit.stage)):
        walk.talk.say(stage)
    for line in lines.step_lines(state, here, bench, walk.terse):
        walk.talk.say(line)


def _hazard(walk: PlainWalk, here: Now) -> None:
    _begin_step(walk, here)
    answer = walk.ask("Type read when you have read this:", here)
    if answer is None:
        return
    if answer.lower() in ("read", "r"):
        walk.do(acts.Acknowledge())
    else:
        walk.talk.say(only("read", answer, "a hazard"))


def _do(walk: PlainWalk, here: Now) -> None:
    _begin_step(walk, here)
    assert here.visit is not None
    if walk.once("action", here.visit.number):
        for line in lines.action_lines(walk.session.state, here, walk.session.bench, walk.terse):
            walk.talk.say(line)
    following = reading_after(walk.session.state, here, walk.session.bench)
    if following is not None:
        ask_reading(walk, here, following)
        return
    first = lines.begins_with(walk.session.state, here, walk.session.bench)
    enter = f"Enter begins with {first}" if first else "Enter when it is done"
    _confirm(walk, here, walk.ask(f"{enter}, no if not yet:", here))


def _way(walk: PlainWalk, here: Now) -> None:
    assert here.step is not None and here.step.choose is not None and here.visit is not None
    if walk.once("action", (here.visit.number, here.visit.way)):
        view = view_of(walk.session.state, here.visit, walk.session.bench)
        walk.talk.say(f"Do: {action_text(view, here.visit, WAY)}")
    _confirm(walk, here, walk.ask("Enter when it is done, no if not yet:", here))


def _each(walk: PlainWalk, here: Now) -> None:
    _begin_step(walk, here)
    place = lines.place_words(here.place)
    more = f" ({here.todo} more after it)" if here.todo else ""
    _confirm(walk, here, walk.ask(f"Enter when {place} is done{more}, no if not yet:", here))


def _confirm(walk: PlainWalk, here: Now, answer: str | None) -> None:
    if answer is None:
        return
    if answer.lower() in ("", "done", "d", "yes", "y"):
        walk.do(acts.Done())
    elif answer.lower() in ("no", "n", "not yet"):
        walk.not_yet(here)
    else:
        walk.talk.say("Enter says done, no says not yet. A note begins with /note; ? is for help.")


def _choose(walk: PlainWalk, here: Now) -> None:
    _begin_step(walk, here)
    assert here.visit is not None and here.step is not None and here.step.choose is not None
    ways = here.step.choose.ways
    if walk.once("question", (here.visit.number, "choose")):
        walk.talk.say("These ways are equally good:")
        for i, way in enumerate(ways, 1):
            walk.talk.say(f"{i} {way.say}")
    answer = walk.ask("Which one? Type its number:", here)
    if answer is not None:
        picked = pick(answer, [w.way for w in ways], [w.say for w in ways])
        walk.do(acts.ChooseWay(picked))


def _reading(walk: PlainWalk, here: Now) -> None:
    _begin_step(walk, here)
    ask_reading(walk, here, here)


def _wait(walk: PlainWalk, here: Now) -> None:
    _begin_step(walk, here)
    assert here.visit is not None
    if walk.once("question", (here.visit.number, "wait")):
        walk.talk.say(f"{lines.time_line(here, walk.session.bench.now)} You may /leave and come back.")
    practice = walk.session.state.kind != "customer"
    how = ", jump to go on at once (practice only)" if practice else ""
    answer = walk.ask(f"Enter when the time is up{how}:", here)
    if answer is not None:
        walk.do(acts.Waited(early="practice" if practice and answer.lower() == "jump" else ""))


def _handover(walk: PlainWalk, here: Now) -> None:
    session = walk.session
    name = session.names.get(here.name, here.name)
    if walk.once("handover", session.state.n):
        walk.talk.say(f"This work was handed to {name}: {session.state.hand_note}")
    mine = session.who == here.name
    prompt = "Enter to take it on:" if mine else f"{name}, type your name to take it on (or /leave):"
    answer = walk.ask(prompt, here)
    if answer is None:
        return
    who = session.who if mine and not answer else session.person_called(answer)
    if session.asks_pin(who):
        prove(walk, who)
    session.take_on(who)
    walk.say_again()


def _problem(walk: PlainWalk, here: Now) -> None:
    problem = walk.session.state.problems[-1]
    if walk.once("problem", problem["n"]):
        walk.talk.say(f"A problem was reported at {words_of(problem['step'])}: {problem['text']}")
        walk.talk.say("Work rests until it is settled.")
    answer = walk.ask("How was it settled? (or /leave)", here)
    if answer is not None:
        walk.do(acts.SettleProblem(answer))


def _paused(walk: PlainWalk, here: Now) -> None:
    state = walk.session.state
    if walk.once("paused", state.n):
        there = state.here()
        where = "" if here.visit or there is None else f" at {words_of(step_name(there.path, there.step))}"
        walk.talk.say(f"The work was put down{where}: {(state.paused or 'nothing was said').rstrip('.')}.")
    answer = walk.ask("Enter to take it up again (or /leave):", here)
    if answer is not None:
        walk.do(acts.Resume())
        walk.say_again()


def _hold(walk: PlainWalk, here: Now) -> None:
    _begin_step(walk, here)
    look(walk, here)


def _stuck(walk: PlainWalk, here: Now) -> None:
    _begin_step(walk, here)
    take_other(walk, here)


_DONE = "no says not yet, and tells what to try."
POINTS: dict[str, Point] = {
    "ready": Point(
        _ready, "Enter says that all is at hand. What you type instead is kept as what was missing, and why."
    ),
    "fact": Point(_fact, "Type what is asked about the drum, as in 14 in."),
    "recheck": Point(_recheck, "Enter says the drum is as the log tells; else write how it is, or go /back."),
    "hazard": Point(_hazard, "Type read once you have read the hazard. Enter alone does not pass."),
    "do": Point(_do, f"Do what is said, then press Enter; where it begins with one place, each is asked for; {_DONE}"),
    "way": Point(_way, f"Enter says it is done; {_DONE}"),
    "each": Point(_each, f"Each place is confirmed singly. Enter says this one is done; {_DONE}"),
    "choose": Point(_choose, "Type the number of the way you take."),
    "reading": Point(_reading, "Type what is asked."),
    "wait": Point(_wait, "Enter goes on once the time is up. You may /leave and come back."),
    "hold": Point(_hold, "Another person looks: they type their name and PIN, then release or refuse."),
    "stuck": Point(_stuck, "Type the number of the branch to take; the senior says which, and why."),
    "diverged": Point(accept_walk, "Type back to go back to that stop, or accept if a senior lets it stand."),
    "handover": Point(
        _handover, "Whoever the work was handed to takes it on here, by name, and by PIN where they have one."
    ),
    "problem": Point(_problem, "Write how the problem was settled. Anybody in the shop may."),
    "paused": Point(_paused, "Enter takes the work up again; the drum is looked at first."),
    "account": Point(account, "Count, then type all; or missing and what is, as in missing the small pliers."),
    "sign-again": Point(sign_again, "The sign-off is given again by name and PIN."),
    "ended": Point(release_job, "The job is released by name and PIN; /log all shows its pages first."),
}
