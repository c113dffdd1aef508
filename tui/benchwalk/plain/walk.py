"""The walk, prompt by prompt. Every prompt takes its answer, `?` for help, or a command that begins with `/`."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from ..errors import Failure, Refused
from ..session import Session
from ..walk import acts
from ..walk.decide import Decision
from ..walk.desk import view_of
from ..walk.phase import Now, reading_after
from ..walk.record import understand
from ..walk.wording import said, with_unit
from . import lines
from .commands import COMMANDS, Leave, help_lines, run_command
from .looks import accept_walk, account, ask_sign_again, look, release_job, take_other
from .talk import Broken, Gone, Talk


class PlainWalk:
    """One person walking one job, line by line."""

    def __init__(self, session: Session, talk: Talk, terse: bool = False, resume: str = "") -> None:
        self.session = session
        self.resume = resume
        self.talk = talk
        self.terse = terse
        self.said: tuple[int, str] | None = None
        self.broken = False

    def go(self) -> None:
        """Walk until the job is released, is left, or nobody answers any more. Nothing noted is ever lost."""
        talk, session = self.talk, self.session
        for line in lines.opening_lines(session.state, session.names):
            talk.say(line)
        talk.say("Type ? at any prompt for help, /leave to put the work down.")
        try:
            while self._turn():
                pass
        except Leave:
            self._farewell()
        except Gone:
            talk.say()
            talk.say("The input has ended.")
            self._put_down("the input ended")
            self._farewell()

    def _turn(self) -> bool:
        """One prompt and what comes of it; False where the job is released."""
        here = self.session.now()
        if here.kind == "released":
            self.talk.say("The job is released. Nothing is left to do on it.")
            return False
        try:
            _ASK[here.kind](self, here)
            self.broken = False
        except Refused as refused:
            self.talk.say(sentence(refused.message))
        except Broken:
            if self.broken:
                self._put_down("left with ctrl+c")
                raise Leave from None
            self.broken = True
            self.talk.say("Nothing is lost. Go on here, or press ctrl+c again to put the work down.")
        return True

    # --- answering ---

    def ask(self, prompt: str, here: Now) -> str | None:
        """The answer to a prompt; None where it was help or a command (the prompt then comes again)."""
        answer = self.talk.ask(prompt).strip()
        if answer == "?":
            for line in help_lines(self, here):
                self.talk.say(line)
            return None
        if answer.startswith("/"):
            run_command(self, here, answer)
            return None
        return answer

    def do(self, act: acts.Act) -> Decision:
        """Do an act and say what came of it by itself; Refused where it is refused."""
        decision = self.session.do(act)
        for event in decision.events:
            self._tell(event)
        if decision.refusal and not decision.question:
            raise Refused(decision.refusal)
        return decision

    def _tell(self, event: dict[str, Any]) -> None:
        """What happened by itself, in words."""
        what = event["what"]
        if what == "worked" and not event["again"]:
            if event["no_result"]:
                self.talk.say(f"Worked out {event['name']}: no result, {event['no_result']}.")
            else:
                self.talk.say(f"Worked out {event['name']}: {self._outputs(event)}.")
        elif what == "found" and not event["again"]:
            self.talk.say(f"Found: {event['sentence']}")
        elif what == "told":
            self.talk.say(f"A {event['role']} may look on here: {event['because']}.")
        elif what == "ran" and event["path"]:
            self.talk.say(f"Now: {event['title']}.")
        elif what == "returned":
            self.talk.say(
                f"Back from {event['path']}: {event['outcome']}." + (f" {event['why']}" if event["why"] else "")
            )
        elif what == "voided":
            self.talk.say(f"A sign-off no longer stands: {event['because']}.")
        elif what == "diverged":
            self.talk.say(f"Stop: {event['because']}.")
        elif what == "ended":
            self.talk.say(f"The walk ends here: {event['outcome']}." + (f" {event['say']}" if event["say"] else ""))
            if event["proposes"]:
                self.talk.say("Next, as proposed: " + ", ".join(event["proposes"]) + ".")

    def _outputs(self, event: dict[str, Any]) -> str:
        visit = self.session.state.visits[event["visit"] - 1]
        view = view_of(self.session.state, visit, self.session.bench)
        name = event["name"]
        return ", ".join(f"{key.replace('_', ' ')} {said(f'{name}.{key}', view)}" for key in event["outputs"])

    def _put_down(self, why: str) -> None:
        state = self.session.state
        if state.paused is None and state.problem is None and not state.ended and not state.handed_to:
            try:
                self.session.do(acts.Pause(why))
            except Failure as failure:
                self.talk.say(sentence(failure.message))

    def _farewell(self) -> None:
        job = self.session.state.job
        self.talk.say(f"All that was noted is kept in job {job}. Go on with:")
        self.talk.say(f"{self.resume or f'benchwalk walk --job {job} --plain'}", indent="  ")

    # --- what is asked at each point ---

    def _ready(self, here: Now) -> None:
        if not self.terse:
            for line in lines.ready_lines(here):
                self.talk.say(line)
        answer = self.ask("Enter when all is at hand, or say what is missing and why you go on without it:", here)
        if answer is not None:
            self.do(acts.Ready(waived=answer))

    def _fact(self, here: Now) -> None:
        answer = self.ask(lines.fact_line(here.name), here)
        if answer is not None:
            self.do(acts.GiveFact(here.name, answer))

    def _recheck(self, here: Now) -> None:
        self.talk.say(lines.place_line(self.session.state, here))
        self.talk.say("Look at the drum: is it as the log says? " + last_words(self.session))
        answer = self.ask("Enter when it is, or say how it is; /back goes back to an earlier stop:", here)
        if answer is not None:
            self.do(acts.CheckPlace(said=answer))

    def _begin_step(self, here: Now) -> None:
        """Say the step once a visit (again after help, a note or coming back)."""
        assert here.visit is not None
        key = (here.visit.number, "step")
        if self.said != key:
            self.said = key
            self.talk.say()
            for line in lines.step_lines(self.session.state, here, self.session.bench, self.terse):
                self.talk.say(line)

    def _hazard(self, here: Now) -> None:
        self.said = None
        self._begin_step(here)
        answer = self.ask("Type read when you have read this:", here)
        if answer is None:
            return
        if answer.lower() not in ("read", "r"):
            self.talk.say("Enter alone is not enough here. Type the word read.")
            return
        self.do(acts.Acknowledge())

    def _do(self, here: Now) -> None:
        self._begin_step(here)
        assert here.step is not None
        for line in lines.action_lines(self.session.state, here, self.session.bench, self.terse):
            self.talk.say(line)
        following = reading_after(self.session.state, here, self.session.bench)
        if following is not None:
            self._reading(following)
            return
        answer = self.ask("Enter when it is done, no if not yet:", here)
        self._confirm(here, answer)

    def _way(self, here: Now) -> None:
        assert here.step is not None and here.step.choose is not None and here.visit is not None
        way = next(w for w in here.step.choose.ways if w.way == here.visit.way)
        self.talk.say(f"Do: {way.do}")
        self._confirm(here, self.ask("Enter when it is done, no if not yet:", here))

    def _each(self, here: Now) -> None:
        self._begin_step(here)
        place = f"rod {here.place}" if (here.place or "").isdigit() else here.place
        more = f" ({here.todo} more after it)" if here.todo else ""
        self._confirm(here, self.ask(f"Enter when {place} is done{more}, no if not yet:", here))

    def _confirm(self, here: Now, answer: str | None) -> None:
        if answer is None:
            return
        if answer.lower() in ("", "done", "d", "yes", "y"):
            self.do(acts.Done())
        elif answer.lower() in ("no", "n", "not yet"):
            self.not_yet(here)
        else:
            self.talk.say("Enter says done, no says not yet. A note begins with /note, help is ?.")

    def not_yet(self, here: Now) -> None:
        """What should be seen is not seen yet: what to try."""
        self.do(acts.NotYet())
        assert here.step is not None
        for text in here.step.if_not or ["Look again at what you should see; /why tells more, /problem reports it."]:
            self.talk.say(f"Try this: {text}")

    def _choose(self, here: Now) -> None:
        self._begin_step(here)
        assert here.step is not None and here.step.choose is not None
        ways = here.step.choose.ways
        self.talk.say("Equally good ways:")
        for i, way in enumerate(ways, 1):
            self.talk.say(f"{i} {way.say}")
        answer = self.ask("Which one? Type its number:", here)
        if answer is None:
            return
        picked = pick(answer, [w.way for w in ways], [w.say for w in ways])
        self.do(acts.ChooseWay(picked))

    def _reading(self, here: Now) -> None:
        self._begin_step(here)
        state, bench = self.session.state, self.session.bench
        for line in lines.reading_lines(state, here, bench, self.terse):
            self.talk.say(line)
        reading = here.reading
        unit = "Hz or a note" if reading.sort == "note" else reading.unit
        prompt = {
            "choice": "Type its number:",
            "words": "Write it:",
            "picture": "Path of the picture, or on paper and its number:",
        }
        answer = self.ask(prompt.get(reading.sort, f"Type it in {unit}:" if unit else "Type it:"), here)
        if answer is None:
            return
        if not answer:
            self.talk.say("A value is asked for here. Type it, or ? for help.")
            return
        if reading.choices:
            answer = pick(answer, list(reading.choices), list(reading.choices.values()))
            self._note(here, answer)
            return
        if reading.sort in ("picture", "sound"):
            kept = self.session.keep(answer)
            self._note(here, answer, file=kept)
            return
        assert here.visit is not None
        meant = understand(reading, here.name, answer, view_of(state, here.visit, bench))
        plain = meant.shown == with_unit(answer.strip(), meant.unit) and self.terse
        self.talk.say(lines.understood_line(meant, reading))
        if meant.odd:
            self.talk.say(f"That lies outside what is possible here ({reading.possible} {meant.unit}). Look again.")
            if self.talk.ask("Type yes if it is so, or Enter to type it again:").strip().lower() not in ("yes", "y"):
                return
            self._note(here, answer, sure=True)
            return
        if reading.sort == "words" or plain:
            self._note(here, answer)
            return
        again = self.talk.ask("Enter to note it, or no to type it again:").strip().lower()
        if again in ("", "yes", "y"):
            self._note(here, answer)
        elif again.startswith("/"):
            run_command(self, here, again)
        else:
            self.talk.say("Not noted.")

    def _note(self, here: Now, typed: str, sure: bool = False, file: str | None = None) -> None:
        decision = self.do(acts.Record(typed, sure=sure, file=file))
        if decision.question:
            self.talk.say(sentence(decision.refusal or ""))

    def _wait(self, here: Now) -> None:
        self._begin_step(here)
        self.talk.say(lines.wait_line(here, self.session.bench.now))
        practice = self.session.state.kind != "customer"
        how = ", jump to go on at once (practice only)" if practice else ""
        answer = self.ask(f"Enter when the time is up{how}:", here)
        if answer is None:
            return
        self.do(acts.Waited(early="practice" if practice and answer.lower() == "jump" else ""))

    def _handover(self, here: Now) -> None:
        name = self.session.names.get(here.name, here.name)
        self.talk.say(f"This work was handed to {name}: {self.session.state.hand_note}")
        answer = self.ask(f"{name}, type your name to take it on:", here)
        if answer is not None:
            self.session.change_person(answer)
            self.do(acts.TakeOn())

    def _problem(self, here: Now) -> None:
        problem = self.session.state.problems[-1]
        self.talk.say(
            f"A problem was reported at {problem['step']}: {problem['text']}. Work rests until it is settled."
        )
        answer = self.ask("How was it settled? (or /leave)", here)
        if answer is not None:
            self.do(acts.SettleProblem(answer))

    def _paused(self, here: Now) -> None:
        answer = self.ask(f"The work was put down: {self.session.state.paused}. Enter to take it up again:", here)
        if answer is not None:
            self.do(acts.Resume())

    def _account(self, here: Now) -> None:
        account(self, here)

    def _look(self, here: Now) -> None:
        self._begin_step(here)
        look(self, here)

    def _other(self, here: Now) -> None:
        self._begin_step(here)
        take_other(self, here)

    def _accept(self, here: Now) -> None:
        accept_walk(self, here)

    def _sign_again(self, here: Now) -> None:
        ask_sign_again(self, here)

    def _release(self, here: Now) -> None:
        release_job(self, here)


_ASK: dict[str, Callable[[PlainWalk, Now], None]] = {
    "ready": PlainWalk._ready,
    "fact": PlainWalk._fact,
    "recheck": PlainWalk._recheck,
    "hazard": PlainWalk._hazard,
    "do": PlainWalk._do,
    "way": PlainWalk._way,
    "each": PlainWalk._each,
    "choose": PlainWalk._choose,
    "reading": PlainWalk._reading,
    "wait": PlainWalk._wait,
    "handover": PlainWalk._handover,
    "problem": PlainWalk._problem,
    "paused": PlainWalk._paused,
    "account": PlainWalk._account,
    "hold": PlainWalk._look,
    "stuck": PlainWalk._other,
    "diverged": PlainWalk._accept,
    "sign-again": PlainWalk._sign_again,
    "ended": PlainWalk._release,
}


def pick(answer: str, words: list[str], said: list[str]) -> str:
    """The word meant by a number, or by its (or its text's) beginning; Refused where that is not one of them."""
    if answer.isdigit():
        if 1 <= int(answer) <= len(words):
            return words[int(answer) - 1]
        raise Refused(f"{answer} is none of 1 to {len(words)}")
    low = answer.lower()
    exact = [w for w, s in zip(words, said, strict=True) if low in (w.lower(), s.lower())]
    begun = [w for w, s in zip(words, said, strict=True) if w.lower().startswith(low) or s.lower().startswith(low)]
    found = exact or begun
    if len(found) == 1:
        return found[0]
    raise Refused(f"'{answer[:40]}' is {'more than one' if found else 'none'} of: {', '.join(said)}")


def sentence(message: str) -> str:
    """A message as a sentence: a capital first, a full stop last."""
    text = message.strip()
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "?", ":")) else ".")


def last_words(session: Session) -> str:
    """What the log says was done last, in one sentence."""
    from ..shop.pages import entries_of, entry_line

    state = session.state
    for visit in reversed(state.visits[:-1]):
        if visit.struck:
            continue
        linked = session.bench.books(visit.text)
        entries = entries_of(state, visit)
        if entries:
            return f"Last noted: {entry_line(entries[-1], linked.procedure.readings.get(entries[-1].name), state)}."
        step = linked.steps[visit.step]
        if step.do and visit.done:
            return f"Last done: {step.do}"
    return "Nothing was done yet."


__all__ = ["COMMANDS", "PlainWalk", "last_words", "pick", "sentence"]
