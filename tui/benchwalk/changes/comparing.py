"""All changes from one text of a procedure to another, what matters for the hands first."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ..procedure.linked import Linked
from ..procedure.showing import words_of
from .data import event_changes, finding_changes, limit_changes, need_changes, paired, reading_changes, sum_changes
from .hazards import hazard_changes, of_all
from .matching import Renamed, moved, renamed
from .parts import GROUPS, Change, Group, between, plain, said
from .steps import step_changes

WHOLE: dict[str, tuple[Group, str]] = {
    "title": ("texts", "the title reads otherwise"),
    "purpose": ("texts", "what it is for reads otherwise"),
    "for": ("other", "the instruments it is for changed"),
    "time": ("other", "how long it takes changed"),
    "sources": ("other", "where it comes from changed"),
    "drum": ("asked", "the facts of the drum it needs changed"),
    "gives": ("other", "what it gives to a procedure that runs it changed"),
    "takes": ("other", "what it is handed by a procedure that runs it changed"),
    "usual": ("other", "what every example starts from changed"),
    "allow": ("other", "the advice that may stand changed"),
}
"""The keys of a procedure that are compared as a whole."""
APART = {
    *("procedure", "revision", "needs", "hazards", "limits", "readings", "sums", "findings", "whenever"),
    *("steps", "examples"),
}
"""The other keys of a procedure, which are compared each in a way of its own."""
_ORDER = {group: number for number, group in enumerate(GROUPS)}


def compare(old: Linked, new: Linked) -> list[Change]:
    """Everything that changed from `old` to `new`, in the order of GROUPS and then of the new file.

    Empty where both say the same, whatever their layout and comments.
    """
    if old.content == new.content and not _runs(old, new):
        return []
    names = renamed(old.procedure, new.procedure)
    found = [*_all(old, new, names), *_examples(old, new, names), *_rest(old, new)]
    if not found:
        found = [Change("other", old.id, "it is written otherwise, and says the same")]
    return sorted(dict.fromkeys(found), key=lambda change: _ORDER[change.group])


def _all(old: Linked, new: Linked, names: Renamed) -> Iterator[Change]:
    was, is_ = old.procedure.hazards, new.procedure.hazards
    yield from hazard_changes(of_all(was), of_all(is_), "the whole work", names, (("hazards",), ("hazards",)))
    looked = [str(getattr(each, "none_found_by", "")) for each in (was, is_)]
    if looked[0] != looked[1]:
        told = [f"{role} looked and found none" if role else "" for role in looked]
        at = ("hazards",)
        yield between("hazards", "the whole work", "who looked for hazards changed", told, (at, at))
    yield from need_changes(old, new)
    yield from step_changes(old, new, names)
    yield from limit_changes(old, new, names)
    yield from reading_changes(old, new, names)
    yield from sum_changes(old, new, names)
    yield from finding_changes(old, new, names)
    yield from event_changes(old, new, names)
    for key, (group, what) in WHOLE.items():
        values = [plain(getattr(linked.procedure, "for_" if key == "for" else key)) for linked in (old, new)]
        if key == "gives":
            values[0] = [names.name(name) for name in values[0]]
        if key == "usual":
            values[0] = _called(values[0], names)
        if values[0] != values[1]:
            yield from _in_whole(key, group, what, values)


def _in_whole(key: str, group: Group, what: str, values: list[Any]) -> Iterator[Change]:
    """Where keys and values changed, only those that did are told."""
    old, new = values
    if not (isinstance(old, dict) and isinstance(new, dict)):
        yield Change(group, "the whole work", what, said(old), said(new), (key,), (key,))
        return
    for name in dict.fromkeys([*old, *new]):
        one, other = old.get(name), new.get(name)
        if isinstance(one, dict) and isinstance(other, dict):
            keys = [k for k in dict.fromkeys([*one, *other]) if one.get(k) != other.get(k)]
            one, other = ({k: each[k] for k in keys if k in each} for each in (one, other))
        if one != other:
            yield Change(group, words_of(name), what, said(one), said(other), (key, name), (key, name))


def _examples(old: Linked, new: Linked, names: Renamed) -> Iterator[Change]:
    """Examples that were added, taken away or changed; each is known by what it shows."""
    was = {each.example: _called(plain(each), names) for each in old.procedure.examples}
    is_ = {each.example: plain(each) for each in new.procedure.examples}
    for name, one, other in paired(was, is_, {}):
        if one is None or other is None:
            what = "an example was added" if one is None else "an example was taken away"
            yield Change("other", name, what, said(_short(one)), said(_short(other)))
            continue
        for key in dict.fromkeys([*one, *other]):
            if one.get(key) != other.get(key):
                yield Change("other", name, f"the example's {key} changed", said(one.get(key)), said(other.get(key)))
    if moved(list(was), list(is_)):
        yield Change("other", "the examples", "they stand in another order")


def _short(example: dict[str, Any] | None) -> dict[str, Any]:
    return {key: each for key, each in (example or {}).items() if key != "example"}


def _called(value: dict[str, Any], names: Renamed) -> dict[str, Any]:
    """An example, or what is usual, with the names of now."""
    found = dict(value)
    for key in ("given", "assume"):
        if key in found:
            found[key] = {names.name(name): each for name, each in found[key].items()}
    if "acts" in found:
        found["acts"] = {names.step(step) or step: each for step, each in found["acts"].items()}
    if "passes" in found:
        found["passes"] = [names.step(step) for step in found["passes"]]
    if found.get("finds"):
        found["finds"] = [names.findings.get(each, each) for each in found["finds"]]
    return found


def _rest(old: Linked, new: Linked) -> Iterator[Change]:
    """Its name, what it runs, the revision, and the order of what is only looked up."""
    if old.id != new.id:
        yield Change("other", "the whole work", "the procedure has another id", old.id, new.id)
    for name in _runs(old, new):
        was, is_ = _run_of(old, name), _run_of(new, name)
        what = "what it runs changed too; look at the changes of that procedure"
        yield Change("steps", words_of(name), what, was, is_)
    revisions = [linked.procedure.revision for linked in (old, new)]
    if revisions[0] != revisions[1]:
        at = ("revision",)
        yield between("other", "the revision", "the revision changed", [*map(str, revisions)], (at, at))


def _runs(old: Linked, new: Linked) -> list[str]:
    """The procedures that both run, and that say something else now."""
    was, is_ = ({book.id: book.content for book in linked.family() if book is not linked} for linked in (old, new))
    return [name for name, content in is_.items() if name in was and was[name] != content]


def _run_of(linked: Linked, name: str) -> str:
    book = next(book for book in linked.family() if book.id == name)
    return f"revision {book.procedure.revision}"
