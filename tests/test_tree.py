"""The positioned tree: what is read, where everything stands, what is refused, and that nothing makes it fail."""

from __future__ import annotations

import gc
import io
import random
import re
import runpy
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from benchwalk.procedure import yaml_reader
from benchwalk.procedure.findings import Finding, Pos
from benchwalk.procedure.linked import Linked
from benchwalk.procedure.linking import link
from benchwalk.procedure.read import read
from benchwalk.procedure.showing import render_finding, safe_text
from benchwalk.procedure.traps import TRAPS
from benchwalk.procedure.tree import Document, Map, Seq, parse
from benchwalk.procedure.yaml_table import MOST_DEEP, OTHERS
from benchwalk.procedure.yaml_text import MOST_BYTES

SHIPPED = sorted((Path(__file__).parent.parent / "procedures").rglob("*.y*ml"))

SAMPLE = """\
# A sample of all the shapes a procedure has
procedure: even-head
title: Even a snare-side head
revision: 3
for: [snare drum, 'side drum']
purpose: >
  Bring the rods to one note,
  in pairs.

needs: {tools: [drum key, "note meter"], parts: none, supplies: none, before: ~}
limits:
  least_gap: {is: 1 mm, sure: C, whose: the shop, because: "the plate must clear the hoop: always"}
readings:
  rod_note: {ask: Note beside each rod, kind: note, per: rod, possible: 40 .. 1200}
  butt_gap:
    ask: "Gap from plate to hoop (minus: rides on it), \\u00bd mm steps"
    unit: mm          # metric
    possible: -15 .. 30
steps:
  - step: look
    stage: {id: first, title: Look}
    do: |
      Lever off.
        Then wait.
    expect: The plate's edge stands clear.
    record: [butt_gap, rod_note]
    branches:
      - {when: butt_gap < 1 mm, because: 'it''s too near', go: look, at_most: 3, then: stop}
      - {when: otherwise, go: stop}
  - step: stop
    end: done
examples:
  - example: straight through
    given: {butt_gap: {visits: [-2, 4.5]}, rod_note: {each: 220, 3: 214}}
    ends: done
"""


def rules(document: Document) -> list[tuple[str, int, int]]:
    """The findings as (rule, line, column)."""
    return [(finding.rule, *finding.pos) for finding in document.findings]


def only(text: str | bytes) -> Finding:
    """The one finding that a text must have."""
    document = parse(text, "f.yaml")
    assert len(document.findings) == 1, document.findings
    return document.findings[0]


def tree(text: str | bytes) -> Any:
    """The root of a text that must have no finding."""
    document = parse(text, "f.yaml")
    assert document.findings == []
    return document.root


