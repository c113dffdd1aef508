"""The page of the grammar for its tests: its blocks of YAML, and its whole procedure with parts spliced in."""

from __future__ import annotations

import re
from functools import cache
from typing import NamedTuple

from benchwalk.library import Library
from benchwalk.procedure.findings import Finding
from benchwalk.procedure.linked import Linked
from benchwalk.procedure.linking import link
from benchwalk.procedure.read import read
from benchwalk.proof.check import check_source, telling
from benchwalk.sums import compute
from house import ROOT

PAGE = ROOT / "docs" / "procedure-grammar.md"
TEXT = PAGE.read_text(encoding="utf-8")


class Block(NamedTuple):
    """A fenced block: the line it begins at, what stands after the fence, its text, and the block that follows."""

    line: int
    info: str
    text: str
    after: str


def blocks() -> list[Block]:
    """All fenced blocks of the page."""
    found = list(re.finditer(r"^```([^\n]*)\n(.*?)^```$", TEXT, re.MULTILINE | re.DOTALL))
    following = [match[2] if match[1] == "text" else "" for match in found[1:]] + [""]
    lines = [TEXT.count("\n", 0, match.start()) + 1 for match in found]
    return [Block(n, m[1], m[2], after) for n, m, after in zip(lines, found, following, strict=True)]


[WHOLE] = [block.text for block in blocks() if block.info == "yaml"]
"""The page's whole procedure, into which its parts are spliced."""


def sections(text: str) -> dict[str, str]:
    """Top-level key to its text, comments before the first left out."""
    pieces = re.split(r"^(?=[a-z]+:)", text, flags=re.MULTILINE)
    return {piece.partition(":")[0]: piece.rstrip("\n") + "\n" for piece in pieces[1:]}


def entries(section: str) -> dict[str, str]:
    """The entries of a block section: by name, or for a list by its first id."""
    body = section.partition("\n")[2]
    pieces = re.split(r"^(?=  \S)", body, flags=re.MULTILINE)
    named: dict[str, str] = {}
    for piece in pieces:
        found = re.match(r"  (?:- \{?(?:step|event|example): ([^,}\n]+)|([a-z_-]+):|- )", piece)
        if found:
            named[found[1] or found[2] or piece] = piece.rstrip("\n") + "\n"
    return named


def spliced(part: str, whole: str = WHOLE) -> str:
    """The whole procedure with a part in it: entries by name, list entries in front, anything else instead."""
    made = sections(whole)
    for key, section in sections(part).items():
        head, _, body = section.partition("\n")
        if key not in made or not body or head.strip() != f"{key}:":
            made[key] = section
            continue
        new, old = entries(section), entries(made[key])
        front = key in ("steps", "whenever", "examples")
        kept = {name: text for name, text in old.items() if name not in new}
        made[key] = f"{key}:\n" + "".join({**new, **kept}.values() if front else {**kept, **new}.values())
    return "".join(made.values())


@cache
def library() -> Library:
    """The shipped procedures, which parts of the page run."""
    return Library.of()


def linked(text: str) -> Linked:
    """A text read and linked; it must be sound."""
    found = link(read(text.encode(), "page.yaml"), library().find)
    assert found is not None, [f.message for f in read(text.encode(), "page.yaml").findings]
    assert found.sound, [f.message for f in found.findings]
    return found


def findings(text: str, *, walked: bool = False) -> list[Finding]:
    """All that the checker finds in a text, examples walked or not."""
    source = read(text.encode(), "page.yaml")
    tell = telling(compute) if walked else None
    return check_source(source, link(source, library().find), known=library().ids(), tell=tell)


def errors(text: str, *, walked: bool = False) -> list[str]:
    """The errors of a text, each as sentence and rule."""
    return [f"{f.message} [{f.rule}]" for f in findings(text, walked=walked) if f.severity == "error"]
