"""Reading a text again that was changed in one place: only the part with the change is read, the rest is taken over.

A part is a key of the top with all below it, or one entry of a list that such a key holds. It is read as a text of its
own, an entry below the line of its key. That comes to the same as reading the whole where neither text has any finding,
the part begins as it did and ends at a whole line: then the reader stands, before it and behind it, where it stood
before. Where any of this is not plainly so, the whole text is read.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from typing import NamedTuple, TypeVar

from .collector import collector_rests
from .findings import Finding
from .tree import Document, parse
from .tree_nodes import Map, Node, Seq
from .tree_source import Source
from .yaml_text import decode

N = TypeVar("N", Map, Seq)

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
    key_at = root._marks[2 * list(root).index(part.key)]
    first = _line_start(old, _marks(root[part.key])[0]) if part.entry is not None else key_at
    lead = old[key_at:first] if part.entry is not None else ""
    small = parse(lead + text[part.start : part.end + by], before.name)
    if small.findings or not isinstance(small.root, Map):
        return None
    made = _joined(root, small.root, part, Source(text), by, part.start - len(lead))
    return None if made is None else Document(before.name, made._source, made, before.root_at, [], complete=True)


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
    return _entry(old, root[key], Part(keys[number], end, key, None), first, last)


def _entry(old: str, value: Node, whole: Part, first: int, last: int) -> Part:
    """The entry of a list with the change in it; the whole key, where it holds no such list."""
    marks = _marks(value)
    if not isinstance(value, Seq) or not marks or old[value._offset] != "-":
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


def _marks(value: Node) -> list[int]:
    return value._marks if isinstance(value, Map | Seq) else []


def _joined(root: Map, small: Map, part: Part, source: Source, by: int, shift: int) -> Map | None:
    """The whole tree, with what was read in place of a part; None where it does not fit there."""
    mine = small[part.key] if part.entry is not None and [*small] == [part.key] else None
    if part.entry is not None and not isinstance(mine, Seq):
        return None
    made = Map()
    marks: list[int] = []
    for number, (key, value) in enumerate(root.items()):
        ahead = root._marks[2 * number] < part.start and key != part.key
        moved = by if root._marks[2 * number] >= part.end else 0
        pairs, places = {key: value}, root._marks[2 * number : 2 * number + 2]
        if key == part.key and isinstance(mine, Seq):
            assert isinstance(value, Seq) and part.entry is not None
            made[key] = _spliced(value, mine, part.entry, source, by, shift)
        else:
            if key == part.key:
                pairs, places, moved = small, small._marks, shift
            if made.keys() & pairs.keys():
                return None
            made.update(pairs if ahead else {name: _moved(inner, source, moved) for name, inner in pairs.items()})
        marks += [at + moved for at in places]
    return _placed(made, source, root._offset, marks)


def _spliced(value: Seq, mine: Seq, index: int, source: Source, by: int, shift: int) -> Seq:
    made = Seq(value[:index])
    made += [_moved(inner, source, shift) for inner in mine]
    made += [_moved(inner, source, by) for inner in value[index + 1 :]]
    marks = [*value._marks[:index], *(at + shift for at in mine._marks), *(at + by for at in value._marks[index + 1 :])]
    return _placed(made, source, value._offset, marks)


def _moved(node: Node, source: Source, by: int) -> Node:
    """A node as it stands that many characters further on in another text. What stands ahead of the change needs none
    of this: as far as it goes the text it was read from is the same.
    """
    if isinstance(node, Map):
        pairs = Map(node)
        for key, value in node.items():
            if value.__class__ is Map or value.__class__ is Seq:  # not one call for each text, which most of them are
                pairs[key] = _moved(value, source, by)
        return _placed(pairs, source, node._offset + by, [at + by for at in node._marks])
    if isinstance(node, Seq):
        entries = Seq(node)
        for number, value in enumerate(node):
            if value.__class__ is Map or value.__class__ is Seq:
                entries[number] = _moved(value, source, by)
        return _placed(entries, source, node._offset + by, [at + by for at in node._marks])
    return node


def _placed(node: N, source: Source, offset: int, marks: list[int]) -> N:
    node._source, node._offset, node._marks = source, offset, marks
    return node
