"""Judging a text with what is known of the one before it: told sooner, and never anything else."""

from __future__ import annotations

import random
from typing import Any

import pytest

from benchwalk.authoring.judging import Judged, judge
from benchwalk.procedure import tree_again
from benchwalk.procedure.linked import Linked, Worked
from benchwalk.procedure.tree import Document, parse
from benchwalk.procedure.tree_again import parse_again
from benchwalk.procedure.tree_nodes import Map, Seq
from benchwalk.sums import compute
from mutants import NASTY, mutant, originals
from samples import other
from walk_helpers import PROCEDURES

FLAGSHIP = (PROCEDURES / "retie-snare-cords.yaml").read_text(encoding="utf-8")
TEXTS = originals()
KNOWN = ["retie-snare-cords", "replace-snare-side-film"]
PIECES = (
    *NASTY,
    *("\n", "\n\n", " ", "  ", "x", "0", ":", "key:", "# c\n", "...\n", "? ", "? a\n", "|+\n\n\n", ">\n", "|2\n", "\r"),
    *("a: b\n", "  - x\n", "\n  - step: put-in\n    end: done\n", "\nput_in: 1\n", "    go: hand-back\n", "- - a\n"),
)


def shape(document: Document) -> Any:
    """A tree with the place of everything in it."""

    def of(node: Any, *path: str | int) -> Any:
        here = document.locate(path), document.locate_key(path), document.place_in(path, 1)
        if isinstance(node, Map):
            return "map", here, [(key, of(value, *path, key)) for key, value in node.items()]
        if isinstance(node, Seq):
            return "list", here, [of(value, *path, number) for number, value in enumerate(node)]
        return node, here

    return of(document.partial), document.root_at


def edited(chance: random.Random, text: str) -> str:
    """A text with something put in, taken out, or copied from elsewhere."""
    at = chance.randrange(len(text) + 1)
    if chance.random() < 0.4:  # near a line's beginning, where parts begin and end
        at = min(len(text), text.rfind("\n", 0, at) + 1 + chance.choice((0, 0, 1, 2, 3, 4)))
    end = at + chance.choice((0, 0, 0, 1, 2, 5, 30, chance.randrange(200)))
    other_at = chance.randrange(len(text) + 1)
    put = chance.choice((chance.choice(PIECES), "", text[other_at : other_at + chance.randrange(120)]))
    return text[:at] + put + text[end:]


@pytest.mark.parametrize("seed", [0, 1, *(pytest.param(seed, marks=pytest.mark.heavy) for seed in range(2, 12))])
def test_a_text_read_in_parts_is_the_text_read_whole(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """After any edit the tree, its places and its findings are those of a text that was never read before; and many a
    time only a part was read for it."""
    read: list[int] = []
    monkeypatch.setattr(tree_again, "parse", lambda data, name: read.append(len(data)) or parse(data, name))
    chance = random.Random(seed)
    parts = 0
    for _ in range(40):
        text = chance.choice(TEXTS)
        before = parse(text.encode(), "x")
        for _ in range(5):
            data = edited(chance, text).encode("utf-8", "surrogatepass")
            read.clear()
            again, whole = parse_again(data, "x", before), parse(data, "x")
            assert shape(again) == shape(whole), data
            assert (again.findings, again.complete, again.text) == (whole.findings, whole.complete, whole.text), data
            parts += len(read) == 1 and read[0] * 2 < len(data)
            if whole.complete and not whole.findings:
                text, before = data.decode(), again
    assert parts > 20


def judged(text: str, before: Judged | None = None, *, walked: bool = False) -> Judged:
    """A text as the writing screen judges it."""
    linked = before.linked if before is not None else None
    return judge(text, "x.yaml", other, KNOWN, compute if walked else None, before=linked)


def alike(one: Judged, two: Judged) -> bool:
    """Whether both tell the same, and make the same procedure."""
    if list(one.findings) != list(two.findings) or (one.linked is None) != (two.linked is None):
        return False
    return one.linked is None or two.linked is None or settled(one.linked) == settled(two.linked)


def settled(linked: Linked) -> list[object]:
    """What linking made of a procedure."""
    return [linked.text, linked.content, linked.variables, linked.conditions, linked.edges, linked.arguments]


@pytest.mark.parametrize("seed", range(0, 1200, 40))
def test_a_spoilt_text_is_judged_as_if_it_were_the_first(seed: int) -> None:
    """With what was worked out of the good text, a spoilt one is told all that is wrong with it, and nothing else; and
    the good one behind it is as it was."""
    good = random.Random(seed).choice(TEXTS)
    spoilt = mutant(random.Random(seed), TEXTS).decode("utf-8", "replace").replace("\ufeff", "")
    walked = seed % 100 == 0
    before = judged(good, walked=walked)
    again = judged(spoilt, before, walked=walked)
    assert alike(again, judged(spoilt, walked=walked))
    assert alike(judged(good, again if again.linked is not None else before, walked=walked), before)


def test_a_text_written_on_and_on_is_judged_as_if_each_were_the_first() -> None:
    """Through a long row of edits, some of which are wrong, what is told is always what a fresh check tells."""
    chance = random.Random(7)
    text, last = FLAGSHIP, judged(FLAGSHIP)
    for _ in range(25):
        tried = mutant(chance, [text]).decode("utf-8", "replace")
        again = judged(tried, last)
        assert alike(again, judged(tried))
        if again.linked is not None:
            last = again
            text = tried if again.errors < 5 else FLAGSHIP


def test_what_was_worked_out_goes_with_the_text_after_next() -> None:
    """Only what the next text asks for again is taken over, so that nothing piles up while somebody writes."""
    first = Worked()
    assert first.of("a", lambda: 1) == 1
    assert first.of("b", lambda: 2) == 2
    second = Worked(first)
    assert second.of("a", lambda: 3) == 1
    third = Worked(second)
    assert (third.of("a", lambda: 4), third.of("b", lambda: 5)) == (1, 5)


def test_what_is_no_key_is_taken_over_where_it_is_alike_or_still_holds() -> None:
    """What was made of a list is made anew of another list only, and what was made once only where it holds no more."""
    first = Worked()
    assert first.again("a", [1], lambda: "one") == "one"
    assert first.still("b", lambda kept: True, lambda: 2) == 2
    second = Worked(first)
    assert second.again("a", [1], lambda: "new") == "one"
    assert second.still("b", lambda kept: kept == 2, lambda: 3) == 2
    third = Worked(second)
    assert third.again("a", [2], lambda: "two") == "two"
    assert third.still("b", lambda kept: kept == 3, lambda: 4) == 4