class TestReading:
    """What becomes of each kind of value."""

    @pytest.mark.parametrize(
        ("written", "value"),
        [
            ("12", "12"),
            ("6.350", "6.350"),
            ("0x1F", "0x1F"),
            ("1e3", "1e3"),
            ("12:30", "12:30"),
            ("2026-11-25", "2026-11-25"),
            ("true", "true"),
            ("1_000", "1_000"),
            (".inf", ".inf"),
            ("=", "="),
            ("< 3 mm", "< 3 mm"),
            ("it's 3/8\" wide", "it's 3/8\" wide"),
            ("'it''s'", "it's"),
            ('"a\\tb\\u00bd\\"\\\\"', 'a\tb½"\\'),
            ("''", ""),
            ('"null"', "null"),
            ("'~'", "~"),
            ("~", None),
            ("null", None),
            ("NULL", None),
            ("", None),
            ("nUll", "nUll"),
            ("one\n  two", "one two"),
            ("|\n  one\n   two\n", "one\n two\n"),
            ("|-\n  one\n", "one"),
            (">\n  one\n  two\n\n  three\n", "one two\nthree\n"),
            ("[]", []),
            ("{}", {}),
            ("[a, 'b', ~, [c]]", ["a", "b", None, ["c"]]),
            ("{b: c, 'd': {3: e}}", {"b": "c", "d": {"3": "e"}}),
        ],
    )
    def test_values_stay_as_typed(self, written: str, value: object) -> None:
        """Every scalar is the text as typed, quotes and blocks resolved; only a plain nothing is None."""
        assert tree(f"a: {written}\n") == {"a": value}

    def test_nodes_are_plain_dicts_lists_and_strings(self) -> None:
        """The tree is made of dict and list subclasses and of exactly str, so that other libraries take it."""
        root = tree(SAMPLE)
        assert type(root) is Map and isinstance(root, dict)
        assert type(root["steps"]) is Seq and isinstance(root["steps"], list)
        assert type(root["title"]) is str and list(root)[:3] == ["procedure", "title", "revision"]

    def test_a_list_may_be_the_root(self) -> None:
        """A list at the root is read like any other."""
        assert tree("- a\n- b: c\n") == ["a", {"b": "c"}]

    @pytest.mark.parametrize("mark", ["\n", "\r\n", "\r"])
    def test_line_breaks_read_alike(self, mark: str) -> None:
        """LF, CRLF and CR give the same values, lines and places, with or without the last break."""
        text = 'a: 1\nb:\n  - x  # c\n  - "y\n    z"\nc: |\n  one\n  two\n'
        expected = parse(text, "f")
        for broken in (text.replace("\n", mark), text.replace("\n", mark).removesuffix(mark)):
            document = parse(broken, "f")
            assert document.findings == [] and document.lines == expected.lines
            assert document.root is not None and list(document.root) == ["a", "b", "c"]
            assert isinstance(document.root, Map) and document.root["b"] == ["x", "y z"]
            for path in (("a",), ("b",), ("b", 1), ("c",)):
                assert document.locate(path) == expected.locate(path)

    def test_text_and_bytes_read_alike(self) -> None:
        """UTF-8 bytes, with and without a byte order mark, and text give one tree and the same places."""
        text = "ü: [é, 😀 b]\n"
        documents = [
            parse(data, "f") for data in (text, "\ufeff" + text, text.encode(), b"\xef\xbb\xbf" + text.encode())
        ]
        for document in documents:
            assert document.root == {"ü": ["é", "😀 b"]} and document.findings == []
            assert document.locate(("ü", 1)) == (1, 8) and document.text == text


