"""docs/procedure-grammar.md is true: every block of YAML on it runs, every table says what the models say."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import MISSING, Field, fields
from fractions import Fraction
from functools import cache
from typing import Any

import jsonschema
import pytest
from ruamel.yaml import YAML

from benchwalk.procedure import model, parts
from benchwalk.procedure.binding import bind, try_bind
from benchwalk.procedure.condition_cursor import RESERVED
from benchwalk.procedure.conditions import ConditionError, parse_condition
from benchwalk.procedure.evaluate import evaluate
from benchwalk.procedure.facts import FACTS
from benchwalk.procedure.linked import Linked
from benchwalk.procedure.read import keys_of
from benchwalk.procedure.schema import schema
from benchwalk.procedure.scope import StepScope
from benchwalk.procedure.tree import parse
from benchwalk.procedure.variables import Names, Variable
from benchwalk.proof.rehearse import rehearse
from benchwalk.sums import compute
from grammar_page import PAGE, TEXT, WHOLE, Block, blocks, errors, findings, linked, sections, spliced
from house import ROOT


def kind(*infos: str) -> list[Any]:
    """The blocks of these kinds, as test cases named after their line."""
    return [pytest.param(block, id=f"line{block.line}") for block in blocks() if block.info in infos]


# --- the blocks --------------------------------------------------------------------------------------------------


def test_every_yaml_block_is_of_a_known_kind() -> None:
    """Each block of YAML is a whole procedure, a part, a wrong part or conditions, so that none goes untested."""
    infos = [block.info for block in blocks()]
    assert set(infos) == {"yaml", "yaml part", "yaml wrong", "yaml when", "text", "sh"}
    assert infos.count("text") == infos.count("yaml wrong") >= 4


def test_whole_procedure_is_clean_and_walks() -> None:
    """The whole procedure of the page has no finding at all, not even advice, and its examples go as they say."""
    assert [f.message for f in findings(WHOLE, walked=True)] == []


@pytest.mark.parametrize("block", kind("yaml part"))
def test_part_fits_into_the_whole(block: Block) -> None:
    """Each part, spliced into the whole procedure, is proven without an error; examples that stand in it are walked."""
    text = spliced(block.text)
    assert text != WHOLE
    assert errors(text, walked="examples" in sections(block.text)) == []


@pytest.mark.parametrize("block", kind("yaml wrong"))
def test_wrong_part_is_told_as_shown(block: Block) -> None:
    """Each part that is meant to be wrong is told by exactly the sentences shown below it."""
    assert errors(spliced(block.text)) == block.after.splitlines()


def test_splicing_replaces_and_adds() -> None:
    """A part's entries replace those of the same name, new ones are added, list entries come first."""
    made = spliced("limits:\n  least_gap: {is: 2 mm, sure: C, whose: us, because: why}\n  more: {is: 3 mm}\n")
    assert "{is: 2 mm" in made and "{is: 1 mm" not in made and "  more: {is: 3 mm}\n" in made
    made = spliced("steps:\n  - step: before\n    do: Wait.\n  - step: leave\n    end: done\n")
    assert [s.step for s in linked(made).procedure.steps][:3] == ["before", "leave", "measure"]
    assert made.count("- step: leave") == 1


@cache
def everything() -> Linked:
    """The whole procedure with everything that the page's parts declare."""
    text = WHOLE
    for block in blocks():
        if block.info == "yaml part":
            named = {k: v for k, v in sections(block.text).items() if k not in ("usual", "examples")}
            text = spliced("".join(named.values()), text)
    return linked(text)


def conditions() -> list[str]:
    """The conditions the page lists."""
    return [line[2:] for block in blocks() if block.info == "yaml when" for line in block.text.splitlines()]


@pytest.mark.parametrize("text", conditions())
def test_condition_is_understood(text: str) -> None:
    """Each condition on the page binds to what the page declares."""
    bound, wrong = try_bind(parse_condition(text), StepScope(everything()))
    assert bound is not None, [w.message for w in wrong]


def test_condition_with_an_unknown_name_is_not() -> None:
    """The check above does see a name that the page does not declare."""
    assert try_bind(parse_condition("no_such_gap < 3 mm"), StepScope(everything()))[0] is None
    with pytest.raises(ConditionError):
        parse_condition("gap <")


# --- the tables --------------------------------------------------------------------------------------------------

CLASSES: dict[str, type[parts.Part]] = {
    n: c for n, c in {**vars(parts), **vars(model)}.items() if isinstance(c, type) and issubclass(c, parts.Part)
}
TOLD = set(CLASSES) - {"Part", "Graded", "Because", "Usual"}  # these stand within others


