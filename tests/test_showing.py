"""Findings in the terminal: the source line, the caret, and that a hostile file stays inert."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchwalk.procedure.findings import Finding, Pos, Related
from benchwalk.procedure.showing import WIDTH, display_width, in_words, render_finding, safe_text, shortened, words_of
from benchwalk.procedure.tree import parse


class TestSafeText:
    """Any text made harmless."""

    @pytest.mark.parametrize(
        ("text", "shown"),
        [
            ("plain, 太鼓 ½ é 😀", "plain, 太鼓 ½ é 😀"),
            ("\x1b[2J", "\\x1b[2J"),
            ("\x1b]0;t\x07", "\\x1b]0;t\\x07"),
            ("\x9b31m", "\\x9b31m"),
            ("a\rb\bc\x7f\x00", "a\\rb\\x08c\\x7f\\x00"),
            ("a\tb\nc", "a\\tb\\nc"),
            ("\u202eabc\u2066", "\\u202eabc\\u2066"),
            ("a\u200bb\u200d\ufeff\u2060", "a\\u200bb\\u200d\\ufeff\\u2060"),
            ("a\u2028b\x85", "a\\u2028b\\x85"),
            ("\ud800", "\\ud800"),
            ("\U000e0041", "\\U000e0041"),
            ("[red]x[/red] [@click=a]", "[red]x[/red] [@click=a]"),
            ("C:\\temp", "C:\\temp"),
        ],
    )
    def test_what_acts_is_written_out(self, text: str, shown: str) -> None:
        """Control, turning and unseen characters are written out; everything else stays."""
        assert safe_text(text) == shown

    def test_line_breaks_are_kept_on_request(self) -> None:
        """With newlines asked for, every kind of break becomes one line feed, and nothing else is let through."""
        assert safe_text("a\r\nb\rc\nd\x1b\t", newlines=True) == "a\nb\nc\nd\\x1b\\t"

    def test_piles_of_marks_are_cut_down(self) -> None:
        """Four combining marks on a letter stay; further ones are written out."""
        assert safe_text("e" + "\u0301" * 6) == "e" + "\u0301" * 4 + "\\u0301" * 2

    @given(st.text())
    def test_the_result_is_printable_and_stays(self, text: str) -> None:
        """Whatever comes in, what comes out can be encoded, has no control characters, and is safe already."""
        safe = safe_text(text)
        safe.encode()
        assert not any(ord(char) < 32 or 127 <= ord(char) < 160 for char in safe)
        assert safe_text(safe) == safe

    def test_excerpts_are_short(self) -> None:
        """An excerpt is one safe line of at most the length asked for."""
        assert shortened("turn") == "turn"
        assert shortened("x" * 41) == "x" * 38 + " …" and shortened("x" * 40) == "x" * 40
        assert shortened("a\x1b" * 40, 6) == "a\\x1ba\\x1b …"


def test_width_counts_cells() -> None:
    """Wide characters take two cells, marks none."""
    assert [display_width(text) for text in ("abc", "太鼓", "e\u0301", "😀x", "")] == [3, 4, 1, 3, 0]


def caret(text: str, name: str = "f.yaml") -> tuple[str, str, str]:
    """The head, the source line and the caret line of the one finding of a text."""
    document = parse(text, name)
    shown = render_finding(document.findings[0], name, document.lines).split("\n")
    return shown[0], shown[1], shown[2]


class TestRendering:
    """How a finding looks."""

    def test_the_form(self) -> None:
        """Place, sentence and rule; the line; the caret under the column; then the second place alike."""
        document = parse("do: turn\nwhy: x\ndo: wait\n", "a/b.yaml")
        assert render_finding(document.findings[0], "a/b.yaml", document.lines) == (
            "a/b.yaml:3:1: 'do' is given twice here; keep one of them, or rename one [yaml-duplicate-key]\n"
            "    do: wait\n"
            "    ^\n"
            "  a/b.yaml:1:1: 'do' stands here first\n"
            "    do: turn\n"
            "    ^"
        )

    @pytest.mark.parametrize("before", ["abc", "太鼓", "😀 e\u0301", "½ °", ""])
    def test_the_caret_stands_under_its_column_by_width(self, before: str) -> None:
        """However wide the characters before it, the caret stands in the cell where the faulty text begins."""
        _, line, mark = caret(f"'{before}': rod #3\n")
        assert display_width(line[: line.index("#3")]) == mark.index("^")

    def test_the_caret_counts_what_is_written_out(self) -> None:
        """A character that is written out moves the caret by what it takes on the screen."""
        _, line, mark = caret("'a\u00ad\u200d': rod #3\n")
        assert line == "    'a\\xad\\u200d': rod #3" and mark.index("^") == line.index("#3")

    @pytest.mark.parametrize("left", [0, 10, 60, 90, 100, 500, 1000])
    @pytest.mark.parametrize("char", ["x", "太", "\u0301", "\u00ad"])
    def test_long_lines_are_cut_round_the_column(self, left: int, char: str) -> None:
        """The line is cut to the screen, and the place is still in it, with the caret under it."""
        _, line, mark = caret(f"'{char * left}': rod #3 {'y' * 3000}\n")
        assert display_width(line) <= WIDTH + 6 and line.endswith("…")
        assert line[4] == "…" or left < 100
        assert display_width(line[: line.index("#3")]) == mark.index("^")

    def test_a_hostile_file_is_inert(self) -> None:
        """Nothing of the file, its name or the message reaches the terminal as an order."""
        document = parse("a: \x1b]52;c;x\x07 \u202e\x9b2J\n", "f\x1b[2J.yaml")
        hostile = Finding("r\x1b", "m\x1b[31m\n", Pos(1, 4), related=(Related(Pos(1, 5), "\x9b\r"),))
        for finding in (*document.findings, hostile):
            shown = render_finding(finding, "f\x1b[2J.yaml", document.lines)
            assert not any((ord(char) < 32 and char != "\n") or 127 <= ord(char) < 160 for char in shown)
            assert "\u202e" not in shown and shown.count("\n") in (2, 5)

    @pytest.mark.parametrize("pos", [Pos(0, 0), Pos(9, 1), Pos(1, 0), Pos(1, 99), Pos(2, 1)])
    def test_a_place_outside_the_text_does_no_harm(self, pos: Pos) -> None:
        """A line that is not there is not shown; a column outside its line is drawn at the line's end."""
        shown = render_finding(Finding("rule", "message", pos), "f", ["abc", ""])
        assert shown.startswith(f"f:{pos.line}:{pos.column}: message [rule]")
        assert ("^" in shown) == (1 <= pos.line <= 2)


