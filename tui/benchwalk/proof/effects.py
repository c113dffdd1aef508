"""What walking one step does to the facts about every value at once, one bit a value in one whole number a fact."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from .moments import FACTS, LEFT_OUT, NO_RESULT, NOT_THERE, PARTLY, RECORDED, Ask, Moment, Put, Work

State = tuple[int, ...]
"""For each fact, the values (as bits) it may be true of."""

NOTHING: State = (0,) * FACTS

BRANCHES, LATE, EVENT = range(3)
"""How a step is left: at its branches (or by any plain way), late from its wait, or by an event at any moment."""


@dataclass(slots=True)
class Effect:
    """One change: `clear` bits lose all facts, `add` are gained; a sum (`work`) may fail where one of `needs` lacks."""

    clear: int
    add: list[int]
    work: int = 0
    needs: int = 0

    def changes(self, bit: int) -> bool:
        """Whether it changes what is known of that value."""
        return bool((self.clear | self.add[0] | self.add[1] | self.add[2] | self.add[3] | self.add[4]) & bit)

    def apply(self, state: State) -> State:
        """The facts after it."""
        after = [known & ~self.clear | new for known, new in zip(state, self.add, strict=True)]
        if self.lacks(state):
            after[3] |= self.work
        return tuple(after)

    def lacks(self, state: State) -> bool:
        """Whether something the sum needs may not be there."""
        return bool(self.needs and (state[1] | state[2] | state[3]) & self.needs)


@dataclass(slots=True)
class Asked:
    """Somebody is asked; `partly` is the bit of a reading that may be noted at some of its places by then."""

    partly: int
    late: bool


class Effects:
    """All that one step does, in order.

    `recorded` are the bits of its readings, `left` what is inside a run that an event may leave here; `skippable` says
    that the step may be skipped whenever somebody is asked.
    """

    __slots__ = ("left", "order", "recorded", "skippable")

    def __init__(self, moments: Iterable[Moment], bit: Mapping[str, int], *, skippable: bool) -> None:
        self.order: list[Effect | Asked] = []
        self.recorded = self.left = 0
        self.skippable = skippable
        for moment in moments:
            if isinstance(moment, Ask):
                self.order.append(Asked(1 << bit[moment.partly] if moment.partly else 0, moment.late))
            elif isinstance(moment, Put | Work) and moment.name in bit:
                self._add(moment, bit)

    def _add(self, moment: Put | Work, bit: Mapping[str, int]) -> None:
        mine = 1 << bit[moment.name]
        if isinstance(moment, Work):
            needs = sum({1 << bit[name] for name in moment.needs if name in bit})
            self.order.append(Effect(mine, [mine, 0, 0, mine if moment.may_fail else 0, 0], mine, needs))
            return
        clear = 0 if moment.may else mine
        add = [mine if moment.facts >> fact & 1 else 0 for fact in range(FACTS)]
        last = self.order[-1] if self.order else None
        if isinstance(last, Effect) and not last.work and not last.changes(mine):
            last.clear |= clear
            last.add = [old | new for old, new in zip(last.add, add, strict=True)]
        else:
            self.order.append(Effect(clear, add))

    def through(self, state: State) -> tuple[State, State | None, State | None]:
        """The facts on leaving the step at its branches, late, and on an event; None where it cannot be left so."""
        late: State | None = None
        event: State | None = None
        for change in self.order:
            if isinstance(change, Effect):
                state = change.apply(state)
                continue
            here = (*state[:4], state[4] | change.partly) if change.partly else state
            event = here if event is None else join(event, here)
            if change.late:
                late = state
        if self.skippable and event is not None:  # what it records is there by then, or is left out
            mine, others = self.recorded, ~self.recorded
            state = join(state, (event[0] | mine, event[1] & others, event[2] | mine, event[3] & others, event[4]))
        if self.left and event is not None:
            event = tuple(known | self.left for known in event)
        return state, late, event

    def single(self, number: int, fact: int, entry: State) -> tuple[int, int, int]:
        """The same for one value and one fact about it on entry; `entry` are the facts about all others."""
        bit = 1 << number
        facts, late, event = fact, 0, 0
        state = entry
        for change in self.order:
            if isinstance(change, Asked):
                event |= facts | (PARTLY if change.partly & bit else 0)
                late = facts if change.late else late
                continue
            gained = one(change.add, number)
            if change.work == bit and change.lacks(state):
                gained |= NO_RESULT
            facts = gained if change.clear & bit else facts | gained
            state = change.apply(state)
        if self.skippable and event:
            facts |= RECORDED | LEFT_OUT | event & PARTLY if self.recorded & bit else event
        if self.left & bit and event:
            event = RECORDED | NOT_THERE
        return facts, late, event


def one(state: State | list[int], number: int) -> int:
    """The facts about one value."""
    found = 0
    for fact, known in enumerate(state):
        if known >> number & 1:
            found |= 1 << fact
    return found


def join(state: State, other: State) -> State:
    """What holds on one of two ways."""
    return (
        state[0] | other[0],
        state[1] | other[1],
        state[2] | other[2],
        state[3] | other[3],
        state[4] | other[4],
    )


def kept(state: State, keep: tuple[int, ...] | None) -> State:
    """What is left of a state once a branch is taken that keeps only these facts.

    A value none of whose facts are kept counts as recorded: that no way records it is told once, where the condition
    stands, and not again all the way down.
    """
    if keep is None:
        return state
    left = [known & mask for known, mask in zip(state, keep, strict=True)]
    before, after = 0, 0
    for known, mask in zip(state, left, strict=True):
        before, after = before | known, after | mask
    left[0] |= before & ~after
    return tuple(left)