class TestPlaces:
    """Lines and columns, from 1, in code points."""

    def test_keys_and_values(self) -> None:
        """Keys, values and list entries stand where they are written."""
        root = tree("a: b\nlong: {c: d, 'e': \"f\"}\nlist:\n  - g\n  -   h\nlast:\n")
        assert root.at == (1, 1)
        assert (root.key_at("a"), root.value_at("a")) == ((1, 1), (1, 4))
        assert root["long"].at == (2, 7) == root.value_at("long")
        assert (root["long"].key_at("c"), root["long"].value_at("c")) == ((2, 8), (2, 11))
        assert (root["long"].key_at("e"), root["long"].value_at("e")) == ((2, 15), (2, 20))
        assert root["list"].at == (4, 3)
        assert (root["list"].item_at(0), root["list"].item_at(1)) == ((4, 5), (5, 7))
        assert root.value_at("last") == (6, 6)

    def test_quoted_values_point_inside_their_quotes(self) -> None:
        """The place of a quoted value is its first character, not the quote."""
        root = tree("a: 'x'\nb: [\"y\"]\nc: ''\n")
        assert (root.value_at("a"), root["b"].item_at(0), root.value_at("c")) == ((1, 5), (2, 6), (3, 5))

    @pytest.mark.parametrize("head", ["|", ">", "|-", ">+", "|2", "|  # note"])
    def test_blocks_point_at_their_first_text(self, head: str) -> None:
        """The place of a block is the first character of its first line of text, past empty lines."""
        assert tree(f"k:\n  a: {head}\n\n    text\n    more\n")["k"].value_at("a") == (4, 5)

    def test_columns_count_code_points(self) -> None:
        """Wide characters, emoji and combining marks before a value count one column each code point."""
        root = tree("太鼓: {音: 高い, 😀: x, e\u0301: y}\n")
        assert root["太鼓"].at == (1, 5)
        assert [root["太鼓"].key_at(key) for key in root["太鼓"]] == [(1, 6), (1, 13), (1, 19)]
        assert root["太鼓"].value_at("e\u0301") == (1, 23)

    def test_unknown_keys_and_entries_raise_as_dicts_and_lists_do(self) -> None:
        """Asking for what is not there is the caller's error."""
        root = tree("a: [b]\n")
        for ask in (root.key_at, root.value_at):
            with pytest.raises(KeyError):
                ask("x")
        for index in (1, -1):
            with pytest.raises(IndexError):
                root["a"].item_at(index)

    @pytest.mark.parametrize(
        ("path", "value", "key"),
        [
            ((), (2, 1), (2, 1)),
            (("revision",), (4, 11), (4, 1)),
            (("for", 1), (5, 20), (5, 20)),
            (("purpose",), (7, 3), (6, 1)),
            (("needs", "before"), (10, 79), (10, 71)),
            (("steps", 0, "do"), (23, 7), (22, 5)),
            (("steps", 0, "branches", 0, "because"), (28, 43), (28, 33)),
            (("steps", 0, "branches", 0, "nothing"), (28, 9), (28, 9)),
            (("steps", 0, "tag", "branches", 1, "go"), (29, 31), (29, 27)),
            (("steps", 9, "do"), (20, 3), (19, 1)),
            (("examples", 0, "given", "rod_note", 3), (34, 69), (34, 66)),
            (("no", "such"), (2, 1), (2, 1)),
        ],
    )
    def test_locate(self, path: tuple[str | int, ...], value: Pos, key: Pos) -> None:
        """A path leads to the deepest value it reaches; parts that lead nowhere are skipped."""
        document = parse(SAMPLE, "sample.yaml")
        assert document.locate(path) == value
        assert document.locate_key(path) == key

    @pytest.mark.parametrize(
        "text",
        [
            "a: one two\n",
            "a: one\n  two\n\n  three\n",
            "a: 'it''s one\n  two'\n",
            'a: "q\\"x\\u00bdy\\tz\n   w\\\n   v"\n',
            "a: |\n  one\n\n  two\n",
            "a: >\n  one\n  two\n\n  three\n",
        ],
    )
    def test_place_in_follows_the_source(self, text: str) -> None:
        """Each letter of a value is found at the place where that letter is written."""
        document = parse(text, "f")
        assert isinstance(document.root, Map)
        value = document.root["a"]
        assert isinstance(value, str)
        for index, char in enumerate(value):
            if char.isalpha() and char.isascii():
                line, column = document.place_in(("a",), index)
                assert document.lines[line - 1][column - 1] == char, (index, char, line, column)

    def test_place_in_of_no_text_is_its_place(self) -> None:
        """A list or nothing has no characters; the answer is where it stands."""
        document = parse("a: [b]\nc:\n", "f")
        assert document.place_in(("a",), 5) == (1, 4) and document.place_in(("c",), 1) == (2, 3)


