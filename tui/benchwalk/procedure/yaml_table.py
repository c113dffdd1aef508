"""The table of YAML traps and refusals: rule, sentence, cure, and samples that show both."""

from __future__ import annotations

from ..plaindata import Frozen

MOST_DEEP = 40
QUOTE = "put the whole text in quotes"


class Trap(Frozen):
    """One trap. `says` may hold `{found}`; `bad` is a text that springs it, `good` the same text cured."""

    rule: str
    says: str
    cure: str
    bad: str
    good: str
    severity: str = "error"


_ALL = (
    Trap(
        "yaml-comment-in-text",
        "the text ends before '{found}': what follows a space and # is a comment",
        "put the whole text in quotes; if it is a comment, write a space after the #",
        "do: Loosen rod #3 a quarter turn\n",
        'do: "Loosen rod #3 a quarter turn"  #a comment\nwhy: The rod binds # a comment\n',
    ),
    Trap(
        "yaml-comma-in-braces",
        "the comma before '{found}' ends the text inside {{ }}, and '{found}' becomes a key without a value",
        QUOTE,
        "c: {hazard: knife slips, hand cut, avoid: cut away from you}\n",
        'c: {hazard: "knife slips, hand cut", avoid: cut away from you}\n',
    ),
    Trap(
        "yaml-key-alone",
        "'{found}' stands inside {{ }} without a colon and a value",
        "write a list in [ ], give it a value, or put the text in quotes",
        "record: {butt_gap}\n",
        "record: [butt_gap]\n",
    ),
    Trap(
        "yaml-braces",
        "{{{{ }}}} without quotes is read as keys and values",
        "put the whole text in quotes",
        "ask: {{ name }} is loose\n",
        'ask: "{{ name }} is loose"\n',
    ),
    Trap(
        "yaml-colon-in-text",
        "the colon after '{found}' makes a key of it, where a text is meant",
        "put the whole text in quotes",
        "do: Lever off: wait\n",
        'do: "Lever off: wait"\n',
    ),
    Trap(
        "yaml-colon-space",
        "'{found}' has no space after its colon, so it is one text and no key",
        "write a space after the colon, or put a text in quotes",
        "title: Gap\nunit:mm\ntime: 5 min\n",
        "title: Gap\nunit: mm\ntime: 5 min\n",
    ),
    Trap(
        "yaml-dash-space",
        "'{found}' has no space after its dash, so it is no entry of the list",
        "write a space after the dash",
        "a:\n  - b: 1\n  -c: 2\n",
        "a:\n  - b: 1\n  - c: 2\n",
    ),
    Trap(
        "yaml-odd-space",
        "what looks like a space here is none ({found}), and is read as a letter",
        "write it anew with the space bar",
        "do: turn\nwhy:\u00a0it binds\n",
        "do: turn\u00a0it\nwhy: it binds\n",
    ),
    Trap(
        "yaml-quote-then-text",
        "the quotes close after {found}, and more text follows",
        "put the whole text in quotes of the other kind",
        'do: "On" first\n',
        "do: '\"On\" first'\n",
    ),
    Trap(
        "yaml-star",
        "a text that starts with * is read as a reference",
        QUOTE,
        "do: * the note\n",
        'do: "* the note"\n',
    ),
    Trap(
        "yaml-alias",
        "'{found}' refers to another place of the file, and procedures have no such references",
        "write the value out; if a text is meant, put it in quotes",
        "do: *note\n",
        'do: "*note"\n',
    ),
    Trap(
        "yaml-ampersand",
        "a text that starts with & is read as a name for references",
        QUOTE,
        "do: & the note\n",
        'do: "& the note"\n',
    ),
    Trap(
        "yaml-anchor",
        "'{found}' names this place for references, and procedures have none",
        "take it out; if a text is meant, put it in quotes",
        "do: &note loosen it\n",
        "do: loosen it\n",
    ),
    Trap(
        "yaml-exclamation",
        "a text that starts with ! loses it: it is read as a tag",
        QUOTE,
        "do: ! Danger\n",
        'do: "! Danger"\n',
    ),
    Trap(
        "yaml-tag",
        "'{found}' is read as a tag, and procedures have no tags",
        "take it out; if a text is meant, put it in quotes",
        "do: !important\n",
        'do: "!important"\n',
    ),
    Trap(
        "yaml-bracket",
        "a text that starts with [ is read as a list, and more follows its end",
        QUOTE,
        "do: [see the drawing] then turn\n",
        'do: "[see the drawing] then turn"\n',
    ),
    Trap(
        "yaml-brace",
        "a text that starts with {{ is read as keys and values, and more follows their end",
        QUOTE,
        "do: {a: b} then turn\n",
        'do: "{a: b} then turn"\n',
    ),
    Trap(
        "yaml-bracket-in-text",
        "'{found}' cannot stand in a text without quotes inside {{ }} or [ ]",
        QUOTE,
        "c: {do: Turn [see the drawing], why: it binds}\n",
        'c: {do: "Turn [see the drawing]", why: it binds}\n',
    ),
    Trap(
        "yaml-bar",
        "a text that starts with | is read as the start of a block of lines",
        "put the whole text in quotes, or begin the block on the next line",
        "do: | loosen it\n",
        'do: "| loosen it"\n',
    ),
    Trap(
        "yaml-greater",
        "what starts with > is read as the start of a block of lines, not as 'more than'",
        "write 'above 2' or 'at least 2', or put it in quotes",
        "wanted: > 2\n",
        "wanted: above 2\n",
    ),
    Trap(
        "yaml-dash",
        "a text that starts with - and a space is read as an entry of a list",
        "put the whole text in quotes, or begin the list on the next line",
        "do: - loosen it\n",
        'do: "- loosen it"\n',
    ),
    Trap(
        "yaml-percent",
        "a value cannot start with %",
        "write the word percent, or put the whole text in quotes",
        "unit: %\n",
        "unit: percent\n",
    ),
    Trap("yaml-at", "a text cannot start with @", QUOTE, "do: @ the bench\n", 'do: "@ the bench"\n'),
    Trap("yaml-backtick", "a text cannot start with `", QUOTE, "do: `loosen`\n", "do: '`loosen`'\n"),
    Trap("yaml-question", "a text cannot start with ? here", QUOTE, "do: ? which\n", 'do: "? which"\n'),
    Trap(
        "yaml-stray",
        "'{found}' stands here with nothing before it",
        "take it out, or put the whole text in quotes",
        "do: , then turn\n",
        'do: ", then turn"\n',
    ),
    Trap(
        "yaml-decimal-comma",
        "'{found}' is two values here: a comma divides values",
        "write a point for the decimal; if two values are meant, write a space after the comma",
        "visits: [-2, 1,5]\n",
        "visits: [-2, 1.5]\n",
    ),
    Trap(
        "yaml-truth-word",
        "other YAML readers turn '{found}' without quotes into a truth value",
        "put it in quotes",
        "answer: yes\n",
        'answer: "yes"\n',
        "advice",
    ),
    Trap(
        "yaml-zero-last",
        "other YAML readers drop the last zero of '{found}'",
        "put it in quotes, or use whole numbers",
        "revision: 1.10\n",
        'revision: "1.10"\n',
        "advice",
    ),
    Trap(
        "yaml-zero-first",
        "other YAML readers take '{found}' for another number: its first digit is a zero",
        "put it in quotes, or leave the zero out",
        "serial: 010\n",
        'serial: "010"\n',
        "advice",
    ),
    Trap(
        "yaml-tab",
        "a tab indents this line",
        "indent with spaces only",
        "steps:\n\tdo: turn\n",
        "steps:\n  do: turn\n",
    ),
    Trap(
        "yaml-duplicate-key",
        "'{found}' is given twice here",
        "keep one of them, or rename one",
        "do: turn\nwhy: it binds\ndo: wait\n",
        "do: turn\nwhy: it binds\nexpect: it turns\n",
    ),
    Trap(
        "yaml-merge-key",
        "the merge key << is not part of YAML 1.2, and procedures have none",
        "write the keys out",
        "<<: {do: turn}\n",
        "do: turn\n",
    ),
    Trap(
        "yaml-key-kind",
        "a key must be a text; this one is {found}",
        "write a word, or put the text in quotes",
        "? [a, b]\n: turn\n",
        '"[a, b]": turn\n',
    ),
    Trap(
        "yaml-too-deep",
        f"lists and keys stand more than {MOST_DEEP} levels deep here",
        f"put fewer inside one another; {MOST_DEEP} levels are read",
        "a: " + "[" * 41 + "]" * 41 + "\n",
        "a: " + "[" * 39 + "]" * 39 + "\n",
    ),
    Trap(
        "yaml-second-document",
        "a second document begins here",
        "one file holds one; move it to a file of its own",
        "do: turn\n---\ndo: wait\n",
        "---\ndo: turn\n",
    ),
    Trap(
        "yaml-directive",
        "lines that start with % are directions to a YAML reader, and procedures have none",
        "take the line out",
        "%YAML 1.1\n---\ndo: turn\n",
        "do: turn\n",
    ),
    Trap(
        "yaml-empty",
        "nothing is written in this file",
        "write keys and values, such as 'title: ...'",
        "# x\n",
        "do: turn\n",
    ),
    Trap(
        "yaml-bare-text",
        "the whole file is one text ('{found}')",
        "write keys and values, such as 'title: ...'",
        "Loosen the rods.\n",
        "do: Loosen the rods.\n",
    ),
    Trap(
        "yaml-unclosed",
        "{found} opened here is not closed",
        "close it, or put the text in quotes",
        "a: [1, 2\nb: 3\nc: 4\n",
        "a: [1, 2]\nb: 3\nc: 4\n",
    ),
    Trap(
        "yaml-unclosed-quote",
        "{found} opened here is not closed on its line",
        "close it; a text that holds such a mark stands in quotes of the other kind",
        'do: "turn it\nwhy: it binds\n',
        'do: "turn it"\nwhy: it binds\n',
    ),
    Trap(
        "yaml-escape",
        "'{found}' means nothing inside double quotes",
        "use single quotes, or write \\\\ for one backslash",
        'do: "C:\\qqq"\n',
        "do: 'C:\\qqq'\n",
    ),
    Trap(
        "yaml-indent",
        "{found}",
        "give lines that belong together the same number of spaces before them",
        "a:\n  b: 1\n c: 2\n",
        "a:\n  b: 1\n  c: 2\n",
    ),
    Trap(
        "yaml-no-key",
        "{found}",
        "write a key with a colon and a space, such as 'do: ...', or an entry with '- '",
        "do: turn\nthe rod\nwhy: it binds\n",
        "do: turn\n  the rod\nwhy: it binds\n",
    ),
    Trap(
        "yaml-syntax",
        "{found}",
        "look at the quotes, brackets and spaces near this place",
        "a: [b, c]: d\n",
        "a: [b, c]\n",
    ),
)

OTHERS: dict[str, str] = {
    "yaml-binary": "the file is no text",
    "yaml-control": "a control, invisible or direction-turning character stands in the text, or an escape makes one",
    "yaml-encoding": "the file is not UTF-8; the first byte that is not is named",
    "yaml-many": "so much is wrong that the rest is not shown",
    "yaml-too-big": "the file is larger than is read",
    "yaml-too-many": "the file holds more keys and values than are read",
}
"""The rules of reading that are about the file rather than its YAML, with what each means."""

TRAPS: dict[str, Trap] = {trap.rule: trap for trap in _ALL}
ADVICE = frozenset(trap.rule for trap in _ALL if trap.severity == "advice")


def said(rule: str, **found: str) -> str:
    """The trap's sentence with what was found, and its cure."""
    trap = TRAPS[rule]
    return f"{trap.says.format(**found)}; {trap.cure}"
