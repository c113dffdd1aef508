"""`check`: all findings of a file at once, in order, in every form they are handed on in.

tests/check/ok/*.yaml must give nothing; beside each tests/check/err/x.yaml stands x.out with all that must be found.
The files leave out what every procedure begins with; tests/samples.py adds it.
"""

from __future__ import annotations

import json
import random
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchwalk.procedure.findings import Finding, Pos, Related
from benchwalk.procedure.linking import link
from benchwalk.procedure.read import read
from benchwalk.procedure.source import Source
from benchwalk.proof.check import check, check_file, check_source, in_order
from benchwalk.proof.report import STYLES, render, worst
from benchwalk.proof.rules.example import Walked
from house import ROOT
from samples import KNOWN, findings, linked, other, said, whole

HERE = Path(__file__).parent / "check"
ERR = sorted((HERE / "err").glob("*.yaml"))
OK = sorted((HERE / "ok").glob("*.yaml"))


def outcome(path: Path) -> str:
    """What is found in a sample file, a line each; advice is marked."""
    found = findings(path.read_text(encoding="utf-8"))
    lines = zip(said(found), found, strict=True)
    return "".join(f"{line[:-1]}, advice]\n" if f.severity == "advice" else f"{line}\n" for line, f in lines)


# --- the files ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", OK, ids=lambda path: path.stem)
def test_sound_file_has_no_findings(path: Path) -> None:
    """Loops, missing values, runs and wanted values that are all taken care of are left alone."""
    assert outcome(path) == ""


@pytest.mark.parametrize("path", ERR, ids=lambda path: path.stem)
def test_faulty_file_gives_exactly_its_findings(path: Path) -> None:
    """Every fault of the file is told at once, each at its place and with its sentence, and nothing else."""
    assert outcome(path) == path.with_suffix(".out").read_text(encoding="utf-8")


def test_sample_files_are_there_and_show_every_rule() -> None:
    """Each rule that needs no caller's help finds something in some sample file."""
    from benchwalk.proof.rules import RULES

    told = {line.rpartition("[")[2].rstrip("]").partition(",")[0] for p in ERR for line in outcome(p).splitlines()}
    assert len(OK) >= 4 and set(RULES) <= told


# --- what a finding holds ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", ERR, ids=lambda path: path.stem)
def test_places_lie_inside_the_file(path: Path) -> None:
    """Every place of a finding, related places included, is a line and column of the file; findings are in order."""
    text = whole(path.read_text(encoding="utf-8"))
    lines = text.splitlines()
    found = findings(path.read_text(encoding="utf-8"))
    for finding in found:
        for pos in (finding.pos, *(related.pos for related in finding.related)):
            assert 1 <= pos.line <= len(lines) and 1 <= pos.column <= len(lines[pos.line - 1]) + 1
    assert [f.pos for f in found] == sorted(f.pos for f in found)
    assert len({(f.rule, f.message, f.pos) for f in found}) == len(found)


def test_way_of_a_finding_is_told_step_by_step() -> None:
    """A value missed on some way comes with each step of the way, its place, and how it was left."""
    finding = next(f for f in findings((HERE / "err" / "values.yaml").read_text()) if "the sum 'part'" in f.message)
    assert finding.witness == {"path": "key, measure, rest, tie, look"}
    assert [related.message for related in finding.related] == [
        "1. key (key is here)",
        "2. measure (slips)",
        "3. rest (gap is within)",
        "4. tie (never is yes_it_is)",
        "5. look",
    ]


def test_gap_comes_with_a_case_that_can_be_typed() -> None:
    """What no branch takes is handed on as values by name, for programs to show."""
    finding = next(f for f in findings((HERE / "err" / "branches.yaml").read_text()) if "decimal_gap" in f.message)
    assert finding.rule == "coverage" and finding.witness == {"decimal_gap": "9.5 mm"}


def test_long_ways_are_told_without_their_middle() -> None:
    """A way of hundreds of steps does not fill the screen."""
    steps = "".join(f"  - {{step: s{n}, do: Do it.}}\n" for n in range(300))
    piece = (
        "readings:\n  gap: {ask: Gap, kind: words}\nsteps:\n"
        + steps
        + '  - {step: last, do: "Write {{ gap }}.", record: [gap], end: done}\n'
    )
    (finding,) = findings(piece)
    assert len(finding.related) < 40 and "s0, s1, s2, …, s2" in finding.message
    assert finding.related[-1].message == "301. last"


# --- the ways in ------------------------------------------------------------------------------------------

SOUND = (HERE / "ok" / "bounded.yaml").read_text(encoding="utf-8")


