"""Giving a step another name wherever it is named: in ways, bounds, waits, events and examples, and nowhere else."""

from __future__ import annotations

import re
from collections.abc import Iterator

from ..errors import Refused
from ..procedure.linked import Path
from ..procedure.tree import Document, Map, Node, Seq
from .edits import Edit
from .spots import step_lines

_VALUES = frozenset(("step", "go", "then", "from"))
"""Keys whose value is a step."""
_LISTS = frozenset(("during", "passes"))
"""Keys whose entries are steps."""
_KEYS = frozenset(("acts", "count"))
"""Keys whose own keys are steps."""
_WHERE = ("steps", "whenever", "usual", "examples")
_NAME = re.compile(r"[a-z][a-z0-9-]*")


def renamed(document: Document, old: str, new: str) -> list[Edit]:
    """The edits that call a step by another name; Refused where the new name will not do."""
    if not _NAME.fullmatch(new):
        raise Refused(f"'{new}' is no name for a step; small letters, figures and hyphens are, such as tie-again")
    names = [name for name, _first, _last in step_lines(document)]
    if old not in names:
        raise Refused(f"there is no step '{old}'")
    if new in names:
        raise Refused(f"there is a step '{new}' already")
    root = document.root
    named = [at for key in _WHERE if isinstance(root, Map) and key in root for at in _named(root[key], old, (key,))]
    places = [document.locate_key(path) if of_key else document.locate(path) for path, of_key in named]
    return [Edit((p.line - 1, p.column - 1), (p.line - 1, p.column - 1 + len(old)), new) for p in places]


def _named(node: Node, name: str, path: Path, under: str = "") -> Iterator[tuple[Path, bool]]:
    """Where a step is named in a part, and whether by the key there."""
    if isinstance(node, Map):
        for key, value in node.items():
            at: Path = (*path, key)
            if under in _KEYS and key == name:
                yield at, True
            if key in _VALUES | _LISTS and value == name:
                yield at, False
            yield from _named(value, name, at, key)
    elif isinstance(node, Seq):
        for index, item in enumerate(node):
            if under in _LISTS and item == name:
                yield (*path, index), False
            yield from _named(item, name, (*path, index), under if under in _LISTS else "")
