"""Reading a text again that was changed in one place: only the part with the change is read, the rest is taken over.

A part is a key of the top with all below it, or one entry of a list that such a key holds. It is read as a text of its
own, an entry below the line of its key. That comes to the same as reading the whole where neither text has any finding,
the part begins as it did and ends at a whole line: then the reader stands, before it and behind it, where it stood
before. Where any of this is not plainly so, the whole text is read.

What is taken over stays the very same nodes; only the two topmost levels are made anew, and hold how far what is in
them has moved.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from typing import NamedTuple

from .collector import collector_rests
from .findings import Finding
from .tree import Document, parse
from .tree_nodes import Map, Seq
from .tree_source import Source
from .yaml_text import decode

LARGEST = 400_000
"""Most characters of a text that is read in parts; so none comes near the most values that are read."""

# What ends a document or opens another one, and a key whose place the text behind it decides.
_NEVER = re.compile(r"^(?:---|\.\.\.|%|[ -]*\?(?:\s|$))|\r", re.MULTILINE)


class Part(NamedTuple):
    """From the beginning of a line to that of the line behind it; `entry` is its number, None for a whole key."""

    start: int
    end: int
    key: str
    entry: int | None


def parse_again(data: bytes, name: str, before: Document | None) -> Document:
    """As `parse`, and sooner where it is much like a text `before`."""
    found = None
    if before is not None and before.name == name and len(data) <= LARGEST:
        findings: list[Finding] = []
        text = decode(data, findings)
        if text is not None and not findings:
            found = _again(text, before)
    return found if found is not None else parse(data, name)


@collector_rests()
def _again(text: str, before: Document) -> Document | None:
    root, old = before.root, before.text
    if before.findings or not isinstance(root, Map) or len(old) > LARGEST:
        return None
    if text == old:
        return before
    part = _part(old, root, *_changed(old, text))
    by = len(text) - len(old)
    if part is None or _NEVER.search(text, part.start, part.end + by):
        return None
    key_at = root.key_offset(part.key)
    value = root[part.key]
    held = _placed(value, root.shift(part.key)) if isinstance(value, Seq) and part.entry is not None else None
    first = _line_start(old, held._marks[0]) if held is not None else key_at
    lead = old[key_at:first] if part.entry is not None else ""
    small = parse(lead + text[part.start : part.end + by], before.name)
    if small.findings or not isinstance(small.root, Map):
        return None
    made = _joined(root, small.root, part, held, by, part.start - len(lead))
    if made is None:
        return None
    made._source, made._offset = Source(text), root._offset
    return Document(before.name, made._source, made, before.root_at, [], complete=True)


def _changed(old: str, text: str) -> tuple[int, int]:
    """From where to where in the old text something else stands now."""
    most = min(len(old), len(text))
    start, high = 0, most
    while start < high:
        middle = (start + high + 1) // 2
        if old.startswith(text[start:middle], start):
            start = middle
        else:
            high = middle - 1
    alike, high = 0, most - start
    while alike < high:
        middle = (alike + high + 1) // 2
        if old[len(old) - middle : len(old) - alike] == text[len(text) - middle : len(text) - alike]:
            alike = middle
        else:
            high = middle - 1
    return start, len(old) - alike


def _part(old: str, root: Map, first: int, last: int) -> Part | None:
    """The part that takes in a change whole, and begins and ends as before."""
    keys = root._marks[::2]
    number = bisect_right(keys, first - 1) - 1
    if number < 0 or old[root._offset] == "{" or old[_line_start(old, keys[0]) : keys[0]]:
        return None
    end = keys[number + 1] if number + 1 < len(keys) else len(old)
    if last >= end and end < len(old):
        return None
    key = list(root)[number]
    whole = Part(keys[number], end, key, None)
    value = root[key]
    return _entry(old, _placed(value, root.shift(key)), whole, first, last) if isinstance(value, Seq) else whole


def _entry(old: str, value: Seq, whole: Part, first: int, last: int) -> Part:
    """The entry of a list with the change in it; the whole key, where its entries stand in no lines of their own."""
    marks = value._marks
    if not marks or old[value._offset] != "-":
        return whole
    index = bisect_right(marks, first) - 1
    if index < 0:
        return whole
    start = _line_start(old, marks[index])
    end = _line_start(old, marks[index + 1]) if index + 1 < len(marks) else whole.end
    dash = old.find("-", start)
    apart = all(old[_line_start(old, at) : at].strip(" ") == "-" for at in marks[index : index + 2])
    if apart and dash < first and (last < end or end == len(old)):
        return Part(start, end, whole.key, index)
    return whole


def _line_start(text: str, offset: int) -> int:
    return text.rfind("\n", 0, offset) + 1


def _placed(node: Seq, by: int) -> Seq:
    """A list of the top as it stands that many characters further on, with the very same entries."""
    if not by:
        return node
    made = Seq(node)
    made._source, made._offset = node._source, node._offset + by
    made._marks = [at + by for at in node._marks]
    made.shifts = [node.shift(index) + by for index in range(len(node))]
    return made


def _joined(root: Map, small: Map, part: Part, held: Seq | None, by: int, shift: int) -> Map | None:
    """The whole tree, with what was read in place of a part; None where it does not fit there.

    `held` is the list that holds the part, where it is an entry; `by` is how far the text behind the part has moved,
    `shift` how far what was read stands from where it was read.
    """
    mine = small[part.key] if held is not None and [*small] == [part.key] else None
    if held is not None and not isinstance(mine, Seq):
        return None
    made = Map()
    marks: list[int] = []
    shifts: list[int] = []
    for key, value in root.items():
        places = [root.key_offset(key), root.value_offset(key)]
        moved = by if places[0] >= part.end else 0
        if key != part.key:
            if key in made:
                return None
            made[key] = value
            shifts.append(root.shift(key) + moved)
        elif held is not None and isinstance(mine, Seq) and part.entry is not None:
            made[key] = _spliced(held, mine, part.entry, by, shift)
            shifts.append(0)
        else:
            if made.keys() & small.keys():
                return None
            made.update(small)
            shifts += [shift] * len(small)
            places, moved = small._marks, shift
        marks += [at + moved for at in places]
    made._marks, made.shifts = marks, shifts
    return made


def _spliced(held: Seq, mine: Seq, index: int, by: int, shift: int) -> Seq:
    """A list with what was read in place of one entry."""
    made = Seq((*held[:index], *mine, *held[index + 1 :]))
    made._source, made._offset = held._source, held._offset
    marks, shifts = held._marks, [held.shift(number) for number in range(len(held))]
    made._marks = [*marks[:index], *(at + shift for at in mine._marks), *(at + by for at in marks[index + 1 :])]
    made.shifts = [*shifts[:index], *(shift for _ in mine), *(was + by for was in shifts[index + 1 :])]
    return made
