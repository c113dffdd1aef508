"""Drawings, checked in full; and what witnesses sign for, said to be not used yet."""

from __future__ import annotations

import pytest

from benchwalk.procedure.drawings import DRAWINGS
from benchwalk.procedure.meanings import MEANINGS
from grammar_page import TEXT
from samples import check

PIECE = """
steps:
  - step: look
    do: "Look at it{rods}."
    show: {show}
    end: done
"""


@pytest.mark.parametrize("show", DRAWINGS)
def test_drawing_by_its_word_is_understood_where_it_has_what_it_needs(show: str) -> None:
    """Each word of the table is no error; one drawn for the rods wants them asked for, any other does not."""
    rods = "drum: [rods]\n"
    assert check(PIECE.format(show=show, rods=" and {{ drum.rods }}") + rods) == []
    alone = check(PIECE.format(show=show, rods=""))
    needed = f"5:11: '{show}' is drawn for the rods of this drum, and 'drum:' does not ask for rods [show]"
    assert alone == ([needed] if DRAWINGS[show] else [])
    assert f"`{show}`" in TEXT and show in MEANINGS["Step"]["show"]


@pytest.mark.parametrize("show", ["Pairs", "rods", "groove, knot", "a photograph", '"{{ drum.rods }}"'])
def test_any_other_word_is_told_with_the_words_there_are(show: str) -> None:
    """A drawing that there is not is one error that names a word that was meant, or all of them."""
    told = [line for line in check(PIECE.format(show=show, rods="")) if line.endswith("[show]")]
    assert len(told) == 1 and ": there is no drawing '" in told[0]
    assert "did you mean" in told[0] or all(word in told[0] for word in DRAWINGS)


def test_witness_that_signs_nothing_is_left_alone() -> None:
    """A witness has no advice, with words of its own for what being there means or without."""
    assert (
        check("""
steps:
  - {step: look, do: Look., witness: {by: senior, because: It was off}}
  - {step: more, do: Look., witness: {by: senior, signs: was there, because: It was off}}
  - {step: leave, do: Put it by., end: done}
""")
        == []
    )