class TestRefused:
    """What YAML allows and a procedure does not, and what is no YAML."""

    @pytest.mark.parametrize(
        ("text", "expected"),
        [
            ("a: 1\nb: 2\na: 3\n", ("yaml-duplicate-key", 3, 1)),
            ("k: {a: 1, 'a': 2}\n", ("yaml-duplicate-key", 1, 11)),
            ("a: &x b\n", ("yaml-anchor", 1, 4)),
            ("a: &x [b]\n", ("yaml-anchor", 1, 4)),
            ("a: *x\n", ("yaml-alias", 1, 4)),
            ("a: !!int 3\n", ("yaml-tag", 1, 4)),
            ("a: !x {b: c}\n", ("yaml-tag", 1, 4)),
            ("a:\n  <<: {b: c}\n", ("yaml-merge-key", 2, 3)),
            ("a: 1\n---\nb: 2\n", ("yaml-second-document", 2, 1)),
            ("a: 1\n...\nb: 2\n", ("yaml-second-document", 3, 1)),
            ("? [a]\n: b\n", ("yaml-key-kind", 1, 3)),
            ("k: {{a: b}: c}\n", ("yaml-braces", 1, 4)),
            ("~: b\n", ("yaml-key-kind", 1, 1)),
            (": b\n", ("yaml-key-kind", 1, 1)),
            ("%TAG ! x\n---\na: b\n", ("yaml-directive", 1, 1)),
            ("", ("yaml-empty", 1, 1)),
            ("# nothing\n", ("yaml-empty", 1, 1)),
            ("\n\nLoosen the rods.\n", ("yaml-bare-text", 3, 1)),
            ("a: b\n\tc: d\n", ("yaml-tab", 2, 1)),
            ("a:\n  \tb: c\n", ("yaml-tab", 2, 3)),
            ("太: 太 \x07\n", ("yaml-control", 1, 6)),
            ("a: \x00\n", ("yaml-control", 1, 4)),
            ("a: b\n\u202ec: d\n", ("yaml-control", 2, 1)),
            ("a: b\u2028\n", ("yaml-control", 1, 5)),
            ("a: b\x85\n", ("yaml-control", 1, 5)),
            ("a: b\ufeff\n", ("yaml-control", 1, 5)),
            ("a: \ud800\n", ("yaml-control", 1, 4)),
            ('a: "x\\x1b[2J"\n', ("yaml-control", 1, 4)),
            ("k: [a, {b: c}\nd: e\n", ("yaml-unclosed", 1, 4)),
            ("k: [\n", ("yaml-unclosed", 1, 4)),
            ("k: {a: b,\n", ("yaml-unclosed", 1, 4)),
            ('a: "b\nc: d\n', ("yaml-unclosed-quote", 1, 4)),
            ('a: "b\nc: "d"\n', ("yaml-unclosed-quote", 1, 4)),
            ("a: b\n c: d\n", ("yaml-indent", 2, 2)),
            ("a:\n  b: c\n d: e\n", ("yaml-indent", 3, 2)),
            ("a:\n  - b\n  c: d\n", ("yaml-indent", 3, 3)),
            ("a:\n  b: c\n  - d\n", ("yaml-indent", 3, 3)),
            ("a:\n- b\n - c\n", ("yaml-indent", 3, 2)),
            ("a: b\nc\nd: e\n", ("yaml-no-key", 2, 1)),
            ("no key\nd: e\n", ("yaml-no-key", 1, 1)),
        ],
    )
    def test_refused_with_its_place(self, text: str, expected: tuple[str, int, int]) -> None:
        """Each is one finding, an error, at the place where it stands."""
        finding = only(text)
        assert (finding.rule, *finding.pos) == expected and finding.severity == "error"

    def test_a_duplicate_key_names_the_first(self) -> None:
        """The finding for the second points at the first as well, and the first value stays."""
        document = parse("a: 1\nb: {c: d}\n'a': {e: f}\n", "f")
        assert [related.pos for related in document.findings[0].related] == [(1, 1)]
        assert document.root == {"a": "1", "b": {"c": "d"}}

    def test_an_unclosed_bracket_names_both_places(self) -> None:
        """Where it was opened, and how far no end was found."""
        finding = only("a: [1, 2\nb: 3\n")
        assert finding.pos == (1, 4) and [related.pos for related in finding.related] == [(2, 2)]

    @pytest.mark.parametrize(
        ("data", "words"),
        [
            ("a: °\n".encode("latin-1"), "byte 4 of the file (0xB0, perhaps '°' in an older encoding)"),
            ("a: b\n".encode("utf-16"), "UTF-16"),
            ("a: b\n".encode("utf-16-le"), "UTF-16"),
            ("a: b\n".encode("utf-16-be"), "UTF-16"),
            ("a: b\n".encode("utf-32"), "UTF-32"),
            (b"a: \x80\n", "byte 4 of the file (0x80"),
            (b"a: \xc0\xaf\n", "byte 4 of the file (0xC0"),
            (b"a: \xed\xa0\x80\n", "byte 4 of the file (0xED"),
        ],
    )
    def test_other_encodings_say_which_byte(self, data: bytes, words: str) -> None:
        """A file that is not UTF-8 is refused with the name of its encoding or the first byte that is wrong."""
        finding = only(data)
        assert finding.rule == "yaml-encoding" and words in finding.message and "UTF-8" in finding.message

    def test_a_wrong_byte_has_a_line_and_column(self) -> None:
        """Columns count characters although the fault is a byte."""
        assert only("ü: 1\né: ü ".encode() + b"\xfc\n").pos == (2, 6)

    def test_binary_data_is_no_text(self) -> None:
        """A picture under a YAML name is called what it is."""
        finding = only(b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x00" * 20)
        assert finding.rule == "yaml-binary" and "byte 1 is 0x89" in finding.message

    def test_forbidden_characters_do_not_reach_the_tree(self) -> None:
        """Where one stood, raw or behind an escape, the tree holds the replacement character."""
        assert parse('a: b\x1bc\nd: "\\x9b2J"\n', "f").root == {"a": "b\ufffdc", "d": "\ufffd2J"}

    def test_reading_goes_on_after_a_refusal(self) -> None:
        """What does not stop the reading is told together, in the order of the file."""
        text = "a: !x 1\nb: *y\na: 2\n? [c]\n: d\ne: {f, g}\n"
        found = [
            "yaml-tag",
            "yaml-alias",
            "yaml-duplicate-key",
            "yaml-key-kind",
            "yaml-key-alone",
            "yaml-comma-in-braces",
        ]
        assert [rule for rule, _, _ in rules(parse(text, "f"))] == found

    def test_what_was_found_before_a_stop_is_kept(self) -> None:
        """A syntax error ends the reading; findings before it stay, and the root is not half a tree."""
        document = parse("a: *x\nb: c\nd: [e\n", "f")
        assert rules(document) == [("yaml-alias", 1, 4), ("yaml-unclosed", 3, 4)]
        assert document.root is None and not document.complete and not document.sound
        assert document.partial == {"a": None, "b": "c", "d": ["e"]}

    def test_advice_leaves_a_document_sound(self) -> None:
        """Only errors keep a tree from being used."""
        assert parse("a: yes\n", "f").sound and not parse("a: &x yes\n", "f").sound


class TestCaps:
    """Nothing grows without end, and nothing raises."""

    def test_the_largest_file(self) -> None:
        """A file over the cap is refused unread, whether bytes or text; one just under it is read."""
        over = "a: " + "x" * MOST_BYTES
        assert only(over).rule == only(over.encode()).rule == "yaml-too-big"
        assert only("é" * (MOST_BYTES // 2 + 1)).rule == "yaml-too-big"
        assert len(tree("a: " + "x" * (MOST_BYTES - 3))["a"]) == MOST_BYTES - 3

    @pytest.mark.parametrize(
        "text",
        [
            "[" * 10_000,
            "{a: " * 10_000,
            "- " * 10_000 + "a",
            "? " * 10_000 + "a",
            "a: " + "[" * 900 + "]" * 900,
            "\n".join(" " * n + "a:" for n in range(1_400)),
        ],
    )
    def test_deep_nesting(self, text: str) -> None:
        """Ten thousand levels are one finding and no recursion error."""
        assert "yaml-too-deep" in {rule for rule, _, _ in rules(parse(text, "f"))}

    def test_the_deepest_that_is_read(self) -> None:
        """Exactly the stated number of levels is read, one more is not."""
        assert parse("[" * MOST_DEEP + "]" * MOST_DEEP, "f").findings == []
        assert only("[" * (MOST_DEEP + 1) + "]" * (MOST_DEEP + 1)).pos == (1, MOST_DEEP + 1)

    def test_an_alias_bomb_stays_small(self) -> None:
        """Aliases are refused one by one and never followed."""
        bomb = "a0: &a0 [x]\n" + "".join(f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]\n" for n in range(1, 10))
        document = parse(bomb, "f")
        assert {rule for rule, _, _ in rules(document)} == {"yaml-anchor", "yaml-alias"}
        assert isinstance(document.root, Map) and document.root["a9"] == [None] * 9

    def test_a_huge_scalar(self) -> None:
        """A scalar of a million characters is read in every style."""
        for style in ("a: {}\n", "a: '{}'\n", 'a: "{}"\n', "a: |\n  {}\n", "a: [{}]\n"):
            assert "x" * 1_000_000 in str(tree(style.replace("{}", "x" * 1_000_000))["a"])

    def test_many_keys(self) -> None:
        """A hundred thousand keys are read, and the last one's place is known."""
        root = tree("".join(f"k{n}: v{n}\n" for n in range(100_000)))
        assert len(root) == 100_000 and root.value_at("k99999") == (100_000, 9)

    def test_too_many_values(self) -> None:
        """More values than the cap stop the reading."""
        assert only("[" + "a, " * 510_000 + "]").rule == "yaml-too-many"

    def test_findings_are_capped_by_severity(self) -> None:
        """Two hundred errors or fifty pieces of advice and one that says there is more; advice hides no error."""
        assert len(parse("".join(f"k{n}: *x\n" for n in range(1000)), "f").findings) == 201
        advice = parse("".join(f"k{n}: yes\n" for n in range(1000)) + "z: *x\n", "f").findings
        assert len(advice) == 52 and advice[-1].rule == "yaml-alias" and advice[-2].rule == "yaml-many"

    def test_many_duplicates_take_no_time_to_tell(self) -> None:
        """A file of nothing but repeated keys ends in the cap, not in a walk for each."""
        text = "".join(f"k{n % 40_000}: v\n" for n in range(120_000))
        assert parse(text, "f").findings[-1].rule == "yaml-many"


class TestReader:
    """What reading does to the process, and what it rests on."""

    @pytest.mark.parametrize("text", ["a: b\n", "a: [\n", ""])
    def test_the_garbage_collector_is_left_as_it_was(self, text: str) -> None:
        """It rests while a tree is built, and afterwards runs again, or still does not."""
        try:
            for before in (gc.enable, gc.disable):
                before()
                state = gc.isenabled()
                parse(text, "f")
                assert gc.isenabled() is state
        finally:
            gc.enable()

    def test_reading_and_linking_leave_the_collector_alone_too(self) -> None:
        """It runs again, or still does not, after a procedure is linked and after the library behind it has failed."""

        def failing(name: str) -> Linked | None:
            raise LookupError(name)

        running = next(path for path in SHIPPED if b"run:" in path.read_bytes())
        try:
            for before in (gc.enable, gc.disable):
                before()
                state = gc.isenabled()
                source = read(running.read_bytes(), "f")
                assert gc.isenabled() is state
                assert link(source, lambda name: None) is not None
                assert gc.isenabled() is state
                with pytest.raises(LookupError):
                    link(source, failing)
                assert gc.isenabled() is state
        finally:
            gc.enable()

    def test_reading_is_light(self) -> None:
        """The tree needs no screen, no model and no other YAML library."""
        code = (
            "import sys, benchwalk.procedure.tree, benchwalk.procedure.showing;"
            "print([m for m in ('textual', 'rich', 'pydantic', 'ruamel', 'numpy') if m in sys.modules])"
        )
        out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
        assert out.stdout.strip() == "[]"

    def test_a_missing_fast_reader_is_said(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """Without libyaml a sentence says so; with it there is nothing to say."""
        assert yaml_reader.FAST and yaml_reader.reader_note() is None
        monkeypatch.setattr(yaml_reader, "FAST", False)
        assert "libyaml" in (yaml_reader.reader_note() or "")

    def test_both_readers_read_the_sample_alike(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """PyYAML's own reader gives the same tree and the same places."""
        fast = parse(SAMPLE, "f")
        monkeypatch.setattr(yaml_reader, "FAST", False)
        slow = parse(SAMPLE, "f")
        assert slow.root == fast.root and slow.findings == []
        assert places(slow) == places(fast)

    def test_both_readers_survive_an_impossible_escape(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """An escape beyond the last character is a finding with either reader."""
        for fast in (True, False):
            monkeypatch.setattr(yaml_reader, "FAST", fast)
            for escape in ("\\UFFFFFFFF", "\\U00110000", "\\ud800", "\\x0", "\\"):
                document = parse(f'a: b\nc: "{escape}"\n', "f")
                assert document.findings and not document.sound


def places(document: Document) -> list[tuple[object, Pos, Pos]]:
    """Every path of a tree with its value's and its key's place."""
    out: list[tuple[object, Pos, Pos]] = []

    def walk(node: object, path: tuple[str | int, ...]) -> None:
        out.append((path, document.locate(path), document.locate_key(path)))
        if isinstance(node, dict):
            for key, value in node.items():
                walk(value, (*path, key))
        elif isinstance(node, list):
            for index, value in enumerate(node):
                walk(value, (*path, index))

    walk(document.root, ())
    return out


# --- against the round-trip reader ---


def same(ours: object, theirs: Any) -> bool:
    """Whether a value of ours is what the other reader made of the same text."""
    if isinstance(theirs, dict):
        return (
            isinstance(ours, dict)
            and len(ours) == len(theirs)
            and all(same(a, b) and same(ours[a], theirs[b]) for a, b in zip(ours, theirs, strict=True))
        )
    if isinstance(theirs, list):
        return isinstance(ours, list) and len(ours) == len(theirs) and all(map(same, ours, theirs))
    if theirs is None or isinstance(theirs, str):
        return ours == theirs
    if not isinstance(ours, str):
        return False
    if isinstance(theirs, bool):
        return ours.lower() == str(theirs).lower()
    if isinstance(theirs, int):
        return int(ours, 16 if ours.startswith("0x") else 8 if ours.startswith("0o") else 10) == theirs
    if isinstance(theirs, float):
        return repr(float(ours.replace(".inf", "inf").replace(".nan", "nan"))) == repr(float(theirs))
    return ours[:10] == str(theirs)[:10]  # a date


def round_trip(text: str) -> Any:
    """What ruamel.yaml's round-trip reader makes of a text."""
    return YAML(typ="rt").load(text)


TEXT = st.text(
    st.characters(exclude_categories=("Cc", "Cs", "Cf", "Zl", "Zp", "Cn", "Co"), include_characters="\n\t"), max_size=12
)
ODD = ["yes", "~", "null", "- a", "a: b", "#3", "{{ x }}", "%", "> 2", "'", '"', "1.10", "010", " a ", "\n"]
WORDS = TEXT | st.sampled_from(ODD)
KEYS = WORDS.filter(lambda key: key != "<<")
SCALARS = WORDS | st.none() | st.booleans() | st.integers(-999, 99999)
DATA = st.recursive(
    SCALARS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(KEYS, inner, max_size=4),
    max_leaves=12,
)


@settings(max_examples=150)
@given(st.dictionaries(KEYS, DATA, min_size=1, max_size=4), st.booleans(), st.booleans())
def test_the_tree_equals_the_round_trip_reading(data: dict[str, Any], flow: bool, wide: bool) -> None:
    """Whatever plain data is written by the editing library, both read the same from it, scalar for scalar."""
    out = io.StringIO()
    writer = YAML(typ="rt")
    writer.default_flow_style = flow
    writer.width = 4096 if wide else 40
    writer.dump(data, out)
    text = out.getvalue()
    if flow and re.search(r"[\s{\[,][?:][^\s]", text):
        return  # libyaml takes ? and : for signs inside brackets wherever a text starts, and that is told as a trap
    document = parse(text, "f")
    assert document.complete, (text, document.findings)
    assert same(document.root, round_trip(text)), text


@pytest.mark.parametrize("text", [SAMPLE, *(trap.good for trap in TRAPS.values() if trap.rule != "yaml-too-deep")])
def test_samples_equal_the_round_trip_reading(text: str) -> None:
    """The samples of the tests and of the traps read alike too."""
    assert same(parse(text, "f").root, round_trip(text))


@settings(max_examples=100)
@given(st.lists(WORDS, min_size=1, max_size=3), st.lists(st.tuples(st.integers(0, 2), st.integers(0, 80)), max_size=12))
def test_places_are_the_same_in_whatever_order_they_are_asked(words: list[str], asked: list[tuple[int, int]]) -> None:
    """Where a character stands does not depend on what was asked before: not which text, nor which way."""
    out = io.StringIO()
    YAML(typ="rt").dump({f"k{number}": f"{word} {word}" for number, word in enumerate(words)}, out)
    document = parse(out.getvalue(), "f")
    for number, index in asked:
        path = (f"k{number}",)
        assert document.place_in(path, index) == parse(out.getvalue(), "f").place_in(path, index), out.getvalue()


@pytest.mark.skipif(not SHIPPED, reason="no procedures are there yet")
def test_shipped_procedures_equal_the_round_trip_reading() -> None:
    """Every shipped procedure reads alike with both, and has no finding of reading."""
    for path in SHIPPED:
        data = path.read_bytes()
        document = parse(data, path.name)
        assert document.findings == [], (path, document.findings)
        assert same(document.root, round_trip(data.decode())), path


def test_scalars_stand_where_they_are_said_to() -> None:
    """At the place of every plain or quoted one-line scalar of the sample stands its own text."""
    document = parse(SAMPLE, "f")
    seen = 0
    for path, place, _ in places(document):
        node: Any = document.root
        for part in path:  # type: ignore[attr-defined]
            node = node[part]
        if isinstance(node, str) and "\n" not in node and "½" not in node and "'" not in node:
            assert document.lines[place.line - 1].startswith(node, place.column - 1), (path, place)
            seen += 1
    assert seen > 30


def test_the_measured_file_is_an_ordinary_one() -> None:
    """What the benchmark reads has no finding, so that it measures reading and not complaining."""
    benchmark = runpy.run_path(str(Path(__file__).parent.parent / "benchmarks" / "yaml_load.py"))
    text = benchmark["large_procedure"](20)
    document = parse(text, "large.yaml")
    assert document.findings == [] and same(document.root, round_trip(text))
    assert isinstance(document.root, Map) and len(document.root["steps"] or "") == 20


# --- anything at all ---

NASTY = [
    *"{}[]:,#&*!|>'\"%@`?-~<=\\\t\r\n\x00\x1b\x85\u2028\u202e\ufeff 09aé太😀",
    *("{{ ", " }}", ": ", "- ", " #3", "<<: ", "---\n", "...\n", "%YAML 1.2\n", "\r\n", "1,5", "!!str ", "&a ", "*a"),
    *('"\\x', '"\\u12', "? ", "|2", ">9", "\n\n", "  ", "\t\t", "'''"),
]


def inside(document: Document) -> None:
    """Every place a document speaks of lies in its text, and what it says is fit for a terminal."""
    spots = [finding.pos for finding in document.findings]
    spots += [related.pos for finding in document.findings for related in finding.related]
    for line, column in spots:
        assert 1 <= line <= len(document.lines)
        assert 1 <= column <= len(document.lines[line - 1]) + 1
    for finding in document.findings:
        assert finding.message == safe_text(finding.message)
        assert finding.rule in TRAPS or finding.rule in OTHERS
        shown = render_finding(finding, document.name, document.lines)
        assert all(safe_text(part) == part for part in shown.split("\n"))
    assert document.complete or not document.sound
    if document.root is None:
        assert document.findings


@pytest.mark.parametrize("seed", range(400))
def test_damaged_texts_never_raise(seed: int) -> None:
    """Whatever is broken in a file, reading ends with findings whose places lie in the file."""
    dice = random.Random(seed)
    text = list(SAMPLE)
    for _ in range(dice.choice([1, 1, 1, 2, 3, 8, 30])):
        at = dice.randrange(len(text))
        act = dice.randrange(4)
        if act == 0:
            del text[at : at + dice.choice([1, 1, 2, 5, 40])]
        elif act == 1:
            text[at] = dice.choice(NASTY)
        else:
            text.insert(at, dice.choice(NASTY))
        text = text or ["a"]
    damaged = "".join(text)
    inside(parse(damaged, "f"))
    data = bytearray(damaged.encode())
    if data and seed % 2:
        data[dice.randrange(len(data))] = dice.randrange(256)
    document = parse(bytes(data), "f")
    inside(document)
    for path, _, _ in places(document):
        document.place_in(path, 3)  # type: ignore[arg-type]


@pytest.mark.parametrize("seed", range(60))
def test_damaged_texts_never_raise_in_the_slow_reader(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same promise without libyaml."""
    monkeypatch.setattr(yaml_reader, "FAST", False)
    dice = random.Random(seed)
    text = list(SAMPLE)
    for _ in range(dice.choice([1, 2, 8])):
        text.insert(dice.randrange(len(text)), dice.choice(NASTY))
    inside(parse("".join(text), "f"))


@settings(max_examples=200)
@given(st.binary(max_size=60) | st.text(max_size=60) | st.text(st.sampled_from("".join(NASTY)), max_size=40))
def test_anything_is_read_without_raising(data: str | bytes) -> None:
    """Any bytes and any text at all, lone surrogates among it, end in a document."""
    inside(parse(data, "f\x1b[2J.yaml"))