def rows(start: int) -> Iterator[list[str]]:
    """The cells of the table that follows a place of the page, without its head."""
    lines = TEXT[start:].split("\n")
    end = next(i for i, line in enumerate(lines) if i and not line.startswith("|"))
    for line in lines[3:end]:
        yield [cell.strip().replace("\\|", "|") for cell in re.split(r"(?<!\\)\|", line)[1:-1]]


OF = {  # what stands before the dot in tables of several parts
    "needs": "Needs",
    "caution": "HazardText",
    "hazards": "NoHazards",
    "choose": "Choose",
    "ways": "Way",
    "wait": "Wait",
    "late": "Late",
    "hold": "Hold",
    "witness": "Witness",
    "run": "Run",
    "takes": "Take",
    "stage": "Stage",
    "may_skip": "MaySkip",
    "entered": "Entered",
    "end": "End",
}


@cache
def tables() -> dict[str, list[list[str]]]:
    """The rows about each part: key, example, what holds when it is left out, meaning."""
    found: dict[str, list[list[str]]] = {}
    for mark in re.finditer(r"^<!-- keys: ([\w ]+) -->$", TEXT, re.MULTILINE):
        names = mark[1].split()
        for key, *rest in rows(mark.start()):
            [word] = code(key)
            above, dot, own = word.rpartition(".")
            assert bool(dot) is (len(names) > 1)
            name = OF[above] if dot else names[0]
            assert name in names
            found.setdefault(name, []).append([own, *rest])
    return found


def must_be_there(key: Field[Any]) -> bool:
    """Whether a part cannot be without that key."""
    return key.default is MISSING and key.default_factory is MISSING


def code(cell: str) -> list[str]:
    """What stands in backticks in a cell."""
    return re.findall(r"`([^`]+)`", cell)


def test_every_part_of_the_grammar_has_a_table() -> None:
    """Every class of the models has its table of keys on the page, and no table tells of anything else."""
    assert set(tables()) == TOLD


@pytest.mark.parametrize("name", sorted(TOLD))
def test_table_has_the_keys_of_the_model(name: str) -> None:
    """A table lists exactly the keys of its part, once each, and says truly which of them must be there."""
    part = CLASSES[name]
    told = {row[0]: row for row in tables()[name]}
    assert sorted(told) == sorted(keys_of(part)) and len(told) == len(tables()[name])
    must = {key for key, row in told.items() if row[2] == "must"}
    assert must == {key for key, given in zip(keys_of(part), fields(part), strict=True) if must_be_there(given)}
    assert all(row[3] for row in told.values())


@cache
def schema_once() -> Any:
    """The schema of the grammar, made once."""
    return schema()


@pytest.mark.parametrize("name", sorted(TOLD))
def test_example_values_are_of_the_grammar(name: str) -> None:
    """Each value a table gives as an example is one that may stand there, and the text reads as one value of YAML."""
    whole = schema_once()
    part = whole if name == "Procedure" else whole["$defs"][name]
    for key, example, *_ in tables()[name]:
        [value] = code(example)
        document = parse(f"{key}: {value}\n", "cell")
        assert document.findings == [], (key, value)
        shape = {**part["properties"][key], "$defs": whole["$defs"]}
        told = YAML(typ="safe", pure=True).load(value)
        faults = [f.message for f in jsonschema.Draft202012Validator(shape).iter_errors(told)]
        assert faults == [], (key, value)


def test_braces_of_the_table_are_understood() -> None:
    """Each thing that the page puts into double braces can stand in a text of a procedure that has those names."""
    told = [field for row in rows(TEXT.index("<!-- texts -->")) for field in code(row[0])]
    assert len(told) >= 9
    whole = everything().source.data.decode()
    for field in told:
        if "advice" in field or "side" in field:  # a sum that is not there, and something taken
            continue
        step = f'steps:\n  - step: say\n    do: "{field}"\n    go: note-all\n'
        assert linked(spliced(step, whole)).procedure.steps[0].do == field


SAYING = """
drum: [rods]
readings:
  runs: {ask: The rod, choices: {free: runs freely, binds: binds}, per: rod}
  strip: {ask: The strip, choices: {alike: held alike, loose: looser}, per: [edge A, edge B]}
  knob_total: {ask: Turns, unit: turns, optional: {because: it is seized}}
  more: {ask: Turns, unit: turns}
  less: {ask: Turns, unit: turns}
  as_it_is: {ask: Turns, unit: turns}
sums:
  moved: {use: difference, with: {a: butt_gap, b: previous butt_gap}}
  share: {use: share, with: {part: knob_total, whole: knob_total}}
steps:
  - step: note-first
    record: [runs, strip, knob_total, more, less, as_it_is]
    go: measure
  - step: hand-back
    record: [butt_gap]
    work_out: [moved, share]
    end: {as: done, say: "SAY"}
examples:
  - example: all
    drum: {rods: 8}
    given:
      knob_total: missing
      more: 1 3/16
      less: -1/4
      as_it_is: 0
      strip: alike
      runs: {each: free, 2: binds, 5: binds, 7: binds}
"""


