"""The traps of YAML: each is told by its own rule at its own place, and ordinary writing is never suspected."""

from __future__ import annotations

import pytest

from benchwalk.procedure import yaml_reader
from benchwalk.procedure.findings import Finding
from benchwalk.procedure.traps import TRAPS, Trap
from benchwalk.procedure.tree import parse


def findings(text: str) -> list[Finding]:
    """What reading a text finds."""
    return parse(text, "f.yaml").findings


def told(text: str) -> list[tuple[str, int, int]]:
    """The findings of a text as (rule, line, column)."""
    return [(finding.rule, *finding.pos) for finding in findings(text)]


@pytest.mark.parametrize("fast", [True, False], ids=["libyaml", "own"])
@pytest.mark.parametrize("trap", TRAPS.values(), ids=lambda trap: trap.rule)
def test_every_trap_of_the_table(trap: Trap, fast: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """The bad sample gives its rule and no other, with either reader; the cured one gives nothing."""
    monkeypatch.setattr(yaml_reader, "FAST", fast)
    found = findings(trap.bad)
    assert {finding.rule for finding in found} == {trap.rule}
    assert {finding.severity for finding in found} == {trap.severity}
    assert all(finding.message.endswith(trap.cure) for finding in found)
    assert findings(trap.good) == []


@pytest.mark.parametrize("trap", TRAPS.values(), ids=lambda trap: trap.rule)
def test_sentences_are_plain(trap: Trap) -> None:
    """A finding is one short line without exclamation, capital or full stop, and leaves no hole unfilled."""
    for finding in findings(trap.bad):
        text = finding.message
        assert len(text) < 200 and not text.endswith(".") and "\n" not in text
        assert "{found}" not in text and not text[0].isupper()


@pytest.mark.parametrize(
    ("text", "rule", "line", "column"),
    [
        # a comment that takes text away
        ("do: Loosen rod #3 a quarter turn\n", "yaml-comment-in-text", 1, 16),
        ("do: Loosen rod #3\n  a quarter turn\n", "yaml-comment-in-text", 1, 16),
        ("- turn\n- Loosen rod #3\n", "yaml-comment-in-text", 2, 14),
        ("do: #3 is loose\n", "yaml-comment-in-text", 1, 5),
        ("do: Turn\t#3\n", "yaml-comment-in-text", 1, 10),
        ("k: {do: Loosen rod #3, why: it binds}\nm: n\n", "yaml-comment-in-text", 1, 20),
        ("k: [rod #3, rod #4]\n", "yaml-comment-in-text", 1, 9),
        ("太 太: 😀 太 #3\n", "yaml-comment-in-text", 1, 10),
        # commas and colons inside braces
        ("c: {hazard: knife slips, hand cut, avoid: x}\n", "yaml-comma-in-braces", 1, 26),
        ("c: {\n  hazard: knife,\n  hand cut }\n", "yaml-comma-in-braces", 3, 3),
        ('c: {a: "b", c d}\n', "yaml-comma-in-braces", 1, 13),
        ("c: {a:1}\n", "yaml-colon-space", 1, 5),
        ("record: {butt_gap}\n", "yaml-key-alone", 1, 10),
        ("c: {do: Lever off: wait}\n", "yaml-colon-in-text", 1, 18),
        ("c: [Lever off: wait]\n", "yaml-colon-in-text", 1, 5),
        # braces of our own
        ("ask: {{ name }} is loose\n", "yaml-braces", 1, 6),
        ("ask: {{ name }}\n", "yaml-braces", 1, 6),
        ("- {{ name }} is loose\n", "yaml-braces", 1, 3),
        ("k: {ask: {{ name }}, unit: mm}\n", "yaml-braces", 1, 10),
        ("k: {ask: {{ name }} is loose}\n", "yaml-braces", 1, 10),
        ("k: {ask: Is {{ name }} loose}\n", "yaml-braces", 1, 13),
        # a colon in a text
        ("do: Lever off: wait\n", "yaml-colon-in-text", 1, 14),
        ("- Lever off: wait\n", "yaml-colon-in-text", 1, 3),
        ("do: Turn, then: stop\n", "yaml-colon-in-text", 1, 15),
        ("do: b:\n", "yaml-colon-in-text", 1, 6),
        ("title: x\nunit:mm\ntime: y\n", "yaml-colon-space", 2, 1),
        ("unit:mm\ntime: y\n", "yaml-colon-space", 1, 1),
        # signs at the start
        ('do: "On" first\n', "yaml-quote-then-text", 1, 5),
        ("- 'On' first\n", "yaml-quote-then-text", 1, 3),
        ('k: {do: "On" first, why: x}\n', "yaml-quote-then-text", 1, 9),
        ("do: * the note\n", "yaml-star", 1, 5),
        ("do: *note\n", "yaml-alias", 1, 5),
        ("do: ! Danger\n", "yaml-exclamation", 1, 5),
        ("do: !important\n", "yaml-tag", 1, 5),
        ("do: [see the drawing] then turn\n", "yaml-bracket", 1, 5),
        ("k: {do: [see this] then turn}\n", "yaml-bracket", 1, 9),
        ("k: {do: see [this], why: x}\n", "yaml-bracket-in-text", 1, 13),
        ("do: {see: this} then turn\n", "yaml-brace", 1, 5),
        ("do: | turn\n", "yaml-bar", 1, 5),
        ("do: - turn\n", "yaml-dash", 1, 5),
        ("k: {do: - turn}\n", "yaml-dash", 1, 9),
        ("unit: %\n", "yaml-percent", 1, 7),
        ("k: {unit: %, wanted: 3}\n", "yaml-percent", 1, 11),
        ("% of the rods\n", "yaml-percent", 1, 1),
        ("do: & turn\n", "yaml-ampersand", 1, 5),
        ("do: &turn it\n", "yaml-anchor", 1, 5),
        ("do: @bench\n", "yaml-at", 1, 5),
        ("do: `turn`\n", "yaml-backtick", 1, 5),
        ("do: ? which\n", "yaml-question", 1, 5),
        ("do: , then\n", "yaml-stray", 1, 5),
        ("do: ] then\n", "yaml-stray", 1, 5),
        ("k: {a: b}}\n", "yaml-stray", 1, 10),
        ("k: [a,, b]\n", "yaml-stray", 1, 7),
        # an end that is missing before the next entry of a list
        ("- {a: b\n- {a: c}\n", "yaml-unclosed", 1, 3),
        ("k:\n  - {a: b, c: d\n  - {a: c}\n", "yaml-unclosed", 2, 5),
        ('k:\n  - {a: "b"\n  - {a: c}\n', "yaml-unclosed", 2, 5),
        ("s:\n  - k:\n      - {a: b, go: d\n  - k: e\n", "yaml-unclosed", 3, 9),
        # dashes without a space, and spaces that are none
        ("k:\n  - {a: b}\n  -{a: c}\n", "yaml-dash-space", 3, 3),
        ("k:\n  -a: b\n   c: d\n", "yaml-dash-space", 2, 3),
        ("k:\n  -{a: b, c: d}\n", "yaml-dash-space", 2, 3),
        ("a: b\nc:\u00a0d\n", "yaml-odd-space", 2, 3),
        ("k:\n  a: b\n\u00a0 c: d\n  e: f\n", "yaml-odd-space", 3, 1),
        ("k:\n  - a: b\n  -\u2007a: c\n", "yaml-odd-space", 3, 4),
        # comparisons
        ("wanted: > 2\n", "yaml-greater", 1, 9),
        ("wanted: >2\nask: x\n", "yaml-greater", 1, 9),
        ("wanted: >= 2\n", "yaml-greater", 1, 9),
        ("wanted: >-2\n", "yaml-greater", 1, 9),
        ("k: {wanted: > 2}\n", "yaml-greater", 1, 13),
        # numbers
        ("visits: [-2, 1,5]\n", "yaml-decimal-comma", 1, 14),
        ("k: {gap: 1,5, unit: mm}\n", "yaml-decimal-comma", 1, 10),
        ("revision: 1.10\n", "yaml-zero-last", 1, 11),
        ("serial: 010\n", "yaml-zero-first", 1, 9),
        # truth words
        ("a: yes\n", "yaml-truth-word", 1, 4),
        ("a: Off\n", "yaml-truth-word", 1, 4),
        ("a: [on]\n", "yaml-truth-word", 1, 5),
        ("a: True\n", "yaml-truth-word", 1, 4),
    ],
)
def test_traps_are_told_where_they_are(text: str, rule: str, line: int, column: int) -> None:
    """Each shape of a trap is told once, by its rule, at its place."""
    assert told(text) == [(rule, line, column)]


@pytest.mark.parametrize(
    "text",
    [
        # ordinary comments
        "unit: mm # metric\n",
        "unit: mm  #metric\n",
        "unit: mm   # 3 decimals\n",
        "unit: mm # 3 decimals\n",
        'do: "Turn rod #3" #as drawn\n',
        "do: 'Turn' #3\n",
        "k: [a, b] #3\n",
        "k: {a: b} #3\n",
        "#3 stands here\na: b\n  #3 and here\n",
        "do: |  #3\n  Turn rod #3\n",
        "do:\n  #3 comes later\n  turn\n",
        "do: turn #\nwhy: x ##\n",
        "steps: # the long part\n  - a\n",
        "do: rod#3 and C#4\n",
        "a: b #!x\nc: d #---\ne: f #====\n",
        "do: turn\u00a0it\nwhy: une\u00a0fois\u00a0!\n",
        # text that needs no quotes
        "do: it's 3/8\" wide, 90° (a quarter) - then wait; 50% of it & more!\n",
        "when: a <= 3 and b is not c\n",
        "do: see page:4 of a#b, and c://d\n",
        "time: 10:30\n",
        "do: -2 is less than >2, and a*b\n",
        "do: Turn [see the drawing], {both} of them\n",
        "possible: -15 .. 30\n",
        "possible: 1,5\n",
        "- Wait: here\n",
        "- caution: {hazard: x, avoid: y}\n",
        '- "butt edge A": x\n',
        "strip: {butt edge A: alike}\n",
        "do: one line\n  and another - with a dash\n  -2 turns\n",
        # lists and braces
        "a: [1, 2, 3]\n",
        'a: ["1,5", 2]\n',
        "a: {b: , c: ~, d: null, 'e':}\n",
        "a: {b: c,}\n",
        'ask: "{{ name }}"\nsay: Is {{ name }} loose\n',
        "k: [\n  a,\n  b\n]\n",
        # words and digits
        "then_back: true\nother: false\n",
        "unit: N\nanswer: 'yes'\nword: \"on\"\n",
        "yes: It holds\nno: It slips\n",
        "resolution: 0.10\nzero: 0\ngap: 4.50\nmore: -0.5\nrange: 0 .. 010 mm\n",
        "revision: '1.10'\nid: 7\nserial: 1.1\n",
        # blocks
        "do: >\n  wanted: > 2\n  - and\n",
        "do: |2\n    two deeper\n",
        "do: >-\n  text\n",
        'do: "a\\tb\\n\\u00bd"\n',
        # whole texts
        "---\na: b\n...\n",
        "a: b\n\n  \n\n",
        "a:\tb\n",
    ],
)
def test_ordinary_writing_is_never_suspected(text: str) -> None:
    """What reads as it is meant, comments above all, gives no finding at all."""
    assert findings(text) == []


def test_a_comment_trap_quotes_what_is_lost() -> None:
    """The sentence shows the text that is lost, cut if it is long."""
    assert "'#3 a quarter turn'" in findings("do: Loosen rod #3 a quarter turn\n")[0].message
    assert len(findings(f"do: Loosen rod #3 {'x' * 10_000}\n")[0].message) < 250


def test_the_text_before_a_comment_trap_is_read() -> None:
    """The trap is told; the tree holds what YAML says."""
    assert parse("do: Loosen rod #3 a quarter turn\n", "f").root == {"do": "Loosen rod"}


def test_every_cut_of_a_file_is_told() -> None:
    """Traps that do not stop the reading are all told, in the order of the file."""
    text = "a: rod #3\nb: {x: y, z, w: v}\nc: [1,5, 2,5]\nd: {{ q }}\ne: yes\n"
    rules = ["yaml-comment-in-text", "yaml-comma-in-braces", "yaml-decimal-comma", "yaml-braces", "yaml-truth-word"]
    assert [rule for rule, _, _ in told(text)] == rules


def test_a_trap_is_not_told_twice() -> None:
    """The reader's own complaint about a line is left out where the trap on it is told."""
    assert told("do: turn rod #3\n  a quarter\nwhy: x\n") == [("yaml-comment-in-text", 1, 14)]
    assert told("a:\n\tb: c\n") == [("yaml-tab", 2, 1)]


def test_an_error_elsewhere_on_the_line_of_a_trap_is_told_too() -> None:
    """A decimal comma does not hide that the bracket is open."""
    assert told("a: [1,5\nb: c\n") == [("yaml-unclosed", 1, 4), ("yaml-decimal-comma", 1, 5)]


@pytest.mark.parametrize("rule", ["yaml-truth-word", "yaml-zero-last", "yaml-zero-first"])
def test_what_only_other_readers_change_is_advice(rule: str) -> None:
    """Nothing is lost here, so nothing is refused."""
    assert TRAPS[rule].severity == "advice" and parse(TRAPS[rule].bad, "f").sound


@pytest.mark.parametrize(
    "text",
    ["c: {a: “b, c d”, e: f}\n", "do: “Lever off: wait”\n", "do: „{{ x }}“: y\n", "c: {a: «b, c», e: f}\n"],
)
def test_quotes_of_a_letter_are_told_to_be_none(text: str) -> None:
    """Where quotes are the cure and curly ones stand there already, that is said, and which ones are meant."""
    assert findings(text)[0].message.endswith('curly quotes are letters here, put the whole text in straight ones (")')


def test_curly_quotes_that_do_no_harm_are_left_alone() -> None:
    """In a text without commas and colons they are printed as they stand; an apostrophe is no quote."""
    assert findings("do: Turn “on” the player’s lever\n") == []
    assert findings("do: The player’s lever: wait\n")[0].message.endswith("; put the whole text in quotes")


def test_a_hostile_text_is_quoted_harmlessly() -> None:
    """A message never carries what it quotes in a form that acts on a terminal."""
    text = "k: {a: b, \u200fc\u0301\u0301\u0301\u0301\u0301\u0301d: e f, g\u00ad h}\n"
    message = findings(text)[0].message
    assert "\u00ad" not in message and "\\xad" in message


@pytest.mark.parametrize("quote", ["'", '"'])
def test_words_in_quotes_are_shown_in_their_own_quotes(quote: str) -> None:
    """What stands in quotes with text behind it is shown as it is written, in one pair of quotes."""
    (finding,) = findings(f"do: {quote}Throw the player{quote} off\n")
    assert f"close after {quote}Throw the player{quote}, and" in finding.message