@dataclass
class Outcome:
    """How an example went, as the rehearsal tells it."""

    example: str
    ok: bool
    why: str | None


def test_examples_are_walked_by_whoever_is_handed_in() -> None:
    """The rehearsal is handed in; what it says of an example that fails is a finding at that example."""
    piece = SOUND + "examples:\n  - {example: one, ends: done}\n  - {example: two, ends: done}\n"
    asked = []

    def rehearse(book: object) -> Iterable[Walked]:
        asked.append(book)
        return [Outcome("one", True, None), Outcome("two", False, "it ends stopped")]

    checked = check(read(whole(piece).encode(), "x.yaml"), other, rehearse=rehearse)
    assert asked == [checked.linked] and not checked.ok
    assert [(f.rule, f.message, f.pos.line) for f in checked.findings] == [
        ("example", "'two': it ends stopped", piece.count("\n"))
    ]


def test_what_could_go_round_for_ever_is_not_walked() -> None:
    """Examples of a procedure with an endless round, or with errors of reading, are not walked."""

    def rehearse(book: object) -> Iterable[Walked]:
        raise AssertionError("it was walked")

    for spoilt in (
        SOUND.replace("entered: {at_most: 6, then: ask}", "why: Again."),
        SOUND.replace("go: oil,", "go: ol,"),
    ):
        assert not check(read(whole(spoilt).encode(), "x.yaml"), other, rehearse=rehearse).ok


def test_all_ways_in_agree() -> None:
    """A file checked from bytes, from what was read, and from what was linked has the same findings."""
    data = whole((HERE / "err" / "ways.yaml").read_text(encoding="utf-8")).encode()
    source = read(data, "ways.yaml")
    one = check_file(data, "ways.yaml", other, known=KNOWN)
    assert (
        one
        == check_source(source, link(source, other), known=KNOWN)
        == list(check(source, other, known=KNOWN).findings)
    )
    assert one and in_order([*one, *one]) == tuple(one)


def test_proposals_are_looked_up_only_where_the_library_is_known() -> None:
    """Without the ids of a library nothing is said of what is proposed."""
    piece = SOUND.replace("end: stopped", "end: {as: stopped, proposes: [nothing-known]}")
    assert findings(piece, known=()) == []
    assert [f.rule for f in findings(piece)] == ["unknown-proposal"]


def test_a_procedure_without_examples_is_advised_to_have_some() -> None:
    """Nobody has walked it yet: advice, not an error."""
    found = check_file(whole(SOUND).encode(), "x.yaml", other)
    assert [(f.rule, f.severity) for f in found] == [("example", "advice")]


# --- what authors write ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "data", [b"", b"\x00\xff\xfe", b"[]", b"steps: []", b"- a\n- b\n", b"procedure: x\n", b"a: [" * 60]
)
def test_rubbish_is_told_and_never_raises(data: bytes) -> None:
    """Whatever is no procedure is an error with a sentence."""
    found = check_file(data, "x.yaml", other)
    assert found and all(f.severity == "error" and f.message for f in found)


TEXTS = [whole(path.read_text(encoding="utf-8")) for path in (*OK, *ERR)]
TEXTS += [
    (ROOT / "procedures" / f"{name}.yaml").read_text(encoding="utf-8") for name in ("tie-one-side", "deburr-cord-holes")
]


@settings(max_examples=150)
@given(st.sampled_from(TEXTS), st.randoms(use_true_random=False))
def test_damaged_files_never_raise(text: str, chance: random.Random) -> None:
    """Lines lost, doubled, swapped and cut, and words exchanged: there may be findings, never a break."""
    lines = text.splitlines()
    for _ in range(chance.randint(1, 4)):
        at, to = chance.randrange(len(lines)), chance.randrange(len(lines))
        kind = chance.randrange(5)
        if kind == 0 and len(lines) > 2:
            del lines[at]
        elif kind == 1:
            lines.insert(at, lines[to])
        elif kind == 2:
            lines[at], lines[to] = lines[to], lines[at]
        elif kind == 3:
            words = lines[at].split(" ")
            words[chance.randrange(len(words))] = chance.choice(lines[to].split(" "))
            lines[at] = " ".join(words)
        else:
            lines[at] = lines[at][: chance.randrange(len(lines[at]) + 1)]
    data = "\n".join(lines).encode()
    found = check_file(data, "x.yaml", other, known=KNOWN)
    for style in STYLES:
        assert render([(read(data, "x.yaml"), found)], style)


