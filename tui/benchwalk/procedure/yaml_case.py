"""One complaint of the YAML reader, with what is needed to say it better."""

from __future__ import annotations

import re
from typing import Any

from yaml.error import MarkedYAMLError

from .findings import Finding, Related
from .showing import shortened
from .tree_source import Source
from .yaml_table import said

_NO_SPACE = re.compile(r"[ \t]*(?:- +)*([^\s:#'\"\[\]{},]+:[^\s:/]\S*)")
_ODD_SPACE = re.compile(r" *(?:- +)*(?:-|[\w-]+:)?([\u00a0\u1680\u2000-\u200a\u202f\u205f\u3000])")
_NO_DASH_SPACE = re.compile(r" *(-(?:[a-z_]+:|[\[{\"']).*)")
BRACKETS = {"[": "the [", "{": "the {", '"': 'the "', "'": "the '"}


class Case:
    """A complaint. `at` is the offset the reader stopped at, `since` where what it was reading began.

    `last` is the offset of the last value or key it finished, `suspects` the places where a text may have been cut.
    """

    def __init__(self, error: MarkedYAMLError, source: Source, text: str, last: int, suspects: set[int]) -> None:
        mark: Any = error.problem_mark
        context: Any = error.context_mark
        self.source, self.text, self.last, self.suspects = source, text, last, suspects
        self.at: int = min(mark.index, len(text))
        self.since: int = min(context.index, len(text)) if context is not None else self.at
        self.problem = f"{error.context or ''} {error.problem or ''}"
        self.char = text[self.at : self.at + 1]
        self.last_char = text[last : last + 1]

    def say(self, rule: str, offset: int, found: str = "", *related: Related) -> Finding:
        """The finding of a rule at an offset."""
        return Finding(rule, said(rule, found=found), self.source.pos(offset), related=related)

    def related(self, offset: int, message: str) -> Related:
        """A second place."""
        return Related(self.source.pos(offset), message)

    def unclosed(self, start: int, rule: str = "yaml-unclosed") -> Finding:
        """A bracket or quotes opened at `start` without an end."""
        here = self.related(self.at, "no end was found up to here")
        return self.say(rule, start, BRACKETS.get(self.text[start : start + 1], "what is"), here)

    def line(self, offset: int) -> int:
        """The 0-based line of an offset."""
        return self.source.line_at(offset)

    def line_start(self, offset: int) -> int:
        """The offset at which the line of `offset` begins."""
        return self.source.starts[self.line(offset)]

    def line_above(self, offset: int) -> int:
        """The offset at which the line above the one of `offset` begins."""
        return self.source.starts[max(0, self.line(offset) - 1)]

    def first_on_line(self, offset: int) -> bool:
        """Whether only space stands before `offset` on its line."""
        return not self.text[self.line_start(offset) : offset].strip(" \t")

    def indent(self, offset: int) -> int:
        """How many spaces the line of `offset` begins with."""
        line = self.source.lines[self.line(offset)]
        return len(line) - len(line.lstrip(" "))

    def cut(self, start: int) -> tuple[int, Finding] | None:
        """The last `#` between `start` and the place that cut a text which goes on, and the finding for it."""
        cut = [at for at in self.suspects if start <= at < self.at and self.text[at] != ","]
        if not cut:
            return None
        at = max(cut) + 1
        lost = self.source.lines[self.line(at)][at - self.line_start(at) :]
        return at, self.say("yaml-comment-in-text", at, shortened(lost.rstrip()))

    def no_dash_space(self, offset: int) -> Finding | None:
        """An entry without a space after its dash, at the beginning of the line of `offset`."""
        found = _NO_DASH_SPACE.match(self.source.lines[self.line(offset)])
        if not found:
            return None
        return self.say("yaml-dash-space", self.line_start(offset) + found.start(1), shortened(found.group(1).rstrip()))

    def no_space(self, offset: int) -> Finding | None:
        """A key without a space after its colon, at the beginning of the line of `offset`."""
        found = _NO_SPACE.match(self.source.lines[self.line(offset)])
        if not found:
            return None
        return self.say("yaml-colon-space", self.line_start(offset) + found.start(1), shortened(found.group(1)))

    def odd_space(self) -> Finding | None:
        """A space that is none to the reader, where one counts, on the lines it was reading when it stopped."""
        for line in range(self.line(min(self.last, self.at)), self.line(self.at) + 1):
            found = _ODD_SPACE.match(self.source.lines[line])
            if found:
                named = f"U+{ord(found.group(1)):04X}"
                return self.say("yaml-odd-space", self.source.starts[line] + found.start(1), named)
        return None

    def quoted(self, start: int) -> Finding:
        """Quotes opened at `start` that close, and more text."""
        mark = self.text[start]
        closing = self.text.rfind(mark, start + 1, self.at)
        if self.line(start) < self.line(self.at):
            where = closing if closing > start else self.at
            taken = self.related(where, "its end is taken to be here, and more text follows")
            return self.say("yaml-unclosed-quote", start, BRACKETS[mark], taken)
        quote = self.text[start]
        return self.say("yaml-quote-then-text", start, quote + shortened(self.text[start + 1 : closing]) + quote)
