"""The values of a file one by one, as they are written, for rules that look at every text wherever it stands."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import partial
from typing import Any

from ..procedure.linked import Linked, Path
from ..procedure.texts import all_texts

Leaf = tuple[Path, str | None]

_ANSWERS = frozenset(("drum", "given", "acts", "assume"))


def leaves(linked: Linked) -> list[Leaf]:
    """Every text of the file with its path, None where a key has nothing after it.

    What examples (and `usual`) answer is left out: there nothing takes back what is usual, and a text is what somebody
    types.
    """
    return linked.once(_all)[0]


def _all(linked: Linked) -> tuple[list[Leaf], list[Path]]:
    """All of them, and the paths of those with double braces."""
    found: list[Leaf] = []
    braced: list[Path] = []
    root = linked.source.document.root
    for key, value in root.items() if isinstance(root, dict) else ():
        parts = enumerate(value) if isinstance(value, list) else [(None, value)]
        for entry, part in parts:
            path = (key,) if entry is None else (key, entry)
            inside, with_braces = linked.worked.again((leaves, path), part, partial(_gathered, part, path))
            found += inside
            braced += with_braces
    return found, braced


def _gathered(part: Any, path: Path) -> tuple[list[Leaf], list[Path]]:
    found: list[Leaf] = []
    _gather(part, path, found)
    return found, [path for path, text in found if text is not None and "{{" in text]


def _gather(node: Any, path: Path, found: list[Leaf]) -> None:
    if node.__class__ is str or node is None:
        found.append((path, node))
        return
    if isinstance(node, dict):
        inside: Iterable[tuple[str | int, Any]] = () if _answers(path) else node.items()
    else:
        inside = enumerate(node) if isinstance(node, list) else ()
    for key, value in inside:
        _gather(value, (*path, key), found)


def _answers(path: Path) -> bool:
    inside = path[1:] if path[:1] == ("usual",) else path[2:] if path[:1] == ("examples",) else ()
    return bool(inside) and inside[0] in _ANSWERS


def plain_braces(linked: Linked) -> Iterator[Path]:
    """The texts with double braces in which no values are put, so that the braces would be printed."""
    braced = [path for path in linked.once(_all)[1] if path[-1] != "when"]
    filled = set(_filled(linked)) if braced else set()
    for path in braced:
        if not any(path[:length] in filled for length in range(1, len(path) + 1)):
            yield path


def _filled(linked: Linked) -> Iterator[Path]:
    """The places of all texts into which values are put; where a list may stand, the place of the list too."""
    for _, path, _ in all_texts(linked):
        yield path[:-1] if isinstance(path[-1], int) else path
