"""What the tests of sessions, plain mode and commands share: an invented shop, and a hand that types answers."""

from __future__ import annotations

import atexit
import io
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from benchwalk.cli import run
from benchwalk.job.approvals import approve
from benchwalk.job.people import Person, add_person, check_pin, set_pin
from benchwalk.job.shop import Shop
from benchwalk.library import Library
from benchwalk.plain.talk import Gone, Talk
from benchwalk.plain.walk import PlainWalk
from benchwalk.procedure.linked import Linked
from benchwalk.procedure.model import Example
from benchwalk.proof.answers import MISSING, Answers
from benchwalk.session import Session, runs_of
from benchwalk.sums import compute
from benchwalk.walk import acts
from benchwalk.walk.phase import Now, reading_after

ROOT = Path(__file__).resolve().parents[1]
FLAGSHIP = "retie-snare-cords"
MORNING = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
SENIOR, SECOND, APPRENTICE = "mara-quill", "ines-okafor", "tam-reyes"
PEOPLE = (
    (Person(SENIOR, "Mara Quill", ("senior",)), "381604"),
    (Person(SECOND, "Ines Okafor", ("technician", "senior")), "270945"),
    (Person(APPRENTICE, "Tam Reyes", ("apprentice",)), "915267"),
)
PINS = {person.id: pin for person, pin in PEOPLE}
DRUM = {"diameter": "14 in"}


class Clock:
    """A clock that moves a second at each look, or when it is told to."""

    def __init__(self, time: datetime = MORNING) -> None:
        self.time = time

    def __call__(self) -> datetime:
        self.time += timedelta(seconds=1)
        return self.time

    def wait(self, **span: float) -> None:
        """Let time pass."""
        self.time += timedelta(**span)


# --- the shop --------------------------------------------------------------------------------------------------------


def make_shop(root: Path, *, people: bool = True, approved: bool = True, one_person: bool = False) -> Shop:
    """A shop of invented people; the first senior approves the flagship."""
    clock = Clock(MORNING - timedelta(days=1))
    shop = Shop.create(root, "Mill Lane Drums", one_person=one_person)
    if not people:
        return shop
    for person, _pin in PEOPLE:
        add_person(shop, person, clock())
    for person, pin in reversed(PEOPLE):  # the seniors last: from then on a senior must sign
        by = _first_pin(shop, clock)
        set_pin(shop, person.id, pin, person.id.encode().ljust(16, b"."), clock(), by=by)
    if approved:
        approve_for(shop, flagship(), clock)
    return shop


def approve_for(shop: Shop, linked: Linked, clock: Clock | None = None) -> None:
    """The senior approves a procedure for customers' jobs."""
    clock = clock or Clock()
    signed = check_pin(shop, SENIOR, PINS[SENIOR], clock())
    revision = str(linked.procedure.revision)
    approve(shop, linked.id, revision, linked.content, runs_of(linked), "the authors", signed, clock())


def _first_pin(shop: Shop, clock: Clock) -> Any:
    from benchwalk.job.people import load_people

    seniors = [p for p in load_people(shop).with_role("senior") if p.pin]
    return check_pin(shop, seniors[0].id, PINS[seniors[0].id], clock()) if seniors else None


@cache
def _template() -> Path:
    """The shop with people, PINs and an approval, made once (each PIN takes its time) and copied for each test."""
    folder = tempfile.mkdtemp(prefix="benchwalk-shop-")
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return make_shop(Path(folder, "shop")).root


def fresh_shop(to: Path) -> Shop:
    """A shop of one's own: three people with PINs, and the flagship approved."""
    shutil.copytree(_template(), to / "shop")
    return Shop.open(to / "shop")


@cache
def flagship() -> Linked:
    """The snare re-tie as it is shipped."""
    return Library.of().get(FLAGSHIP)


def begin(shop: Shop, linked: Linked | None = None, *, kind: str = "practice", **more: Any) -> Session:
    """A new job of the apprentice."""
    clock = more.pop("clock", None) or Clock()
    who = more.pop("who", APPRENTICE)
    return Session.begin(shop, linked or flagship(), who, clock, compute, kind=kind, **({"drum": DRUM} | more))


def resume(shop: Shop, job: str, who: str = APPRENTICE, clock: Clock | None = None) -> Session:
    """The job taken up again."""
    return Session.resume(shop, job, who, clock or Clock(MORNING + timedelta(hours=2)), compute)


def events(shop: Shop, job: str) -> list[dict[str, Any]]:
    """The events of a job's log, checked."""
    from benchwalk.job.log import read

    reading = read(shop.job(job).log, strict=True)
    assert reading.torn is None
    return reading.events


