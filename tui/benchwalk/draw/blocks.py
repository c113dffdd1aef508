"""What a drawing on paper says of each stop, before it has a size: paragraphs with a sign, in bands of a stage each."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, NamedTuple

from ..procedure.linked import Linked
from ..procedure.model import Step, Whenever
from ..procedure.showing import words_of
from ..proof.walked import Key
from ..walk.foretold import condition_words
from .ways import Way, a_role, listed, said_each, times, way_of_event, ways_of
from .wrap import plain

Style = Literal["name", "plain", "quiet", "number", "strong", "title"]
Sign = Literal["", "on", "back", "end", "hold", "told", "run", "choice", "wait", "skip", "hazard", "event", "bound"]
Counts = dict[Key, int] | None

LONGEST = 400
"""Most characters of one text of an author; longer ones are cut with three dots."""
EVERYWHERE = "everywhere"
_FIELD = re.compile(r"\{\{\s*(.*?)\s*\}\}")


class Piece(NamedTuple):
    """A text and how it is set."""

    text: str
    style: Style = "plain"


class Para(NamedTuple):
    """A paragraph: the sign that stands before it, and its pieces."""

    sign: Sign
    pieces: tuple[Piece, ...]


@dataclass(frozen=True, slots=True)
class Block:
    """One stop (or, with `number` 0, something that may happen), and what is drawn at its side.

    `knot` is how the rope is tied there; `goes_on` says that some way leads to the stop after it, `back` are the
    numbers of the stops that ways lead back to; `flags` the letters of what may happen there.
    """

    number: int
    knot: Literal["stop", "hold", "run", "end", "event"]
    paras: tuple[Para, ...]
    goes_on: bool = False
    back: tuple[int, ...] = ()
    flags: str = ""


class Band(NamedTuple):
    """A stage with its stops. `title` is empty for stops before the first stage."""

    title: str
    blocks: tuple[Block, ...]


def bands(linked: Linked, counts: Counts = None, *, brief: bool = False) -> list[Band]:
    """Every stop under its stage, then what may happen. `brief` leaves out what is done and noted at a stop."""
    found: list[Band] = []
    blocks: list[Block] = []
    title, stage = "", None
    for step in linked.steps.values():
        ours = linked.stage.get(step.step)
        if ours != stage:
            found += [Band(title, tuple(blocks))] if blocks else []
            blocks, stage = [], ours
            title = cut(step.stage.title) if step.stage else words_of(ours or "")
        blocks.append(_block(linked, step, counts, brief))
    found.append(Band(title, tuple(blocks)))
    events = tuple(_event(linked, event, counts) for event in linked.procedure.whenever)
    return [*found, Band("What may happen", events)] if events else found


def cut(text: str) -> str:
    """A text of an author, harmless and on one line; values to come are called by their names."""
    words = plain(_FIELD.sub(lambda found: f"\u2039{words_of(found[1])}\u203a", text))
    return words if len(words) <= LONGEST else words[: LONGEST - 3].rstrip() + "..."


def letters(linked: Linked) -> dict[str, str]:
    """Each event's letter: a, b, ... z, then a1, b1."""
    every = [chr(ord("a") + n % 26) + (str(n // 26) if n >= 26 else "") for n in range(len(linked.procedure.whenever))]
    return {event.event: letter for event, letter in zip(linked.procedure.whenever, every, strict=True)}


# --- a stop ------------------------------------------------------------------------------------------------------


def _block(linked: Linked, step: Step, counts: Counts, brief: bool) -> Block:
    at = linked.at[step.step]
    ways = list(ways_of(linked, step))
    targets = [name for way in ways for name in (way.target, way.then) if name in linked.at]
    targets += [step.entered.then] if step.entered else []
    goes_on = linked.next_of(step.step) in targets
    back = tuple(sorted({linked.at[way.target] + 1 for way in ways if way.target and _is_back(linked, at, way)}))
    knot: Literal["stop", "hold", "run", "end"] = (
        "end" if step.end and not step.run else "run" if step.run else "hold" if step.hold else "stop"
    )
    names = letters(linked)
    flags = " ".join(names[e.event] for e in linked.events_at(step.step) if EVERYWHERE not in e.during)
    paras = [Para("", (Piece(f"{at + 1} ", "number"), Piece(words_of(step.step), "name")))]
    paras += _within(linked, step, counts) if not brief else _marks(linked, step, counts)
    last: str | None = None
    for way in ways:
        if not _plain_next(linked, step, way, counts):
            paras.append(_way(linked, at, way, step, counts, named=way.target != last, brief=brief))
            last = way.target
    return Block(at + 1, knot, tuple(paras), goes_on, back, flags)


def _is_back(linked: Linked, at: int, way: Way) -> bool:
    return way.target is not None and linked.at.get(way.target, at + 1) <= at


def _plain_next(linked: Linked, step: Step, way: Way, counts: Counts) -> bool:
    """Whether the rope alone says it: the only way, to the next stop, without a reason."""
    return counts is None and not way.why and not way.bound and way.target == linked.next_of(step.step) is not None


def _within(linked: Linked, step: Step, counts: Counts) -> Iterator[Para]:
    """What happens at the stop, in the order it happens."""
    yield from _hazards(step)
    if step.do:
        yield Para("", (Piece(cut(step.do)),))
    if step.run:
        title = linked.runs[step.run.as_].procedure.title if step.run.as_ in linked.runs else step.run.procedure
        yield Para("run", (Piece("runs ", "quiet"), Piece(cut(title)), Piece(f" ({words_of(step.run.as_)})", "quiet")))
    if step.choose:
        ways = "; ".join(cut(way.say) for way in step.choose.ways)
        yield Para("choice", (Piece("one way of: ", "quiet"), Piece(ways)))
    if step.each:
        yield Para("", (Piece("confirmed singly: ", "quiet"), Piece(cut(said_each(step.each)))))
    if step.wait:
        yield _waiting(linked, step)
    if step.record:
        yield Para("", (Piece(f"asks {listed(list(map(words_of, step.record)))}", "quiet"),))
    if step.work_out:
        yield Para("", (Piece(f"works out {listed(list(map(words_of, step.work_out)))}", "quiet"),))
    yield from _people(step)
    yield from _bounds(linked, step, counts)


def _marks(linked: Linked, step: Step, counts: Counts) -> Iterator[Para]:
    """Only what makes the stop another kind of stop."""
    yield from _hazards(step)
    if step.run:
        yield Para("run", (Piece(f"runs {step.run.procedure} ({words_of(step.run.as_)})", "quiet"),))
    if step.wait:
        yield _waiting(linked, step)
    yield from _people(step)
    yield from _bounds(linked, step, counts)


def _hazards(step: Step) -> Iterator[Para]:
    for grade, part in step.graded():
        alert: Sign = "" if grade == "notice" else "hazard"  # the sign is for what can hurt somebody
        yield Para(alert, (Piece(f"{grade.upper()} ", "strong"), Piece(cut(part.hazard))))


def _waiting(linked: Linked, step: Step) -> Para:
    assert step.wait is not None
    since = f" from the end of {_named(linked, step.wait.from_)}" if step.wait.from_ else ""
    latest = f", {step.wait.at_latest} at the latest" if step.wait.at_latest else ""
    return Para("wait", (Piece("waits ", "quiet"), Piece(plain(f"{step.wait.for_}{since}{latest}"))))


def _people(step: Step) -> Iterator[Para]:
    if step.hold:
        roles = f", for work by {listed(step.hold.for_work_by, 'or')} only" if step.hold.for_work_by else ""
        yield Para(
            "hold", (Piece(f"{a_role(step.hold.by)} looks", "strong"), Piece(f"{roles}: {cut(step.hold.because)}"))
        )
    if step.witness:
        yield Para("told", (Piece(f"{a_role(step.witness.by)} is told: "), Piece(cut(step.witness.because))))


def _bounds(linked: Linked, step: Step, counts: Counts) -> Iterator[Para]:
    if step.may_skip:
        said = f"may be left out by {a_role(step.may_skip.by)}: {cut(step.may_skip.because)}"
        yield Para("skip", (Piece(said), *_walked((step.step, "skip", 0), counts)))
    if step.entered:
        said = f"at most {times(step.entered.at_most)} here, then "
        sent = Piece(_named(linked, step.entered.then), "strong")
        yield Para("bound", (Piece(said), sent, *_walked((step.step, "entered", 0), counts)))


# --- where it leads ----------------------------------------------------------------------------------------------


def _named(linked: Linked, step: str) -> str:
    """`12 look set`: a stop by its number and name."""
    return f"{linked.at[step] + 1} {words_of(step)}" if step in linked.at else words_of(step)


def _way(linked: Linked, at: int, way: Way, step: Step, counts: Counts, *, named: bool, brief: bool) -> Para:
    """One way on. A target that was `named` in the way before is told by its number."""
    if way.key[1] == "end":
        assert step.end is not None
        after = f"; proposes {listed(list(map(words_of, step.end.proposes)))}" if step.end.proposes else ""
        said = f": {cut(step.end.say)}" if step.end.say else ""
        return Para("end", (Piece(f"ends {step.end.as_}", "strong"), Piece(said + after), *_walked(way.key, counts)))
    back = _is_back(linked, at, way)
    target = _named(linked, way.target or "") if named else str(linked.at[way.target or ""] + 1)
    pieces = [*([Piece("back to ", "quiet")] if back else []), Piece(target, "strong"), *_walked(way.key, counts)]
    if way.bound and way.then:
        then = (Piece(_named(linked, way.then), "strong"), *_walked(way.then_key, counts))
        pieces += [Piece(f", {way.bound}, then "), *then]
    elif back and (bound := linked.steps[way.target or ""].entered):
        pieces.append(Piece(f", at most {times(bound.at_most)} there", "quiet"))
    if way.why:
        raw = way.key[1] == "branch" and step.lines[way.key[2]].because is None
        pieces.append(Piece(f": {cut(condition_words(way.why, linked) if raw else way.why)}"))
    if way.finds and not brief:
        pieces.append(Piece(f"; finds {listed(list(map(words_of, way.finds)))}", "quiet"))
    return Para("back" if back else "on", tuple(pieces))


def _event(linked: Linked, event: Whenever, counts: Counts) -> Block:
    way = way_of_event(event)
    during = listed([_where(linked, word) for word in event.during])
    head = (Piece(f"{letters(linked)[event.event]} ", "number"), Piece(cut(event.say), "name"))
    lead: tuple[Piece, ...]
    if event.run:
        lead = (Piece("runs "), Piece(words_of(event.run.as_), "strong"), Piece(", then the stop goes on"))
    else:
        lead = (Piece(_named(linked, event.go or ""), "strong"),)
    bound: tuple[Piece, ...] = ()
    if way.bound and way.then:
        then = Piece(_named(linked, way.then), "strong")
        bound = (Piece(f", {way.bound}, then "), then, *_walked(way.then_key, counts))
    paras = (
        Para("", head),
        Para("", (Piece(f"at {during}", "quiet"),)),
        Para("on", (*lead, *_walked(way.key, counts), *bound)),
    )
    return Block(0, "event", paras)


def _where(linked: Linked, word: str) -> str:
    if word == EVERYWHERE:
        return "every stop"
    kind, _, stage = word.partition(" ")
    if kind == "stage" and stage:
        inside = [linked.at[step] + 1 for step, name in linked.stage.items() if name == stage]
        return f"stops {inside[0]} to {inside[-1]}" if len(inside) > 1 else f"stop {inside[0]}" if inside else word
    return _named(linked, word)


def _walked(key: Key, counts: Counts) -> tuple[Piece, ...]:
    """How many examples go that way."""
    if counts is None:
        return ()
    count = counts.get(key, 0)
    return (Piece(f" [{count}]", "quiet") if count else Piece(" [no example]", "strong"),)
