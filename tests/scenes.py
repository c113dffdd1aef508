"""Screens worth looking at, each reached by its keys in an invented shop on a clock that stands still.

Pictures and snapshots are made of these. The shop is a copy of sample_jobs/ with work in hand.
"""

from __future__ import annotations

import asyncio
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any

from textual.pilot import Pilot

from benchwalk.authoring.draft import Draft
from benchwalk.job.shop import Shop
from benchwalk.library import Library
from benchwalk.practice.drum import random_drum
from benchwalk.practice.lesson import Lesson
from benchwalk.practice.orders import obey
from benchwalk.practice.speaker import Speaker
from benchwalk.procedure.linked import Linked
from benchwalk.procedure.model import Example
from benchwalk.proof.answers import MISSING, Answers
from benchwalk.screens.app import BenchwalkApp
from benchwalk.screens.bench import BenchScreen
from benchwalk.screens.drum import DrumScreen
from benchwalk.screens.hand import Hand
from benchwalk.screens.learned import LearnedScreen
from benchwalk.screens.walk import WalkScreen
from benchwalk.screens.write import WriteScreen
from benchwalk.session import Session
from benchwalk.sums import compute
from benchwalk.walk import acts
from benchwalk.walk.phase import Now
from house import patiently
from shop_helpers import FLAGSHIP, ROOT, Clock, begin, flagship
from test_screens_bench import rested

TAM, ODE, MARA = "tam-reyes", "ode-lindqvist", "mara-quill"
DAY = datetime(2026, 3, 9, 8, 40, tzinfo=timezone(timedelta(hours=1)))
NOON = DAY.replace(hour=12, minute=0)
LATE = NOON - timedelta(minutes=16)


@dataclass(frozen=True)
class Scene:
    """One screen: `begin` makes the first screen in a shop, `keys` lead on from there; `=text` is typed."""

    begin: Callable[[Shop], Any]
    keys: tuple[str, ...] = ()


class Walker:
    """Walks a job by acts, as the procedure's usual answers have it, to where it is wanted."""

    def __init__(self, linked: Linked, **given: Any) -> None:
        self.answers = Answers.of(linked, Example.of({"example": "seen", "given": given}))

    def to(self, session: Session, step: str, kind: str = "") -> Session:
        """Walk on to a step, or to the question of that kind in it."""
        for _ in range(400):
            here = session.now()
            if here.visit is not None and here.visit.step == step and kind in ("", here.kind):
                return session
            decision = session.do(self.act(session, here))
            assert decision.refusal is None, (here.kind, decision.refusal)
        raise AssertionError(f"{step} is never reached")

    def act(self, session: Session, here: Now) -> acts.Act:
        """What is done here."""
        if here.kind == "reading":
            assert here.visit is not None
            typed = self.answers.reading(here.visit.path, here.name, here.visit.number, here.place)
            return acts.LeaveOut() if typed == MISSING else acts.Record(typed)
        if here.kind == "choose":
            assert here.step is not None and here.step.choose is not None
            return acts.ChooseWay(here.step.choose.ways[0].way)
        if here.kind == "wait":
            assert isinstance(session.clock, Clock)
            session.clock.wait(minutes=31)
            return acts.Waited()
        plain: dict[str, acts.Act] = {"ready": acts.Ready(), "hazard": acts.Acknowledge()}
        return plain.get(here.kind, acts.Done())


class Still(Clock):
    """A clock that can be stopped."""

    stopped = False

    def __call__(self) -> datetime:
        return self.time if self.stopped else super().__call__()


def stands_at(shop: Shop, step: str, kind: str = "") -> Session:
    """A practice job of the re-tie that stands at a step, or at the question of that kind in it."""
    return Walker(flagship()).to(begin(shop), step, kind)


def opened(shop: Shop, who: str, drum: str, complaint: str, owner: str, at: datetime, job: str = "") -> Session:
    """A new job of the re-tie: a customer's where an owner is named, else practice."""
    linked = Library.of(shop.root).get(FLAGSHIP)
    kept: dict[str, Any] = {"owner": {"name": owner}, "salt": owner.encode().ljust(16, b".")[:16]} if owner else {}
    kind = "customer" if owner else "practice"
    note = {"instrument": drum, "complaint": complaint}
    return Session.begin(
        shop, linked, who, Still(at), compute, kind=kind, job=job or None, drum={"diameter": "14 in"}, note=note, **kept
    )


def busy_shop(folder: Path) -> Shop:
    """The sample shop with five jobs in hand: a look, a rest, two put down, one at its beginning."""
    shutil.copytree(ROOT / "sample_jobs", folder, ignore=shutil.ignore_patterns("answers", "build.py"))
    shop = Shop.open(folder)
    walker = Walker(Library.of(shop.root).get(FLAGSHIP))
    with opened(
        shop, TAM, "Concert snare drum 14 x 6 1/2 in", "Dry at soft strokes", "Rosalind Achterberg", DAY
    ) as job:
        walker.to(job, "senior-look")
    with opened(shop, ODE, "Field drum 14 x 12 in", "Cord broke on stage", "Fifes of Lower Aldham", LATE) as job:
        walker.to(job, "rest", "wait")
    with opened(shop, TAM, "Snare drum 14 x 5 in", "Snares stay on", "Jonas Wieland", DAY) as job:
        walker.to(job, "seal")
        job.do(acts.Acknowledge())
        job.do(acts.Pause("glue has run out; more comes on Thursday"))
    with opened(shop, ODE, "Piccolo snare drum 14 x 3 1/2 in", "Buzzes when off", "Ngaire Tamihana", DAY) as job:
        walker.to(job, "look-head")
        job.do(acts.Pause("lever on, nothing is loose"))
    with opened(shop, TAM, "The old practice drum", "", "", DAY) as job:
        walker.to(job, "try-mounts")
        job.do(acts.Pause("both plates tagged"))
    return shop


