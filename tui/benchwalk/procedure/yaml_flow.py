"""What went wrong inside [ ] and { }."""

from __future__ import annotations

import re

from .findings import Finding
from .showing import shortened
from .yaml_case import Case

_PIECE = re.compile(
    r"""'[^']*'|"[^"\\]*(?:\\.[^"\\]*)*"|[\[\]{},]|:(?=\s)|(?<=\s)#[^\r\n]*|[^\[\]{},:'"#\s]+|.""",
    re.DOTALL,
)
_ENTRY = re.compile(r" *(?:- +)+")


def in_brackets(case: Case) -> Finding:
    """Something else than a comma or the end was found in brackets opened at `case.since`."""
    text, at = case.text, case.at
    cut = case.cut(case.since)
    if cut and case.line(cut[0]) < case.line(at):
        return cut[1]
    start = item_start(text, case.since, at)
    item = text[start:at]
    below = case.line(at) > case.line(case.since)
    if item.startswith(('"', "'")) and not (below and case.first_on_line(at)):
        return case.quoted(start)
    if item.startswith("{{") or text.startswith("{{", at):
        return case.say("yaml-braces", start if item.startswith("{{") else at)
    if below and _ENTRY.fullmatch(text, case.line_start(at), at):
        return case.unclosed(case.since)
    if case.char in ("{", "[") and item.strip():
        return case.say("yaml-bracket-in-text", at, case.char)
    if item.startswith("[") and item.rstrip().endswith("]") and not case.first_on_line(at):
        return case.say("yaml-bracket", start)
    if below and (at >= len(text.rstrip()) or case.indent(at) <= case.indent(case.since) or "\n" in item.strip()):
        return case.unclosed(case.since)
    if case.char == ":":
        return case.say("yaml-colon-in-text", at, shortened(item.strip()))
    if below or case.char in ("]", "}", ""):
        return case.unclosed(case.since)
    return case.say("yaml-syntax", at, "a comma is missing before this")


def item_start(text: str, opening: int, end: int) -> int:
    """Where the entry or value that stands before `end` began, in the brackets opened at `opening`."""
    starts = [opening + 1]
    fresh = True  # the next piece begins an item
    for piece in _PIECE.finditer(text, opening + 1, end):
        word = piece.group()
        if word.isspace() or word.startswith("#"):
            continue
        if word in "[{" and fresh:
            starts[-1] = piece.start()
            starts.append(piece.end())
        elif word in "]}":
            if len(starts) > 1:
                starts.pop()
            fresh = False
        elif word in ",:":
            starts[-1] = piece.end()
            fresh = True
        elif fresh:
            starts[-1] = piece.start()
            fresh = False
    start = starts[-1]
    while start < end and text[start].isspace():
        start += 1
    return start


def opener(text: str, start: int, end: int, none: int) -> int:
    """The offset of the bracket that the last closing bracket of text[start:end] closes; `none` if there is none."""
    depth = 0
    for at in range(end - 1, start - 1, -1):
        if text[at] in "]}":
            depth += 1
        elif text[at] in "[{":
            depth -= 1
            if depth == 0:
                return at
    return none
