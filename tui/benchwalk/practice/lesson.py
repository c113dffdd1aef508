"""A practice drum in somebody's hands: what was tapped, turned and pressed, what was heard, and how it went.

Each act answers with lines to be said. The notes are heard out of the drum's sound by the same ear that listens at the
bench; nothing here reads a clock or chance of its own.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import field
from fractions import Fraction
from typing import Any, Self, TypeVar

from ..errors import Refused
from ..plaindata import Plain
from ..procedure.showing import sentence
from ..quantities import cents_between
from ..walk.wording import turns_text
from .drum import MICS, Drum, across
from .hidden import HEADS
from .hit import LEVEL
from .values import count, number, pitch, text, word

RATE = 48000
SURE_CENTS = 20
"""A note that is no surer than this is none to turn a rod by."""
OUT, TEARS = -2.0, 4.0
"""Turns from finger-tight at which a rod comes out of its lug, and at which a film may tear. Common practice, no
published source."""


class Noted(Plain):
    """A note beside a rod: as it would be typed, in Hz, and the second note where one was heard."""

    typed: str
    hz: float
    second: float | None = None


class Slips(Plain):
    """What a hand skipped, each counted: it is told at the end and not before."""

    not_pressed: int = 0
    not_all: int = 0
    fixed: int = 0
    rang: int = 0


class Lesson(Plain):
    """One drum, one head of it worked on. `rounds` are the notes between turns, `turned` what followed each of them.

    `began` is how far apart the notes of each head were when it was first worked on, in cents; None where it had none.
    `followed` is the event of a walk by whose word the pad was laid last.
    """

    drum: Drum
    head: str = "batter"
    mic: str = "over"
    force: str = "soft"
    taps: int = 0
    turns: int = 0
    began: dict[str, float | None] = field(default_factory=dict)
    followed: int = 0
    slack: float = 0.0
    rounds: list[dict[int, Noted]] = field(default_factory=list)
    turned: list[dict[int, float]] = field(default_factory=list)
    slips: Slips = field(default_factory=Slips)
    sound: Any = None

    @classmethod
    def begin(cls, drum: Drum, head: str = "batter", up: float = 1.5) -> Self:
        """A lesson on a drum that another hand brought up by `up` turns a rod, as well as finger-tight allows."""
        for each in drum.heads:
            drum.bring_up(each, up)
        lesson = cls(drum)
        lesson.work_on(head)
        return lesson

    @property
    def other(self) -> str:
        """The head that is not worked on."""
        return next(each for each in self.drum.heads if each != self.head)

    @property
    def now(self) -> dict[int, Noted]:
        """The notes since the last turn, by rod."""
        return self.rounds[-1] if self.rounds and not self.turned[-1] else {}

    def spread(self, head: str = "") -> float:
        """The true spread of the rod notes of a head (of the one worked on) in cents, as a perfect hand would find it
        with the other head damped.

        nan for a head too loose to ring.
        """
        notes = [self.drum.true_note(head or self.head, rod) for rod in range(1, self.drum.rods + 1)]
        if any(map(math.isnan, notes)):
            return math.nan
        return cents_between(Fraction(max(notes)), Fraction(min(notes)))

    # --- acts ---

    def work_on(self, head: str) -> list[str]:
        """Turn the drum so that this head is worked on; the pad stays where it is."""
        if head not in self.drum.heads:
            raise Refused(f"the heads are {' and '.join(self.drum.heads)}; '{head[:20]}' is none of them")
        self.head = head
        self.rounds, self.turned = [], []
        self.slack = sum(self.drum.counted(head)) / self.drum.rods
        spread = self.spread()
        self.began.setdefault(head, None if math.isnan(spread) else spread)
        pad = f" The pad lies on it, and the {self.other} head is free to ring." if self.drum.damped(head) else ""
        return [f"The {head} head is before you. Rods are counted from the strainer, clockwise as you look at it.{pad}"]

    def tap(self, rod: int) -> list[str]:
        """Tap beside a rod and listen."""
        from ..taps import Sound, hear
        from ..taps.take import as_typed
        from ..taps.words import note_words

        hit = self.drum.tap(self.head, rod, self.mic, self.force)
        self.sound = hit.sound(RATE)
        self.taps += 1
        self.slips.fixed += self.mic == "fixed" and rod != 1
        self.slips.not_pressed += not self.drum.pressed(self.head)
        self.slips.rang += not self.drum.damped(self.other)
        heard = hear(Sound(self.sound, RATE))
        if not heard.taps:
            return [f"Rod {rod}: no note. {sentence(heard.refused or '')}"]
        tap = heard.taps[0]
        if tap.uncertainty_cents > SURE_CENTS:
            return [f"Rod {rod}: no sure note ({tap.pitch_hz:.0f} Hz or so). Tap again."]
        if not self.rounds or self.turned[-1]:
            self.rounds.append({})
            self.turned.append({})
        self.rounds[-1][rod] = Noted(as_typed(tap), tap.pitch_hz, tap.second_hz)
        apart = f"; two notes {tap.split_hz:.1f} Hz apart" if tap.split_hz else ""
        return [f"Rod {rod}: {note_words(tap)}{apart}."]

    def tap_all(self) -> list[str]:
        """Tap beside every rod, in opposite pairs."""
        return [line for rod in across(self.drum.rods) for line in self.tap(rod)]

    def turn(self, turns: Mapping[int, float]) -> list[str]:
        """Turn rods, + tightens. Raises Refused, with nothing turned, where one goes too far."""
        counted = self.drum.counted(self.head)
        for rod, turn in turns.items():
            self._may_turn(rod, counted[rod - 1] + turn)
        if self.rounds and not self.turned[-1]:
            self.slips.not_all += len(self.rounds[-1]) < self.drum.rods
        for rod, turn in turns.items():
            self.drum.turn(self.head, rod, turn)
            self.turns += 1
            if self.turned:
                self.turned[-1][rod] = self.turned[-1].get(rod, 0.0) + turn
            else:
                self.slack += turn / self.drum.rods
        done = turns_text({str(rod): Fraction(turn).limit_denominator(1000) for rod, turn in turns.items()})
        return [f"{done[:1].upper()}{done[1:]}: done. The film follows in part; pressed home it follows whole."]

    def _may_turn(self, rod: int, after: float) -> None:
        if after > TEARS:
            raise Refused(f"rod {rod} would be {after:g} turns above finger-tight, where a film tears; loosen it first")
        if after < OUT:
            raise Refused(f"rod {rod} would be {-after:g} turns below finger-tight, out of its lug; tighten it first")

    def loosen(self) -> list[str]:
        """Back every rod off to finger-tight."""
        counted = self.drum.counted(self.head)
        if any(counted):
            self.turn({rod: -turns for rod, turns in enumerate(counted, 1) if turns})
        self.rounds, self.turned, self.slack = [], [], 0.0
        return ["Every rod is back at finger-tight. Bring the head up across and across, and press it home."]

    def press(self) -> list[str]:
        """Press the film home."""
        self.drum.press(self.head)
        return ["The film is pressed home."]

    def damp(self, damped: bool) -> list[str]:
        """Lay the other head on the pad, or take it off; what was heard with it otherwise counts no more."""
        moved = self.drum.damped(self.other) != damped
        self.drum.damp(self.other, damped)
        told = [f"The {self.other} head {'rests on the pad' if damped else 'is free to ring'}."]
        if moved and self.now:
            self.rounds.pop()
            self.turned.pop()
            told.append("Notes heard before are no measure for those that follow: tap every rod again.")
        return told

    def depth(self) -> list[str]:
        """Read the depth gauge beside every rod."""
        depths = self.drum.hoop_depths(self.head)
        return ["Depth by rod: " + ", ".join(f"{n} {depth:.1f}" for n, depth in enumerate(depths, 1)) + " mm."]

    def given(self) -> dict[str, Any]:
        """What the sum `rod-advice` is given: rounds that are whole, and the turns after each."""
        whole = [(notes, turns) for notes, turns in zip(self.rounds, self.turned, strict=True)]
        rods = range(1, self.drum.rods + 1)

        def placed(values: Mapping[int, float | None]) -> dict[str, Fraction | None]:
            found = {rod: values.get(rod) for rod in rods}
            return {str(rod): None if v is None else Fraction(round(v * 10000), 10000) for rod, v in found.items()}

        return {
            "first": [placed({rod: note.hz for rod, note in notes.items()}) for notes, _ in whole],
            "second": [placed({rod: note.second for rod, note in notes.items()}) for notes, _ in whole],
            "turned": [placed({rod: turns.get(rod, 0.0) for rod in rods}) if turns else None for _, turns in whole],
            "slack": Fraction(round(self.slack * 10000), 10000),
        }

    # --- kept ---

    def state(self) -> dict[str, Any]:
        """All of it as plain data, for `from_state`."""
        kept = {key: getattr(self, key) for key in ("head", "mic", "force", "taps", "turns", "slack", "followed")}
        return {
            **kept,
            "began": dict(self.began),
            "drum": self.drum.state(),
            "rounds": [{str(rod): vars(note) for rod, note in notes.items()} for notes in self.rounds],
            "turned": [{str(rod): turn for rod, turn in turns.items()} for turns in self.turned],
            "slips": vars(self.slips),
        }

    @classmethod
    def from_state(cls, state: Mapping[str, Any]) -> Self:
        """The lesson of a state. Raises Refused where it is not one."""
        try:
            drum = Drum.from_state(state["drum"])
            rounds = [_by_rod(notes, drum.rods, _noted) for notes in state["rounds"]]
            turned = [_by_rod(turns, drum.rods, number) for turns in state["turned"]]
            if len(rounds) != len(turned):
                raise ValueError("rounds and turns do not belong together")
            return cls(
                drum=drum,
                head=word(state["head"], drum.heads),
                mic=word(state["mic"], MICS),
                force=word(state["force"], tuple(LEVEL)),
                taps=count(state["taps"]),
                turns=count(state["turns"]),
                began=_began(state["began"], state["head"]),
                followed=count(state.get("followed", 0)),
                slack=number(state["slack"]),
                rounds=rounds,
                turned=turned,
                slips=Slips(**{name: count(value) for name, value in state["slips"].items()}),
            )
        except (KeyError, TypeError, ValueError, AttributeError) as error:
            raise Refused("this is not the state of a lesson") from error


def _began(kept: Any, head: str) -> dict[str, float | None]:
    """How far apart the notes were at first, by head; an older lesson kept it of the head worked on alone."""
    by_head = kept if isinstance(kept, Mapping) else {head: kept}
    return {word(each, HEADS): None if cents is None else number(cents) for each, cents in by_head.items()}


T = TypeVar("T")


def _by_rod(kept: Mapping[str, Any], rods: int, read: Callable[[Any], T]) -> dict[int, T]:
    """What was kept of single rods, by rod. Raises ValueError for a rod that is not there."""
    found = {count(int(rod)): read(value) for rod, value in kept.items()}
    if not all(1 <= rod <= rods for rod in found):
        raise ValueError("there is no such rod")
    return found


def _noted(kept: Mapping[str, Any]) -> Noted:
    """A kept note."""
    note = Noted(**kept)
    return Noted(text(note.typed), pitch(note.hz), None if note.second is None else pitch(note.second))
