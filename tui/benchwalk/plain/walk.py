"""The walk, prompt by prompt. Every prompt takes its answer, `?` for help, or a command that begins with `/`."""

from __future__ import annotations

from collections.abc import Callable

from ..daybook import lines
from ..daybook.told import told
from ..errors import Failure, Refused
from ..procedure.showing import sentence
from ..session import BROKEN_OFF, Session
from ..walk import acts
from ..walk.decide import Decision, decide
from ..walk.phase import FOR_ANYBODY, Now
from .commands import Leave, few_lines, help_lines, is_command, run_command
from .picking import NO, YES, index_of
from .points import POINTS, others_work
from .stopping import Broken, Stopped
from .talk import Gone, Talk

FINE, BY_CTRL_C = 0, 130


class Instead(Exception):
    """A command was typed where a command asked for more: it takes the place of the first."""


class PlainWalk:
    """One person walking one job, line by line."""

    def __init__(
        self, session: Session, talk: Talk, terse: bool = False, resume: Callable[[], str] | None = None
    ) -> None:
        self.session: Session = session
        self.talk: Talk = talk
        self.terse = terse
        self.resume = resume
        self._said: dict[str, object] = {}
        self._broken = False

    def go(self) -> int:
        """Walk until the job is released, is left, or nobody answers any more; the exit code.

        Nothing noted is ever lost: work that is broken off is put down with a word about why.
        """
        try:
            for line in lines.opening_lines(self.session.state, self.session.names):
                self.talk.say(line)
            self._go_on()
            if self.session.now().kind != "ready":  # where much is said first, the hint stands last
                self.hint()
            while self._turn():
                pass
        except Leave:
            self._farewell()
        except Gone:
            self._put_down("the input ended")
            self.talk.say("The input has ended.")
            self._farewell()
        except Broken:
            self._put_down("left with ctrl+c")
            self._farewell()
            return BY_CTRL_C
        except Stopped as stopped:
            self._put_down(f"stopped from outside (signal {stopped.number})")
            self._farewell()
            return 128 + stopped.number
        except BrokenPipeError:
            self._put_down("nobody listens any more")
            raise
        except Failure:
            self._farewell()
            raise
        return FINE

    def _go_on(self) -> None:
        """Work of one's own that was broken off without being put down is taken up as such."""
        if self.session.take_up_broken():
            self.talk.say(BROKEN_OFF)

    def _turn(self) -> bool:
        """One prompt and what comes of it; False where the job is released."""
        here = self.session.now()
        if here.kind == "released":
            self.talk.say("The job is released. Nothing is left to do on it.")
            return False
        asked = self.talk.asked
        try:
            self._point(here)
            self._broken = False
        except Refused as refused:
            if self.talk.asked == asked:  # nobody can answer what was never asked
                raise
            self.talk.say(sentence(refused.message))
        except Broken:
            if self._broken:
                raise
            self._broken = True
            self.talk.say()
            self.talk.say("Nothing is lost. Go on here, or press ctrl+c again to put the work down.")
        return True

    def _point(self, here: Now) -> None:
        theirs = self.session.who != self.session.state.person and here.kind not in FOR_ANYBODY
        ask = others_work if theirs else POINTS[here.kind].ask
        command = ""
        while True:
            try:
                if command:
                    run_command(self, here, command)
                else:
                    ask(self, here)
                return
            except Instead as other:
                command = str(other)

    def hint(self) -> None:
        """How to be helped and how to stop; said once, where it is still seen at the prompt."""
        self.talk.say("Type ? at any prompt for help, /leave to put the work down.")

    # --- what is said once ---

    def once(self, part: str, key: object = True) -> bool:
        """Whether this part is to be said now: it was not yet, for that key."""
        if self._said.get(part) == key:
            return False
        self._said[part] = key
        return True

    def say_again(self, *parts: str) -> None:
        """Let these parts (all, if none are named) be said anew."""
        for part in parts or tuple(self._said):
            self._said.pop(part, None)

    # --- answering ---

    def ask(self, prompt: str, here: Now) -> str | None:
        """The answer to a prompt; None where it was help or a command (the prompt then comes again)."""
        answer = self.talk.ask(prompt)
        if answer in ("?", "??", "/help"):
            for line in few_lines(self, here) if answer == "?" else help_lines(self, here):
                self.talk.say(line)
            self.say_again("action", "question")
            return None
        if is_command(answer):
            run_command(self, here, answer)
            return None
        return answer

    def more(self, prompt: str) -> str:
        """What a command still needs to know. A command typed here takes the place of the first."""
        while (answer := self.talk.ask(prompt)) in ("?", "??", "/help"):
            self.talk.say("Answer in a line. Another command instead leaves this one.")
        if is_command(answer):
            raise Instead(answer)
        return answer

    def choose(
        self, prompt: str, words: list[str], said: list[str], first: str = "", leave: bool = False
    ) -> int | None:
        """Which of several is meant, asked until it is one of them; with `leave`, None where Enter leaves it.

        `first` is what was typed already. What is none of them is said, and never answers another question.
        """
        answer = first or self.more(prompt)
        while answer or not leave:
            try:
                return index_of(answer, words, said)
            except Refused as refused:
                self.talk.say(sentence(refused.message))
            answer = self.more(prompt)
        return None

    def agreed(self, prompt: str, yes: tuple[str, ...] = ("", *YES), no: tuple[str, ...] = NO) -> bool:
        """A yes or a no, asked until one of the words for them is typed."""
        while (answer := self.more(prompt).lower()) not in (*yes, *no):
            words = [word or "Enter" for word in (yes[0], no[0])]
            self.talk.say(f"{words[0]} or {words[1]} is the answer here.".capitalize())
        return answer in yes

    def do(self, act: acts.Act, first: str = "") -> Decision:
        """Do an act, and once it is on disk say `first` and what came of it by itself; Refused where it is refused."""
        decision = self.session.do(act)
        if first and decision.refusal is None:
            self.talk.say(first)
        for line in told(self.session.state, self.session.bench, decision.events):
            self.talk.say(line)
        if decision.refusal and not decision.question:
            raise Refused(decision.refusal)
        return decision

    def check(self, act: acts.Act) -> None:
        """Refused where the act would be refused as things stand; nothing is done."""
        decision = decide(self.session.state, act, self.session.who, self.session.bench)
        if decision.refusal and not decision.question:
            raise Refused(decision.refusal)

    def not_yet(self, here: Now) -> None:
        """What should be seen is not seen yet: what to try."""
        self.do(acts.NotYet())
        assert here.step is not None
        look = "Look again at what you should see" if here.step.expect else "Take the time it needs"
        for text in here.step.if_not or [f"{look}; /why tells more, /problem reports a step that cannot be followed."]:
            self.talk.say(f"Try this: {text}")

    # --- leaving ---

    def _put_down(self, why: str) -> None:
        """Put the work down as far as that can still be done."""
        state = self.session.state
        if state.person == self.session.who and not state.resting:
            try:
                self.session.do(acts.Pause(why))
            except Failure as failure:
                self.talk.say(sentence(failure.message))

    def _farewell(self) -> None:
        job = self.session.state.job
        try:
            self.talk.say()
            self.talk.say(f"All that was noted is kept in job {job}. Go on with:")
            self.talk.say_line(self.resume() if self.resume else f"benchwalk walk --job {job} --plain")
            self.talk.sink.flush()
        except OSError:  # the terminal is gone; the work is put down all the same
            pass