# --- where scenes begin ----------------------------------------------------------------------------------------------


def bench(shop: Shop) -> Any:
    """The bench, with the apprentice at it."""
    clock = Still(NOON)
    clock.stopped = True
    return BenchScreen(shop, who=TAM, now=clock)


def at(step: str, kind: str = "", who: str = TAM, **given: Any) -> Callable[[Shop], Any]:
    """A customer's job at a step, or at one kind of question in it."""

    def begin(shop: Shop) -> Any:
        drum, owner = "Snare drum 14 x 5 1/2 in", "Pell Brandreth"
        session = opened(shop, who, drum, "Rattles at every setting", owner, DAY, "J-0012")
        Walker(Library.of(shop.root).get(FLAGSHIP), **given).to(session, step, kind)
        assert isinstance(session.clock, Still)
        session.clock.stopped = True
        return WalkScreen(Hand(session))

    return begin


def writing(shop: Shop) -> Any:
    """A procedure being written, with a branch missing."""
    library = Library.of(shop.root)
    text = library.path_of("tie-one-side").read_text(encoding="utf-8")
    lines = text.split("\n")
    lost = next(number for number, line in enumerate(lines) if "- {when:" in line)
    path = shop.root / "procedures" / "tie-one-side.yaml"
    path.parent.mkdir(exist_ok=True)
    path.write_text("\n".join([*lines[:lost], *lines[lost + 1 :]]), encoding="utf-8")
    return WriteScreen(Draft.open(path), library, shop.root)


def learned(shop: Shop) -> Any:
    """What the logs say of the re-tie."""
    return LearnedScreen(shop, FLAGSHIP, Library.of(shop.root).get(FLAGSHIP))


def turning(shop: Shop) -> Any:
    """A head being evened: the rods to turn now, with what is advised at each."""
    linked = Library.of(shop.root).get("even-rods")
    given = {"head": "batter", "want": "220", "slack": "1.5"}
    note = {"instrument": "Snare drum 14 x 5 1/2 in", "complaint": "Sounds uneven"}
    more: dict[str, Any] = {"drum": {"rods": "8"}, "given": given, "note": note}
    session = Session.begin(shop, linked, TAM, Still(DAY), compute, kind="practice", job="J-0012", **more)
    notes = {"each": 222, "2": 216, "6": "216.4 ±0.6c", "3": 219, "7": 219}
    Walker(linked, rod_note=notes).to(session, "turn", "do")
    assert isinstance(session.clock, Still)
    session.clock.stopped = True
    return WalkScreen(Hand(session))


def drum(shop: Shop) -> Any:
    """A practice drum after a round, a turn and a second round."""
    lesson = Lesson.begin(random_drum(rods=8, seed=22, level="plain"))
    speaker = Speaker()
    speaker.silent = "unheard"
    orders = ("tap", "advice", "turn 1 4 5 8 1/8", "press", "tap 1 5 2 6")
    said = [line for order in orders for line in obey(lesson, order, compute)]
    return DrumScreen(lesson, compute, speaker=speaker, said=said)


SCENES: dict[str, Scene] = {
    "bench": Scene(bench),
    "walk-reading": Scene(at("gaps"), ("=1/8 in",)),
    "walk-hazard": Scene(at("seal", "hazard")),
    "walk-choices": Scene(at("hold-off"), ("2",)),
    "walk-tying": Scene(at("thread")),
    "walk-hold": Scene(at("senior-look", "hold")),
    "sign-off": Scene(at("senior-look", "hold"), ("s", "enter")),
    "pages": Scene(at("senior-look"), ("f4",)),
    "route": Scene(at("gaps"), ("f5",)),
    "more": Scene(at("gaps"), ("f9",)),
    "help": Scene(at("gaps"), ("f1",)),
    "book": Scene(bench, ("b",)),
    "record": Scene(bench, ("b", "end", "enter", *["right"] * 4)),
    "intake": Scene(bench, ("t", "enter", "=Rosalind Achterberg", "enter", "enter", "=Snare drum 14 x 5 in", "enter")),
    "procedures": Scene(bench, ("l",)),
    "people": Scene(bench, ("e",)),
    "write": Scene(writing, ("f3",)),
    "learned": Scene(learned),
    "walk-rods": Scene(turning),
    "drum": Scene(drum),
}
"""Every scene by its name."""


def staged(scene: Scene, shop: Shop, look: str) -> BenchwalkApp:
    """The program, about to show the first screen of a scene."""
    first = scene.begin(shop)
    return BenchwalkApp(lambda: first, look=look, quiet=0.0)


async def _read(screen: BenchScreen) -> None:
    """Wait until the bench knows its people and every job; it begins to read once it is drawn."""
    shelf = screen.shelf
    assert shelf is not None
    for _ in patiently():
        if shelf.people and not shelf.left:
            return
        await asyncio.sleep(0.005)
    raise AssertionError("the jobs are never read")


async def play(pilot: Pilot[int], scene: Scene) -> None:
    """Press the keys of a scene, each once the screen is at rest."""
    first = pilot.app.screen
    if isinstance(first, BenchScreen):
        await _read(first)
    if isinstance(first, WriteScreen):
        for _ in patiently():
            if first._walked_version == first._version:
                break
            await asyncio.sleep(0.01)
    await rested(pilot)
    for key in scene.keys:
        if key.startswith("="):
            pilot.app.screen.query_one("Input:focus").insert_text_at_cursor(key[1:])  # type: ignore[attr-defined]
        else:
            await pilot.press(key)
        await rested(pilot)
