"""The page for first-time authors: what it has people write works, and what it says the screen says is said."""

from __future__ import annotations

import re

from benchwalk.library import Library
from benchwalk.procedure.tree import parse
from benchwalk.proof.check import check_file
from benchwalk.screens.actions import WRITE, at, key_text
from benchwalk.sums import compute
from house import ROOT

PAGE = (ROOT / "docs" / "writing-procedures.md").read_text(encoding="utf-8")
[WHOLE] = re.findall(r"^```yaml whole\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)
PIECES = re.findall(r"^```yaml\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)


def found(text: str) -> list[str]:
    """What is wrong with a text, its examples walked."""
    library = Library.of(None)
    return [f.message for f in check_file(text.encode(), "x.yaml", library.find, compute=compute)]


def test_the_whole_has_nothing_wrong_with_it() -> None:
    """The procedure at the end of the page is clean, and its examples walk every way."""
    assert found(WHOLE) == []


def test_every_piece_stands_in_the_whole() -> None:
    """What is written piece by piece is what stands in the whole in the end."""
    for piece in PIECES[1:]:
        for line in piece.strip("\n").split("\n"):
            assert line in WHOLE.split("\n"), line


def test_every_piece_can_be_read() -> None:
    """No piece of the page is broken YAML."""
    for piece in PIECES:
        text = piece if not piece.startswith(" ") else "steps:\n" + piece if "step:" in piece else "x:\n" + piece
        assert parse(text, "x").sound, piece


def test_what_the_screen_is_said_to_say_is_said() -> None:
    """Without its last branch and its example the text gives just the sentences that the page quotes."""
    branch = '      - {when: throw < 4 mm, because: "It moves only {{ throw }}", go: show-senior}\n'
    without = WHOLE.replace(branch, "")
    assert any("no branch is taken for throw 2 mm; missing is a branch for 'throw < 4 mm'" in m for m in found(without))
    assert "no branch is taken for throw 2 mm; missing is a branch for 'throw < 4 mm'" in PAGE
    example = "  - example: the lever moves too little\n    given: {throw: 2}\n    ends: referred\n"
    assert any("no example walks 1 of" in m for m in found(WHOLE.replace(example, "")))


def test_keys_on_the_page_are_those_of_the_screen() -> None:
    """Every key the page names is a key of the writing screen."""
    known = {key_text(key) for action in at(WRITE) for key in action.keys}
    assert set(re.findall(r"\*\*(F\d+|Ctrl\+\w)\*\*", PAGE)) <= known | {"Ctrl+Z", "Ctrl+V"}
    assert {"Ctrl+F", "Ctrl+G", "Ctrl+X"} <= known
