"""A name or a word that cannot do its work.

- A choice, a place or a reason for refusing that no condition could ask about: it is one plain word, and none of the
  words conditions use themselves (`missing`, `below`, `not` ...); a place may have several words.
- A name that stands for two things (a limit and something taken, a run and a reading), or the name `hold`, which in a
  step's conditions is its own sign-off.
- A limit called by a word that ranges use themselves (`least`, `most`, `exactly`, `to`, `from`), or by a unit: inside
  `possible` and `wanted` that word would be the range's.
- A finding called `none`, since `finds: none` reads as nothing found.
- The same reading, sum or finding listed twice in one place.
- A finding on an `otherwise` that is not there.
- Something given that is neither a reading nor a way chosen: what a sum gives does not leave the procedure.
- Braces in a text in which no values are put, such as what a way or an event says, the title of a stage, or what is
  needed: they would be printed as they stand.

Wrong:

    readings:
      lie: {ask: How do the snares lie, choices: {all: All touch, some lift: Some lift}}
    steps:
      - step: lie
        record: [lie]
        end: done

Says:

    2:63: the choice 'some lift' cannot be asked about in a condition; choose one plain word [name]

Right:

    readings:
      lie: {ask: How do the snares lie, choices: {all: All touch, some: Some lift}}
    steps:
      - step: lie
        record: [lie]
        end: done
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ...procedure.condition_nodes import Compare, Is, Subject
from ...procedure.conditions import ConditionError, parse_condition
from ...procedure.findings import Finding
from ...procedure.link_data import RANGE_WORDS
from ...procedure.linked import Linked, Path
from ...procedure.scope import meant
from ...units import spelled
from ..findable import key_place
from ..leaves import plain_braces

ID = "name"


def check(linked: Linked) -> Iterator[Finding]:
    """One finding for each name or word that cannot do its work."""
    yield from _words(linked)
    yield from _limits(linked)
    yield from _findings(linked)
    yield from _meanings(linked)
    yield from _lists(linked)
    yield from _gives(linked)
    yield from _braces(linked)


def _words(linked: Linked) -> Iterator[Finding]:
    p = linked.procedure
    for key, choices in [*((("readings", n), r.choices) for n, r in p.readings.items()), *_taken(linked)]:
        for word in choices or {}:
            if not _is(f"x is {word}", word):
                message = f"the choice '{word[:40]}' cannot be asked about in a condition; choose one plain word"
                yield Finding(ID, message, key_place(linked, (*key, "choices", word)))
    for name, reading in p.readings.items():
        for number, place in enumerate(reading.per or []):
            if place != "rod" and not _at(place):
                message = f"the place '{place[:40]}' cannot be asked about in a condition; choose plain words"
                yield Finding(ID, message, linked.place("readings", name, "per", number))
    for step in linked.steps.values():
        for reason in step.hold.refused_for if step.hold else {}:
            if not _is(f"hold is refused for {reason}", "refused", reason):
                path: Path = ("steps", linked.at[step.step], "hold", "refused_for", reason)
                message = f"the reason '{reason[:40]}' cannot be asked about in a condition; choose one plain word"
                yield Finding(ID, message, key_place(linked, path))


def _limits(linked: Linked) -> Iterator[Finding]:
    for name in linked.procedure.limits:
        unit = spelled(name, "cents") is not None  # asked for in cents, so that c, which is Celsius too, is one thing
        if unit or name in RANGE_WORDS:
            kind = "a unit" if unit else "a word of ranges"
            message = (
                f"'{name}' is {kind}, and inside a range it stands for that and never for this limit; "
                "choose another name, such as least_gap"
            )
            yield Finding(ID, message, key_place(linked, ("limits", name)))


def _findings(linked: Linked) -> Iterator[Finding]:
    if "none" in linked.procedure.findings:
        message = (
            "'none' cannot be the id of a finding, since 'finds: none' reads as nothing found; "
            "choose another id, and write 'finds: []' for nothing"
        )
        yield Finding(ID, message, key_place(linked, ("findings", "none")))


def _taken(linked: Linked) -> Iterator[tuple[Path, dict[str, str] | None]]:
    return ((("takes", name), take.choices) for name, take in linked.procedure.takes.items())


def _is(text: str, word: str, reason: str | None = None) -> bool:
    try:
        found = parse_condition(text)
    except ConditionError:
        return False
    return isinstance(found, Is) and (found.word, found.reason) == (word, reason) and word not in _OWN


_OWN = frozenset(("missing", "below", "within", "above"))


def _at(place: str) -> bool:
    try:
        found = parse_condition(f"x at {place} > 1")
    except ConditionError:
        return False
    first = found.operands[0] if isinstance(found, Compare) else None
    return isinstance(first, Subject) and first.place == place


def _meanings(linked: Linked) -> Iterator[Finding]:
    p = linked.procedure
    kinds: dict[str, str] = {}
    named: list[tuple[str, str, Path]] = [(name, "a limit", ("limits", name)) for name in p.limits]
    named += [(name, "something taken", ("takes", name)) for name in p.takes]
    named += [(name, "a reading", ("readings", name)) for name in p.readings]
    named += [(name, "a sum", ("sums", name)) for name in p.sums]
    for step in linked.steps.values():
        at: Path = ("steps", linked.at[step.step])
        if step.choose:
            named.append((step.choose.as_, "a choice of ways", (*at, "choose", "as")))
        if step.run:
            named.append((step.run.as_, "a run", (*at, "run", "as")))
    for number, event in enumerate(p.whenever):
        if event.run:
            named.append((event.run.as_, "a run", ("whenever", number, "run", "as")))
    for name, kind, path in named:
        messages = []
        if name == "hold":
            messages.append("'hold' is the step's own sign-off in conditions; choose another name")
        if kinds.setdefault(name, kind) != kind and not _told(linked, name):
            messages.append(f"'{name}' is {kinds[name]} already and cannot be {kind} too; rename one")
        for message in messages:
            place = key_place(linked, path) if path[-1] == name else linked.place(*path)
            yield Finding(ID, message, place)


def _told(linked: Linked, name: str) -> bool:
    return any(f.rule == "duplicate-id" and f"'{name}'" in f.message for f in linked.findings)


def _lists(linked: Linked) -> Iterator[Finding]:
    for step in linked.steps.values():
        at: Path = ("steps", linked.at[step.step])
        yield from _twice(linked, step.record, (*at, "record"))
        yield from _twice(linked, step.work_out, (*at, "work_out"))
        for index, line in enumerate(step.lines):
            here: Path = (*at, "branches" if step.branches else "first_of", index, "find")
            yield from _twice(linked, line.find, here)
            for number, name in enumerate(line.find if line.when.strip() == "otherwise" else []):
                known = linked.procedure.findings
                if name not in known and not _told_at(linked, (*here, number)):
                    message = f"there is no finding '{name}' here{meant(name, known)}"
                    yield Finding(ID, message, linked.place(*here, number))


def _told_at(linked: Linked, path: Path) -> bool:
    """Whether linking says so already."""
    place = linked.place(*path)
    return any(f.rule == "unknown-name" and f.pos == place for f in linked.findings)


def _twice(linked: Linked, names: Iterable[str], path: Path) -> Iterator[Finding]:
    seen: set[str] = set()
    for number, name in enumerate(names):
        if name in seen:
            yield Finding(ID, f"'{name}' stands here twice", linked.place(*path, number))
        seen.add(name)


def _gives(linked: Linked) -> Iterator[Finding]:
    p = linked.procedure
    ways = {step.choose.as_ for step in linked.steps.values() if step.choose}
    for number, name in enumerate(p.gives):
        if name in linked.variables and name not in p.readings and name not in ways:
            message = f"'{name}' cannot be given: only readings and ways chosen leave a procedure"
            yield Finding(ID, message, linked.place("gives", number))


def _braces(linked: Linked) -> Iterator[Finding]:
    for path in plain_braces(linked):
        yield Finding(ID, "no values are put into this text; its braces would be printed", linked.place(*path))
