"""The YAML reader's complaints said again in words of ours, at the place that helps.

A reader stops where it can no longer go on, often far from the slip. So each complaint is read together with the
source: the text that was read last, the line it stopped on, the bracket it was inside. What is recognised as a trap
gets the trap's own sentence. The words looked for are those of both readers, libyaml and PyYAML's own.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from yaml.error import MarkedYAMLError, YAMLError

from .findings import Finding
from .showing import shortened
from .tree_source import Source
from .yaml_case import Case
from .yaml_flow import in_brackets, opener
from .yaml_table import said

_STARTERS = {
    "*": "yaml-star",
    "&": "yaml-ampersand",
    "!": "yaml-exclamation",
    "|": "yaml-bar",
    ">": "yaml-greater",
    "%": "yaml-percent",
    "@": "yaml-at",
    "`": "yaml-backtick",
}
_KEY_BEFORE = re.compile(r"(?:^|[\s{,\[])[^\s:#]+[ \t]*:[ \t]+\S")
_DOCUMENT = re.compile(r"(?:\A|[\r\n])(?:---|\.\.\.)(?=\s)")
_LONGEST_KEY = 1024


def explain(error: YAMLError, source: Source, text: str, last: int, suspects: set[int]) -> tuple[Finding, int]:
    """The finding for a complaint of the reader, and the line (from 1) it complained about.

    `text` is what was read, `last` the offset of the last key or value that was read whole, `suspects` the offsets
    after which a plain text may have been cut short by a comment.
    """
    if not isinstance(error, MarkedYAMLError) or error.problem_mark is None:
        return Finding("yaml-syntax", said("yaml-syntax", found="this text cannot be read"), source.pos(0)), 1
    case = Case(error, source, text, last, suspects)
    odd = case.odd_space()
    if odd:
        return odd, case.line(case.at) + 1
    for words, explanation in _EXPLANATIONS:
        if re.search(words, case.problem):
            return explanation(case), case.line(case.at) + 1
    return case.say("yaml-syntax", case.at, "the reader cannot go on here"), case.line(case.at) + 1


def _token(case: Case) -> Finding:
    """A character that starts nothing."""
    if case.char == "\t":
        return _tab(case)
    if case.char in _STARTERS:
        return case.say(_STARTERS[case.char], case.at)
    return case.say("yaml-syntax", case.at, f"'{shortened(case.char)}' cannot start a text")


def _tab(case: Case) -> Finding:
    return case.say("yaml-tab", case.at)


def _starter(case: Case) -> Finding:
    """A text that begins with a sign of YAML's own."""
    sign = case.text[case.since : case.since + 1]
    return case.say(_STARTERS.get(sign, "yaml-syntax"), case.since, "this cannot be read")


def _dash(case: Case) -> Finding:
    if case.first_on_line(case.at):
        return case.say("yaml-indent", case.at, "a list entry stands where none can")
    return case.say("yaml-dash", case.at)


def _deep(case: Case) -> Finding:
    return case.say("yaml-too-deep", case.at)


def _question(case: Case) -> Finding:
    return case.say("yaml-question", case.at)


def _colon(case: Case) -> Finding:
    """A colon that cannot make a key."""
    start, before = min(case.last, case.at), case.text[case.line_start(case.at) : case.at]
    dash = case.no_dash_space(start)
    if dash:
        return dash
    if case.line(start) < case.line(case.at) and case.last_char not in "\"'[{":
        # The plain text began on a line above, so this line was read as going on with it.
        if case.first_on_line(start) and case.indent(start) == case.indent(case.at):
            return case.no_space(start) or _no_key(case, start)
        begun = case.related(start, "the text it is taken to belong to begins here")
        line = case.line_start(case.at) + len(before) - len(before.lstrip(" "))
        said_so = "this line stands deeper than the key above it and is read as more of its text"
        return case.no_space(start) or case.say("yaml-indent", line, said_so, begun)
    if case.at - start > _LONGEST_KEY and not _KEY_BEFORE.search(before[-200:]):
        return case.say("yaml-syntax", start, f"a key of more than {_LONGEST_KEY} characters stands here")
    if before.rstrip().endswith(("]", "}")):
        return case.say("yaml-syntax", case.at, "a colon follows a bracket, which makes no key")
    return case.say("yaml-colon-in-text", case.at, shortened(case.text[start : case.at].strip()))


def _no_colon(case: Case) -> Finding:
    """A line that is no key."""
    cut = case.cut(case.line_above(case.since))
    return case.no_space(case.since) or (cut[1] if cut else None) or _no_key(case, case.since)


def _no_key(case: Case, start: int) -> Finding:
    line = shortened(case.source.lines[case.line(start)].strip())
    return case.say("yaml-no-key", start, f"'{line}' has no colon, so it is no key")


