"""The step graph as text: plain characters, 80 cells wide, in an order and in words that can be read aloud."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ..procedure.linked import Linked
from ..procedure.model import Hold, Step, Wait, Whenever
from ..proof.rehearse import Rehearsal
from ..proof.walked import Key, walked_ways
from .ways import Way, a_role, listed, said_each, said_run, times, way_of_event, ways_of
from .wrap import wrap


def draw_text(linked: Linked, walked: Sequence[Rehearsal] | None = None) -> str:
    """The procedure step by step: what can hurt, what is done and noted, and where it leads and why.

    With `walked` (its rehearsed examples) each way says how many examples take it. Ends with a line feed.
    """
    counts = None if walked is None else walked_ways(linked, walked)
    lines = list(_head(linked, walked))
    for step in linked.procedure.steps:
        lines.append("")
        if step.stage:
            lines += [*wrap(f"Stage {step.stage.id}: {step.stage.title}"), ""]
        lines += _step(linked, step, counts)
    if linked.procedure.whenever:
        lines += ["", "What may happen"]
        for event in linked.procedure.whenever:
            lines += ["", *_event(linked, event, counts)]
    return "\n".join(lines) + "\n"


def _head(linked: Linked, walked: Sequence[Rehearsal] | None) -> Iterator[str]:
    p = linked.procedure
    yield from wrap(p.title)
    stages = len(set(linked.stage.values()))
    parts = [f"{len(p.steps)} step{'s' if len(p.steps) > 1 else ''}"]
    parts += [f"{stages} stages"] if stages > 1 else []
    parts += [f"ends {listed(linked.outcomes(), 'or')}"] if linked.outcomes() else []
    yield from wrap(f"{p.procedure}, revision {p.revision}: {', '.join(parts)}")
    if walked is not None:
        good = sum(r.ok for r in walked)
        rest = "" if good == len(walked) else f"; {len(walked) - good} more do not go as they say"
        yield from wrap(f"In square brackets: how many of its {good} examples go that way{rest}")


def _step(linked: Linked, step: Step, counts: dict[Key, int] | None) -> Iterator[str]:
    name = step.step
    if step.entered:
        bound = f"entered at most {times(step.entered.at_most)}, then {step.entered.then}"
        yield from wrap(f"{name} ({bound}){_marked((name, 'entered', 0), counts, 'sent on')}", "", "  ")
    else:
        yield from wrap(name)
    for grade, part in step.graded():
        yield from wrap(f"{grade}: {part.hazard}", "  ", "    ")
    if step.do:
        yield from wrap(step.do, "  ", "  ")
    for line in _within(step):
        yield from wrap(line, "  ", "    ")
    if step.may_skip:
        skip = f"may be skipped by {a_role(step.may_skip.by)}: {step.may_skip.because}"
        yield from wrap(skip + _marked((name, "skip", 0), counts), "  - ", "    ")
    for way in ways_of(linked, step):
        if way.key[1] == "end":
            assert step.end is not None
            yield from wrap(_ending(step) + _marked(way.key, counts), "  - ", "    ")
        else:
            yield from wrap(_way(linked, way, linked.at.get(name, -1), counts), "  - ", "    ")


def _within(step: Step) -> Iterator[str]:
    """What else happens in the step, in the order it happens."""
    if step.choose:
        yield f"takes one way, {step.choose.as_}: {listed([w.way for w in step.choose.ways], 'or')}"
    if step.run:
        yield f"runs {said_run(step.run)}"
    if step.each:
        yield f"confirmed singly: {said_each(step.each)}"
    if step.wait:
        yield _waiting(step.wait)
    if step.record:
        yield f"notes {listed(step.record)}"
    if step.work_out:
        yield f"works out {listed(step.work_out)}"
    if step.hold:
        yield _holding(step.hold)
    if step.witness:
        yield f"{a_role(step.witness.by)} is told: {step.witness.because}"


def _waiting(wait: Wait) -> str:
    since = f" from the end of {wait.from_}" if wait.from_ else ""
    return f"waits {wait.for_}{since}" + (f", {wait.at_latest} at the latest" if wait.at_latest else "")


def _holding(hold: Hold) -> str:
    work = f", only for work by {a_role(listed(hold.for_work_by, 'or'))}" if hold.for_work_by else ""
    return f"stops until {a_role(hold.by)} releases it{work}: {hold.because}"


def _ending(step: Step) -> str:
    assert step.end is not None
    after = f"; proposes {listed(step.end.proposes)}" if step.end.proposes else ""
    return f"ends {step.end.as_}" + (f": {step.end.say}" if step.end.say else "") + after


def _way(linked: Linked, way: Way, index: int, counts: dict[Key, int] | None) -> str:
    back = way.target is not None and linked.at.get(way.target, index + 1) <= index
    lead = f"back to {way.target}" if back else f"to {way.target}"
    if way.bound:
        lead += f", {way.bound}{_marked(way.key, counts)}, then {way.then}{_marked(way.then_key, counts)}"
    elif back and (entered := linked.steps[way.target or ""].entered):
        lead += f", entered at most {times(entered.at_most)}{_marked(way.key, counts)}"
    else:
        lead += _marked(way.key, counts)
    finds = f"; finds {listed(list(way.finds))}" if way.finds else ""
    return f"{lead}{': ' if way.why else ''}{way.why}{finds}"


def _event(linked: Linked, event: Whenever, counts: dict[Key, int] | None) -> Iterator[str]:
    way = way_of_event(event)
    yield from wrap(f"{event.event}: {event.say}", "", "  ")
    yield from wrap(f"during {listed(event.during)}", "  ", "    ")
    lead = f"runs {said_run(event.run)}, then the step goes on" if event.run else f"to {way.target}"
    lead += f", {way.bound}{_marked(way.key, counts)}" if way.bound else _marked(way.key, counts)
    then = f", then {way.then}{_marked(way.then_key, counts)}" if way.bound else ""
    yield from wrap(lead + then, "  - ", "    ")


def _marked(key: Key, counts: dict[Key, int] | None, word: str = "") -> str:
    if counts is None:
        return ""
    count = counts.get(key, 0)
    said = f"{count} examples" if count > 1 else "1 example" if count else "no example"
    return f" [{word} by {said}]" if word else f" [{said}]"
