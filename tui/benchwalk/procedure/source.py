"""A procedure file as it was read."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING

import orjson

from . import model
from .findings import Finding

if TYPE_CHECKING:
    from .tree import Document


@dataclass(eq=False)
class Source:
    """A procedure file as read: its name, bytes, typed procedure (None if it has none), findings and tree.

    A procedure that was kept (`benchwalk.kept`) comes without its tree, which is made from the bytes when it is asked
    for: walking needs none.
    """

    name: str
    data: bytes
    procedure: model.Procedure | None
    findings: tuple[Finding, ...]
    tree: Document | None = None

    @property
    def document(self) -> Document:
        """The tree in which every value knows its place."""
        if self.tree is None:
            from .tree import parse  # only now: it takes the YAML reader

            self.tree = parse(self.data, self.name)
        return self.tree

    @property
    def text_hash(self) -> str:
        """sha256 of the file as it is: what a job pins."""
        return hashlib.sha256(self.data).hexdigest()

    @property
    def content_hash(self) -> str:
        """sha256 of what the file says, whatever its layout and comments: what an approval speaks of."""
        return hashlib.sha256(orjson.dumps(self.document.root, option=orjson.OPT_SORT_KEYS)).hexdigest()