class TestWords:
    """Names out of a procedure as people read them."""

    @pytest.mark.parametrize(
        ("name", "words"),
        [
            ("senior-look", "senior look"),
            ("again_at", "again at"),
            ("strainer/stop-knot", "strainer: stop knot"),
            ("far/holes/break-edge", "far: holes: break edge"),
            ("room.gap", "room: gap"),
            ("gaps", "gaps"),
        ],
    )
    def test_hyphens_and_underscores_are_blanks_and_a_path_is_a_colon(self, name: str, words: str) -> None:
        """One way for steps, runs, readings and sums alike."""
        assert words_of(name) == words

    def test_names_in_a_sentence_are_replaced_whole(self) -> None:
        """Only a whole name is put in words: not a part of another, not a word that reads the same, not a path."""
        said = in_words(
            "at tie-far the walk went to tie-far-side; re-tie-far and far/tie-far stay", {"tie-far", "gaps"}
        )
        assert said == "at tie far the walk went to tie-far-side; re-tie-far and far/tie-far stay"
        assert in_words("at far/tie-far", ["tie-far", "far/tie-far"]) == "at far: tie far"

    @given(st.text("ab-_/. ", max_size=30), st.lists(st.text("ab-_", min_size=1, max_size=4), max_size=4))
    def test_a_sentence_without_the_names_is_not_touched(self, text: str, names: list[str]) -> None:
        """Where none of the names stands in it, a sentence stays letter by letter."""
        if not any(name in text for name in names):
            assert in_words(text, names) == text
