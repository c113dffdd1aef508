"""The wrong one beside the right one: drawn in plain characters, for every word a step may ask for."""

from __future__ import annotations

import pytest

from benchwalk.daybook.drawings import BESIDE, DRAWN, SIDE, drawing
from benchwalk.daybook.ink import text_of
from benchwalk.procedure.drawings import DRAWINGS

NAMED = {
    "snares from the side": ("plate", "hoop", "gap", "cord", "clamp", "shell", "head", "strands"),
    "knot": ("knot", "clamp", "hole", "tail", "cord", "twice"),
    "groove": ("groove", "cord", "plate", "head", "strands"),
}


@pytest.mark.parametrize("name", DRAWN)
def test_a_drawing_fits_beside_itself(name: str) -> None:
    """Wrong and right stand beside each other in 64 cells and few lines, in characters every terminal has."""
    lines = [text_of(line) for line in drawing(name) or []]
    assert lines[0].startswith("Wrong: ") and lines[0][SIDE + 4 :].startswith("Right: ")
    assert all(len(line) <= BESIDE and line.isascii() and line.isprintable() for line in lines)
    assert 8 <= len(lines) <= 12


@pytest.mark.parametrize("name", DRAWN)
def test_a_narrow_drawing_has_the_right_one_below(name: str) -> None:
    """With less room the same two stand one below the other, nothing of them lost."""
    wide, narrow = drawing(name) or [], drawing(name, BESIDE - 1) or []
    assert all(len(text_of(line)) <= SIDE for line in narrow)
    signs = [sorted("".join(text_of(line) for line in lines).replace(" ", "")) for lines in (wide, narrow)]
    assert signs[0] == signs[1]
    heads = [text_of(line) for line in narrow if text_of(line).startswith(("Wrong", "Right"))]
    assert [head[:5] for head in heads] == ["Wrong", "Right"]


@pytest.mark.parametrize("name", DRAWN)
def test_a_drawing_names_its_parts(name: str) -> None:
    """Every part that matters is written beside it, in words that are quieter than the lines."""
    lines = drawing(name) or []
    text = " ".join(text_of(line) for line in lines)
    assert all(word in text for word in NAMED[name])
    assert {span.tone for line in lines for span in line} == {"plain", "quiet", "outside", "within"}
    assert all(span.text.strip("# []|-_='.:@()<>ov^/\\") for line in lines for span in line if span.tone == "quiet")


def test_every_word_of_show_is_drawn() -> None:
    """A step may show what stands here, or what is drawn from the drum's rods; nothing else is drawn."""
    assert {*DRAWN, "pairs", "rod order"} == set(DRAWINGS)
    assert drawing("pairs") is drawing("rod order") is drawing("anything else") is None
