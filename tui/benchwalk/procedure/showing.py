"""Findings as text for a terminal, and any text made harmless before it is shown.

A file under check may come from anywhere, so nothing of it reaches the terminal as it stands: control characters,
escape sequences and the marks that turn text round or hide in it are written out (`\\x1b`, `\\u202e`).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence

from .findings import Finding, Pos

WIDTH = 100
_COMBINED = 4
_UNSAFE = re.compile(
    "[\x00-\x1f\x7f-\x9f"  # C0, DEL, C1
    "\u00ad\u034f\u061c\u115f\u1160\u17b4\u17b5\u180e\u3164\uffa0"  # unseen fillers
    "\u200b-\u200f\u2028-\u202f\u2060-\u206f\ufeff\ufff9-\ufffb"  # unseen, line breaks, turning
    "\ud800-\udfff\U000e0000-\U000e0fff]"  # halves that cannot be printed, tag characters
)


def safe_text(text: str, *, newlines: bool = False) -> str:
    """`text` with every character that could act on a terminal, or hide, written out.

    Control characters become `\\x1b`, invisible and direction-turning ones `\\u202e`. A line break is written out too
    unless `newlines` is true (then CRLF and CR become one line feed). More than four combining marks in a row are
    written out from the fifth on. Printable text, wide characters and single emoji stay as they are.
    """
    if text.isascii() and text.isprintable():
        return text
    if newlines:
        return "\n".join(safe_text(line) for line in re.split("\r\n|\r|\n", text))
    return _tame(_UNSAFE.sub(lambda found: _written(found.group()), text))


def shortened(text: str, most: int = 40) -> str:
    """A safe one-line excerpt of `text` for use inside a sentence, cut after `most` characters."""
    cut = text[: most + 1]
    return safe_text(cut if len(cut) <= most else cut[: most - 2].rstrip() + " …")


def sentence(message: str) -> str:
    """A message as a sentence: a capital first, and a full stop last unless another mark stands there."""
    text = message.strip()
    return text[:1].upper() + text[1:] + ("" if not text or text.endswith((".", "?", ":")) else ".")


def many(count: int, word: str) -> str:
    """So many of a thing: `1 tap`, `2 taps`."""
    return f"{count} {word}{'' if count == 1 else 's'}"


def words_of(name: str) -> str:
    """A name out of a procedure as people read it: `stop-knot` is `stop knot`, `strainer/square` `strainer: square`.

    For steps, runs, readings, sums, ways and findings alike. What must be typed again is shown as it is, not so.
    """
    return re.sub(r"[/.]", ": ", name.replace("-", " ").replace("_", " "))


def in_words(text: str, names: Iterable[str]) -> str:
    """A sentence out of a log, in which these names stand as they are in the procedure, with their words instead."""
    written = sorted({name for name in names if words_of(name) != name}, key=len, reverse=True)
    if not any(name in text for name in written):
        return text
    either = "|".join(map(re.escape, written))
    return re.sub(rf"(?<![\w/.-])(?:{either})(?![\w/-])", lambda found: words_of(found.group()), text)


def display_width(text: str) -> int:
    """How many terminal cells `text` takes: wide characters 2, combining and unseen ones 0."""
    if text.isascii():
        return len(text)
    return sum(map(_cells, text))


def render_finding(finding: Finding, name: str, lines: Sequence[str]) -> str:
    """The finding as people read it: `file:line:column: sentence [rule]`, the source line, a caret, related places.

    `lines` are the file's lines (`Document.lines`); a place outside them is shown without its line.
    """
    out = [f"{_place(name, finding.pos)}: {safe_text(finding.message)} [{safe_text(finding.rule)}]"]
    out += _quoted(finding.pos, lines)
    for related in finding.related:
        out.append(f"  {_place(name, related.pos)}: {safe_text(related.message)}")
        out += _quoted(related.pos, lines)
    return "\n".join(out)


def _place(name: str, pos: Pos) -> str:
    return f"{safe_text(name)}:{pos.line}:{pos.column}"


def _quoted(pos: Pos, lines: Sequence[str]) -> list[str]:
    """The source line, cut to the screen round the column, and the caret line below it."""
    if not 1 <= pos.line <= len(lines):
        return []
    line = lines[pos.line - 1]
    column = min(max(pos.column, 1), len(line) + 1)
    # Only a window is ever made safe: a line may be a megabyte long.
    start, end = max(0, column - 1 - WIDTH), column - 1 + WIDTH
    before, after = safe_text(line[start : column - 1]), safe_text(line[column - 1 : end])
    cut_left, cut_right = start > 0, end < len(line)
    if display_width(before) > WIDTH * 2 // 3:
        before, cut_left = _last_cells(before, WIDTH // 2), True
    room = WIDTH - display_width(before)
    if display_width(after) > room:
        after, cut_right = _first_cells(after, room), True
    lead = "…" if cut_left else ""
    shown = f"{lead}{before}{after}" + ("…" if cut_right else "")
    return [f"    {shown}".rstrip(), "    " + " " * display_width(lead + before) + "^"]


def _first_cells(text: str, cells: int) -> str:
    used = 0
    for index, char in enumerate(text):
        used += _cells(char)
        if used > cells:
            return text[:index]
    return text


def _last_cells(text: str, cells: int) -> str:
    return _first_cells(text[::-1], cells)[::-1]


def _cells(char: str) -> int:
    if char.isascii():
        return 1
    if unicodedata.category(char) in ("Mn", "Me", "Cf"):
        return 0
    return 2 if unicodedata.east_asian_width(char) in ("W", "F") else 1


def _written(char: str) -> str:
    code = ord(char)
    if char in "\t\r\n":
        return {"\t": "\\t", "\r": "\\r", "\n": "\\n"}[char]
    if code < 0x100:
        return f"\\x{code:02x}"
    return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"


def _tame(text: str) -> str:
    """Write out the combining marks beyond the fourth in a row: a pile of them paints over other lines."""
    if text.isascii():
        return text
    out: list[str] = []
    run = 0
    for char in text:
        run = run + 1 if unicodedata.combining(char) or unicodedata.category(char) in ("Mn", "Me") else 0
        out.append(char if run <= _COMBINED else _written(char))
    return "".join(out)