# --- the forms ------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def checked() -> list[tuple[Source, list[Finding]]]:
    """Two files with findings of every kind, one of them with a name full of signs."""
    made = []
    for stem, name in (("values", "bench/values.yaml"), ("branches", "a b,c:100%\n\u202e.yaml")):
        text = whole((HERE / "err" / f"{stem}.yaml").read_text(encoding="utf-8"))
        made.append((read(text.encode(), name), check_file(text.encode(), name, other)))
    return made


def test_text_shows_line_caret_way_and_count(checked: list[tuple[Source, list[Finding]]]) -> None:
    """People see the sentence, the line with a caret, the way on one line, and how many there are."""
    text = render(checked, "text")
    assert "bench/values.yaml:54:10: the sum 'part' is read here and not worked out on every way: " in text
    line = next(n for n, line in enumerate(text.splitlines()) if ":54:10:" in line)
    shown = text.splitlines()[line + 1 : line + 4]
    assert shown[0].strip().startswith('do: "Show the drum') and shown[1].strip() == "^"
    assert (
        shown[2] == "    way: 1. key (key is here); 2. measure (slips); 3. rest (gap is within); "
        "4. tie (never is yes_it_is); 5. look"
    )
    errors = sum(f.severity == "error" for _, found in checked for f in found)
    advice = sum(f.severity == "advice" for _, found in checked for f in found)
    assert text.endswith(f"\n{errors} errors, {advice} advice in 2 files\n")
    assert "[unused, advice]" in text and "\u202e" not in text


def test_text_of_nothing_found() -> None:
    """A clean library says so in one line."""
    assert render([(read(b"a: b", "x"), [])], "text") == "no errors in 1 file\n"
    assert worst([(read(b"a: b", "x"), [])]) == 0


def test_json_has_the_fields_of_the_contract(checked: list[tuple[Source, list[Finding]]]) -> None:
    """One document; each finding has its file, place, rule, severity, message, related places and witness."""
    data = json.loads(render(checked, "json"))
    assert list(data) == ["findings"] and len(data["findings"]) == sum(len(found) for _, found in checked)
    for one in data["findings"]:
        assert list(one) == ["file", "line", "column", "rule", "severity", "message", "related", "witness"]
        assert one["severity"] in ("error", "advice") and isinstance(one["line"], int)
        assert all(list(related) == ["line", "column", "message"] for related in one["related"])
        assert one["witness"] is None or all(isinstance(v, str) for v in one["witness"].values())


def test_ci_lines_are_one_a_finding_and_escaped(checked: list[tuple[Source, list[Finding]]]) -> None:
    """Annotation lines cannot be broken or faked by a file's name or by what it says."""
    lines = render(checked, "ci").splitlines()
    assert len(lines) == sum(len(found) for _, found in checked)
    assert all(line.startswith(("::error file=", "::notice file=")) for line in lines)
    assert any("file=a b%2Cc%3A100%25%0A\\u202e.yaml,line=" in line for line in lines)


def test_sarif_has_what_readers_of_it_need(checked: list[tuple[Source, list[Finding]]]) -> None:
    """Version, driver with its rules, and results with level, text and place (SARIF 2.1.0, from memory)."""
    data = json.loads(render(checked, "sarif"))
    (run,) = data["runs"]
    assert data["version"] == "2.1.0" and run["tool"]["driver"]["name"] == "benchwalk"
    rules = {rule["id"] for rule in run["tool"]["driver"]["rules"]}
    for result in run["results"]:
        assert result["ruleId"] in rules and result["level"] in ("error", "note") and result["message"]["text"]
        place = result["locations"][0]["physicalLocation"]
        assert " " not in place["artifactLocation"]["uri"] and place["region"]["startLine"] >= 1
    assert worst(checked) == 1


def test_hostile_text_in_findings_is_inert() -> None:
    """Escape sequences and turning marks in a finding reach no terminal as they stand."""
    nasty = "\x1b[31m\u202e%\n::error::"
    finding = Finding(nasty, nasty, Pos(1, 1), related=(Related(Pos(1, 1), nasty),), witness={"path": nasty})
    source = read(f"a: {nasty!r}".encode(), nasty)
    for style in ("text", "ci"):
        out = render([(source, [finding])], style)
        assert "\x1b" not in out and "\u202e" not in out
        assert len([line for line in out.splitlines() if line.startswith("::error")]) <= 1
    json.loads(render([(source, [finding])], "json"))
    json.loads(render([(source, [finding])], "sarif"))


def test_linked_procedure_is_not_changed_by_the_rules() -> None:
    """Rules read only: checking twice gives the same, and the linked findings stay as they were."""
    book = linked((HERE / "err" / "words.yaml").read_text(encoding="utf-8"))
    before = list(book.findings)
    one = check_source(book.source, book)
    assert book.findings == before and check_source(book.source, book) == one