@pytest.mark.parametrize(
    ("field", "printed"),
    [
        ("butt_gap", "4.5 mm"),
        ("room.gap", "3.0 to 6.0 mm"),
        ("least_gap", "1 mm"),
        ("drum.rods", "8"),
        ("lie", "All touch"),
        ("knob_total", "not noted"),
        ("share.share", "no result"),
        ("moved.by", "0 mm"),
        ("rods where runs is binds", "2, 5 and 7"),
        ("places where strip is loose", "none"),
        ("more | turns", "tighten one turn and three sixteenths"),
        ("less | turns", "loosen a quarter"),
        ("as_it_is | turns", "leave it"),
        ("knob_total | turns", "not noted"),
    ],
)
def test_text_prints_as_the_table_says(field: str, printed: str) -> None:
    """Values, ranges, places and missing things are printed in a text as the page says."""
    [found] = rehearse(linked(spliced(SAYING.replace("SAY", f"{{{{ {field} }}}}"))), compute)[:1]
    assert found.ok and found.events[-1]["say"] == printed


def test_only_turns_are_worded_as_turns() -> None:
    """A value in another unit is refused the filter `turns`, with its name."""
    text = spliced(SAYING.replace("SAY", "{{ butt_gap | turns }}"))
    assert errors(text) == ["'turns' words what a hand turns, and 'butt_gap' is not in turns [text]"]


class Known:
    """What is recorded of the page's `gap`."""

    def __init__(self, gap: Fraction | None) -> None:
        self.gap = gap

    def value(self, name: str) -> Fraction | None:
        """The gap, whatever is asked."""
        return self.gap

    def verdict(self, name: str, place: str | None = None) -> str | None:
        """Nothing is wanted of it."""
        return None


def test_truth_table_is_true() -> None:
    """The table of what is true of a missing value is what the program decides."""
    start = TEXT.index("<!-- truth -->")
    head = TEXT[start:].split("\n")[1]
    scope = Names([Variable("gap", "number", "mm")])
    words = {True: "true", False: "false", None: "neither"}
    seen = 0
    for gap, *told in rows(start):
        known = Known(None if gap == "missing" else Fraction(gap))
        asked = [bind(parse_condition(text), scope) for text in code(head)[1:]]
        assert told == [words[evaluate(bound, known)] for bound in asked]
        seen += 1
    assert seen == 3


def test_facts_of_the_table_are_the_facts() -> None:
    """The table of facts names each fact of a drum with its kind, unit and possible values."""
    start = TEXT.index("<!-- facts -->")
    told = {code(row[0])[0]: (row[1], row[2], row[3]) for row in rows(start)}
    assert told == {name: (fact.kind, fact.unit, fact.possible or "") for name, fact in FACTS.items()}


def traps() -> list[list[str]]:
    """Written and cure of each row of the table of traps."""
    return [[*code(row[0]), *code(row[2])] for row in rows(TEXT.index("<!-- traps -->"))]


@pytest.mark.parametrize(("written", "cure"), traps(), ids=[row[0] for row in traps()])
def test_trap_springs_and_its_cure_does_not(written: str, cure: str) -> None:
    """What a row shows as a trap is told by the reader, and what it says to write instead is read without a word."""
    assert parse(written + "\n", "cell").findings != []
    assert parse(cure + "\n", "cell").findings == []


def test_reserved_words_are_named() -> None:
    """The page names every word that cannot be a name."""
    [sentence] = re.findall(r"These words are taken: ([a-z ]+)\.", TEXT)
    assert set(sentence.split()) == RESERVED


def test_schema_comment_leads_to_the_schema() -> None:
    """The comment of the whole procedure names the schema as seen from the folder of procedures."""
    [path] = re.findall(r"\A# yaml-language-server: \$schema=(\S+)$", WHOLE, re.MULTILINE)
    assert (ROOT / "procedures" / path).resolve() == (ROOT / "tui/benchwalk/procedure/procedure.schema.json").resolve()


def test_files_that_the_page_names_are_there() -> None:
    """Every module the page sends a developer to exists."""
    section = TEXT[TEXT.index("## For the next developer") :]
    named = set(re.findall(r"`((?:procedure|proof|walk|tests)/[\w./*]*)`", section))
    assert len(named) > 12
    for name in named:
        base = ROOT if name.startswith("tests/") else ROOT / "tui" / "benchwalk"
        assert list(base.glob(name.rstrip("/"))), name


def test_page_is_short_enough_to_read() -> None:
    """The page stays one that a person reads: no more lines than this."""
    assert len(TEXT.splitlines()) <= 830
    assert PAGE.stat().st_size < 60_000
