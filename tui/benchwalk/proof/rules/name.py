"""A name or a word that cannot do its work.

- A choice, a place or a reason for refusing that no condition could ask about: it is one plain word, and none of the
  words conditions use themselves (`missing`, `below`, `not` ...); a place may have several words.
- A name that stands for two things (a limit and something taken, a run and a reading), or the name `hold`, which in a
  step's conditions is its own sign-off.
- The same reading, sum or finding listed twice in one place.
- A finding on an `otherwise` that is not there.
- Something given that is neither a reading nor a way chosen: what a sum gives does not leave the procedure.
- Braces in a text in which no values are put, such as what a way or an event says: they would be printed as they stand.

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
from ...procedure.linked import Linked, Path
from ...procedure.scope import meant
from ..findable import key_place

ID = "name"


def check(linked: Linked) -> Iterator[Finding]:
    """One finding for each name or word that cannot do its work."""
    yield from _words(linked)
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
        place = key_place(linked, path) if path[-1] == name else linked.place(*path)
        if name == "hold":
            yield Finding(ID, "'hold' is the step's own sign-off in conditions; choose another name", place)
        if kinds.setdefault(name, kind) != kind and not _told(linked, name):
            yield Finding(ID, f"'{name}' is {kinds[name]} already and cannot be {kind} too; rename one", place)


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
    for text, path in _plain_texts(linked):
        if text and "{{" in text:
            yield Finding(ID, "no values are put into this text; its braces would be printed", linked.place(*path))


def _plain_texts(linked: Linked) -> Iterator[tuple[str | None, Path]]:
    p = linked.procedure
    yield p.title, ("title",)
    yield p.purpose, ("purpose",)
    for number, event in enumerate(p.whenever):
        yield event.say, ("whenever", number, "say")
    for name, reading in p.readings.items():
        for word, text in (reading.choices or {}).items():
            yield text, ("readings", name, "choices", word)
    for step in linked.steps.values():
        at: Path = ("steps", linked.at[step.step])
        for number, way in enumerate(step.choose.ways if step.choose else []):
            yield way.say, (*at, "choose", "ways", number, "say")
        for key, part in (("hold", step.hold), ("witness", step.witness), ("may_skip", step.may_skip)):
            if part is not None:
                yield part.because, (*at, key, "because")
        for index, line in enumerate(step.lines):
            yield line.accept, (*at, "branches" if step.branches else "first_of", index, "accept")
