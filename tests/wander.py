"""Walks at random through the real interpreter: any answer that can be typed, any event, any skip, any refusal."""

from __future__ import annotations

import random
from fractions import Fraction

from benchwalk.procedure.linked import Linked
from benchwalk.procedure.model import Example, Reading
from benchwalk.proof.rehearse import Player
from benchwalk.quantities import decimal_text
from benchwalk.sums import compute
from benchwalk.walk import acts
from benchwalk.walk.phase import Now, now, parse_time
from benchwalk.walk.step_acts import happenings

MOST_ACTS = 6000


class Wanderer(Player):
    """Answers at random; `ended` after `wander` says how the walk ended, None where it stands still."""

    def __init__(self, linked: Linked, chance: random.Random, *, often: float = 0.03, usual: float = 0.9) -> None:
        super().__init__(linked, Example.of({"example": "any"}), compute)
        self.chance = chance
        self.often = often
        self.usual = usual
        self.stands = ""

    def wander(self) -> str | None:
        """Walk until an end or a standstill; the outcome, or None with `stands` saying where."""
        self.open()
        for _ in range(MOST_ACTS):
            here = now(self.state, self.bench)
            if here.kind in ("ended", "account", "sign-again", "released"):
                assert self.state.ended is not None
                return str(self.state.ended["outcome"])
            if here.kind == "stuck":
                self.stands = f"stuck {self.where()}"
                return None
            self.act(self.answer(here))
        self.stands = f"no end {self.where()}"
        return None

    def open(self) -> None:
        facts = {name: {"rods": "6", "diameter": "14 in"}.get(name, "3") for name in self.linked.needed_facts()}
        given = {
            name: self.chance.choice(list(take.choices)) if take.choices else "2 .. 5" if take.range else "4"
            for name, take in self.linked.procedure.takes.items()
        }
        self.act(acts.Open("wander", "rehearsal", self.linked.text, facts, given))

    def answer(self, here: Now) -> acts.Act:
        if here.visit is not None and here.step is not None and self.chance.random() < self.often:
            fits = [event.event for _, event in happenings(self.state, self.bench)]
            if fits:
                return acts.Happens(self.chance.choice(fits))
        if here.step is not None and here.step.may_skip and self.chance.random() < 0.3:
            return acts.Skip("any reason", self.sign)
        match here.kind:
            case "ready":
                return acts.Ready()
            case "hazard":
                return acts.Acknowledge()
            case "do" | "way" | "each":
                return acts.Done()
            case "choose":
                assert here.step is not None and here.step.choose is not None
                return acts.ChooseWay(self.chance.choice(here.step.choose.ways).way)
            case "reading":
                if here.reading.optional and self.chance.random() < 0.4:
                    return acts.LeaveOut()
                assert here.linked is not None
                return acts.Record(self.typed(here.linked, here.name, here.reading), sure=True)
            case "wait":
                assert here.visit is not None and here.visit.until is not None
                self.time = max(self.time, parse_time(here.visit.until))
                return acts.Waited()
            case "hold":
                assert here.step is not None and here.step.hold is not None
                reasons = [None, *(here.step.hold.refused_for or [""])]
                reason = self.chance.choice(reasons)
                return acts.Release(self.sign) if reason is None else acts.Refuse(self.sign, reason)
        raise AssertionError(f"the walk stands at {here.kind}")

    def typed(self, linked: Linked, name: str, reading: Reading) -> str:
        """Anything that can be typed for a reading; mostly what is usual, so that walks come far."""
        usual = linked.procedure.usual.given.get(name)
        if isinstance(usual, str) and self.chance.random() < self.usual:
            return usual
        if reading.choices:
            return self.chance.choice(list(reading.choices))
        if reading.sort in ("words", "picture", "sound"):
            return "on paper, no. 1"
        possible, wanted = linked.possible.get(name), linked.wanted.get(name)
        low = possible.low if possible and possible.low is not None else Fraction(0)
        high = possible.high if possible and possible.high is not None else low + 40
        ends = [end for span in (possible, wanted) if span for end in (span.low, span.high) if end is not None]
        value = self.chance.choice([low + (high - low) * self.chance.randint(0, 40) / 40, *ends])
        if reading.sort == "whole":
            return str(int(value))
        return decimal_text(value, Fraction(1, 100)) + (" Hz" if reading.sort == "note" else "")
