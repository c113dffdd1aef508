"""What changed in what steps rest on: limits, readings, sums, findings, what is needed and what may happen."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from ..errors import Misread
from ..procedure.linked import Linked, Path
from ..procedure.parts import FindingDef, Limit, Reading
from ..procedure.showing import words_of
from ..quantities import Quantity, Range, convert
from .matching import Renamed, moved
from .parts import Change, Group, between, plain, said

SURE = {"P": "published", "D": "derived", "C": "common practice", "M": "from memory"}
READING: dict[str, tuple[Group, str]] = {
    "ask": ("asked", "the question reads otherwise"),
    "unit": ("asked", "the unit changed"),
    "kind": ("asked", "the kind of answer changed"),
    "choices": ("asked", "the answers changed"),
    "per": ("asked", "where it is asked changed"),
    "hears": ("asked", "which figure of a tap it is changed"),
    "tapped": ("asked", "where it is tapped changed"),
    "head": ("asked", "the head its rods are numbered on changed"),
    "where": ("asked", "which rods are asked changed"),
    "elsewhere": ("asked", "what counts at the other rods changed"),
    "optional": ("asked", "whether it may be left out changed"),
    "resolution": ("limits", "how finely it is read changed"),
    "accept": ("leads", "why a value outside what is wanted may lead on changed"),
    "allow": ("other", "the advice that may stand changed"),
}
"""Every key of a reading that is compared as a whole; `possible` and `wanted` are compared as ranges."""

Named = Mapping[str, Any]


def paired(old: Named, new: Named, names: Mapping[str, str]) -> Iterator[tuple[str, Any, Any]]:
    """(name of now, old, new) of every thing that either text has; None where it has none."""
    now = {names.get(name, name): each for name, each in old.items()}
    for name in dict.fromkeys([*now, *new]):
        yield name, now.get(name), new.get(name)


def renames(names: Mapping[str, str], old: Named, group: Group, thing: str, key: str) -> Iterator[Change]:
    """Things of one kind that have another name and say what they said."""
    for was, is_ in names.items():
        if was in old:
            yield Change(group, words_of(is_), f"the {thing} has another name", was, is_, (key, was), (key, is_))


def _one_sided(
    group: Group, name: str, thing: str, both: tuple[Any, Any], at: tuple[Path, Path], told: Callable[[Any], str]
) -> Change:
    """A thing that only one of the texts has."""
    what = f"a {thing} was {'added' if both[0] is None else 'taken away'}"
    texts = (told(each) if each else "" for each in both)
    return between(group, words_of(name), what, texts, (at[0] if both[0] else None, at[1] if both[1] else None))


# --- limits ------------------------------------------------------------------------------------------------------


def limit_changes(old: Linked, new: Linked, names: Renamed) -> Iterator[Change]:
    """Limits that were added, taken away or moved, and why and whose they are."""
    yield from renames(names.names, old.procedure.limits, "limits", "limit", "limits")
    back = {is_: was for was, is_ in names.names.items()}
    for name, was, is_ in paired(old.procedure.limits, new.procedure.limits, names.names):
        before = back.get(name, name)
        at = ("limits", before), ("limits", name)
        if was is None or is_ is None:
            yield _one_sided("limits", name, "limit", (was, is_), at, _limit)
            continue
        values = old.limits.get(before), new.limits.get(name)
        same = values[0] is not None and values[1] is not None and _same(values[0], values[1])
        if plain(was.is_) != plain(is_.is_):
            what = "the limit is written otherwise, and is the same" if same else "the limit was moved"
            used = "" if same else uses(new, name)
            yield Change(
                "other" if same else "limits", words_of(name), what + used, plain(was.is_), plain(is_.is_), *at
            )
        if was.sure != is_.sure:
            yield Change("limits", words_of(name), "how sure it is changed", SURE[was.sure], SURE[is_.sure], *at)
        for key, what in (("whose", "who answers for it changed"), ("because", "the reason reads otherwise")):
            texts = plain(getattr(was, key)), plain(getattr(is_, key))
            if texts[0] != texts[1]:
                yield between("texts" if key == "because" else "limits", words_of(name), what, texts, at)


def _limit(limit: Limit) -> str:
    return f"{plain(limit.is_)} ({SURE[limit.sure]}, {plain(limit.whose)}): {plain(limit.because)}"


def _same(one: Quantity, other: Quantity) -> bool:
    """Whether both are the same, whatever their units."""
    if one.unit == other.unit:
        return one.value == other.value
    try:
        return convert(one.value, one.unit, other.unit) == other.value
    except Misread:
        return False


def uses(linked: Linked, name: str) -> str:
    """Where a limit decides: at which steps, for which readings and sums; empty where nowhere."""

    def named(text: str) -> bool:
        return Renamed(names={name: ""}).name(text) != text

    steps = [words_of(s.step) for s in linked.procedure.steps if any(named(line.when) for line in s.lines)]
    readings = [
        words_of(key)
        for key, each in linked.procedure.readings.items()
        if any(named(text) for text in (each.possible or "", *(each.wanted or ())))
    ]
    sums = [words_of(key) for key, each in linked.procedure.sums.items() if any(map(named, each.with_.values()))]
    parts = [f"at {said(steps)}"] if steps else []
    parts += [f"for {said(readings)}"] if readings else []
    parts += [f"in the sums {said(sums)}"] if sums else []
    return f"; it counts {', '.join(parts)}" if parts else ""


# --- readings ----------------------------------------------------------------------------------------------------


def reading_changes(old: Linked, new: Linked, names: Renamed) -> Iterator[Change]:
    """Readings that were added, taken away or changed, and what is wanted and possible."""
    yield from renames(names.names, old.procedure.readings, "asked", "reading", "readings")
    back = {is_: was for was, is_ in names.names.items()}
    for name, was, is_ in paired(old.procedure.readings, new.procedure.readings, names.names):
        before = back.get(name, name)
        at = ("readings", before), ("readings", name)
        if was is None or is_ is None:
            yield _one_sided("asked", name, "reading", (was, is_), at, _reading)
            continue
        for key in ("wanted", "possible"):
            yield from _range(old, new, (before, name), (was, is_), key, names)
        for key, (group, what) in READING.items():
            values = _in(plain(getattr(was, key)), names), plain(getattr(is_, key))
            if (values[0] or None) != (values[1] or None):
                places = (*at[0], key), (*at[1], key)
                yield Change(group, words_of(name), what, said(values[0]), said(values[1]), *places)


def _in(value: Any, names: Renamed) -> Any:
    if isinstance(value, str):
        return names.name(names.in_text(value)) if "{{" not in value and " " not in value else names.in_text(value)
    return value


def _reading(reading: Reading) -> str:
    wanted = f", wanted {said(plain(reading.wanted))}" if reading.wanted else ""
    kind = said(list((reading.choices or {}).values())) if reading.choices else reading.unit or reading.sort
    return f"{plain(reading.ask)} ({kind}{wanted})"


def _range(
    old: Linked, new: Linked, called: tuple[str, str], both: tuple[Reading, Reading], key: str, names: Renamed
) -> Iterator[Change]:
    """What is wanted or possible, from and to."""
    texts = [plain(getattr(each, key)) for each in both]
    texts[0] = (
        [names.name(word) for word in texts[0]] if isinstance(texts[0], list) else texts[0] and names.name(texts[0])
    )
    at = (("readings", called[0], key), ("readings", called[1], key))
    ranges = (getattr(old, key).get(called[0]), getattr(new, key).get(called[1]))
    if texts[0] == texts[1]:
        return
    shown = [_shown(each, text, key, range_) for each, text, range_ in zip(both, texts, ranges, strict=True)]
    if ranges[0] is not None and ranges[0] == ranges[1] and both[0].unit == both[1].unit:
        what = f"what is {key} is written otherwise, and is the same"
        yield Change("other", words_of(called[1]), what, said(texts[0]), said(texts[1]), *at)
        return
    yield between("limits", words_of(called[1]), f"what is {key} changed", shown, at)


def _shown(reading: Reading, text: Any, key: str, range_: Range | None) -> str:
    if text is None:
        return "nothing in particular" if key == "wanted" else "any"
    if reading.choices:
        return said([reading.choices.get(word, word) for word in text])
    if range_ is None:
        return said(text)
    return range_.text("Hz" if reading.sort == "note" else reading.unit or "")


# --- sums and findings -------------------------------------------------------------------------------------------


def sum_changes(old: Linked, new: Linked, names: Renamed) -> Iterator[Change]:
    """Sums that were added, taken away or are worked out otherwise."""
    yield from renames(names.names, old.procedure.sums, "sums", "sum", "sums")

    def told(each: Any, names: Renamed) -> str:
        return f"{each.use} with " + said({key: names.name(plain(value)) for key, value in each.with_.items()})

    yield from _whole(old.procedure.sums, new.procedure.sums, names, names.names, "sums", "sum", "sums", told)


def _whole(
    old: Named,
    new: Named,
    names: Renamed,
    called: Mapping[str, str],
    group: Group,
    thing: str,
    key: str,
    told: Callable[[Any, Renamed], str],
) -> Iterator[Change]:
    """Things that are told whole: added, taken away, or told otherwise."""
    back = {is_: was for was, is_ in called.items()}
    for name, was, is_ in paired(old, new, called):
        at = ((key, back.get(name, name)) if was is not None else None, (key, name) if is_ is not None else None)
        texts = told(was, names) if was is not None else "", told(is_, Renamed()) if is_ is not None else ""
        if texts[0] != texts[1]:
            what = "was added" if was is None else "was taken away" if is_ is None else "changed"
            yield between(group, words_of(name), f"{'a' if was is None else 'the'} {thing} {what}", texts, at)


def finding_changes(old: Linked, new: Linked, names: Renamed) -> Iterator[Change]:
    """Findings that were added, taken away or changed."""
    yield from renames(names.findings, old.procedure.findings, "found", "finding", "findings")
    back = {is_: was for was, is_ in names.findings.items()}
    for name, was, is_ in paired(old.procedure.findings, new.procedure.findings, names.findings):
        at = ("findings", back.get(name, name)), ("findings", name)
        if was is None or is_ is None:
            yield _one_sided("found", name, "finding", (was, is_), at, _graded)
            continue
        for key, what in FINDING.items():
            values = _finding(was, key, names), _finding(is_, key, Renamed())
            if values[0] != values[1]:
                yield Change("found", words_of(name), what, said(values[0]), said(values[1]), *at)


FINDING = {
    "found": "the sentence reads otherwise",
    "grade": "its grade changed",
    "evidence": "what proves it changed",
    "proposes": "what it proposes changed",
    "allow": "the advice that may stand changed",
}
"""Every key of a finding."""


def _graded(finding: FindingDef) -> str:
    return f"{plain(finding.found)} ({finding.grade})"


def _finding(finding: FindingDef, key: str, names: Renamed) -> Any:
    value = plain(getattr(finding, key))
    if key == "evidence":
        return [names.name(each) for each in value]
    return names.in_text(value) if key == "found" else value


# --- what is needed ----------------------------------------------------------------------------------------------

NEEDS = {"tools": "tools", "parts": "parts", "supplies": "supplies", "before": "what must be so before"}


def need_changes(old: Linked, new: Linked) -> Iterator[Change]:
    """What must be at hand: more, and less."""
    for key, words in NEEDS.items():
        was, is_ = (plain(getattr(linked.procedure.needs, key)) for linked in (old, new))
        at: Path = ("needs", key)
        less, more = [each for each in was if each not in is_], [each for each in is_ if each not in was]
        if less:
            yield Change("at hand", words, "no longer needed", old="; ".join(less), old_at=at)
        if more:
            yield Change("at hand", words, "needed now also", new="; ".join(more), new_at=at)
        if moved(was, is_):
            yield Change("other", words, "the order changed", said(was), said(is_), at, at)


# --- what may happen ---------------------------------------------------------------------------------------------


def event_changes(old: Linked, new: Linked, names: Renamed) -> Iterator[Change]:
    """What may happen at any time: added, taken away, or leading elsewhere."""
    before = {e.event: (i, e) for i, e in enumerate(old.procedure.whenever)}
    now = {e.event: (i, e) for i, e in enumerate(new.procedure.whenever)}
    yield from (
        Change("other", words_of(is_), "what may happen has another id", was, is_) for was, is_ in names.events.items()
    )
    for name, was, is_ in paired(before, now, names.events):
        at = ("whenever", was[0]) if was else None, ("whenever", is_[0]) if is_ else None
        where = words_of(name)
        if was is None or is_ is None:
            what = "what may happen was added" if was is None else "what may happen was taken away"
            told = [said(_event(each[1], names if each is was else Renamed())) if each else "" for each in (was, is_)]
            yield between("leads", where, what, told, at)
            continue
        one, other = _event(was[1], names), _event(is_[1], Renamed())
        for key in dict.fromkeys([*one, *other]):
            if one.get(key) != other.get(key):
                group, what = EVENT[key]
                yield Change(group, where, what, said(one.get(key)), said(other.get(key)), *at)


EVENT: dict[str, tuple[Group, str]] = {
    "say": ("texts", "what it is picked by reads otherwise"),
    "during": ("leads", "where it may happen changed"),
    "go": ("leads", "it leads elsewhere"),
    "run": ("leads", "the procedure that is walked then changed"),
    "then_back": ("leads", "whether the step goes on after it changed"),
    "at_most": ("leads", "how often it may happen changed"),
    "then": ("leads", "where it leads after that changed"),
}
"""Every key of an event."""


def _event(event: Any, names: Renamed) -> dict[str, Any]:
    found = {key: each for key, each in plain(event).items() if key != "event"}
    found["during"] = [names.during(word) for word in found["during"]]
    for key in ("go", "then"):
        if key in found:
            found[key] = names.step(found[key])
    if "run" in found and "with" in found["run"]:
        found["run"]["with"] = {key: names.name(each) for key, each in found["run"]["with"].items()}
    return found
