"""Places of things that findings point at."""

from __future__ import annotations

from ..procedure.findings import Pos
from ..procedure.linked import Linked, Path


def key_place(linked: Linked, path: Path) -> Pos:
    """Where the last key of a path stands, not its value."""
    return linked.source.document.locate_key(path)
