"""Lines broken between words, the rest set in under the text."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from benchwalk.daybook.hanging import hung, hung_text
from benchwalk.daybook.ink import Span, text_of
from benchwalk.procedure.showing import display_width, safe_text

WORDS = st.lists(st.text("ab\u5bbd\u0301-.", min_size=1, max_size=9), min_size=1, max_size=30).map(" ".join)


def test_what_is_wrapped_stands_under_the_text() -> None:
    """Without being told the rest goes two cells further in than the line begins; with a hang as far as that."""
    line = "  Done: Leave the drum alone, lever on"
    assert hung_text(line, 22) == ["  Done: Leave the drum", "    alone, lever on"]
    assert hung_text("~ to refer, because it is so", 20, 2) == ["~ to refer, because", "  it is so"]
    assert hung_text("one two", 4, 0) == ["one", "two"]


def test_a_figure_keeps_its_unit_and_a_reading_its_number() -> None:
    """No line is broken between a figure and its unit, nor before the number of an event."""
    assert hung_text("the gap is 5.5 mm wide", 15, 0) == ["the gap is", "5.5 mm wide"]
    assert hung_text("taken at 20 deg C here", 12, 0) == ["taken at", "20 deg C", "here"]
    assert hung_text("8 mm; all within [268]", 20, 0) == ["8 mm; all", "within [268]"]
    assert hung_text("stop 5 minutes", 9, 0) == ["stop 5", "minutes"]


def test_a_word_longer_than_a_line_is_broken() -> None:
    """What has no blank is cut at the width, and nothing of it is lost."""
    assert hung_text("aaaaaaaaaa b", 4, 1) == ["aaaa", " aaa", " aaa", " b"]
    assert hung_text("", 10) == [""] and hung_text("a", 1) == ["a"]


@given(WORDS, st.integers(4, 40), st.integers(0, 3), st.integers(0, 6))
def test_nothing_is_lost_and_no_line_is_too_long(text: str, width: int, lead: int, hang: int) -> None:
    """Every row fits its width, and all of them together say what the line said."""
    rows = hung_text(" " * lead + text, width, hang)
    assert all(display_width(row) <= width or len(row.strip()) == 1 for row in rows)
    assert "".join("".join(rows).split()) == "".join(safe_text(text).split())


@given(st.lists(st.tuples(st.text("ab ", max_size=12), st.sampled_from(["plain", "quiet", "loud"])), max_size=8))
def test_tones_stay_with_their_words(parts: list[tuple[str, str]]) -> None:
    """Broken into rows, each letter keeps its tone."""
    spans = tuple(Span(text, tone) for text, tone in parts)  # type: ignore[arg-type]
    before = [(letter, span.tone) for span in spans for letter in span.text if letter != " "]
    rows = hung(spans, 10, 2)
    assert [(letter, span.tone) for row in rows for span in row for letter in span.text if letter != " "] == before
    assert all(display_width(text_of(row)) <= 10 for row in rows)
