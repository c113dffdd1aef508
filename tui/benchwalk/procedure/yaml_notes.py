"""Where findings about one YAML text are collected, and those about its keys and its shape as a whole."""

from __future__ import annotations

from typing import Any

from .findings import Finding, Related
from .showing import shortened
from .tree_nodes import Map, Seq
from .tree_source import Source
from .yaml_table import ADVICE, said

MOST_FINDINGS = 200
MOST_ADVICE = 50

# What is told of a line already and makes the reader stumble there: its own complaint would only repeat it.
_CAUSES = frozenset(
    {
        "yaml-alias",
        "yaml-anchor",
        "yaml-braces",
        "yaml-colon-in-text",
        "yaml-comment-in-text",
        "yaml-control",
        "yaml-encoding",
        "yaml-exclamation",
        "yaml-indent",
        "yaml-tab",
        "yaml-tag",
    }
)


class Notes:
    """The findings of one text. `text` is the source's, with forbidden characters replaced one for one."""

    def __init__(self, source: Source, text: str, findings: list[Finding]) -> None:
        self.source = source
        self.text = text
        self.findings = findings
        self._kept = {"error": 0, "advice": 0}

    @property
    def full(self) -> bool:
        """Whether no further finding would be kept."""
        return self._kept["error"] > MOST_FINDINGS

    def add(self, rule: str, offset: int, message: str, related: tuple[Related, ...] = ()) -> None:
        """Keep a finding at an offset. Beyond the cap of its severity nothing is kept, and that is said once."""
        severity = "advice" if rule in ADVICE else "error"
        kept, most = self._kept[severity], MOST_FINDINGS if severity == "error" else MOST_ADVICE
        if kept > most:
            return
        if kept == most:
            rule, related, what = "yaml-many", (), "things are wrong" if severity == "error" else "pieces of advice"
            message = f"more than {most} {what}; those after this place are not shown"
        self._kept[severity] += 1
        self.findings.append(Finding(rule, message, self.source.pos(offset), severity, related))

    def tell(self, rule: str, offset: int, found: str = "", related: tuple[Related, ...] = ()) -> None:
        """Keep a finding with the sentence of the table; `found` may be any text of the file."""
        self.add(rule, offset, said(rule, found=shortened(found)), related)

    # --- keys and collections ---

    def bad_key(self, into: Map, marks: list[int], event: Any, value: str | None) -> None:
        """A key that is nothing, the merge key, or one that is there already."""
        at: int = event.start_mark.index
        if self.full:
            return
        if value is None:
            self.tell("yaml-key-kind", at, f"{event.value or 'missing'} (no text)")
        elif value in into:
            first = self.source.value_pos(marks[2 * list(into).index(value)], value)
            self.tell("yaml-duplicate-key", at, value, (Related(first, f"'{shortened(value)}' stands here first"),))
        else:
            self.tell("yaml-merge-key", at)

    def collection_key(self, event: Any) -> None:
        """A list or a mapping where a key is expected; `{{ name }}` without quotes is read so."""
        at: int = event.start_mark.index
        if self.text[at] == "{" and at and self.text[at - 1] == "{":
            self.tell("yaml-braces", at - 1)
        else:
            self.tell("yaml-key-kind", at, "a list" if self.text[at] in "[-" else "keys and values")

    def single(self, pair: Map, parent: Any) -> None:
        """A mapping of one pair in a list: `- Lever off: wait` was meant as a text."""
        at = pair._marks[0]
        if type(parent) is not Seq or self.text[pair._offset] == "{" or self.text[at] in "\"'":
            return
        key, value = next(iter(pair.items()))
        if (self.text[parent._offset] == "[" or " " in key) and (value is None or isinstance(value, str)):
            self.tell("yaml-colon-in-text", at, key)

    # --- the whole ---

    def too_deep(self, event: Any) -> None:
        """Nesting beyond the cap."""
        self.tell("yaml-too-deep", event.start_mark.index)

    def too_many(self, event: Any, most: int) -> None:
        """More values than the cap."""
        message = f"the file holds more than {most} keys and values; at most so many are read"
        self.add("yaml-too-many", event.start_mark.index, message)

    def directives(self, event: Any) -> None:
        """`%YAML` and `%TAG` lines."""
        if event.version or event.tags:
            self.tell("yaml-directive", event.start_mark.index)

    def second_document(self, event: Any) -> None:
        """A `---` after the first document."""
        self.tell("yaml-second-document", event.start_mark.index)

    def whole(self, root: Any) -> None:
        """What the text as a whole turned out to be."""
        if any(finding.severity == "error" for finding in self.findings):
            return
        if root is None:
            self.tell("yaml-empty", 0)
        elif isinstance(root, str):
            self.tell("yaml-bare-text", len(self.text) - len(self.text.lstrip()), root)

    def unread(self, offset: int) -> None:
        """The reader failed in a way of its own somewhere after an offset."""
        self.tell("yaml-syntax", offset, "what follows cannot be read")

    def syntax(self, finding: Finding, line: int) -> None:
        """The reader's complaint, made on `line` (from 1), unless what caused it is told already."""
        if not any(f.rule in _CAUSES and f.pos.line in (line, finding.pos.line) for f in self.findings):
            self.findings.append(finding)
