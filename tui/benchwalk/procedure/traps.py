"""The traps of YAML: places where a sentence of the trade is quietly read as something else.

Every trap has a rule id, a sentence, a cure and two samples (`bad` shows it, `good` is the cure); `TRAPS` is the
table, and the tests walk it. `Watch` is told by the builder of the tree whatever may be a trap and decides.

Where a comment counts as a trap: text without quotes, then exactly one space, then `#` with no space after it, as in
`Loosen rod #3 a quarter turn`. A comment with a space after its `#`, set off by two or more spaces, on a line of its
own, or after quotes or a closing bracket is an ordinary comment and never told. So `# 3`, with a space, is taken for
a comment, as any reader of YAML takes it.

Digits are kept as typed, so `1.10` loses nothing here; other readers drop its zero. That is told (as advice) where a
value names something (revision, serial, part ...), not for measurements, whose last zero is honest.
"""

from __future__ import annotations

import re
from typing import Any

from .findings import Finding, Related
from .tree_nodes import Seq
from .tree_source import Source
from .yaml_flow import opener
from .yaml_notes import Notes
from .yaml_table import TRAPS, Trap, said
from .yaml_text import bad_character, named, without_bad

__all__ = ["TRAPS", "WORDS", "Trap", "Watch"]

_NULLS = frozenset(("", "~", "null", "Null", "NULL"))
_TRUTHS = frozenset(
    ("yes", "Yes", "YES", "no", "No", "NO", "on", "On", "ON", "off", "Off", "OFF", "True", "TRUE", "False", "FALSE")
)
WORDS = _NULLS | _TRUTHS
"""Plain words the builder asks about. `true` and `false` are not among them: every reader takes them alike."""

# Each begins with the one character it is about: such a pattern is searched for at many times the speed.
_COMMENT = re.compile(r"#(?<=[ \t]#)(?=[^\s#!=\-])")
_COMMA = re.compile(r",(?<=\d,)(?=\d)")
_MARKS = (re.compile(r"&(?<![^\s,\[{]&)"), re.compile(r"!(?<![^\s,\[{]!)"))

_ZERO_FIRST = re.compile(r"[-+]?0\d+\Z")
_ZERO_LAST = re.compile(r"\d+\.\d*0\Z")
_NAMING = frozenset(("revision", "version", "edition", "serial", "number", "part", "no", "id"))
_ENTRY = re.compile(r"[\r\n][ \t]*(- )")


class Watch(Notes):
    """Judges the scalars that the builder of one tree found suspicious."""

    def __init__(self, source: Source, text: str, findings: list[Finding]) -> None:
        super().__init__(source, text, findings)
        self._escapes = "\\" in text
        # Whether there may be tags or anchors; and the offsets just after which a plain text may have been cut.
        self.careful = any(mark.search(text) for mark in _MARKS)
        self.suspects = {found.start() - 1 for found in _COMMENT.finditer(text)}
        self.suspects.update(found.start() for found in _COMMA.finditer(text))

    def word(self, event: Any, into: Any, marks: list[int], key: str | None) -> str | None:
        """What one of `WORDS` means here; `key` is the key it is the value of, None for keys and list entries."""
        value: str = event.value
        if value in _TRUTHS:
            if key is not None or type(into) is Seq:
                self.tell("yaml-truth-word", event.start_mark.index, value)
            return value
        if not value and key is not None and self.text[into._offset] == "{":
            self._alone(event.start_mark.index, marks[-1], key)
        return None

    def _alone(self, offset: int, start: int, key: str) -> None:
        """A key in braces, at `start`, with nothing after it: was there a colon at all?"""
        text = self.text
        if text[max(start, offset - 200) : offset].rstrip()[-1:] == ":":
            return
        before = text[max(0, start - 200) : start].rstrip()
        if before.endswith("{{") or (before[-1:] == "," and before[-2:-1].isdigit() and text[start].isdigit()):
            return  # told as doubled braces, or as a decimal comma
        if re.match(r"[^\s:]+:[^\s:]", key) and text[start] not in "'\"":
            self.tell("yaml-colon-space", start, key)
        else:
            self.tell("yaml-comma-in-braces" if before[-1:] == "," else "yaml-key-alone", start, key)

    def dashed(self, event: Any) -> None:
        """Plain text over several lines, one of which looks like an entry of a list."""
        start: int = event.start_mark.index
        found = _ENTRY.search(self.text, start, event.end_mark.index)
        line = self.source.starts[self.source.line_at(start)]
        bracket = opener(self.text[line:start] + "]", 0, start + 1 - line, -1)
        if found and bracket < 0:  # within brackets it is their end that is missing, which the reader finds
            related = (Related(self.source.pos(start), "the text begins here"),)
            message = said("yaml-indent", found="this entry stands too deep for a list and is read as more of a text")
            self.add("yaml-indent", found.start(1), message, related)

    def number(self, event: Any, key: Any) -> None:
        """A value that begins like a number: digits that another reader would not keep."""
        value: str = event.value
        if _ZERO_FIRST.match(value):
            self.tell("yaml-zero-first", event.start_mark.index, value)
        elif key.__class__ is str and key in _NAMING and _ZERO_LAST.match(value):
            self.tell("yaml-zero-last", event.start_mark.index, value)

    def cut(self, event: Any) -> None:
        """Plain text ends where a comment or a decimal comma may have cut it."""
        end: int = event.end_mark.index
        if self.full:
            return
        if self.text[end] == ",":
            line = self.source.pos(end).line
            if not any(f.rule == "yaml-decimal-comma" and f.pos.line == line for f in self.findings[-3:]):
                digits = re.compile(r"\d+").match(self.text, end + 1)
                self.tell("yaml-decimal-comma", event.start_mark.index, f"{event.value},{digits and digits.group()}")
        else:
            lost = re.compile(r"[^\r\n]*").match(self.text, end + 1)
            self.tell("yaml-comment-in-text", end + 1, lost.group().rstrip() if lost else "#")

    def styled(self, event: Any) -> str:
        """The value of double quotes or a block: the one may hide a control character, the other be a comparison."""
        at: int = event.start_mark.index
        value: str = event.value
        if event.style == '"':
            bad = bad_character(value) if self._escapes else None
            if bad:
                self.add("yaml-control", at, f"an escape in these quotes makes {named(bad.group())}; take it out")
                return without_bad(value)
        elif self.text[at + 1 : at + 3].strip("+-")[:1].isdigit() and (event.style == ">" or not value.strip()):
            self.tell("yaml-greater" if event.style == ">" else "yaml-bar", at)
        return value

    def marked(self, event: Any) -> None:
        """A tag or an anchor."""
        at: int = event.start_mark.index
        if event.anchor is not None:
            self.tell("yaml-anchor", at, f"&{event.anchor}")
        if event.tag is not None:
            written = re.compile(r"![^\s,\[\]{}]*").match(self.text, at)
            shown = written.group() if written else str(event.tag)
            self.tell("yaml-exclamation" if shown == "!" else "yaml-tag", at, shown)

    def alias(self, event: Any) -> None:
        """A `*name`."""
        self.tell("yaml-alias", event.start_mark.index, f"*{event.anchor}")