def bare(found: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Events without their times, and without the hashes that come of those."""
    gone = ("at", "before", "hash", "head", "until", "latest")
    return [{k: _untimed(v) for k, v in event.items() if k not in gone} for event in found]


def without_hashes(text: str) -> str:
    """The text without its hashes, in which any few digits may stand by chance."""
    return re.sub(r"[0-9a-f]{32,}", "", text)


def _untimed(value: Any) -> Any:
    return {k: v for k, v in value.items() if k != "at"} if isinstance(value, dict) else value


def drive(session: Session, until: str, **typed: str) -> Now:
    """Do acts until a kind of question (`hold`) or a step (`@measure`) is reached; `typed` answers the rest."""
    for _ in range(400):
        here = session.now()
        if here.kind == until or (here.visit is not None and f"@{here.visit.step}" == until):
            return here
        decision = session.do(_usual_act(session, here, typed))
        assert decision.refusal is None, (here.kind, decision.refusal)
    raise AssertionError(f"{until} is never reached")


def _usual_act(session: Session, here: Now, typed: Mapping[str, str]) -> acts.Act:
    match here.kind:
        case "ready":
            return acts.Ready()
        case "fact":
            return acts.GiveFact(here.name, typed[here.name])
        case "recheck":
            return acts.CheckPlace()
        case "paused":
            return acts.Resume()
        case "hazard":
            return acts.Acknowledge()
        case "do" | "way" | "each":
            return acts.Done()
        case "choose":
            assert here.step is not None and here.step.choose is not None
            return acts.ChooseWay(typed[here.step.choose.as_])
        case "reading":
            return acts.LeaveOut() if typed[here.name] == "" else acts.Record(typed[here.name])
        case "wait":
            return acts.Waited(early="practice")
        case "hold":
            return acts.Release(acts.Sign("senior", "practice"))
        case "account":
            return acts.Account()
    raise AssertionError(f"nothing is usual at {here.kind}")


# --- a hand that types -----------------------------------------------------------------------------------------------


class Typed(Talk):
    """A conversation in memory: `answer` is asked what to type at each prompt; None ends the input."""

    def __init__(self, answer: Callable[[str], str | None], *, pins: Callable[[str], str] | None = None) -> None:
        self.out = io.StringIO()
        super().__init__(io.StringIO(), self.out, pins is not None)
        self.answer = answer
        self.pins = pins
        self.prompts: list[str] = []
        self.lines: list[str] = []

    def ask(self, prompt: str) -> str:
        """What the answerer says, as if it had been typed."""
        self.prompts.append(prompt)
        line = self.answer(prompt)
        if line is None:
            raise Gone
        self.lines.append(line)
        self.source = io.StringIO(line + "\n")
        return super().ask(prompt)

    def pin(self, prompt: str) -> str | None:
        """What the answerer knows as that person's PIN; None where nobody sits at a terminal."""
        self.asked += 1
        return self.pins(prompt) if self.pins is not None else None

    @property
    def flat(self) -> str:
        """The same as one line, whatever was wrapped where."""
        return " ".join(self.said.split())

    @property
    def said(self) -> str:
        """All that was said so far."""
        return self.out.getvalue()


class Hand:
    """Answers a walk as an example says; `extra` types these lines first at the prompt of that stop's question."""

    def __init__(self, linked: Linked, example: Mapping[str, Any] | None = None) -> None:
        self.answers = Answers.of(linked, Example.of({"example": "typed", **(example or {})}))
        self.walk: PlainWalk | None = None
        self.before: Callable[[Now, str], str | None] | None = None

    def __call__(self, prompt: str) -> str | None:
        """What is typed at a prompt."""
        assert self.walk is not None
        here = self.walk.session.now()
        if self.before is not None:
            line = self.before(here, prompt)
            if line is not None:
                return line
        for words, typed in _NESTED:
            if prompt.startswith(words):
                return typed
        if prompt.startswith("Type release or refuse"):
            return "release" if self._look(here) == "released" else "refuse"
        if prompt.startswith("What is it refused for"):
            return str(self._look(here)).removeprefix("refused").removeprefix(" for ").strip()
        return self._typed(here)

    def _look(self, here: Now) -> Any:
        assert here.visit is not None
        return self.answers.act(here.visit.path, here.visit.step, here.visit.number)

    def _typed(self, here: Now) -> str:
        assert self.walk is not None
        asked = (
            here if here.kind == "reading" else reading_after(self.walk.session.state, here, self.walk.session.bench)
        )
        if asked is not None and asked.visit is not None:
            typed = self.answers.reading(asked.visit.path, asked.name, asked.visit.number, asked.place)
            return "/none" if typed == MISSING else typed
        if here.kind == "choose":
            assert here.visit is not None and here.step is not None and here.step.choose is not None
            return self.answers.reading(here.visit.path, here.step.choose.as_, here.visit.number, None)
        if here.kind == "fact":
            return self.answers.fact(here.name)
        if here.kind == "hold" and self.walk.session.state.kind == "customer":
            return "Mara Quill"
        if here.kind == "ended" and self.walk.session.state.kind == "customer":
            return "Mara Quill"
        return _PLAIN.get(here.kind, "")


_NESTED = (
    ("Enter to note it", ""),
    ("Type yes if it is so", "yes"),
    ("A word about it", ""),
    ("Why do you leave it out", ""),
    ("How does the drum stand", "as it was left"),
)
_PLAIN = {
    "hazard": "read",
    "wait": "jump",
    "hold": "play",
    "account": "all",
    "problem": "settled at the bench",
    "sign-again": "play",
}


def pin_of(prompt: str) -> str:
    """The PIN of the person a prompt names."""
    return next(PINS[person.id] for person, _pin in PEOPLE if person.name in prompt)


def walked(
    session: Session,
    hand: Hand | None = None,
    *,
    terse: bool = False,
    pins: Callable[[str], str] | None = None,
    answer: Callable[[str], str | None] | None = None,
) -> tuple[int, Typed]:
    """Walk a session in plain mode with that hand, to where it ends; the exit code and the conversation."""
    hand = hand or Hand(session.books(session.state.text))
    talk = Typed(answer or hand, pins=pins)
    walk = PlainWalk(session, talk, terse)
    hand.walk = walk
    with session:
        return walk.go(), talk


def reach_hold(session: Session) -> None:
    """Walk a customer's flagship job by acts to the senior's look."""
    hand = Hand(flagship())
    while session.now().kind != "hold":
        here = session.now()
        if here.kind == "reading":
            assert here.visit is not None
            session.do(acts.Record(hand.answers.reading(here.visit.path, here.name, here.visit.number, here.place)))
        elif here.kind == "choose":
            assert here.step is not None and here.step.choose is not None
            session.do(acts.ChooseWay(here.step.choose.ways[0].way))
        elif here.kind == "wait":
            assert isinstance(session.clock, Clock)
            session.clock.wait(minutes=31)
            session.do(acts.Waited())
        else:
            plain: dict[str, acts.Act] = {"ready": acts.Ready(), "hazard": acts.Acknowledge()}
            session.do(plain.get(here.kind, acts.Done()))


# --- the command -----------------------------------------------------------------------------------------------------


def benchwalk(*arguments: object, shop: Path | None = None, **more: Any) -> subprocess.CompletedProcess[str]:
    """Run the program as a process of its own, as a person would; its output as text."""
    command = [sys.executable, "-m", "benchwalk", *(["--shop", str(shop)] if shop else []), *map(str, arguments)]
    options: dict[str, Any] = {"capture_output": True, "encoding": "utf-8", "errors": "replace", "timeout": 60}
    if "input" not in more and "stdin" not in more:
        more["stdin"] = subprocess.DEVNULL
    return subprocess.run(command, check=False, **(options | more))


class Ran(NamedTuple):
    """What a command came to: its exit code, what it said, what it complained of."""

    returncode: int
    stdout: str
    stderr: str


def command(*arguments: object, shop: Path | None = None, input: str | bytes = "") -> Ran:
    """Run a command in this process, which takes a tenth of the time; nobody sits at a terminal."""
    data = input.encode() if isinstance(input, str) else input
    files = [io.TextIOWrapper(io.BytesIO(each), encoding="utf-8", newline="") for each in (data, b"", b"")]
    before = sys.stdin, sys.stdout, sys.stderr
    sys.stdin, sys.stdout, sys.stderr = files
    try:
        code = run([*(["--shop", str(shop)] if shop else []), *map(str, arguments)])
        sys.stdout.flush()
        sys.stderr.flush()
    finally:
        sys.stdin, sys.stdout, sys.stderr = before
    out, err = (file.buffer.getvalue().decode() for file in files[1:])
    return Ran(code, out, err)


def document(text: str) -> Any:
    """The one JSON document a command printed."""
    return json.loads(text)


def tree(folder: Path) -> dict[str, tuple[int, int, bytes]]:
    """Every file below a folder with its mode, time of change and bytes: what must not differ after a reader."""
    found = {}
    for place, _folders, names in os.walk(folder):
        for name in (".", *names):
            path = Path(place, name)
            stat = path.stat()
            data = b"" if name == "." else path.read_bytes()
            found[str(path.relative_to(folder))] = (stat.st_mode, stat.st_mtime_ns, data)
    return found