def _block(case: Case) -> Finding:
    """Among keys or entries something that is neither."""
    at, last = case.at, case.last
    if case.last_char in ("'", '"') and last < at and not case.first_on_line(at):
        closed_here = case.text[last:at].rstrip().endswith(case.last_char)
        if closed_here or case.line(last) < case.line(at):
            return case.quoted(last)
    if case.char in ("]", "}", ","):
        return case.say("yaml-stray", at, case.char)
    if not case.first_on_line(at):
        return _after_value(case)
    cut = case.cut(case.line_above(at))
    if cut:
        return cut[1]
    if case.char == ":":
        return case.say("yaml-key-kind", at, "missing: nothing stands before the colon")
    return _misplaced(case)


def _after_value(case: Case) -> Finding:
    """More text on a line whose value has ended."""
    start = case.line_start(case.at)
    closer = case.text[start : case.at].rstrip()[-1:]
    if closer in ("]", "}"):
        start = opener(case.text, start, case.at, start)
        if case.text.startswith("{{", start):
            return case.say("yaml-braces", start)
        return case.say("yaml-bracket" if closer == "]" else "yaml-brace", start)
    return case.say("yaml-syntax", case.at, "more text follows where the value has ended")


def _misplaced(case: Case) -> Finding:
    """A line whose spaces fit nothing, or an entry among keys."""
    here = case.at - case.line_start(case.at)
    above = case.since - case.line_start(case.since)
    begun = case.related(case.since, f"it would belong to what begins here, with {_spaces(above)} before it")
    if here != above:
        fits = "fits" if here == 1 else "fit"
        return case.say("yaml-indent", case.at, f"{_spaces(here)} before this line {fits} nothing above it", begun)
    dash = re.match(r"-(\s|\Z)", case.text[case.at : case.at + 2])
    found = "a list entry stands among keys" if dash else "a key stands among list entries"
    return case.no_dash_space(case.at) or case.say("yaml-indent", case.at, found, begun)


def _nothing(case: Case) -> Finding:
    """A place where a value is expected and cannot be."""
    if case.char in (",", "]", "}", ":"):
        return case.say("yaml-stray", case.at, case.char)
    if case.char in ("-", "?"):
        return case.say("yaml-dash" if case.char == "-" else "yaml-question", case.at)
    start = opener(case.text + "]", 0, len(case.text) + 1, -1)
    if not case.text[case.at :].strip() and start >= 0:
        return case.unclosed(start)
    return case.say("yaml-syntax", case.at, "a value is expected here")


def _open_quote(case: Case) -> Finding:
    return case.unclosed(case.since, "yaml-unclosed-quote")


def _escape(case: Case) -> Finding:
    start = max(case.text.rfind("\\", case.since, case.at + 2), case.since)
    found = re.match(r"\\(?:x.{0,2}|u.{0,4}|U.{0,8}|.?)", case.text[start : start + 10])
    return case.say("yaml-escape", start, shortened(found.group()) if found else "this")


def _directive(case: Case) -> Finding:
    start = case.line_start(case.at)
    rule = "yaml-directive" if re.match(r"%[A-Z]", case.text[start : start + 2]) else "yaml-percent"
    return case.say(rule, start)


def _document(case: Case) -> Finding:
    """The whole text has ended, and more follows."""
    if _DOCUMENT.search(case.text, 0, case.at):
        return case.say("yaml-second-document", case.at)
    if not case.first_on_line(case.at):
        return case.quoted(case.last) if case.last_char in ("'", '"') else _after_value(case)
    return case.say("yaml-syntax", case.at, "what stands here belongs to nothing above it")


def _spaces(count: int) -> str:
    return "no spaces" if count == 0 else "1 space" if count == 1 else f"{count} spaces"


# The more precise words stand first.
_EXPLANATIONS: tuple[tuple[str, Callable[[Case], Finding]], ...] = (
    (r"nesting depth", _deep),
    (r"tab character", _tab),
    (r"cannot start any token", _token),
    (r"scanning an? (alias|anchor|tag)|undefined tag|parsing a tag|expected URI", _starter),
    (r"scanning a block scalar", _starter),
    (r"sequence entries are not allowed", _dash),
    (r"mapping keys are not allowed", _question),
    (r"mapping values are not allowed", _colon),
    (r"could not find expected ':'", _no_colon),
    (r"a flow (sequence|mapping)", in_brackets),
    (r"parsing a block (mapping|collection)", _block),
    (r"unknown escape|hexdecimal|hexadecimal|invalid Unicode|escape sequence", _escape),
    (r"a quoted scalar|double-quoted|single-quoted", _open_quote),
    (r"directive|YAML document", _directive),
    (r"expected '?<document start>", _document),
    (r"node", _nothing),
)
