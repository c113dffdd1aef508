"""YAML text to a tree of plain values in which every value knows its line and column.

The reading is YAML 1.2 core, with digits kept as typed: every scalar is a `str` (quotes, escapes and blocks
resolved), and a plain `null`, `~` or nothing is `None`. Aliases, anchors, tags, merge keys, directives, second
documents, duplicate keys and keys that are no text are refused with their place. Nothing here raises on bad input:
whatever is wrong is a finding of the document.

Positions are one whole number a value (the offset in the text); line and column are worked out when asked.
"""

from __future__ import annotations

import re

from .findings import Finding, Pos
from .tree_build import Builder
from .tree_nodes import Map, Node, Seq
from .tree_source import Source
from .yaml_table import QUOTE
from .yaml_text import clean, decode

__all__ = ["Document", "Map", "Node", "Seq", "parse"]

_CURLY = re.compile("[\u201c-\u201f\u2018\u201b\u00ab\u00bb]")


class Document:
    """One YAML text, read.

    `root` is the tree (`None` where there is none), `findings` what is wrong in the order of the file, `lines` the
    text's lines without their breaks. `complete` says whether the reading came to the end of the text; if not, `root`
    is `None` and `partial` holds what stood before the place where it stopped, good for showing only.
    """

    __slots__ = ("_source", "complete", "findings", "name", "partial", "root", "root_at")

    def __init__(self, name: str, source: Source, root: Node, at: int, findings: list[Finding], complete: bool) -> None:
        self.name = name
        self.root = root if complete else None
        self.partial = root
        self.root_at = at
        self.findings = findings
        self.complete = complete
        self._source = source

    @property
    def lines(self) -> list[str]:
        """The lines of the text, without their breaks; at least one."""
        return self._source.lines

    @property
    def text(self) -> str:
        """The text that was read, without a byte order mark."""
        return self._source.text

    @property
    def sound(self) -> bool:
        """Whether nothing worse than advice was found, so that the tree may be used."""
        return not any(finding.severity == "error" for finding in self.findings)

    def locate(self, path: tuple[str | int, ...]) -> Pos:
        """The place of the deepest value that `path` reaches from the root; parts that lead nowhere are skipped."""
        return self._source.value_pos(*self._walk(path, of_key=False))

    def locate_key(self, path: tuple[str | int, ...]) -> Pos:
        """As `locate`, but the place of the last key reached instead of its value (a list entry has no key)."""
        return self._source.value_pos(*self._walk(path, of_key=True))

    def place_in(self, path: tuple[str | int, ...], index: int) -> Pos:
        """The place of character `index` (from 0) of the text at `path`, through quotes, escapes and folded lines."""
        at, node = self._walk(path, of_key=False)
        return self._source.inside(at, node, index) if isinstance(node, str) else self._source.value_pos(at, node)

    def _walk(self, path: tuple[str | int, ...], *, of_key: bool) -> tuple[int, Node]:
        """Where the deepest value (or its key) that `path` reaches begins, as an offset, and that value (or key)."""
        node, shift = self.partial, 0
        found: tuple[int, Node] = self.root_at, node
        for part in path:
            if isinstance(node, Map):
                key = str(part)
                if key in node:
                    at = node.key_offset(key) if of_key else node.value_offset(key)
                    found = shift + at, key if of_key else node[key]
                    shift, node = shift + node.shift(key), node[key]
            elif isinstance(node, Seq) and isinstance(part, int) and 0 <= part < len(node):
                found = shift + node.item_offset(part), node[part]
                shift, node = shift + node.shift(part), node[part]
        return found


def parse(data: str | bytes, name: str) -> Document:
    """Read `data` (text, or bytes in UTF-8) as one YAML document; `name` is the file's name as people know it.

    Never raises for anything in `data`: see `Document.findings`.
    """
    findings: list[Finding] = []
    text = decode(data, findings)
    source = Source(text if text is not None else "")
    if text is None:
        return Document(name, source, None, 0, findings, complete=False)
    builder = Builder(source, clean(source, findings), findings)
    builder.run()
    findings = sorted((_straight(finding, source) for finding in findings), key=lambda finding: finding.pos)
    return Document(name, source, builder.root, builder.root_at, findings, builder.complete)


def _straight(finding: Finding, source: Source) -> Finding:
    """A finding whose cure is quotes, on a line that has some of a letter's: those are none here."""
    if not finding.message.endswith(QUOTE) or not _CURLY.search(source.lines[finding.pos.line - 1]):
        return finding
    cure = 'curly quotes are letters here, put the whole text in straight ones (")'
    message = finding.message.removesuffix(QUOTE) + cure
    return Finding(finding.rule, message, finding.pos, finding.severity, finding.related)
