"""Lines of the bench and the book as text, and the bench in a real terminal."""

from __future__ import annotations

from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from benchwalk.daybook.ink import text_of
from benchwalk.procedure.showing import display_width, safe_text
from benchwalk.screens.record import numbers_in
from benchwalk.screens.rows import bench_head, bench_line, book_line, fitted, told, when
from benchwalk.shop.index import _TEXTS
from screen_helpers import RealTerminal
from shop_helpers import Clock, begin, drive, fresh_shop
from walk_helpers import INNER, OUTER, SNIP, TIED, linked

NASTY = st.text(st.sampled_from("ab[]/$\\:; \n\x1b\u202e\u0301宽é'\""), max_size=40)


@given(st.fixed_dictionaries(dict.fromkeys(_TEXTS, NASTY)), NASTY, st.sampled_from([0, 1, 2, 3]), st.integers(77, 160))
def test_every_row_fits_its_line_and_loses_nothing_unsaid(
    texts: dict[str, str], owner: str, first: int, width: int
) -> None:
    """Whatever the fields hold, a line keeps its columns and its width, with nothing that could act on a terminal."""
    now = Clock()()
    until = now.isoformat() if first == 1 else None
    row = {**texts, "first": first, "until": until, "open": True, "released": False}
    row |= {"opened": now.isoformat(), "last": "not a time"}
    for line in (bench_line(row, {}, owner, now, width), book_line(row, {}, owner, now, width)):
        text = text_of(line)
        assert safe_text(text) == text and display_width(text) <= width
    starts = [display_width(text_of(bench_line(row, {}, owner, now, width)[:3])) for _ in range(2)]
    assert starts[0] == (48 if width < 100 else 63)
    assert all(display_width(text_of(line)) <= width for line in told(row, {}, owner, now, width)[:2])
    assert when(row, now).strip()


@given(NASTY, st.integers(0, 99), st.integers(0, 9), NASTY, st.sampled_from(["w", "", "Ctrl+B"]), st.integers(77, 160))
def test_head_of_the_bench_keeps_its_figures(shop: str, hand: int, looks: int, who: str, key: str, width: int) -> None:
    """Whatever shop and people are called, the head fits its line and says how many jobs there are, never cut."""
    text = text_of(bench_head(shop, hand, looks, who[:20], key, width))
    assert safe_text(text) == text and display_width(text) <= width + 1
    assert f": {hand or 'nothing'} in hand" in text and (not looks or f", {looks} " in text)


def test_head_of_the_bench_says_all_that_fits() -> None:
    """The key that changes who works is said where there is room, in words; the name stays longest."""
    heads = [text_of(bench_head("Alder Yard", 5, 1, "Tam Reyes", "w", width)) for width in (90, 76, 60, 50)]
    assert heads[0].startswith(" Alder Yard: 5 in hand, 1 wanting somebody now ")
    assert heads[0].endswith(" Tam Reyes works here (w changes it)") and heads[1].endswith(" Tam Reyes works here")
    assert heads[2].endswith(" Tam Reyes") and "1 wanting somebody now" in heads[2]
    assert heads[3].startswith(" Alder Yard: 5 in hand, 1 now ") and heads[3].endswith(" Tam Reyes works here")


@given(NASTY, st.integers(1, 30))
def test_fitted_text_is_cut_visibly(text: str, cells: int) -> None:
    """Text that fits is whole; text that does not ends in an ellipsis."""
    out = fitted(text, cells, end=True)
    assert out == safe_text(text) or (out.endswith("…") and safe_text(text).startswith(out[:-1].rstrip()))


def test_numbers_in_pages_are_those_of_the_log() -> None:
    """Only numbers that the log has lead anywhere, whatever a note pretends."""
    lines = ["Gap: 4 mm [12]", "Note: see [99] and [0] and [x]", "[3]"]
    assert [n for *_place, n in numbers_in(lines, 20)] == [12, 3]


# --- bare benchwalk --------------------------------------------------------------------------------------------------


def test_bare_command_opens_the_bench_at_a_terminal(tmp_path: Path) -> None:
    """`benchwalk` at a terminal is the full screen, with `--plain` lines; ctrl+q gives the terminal back."""
    shop = fresh_shop(tmp_path)
    with begin(shop, linked(OUTER, INNER, SNIP), drum={}) as session:
        drive(session, "hold", **TIED)
    terminal = RealTerminal("--shop", str(shop.root), "--no-mouse")
    terminal.until("1 in hand, 1 wanting somebody now")
    terminal.until("> now")
    assert "\x1b[?1000h" not in terminal.raw
    terminal.press("ctrl+q")
    assert terminal.end() == 0 and terminal.whole
    plain = RealTerminal("--shop", str(shop.root), "--plain")
    plain.until("Mill Lane Drums: 1 in hand.")
    assert plain.end() == 0 and "\x1b[?1049h" not in plain.raw


def test_bare_command_without_a_shop_is_a_newcomers_first_screen(tmp_path: Path) -> None:
    """`benchwalk` at a terminal where there is no shop, or an empty folder, says what to do first, and makes nothing by
    itself; a folder that is not there, or holds other things, is refused."""
    (tmp_path / "empty").mkdir()
    for words in ((), ("--shop", str(tmp_path / "empty"))):
        terminal = RealTerminal(*words)
        terminal.until("There is no shop here yet.")
        terminal.press("ctrl+q")
        assert terminal.end() == 0 and terminal.whole
    assert list(tmp_path.iterdir()) == [tmp_path / "empty"] and not any((tmp_path / "empty").iterdir())
    (tmp_path / "empty" / "other").write_text("mine")
    refused = RealTerminal("--shop", str(tmp_path / "empty"))
    assert refused.end() == 2 and "it holds no shop.yaml" in refused.text
    refused = RealTerminal("--shop", "not-there")
    assert refused.end() == 2 and "There is no shop here" in refused.text
