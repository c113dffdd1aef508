"""Changes as lines for a person, and as plain data."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Any

from ..draw.wrap import WIDTH, wrap
from ..procedure.linked import Linked, Path
from .parts import GROUPS, Change

NOTHING = "Nothing changed but layout and comments, if anything."
RAISE = "The revision is still {}, and it does not say the same any more: raise it before it is used."


def as_lines(old: Linked, new: Linked, changes: Sequence[Change], width: int = WIDTH) -> Iterator[str]:
    """The changes by group, as lines of at most `width` cells with nothing in them that acts on a terminal."""
    yield from wrap(f"{new.procedure.title}: {_named(old)} to {_named(new)}", "", "  ", width)
    if not changes:
        yield NOTHING
        return
    for group, some in groupby(changes, key=lambda change: change.group):
        yield ""
        yield GROUPS[group]
        where = None
        for change in some:
            if change.where != where:
                where = change.where
                yield from wrap(where, "  ", "    ", width)
            yield from wrap(f"{change.what}{':' if change.old or change.new else ''}", "    - ", "      ", width)
            if change.old:
                yield from wrap(change.old, "      was: ", "           ", width)
            if change.new:
                yield from wrap(change.new, "      now: ", "           ", width)
    if old.id == new.id and old.procedure.revision == new.procedure.revision and old.content != new.content:
        yield ""
        yield from wrap(RAISE.format(new.procedure.revision), "", "  ", width)


def _named(linked: Linked) -> str:
    return f"{linked.id} revision {linked.procedure.revision}"


def as_data(old: Linked, new: Linked, changes: Sequence[Change]) -> dict[str, Any]:
    """The changes as plain data, with the lines they stand at in the two files."""
    return {
        "old": _file(old),
        "new": _file(new),
        "same": not changes,
        "changes": [
            {
                "group": change.group,
                "where": change.where,
                "what": change.what,
                "old": change.old or None,
                "new": change.new or None,
                "old_line": _line(old, change.old_at),
                "new_line": _line(new, change.new_at),
            }
            for change in changes
        ],
    }


def _file(linked: Linked) -> dict[str, Any]:
    return {
        "file": linked.source.name,
        "procedure": linked.id,
        "revision": str(linked.procedure.revision),
        "content": linked.content,
    }


def _line(linked: Linked, path: Path | None) -> int | None:
    return linked.place(*path).line if path is not None else None
