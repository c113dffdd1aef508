"""Counting one revision of a procedure in the jobs of one kind: stays, ways taken, readings, time.

What a walk went back over no longer counts, here as in the log; only how many stays that were is kept.
"""

from __future__ import annotations

from ..procedure.linked import Linked
from ..proof.walked import Key
from ..walk.state import Entry, Visit
from .learned_follow import Followed, Spell
from .learned_numbers import Reason, Tally

UNDER_WAY, LED_AWAY = "under way", "led away"
"""How a walk stands that has not come to an end, and one that an event of another procedure broke off."""

NONE = Tally()
Stay = tuple[float, str, int]
"""Seconds, job, and the event that the stay began with."""


class Counted:
    """What was counted. Keys: steps by their id, readings by (step, name, place, what)."""

    def __init__(self, linked: Linked) -> None:
        self.linked = linked
        self.walks: dict[str, Tally] = {}
        self.visits: dict[str, Tally] = {}
        self.gone: dict[str, Tally] = {}
        self.ways: dict[Key, Tally] = {}
        self.said: dict[Key, list[Reason]] = {}
        self.readings: dict[tuple[str, str, str | None, str], Tally] = {}
        self.at_work: dict[str, list[Stay]] = {}
        self.let_pass: dict[str, list[Stay]] = {}

    def take(self, job: Followed) -> None:
        """Count a job in."""
        self._walks(job)
        for visit in job.stays():
            kept = self.gone if visit.struck else self.visits
            kept.setdefault(visit.step, Tally()).add(job.job, visit.entered)
            if visit.closed is not None and not (visit.struck or visit.broken or visit.skipped):
                self._time(job, visit)
        undone = {took.n for took in job.state.took if took.state == "overruled"}
        for key, n, at, said in job.taken:
            if job.state.live(at, n) and n not in undone:
                self.ways.setdefault(key, Tally()).add(job.job, n)
                if said:
                    self.said.setdefault(key, []).append(Reason(job.job, n, said))
        for entry in job.state.entries.values():
            self._reading(job, entry)

    def way(self, key: Key) -> Tally:
        """How often a way was taken."""
        return self.ways.get(key, NONE)

    def stays(self, step: str) -> Tally:
        """The stays at a step that count."""
        return self.visits.get(step, NONE)

    def read(self, step: str, name: str, place: str | None, what: str) -> Tally:
        """How often a reading was asked, judged, below, within, above, outside, corrected, odd or left-out."""
        return self.readings.get((step, name, place, what), NONE)

    def _walks(self, job: Followed) -> None:
        state = job.state
        came_back = {result.run: result.outcome for many in state.results.values() for result in many}
        for frame in state.begun.values():
            if frame.text != job.linked.text or not state.live(frame.caller, frame.n):
                continue
            if not frame.path:
                outcome = state.ended["outcome"] if state.ended else UNDER_WAY
            elif any(frame.run == each.run for each in state.frames):
                outcome = UNDER_WAY
            else:
                outcome = LED_AWAY if frame.run in job.led_away else came_back.get(frame.run, LED_AWAY)
            self.walks.setdefault(outcome, Tally()).add(job.job, frame.n)

    def _time(self, job: Followed, visit: Visit) -> None:
        def seconds(spells: list[Spell]) -> float:
            return sum(spell.seconds for spell in spells if job.state.live(visit.number, spell.n))

        worked = seconds(job.at_work.get(visit.number, []))
        self.at_work.setdefault(visit.step, []).append((worked, job.job, visit.entered))
        if visit.until is not None:
            passed = seconds(job.let_pass.get(visit.number, []))
            self.let_pass.setdefault(visit.step, []).append((passed, job.job, visit.entered))

    def _reading(self, job: Followed, entry: Entry) -> None:
        state = job.state
        visit = state.visits[entry.visit - 1] if entry.visit else None
        if visit is None or not job.mine(visit) or not state.live(entry.visit, entry.n):
            return
        if entry.name not in self.linked.procedure.readings:
            return  # a way that was chosen
        if entry.value is None and visit.skipped is not None and entry.why == f"skipped: {visit.skipped}":
            return  # nobody was asked
        what = ["asked"]
        what += ["left-out"] if entry.value is None else []
        what += ["corrected"] if entry.before else []
        what += ["odd"] if entry.odd else []
        what += ["judged", entry.verdict] if entry.verdict is not None else []
        for each in what:
            self.readings.setdefault((visit.step, entry.name, entry.place, each), Tally()).add(job.job, entry.n)
