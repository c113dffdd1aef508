"""What is wrong with a procedure, said so that its author can mend it."""

from __future__ import annotations

from dataclasses import field
from typing import NamedTuple

from ..plaindata import Frozen


class Pos(NamedTuple):
    """A place in a text: 1-based line and column; columns count code points."""

    line: int
    column: int


class Related(Frozen):
    """A second place that helps to understand a finding."""

    pos: Pos
    message: str


class Finding(Frozen):
    """One finding of the checker.

    `rule` is a short id (`yaml-comment`, `coverage`), `severity` is `error` or `advice`, `witness` holds concrete
    values that show the fault (text to text), and `pos` is where it stands in the file.
    """

    rule: str
    message: str
    pos: Pos
    severity: str = "error"
    related: tuple[Related, ...] = field(default=())
    witness: dict[str, str] | None = None
