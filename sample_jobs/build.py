"""Builds this sample shop again, byte for byte: its people, approvals and finished jobs, from the files in answers/.

Every clock, id and salt is handed in here, and the jobs are walked through the same session a person walks in. Nothing
of it is real: shop, people, drums and their owners are invented.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import datetime, timedelta, timezone
from hashlib import sha256
from pathlib import Path
from typing import Any

from benchwalk.job.approvals import approve
from benchwalk.job.people import Person, add_person, check_pin, set_pin
from benchwalk.job.shop import Shop
from benchwalk.library import Library
from benchwalk.procedure.linked import Linked
from benchwalk.procedure.model import Example
from benchwalk.procedure.tree import parse
from benchwalk.proof.rehearse import Player
from benchwalk.session import Session, runs_of
from benchwalk.sums import compute
from benchwalk.walk import acts
from benchwalk.walk.phase import Now

HERE = Path(__file__).resolve().parent
ZONE = timezone(timedelta(hours=1))
SENIOR, APPRENTICE, TECHNICIAN = "mara-quill", "tam-reyes", "ode-lindqvist"
PINS = {SENIOR: "482915", APPRENTICE: "730264", TECHNICIAN: "916038"}
PROCEDURE = "retie-snare-cords"


def salt(word: str) -> bytes:
    """A salt that is always the same for a word: this is a sample, and its PINs stand above."""
    return sha256(f"sample {word}".encode()).digest()[:16]


class JobPlayer(Player):
    """Plays an answer file in a customer's job, at a pace a hand could keep, with what else happened on the way."""

    def __init__(self, shop: Shop, linked: Linked, answers: dict[str, Any], job: str, begin: datetime) -> None:
        self.shop, self.job = shop, job
        self.note, self.owner = answers.pop("note"), answers.pop("owner")
        self.extras: dict[str, list[dict[str, str]]] = answers.pop("extras", {})
        self.session: Session | None = None
        super().__init__(linked, Example.of(answers), compute)
        self.time = begin
        self.who = APPRENTICE
        self.sign = acts.Sign(SENIOR, "pin")

    @property
    def bench(self) -> Any:
        """The session's own bench, whose clock is this player's."""
        assert self.session is not None
        return self.session.bench

    def begin(self) -> None:
        """Open the job as intake does."""
        drum = {name: self.answers.fact(name) for name in self.linked.needed_facts()}
        self.session = Session.begin(
            self.shop,
            self.linked,
            self.who,
            lambda: self.time,
            compute,
            kind="customer",
            job=self.job,
            drum=drum,
            note=self.note,
            owner=self.owner,
            salt=salt(self.job),
        )
        self.state = self.session.state

    def act(self, act: acts.Act) -> None:
        """Do one act in the session, half a minute after the one before."""
        assert self.session is not None
        self.time += timedelta(seconds=25 + len(self.session.state.entries) % 20)
        decision = self.session.do(act)
        if decision.refusal:
            raise SystemExit(f"{self.job}: {type(act).__name__} at {self.where()}: {decision.refusal}")
        self.state = self.session.state

    def answer(self, here: Now) -> acts.Act:
        """What else happened at this step first, then the answer."""
        assert self.session is not None
        if here.kind == "recheck":
            return acts.CheckPlace("as the log says")
        step = here.step.step if here.step is not None else ""
        extras = self.extras.pop(step, [])
        for extra in extras:
            for act in self.extra(extra):
                self.act(act)
        return self.answer(self.session.now()) if extras else super().answer(here)

    def extra(self, extra: dict[str, str]) -> Iterator[acts.Act]:
        """The acts of one entry under `extras`."""
        assert self.session is not None
        if "note" in extra:
            yield acts.Note(extra["note"])
        if "correct" in extra:
            entry = [e for e in self.state.entries.values() if e.name == extra["correct"]][-1]
            yield acts.Correct(entry.n, extra["typed"], extra["reason"])
        if "hand_over" in extra:
            yield acts.HandOver(extra["hand_over"], extra["text"])
            self.who = self.session.who = extra["hand_over"]
            yield acts.TakeOn()

    def finish(self) -> None:
        """Count the tools and release the job."""
        assert self.session is not None
        if self.session.now().kind == "account":
            self.act(acts.Account())
        self.act(acts.ReleaseJob(self.sign, head=self.session.head))
        self.session.close()
        if why := self.differs():
            raise SystemExit(f"{self.job}: {why}")


def build(folder: Path) -> None:
    """The whole shop in an empty folder."""
    day = datetime(2026, 3, 2, 8, 30, tzinfo=ZONE)
    shop = Shop.create(folder, "The bench at Alder Yard")
    people = (
        (SENIOR, "Mara Quill", "senior"),
        (APPRENTICE, "Tam Reyes", "apprentice"),
        (TECHNICIAN, "Ode Lindqvist", "technician"),
    )
    add_person(shop, Person(people[0][0], people[0][1], (people[0][2],)), day)
    set_pin(shop, SENIOR, PINS[SENIOR], salt(SENIOR), day)
    signed = check_pin(shop, SENIOR, PINS[SENIOR], day)
    for person, name, role in people[1:]:
        add_person(shop, Person(person, name, (role,)), day, signed)
        set_pin(shop, person, PINS[person], salt(person), day, by=signed)
    linked = Library.of(shop.root).get(PROCEDURE)
    revision = str(linked.procedure.revision)
    approve(shop, linked.id, revision, linked.content, runs_of(linked), "the Benchwalk authors", signed, day)
    for number, path in enumerate(sorted((HERE / "answers").glob("*.yaml")), 1):
        root = parse(path.read_bytes(), path.name).root
        assert isinstance(root, dict), path
        begin = day + timedelta(days=number, minutes=17 * number)
        player = JobPlayer(shop, linked, dict(root), f"J-{number:04}", begin)
        player.play()
        player.finish()


def main() -> None:
    """Build beside this file: what an earlier build made is replaced, answers/ and this file stay."""
    fresh = HERE / ".fresh"
    shutil.rmtree(fresh, ignore_errors=True)
    build(fresh)
    for name in ("shop.yaml", "people.yaml", "people.jsonl", "procedures", "jobs"):
        old = HERE / name
        if old.is_dir():
            shutil.rmtree(old)
        elif old.exists():
            old.unlink()
        shutil.move(fresh / name, old)
    shutil.rmtree(fresh)


if __name__ == "__main__":
    main()
